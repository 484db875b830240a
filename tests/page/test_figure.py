"""The page's own work, on a report made by hand: everything is there, nothing hostile gets through, ids are unique."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from builddoc import kinds, render
from builddoc.kinds.bench import bench
from builddoc.messages import Message, Place
from builddoc.page.draft import PREFIX, Draft, file_mark, panel_mark
from builddoc.page.environment import share, step
from builddoc.page.figure import Anchors, figure_html, panel_html, statement_html
from builddoc.page.rendering import Rendered, finish
from builddoc.page.rows import merged
from builddoc.report import STATEMENT
from builddoc.report.model import Cell, Column, Report, Table

from .sample import EVIL, HOSTILE, LINES, REPORT, FakeDrawing

VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr"}
OPTIONAL_SELF = {"path", "circle", "rect", "line", "polyline", "polygon"}


class Reader(HTMLParser):
    """Collects text and attributes and fails on tags that do not pair."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: Counter[str] = Counter()
        self.attributes: list[tuple[str, str, str]] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in VOID | OPTIONAL_SELF, tag
        self.tags[tag] += 1

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open[-1] == tag, f"</{tag}> closes {self.open[-3:]}"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return re.sub(r"\s+", " ", "".join(self.words))

    def values(self, name: str) -> list[str]:
        return [value for _, key, value in self.attributes if key == name]


def read(html: str) -> Reader:
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == []
    return reader


def draft_of(report: Report, messages: tuple[Message, ...] = ()) -> Draft:
    panels = tuple(panel_html(report, state, FakeDrawing()) for state in report.states)  # type: ignore[arg-type]
    anchors = Anchors(PREFIX, report)
    files = {"circuit.yml": "machine: mill\n", "lines.csv": "Line\n"}
    marks = [panel_mark(i) for i in range(len(panels))]
    html = figure_html(report, anchors, marks, files, messages)
    statement = statement_html(STATEMENT)
    return Draft(html, statement, "<p>digest</p>", panels, files, anchors.all(), messages)


def page_of(report: Report, prefix: str = "bd-mill-1") -> Rendered:
    return finish(draft_of(report), prefix=prefix)


def test_all_sections_in_reading_order() -> None:
    text = read(page_of(REPORT).html).text
    order = [
        "This page describes one amateur-built machine",
        "4 of 5 states have figures",
        "clamp at its stop",
        "Pump flow 22.3 L/min",
        "With the coupler apart",
        "DANGER",
        "WARNING",
        "CAUTION",
        "NOTICE",
        "NOT CHECKED",
        "not checked is not safe",
        "Share of rating",
        "from a table quoted from memory",
        "2 assumptions were filled in",
        "mass balance closes",
        "circuit (YAML)",
        "Component makers' instructions, local codes and licensed practice come first",
    ]
    at = [text.index(words) for words in order]
    assert at == sorted(at)


def test_signal_words_are_words_and_findings_are_numbered() -> None:
    html = page_of(REPORT).html
    assert [html.count(f': show it in the drawing">{n}<') for n in range(1, 6)] == [1, 1, 1, 1, 0]
    # The alert triangle belongs to words that are about injury, and is not read out.
    assert html.count("bd-alert") == 3
    assert html.count('class="bd-alert" viewBox="0 0 16 14" width="13" height="12" aria-hidden="true"') == 3


def test_what_passed_is_told_apart_from_what_does_not_apply() -> None:
    ok = REPORT.passed[0]
    other = replace(ok, outcome="does not apply", rule="acc-gas", headline="No accumulator in this circuit")
    html = page_of(replace(REPORT, passed=(ok, replace(ok, headline="lifter: 90 bar of 330 bar"), other))).html
    text = read(html).text
    assert "2 checks found nothing wrong" in text and "1 check did not apply here" in text
    assert f"{ok.rule}: clamp close: 151 bar of 330 bar; lifter: 90 bar of 330 bar" in text
    assert text.index("1 check did not apply") < text.index("acc-gas: No accumulator in this circuit")
    quiet = page_of(replace(REPORT, findings=(), passed=(ok, other))).html
    assert "No finding in the 1 check that could be made" in quiet


def test_one_state_is_shown_without_a_script() -> None:
    reader = read(page_of(REPORT).html)
    radios = [(t, k, v) for t, k, v in reader.attributes if t == "input" and k in ("type", "checked")]
    assert len([r for r in radios if r[1] == "type"]) == len(REPORT.states)
    assert len([r for r in radios if r[1] == "checked"]) == 1
    labels = [v for t, k, v in reader.attributes if t == "label" and k == "for"]
    assert labels == [v for t, k, v in reader.attributes if t == "input" and k == "id"]
    assert "<script" not in page_of(REPORT).html


def test_table_is_told_to_a_screen_reader() -> None:
    reader = read(page_of(REPORT).html)
    assert reader.tags["caption"] == 1
    scopes = Counter(reader.values("scope"))
    assert scopes == {"col": len(LINES.columns), "row": len(LINES.rows)}


def test_over_the_rating_is_said_in_words_not_in_colour_alone() -> None:
    html = page_of(REPORT).html
    row = html[html.index("lines-feed") :].split("</tr>")[0]
    assert "7.3×" in row and ">over<" in row


def test_hostile_names_stay_text() -> None:
    reader = read(page_of(HOSTILE).html)
    assert reader.tags["img"] == 0 and reader.tags["b"] == 1  # our own <b> in the proof
    assert not [name for _, name, _ in reader.attributes if name.startswith("on")]
    assert reader.text.count("onerror=alert(1)") > 20
    assert "{{7*7}}" in reader.text and "49" not in reader.text
    assert EVIL in reader.text


def test_marks_in_a_name_do_no_harm() -> None:
    nasty = f"{panel_mark(99)}{file_mark('none')}{PREFIX}"
    html = page_of(replace(REPORT, title=nasty)).html
    read(html)
    assert not [c for c in html if "\ue000" <= c <= "\ue003"]


def test_ids_are_unique_over_blocks_and_all_told() -> None:
    alike = replace(REPORT, tables=(LINES, replace(LINES, key="ratings")))
    one, two = page_of(alike, "bd-mill-1"), page_of(alike, "bd-mill-2")
    ids = read(one.html + two.html).values("id")
    assert [i for i, n in Counter(ids).items() if n > 1] == []
    told = set(one.ids) | set(two.ids)
    assert {i for i in ids if "-state-" not in i} <= told
    assert all(i.startswith("bd-mill-") for i in ids)


def test_names_that_differ_in_signs_only_get_their_own_anchor() -> None:
    rows = tuple((replace(LINES.rows[0][0], subject=name), *LINES.rows[0][1:]) for name in ("a b", "a-b", "A b", "→"))
    anchors = Anchors("p", replace(REPORT, tables=(replace(LINES, rows=rows),)))
    assert len(set(anchors.rows.values())) == 4


SECTIONS = ("drawing", "key figures", "findings", "lines", "assumptions", "proof", "downloads")


@pytest.mark.parametrize("section", SECTIONS)
def test_hidden_sections_are_left_out_and_failures_never_are(section: str) -> None:
    whole, less = page_of(REPORT).html, page_of(replace(REPORT, hidden=(section,))).html
    assert len(less) < len(whole)
    assert "The pump flow has no way out" in read(less).text
    assert "licensed practice come first" in read(less).text


def test_findings_that_are_left_out_are_counted_and_have_no_numbers_in_the_drawing() -> None:
    def made(hide: str) -> str:
        return render(bench(kinds.registry()["pump"]).replace("[cautions, findings, ", f"[cautions, {hide}")).html

    less, whole = made("findings, "), made("")
    said = "Findings are left out here by the writer: "
    assert said not in read(whole).text and 'data-bd-findings="' in whole
    told = read(less).text.split(said)[1].split(".")[0]
    assert "NOTICE" in told and "NOT CHECKED" in told and "data-bd-findings" not in less


def test_statement_once_a_page() -> None:
    with_it = finish(draft_of(REPORT), statement=True).html
    without = finish(draft_of(REPORT), statement=False).html
    assert "not a promise that anything is safe" in with_it
    assert "not a promise that anything is safe" not in without


def test_downloads_carry_themselves_without_a_host_and_are_links_with_one() -> None:
    alone = page_of(REPORT).html
    assert "data:text/yaml;charset=utf-8,machine%3A%20mill" in alone
    hosted = finish(draft_of(REPORT), link=lambda name, text: f"../files/{name}").html
    assert 'href="../files/circuit.yml"' in hosted and "data:" not in hosted


def test_error_box_shows_place_context_and_hint() -> None:
    text = "machine: <b>mill</b>\nparts:\n  pump: {flow: 5 gpmm}\n"
    message = Message("unit-unknown", "unknown unit 'gpmm'", Place("", 3, 16, 22), "did you mean 'gpm'?")
    rendered = finish(Draft(messages=(message,), text=text), "content/07.md", 40, 5, prefix="bd-07-1")
    reader = read(rendered.html)
    assert "content/07.md:42:20" in reader.text and "[unit-unknown]" in reader.text
    assert "did you mean 'gpm'?" in reader.text and "<b>mill</b>" in reader.text
    assert "<mark>5 gpmm</mark>" in rendered.html
    assert "40 machine" in reader.text and "41 parts" in reader.text and "42 pump" in reader.text
    assert not rendered.ok and str(rendered.messages[0]).startswith("content/07.md:42:20: ")


def test_words_for_shares_and_numbers() -> None:
    assert [share(0.46), share(0.998), share(1.04), share(7.3)] == ["46 %", "99.8 %", "1.04×", "7.3×"]
    assert [step(0.1), step(0.6), step(1.0), step(1.0001)] == ["u0", "u2", "u4", "over"]


def test_draft_survives_its_data_form() -> None:
    made = draft_of(REPORT, (Message("x", "y", Place("", 1, 2, 3)), Message("z", "w", None)))
    assert Draft.from_data(made.to_data()) == made
    for broken in ({}, {**made.to_data(), "panels": [1]}, {**made.to_data(), "messages": [{"nope": 1}]}):
        with pytest.raises((KeyError, TypeError, ValueError)):
            Draft.from_data(broken)


def test_rows_that_differ_in_the_state_only_become_one() -> None:
    def row(name: str, state: str, speed: str, note: str = "") -> tuple[Cell, ...]:
        return (Cell(name, subject=name), Cell(state), Cell(speed, note=note))

    columns = (Column("Cylinder", numeric=False), Column("State", numeric=False), Column("Speed", "m/s"))
    texts = (("ram", "a", "0"), ("ram", "b", "1"), ("ram", "c", "0"), ("ram", "d", "0", "x"), ("arm", "a", "0"))
    many = tuple(("bed", state, "2" if state == "c" else "0") for state in "abcdef")
    still = tuple(("jaw", state, "0") for state in "abcdef")
    rows = tuple(row(*words) for words in (*texts, *many, *still))
    table = merged(Table("actuators", "Cylinders", "", columns, rows))
    assert [[c.text for c in r] for r in table.rows] == [
        ["ram", "a, c", "0"],
        ["ram", "b", "1"],
        ["ram", "d", "0"],
        ["arm", "a", "0"],
        ["bed", "c", "2"],
        ["bed", "all other states", "0"],
        ["jaw", "every state", "0"],
    ]
    assert merged(LINES) is LINES
