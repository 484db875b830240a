"""One state of a placed circuit as SVG: text, paths and classes only; colours come from drawing.css."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from math import hypot

from .figures import LineFigures
from .layout import (
    BADGE,
    FIGURE_ROW,
    LETTERS,
    MARGIN,
    NAME_ROW,
    PAD_Y,
    SMALL_ROW,
    FlowLayout,
    PartBox,
    Point,
    Rect,
    RunPath,
    failure_rows,
)
from .words import words

HEAD = 9.0  # length of an arrowhead


@dataclass(frozen=True, slots=True)
class Drawing:
    """svg: inline text. words: the same circuit and state in sentences. width, height: natural size in px."""

    svg: str
    words: list[str]
    width: float
    height: float


def draw_state(layout: FlowLayout, s: int, prefix: str = "bd") -> Drawing:
    """Draw state number s. prefix: of the ids, to be unique on the site; the state's number is added to it."""
    circuit = layout.circuit
    state = list(circuit.states.values())[s]
    failure = layout.figures.failures[s]
    id_ = f"{prefix}-{s}"
    title = f"{circuit.title or circuit.machine}, revision {circuit.revision}: {state.name}"
    about = f"Flow diagram of {len(circuit.parts)} parts and {len(circuit.lines)} lines; said in words beside it."
    if failure:
        about = f"No figures: {failure}. {about}"
    w, h = _n(layout.width), _n(layout.height)
    out = [
        f'<svg class="bd-flow{" bd-failed" if failure else ""}" xmlns="http://www.w3.org/2000/svg" role="img" '
        f'aria-labelledby="{escape(id_)}-t {escape(id_)}-d" width="{w}" height="{h}" viewBox="0 0 {w} {h}" '
        f'fill="none" stroke="none" font-size="12">'
        f'<title id="{escape(id_)}-t">{escape(title)}</title><desc id="{escape(id_)}-d">{escape(about)}</desc>'
    ]
    out.append(_header(layout, state.name, state.fault, failure))
    out += [_shaft(points) for points in layout.shafts]
    out += [_tank(name, rect) for name, rect in layout.tanks]
    out += [_run(layout, path, s) for path in layout.runs]
    out += [f'<circle class="bd-tap" cx="{_n(x)}" cy="{_n(y)}" r="3.2"/>' for x, y in layout.taps]
    out += [_part(layout, box, s) for box in layout.parts]
    out.append("</svg>")
    return Drawing("".join(out), words(layout, s), layout.width, layout.height)


# ---- pieces
def _header(layout: FlowLayout, name: str, fault: bool, failure: str) -> str:
    y = MARGIN + 10
    out = f'<text class="bd-state" x="{_n(MARGIN)}" y="{_n(y)}">{escape(name)}{" (fault state)" if fault else ""}</text>'
    if failure:
        rows = failure_rows(f"No figures: {failure}.", layout.width - 2 * MARGIN)
        out += _rows(MARGIN, y, rows, FIGURE_ROW, "bd-why", shift=True)
    return out


def _part(layout: FlowLayout, box: PartBox, s: int) -> str:
    r = box.rect
    radius = {"energy": min(r.h / 2, 22.0), "valves": 0.0, "actuators": 0.0}.get(box.group, 7.0)
    out = [
        f'<g class="bd-part bd-{box.group}" data-bd-part="{escape(box.name)}">'
        f'<rect x="{_n(r.x)}" y="{_n(r.y)}" width="{_n(r.w)}" height="{_n(r.h)}"{f" rx={_q(radius)}" if radius else ""}/>'
    ]
    if box.group == "actuators":
        out.append(f'<path class="bd-top" d="M{_n(r.x)} {_n(r.y)}h{_n(r.w)}"/>')
    y = r.y + PAD_Y + 12
    spans = [_span(r.cx, 0 if n == 0 else NAME_ROW, t, "bd-name") for n, t in enumerate(box.names)]
    step = SMALL_ROW + 1
    if box.kind:
        spans.append(_span(r.cx, step, box.kind, "bd-kind"))
    for n, text in enumerate(layout.figures.parts[box.name][s]):
        spans.append(_span(r.cx, FIGURE_ROW + (1 if n == 0 else 0), text, ""))
    out.append(f'<text x="{_n(r.cx)}" y="{_n(y)}" text-anchor="middle">{"".join(spans)}</text>')
    for x, py, above, text in box.ports:
        out.append(f'<text class="bd-port" x="{_n(x + 5)}" y="{_n(py - 4 if above else py + 11)}">{escape(text)}</text>')
    if box.marks:
        out.append(_badge(layout, box.marks, r.x + 4, r.y, s))
    out.append("</g>")
    return "".join(out)


def _tank(name: str, r: Rect) -> str:
    x, y = r.cx, r.y
    return (
        f'<g class="bd-tank" data-bd-part="{escape(name)}"><path d="M{_n(x - 13)} {_n(y)}v9h26v-9"/>'
        f'<text x="{_n(x)}" y="{_n(y + 21)}" text-anchor="middle">{escape(name)}</text></g>'
    )


def _shaft(points: list[Point]) -> str:
    """Mechanical connection: a double line."""
    d = _d(points)
    return f'<g class="bd-shaft"><path d="{d}"/><path class="bd-gap" d="{d}"/></g>'


def _run(layout: FlowLayout, path: RunPath, s: int) -> str:
    run = path.run
    line = layout.figures.lines[run.line]
    role = layout.picture.roles[run.line]
    sense = line.sense[s][run.number] if run.number < len(line.sense[s]) else 0
    classes = ["bd-line", f"bd-{role}"]
    if line.direct:
        classes.append("bd-direct")
    elif not layout.figures.failures[s]:
        classes.append("bd-on" if sense else "bd-idle")
    if line.step[s]:
        classes.append(f"bd-{line.step[s]}")
    if line.blocked[s]:
        classes.append("bd-blocked")
    out = [f'<g class="{" ".join(classes)}" data-bd-line="{escape(run.line)}">']
    note = line.note[s]
    if note and not run.number:
        out.append(f"<title>{escape(note)}</title>")
    pieces, head = path.pieces, ""
    if run.start.key[0] == "tank" or run.end.key[0] == "tank":
        pieces = _into_tank(path)
    if sense:
        pieces, head = _with_head(pieces, sense)
    out.append(f'<path d="{"".join(_d(p) for p in pieces)}"/>{head}')
    if path.label:
        out.append(_label(layout, path, line, role, s))
    out.append("</g>")
    return "".join(out)


def _label(layout: FlowLayout, path: RunPath, line: LineFigures, role: str, s: int) -> str:
    label = path.label
    assert label is not None
    x, y = label.rect.cx, label.rect.y + 3
    out = ""
    if label.marks:
        out = _badge(layout, label.marks, x, y + BADGE / 2 - 1, s)
        y += BADGE + 2
    spans = []
    for n, text in enumerate(label.names):
        letter = f'<tspan class="bd-role">{LETTERS[role]}</tspan> ' if n == 0 else ""
        spans.append(_span(x, SMALL_ROW if n else 0, text, "bd-label", letter))
    for n, text in enumerate(line.rows[s][path.run.number]):
        over = line.step[s] == "over" and "×" in text
        spans.append(_span(x, FIGURE_ROW if n or label.names else 0, text, "bd-high" if over else ""))
    return f'{out}<text x="{_n(x)}" y="{_n(y + 10)}" text-anchor="middle">{"".join(spans)}</text>'


def _badge(layout: FlowLayout, marks: tuple[int, ...], x: float, y: float, s: int) -> str:
    """Numbers of findings; faint where their governing state is another one."""
    here = any(layout.findings[m - 1].state in ("", layout.results.states[s]) for m in marks)
    worst = min((layout.findings[m - 1] for m in marks), key=lambda f: _SIGNALS.index(f.signal))
    text = " ".join(str(m) for m in marks)
    half = max(BADGE / 2, 4.0 + 3.6 * len(text))
    said = "; ".join(f"{m}: {layout.findings[m - 1].signal}, {layout.findings[m - 1].headline}" for m in marks)
    return (
        f'<g class="bd-mark bd-{worst.signal.lower()}{"" if here else " bd-elsewhere"}"><title>{escape(said)}</title>'
        f'<rect x="{_n(x - half)}" y="{_n(y - BADGE / 2)}" width="{_n(2 * half)}" height="{_n(BADGE)}" rx="{_n(BADGE / 2)}"/>'
        f'<text x="{_n(x)}" y="{_n(y + 4)}" text-anchor="middle">{text}</text></g>'
    )


_SIGNALS = ("DANGER", "WARNING", "CAUTION", "NOTICE")


# ---- geometry
def _into_tank(path: RunPath) -> list[list[Point]]:
    """The line's end reaches a little into the reservoir's open top."""
    pieces = [list(p) for p in path.pieces]
    if path.run.start.key[0] == "tank":
        x, y = pieces[0][0]
        pieces[0] = [(x, y + 5), (x, y + 4), (x, y + 1), *pieces[0]]
    if path.run.end.key[0] == "tank":
        x, y = pieces[-1][-1]
        pieces[-1] = [*pieces[-1], (x, y + 1), (x, y + 4), (x, y + 5)]
    return pieces


def _with_head(pieces: list[list[Point]], sense: int) -> tuple[list[list[Point]], str]:
    """Shorten the last piece in the sense of flow and put an arrowhead there."""
    pieces = [p for p in pieces]
    at = -1 if sense > 0 else 0
    points = pieces[at] if sense > 0 else pieces[at][::-1]
    tip = points[-1]
    cut = _shorten(points, HEAD * 0.7)
    bx, by = _back(points, HEAD)
    dx, dy = tip[0] - bx, tip[1] - by
    size = hypot(dx, dy) or 1.0
    dx, dy = dx / size, dy / size
    left = (tip[0] - HEAD * dx - 4 * dy, tip[1] - HEAD * dy + 4 * dx)
    right = (tip[0] - HEAD * dx + 4 * dy, tip[1] - HEAD * dy - 4 * dx)
    pieces[at] = cut if sense > 0 else cut[::-1]
    head = "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in (tip, left, right)) + "z"
    return pieces, f'<path class="bd-head" d="{head}"/>'


def _split(points: list[Point], t: float) -> tuple[list[Point], Point]:
    """The part of a cubic before t, and its point at t (de Casteljau)."""
    a, b, c, d = points
    ab, bc, cd = _mix(a, b, t), _mix(b, c, t), _mix(c, d, t)
    abc, bcd = _mix(ab, bc, t), _mix(bc, cd, t)
    end = _mix(abc, bcd, t)
    return [a, ab, abc, end], end


def _mix(a: Point, b: Point, t: float) -> Point:
    return a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t


def _parameter(points: list[Point], length: float) -> float:
    """Parameter of the last cubic about `length` px before its end."""
    a, b, c, d = points[-4:]
    whole = hypot(b[0] - a[0], b[1] - a[1]) + hypot(c[0] - b[0], c[1] - b[1]) + hypot(d[0] - c[0], d[1] - c[1])
    return max(0.05, 1.0 - length / whole) if whole else 0.5


def _shorten(points: list[Point], length: float) -> list[Point]:
    return points[:-4] + _split(points[-4:], _parameter(points, length))[0]


def _back(points: list[Point], length: float) -> Point:
    return _split(points[-4:], _parameter(points, length))[1]


# ---- text
def _d(points: list[Point]) -> str:
    (x, y), *rest = points
    return f"M{_n(x)} {_n(y)}C" + " ".join(f"{_n(a)} {_n(b)}" for a, b in rest)


def _n(value: float) -> str:
    """A coordinate in at most one decimal."""
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text


def _q(value: float) -> str:
    return f'"{_n(value)}"'


def _span(x: float, dy: float, text: str, class_: str, before: str = "") -> str:
    class_ = f' class="{class_}"' if class_ else ""
    move = f' x="{_n(x)}" dy="{_n(dy)}"' if dy else ""
    if not class_ and not move:
        return before + escape(text)
    return f"<tspan{move}{class_}>{before}{escape(text)}</tspan>"


def _rows(x: float, y: float, rows: tuple[str, ...], step: float, class_: str, shift: bool = False) -> str:
    spans = "".join(_span(x, step if n or shift else 0, t, "") for n, t in enumerate(rows))
    return f'<text class="{class_}" x="{_n(x)}" y="{_n(y)}">{spans}</text>'
