"""The circuit drawing in a real browser: words stay in the room kept for them, in light, dark and on a phone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from builddoc.draw import Sheet, circuit_layout, draw_circuit

from . import sample

pytestmark = pytest.mark.browser
CSS = (Path(__file__).parents[2] / "builddoc" / "draw" / "drawing.css").read_text("utf-8")
COLOURS = (
    ":root{--md-default-fg-color:#141414;--md-default-bg-color:#fff}"
    "[data-md-color-scheme=slate]{--md-default-fg-color:#e6e6e6;--md-default-bg-color:#1e2129}"
)
LABELS = """() => [...document.querySelectorAll('.bd-lab')].map(t => { const b = t.getBBox();
  return [t.dataset.bdLine, b.x / 10, b.y / 10, (b.x + b.width) / 10, (b.y + b.height) / 10]; })"""
PARTS = """() => [...document.querySelectorAll('.bd-sym')].flatMap(g => [...g.children]
  .filter(t => t.tagName === 'text' && !t.classList.contains('bd-port') && t.textContent)
  .map(t => { const b = t.getBBox(); return [g.dataset.bdPart, b.x / 10, (b.x + b.width) / 10]; }))"""


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    made = sample.circuit()
    return circuit_layout(made, sample.results(made), findings=sample.FINDINGS)


@pytest.fixture(params=["'DejaVu Sans'", "'Liberation Sans', Arial"])
def page(browser: Any, sheet: Sheet, request: pytest.FixtureRequest) -> Any:
    opened = browser.new_page()
    opened.set_content(
        f"<!doctype html><html><head><style>{COLOURS}{CSS}body{{margin:0;font-family:{request.param};"
        "color:var(--md-default-fg-color);background:var(--md-default-bg-color)}</style></head><body>"
        f'<div class="bd-drawing">{draw_circuit(sheet, 1, "t").svg}</div></body></html>'
    )
    yield opened
    opened.close()


def test_words_stay_in_their_room(page: Any, sheet: Sheet) -> None:
    found = page.evaluate(LABELS)
    assert len(found) > 8
    for name, x0, y0, x1, y1 in found:
        box = sheet.labels[name].put.box
        assert box is not None
        assert box[0] - 0.3 <= x0 and x1 <= box[2] + 0.3 and box[1] - 0.4 <= y0 and y1 <= box[3] + 0.4, name
    room = {m.part: sheet.texts[b.key].boxes for b in sheet.made.blocks for m in b.members}
    parts = page.evaluate(PARTS)
    assert len(parts) >= len(room) - 3
    for name, x0, x1 in parts:
        if name in room:
            assert any(box[0] - 0.4 <= x0 and x1 <= box[2] + 0.8 for box in room[name]), name


def test_smallest_words_are_legible_and_colours_follow_the_theme(page: Any) -> None:
    sizes = page.evaluate(
        "() => [...document.querySelectorAll('.bd-circuit text, .bd-circuit tspan')]"
        ".map(e => parseFloat(getComputedStyle(e).fontSize))"
    )
    assert min(sizes) >= 11
    fill = "() => getComputedStyle(document.querySelector('.bd-circuit .bd-name')).fill"
    assert page.evaluate(fill) == "rgb(20, 20, 20)"
    page.evaluate("() => document.body.setAttribute('data-md-color-scheme', 'slate')")
    assert page.evaluate(fill) == "rgb(230, 230, 230)"


def test_phone_scrolls_the_drawing_and_not_the_page(page: Any) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    assert page.evaluate("() => document.documentElement.scrollWidth") <= 390
    wide, own = page.locator(".bd-drawing").evaluate("d => [d.scrollWidth, d.clientWidth]")
    assert wide > own
