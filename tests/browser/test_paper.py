"""What a printed page holds: as few sheets as its figures need, heads on each, and very long tables as the reader left
them, whatever the theme opens."""

from __future__ import annotations

import re
from typing import Any

import pytest

pytestmark = pytest.mark.browser
MILL = "bandsaw-mill-as-first-built/"
LONG = "details.bd-long[id$='-1-{}']"


def paper(page: Any) -> None:
    """As the page is when it is printed: the browser tells of it before it lays out the sheets."""
    page.emulate_media(media="print")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")


def screen(page: Any) -> None:
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    page.emulate_media(media="screen")


def sheets(page: Any) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", page.pdf(format="A4")))


def test_the_longest_machine_takes_some_thirty_sheets(visit: Any, address: str) -> None:
    page = visit(address + MILL).page
    short = sheets(page)
    assert 10 < short < 33
    for key in ("lines-by-state", "envelope", "ratings"):
        page.locator(LONG.format(key) + " > summary").click()
    assert sheets(page) > short + 8  # what the reader opened is printed whole


def test_a_very_long_table_is_printed_for_the_state_that_is_drawn(visit: Any, address: str) -> None:
    page = visit(address + MILL).page
    fold = page.locator(LONG.format("lines-by-state"))
    page.locator(".bd-states > label", has_text="lifting").first.click()
    paper(page)
    assert "‘lifting’" in fold.locator("summary").evaluate("e => getComputedStyle(e, '::after').content")
    rows = fold.locator("tbody tr:visible")
    lines = {row.strip() for row in fold.locator("tbody tr th").all_text_contents()}
    assert rows.count() == len(lines) == len(set(rows.locator("th").all_text_contents()))  # each line once
    feed = fold.locator("tbody tr[data-bd='feed']:visible").first
    assert "75.5" in feed.inner_text()  # bar at the pump: that of `lifting`, as in the drawing
    assert fold.locator("th:text-is('State'):visible").count() == 0
    screen(page)
    assert not fold.evaluate("e => e.open") and fold.locator(".bd-undrawn").count() == 0


def test_a_very_long_table_without_states_says_that_it_is_folded(visit: Any, address: str) -> None:
    page = visit(address + MILL).page
    fold = page.locator(LONG.format("envelope"))
    fold.evaluate("e => { e.open = true }")  # as the theme does
    paper(page)
    assert fold.locator("table:visible").count() == 0
    said = fold.locator("summary").evaluate("e => getComputedStyle(e, '::after').content")
    assert "not on this paper" in said and fold.get_attribute("data-bd-rows") == str(fold.locator("tbody tr").count())


def test_a_very_long_table_that_the_reader_opened_is_printed_whole(visit: Any, address: str) -> None:
    page = visit(address + MILL).page
    for key in ("envelope", "lines-by-state"):
        fold = page.locator(LONG.format(key))
        fold.locator("summary").click()
        paper(page)
        assert fold.locator("tbody tr:visible").count() == fold.locator("tbody tr").count() > 60
        screen(page)


def test_without_a_script_an_opened_table_is_printed(visit: Any, address: str) -> None:
    page = visit(address + MILL, script=False).page
    fold = page.locator(LONG.format("envelope"))
    fold.locator("summary").click()
    page.emulate_media(media="print")
    assert fold.locator("tbody tr:visible").count() > 60


def test_charts_stand_side_by_side_and_none_reaches_over_the_next(visit: Any, address: str) -> None:
    page = visit(address + MILL, width=680).page  # an A4 sheet between margins
    paper(page)
    one, two = page.locator(".bd-plot").all()
    first, second = one.locator("svg.bd-narrow").bounding_box(), two.bounding_box()
    assert first["y"] < second["y"] + second["height"] and first["x"] + first["width"] <= second["x"]


def test_no_caution_and_no_finding_is_left_out(visit: Any, address: str) -> None:
    page = visit(address + MILL).page
    paper(page)
    for what in (".bd-caution-line", ".bd-finding"):
        every = page.locator(f"figure.bd {what}")
        assert every.count() > 20 and page.locator(f"figure.bd {what}:visible").count() == every.count(), what


def test_column_heads_can_be_repeated_on_each_sheet(visit: Any, address: str) -> None:
    """Chromium repeats no head that holds a box of its own, as a button is."""
    page = visit(address + MILL).page
    assert page.locator("thead .bd-sort").count() > 10
    paper(page)
    heads = page.locator("thead .bd-sort")
    assert heads.evaluate_all("all => all.every(e => getComputedStyle(e).display == 'contents')")
    assert page.locator("figure.bd details.bd-more").evaluate_all(
        "all => all.every(e => getComputedStyle(e).breakInside == 'auto')"
    )


def test_tables_do_not_run_off_the_sheet(visit: Any, address: str) -> None:
    page = visit(address + MILL).page
    paper(page)
    page.set_viewport_size({"width": 680, "height": 1000})  # A4 between its margins
    wide = page.locator("figure.bd table:visible").evaluate_all(
        "all => all.filter(e => e.scrollWidth > 681 || e.getBoundingClientRect().right > 681).map(e => e.textContent)"
    )
    assert wide == []
