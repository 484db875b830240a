"""Pointing at a part or line by mouse, finger and key: figures of the state shown, rows in the tables, and back."""

from __future__ import annotations

from typing import Any

import pytest

pytestmark = pytest.mark.browser
PRESS = "shop-press/rebuilt/"
LABEL = ".bd-states .bd-drawing:visible text.bd-lab[data-bd-line='{}']"


def said(page: Any) -> str:
    return str(page.locator(".bd-frame:visible .bd-said").first.inner_text())


def point(page: Any, name: str, press: bool = False) -> None:
    """Move the mouse to the first word of a line's label."""
    word = page.locator(LABEL.format(name)).locator("tspan").first
    page.locator(".bd-states .bd-frame:visible").evaluate("e => e.scrollIntoView()")
    box = word.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    if press:
        page.mouse.down()
        page.mouse.up()


def choose(page: Any, state: str) -> None:
    page.locator(".bd-states > label", has_text=state).first.click()


def test_hover_tells_the_figures_of_the_state_shown(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    choose(page, "work gives no more")
    point(page, "pack hose")
    assert "‘pack hose’" in said(page) and "200 bar" in said(page)
    point(page, "return")
    assert "‘return’" in said(page)
    choose(page, "ram down, fast")  # the same line, the other state
    assert "‘return’" in said(page) and "200 bar" not in said(page)
    row = page.locator("section[id$='-1-lines'] tr.bd-picked")
    assert row.count() == 1 and row.locator("th").inner_text().startswith("return")


def test_beside_a_thin_line_and_inside_a_symbol_count_too(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    page.locator(".bd-frame:visible").first.scroll_into_view_if_needed()
    box = page.locator(".bd-states .bd-drawing:visible g.bd-line[data-bd-line='ram up'] path").last.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2 + 5)
    assert "‘ram up’" in said(page)
    box = page.locator(".bd-states .bd-drawing:visible g.bd-sym[data-bd-part='rod gauge'] path").first.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 4, box["y"] + box["height"] / 2)
    assert said(page).startswith("rod gauge")


def test_a_click_holds_and_escape_lets_go(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    point(page, "pack hose", press=True)
    point(page, "return")
    assert "‘pack hose’" in said(page)
    page.locator(".bd-frame:visible select").focus()
    page.keyboard.press("Escape")
    assert "Point at a part or line" in said(page) and page.locator(".bd-picked").count() == 0


def test_a_finger(browser: Any, address: str) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 800}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(address + PRESS)
    page.locator(LABEL.format("pack hose")).locator("tspan").first.tap()
    assert "‘pack hose’" in said(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    context.close()


def test_by_keys_alone_to_the_row_and_back(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    page.locator(".bd-states > input:checked").focus()
    order = []
    for _ in range(3):
        page.keyboard.press("Tab")
        name = "(e => e.localName === 'select' ? 'select' : e.classList[0])(document.activeElement)"
        order.append(page.evaluate(name))
    assert order == ["bd-enlarge", "bd-drawing", "select"]
    page.keyboard.type("pack")  # the browser's own search by first letters
    assert "‘pack hose’" in said(page)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # the first of its rows
    assert page.evaluate("location.hash").endswith("-lines-pack-hose")
    row = page.locator("section[id$='-1-lines'] tr.bd-picked")
    assert row.count() == 1
    row.locator("a").focus()
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.value") == "pack hose"
    box = page.locator(LABEL.format("pack hose")).bounding_box()
    assert 0 < box["y"] < 900


def test_a_row_of_another_state_shows_that_state(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    choose(page, "idling")
    page.evaluate("document.querySelectorAll('figure.bd details').forEach(d => d.open = true)")
    rows = page.locator("details[id$='-lines-by-state'] tr[data-bd='suction']")
    row = rows.filter(has_text="cold morning").first
    row.locator("a").click()
    assert "cold morning" in page.locator(".bd-drawing:visible").first.get_attribute("aria-label")
    assert "bd-picked" in row.get_attribute("class")
    assert rows.filter(has_text="all other states").first.get_attribute("class") in (None, "")


def test_the_number_of_a_finding_leads_to_its_place_and_back(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    choose(page, "idling")
    page.evaluate("document.querySelectorAll('figure.bd details').forEach(d => d.open = true)")
    card = page.locator(".bd-finding[data-bd-in]").first
    state = int(card.get_attribute("data-bd-in"))
    number = card.locator("a.bd-ring").inner_text()
    card.locator("a.bd-ring").click()
    assert page.locator(".bd-states > input").nth(state).is_checked()
    link = page.locator(".bd-said:visible a", has_text=f"finding {number}").first
    link.click()
    assert page.evaluate("location.hash").endswith(f"-f{number}")


def test_photo_and_list_point_at_each_other(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    page.locator(".bd-call", has_text="3").hover()
    row = page.locator(".bd-photos tr.bd-picked")
    assert row.count() == 1 and row.locator("th").inner_text().startswith("3 pack hose")
    page.locator(".bd-photos tbody tr").first.hover()
    assert page.locator(".bd-call.bd-picked").inner_text() == "1"


def test_nothing_jumps(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    page.evaluate(
        "window.jumps = 0; new PerformanceObserver(list => list.getEntries().forEach(e => window.jumps += e.value))"
        ".observe({type: 'layout-shift', buffered: true})"
    )
    frame = page.locator(".bd-frame:visible").first
    high = frame.bounding_box()["height"]
    for name in ("valve", "pack hose", "tank", ""):
        frame.locator("select").select_option(name)
        assert frame.bounding_box()["height"] == high
    page.wait_for_timeout(100)
    assert page.evaluate("window.jumps") < 0.01  # loading included


def test_without_a_script_names_are_links_and_no_dead_hint_is_shown(visit: Any, address: str) -> None:
    page = visit(address + PRESS, script=False).page
    assert page.locator(".bd-reader:visible, .bd-enlarge, .bd-sort, select:visible").count() == 0
    page.locator("section[id$='-1-lines'] a.bd-to").first.click()
    assert page.url.endswith("#bd-shop-press.rebuilt-1")
    assert page.locator(".bd-photo img").is_visible() and page.locator(".bd-call:visible").count() == 5


def test_nothing_moves_for_those_who_want_it_still(browser: Any, address: str) -> None:
    context = browser.new_context(reduced_motion="reduce")
    page = context.new_page()
    page.goto(address + PRESS)
    point(page, "pack hose", press=True)
    page.locator(".bd-enlarge:visible").first.click()
    assert page.evaluate("document.getAnimations().filter(a => a.effect.target.closest('figure.bd')).length") == 0
    context.close()
