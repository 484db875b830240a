"""Small screens and paper: the detail picture of what carries oil stands in the place of the whole drawing."""

from __future__ import annotations

from typing import Any

import pytest

pytestmark = pytest.mark.browser
MILL, PRESS, TRAILER = "bandsaw-mill-as-first-built/", "shop-press/rebuilt/", "tipping-trailer/rebuilt/"
LEAST = 8.0  # px, letters of a drawing on a phone


def choose(page: Any, state: str) -> None:
    page.locator(".bd-states > label", has_text=state).first.click()


def shown(page: Any) -> Any:
    """Drawings of the figure's states that are seen."""
    return page.locator(".bd-states .bd-drawing:visible")


def letters(page: Any) -> float:
    """Height in px of the letters of the drawing that is seen."""
    return float(
        shown(page).locator("text").first.evaluate(
            "e => 11 * e.ownerSVGElement.getBoundingClientRect().width / e.ownerSVGElement.width.baseVal.value"
        )
    )


def fits(page: Any) -> bool:
    return bool(shown(page).evaluate("e => e.scrollWidth <= e.clientWidth"))


def names(drawing: Any, kind: str) -> set[str]:
    every = f"e => [...e.querySelectorAll('[data-bd-{kind}]')].map(x => x.dataset.bd{kind.title()})"
    return set(drawing.evaluate(every))


def test_a_phone_gets_what_carries_oil_without_scrolling_sideways(visit: Any, address: str) -> None:
    page = visit(address + MILL, width=390).page
    for state in ("idling", "lifting", "clamping", "clamp at its stop", "head up", "turning", "feeding"):
        choose(page, state)
        assert shown(page).count() == 1 and "what carries oil" in shown(page).get_attribute("aria-label")
        assert fits(page) and letters(page) >= LEAST, state
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    # `clamp at its stop`: the clamp stands under pressure and the pump goes over the relief; nothing else has a part.
    choose(page, "clamp at its stop")
    found = names(shown(page), "part")
    assert {"pump", "main relief", "bank", "clamp ram"} <= found
    assert not {"left lifter", "head ram", "turner motor", "deck valve"} & found


def test_no_state_of_a_guide_that_has_figures_scrolls_sideways(visit: Any, address: str) -> None:
    """Two valves one behind the other, with their words: what an idle one needs beside it stands above it."""
    page = visit(address + "guides/adding-a-valve-downstream/", width=390).page
    for figure in page.locator("figure.bd").all()[:2]:
        for label in figure.locator(".bd-states > label").all():
            label.click()
            seen = figure.locator(".bd-states .bd-drawing:visible")
            assert seen.evaluate("e => e.scrollWidth <= e.clientWidth"), label.inner_text()


def test_figures_and_marks_are_those_of_the_whole_drawing(visit: Any, address: str) -> None:
    page = visit(address + MILL, width=390).page
    choose(page, "lifting")
    detail, whole = shown(page), page.locator(".bd-panel:has(.bd-drawing:visible) .bd-whole")
    for kind in ("part", "line"):
        assert names(detail, kind) < names(whole, kind)
    marks = "e => [...e.querySelectorAll('.bd-mark')].map(m => [m.dataset.bdAt, m.dataset.bdFindings, m.textContent])"
    there = [[at, numbers] for at, numbers, _ in whole.evaluate(marks)]
    assert detail.evaluate(marks) and all([at, numbers] in there for at, numbers, _ in detail.evaluate(marks))
    # The pump's line: 22.3 L/min, as the table and the whole drawing say.
    for drawing in (detail, whole):
        assert "22.3 L/min" in drawing.locator("text.bd-lab[data-bd-line='feed']").first.text_content()


def test_the_whole_drawing_is_one_box_away_without_a_script(visit: Any, address: str) -> None:
    page = visit(address + PRESS, width=390, script=False).page
    assert shown(page).count() == 1 and "what carries oil" in shown(page).get_attribute("aria-label")
    assert "Left out" in page.locator(".bd-states .bd-left-out:visible").inner_text()
    page.get_by_label("Show the whole drawing").check()
    choose(page, "ram up")  # in every state
    assert shown(page).count() == 1 and shown(page).get_attribute("aria-label") == "Drawing, ram up"
    assert page.locator(".bd-states .bd-left-out:visible").count() == 0


def test_a_tap_tells_the_figures_and_what_is_left_out_brings_the_whole(visit: Any, address: str) -> None:
    page = visit(address + PRESS, width=390).page
    choose(page, "work gives no more")
    shown(page).locator("text.bd-lab[data-bd-line='pack hose'] tspan").first.click()
    assert "‘pack hose’" in page.locator(".bd-said:visible").inner_text()
    assert page.locator(".bd-detail:visible .bd-picked").count() > 0
    whole = page.locator(".bd-panel:has(.bd-drawing:visible) .bd-whole")
    left = sorted(names(whole, "line") - names(shown(page), "line"))
    page.locator(".bd-frame:visible select").select_option(left[0])
    assert page.get_by_label("Show the whole drawing").is_checked()
    assert page.locator(".bd-whole:visible .bd-picked").count() > 0


def test_wide_screens_and_paper_have_the_whole_one_only(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    assert page.locator(".bd-detail:visible, .bd-full:visible").count() == 0 and shown(page).count() == 1
    page.set_viewport_size({"width": 390, "height": 800})
    page.emulate_media(media="print")
    assert page.locator(".bd-detail:visible, .bd-full:visible, .bd-left-out:visible").count() == 0
    assert shown(page).count() == 1


def test_where_the_whole_one_fits_there_is_no_other(visit: Any, address: str) -> None:
    page = visit(address + "tipping-trailer/as-found/", width=390).page
    assert page.locator(".bd-detail, .bd-full").count() == 0 and fits(page) and letters(page) >= LEAST


def test_charts_and_captions_are_as_wide_as_the_column(visit: Any, address: str) -> None:
    """What scrolls sideways is a table; what it is about and every chart are seen whole."""
    page = visit(address + PRESS, width=390).page
    plots = page.locator(".bd-plot .bd-scroll")
    assert plots.count() == 2 and plots.evaluate_all("all => all.every(e => e.scrollWidth <= e.clientWidth)")
    ends = page.locator("caption:visible").evaluate_all("all => all.map(e => e.getBoundingClientRect().right)")
    assert len(ends) > 3 and max(ends) <= 390
    page.goto(address + "bandsaw-mill/measured/")
    chart = page.locator(".bd-scroll:has(.bd-chart)").first
    assert chart.evaluate("e => e.scrollWidth <= e.clientWidth") and chart.locator("svg:visible").count() == 1


def test_readings_are_told_in_lines(visit: Any, address: str) -> None:
    page = visit(address + "bandsaw-mill/measured/", width=390).page
    table = page.locator(".bd-measured").first
    assert table.evaluate("e => e.parentNode.scrollWidth <= e.parentNode.clientWidth")
    cell = table.locator("td[data-bd-of='Measured']").first
    assert "Measured" in cell.evaluate("e => getComputedStyle(e, '::before').content")
    assert cell.bounding_box()["y"] > table.locator("th").nth(7).bounding_box()["y"]


def test_tables_are_told_in_lines_with_the_head_of_each_column(visit: Any, address: str) -> None:
    page = visit(address + PRESS, width=390).page
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    wide = page.locator("figure.bd .bd-scroll:has(> table)").evaluate_all(
        "all => all.filter(e => e.scrollWidth > e.clientWidth).map(e => [e.ariaLabel, e.scrollWidth])"
    )
    assert wide == []
    head = "e => getComputedStyle(e, '::before').content.replaceAll('\"', '')"
    row = page.locator("section[id$='-1-lines'] tr[data-bd='pack hose']")
    heads = row.locator("td").evaluate_all(f"all => all.map({head})")
    assert heads == ["Duty: ", "Flow, L/min: ", "Velocity, m/s: ", "Highest pressure, bar: ", "Rated, bar: ",
                     "Share of rating: ", "Limited by: "]  # fmt: skip
    share = row.locator("td").nth(5)
    assert "72 %" in share.inner_text() and share.bounding_box()["x"] < 390  # what matters most is seen at once
    page.set_viewport_size({"width": 1280, "height": 900})
    assert row.locator("td").nth(1).evaluate(head) == "none"


def test_both_drawings_of_a_comparison_fit(visit: Any, address: str) -> None:
    for name in ("bandsaw-mill/before-and-after/", PRESS, TRAILER):
        page = visit(address + name, width=390).page
        drawn = page.locator(".bd-compare .bd-drawing:visible")
        assert drawn.count() == 2, name
        assert drawn.evaluate_all("all => all.every(e => e.scrollWidth <= e.clientWidth)"), name
    page = visit(address + "bandsaw-mill/before-and-after/", width=390, script=False).page
    seen = page.locator(".bd-compare .bd-drawing:visible")
    assert seen.locator(".bd-mark").count() > 10  # what differs is numbered there too
    page.get_by_label("Show both drawings whole").check()
    assert page.locator(".bd-compare .bd-whole:visible").count() == 2
    assert page.locator(".bd-compare :is(.bd-detail, .bd-left-out):visible").count() == 0


@pytest.mark.parametrize("name", ["bandsaw-mill/rebuilt/", "shop-press/before/", "guides/tee-or-divider/", "machines/"])
def test_no_page_is_wider_than_a_phone(visit: Any, address: str, name: str) -> None:
    page = visit(address + name, width=390).page
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_name_of_a_row_stays_in_sight(visit: Any, address: str) -> None:
    """Of the few tables that are too wide to be told in lines."""
    page = visit(address + MILL, width=390).page
    page.locator("details[id$='-heat-parts'] > summary").click()
    box = page.locator("details[id$='-heat-parts'] .bd-scroll")
    name = box.locator("tbody th").first
    before = name.bounding_box()["x"]
    box.evaluate("e => { e.scrollLeft = 200 }")
    assert box.evaluate("e => e.scrollLeft") > 100 and name.bounding_box()["x"] == pytest.approx(before, abs=1)


def test_a_table_in_the_text_shows_its_last_column(visit: Any, address: str) -> None:
    """Of the reference: what a key is stands last."""
    for name in ("reference/kinds/directional-valve/", "reference/kinds/pump/", "machines/"):
        page = visit(address + name, width=390).page
        ends = page.locator("article table:not([class])").evaluate_all(
            "all => all.map(e => e.getBoundingClientRect().right)"
        )
        assert ends and max(ends) <= 390, name


def test_symbols_are_large_enough_to_be_read_on_a_phone(visit: Any, address: str) -> None:
    """A stack of valves is 560 px wide; in a third of a phone's width it would be a speck."""
    page = visit(address + "reference/symbols/", width=390).page
    boxes = [cell.bounding_box() for cell in page.locator("td > .bd-symbol svg").all()]
    sizes = page.locator("td > .bd-symbol svg").evaluate_all("all => all.map(e => e.width.baseVal.value)")
    assert len(boxes) > 30 and page.evaluate("document.documentElement.scrollWidth") <= 390
    assert all(box["width"] > 0.55 * size for box, size in zip(boxes, sizes, strict=True))
    assert page.locator("td:visible").count() == page.locator("td").count()
