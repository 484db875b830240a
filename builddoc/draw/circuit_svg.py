"""One state of a placed circuit drawing as SVG: text, paths and classes only; colours come from drawing.css.

What no state changes is written once per sheet and kept there.
"""

from __future__ import annotations

from functools import lru_cache
from html import escape

from .channels import Spot
from .figures import UNKNOWN
from .header import header
from .header import height as header_height
from .partwords import BADGE, ROW, PartText, U, badge_text, badge_width
from .pen_svg import marks_svg, n
from .scheme import Block, Net
from .sheet import STUB, LineText, Sheet
from .svg import SIGNALS, Drawing
from .symbols.pen import Pen
from .tracing import Edge, Stretch
from .words import words

_text = lru_cache(maxsize=4096)(escape)
LEAST = 0.78  # of its size, to which a drawing may be shrunk: 8.6 px words
LIST_ROW = 1.4


def draw_circuit(sheet: Sheet, s: int, prefix: str = "bd") -> Drawing:
    """Draw state number s. prefix: of the ids, to be unique on the site; the state's number is added to it."""
    circuit = sheet.circuit
    state = list(circuit.states.values())[s]
    failure = sheet.figures.failures[s]
    id_ = _text(f"{prefix}-{s}")
    title = f"{circuit.title or circuit.machine}, revision {circuit.revision}: {state.name}"
    about = f"Circuit drawing of {len(circuit.parts)} parts and {len(circuit.lines)} lines; said in words beside it."
    if not sheet.whole:
        title = f"{title}, detail"
        about = "Only what has to do with the oil that runs in this state; the whole is said in words beside it."
    if failure:
        about = f"No figures: {failure}. {about}"
    x0, y0, _, y1 = sheet.box
    width = sheet.width
    listed = [t for t in sheet.labels.values() if t.letter]
    sheet.head = head = sheet.head or header_height(sheet)
    bottom = y1 + (LIST_ROW * (len(listed) + 1) if listed else 0.0)
    height = (bottom - y0 + head) * U
    if not sheet.still:
        sheet.still.update(_still(sheet))
    out = [
        f'<svg class="bd-flow bd-circuit{" bd-failed" if failure else ""}" xmlns="http://www.w3.org/2000/svg" '
        f'role="img" aria-labelledby="{id_}-t {id_}-d" width="{width:.0f}" height="{height:.0f}" '
        f'viewBox="{n(x0)} {n(y0 - head)} {width:.0f} {height:.0f}" fill="none" font-size="11" '
        f'style="--bd-least:{width * LEAST:.0f}px">'
        f'<title id="{id_}-t">{_text(title)}</title><desc id="{id_}-d">{_text(about)}</desc>',
        header(sheet, s, n(x0 + 1.0), n(y0 - head + 1.8)),
        sheet.still["under"],
    ]
    for on in (False, True):
        for found in sheet.traces.values():
            out += [_stretch(sheet, st, s) for st in found.stretches if (st.flows[s] not in (0,)) is on]
    out += [_stub(sheet, net, spot, flows[s], s) for net, spot, flows in sheet.stubs]
    out.append(sheet.still["joints"])
    out += [_block(sheet, block, s) for block in sheet.made.blocks]
    out += [_tips(sheet, s), *(_label(t, s, sheet) for t in sheet.labels.values())]
    out += [_badge(sheet, name, sheet.badges[name], s) for name in sheet.badges]
    out += [*_list(listed, s, x0 + 1.0, y1 + 1.0), "</svg>"]
    subjects, said = zip(*words(sheet, s), strict=True)
    return Drawing("".join(out), [*said], width, height, [*subjects])


# ---- what stays
def _still(sheet: Sheet) -> dict[str, str]:
    packs = "".join(f'<path class="bd-e" d="M{n(a)} {n(b)}H{n(c)}V{n(d)}H{n(a)}z"/>' for a, b, c, d in sheet.packs)
    joints = []
    for found in sheet.traces.values():
        tees = {spot: name for name, spot in found.tees.items()}
        for spot in found.joints:
            dot = f'<circle class="bd-tap" cx="{n(spot[0])}" cy="{n(spot[1])}" r="3"/>'
            if spot in tees:
                name = _text(tees[spot])
                dot = f'<g class="bd-joint" data-bd-part="{name}"><title>{name}</title>{dot}</g>'
            joints.append(dot)
    pen = Pen()
    for key in sheet.made.loose:
        x, y = sheet.routed.places[key]
        y += -0.4 if sheet.made.home[key].pins()[key].side == "N" else 0.4
        pen.line((x - 0.5, y - 0.5), (x + 0.5, y + 0.5))
        pen.line((x - 0.5, y + 0.5), (x + 0.5, y - 0.5))
    return {"under": packs, "joints": "".join(joints) + marks_svg(tuple(pen.marks), frozenset())}


def _path(edges: list[Edge]) -> str:
    out = []
    for (x1, y1), (x2, y2) in edges:
        out.append(f"M{n(x1)} {n(y1)}" + (f"V{n(y2)}" if x1 == x2 else f"H{n(x2)}"))
    return "".join(out)


# ---- lines
def _classes(sheet: Sheet, name: str, flow: int, s: int) -> str:
    line = sheet.figures.lines[name]
    out = f"bd-line bd-{sheet.picture.roles[name]}"
    if line.direct:
        out += " bd-short"
    if not sheet.figures.failures[s]:
        out += {0: " bd-idle", UNKNOWN: " bd-unknown"}.get(flow, " bd-on")
    if line.step[s]:
        out += f" bd-{line.step[s]}"
    if line.blocked[s]:
        out += " bd-blocked"
    return out


def _said(sheet: Sheet, name: str, s: int) -> str:
    line = sheet.figures.lines[name]
    rows = " ".join(line.rows[s][0])
    return _text("; ".join(t for t in (f"{name}: {rows}" if rows else name, line.note[s]) if t))


def _tip_text(sheet: Sheet, said: str) -> str:
    """What a pointer gets; a detail picture is for screens that have none, and must not weigh."""
    return f"<title>{said}</title>" if sheet.whole else ""


def _stretch(sheet: Sheet, stretch: Stretch, s: int) -> str:
    key = f"path {id(stretch)}"
    drawn = sheet.still.get(key)
    if drawn is None:
        drawn = sheet.still[key] = f'<path d="{_path(stretch.edges)}"/></g>'
    return (
        f'<g class="{_classes(sheet, stretch.line, stretch.flows[s], s)}" data-bd-line="{_text(stretch.line)}">'
        f"{_tip_text(sheet, _said(sheet, stretch.line, s))}{drawn}"
    )


def _stub(sheet: Sheet, net: Net, spot: Spot, flow: int, s: int) -> str:
    """A line from a port straight down into the reservoir. flow: +1 = into the part."""
    name = net.pieces[0].line
    x, y = spot
    tank = next(t for t in net.terminals if t[0] == "tank")[1]
    box = Pen()
    box.line((x - 1.5, y + STUB - 0.8), (x - 1.5, y + STUB + 0.5), (x + 1.5, y + STUB + 0.5), (x + 1.5, y + STUB - 0.8))
    head = ""
    if not sheet.figures.failures[s]:
        if flow == 1:
            head = _tip(x, y, up=True)
        elif flow == -1:
            head = _tip(x, y + STUB - 0.9, up=False)
    return (
        f'<g class="{_classes(sheet, name, flow, s)}" data-bd-line="{_text(name)}">'
        f'{_tip_text(sheet, _said(sheet, name, s))}<path d="M{n(x)} {n(y)}v{n(STUB)}"/>{head}</g>'
        f'<g class="bd-sym" data-bd-part="{_text(tank)}">{_tip_text(sheet, _text(tank))}'
        f"{marks_svg(tuple(box.marks), frozenset())}</g>"
    )


def _tip(x: float, y: float, up: bool) -> str:
    d = 1.1 if up else -1.1
    return f'<path class="bd-tip" d="M{n(x)} {n(y)}L{n(x - 0.5)} {n(y + d)}H{n(x + 0.5)}z"/>'


def _tips(sheet: Sheet, s: int) -> str:
    """Arrowheads where oil enters a part."""
    if sheet.figures.failures[s]:
        return ""
    out = []
    for net in sheet.made.nets:
        for key, row in sheet.traces[net.name].entries.items():
            if row[s] != 1:
                continue
            x, y = sheet.routed.places[key]
            up = sheet.made.home[key].pins()[key].side == "S"
            line = next((p.line for p in net.pieces if key in (p.a, p.b)), net.pieces[0].line)
            out.append(
                f'<g class="{_classes(sheet, line, 1, s)}" data-bd-line="{_text(line)}">'
                f"{_tip(x, y + (0.05 if up else -0.05), up)}</g>"
            )
    return "".join(out)


# ---- parts
def _block(sheet: Sheet, block: Block, s: int) -> str:
    text = sheet.texts[block.key]
    out = []
    for k, m in enumerate(block.members):
        here = sheet.facts.get(m.part, [frozenset()] * (s + 1))[s] if block.key[0] == "part" else frozenset()
        at = (block.x + m.dx, block.y + m.dy)
        key = f"symbol {m.part} {block.key} {sorted(here)}"
        drawn = sheet.still.get(key)
        if drawn is None:
            drawn = sheet.still[key] = marks_svg(m.symbol.marks, here, at, m.symbol.words)
        links = marks_svg(block.links, frozenset(), (block.x, block.y)) if k == 0 and block.links else ""
        said = _part_text(sheet, m.part, text, k, s)
        out.append(f'<g class="bd-sym" data-bd-part="{_text(m.part)}">{links}{drawn}{said}</g>')
    return "".join(out)


def _part_text(sheet: Sheet, part: str, text: PartText, k: int, s: int) -> str:
    """Rows of member k, numbers of findings before its name."""
    if not text.fixed:
        return ""
    x, y = text.spots[k]
    badge, shift = "", 0.0
    if part in sheet.made.by_part and sheet.marks.get(part):
        y += 0.0 if text.under else 0.25
        wide = badge_width(sheet.marks[part], sheet.badge_words)
        badge = _badge(sheet, part, (x, y - 0.4 - BADGE / 2, x + wide, y - 0.4 + BADGE / 2), s)
        shift = wide + 0.4
        if k in text.apart:
            y, shift = y + ROW + 0.35, 0.0
    if text.under:
        name = " ".join(t for t, bold in text.fixed[k] if bold)
        rest = [t for t, bold in text.fixed[k] if not bold] + list(text.changing[k][s])
        more = "".join(f" · {_text(t)}" for t in rest)
        return f'<text x="{n(x + shift)}" y="{n(y)}"><tspan class="bd-name">{_text(name)}</tspan>{more}</text>{badge}'
    out = []
    for row, bold in [*text.fixed[k], *((t, False) for t in text.changing[k][s])]:
        weight = ' class="bd-name"' if bold else ""
        out.append(f'<tspan x="{n(x + shift)}" y="{n(y)}"{weight}>{_text(row)}</tspan>')
        y += ROW + (0.25 if shift else 0.0)
        shift = 0.0
    return f"<text>{''.join(out)}</text>{badge}"


# ---- words
def _label(label: LineText, s: int, sheet: Sheet) -> str:
    box = label.put.box
    if box is None:
        return ""
    figure = label.rows[s]
    x, y = n(box[2] - 0.1 if label.put.end else box[0] + 0.1), box[1] + 1.0
    anchor = ' text-anchor="end"' if label.put.end else ""
    over = " bd-high" if sheet.figures.lines[label.name].step[s] == "over" else ""
    role = f'<tspan class="bd-role">{label.role}</tspan>'
    if label.letter:
        x0, y0, x1, y1 = (n(v) for v in box)
        return (
            f'<g class="bd-tag" data-bd-line="{_text(label.name)}"><path d="M{x0} {y0}H{x1}V{y1}H{x0}z"/>'
            f'<text x="{n((box[0] + box[2]) / 2)}" y="{n(box[3] - 0.35)}" text-anchor="middle">'
            f"{label.letter}</text></g>"
        )
    quiet = "" if sheet.figures.lines[label.name].sense[s][0] else " bd-quiet"
    open_ = f'<text class="bd-lab{quiet}" data-bd-line="{_text(label.name)}" x="{x}" y="{n(y)}"{anchor}>'
    rows = [figure] if label.put.choice < 2 else figure.split(" · ")
    if label.put.choice in (0, 2):
        first = f'<tspan class="bd-label">{_text(label.name)}</tspan>'
    elif figure:
        first = f'<tspan class="bd-fig{over}">{_text(rows.pop(0))}</tspan>'
    else:
        return ""
    more = "".join(f'<tspan class="bd-fig{over}" x="{x}" dy="{n(ROW)}">{_text(row)}</tspan>' for row in rows if row)
    return f"{open_}{role} {first}{more}</text>"


def _list(listed: list[LineText], s: int, x: float, y: float) -> list[str]:
    """What found no place beside its line."""
    out = []
    for k, label in enumerate(listed):
        figure = f": {label.rows[s]}" if label.rows[s] else ""
        out.append(
            f'<text data-bd-line="{_text(label.name)}" x="{n(x)}" y="{n(y + LIST_ROW * k)}"><tspan class="bd-role">'
            f"{label.letter if label.put.box else '–'}</tspan> {label.role} {_text(label.name)}{_text(figure)}</text>"
        )
    return out


def _badge(sheet: Sheet, name: str, box: tuple[float, float, float, float], s: int) -> str:
    """Numbers of findings; faint where their governing state is another one."""
    marks = sheet.marks[name]
    found = [sheet.findings[m - 1] for m in marks]
    here = any(f.state in ("", sheet.results.states[s]) for f in found)
    worst = min((f.signal for f in found), key=SIGNALS.index)
    said = "; ".join(
        f"{sheet.badge_words[m - 1]}: {f.headline}" if sheet.badge_words else f"{m}: {f.signal}, {f.headline}"
        for m, f in zip(marks, found, strict=True)
    )
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    label = badge_text(marks, sheet.badge_words)
    return (
        f'<g class="bd-mark bd-{worst.lower()}{"" if here else " bd-elsewhere"}" data-bd-at="{_text(name)}" '
        f'data-bd-findings="{" ".join(map(str, marks))}">{_tip_text(sheet, _text(said))}'
        f'<rect x="{n(box[0])}" y="{n(box[1])}" width="{n(box[2] - box[0])}" height="{n(BADGE)}" '
        f'rx="{n(BADGE / 2)}"/><text x="{n(x)}" y="{n(y + 0.4)}" text-anchor="middle">{label}</text></g>'
    )
