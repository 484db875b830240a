"""Our own pages in a real browser: no errors, nothing fetched from elsewhere, drawing and tables to be seen."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from .conftest import follow

pytestmark = pytest.mark.browser
MILL = "bandsaw-mill-as-first-built/"
PAGES = [
    "", MILL, "bandsaw-mill/rebuilt/", "bandsaw-mill/before-and-after/", "bandsaw-mill/measured/",
    "shop-press/rebuilt/", "shop-press/sheets/", "tipping-trailer/as-found/", "first-build-page/", "reference/",
    "log/", "log/the-mill-comes-out-of-the-shed/",
    "reference/verification/", "reference/kinds/flow-divider/", "reference/rules/rating-each-part/",
]  # fmt: skip
# Luminance contrast of a label of the drawing against the page, after WCAG 2.1.
CONTRAST = """() => {
  const lum = c => { const v = c.match(/[\\d.]+/g).slice(0, 3).map(x => x / 255)
    .map(x => x <= 0.03928 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4);
    return 0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2]; };
  const texts = [...document.querySelectorAll('.bd-drawing svg.bd-flow text')];
  const text = texts.find(t => t.getBoundingClientRect().width);
  const a = lum(getComputedStyle(text).fill), b = lum(getComputedStyle(document.body).backgroundColor);
  return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05); }"""


@pytest.mark.parametrize("name", PAGES)
def test_pages_load_without_errors_or_foreign_requests(visit: Any, address: str, name: str) -> None:
    seen = visit(address + name, idle=True)
    assert seen.errors == [] and seen.requests == []


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_drawing_is_visible(visit: Any, address: str, scheme: str, width: int) -> None:
    page = visit(address + MILL, width, scheme).page
    drawing = page.locator(".bd-drawing svg.bd-flow:visible")
    assert drawing.count() == 1
    box = drawing.bounding_box()
    assert box["width"] > 300 and box["height"] > 200
    assert page.evaluate("document.documentElement.scrollWidth") <= width  # the page itself never scrolls sideways
    assert page.evaluate(CONTRAST) > 4.5


def test_drawings_of_the_machines_fit_the_column(visit: Any, address: str) -> None:
    """On a screen 1280 px wide, where the column has 748; letters of 11 px may shrink to 8.5."""
    page = visit(address + MILL).page
    machines = [f"{name}/rebuilt/" for name in ("bandsaw-mill", "shop-press", "tipping-trailer")]
    for name in (MILL, "shop-press/before/", "tipping-trailer/as-found/", *machines):
        page.goto(address + name)
        box = page.locator(".bd-states .bd-drawing:visible")
        assert box.evaluate("e => e.scrollWidth <= e.clientWidth"), name
        shrunk = "e => e.getBoundingClientRect().width / e.width.baseVal.value"
        assert 11 * box.locator("svg").evaluate(shrunk) >= 8.5, name


def test_the_tables_of_lines_and_of_heat_fit_the_column(visit: Any, address: str) -> None:
    """The share of the rating and what limits a line stand last: nobody should have to look for them."""
    for name in (MILL, "shop-press/before/", "tipping-trailer/rebuilt/"):
        page = visit(address + name).page
        for key in ("lines", "heat"):
            box = page.locator(f"section[id$='-1-{key}'] .bd-scroll")
            assert box.evaluate("e => e.scrollWidth <= e.clientWidth"), (name, key)


SORTS = [MILL, "bandsaw-mill/rebuilt/", "bandsaw-mill/before-and-after/", "shop-press/sheets/"]


@pytest.mark.parametrize("name", SORTS)
def test_no_heading_is_skipped(visit: Any, address: str, name: str) -> None:
    page = visit(address + name).page
    levels = page.locator("article :is(h1, h2, h3, h4)").evaluate_all("all => all.map(e => Number(e.localName[1]))")
    assert levels[0] == 1 and all(b - a <= 1 for a, b in pairwise(levels)), levels


def test_states_change_by_click_and_by_key(visit: Any, address: str) -> None:
    page = visit(address + MILL).page

    def shown() -> str:
        return str(page.locator("figure.bd .bd-drawing:visible").get_attribute("aria-label"))

    first = shown()
    height = page.locator(".bd-drawing svg.bd-flow:visible").bounding_box()["height"]
    page.locator(".bd-states > label", has_text="idling").first.click()
    assert shown() != first and "idling" in shown()
    assert page.locator(".bd-drawing svg.bd-flow:visible").bounding_box()["height"] == pytest.approx(height, abs=2)
    page.keyboard.press("ArrowRight")
    assert "idling" not in shown()


def test_without_a_script_the_first_state_and_all_tables_are_there(visit: Any, address: str) -> None:
    page = visit(address + MILL, script=False).page
    assert page.locator(".bd-drawing svg.bd-flow:visible").count() == 1
    assert page.locator("figure.bd table.bd-table").count() >= 4
    assert page.locator("figure.bd section.bd-part table.bd-table").first.is_visible()


def test_instant_navigation_prepares_the_next_page(visit: Any, address: str) -> None:
    seen = visit(address, idle=True)
    follow(seen.page, seen.page.locator("article a", has_text="Shop press").first.click)
    assert "/shop-press/" in seen.page.url
    seen.page.locator(".bd-enlarge:visible").click()
    assert seen.page.locator("dialog.bd-dialog .bd-whole svg").is_visible() and seen.errors == []
    seen.page.locator(".bd-close").click()
    assert seen.page.locator(".bd-drawing svg.bd-flow:visible").count() == 1


def test_from_a_folder_without_a_server(visit: Any, built: Path) -> None:
    page = visit(f"file://{built}/{MILL}index.html").page
    assert page.locator(".bd-drawing svg.bd-flow:visible").count() == 1
    assert page.locator("figure.bd").evaluate("e => getComputedStyle(e).borderTopWidth") == "2px"  # the style came too


def test_downloads_answer(visit: Any, address: str) -> None:
    page = visit(address + MILL).page
    links = page.eval_on_selector_all("figure.bd a[download]", "all => all.map(a => a.href)")
    assert {link.rsplit(".", 1)[1] for link in links} == {"yml", "json", "svg", "csv"}
    for link in links:
        assert page.request.get(link).ok, link


def test_print_shows_folded_parts_on_white(visit: Any, address: str, tmp_path: Path) -> None:
    page = visit(address + "first-build-page/", scheme="dark").page
    pdf = page.pdf(format="A4", print_background=False)
    assert pdf.startswith(b"%PDF") and len(pdf) > 20_000
    page.emulate_media(media="print")
    assert page.locator(".bd-drawing svg.bd-flow:visible").count() >= 1
    on_paper = CONTRAST.replace("getComputedStyle(document.body).backgroundColor", "'rgb(255, 255, 255)'")
    assert page.evaluate(on_paper) > 4.5


def test_before_and_after_says_in_one_screen_what_was_bought_and_brought(visit: Any, address: str) -> None:
    """Both lists of findings and the figures that differ most, once the block is scrolled to."""
    page = visit(address + "bandsaw-mill/before-and-after/").page
    block = page.locator("figure.bd-compare")
    top = block.bounding_box()["y"]
    for part in (".bd-bought", ".bd-brought", ".bd-glance table"):
        box = block.locator(part).bounding_box()
        assert box["y"] + box["height"] - top < 800, part
    assert "Malleable iron tee" in block.locator(".bd-bought").inner_text()
    assert "shut in" in block.locator(".bd-brought").inner_text()
    narrow = visit(address + "bandsaw-mill/before-and-after/", 390).page
    assert narrow.evaluate("document.documentElement.scrollWidth") <= 390


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize(
    "path", ["tipping-trailer/as-found/", "bandsaw-mill-as-first-built/", "reference/kinds/velocity-fuse/"]
)
def test_nothing_of_a_drawing_is_cut_off_at_its_edge(visit: Any, address: str, path: str, width: int) -> None:
    """Titles, labels, frames: all within the extent that the drawing says it has, in every state."""
    page = visit(address + path, width=width).page
    page.add_style_tag(content=".bd-panel, .bd-whole, .bd-detail { display: block !important }")
    drawings = page.locator(".bd-drawing svg.bd-circuit")
    assert drawings.count() > 2
    cut = drawings.evaluate_all("""
        (all) => all.flatMap((svg) => {
          const v = svg.viewBox.baseVal;
          return [...svg.querySelectorAll(":scope > text, :scope > .bd-e, .bd-lab, .bd-mark rect")].filter((e) => {
            const b = e.getBBox();
            return b.x < v.x - 0.5 || b.y < v.y - 0.5
              || b.x + b.width > v.x + v.width + 0.5 || b.y + b.height > v.y + v.height + 0.5;
          }).map((e) => e.textContent || e.getAttribute("class"));
        })""")
    assert not cut
