"""The drawing in a real browser: text stays inside the room made for it, colours follow the theme, paper is white."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from builddoc.draw import FlowLayout, draw_state, layout, legend

from . import sample

pytestmark = pytest.mark.browser
CSS = (Path(__file__).parents[2] / "builddoc" / "draw" / "drawing.css").read_text("utf-8")
LIGHT = ":root{--md-default-fg-color:rgb(20,20,20);--md-default-bg-color:rgb(255,255,255)}"
DARK = (
    "@media screen{[data-md-color-scheme=slate]"
    "{--md-default-fg-color:rgb(230,230,230);--md-default-bg-color:rgb(30,33,41)}}"
)

# For each text row (a tspan that starts a row runs to the next one): its box, and the box it belongs to.
MEASURE = """() => {
  const out = [];
  for (const part of document.querySelectorAll('.bd-part')) {
    const box = part.querySelector('rect').getBBox(), text = part.querySelector('text:not(.bd-port)').getBBox();
    out.push([part.dataset.bdPart, [box.x, box.y, box.width, box.height], [text.x, text.y, text.width, text.height]]);
  }
  return out;
}"""
LABELS = """() => [...document.querySelectorAll('.bd-line > text')].map(t => {
  const b = t.getBBox(); return [t.parentNode.dataset.bdLine, b.x, b.y, b.width, b.height]; })"""


@pytest.fixture(scope="module")
def placed() -> FlowLayout:
    made = sample.circuit()
    return layout(made, sample.results(made), findings=sample.FINDINGS)


@pytest.fixture(scope="module")
def page(browser: Any) -> Iterator[Any]:
    opened = browser.new_page()
    yield opened
    opened.close()


def show(page: Any, placed: FlowLayout, s: int, scheme: str = "default", font: str = "sans-serif") -> None:
    page.set_content(
        f"<!doctype html><html><head><style>{LIGHT}{DARK}{CSS}body{{margin:0;font-family:{font};"
        "background:var(--md-default-bg-color);color:var(--md-default-fg-color)}</style></head>"
        f'<body data-md-color-scheme="{scheme}"><div class="bd-drawing">{draw_state(placed, s, "t").svg}</div>'
        f"{legend(placed)}</body></html>"
    )


@pytest.mark.parametrize("font", ["'DejaVu Sans'", "'Liberation Sans', Arial"])
@pytest.mark.parametrize("s", range(4))
def test_text_stays_in_its_room(page: Any, placed: FlowLayout, font: str, s: int) -> None:
    show(page, placed, s, font=font)
    for name, box, text in page.evaluate(MEASURE):
        assert text[0] >= box[0] and text[0] + text[2] <= box[0] + box[2], name
        assert text[1] >= box[1] and text[1] + text[3] <= box[1] + box[3] + 1, name
    labels = page.evaluate(LABELS)
    assert len(labels) >= len(placed.circuit.lines) - 2
    boxes = [(box.name, (box.rect.x, box.rect.y, box.rect.w, box.rect.h)) for box in placed.parts]
    found = [(name, tuple(rect)) for name, *rect in labels if rect[2]]
    for n, (name, a) in enumerate(found):
        for other, b in [*found[n + 1 :], *boxes]:
            apart = a[0] + a[2] <= b[0] or b[0] + b[2] <= a[0] or a[1] + a[3] <= b[1] + 1 or b[1] + b[3] <= a[1] + 1
            assert apart, (name, other)


def test_smallest_text_is_legible(page: Any, placed: FlowLayout) -> None:
    show(page, placed, 1)
    sizes = page.evaluate(
        "() => [...document.querySelectorAll('.bd-flow text, .bd-flow tspan')].map(e => getComputedStyle(e).fontSize)"
    )
    assert min(float(size.removesuffix("px")) for size in sizes) >= 11


def test_colours_follow_the_scheme_and_print_is_dark_on_white(page: Any, placed: FlowLayout) -> None:
    def fill() -> str:
        name = page.locator(".bd-name").first
        return str(name.evaluate("e => getComputedStyle(e).fill"))

    show(page, placed, 1)
    assert fill() == "rgb(20, 20, 20)"
    show(page, placed, 1, "slate")
    assert fill() == "rgb(230, 230, 230)"
    page.emulate_media(media="print")
    assert fill() == "rgb(20, 20, 20)"
    page.emulate_media(media="screen")


@pytest.mark.parametrize("scheme", ["default", "slate"])
def test_contrast_of_lines_and_text(page: Any, placed: FlowLayout, scheme: str) -> None:
    """WCAG 2.1: 3:1 for graphics (SC 1.4.11), 4.5:1 for text (SC 1.4.3)."""
    show(page, placed, 1, scheme)
    paper = page.evaluate("() => getComputedStyle(document.body).backgroundColor")
    wanted = [(f"--bd-{name}", 3.0) for name in ("u0", "u1", "u2", "u3", "u4", "over")]
    wanted += [(f"--bd-{name}", 3.0) for name in ("danger", "warning", "caution", "notice")] + [("--bd-soft", 4.5)]
    for token, least in wanted:
        colour = page.evaluate(
            "token => { const e = document.createElement('i'); e.style.color = `var(${token})`;"
            " document.body.append(e); const c = getComputedStyle(e).color; e.remove(); return c; }",
            token,
        )
        assert contrast(colour, paper) >= least, (token, colour, paper)


def contrast(a: str, b: str) -> float:
    """Contrast ratio of two opaque colours, WCAG 2.1 definition of relative luminance."""

    def luminance(colour: str) -> float:
        parts = [int(v) / 255 for v in re.findall(r"\d+", colour)[:3]]
        r, g, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * blue

    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_phone_scrolls_the_drawing_and_not_the_page(page: Any, placed: FlowLayout) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    show(page, placed, 1)
    assert page.evaluate("() => document.documentElement.scrollWidth") <= 390
    drawing = page.locator(".bd-drawing")
    wide, own = drawing.evaluate("d => [d.scrollWidth, d.clientWidth]")
    assert wide > own
    page.set_viewport_size({"width": 1280, "height": 800})
