"""The eleven things that users of site generators ask for most, each shown in a browser; each test bears the wish.

Pages of our own site where it will do; small ones where something has to go wrong or be edited."""

from __future__ import annotations

import csv
import io
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from ..site.building import GOOD, fenced, make_site
from .conftest import follow

pytestmark = pytest.mark.browser
PRESS = "shop-press/rebuilt/"
SMALL = "reference/kinds/pump/"  # a page with one small circuit
CONTRAST = """selector => {
  const lum = c => { const v = c.match(/[\\d.]+/g).slice(0, 3).map(x => x / 255)
    .map(x => x <= 0.03928 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4);
    return 0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2]; };
  const paper = lum(matchMedia('print').matches ? 'rgb(255, 255, 255)'
    : getComputedStyle(document.body).backgroundColor);
  return [...document.querySelectorAll(selector)].filter(t => t.getBoundingClientRect().width).map(t => {
    const ink = lum(getComputedStyle(t).fill);
    return (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05); }); }"""


def contrasts(page: Any, selector: str = ".bd-drawing svg text, .bd-bars text") -> list[float]:
    found = page.evaluate(CONTRAST, selector)
    assert len(found) > 10
    return [float(x) for x in found]


def frame(page: Any) -> Any:
    return page.locator(".bd-frame:visible").first


def test_wish_1_dark_mode(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    ink = "getComputedStyle(document.querySelector('.bd-drawing svg text')).fill"
    light = page.evaluate(ink)
    assert min(contrasts(page)) > 4.5
    page.locator("form[data-md-component=palette] label:visible").click()
    page.wait_for_function("document.body.dataset.mdColorScheme === 'slate'")
    assert page.evaluate(ink) != light  # the same drawing in other ink, no second one
    assert min(contrasts(page)) > 4.5


def test_wish_2_zoom_and_pan(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    frame(page).scroll_into_view_if_needed()
    before = page.evaluate("[document.documentElement.scrollHeight, scrollY]")
    page.locator(".bd-enlarge:visible").first.click()
    box = page.locator("dialog .bd-drawing:visible")
    svg = box.locator("svg")
    wide = svg.bounding_box()["width"]
    for _ in range(3):
        page.get_by_role("button", name="Larger").click()
    assert svg.bounding_box()["width"] == pytest.approx(wide * 1.25**3, rel=0.01)
    box.focus()
    page.keyboard.press("-")
    assert svg.bounding_box()["width"] == pytest.approx(wide * 1.25**2, rel=0.01)
    place, area = "e => [e.scrollLeft, e.scrollTop]", box.bounding_box()
    x, y = area["x"] + area["width"] / 2, area["y"] + area["height"] / 2
    start = box.evaluate(place)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 80, y - 50, steps=4)
    page.mouse.up()
    assert box.evaluate(place) == pytest.approx([start[0] + 80, start[1] + 50], abs=2)
    page.keyboard.press("Escape")
    page.wait_for_selector("dialog", state="detached")
    assert frame(page).locator("svg.bd-flow:visible").count() == 1
    # The page behind has not moved, and the key that opened the view has the focus again.
    assert page.evaluate("[document.documentElement.scrollHeight, scrollY]") == before
    assert page.evaluate("document.activeElement.classList[0]") == "bd-enlarge"


def test_wish_3_what_is_not_changed_is_not_solved_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, visit: Any
) -> None:
    pages = {"index.md": f"# A\n\n{fenced(GOOD)}\n"}
    make_site(tmp_path, pages, strict=True, fresh=True)
    first = (tmp_path / "site" / "index.html").read_text("utf-8")

    def never(*args: Any, **named: Any) -> Any:
        raise AssertionError("solved again")

    monkeypatch.setattr("builddoc.pipeline.solve_text", never)
    site = make_site(tmp_path, {"index.md": pages["index.md"].replace("# A", "# B")}, strict=True, fresh=True)
    assert not site.aborted and site.read("index.html").replace("B</", "A</").count("bd-flow") == first.count("bd-flow")
    page = visit((tmp_path / "site" / "index.html").as_uri()).page
    assert page.locator("h1").inner_text().startswith("B") and frame(page).locator("svg").is_visible()
    changed = {"index.md": pages["index.md"].replace("10 cc/rev", "11 cc/rev")}
    assert make_site(tmp_path, changed, strict=True, fresh=True).aborted  # what is changed is


def test_wish_4_a_mistake_fails_the_build_and_is_shown_with_page_and_line(tmp_path: Path, visit: Any) -> None:
    wrong = GOOD.replace("displacement", "displacment")
    line = 3 + next(n for n, text in enumerate(wrong.split("\n"), 1) if "displacment" in text)
    site = make_site(tmp_path, {"index.md": f"# A\n\n{fenced(wrong)}\n"}, strict=True)
    assert site.aborted
    assert any(re.search(rf"index\.md:{line}:\d+: .*did you mean 'displacement'", text) for text in site.warnings)
    make_site(tmp_path, {"index.md": f"# A\n\n{fenced(wrong)}\n"})
    page = visit((tmp_path / "site" / "index.html").as_uri()).page
    box = page.locator(".bd-errors")
    assert box.is_visible() and f"index.md:{line}" in box.inner_text() and "displacement" in box.inner_text()
    assert box.locator("mark").first.inner_text() == "displacment"


def test_wish_5_instant_navigation(visit: Any, address: str) -> None:
    seen = visit(address, idle=True)
    page = seen.page
    page.evaluate("window.sameDocument = true")
    follow(page, page.locator("article a", has_text="Shop press").first.click)
    assert "/shop-press/" in page.url
    frame(page).locator("select").select_option("pack hose")
    assert "pack hose" in frame(page).locator(".bd-said").inner_text()
    follow(page, page.locator("nav a", has_text="Tipping trailer, rebuilt").first.click)
    assert page.url.endswith("/tipping-trailer/rebuilt/")
    name = frame(page).locator("select option").nth(1).get_attribute("value")
    frame(page).locator("select").select_option(name)
    assert frame(page).locator(".bd-picked").count() > 0
    follow(page, page.go_back)
    assert "/shop-press/" in page.url and "press" in page.locator("h1").inner_text()
    assert page.evaluate("window.sameDocument") is True and seen.errors == []


def test_wish_6_print_keeps_drawings_photos_and_tables(visit: Any, address: str) -> None:
    page = visit(address + PRESS, scheme="dark").page
    with_drawing = page.pdf(format="A4")
    page.emulate_media(media="print", color_scheme="dark")
    drawing = page.locator("figure.bd .bd-drawing svg.bd-flow:visible").first
    assert drawing.is_visible() and min(contrasts(page, "figure.bd .bd-drawing svg text")) > 4.5
    assert page.locator(".bd-enlarge:visible, .bd-reader:visible").count() == 0  # nothing to press on paper
    assert page.locator(".bd-photo img").is_visible() and page.locator(".bd-call:visible").count() == 5
    assert page.locator(".bd-plot svg:visible").count() >= 2
    page.evaluate("document.querySelectorAll('.bd-drawing svg').forEach(e => e.remove())")
    assert len(page.pdf(format="A4")) < len(with_drawing)


def test_wish_7_offline_and_nothing_sent_to_anyone(visit: Any, built: Path) -> None:
    seen = visit(f"file://{built}/{PRESS}index.html")
    page = seen.page
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url))
    frame(page).locator("select").select_option("valve")
    page.locator(".bd-states > label:visible").first.click()
    page.locator(".bd-enlarge:visible").first.click()
    page.get_by_role("button", name="Close").click()
    page.locator("a.bd-to:visible").first.click()
    page.locator(".bd-sort:visible").first.click()
    assert page.locator(".bd-photo img").evaluate("e => e.complete && e.naturalWidth") == 960
    assert seen.errors == [] and seen.requests == [] and [url for url in asked if not url.startswith("file:")] == []


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "mkdocs", "serve", "-q", "-a", f"127.0.0.1:{port}"]
    server = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        until = time.monotonic() + 60
        while time.monotonic() < until and server.poll() is None:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.1)
        yield f"http://127.0.0.1:{port}/"
    finally:
        server.terminate()
        server.wait(20)


def test_wish_8_an_included_file_is_watched(tmp_path: Path, browser: Any) -> None:
    (tmp_path / "docs").mkdir()
    circuit = tmp_path / "clamp.yml"  # outside the docs folder: MkDocs itself does not watch it
    circuit.write_text(GOOD, "utf-8")
    (tmp_path / "docs" / "index.md").write_text("# A\n\n```circuit\nfile: ../clamp.yml\n```\n", "utf-8")
    settings = "site_name: T\ntheme: {name: material, font: false}\nplugins: [builddoc]\n"
    (tmp_path / "mkdocs.yml").write_text(settings, "utf-8")
    with serving(tmp_path) as url:
        context = browser.new_context()
        page = context.new_page()
        page.goto(url)
        assert "relief 150 bar" in page.locator(".bd-drawing svg:visible").first.text_content()
        circuit.write_text(GOOD.replace("relief: 150 bar", "relief: 170 bar"), "utf-8")
        page.wait_for_function(
            "document.querySelector('.bd-drawing svg').textContent.includes('relief 170 bar')", timeout=60_000
        )
        context.close()


def test_wish_9_tables_sort_align_and_come_as_files(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    table = page.locator("section[id$='-1-lines'] table")
    heads = table.locator("thead th").all_inner_texts()
    at = next(n for n, text in enumerate(heads) if text.startswith("Highest pressure"))

    def column() -> list[str]:
        return [str(t) for t in table.locator(f"tbody tr > *:nth-child({at + 1})").all_inner_texts()]

    def figures() -> list[float]:
        found = (re.match(r"(?:≥ )?([−\d.]+)", text) for text in column())
        return [float(m[1].replace("−", "-")) for m in found if m]

    own, numbers = column(), figures()
    head = table.locator("thead th").nth(at)
    head.get_by_role("button").click()
    assert head.get_attribute("aria-sort") == "descending" and figures() == sorted(numbers, reverse=True)
    assert own != column()
    head.get_by_role("button").press("Enter")
    assert head.get_attribute("aria-sort") == "ascending" and figures() == sorted(numbers)
    head.get_by_role("button").click()
    assert head.get_attribute("aria-sort") is None and column() == own
    cell = table.locator(f"tbody tr:first-child > *:nth-child({at + 1})")
    assert cell.evaluate("e => getComputedStyle(e).textAlign") == "right"
    link = page.locator("section[id$='-1-lines'] a[download]").first.evaluate("e => e.href")
    rows = list(csv.reader(io.StringIO(page.request.get(link).text())))
    assert len(rows) == 1 + table.locator("tbody tr").count()
    assert [row[0].split(" (")[0] for row in rows[1:]] == [
        text.split("\n")[0] for text in table.locator("tbody th").all_inner_texts()
    ]


@pytest.mark.parametrize("name", ["first-build-page/", "bandsaw-mill/before-and-after/", PRESS])
def test_wish_10_ids_are_unique_and_links_find_them(visit: Any, address: str, name: str) -> None:
    page = visit(address + name).page
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(e => e.id)")
    assert len(ids) > 15 and len(ids) == len(set(ids))
    targets = page.evaluate(
        "[...document.querySelectorAll('article a[href]')].filter(a => a.hash && a.pathname === location.pathname)"
        ".map(a => decodeURIComponent(a.hash.slice(1)))"
    )
    assert targets and set(targets) <= set(ids)
    labels = page.evaluate(
        "[...document.querySelectorAll('[aria-labelledby]')].flatMap(e => e.getAttribute('aria-labelledby').split(' '))"
    )
    assert labels and set(labels) <= set(ids)


def test_wish_11_text_alternatives(visit: Any, address: str) -> None:
    page = visit(address + PRESS).page
    pictures = page.evaluate(
        "[...document.querySelectorAll('figure.bd svg:not([aria-hidden=true]), figure.bd img')]"
        ".filter(e => !e.closest('svg svg')).map(e => [e.tagName, e.getAttribute('role') || '', "
        "(e.getAttribute('alt') || e.getAttribute('aria-label') || (e.getAttribute('aria-labelledby') || '').split(' ')"
        ".map(id => (document.getElementById(id) || {textContent: ''}).textContent).join(' ')).trim()])"
    )
    assert len(pictures) > 10
    assert [p for p in pictures if not p[2] or (p[0] == "svg" and p[1] != "img")] == []
    words = page.locator(".bd-panel:has(.bd-frame:visible) .bd-words li").all_text_contents()
    names = page.evaluate(
        "[...document.querySelectorAll('.bd-panel:first-of-type [data-bd-line]')].map(e => e.dataset.bdLine)"
    )
    assert len(set(names)) > 8
    for name in set(names):
        assert any(f"‘{name}’" in text for text in words), name
    assert "Three black hoses" in page.locator(".bd-photo img").get_attribute("alt")
