"""The key to the drawings of a circuit: what dash, letter, weight, shade and number mean. Only what occurs in it."""

from __future__ import annotations

from html import escape

from .frame import LETTERS, FlowLayout
from .graph import ROLES

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
    """HTML list for all states of a placed circuit; to be shown with drawing.css."""
    items = [
        f"<li>{_sample(f'bd-{role} bd-on')}<b>{LETTERS[role]}</b> {WORDS[role]}</li>"
        for role in ROLES
        if role in layout.picture.roles.values()
    ]
    lines = layout.figures.lines.values()
    items.append(f"<li>{_sample('bd-pressure bd-on', head=True)}oil flows this way</li>")
    items.append(f"<li>{_sample('bd-pressure bd-idle')}no flow</li>")
    if any(line.direct for line in lines):
        items.append(f"<li>{_sample('bd-direct')}screwed together</li>")
    steps = {step for line in lines for step in line.step}
    if steps - {""}:
        shown = {step: text for step, text in RAMP.items() if step != "over" or step in steps}
        shades = [f"{_sample(f'bd-on bd-{step}')}{text}" for step, text in shown.items()]
        items.append(f"<li>pressure as a share of the lowest rating along the line: {' '.join(shades)}</li>")
    if layout.shafts:
        items.append(f"<li>{_shaft_sample()}shaft</li>")
    if any(box.marks for box in layout.parts) or any(path.label and path.label.marks for path in layout.runs):
        items.append(f"<li>{_mark_sample()}finding with that number, dashed where another state is its worst</li>")
    return f'<ul class="bd-legend">{"".join(items)}</ul>'


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
