"""Photos with call-outs: the right figure at the right number, look-alikes told apart, slips of the pen told."""

from __future__ import annotations

import re
from pathlib import Path

import jsonschema
import pytest
import yaml
from builddoc.fence import Page, named, pictures, registry_of
from builddoc.language.schema import block_schema
from builddoc.page.draft import Draft
from builddoc.page.photos import photos_draft
from builddoc.pipeline import Solved, solve_text
from builddoc.report.called import Called, called_by_state, called_table, look_alikes

from ..site.pieces import GOOD

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="640" height="480" viewBox="0 0 640 480"></svg>'
BLOCK = """\
machine: test clamp
image: photos/clamp.svg
alt: Two black hoses of equal thickness run from the valve to the ram.
state: at its stop
call-outs:
  - {at: [25 %, 40 %], shows: close, note: red band}
  - {at: [75 %, 40 %], shows: open}
  - {at: [50 %, 90 %], shows: suction}
  - {at: [50 %, 20 %], shows: valve.T}
  - {at: [10 %, 20 %], shows: ram}
"""


@pytest.fixture(scope="module")
def solved() -> Solved:
    found = solve_text(GOOD)
    assert found.case is not None
    return found


@pytest.fixture
def page(tmp_path: Path) -> str:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "clamp.svg").write_text(SVG, "utf-8")
    return str(tmp_path / "clamp.md")


def draft(text: str, page: str) -> Draft:
    entries, _ = named(text, registry_of(Page("clamp.md", page, f"```circuit\n{GOOD}```\n")), "photos")
    return photos_draft(text, page, entries)


def test_each_number_has_the_figures_of_its_own_part_or_line(solved: Solved) -> None:
    case = solved.case
    assert case is not None
    wanted = [Called("close"), Called("open"), Called("suction"), Called("valve.T"), Called("ram")]
    table, r = called_table(case, wanted, "at its stop"), case.results
    stop, idle = (list(r.states).index(name) for name in ("at its stop", "idling"))
    now = [row[2].value for row in table.rows]
    # The ram stands behind the valve's load check: it holds what the pump port has, less the spring of 0.4 bar, or more
    # from a moment before.
    assert now[0] == pytest.approx(float(r.pressure("valve", "P")[stop]) - 0.4e5, rel=1e-4)
    assert table.rows[0][2].text.startswith("≥ ") and "or more" in table.rows[0][2].note
    assert now[1] == pytest.approx(float(r.pressure("ram", "rod")[stop]), abs=1e3)
    assert now[3] == pytest.approx(float(r.pressure("valve", "T")[stop]))
    assert now[4] == now[0]  # of a part the highest of its ports
    assert table.rows[2][3].value == pytest.approx(float(min(r.pressure("pump", "inlet"))), abs=1e3)  # the lowest
    assert table.rows[4][4].value == pytest.approx(210e5) and table.rows[4][6].text in ("ram.cap", "ram.rod")
    every = called_by_state(case, wanted)
    assert every.rows[stop][1].value == now[0]
    # Both ports are shut in neutral: what is in there is not known and not printed.
    assert every.rows[idle][1].value is None and "shut in" in every.rows[idle][1].note


def test_hoses_that_look_alike_are_told_apart(solved: Solved) -> None:
    assert solved.case is not None
    (said,) = look_alikes(solved.case, [Called("feed"), Called("close"), Called("open"), Called("close")])
    assert said.startswith("2, 3 and 4 look alike (hose, two-wire -6): 2 ‘close’")
    assert re.search(r"2 ‘close’ \(\w+\) reaches at least 162 bar.*3 ‘open’ \(\w+\) reaches 0\.\d+ bar", said)
    assert said.count("shut in") >= 2  # what a state shuts in may be more than what the others reach
    assert look_alikes(solved.case, [Called("feed"), Called("close"), Called("close")]) == []


def test_the_picture_its_numbers_and_its_words(page: str) -> None:
    made = draft(BLOCK, page)
    assert made.messages == ()
    assert 'run from the valve to the ram." width="640" height="480"' in made.html
    assert 'style="left:25.00%;top:40.00%" data-bd="close" data-bd-number="1" aria-label="1: close">1</a>' in made.html
    assert made.ids == ("c1", "c2", "c3", "c4", "c5")
    html = made.fill("p", lambda name, text: "")
    assert 'src="photos/clamp.svg"' in html and 'href="#p-c3"' in html and 'id="p-c3"' in html
    assert "red band" in html and "Two black hoses" in made.digest


@pytest.mark.parametrize(
    ("old", "new", "code", "line", "hint"),
    [
        ("shows: close", "shows: cloze", "shows-unknown", 6, "did you mean 'close'?"),
        ("shows: valve.T", "shows: valve.TT", "shows-unknown", 9, "did you mean 'valve.T'?"),
        ("clamp.svg", "clam.svg", "image-missing", 2, "did you mean 'photos/clamp.svg'?"),
        ("photos/clamp.svg", "https://example.org/a.png", "image-foreign", 2, "beside the page"),
        ("clamp.svg", "clamp.md", "image-form", 2, ".png"),
        ("at its stop", "at its stpo", "state-unknown", 4, "did you mean 'at its stop'?"),
        ("[25 %, 40 %]", "[25 %]", "call-out-place", 6, "[35 %, 60 %]"),
        ("[25 %, 40 %]", "[25, 40 %]", "unit-missing", 6, "25 %"),
        ("[25 %, 40 %]", "[125 %, 40 %]", "quantity-range", 6, ""),
        ("alt: Two black hoses of equal thickness run from the valve to the ram.\n", "", "value-missing", 1, "seen"),
        ("Two black hoses of equal thickness run from the valve to the ram.", "clamp.svg", "alt-text", 3, "sentence"),
        ("call-outs:", "callouts:", "key-unknown", 5, "did you mean 'call-outs'?"),
        ("note:", "nota:", "key-unknown", 6, "did you mean 'note'?"),
        ("machine: test clamp", "machine: test clamp\nrevision: B", "revision-unknown", 1, "there is: A"),
    ],
)
def test_slips_are_told_with_their_line(page: str, old: str, new: str, code: str, line: int, hint: str) -> None:
    assert old in BLOCK
    made = draft(BLOCK.replace(old, new), page)
    assert made.html == ""
    said = next(m for m in made.messages if m.code == code)
    assert said.place is not None and said.place.line == line and hint in said.hint


def test_a_changed_picture_is_seen_by_the_cache(page: str) -> None:
    assert pictures(BLOCK, page) == [Path(page).parent / "photos" / "clamp.svg"]


def test_schema_takes_the_block_and_refuses_one_without_words() -> None:
    validator = jsonschema.Draft202012Validator(block_schema("photos"))
    data = yaml.safe_load(BLOCK)
    assert [e.message for e in validator.iter_errors(data)] == []
    del data["alt"]
    assert [e.message for e in validator.iter_errors(data)] == ["'alt' is a required property"]
    data["alt"], data["call-outs"][0]["show"] = "Two hoses on a table.", "close"
    assert list(validator.iter_errors(data))
