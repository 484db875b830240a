"""The key to the drawings of a circuit: what dash, letter, weight, shade and number mean. Only what occurs in it."""

from __future__ import annotations

from html import escape

from .figures import AT_LEAST, LineFigures
from .frame import LETTERS, FlowLayout
from .graph import ROLES
from .sheet import Sheet

WORDS = {
    "pressure": "pressure line",
    "work": "working line",
    "suction": "suction line",
    "return": "return line",
    "drain": "drain line",
    "pilot": "pilot line",
}
RAMP = {"u0": "up to 25 %", "u1": "50 %", "u2": "75 %", "u3": "90 %", "u4": "100 %", "over": "over the rating"}


def legend(layout: FlowLayout) -> str:
    """HTML list for all states of a placed flow diagram; to be shown with drawing.css."""
    marked = any(box.marks for box in layout.parts) or any(p.label and p.label.marks for p in layout.runs)
    items = _roles(set(layout.picture.roles.values()))
    lines = list(layout.figures.lines.values())
    if any(line.direct for line in lines):
        items.append(f"<li>{_sample('bd-direct')}screwed together</li>")
    items += _shares(lines)
    if layout.shafts:
        items.append(f"<li>{_shaft_sample()}shaft</li>")
    return _list(items, marked)


def circuit_legend(sheet: Sheet) -> str:
    """HTML list for all states of a placed circuit drawing; to be shown with drawing.css."""
    items = _roles(set(sheet.picture.roles.values()))
    lines = list(sheet.figures.lines.values())
    items += _shares(lines)
    if any(key.startswith("at ") for rows in sheet.facts.values() for row in rows for key in row):
        items.append(f"<li>{_position_sample()}position of the valve in this state, moved to its ports</li>")
    if any(net.role == "pilot" or net.pilot for net in sheet.made.nets) or "pilot" in sheet.picture.roles.values():
        items.append("<li>dashed inside a symbol: pilot or drain</li>")
    if sheet.packs:
        items.append(f"<li>{_enclosure_sample()}round a pump: screwed together as one unit</li>")
    items.append("<li>a line's name without a figure: no flow, no pressure; ‘not fixed’: see the table</li>")
    if any(text.startswith(AT_LEAST) for line in lines for rows in line.rows for run in rows for text in run):
        items.append(f"<li>{AT_LEAST}at least: oil that is shut in may hold more</li>")
    listed = any(label.letter and label.put.box for label in sheet.labels.values())
    if listed:
        items.append("<li>letters in a box: figures in the list below the drawing</li>")
    return _list(items, bool(sheet.marks))


def _roles(roles: set[str]) -> list[str]:
    items = [
        f"<li>{_sample(f'bd-{role} bd-on')}<b>{LETTERS[role]}</b> {WORDS[role]}</li>" for role in ROLES if role in roles
    ]
    items.append(f"<li>{_sample('bd-pressure bd-on', head=True)}oil flows this way</li>")
    items.append(f"<li>{_sample('bd-pressure bd-idle')}no flow</li>")
    return items


def _shares(lines: list[LineFigures]) -> list[str]:
    steps = {step for line in lines for step in line.step}
    if not steps - {""}:
        return []
    shown = {step: text for step, text in RAMP.items() if step != "over" or step in steps}
    shades = [f"<span>{_sample(f'bd-on bd-{step}')} {text}</span>" for step, text in shown.items()]
    return [f"<li class=\"bd-ramp\">pressure as a share of the lowest rating along the line: {' '.join(shades)}</li>"]


def _list(items: list[str], marked: bool) -> str:
    if marked:
        items.append(f"<li>{_mark_sample()}finding with that number, dashed where another state is its worst</li>")
    return f'<ul class="bd-legend">{"".join(items)}</ul>'


def _position_sample() -> str:
    return (
        '<svg class="bd-flow bd-circuit" aria-hidden="true" width="38" height="14" fill="none">'
        '<path class="bd-s" d="M1 1h12v12h-12z"/><path class="bd-o" d="M1 1h12v12h-12zM13 1h12v12h-12z"/></svg>'
    )


def _enclosure_sample() -> str:
    return (
        '<svg class="bd-flow bd-circuit" aria-hidden="true" width="38" height="12" fill="none">'
        '<path class="bd-e" d="M0 6H38"/></svg>'
    )


def _sample(classes: str, head: bool = False) -> str:
    arrow = '<path class="bd-tip" d="M36 6L27 2L27 10z"/>' if head else ""
    return _svg(f'<g class="bd-line {escape(classes)}"><path d="M0 6H{30 if head else 36}"/>{arrow}</g>')


def _shaft_sample() -> str:
    return _svg('<g class="bd-shaft"><path d="M0 6H36"/><path class="bd-gap" d="M0 6H36"/></g>')


def _mark_sample() -> str:
    circle = '<rect x="11" y="1" width="16" height="16" rx="8"/><text x="19" y="13" text-anchor="middle">1</text>'
    return _svg(f'<g class="bd-mark">{circle}</g>', 18)


def _svg(inside: str, height: int = 12) -> str:
    return f'<svg class="bd-flow" aria-hidden="true" width="38" height="{height}" fill="none">{inside}</svg>'
