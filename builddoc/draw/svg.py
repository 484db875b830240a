"""One state of a placed circuit as SVG: text, paths and classes only; colours come from drawing.css.

What is the same in every state (boxes, names, curves) is written once per layout and kept there.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from html import escape

from . import curves
from .curves import Point
from .figures import UNKNOWN, LineFigures
from .frame import (
    BADGE,
    FIGURE_ROW,
    LETTERS,
    MARGIN,
    NAME_ROW,
    PAD_Y,
    SMALL_ROW,
    SPOOL_ROW,
    FlowLayout,
    PartBox,
    RunPath,
    failure_rows,
)
from .plain import Rect
from .words import words

SIGNALS = ("DANGER", "WARNING", "CAUTION", "NOTICE")  # worst first
ROUND = {"energy": 20.0, "valves": 0.0, "actuators": 0.0}

_text = lru_cache(maxsize=4096)(escape)
_n = curves.number


@dataclass(frozen=True, slots=True)
class Drawing:
    """svg: inline text. words: the same circuit and state in sentences. width, height: natural size in px. subjects:
    the part or line that each sentence is about, "" = none."""

    svg: str
    words: list[str]
    width: float
    height: float
    subjects: list[str] = field(default_factory=list)


def draw_state(layout: FlowLayout, s: int, prefix: str = "bd") -> Drawing:
    """Draw state number s. prefix: of the ids, to be unique on the site; the state's number is added to it."""
    circuit = layout.circuit
    state = list(circuit.states.values())[s]
    failure = layout.figures.failures[s]
    id_ = _text(f"{prefix}-{s}")
    title = f"{circuit.title or circuit.machine}, revision {circuit.revision}: {state.name}"
    about = f"Flow diagram of {len(circuit.parts)} parts and {len(circuit.lines)} lines; said in words beside it."
    if failure:
        about = f"No figures: {failure}. {about}"
    w, h = _n(layout.width), _n(layout.height)
    if not layout.still:
        layout.still.update(_still(layout))
    out = [
        f'<svg class="bd-flow{" bd-failed" if failure else ""}" xmlns="http://www.w3.org/2000/svg" role="img" '
        f'aria-labelledby="{id_}-t {id_}-d" width="{w}" height="{h}" viewBox="0 0 {w} {h}" fill="none" font-size="12">'
        f'<title id="{id_}-t">{_text(title)}</title><desc id="{id_}-d">{_text(about)}</desc>',
        _header(layout, state.name, state.fault, failure),
        layout.still["under"],
        *(_run(layout, path, s) for path in layout.runs),
        layout.still["taps"],
        *(_part(layout, box, s) for box in layout.parts),
        "</svg>",
    ]
    subjects, said = zip(*words(layout, s), strict=True)
    return Drawing("".join(out), [*said], layout.width, layout.height, [*subjects])


def _still(layout: FlowLayout) -> dict[str, str]:
    """Pieces that no state changes."""
    taps = [f'<circle class="bd-tap" cx="{_n(x)}" cy="{_n(y)}" r="3.2"/>' for x, y in layout.taps]
    under = [_shaft(points) for points in layout.shafts] + [_tank(name, rect) for name, rect in layout.tanks]
    still = {"taps": "".join(taps), "under": "".join(under)}
    for box in layout.parts:
        still["part " + box.name] = _box(box)
        still["row " + box.name] = f'<tspan x="{_n(box.rect.cx)}" dy="{_n(FIGURE_ROW)}">'
    for path in layout.runs:
        path.still["line"] = f"bd-line bd-{layout.picture.roles[path.run.line]}"
        if path.label:
            path.still["names"] = _label_names(path, layout.picture.roles[path.run.line])
            path.still["row"] = f'<tspan x="{_label_place(path)[0]}" dy="{_n(FIGURE_ROW)}"'
    return still


# ---- pieces
def _header(layout: FlowLayout, name: str, fault: bool, failure: str) -> str:
    x, y = _n(MARGIN), MARGIN + 10
    out = f'<text class="bd-state" x="{x}" y="{_n(y)}">{_text(name)}{" (fault state)" if fault else ""}</text>'
    if failure:
        rows = failure_rows(f"No figures: {failure}.", layout.width - 2 * MARGIN)
        spans = (f'<tspan x="{x}" dy="{_n(FIGURE_ROW)}">{_text(row)}</tspan>' for row in rows)
        out += f'<text class="bd-why" x="{x}" y="{_n(y)}">{"".join(spans)}</text>'
    return out


def _box(box: PartBox) -> str:
    """Outline, port letters, name and kind of a part; its text element is left open for the figures."""
    r = box.rect
    radius = min(ROUND.get(box.group, 7.0), r.h / 2)
    out = [
        f'<g class="bd-part bd-{box.group}" data-bd-part="{_text(box.name)}">'
        f'<rect x="{_n(r.x)}" y="{_n(r.y)}" width="{_n(r.w)}" height="{_n(r.h)}" rx="{_n(radius)}"/>'
    ]
    if box.group == "actuators":
        out.append(f'<path class="bd-top" d="M{_n(r.x)} {_n(r.y)}h{_n(r.w)}"/>')
    for px, py, above, text in box.ports:
        py += -5 if above else 12
        out.append(f'<text class="bd-port" x="{_n(px + 5)}" y="{_n(py)}">{_text(text)}</text>')
    out += _spools(box)
    x, y = _n(r.cx), r.y + PAD_Y + 12 + (SPOOL_ROW if box.stack else 0.0)
    out.append(f'<text x="{x}" y="{_n(y)}" text-anchor="middle">')
    for n, text in enumerate(box.names):
        move = f' x="{x}" dy="{_n(NAME_ROW)}"' if n else ""
        out.append(f'<tspan class="bd-name"{move}>{_text(text)}</tspan>')
    if box.kind:
        out.append(f'<tspan class="bd-kind" x="{x}" dy="{_n(SMALL_ROW)}">{_text(box.kind)}</tspan>')
    return "".join(out)


def _spools(box: PartBox) -> list[str]:
    """Names of a stack's spools under their ports, with hairlines between."""
    out = []
    y = box.rect.y
    last = None
    for spool, places in sorted(box.spools.items(), key=lambda item: min(item[1])):
        if last is not None:
            out.append(f'<path class="bd-hair" d="M{_n((last + min(places)) / 2)} {_n(y)}v{_n(SPOOL_ROW + 3)}"/>')
        last = max(places)
        x = (min(places) + last) / 2
        out.append(f'<text class="bd-port" x="{_n(x)}" y="{_n(y + 14)}" text-anchor="middle">{_text(spool)}</text>')
    return out


def _part(layout: FlowLayout, box: PartBox, s: int) -> str:
    row = layout.still["row " + box.name]
    spans = "".join(f"{row}{_text(text)}</tspan>" for text in layout.figures.parts[box.name][s])
    mark = _badge(layout, box.marks, box.rect.x + 4, box.rect.y, s) if box.marks else ""
    return f"{layout.still['part ' + box.name]}{spans}</text>{mark}</g>"


def _tank(name: str, r: Rect) -> str:
    x, y = r.cx, r.y
    return (
        f'<g class="bd-tank" data-bd-part="{_text(name)}"><path d="M{_n(x - 13)} {_n(y)}v9h26v-9"/>'
        f'<text x="{_n(x)}" y="{_n(y + 21)}" text-anchor="middle">{_text(name)}</text></g>'
    )


def _shaft(points: list[Point]) -> str:
    """Mechanical connection: a double line."""
    d = curves.path(points)
    return f'<g class="bd-shaft"><path d="{d}"/><path class="bd-gap" d="{d}"/></g>'


def _run(layout: FlowLayout, path: RunPath, s: int) -> str:
    run = path.run
    line = layout.figures.lines[run.line]
    sense = line.sense[s][run.number]
    classes = path.still["line"]
    if line.direct:
        classes += " bd-direct"
    if not layout.figures.failures[s]:
        classes += {0: " bd-idle", UNKNOWN: " bd-unknown"}.get(sense, " bd-on")
    if line.step[s]:
        classes += f" bd-{line.step[s]}"
    if line.blocked[s]:
        classes += " bd-blocked"
    note = f"<title>{_text(line.note[s])}</title>" if line.note[s] and not run.number else ""
    label, empty = "", 0
    if path.label:
        label = _label(layout, path, line, s)
        empty = path.label.rows - len(line.rows[s][run.number])
    drawn = path.drawn.get((sense, empty))
    if drawn is None:
        drawn = path.drawn[sense, empty] = _stroke(path, sense, empty * FIGURE_ROW)
    return f'<g class="{classes}" data-bd-line="{_text(run.line)}">{note}{drawn}{label}</g>'


def _stroke(path: RunPath, sense: int, gap: float) -> str:
    """The line with its arrowhead. gap: height left empty in the label, through which the line is drawn on."""
    pieces = [list(piece) for piece in path.pieces]
    run = path.run
    if gap and not run.arch:
        if run.up:
            pieces[0] = curves.lengthen(pieces[0], -gap)
        else:
            pieces[1] = curves.lengthen(pieces[1][::-1], -gap)[::-1]
    # A line reaches a little into the reservoir's open top.
    if run.start.key[0] == "tank":
        pieces[0] = curves.lengthen(pieces[0][::-1], 5.0)[::-1]
    if run.end.key[0] == "tank":
        pieces[-1] = curves.lengthen(pieces[-1], 5.0)
    head = ""
    if sense == 1:
        pieces[-1], head = curves.arrow(pieces[-1])
    elif sense == -1:
        back, head = curves.arrow(pieces[0][::-1])
        pieces[0] = back[::-1]
    head = f'<path class="bd-tip" d="{head}"/>' if head else ""
    return f'<path d="{"".join(curves.path(piece) for piece in pieces)}"/>{head}'


def _label_place(path: RunPath) -> tuple[str, float]:
    assert path.label is not None
    badge = BADGE + 2 if path.label.marks else 0.0
    return _n(path.label.rect.cx), path.label.rect.y + 13 + badge


def _label_names(path: RunPath, role: str) -> str:
    """Role letter and name; the text element is left open for the figures."""
    assert path.label is not None
    x, y = _label_place(path)
    out = [f'<text x="{x}" y="{_n(y)}" text-anchor="middle">']
    for n, text in enumerate(path.label.names):
        letter = f'<tspan class="bd-role">{LETTERS[role]}</tspan> ' if n == 0 else ""
        move = f' x="{x}" dy="{_n(SMALL_ROW)}"' if n else ""
        out.append(f'{letter}<tspan class="bd-label"{move}>{_text(text)}</tspan>')
    return "".join(out)


def _label(layout: FlowLayout, path: RunPath, line: LineFigures, s: int) -> str:
    label = path.label
    assert label is not None
    out = []
    if label.marks:
        out.append(_badge(layout, label.marks, label.rect.cx, _label_place(path)[1] - BADGE / 2 - 13, s))
    out.append(path.still["names"])
    for n, text in enumerate(line.rows[s][path.run.number]):
        move = path.still["row"] if n or label.names else "<tspan"
        high = ' class="bd-high"' if line.step[s] == "over" and "×" in text else ""
        out.append(f"{move}{high}>{_text(text)}</tspan>")
    out.append("</text>")
    return "".join(out)


def _badge(layout: FlowLayout, marks: tuple[int, ...], x: float, y: float, s: int) -> str:
    """Numbers of findings; faint where their governing state is another one."""
    found = [layout.findings[m - 1] for m in marks]
    here = any(f.state in ("", layout.results.states[s]) for f in found)
    worst = min((f.signal for f in found), key=SIGNALS.index)
    text = ", ".join(str(m) for m in marks) if len(marks) <= 3 else f"{marks[0]}, {marks[1]} +{len(marks) - 2}"
    half = max(BADGE / 2, 5.0 + 3.1 * len(text))
    said = "; ".join(f"{m}: {f.signal}, {f.headline}" for m, f in zip(marks, found, strict=True))
    return (
        f'<g class="bd-mark bd-{worst.lower()}{"" if here else " bd-elsewhere"}" '
        f'data-bd-findings="{" ".join(map(str, marks))}"><title>{_text(said)}</title>'
        f'<rect x="{_n(x - half)}" y="{_n(y - BADGE / 2)}" width="{_n(2 * half)}" height="{_n(BADGE)}" '
        f'rx="{_n(BADGE / 2)}"/><text x="{_n(x)}" y="{_n(y + 4)}" text-anchor="middle">{text}</text></g>'
    )
