"""Two revisions side by side: what differs, what matters first, and the block on a page."""

from __future__ import annotations

import json
import logging
import re
from functools import cache
from pathlib import Path

import markdown
import pytest
from builddoc.checks.base import Finding
from builddoc.fence import Fence, NamingFence, fence
from builddoc.history.compare import Turn, differences, limits, shifts, turns
from builddoc.history.facts import Facts, facts
from builddoc.history.registry import Registry
from builddoc.language.reference import example, revision_example
from builddoc.page.comparing import _glance
from builddoc.pipeline import Solved, solve_text
from builddoc.sources import Source

BLOCK = "```compare\nmachine: log lifter\nrevisions: [A, B]\n```\n"
CIRCUITS = f"```circuit\n{example()}\n```\n\n```circuit\n{revision_example()}\n```\n\n"
REGISTRY = Registry.of([Source(example(), "a.md"), Source(revision_example(), "b.md")])


@cache
def solved(text: str) -> Solved:
    found = solve_text(text, "page.md", bases=REGISTRY)
    assert found.ok, found.messages
    return found


@cache
def facts_of(text: str) -> Facts:
    case = solved(text).case
    assert case is not None
    return facts(case)


A, B = example(), revision_example()


def test_parts_and_lines_with_reasons() -> None:
    a, b = solved(A).circuit, solved(B).circuit
    assert a is not None and b is not None
    found = {(d.section, d.name): d for d in differences(a, b)}
    assert {key: d.what for key, d in found.items()} == {
        ("parts", "pump"): "changed", ("parts", "bank"): "changed", ("parts", "can"): "added",
        ("lines", "return"): "changed", ("lines", "home"): "added",
    }  # fmt: skip
    pump = found["parts", "pump"]
    assert (pump.before, pump.after) == ("displacement 6 cc/rev", "displacement 5 cc/rev")
    assert pump.because == "the engine stalled when the lever was held at the top"
    back = {(d.section, d.name): d.what for d in differences(b, a)}
    assert back["parts", "can"] == "removed"


def test_other_spelling_is_no_difference() -> None:
    """50 mm and 5 cm are the same bore; 1/2 in is not."""
    a = solved(A).circuit
    same = solved(A.replace("bore: 50 mm", "bore: 5 cm")).circuit
    other = solved(A.replace("bore: 50 mm", "bore: 2 in")).circuit
    assert a is not None and same is not None and other is not None
    assert differences(a, same) == []
    assert [(d.name, d.before, d.after) for d in differences(a, other)] == [("ram", "bore 50 mm", "bore 2 in")]
    oil = solved(A.replace("temperature: 45 °C", "temperature: 50 °C")).circuit
    assert oil is not None and [(d.section, d.name) for d in differences(a, oil)] == [("settings", "oil")]


def test_figures_that_matter_come_first() -> None:
    """5 instead of 6 cc/rev: the ram is a sixth slower, so the stroke takes a fifth longer."""
    found = shifts(facts_of(A), facts_of(B))
    assert found == sorted(found, key=lambda s: -s.weight)
    time = next(s for s in found if s.name == "ram.time")
    assert time.states == ("lifting",) and time.before and time.after
    assert time.after[0] / time.before[0] == pytest.approx(6 / 5, rel=0.01)
    assert [s.name for s in found].index("ram.time") < [s.name for s in found].index("feed.velocity")
    assert shifts(facts_of(A), facts_of(A)) == []


def test_findings_by_hand() -> None:
    """6 cc/rev at 149 bar, 3000 rpm is 4.5 kW and more with losses: over the engine's 4.75 kW. 5 cc/rev at 132 bar is
    not."""
    found = turns(solved(A).findings, solved(B).findings)
    gone = [t.before.rule for t in found if t.how == "went" and t.before]
    assert gone == ["power-engine"]
    assert not [t for t in found if t.how == "came"]
    back = turns(solved(B).findings, solved(A).findings)
    assert next(t.how for t in back) == "came"


def test_ratings_that_became_limiting() -> None:
    rows = {row.name: row for row in limits(facts_of(A), facts_of(B))}
    assert rows["engine"].word == "within its rating now"
    back = {row.name: row for row in limits(facts_of(B), facts_of(A))}
    assert back["engine"].word == "over its rating now"
    assert all((row.after or 0) < 2 for row in rows.values()), "the solver's own bound is no pressure"


def test_pressures_without_upper_end_are_not_printed_as_figures() -> None:
    for name, figure in facts_of(A).figures.items():
        if figure.dimension == "pressure":
            assert all(v < 900e5 or v == float("inf") for cell in figure.cells if cell for v in cell), name


def convert(text: str, tmp_path: Path | None = None) -> str:
    own = Fence()
    return markdown.markdown(
        text,
        extensions=["pymdownx.superfences"],
        extension_configs={
            "pymdownx.superfences": {"custom_fences": [fence(own), fence(NamingFence("compare", own), "compare")]}
        },
    )


def test_block_on_a_page() -> None:
    html = convert(CIRCUITS + BLOCK)
    block = html[html.index("bd-compare") :]
    assert block.count("<svg class=") + block.count("<svg ") >= 2
    assert "Revision A, 2025-04-12" in block and "Revision B, 2025-08-30" in block
    for words in ("part added", "line changed", "Because there was dirt in the oil", "Gone (1)", "+20 %"):
        assert words in block, words
    assert "1 finding gone or milder: 1 NOTICE" in block and "No finding new or worse." in block
    first, _, second = block.partition("Revision B, ")
    for badge, name, drawn in (("+", "can", (False, True)), ("~", "pump", (True, True))):
        (number,) = re.findall(rf'bd-ring">([{badge}][0-9]+)</span> {name}</th>', block)
        assert (f">{number}</text>" in first, f">{number}</text>" in second) == drawn, "one number in both drawings"
    ids = [part.split('"')[0] for part in html.split(' id="')[1:]]
    assert len(ids) == len(set(ids)), "ids are unique over both drawings and the circuits"


@pytest.mark.parametrize(
    ("block", "code", "line"),
    [
        (BLOCK.replace("[A, B]", "[A, C]"), "revision-unknown", 3),
        (BLOCK.replace("[A, B]", "[A]"), "compare-two", 3),
        (BLOCK.replace("log lifter", "log liftr"), "revision-unknown", 3),
        (BLOCK.replace("revisions", "revsions"), "key-unknown", 3),
        (BLOCK.replace("[A, B]", "[A, B]\nstate: liftin"), "state-unknown", 4),
    ],
)
def test_wrong_blocks(block: str, code: str, line: int, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING, "builddoc"):
        html = convert(CIRCUITS + block)
    said = [r.message for r in caplog.records if f"[{code}]" in r.message]
    assert said and f":{line - 1}:" in said[0], [r.message for r in caplog.records]  # counted from the block's own line
    assert "bd-compare" not in html and code in html


def test_whole_revision_gives_no_reasons_but_the_same_differences() -> None:
    a, b = solved(A).circuit, solved(B).circuit
    assert a is not None and b is not None
    whole = solved(b.text).circuit
    assert whole is not None
    assert [(d.name, d.what) for d in differences(a, whole)] == [(d.name, d.what) for d in differences(a, b)]
    assert json.dumps(facts_of(b.text).to_data()["figures"]) == json.dumps(facts_of(B).to_data()["figures"])


def test_what_is_only_milder_is_not_called_gone() -> None:
    was = Finding("rating-each-part", "finding", "DANGER", "ram", "ram sees 3 times its rating")
    now = Finding("rating-each-part", "finding", "NOTICE", "ram", "ram sees its rating")
    bought, brought = _glance([Turn("better", was, now)])
    assert bought.first == [("DANGER", "ram sees 3 times its rating (still there as NOTICE)")] and not brought.first
    assert "gone or milder" in bought.tally
    bought, brought = _glance([Turn("worse", now, was)])
    assert brought.first == [("DANGER", "ram sees 3 times its rating (before: NOTICE)")] and not bought.first
