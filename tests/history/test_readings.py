"""Readings beside predictions: conditions, tolerance, outcome, trend, right and wrong blocks.

After a change of wording: `BUILDDOC_UPDATE_GOLDEN=1 pytest tests/history/test_readings.py`, then read every change.
"""

from __future__ import annotations

import logging
import os
from dataclasses import replace
from functools import cache
from pathlib import Path

import markdown
import pytest
from builddoc.accepting import machine_print
from builddoc.checks.examples import examples
from builddoc.circuit import Circuit
from builddoc.fence import NAMING, Fence, NamingFence, Page, fence, registry_of
from builddoc.history.readings import Outcome, outcomes
from builddoc.language import read
from builddoc.language.readings import read_readings
from builddoc.language.reference import example, revision_example
from builddoc.rulebook.cases import judged

GOLDEN = Path(__file__).parent.parent / "golden" / "readings"
CASES = sorted(GOLDEN.glob("*.case"))
MARK = "=== outcomes ===\n"
HEAD = "machine: log lifter\nrevision: A\ndate: 2025-06-01\nreadings:\n"
GAUGE = "class: 1.6, scale: 250 bar"


@cache
def circuit() -> Circuit:
    found = read(example()).circuit
    assert found is not None
    return found


def taken(*lines: str, head: str = HEAD) -> list[Outcome]:
    block, messages = read_readings(head + "".join(f"- {{{line}}}\n" for line in lines))
    assert block is not None, messages
    rows, said = outcomes(block, circuit())
    assert not said
    return rows


def test_tolerance_by_hand() -> None:
    """Class 1.6 of 250 bar is 4 bar. The rule for pressures is 5 % of the prediction, 2 bar at least: of about 64 bar
    3.2 bar. Together about 7.2 bar."""
    (row,) = taken(f"point: feed.pressure, state: lifting, value: 66 bar, {GAUGE}, oil temperature: 45 °C")
    assert row.predicted and row.word == "agrees" and row.why == ""
    predicted = row.predicted[0]
    assert row.tolerance == pytest.approx(4e5 + 0.05 * predicted)
    edge = (predicted + row.tolerance) / 1e5
    near, over = taken(
        f"point: feed.pressure, state: lifting, value: {edge - 0.05:.2f} bar, {GAUGE}",
        f"point: feed.pressure, state: lifting, value: {edge + 0.05:.2f} bar, {GAUGE}",
    )
    assert (near.word, over.word) == ("agrees", "disagrees")


def test_solved_again_at_the_measured_conditions() -> None:
    """A fixed pump at half the speed makes the stroke take twice as long, and a little more for its leakage. Cold oil
    takes more pressure through the same hose."""
    normal, slow = taken(
        "point: ram.time, state: lifting, value: 2.9 s",
        "point: ram.time, state: lifting, value: 6 s, speed: {engine: 1500 rpm}",
    )
    assert normal.predicted and slow.predicted
    assert slow.predicted[0] / normal.predicted[0] == pytest.approx(2.0, rel=0.03)
    assert normal.word == slow.word == "agrees"
    warm, cold = taken(
        "point: feed.pressure, state: lifting, value: 65 bar, oil temperature: 50 °C",
        "point: feed.pressure, state: lifting, value: 65 bar, oil temperature: 0 °C",
    )
    assert warm.predicted and cold.predicted and cold.predicted[0] > warm.predicted[0] + 1e5
    assert "instrument's class not stated" in warm.why


def test_what_cannot_be_compared() -> None:
    rows = taken(
        "point: engine.speed, state: lifting, value: 2900 rpm, speed: {engine: 2900 rpm}",
        "point: raise.pressure, state: at the top, value: 140 bar",
        "point: ram.time, state: idling, value: 3 s",
        "point: ram.drift, value: 4 mm",
    )
    assert [row.word for row in rows] == ["not comparable"] * 4
    assert "as given" in rows[0].why and "range" in rows[1].why and "trend" in rows[3].why


def test_trend_of_repeated_readings() -> None:
    rows = taken(
        "point: ram.time, state: lifting, value: 3.9 s, date: 2026-06-01",
        "point: ram.time, state: lifting, value: 3 s",
        "point: feed.pressure, state: lifting, value: 64 bar",
        "point: ram.drift, value: 4 mm",
        "point: ram.drift, value: 6 mm, date: 2026-06-01",
    )
    assert [row.trend for row in rows] == ["+30 % since 2025-06-01", "", "", "", "+50 % since 2025-06-01"]


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.stem)
def test_golden(case: Path) -> None:
    """Each reading's outcome in a line, or each message with the line of its reading."""
    text, mark, wanted = case.read_text("utf-8").partition(MARK)
    block, messages = read_readings(text, "page.md")
    rows, more = outcomes(block, circuit()) if block is not None else ([], [])
    said = "".join(f"{line}\n" for line in [*map(told, rows), *messages, *more])
    if os.environ.get("BUILDDOC_UPDATE_GOLDEN"):
        case.write_text(text + MARK + said, encoding="utf-8")
    assert (case.stem == "right") == (not messages and not more)
    assert mark and said == wanted


def told(row: Outcome) -> str:
    cell = "–" if not row.predicted else " to ".join(dict.fromkeys(f"{v:.4g}" for v in row.predicted))
    figures = f"{row.value:.4g} against {cell} ± {row.tolerance:.3g}"
    parts = [row.reading.text.point, figures, row.word, row.why, row.trend]
    return " | ".join(part for part in parts if part)


def convert(text: str) -> str:
    own = Fence()
    fences = [fence(own), *(fence(NamingFence(word, own), word) for word in NAMING)]
    return markdown.markdown(
        text,
        extensions=["pymdownx.superfences"],
        extension_configs={"pymdownx.superfences": {"custom_fences": fences}},
    )


def test_block_on_a_page(caplog: pytest.LogCaptureFixture) -> None:
    """The figures come from revision A, and the page says that the machine was rebuilt since."""
    block = (
        HEAD + "- {point: ram.time, state: lifting, value: 3 s}\n- {point: feed.flow, state: idling, value: 9 L/min}\n"
    )
    circuits = f"```circuit\n{example()}\n```\n\n```circuit\n{revision_example()}\n```\n\n"
    html = convert(f"{circuits}```readings\n{block}```\n")
    part = html[html.index("bd-readings") :]
    assert "✓ agrees" in part and "✗ disagrees" in part and "<circle" in part
    assert "Of 2 readings 1 agree, 1 disagree." in part
    assert "These were taken on revision A. The machine has been at revision B since 2025-08-30" in part
    newest = convert(f"{circuits}```readings\n{block.replace('revision: A', 'revision: B')}```\n")
    assert "These were taken" not in newest
    with caplog.at_level(logging.WARNING, "builddoc"):
        wrong = convert(f"{circuits}```readings\n{block.replace('revision: A', 'revision: D')}```\n")
    assert "bd-readings" not in wrong
    assert any("there is no revision 'D'" in r.message for r in caplog.records)


def test_trend_over_blocks() -> None:
    """Two blocks of one revision on a page: the later one is told against the earlier one, of this revision only."""
    first = HEAD + "- {point: ram.time, state: lifting, value: 3 s}\n"
    later = first.replace("2025-06-01", "2026-06-01").replace("3 s", "3.3 s")
    other = first.replace("2025-06-01", "2024-06-01").replace("revision: A", "revision: B")
    circuits = f"```circuit\n{example()}\n```\n\n```circuit\n{revision_example()}\n```\n\n"
    page = circuits + "".join(f"```readings\n{block}```\n\n" for block in (first, later, other))
    own = Fence()
    naming = NamingFence("readings", own)
    made = []
    for block in (first, later, other):
        registry = registry_of(Page("a.md", "a.md", page))
        made.append(naming.made(block, "a.md", registry)[0].html)
    assert ["+10 % since 2025-06-01" in html for html in made] == [False, True, False]
    assert "% since" not in made[0] + made[2]


def test_readings_are_withdrawn_when_the_circuit_changes(caplog: pytest.LogCaptureFixture) -> None:
    """The print of the circuit that was measured: a number of a part changes it, a note, a rating or a state not."""
    seen = machine_print(circuit())
    for same in (
        example().replace("driven by: engine", "driven by: engine, note: painted red"),
        example().replace("rating: 210 bar", "rating: 250 bar"),
        f"# of the second summer\n{example()}",
    ):
        found = read(same).circuit
        assert same != example() and found is not None and machine_print(found) == seen
    block = HEAD.replace("date:", f"seen: {seen}\ndate:") + "- {point: ram.time, state: lifting, value: 3 s}\n"
    page = "```circuit\n{}\n```\n\n```readings\n{}```\n"
    with caplog.at_level(logging.WARNING, "builddoc"):
        assert "✓ agrees" in convert(page.format(example(), block))
        assert not caplog.records
        html = convert(page.format(example().replace("6 cc/rev", "7 cc/rev"), block))
    part = html[html.index("bd-readings") :]
    assert "Withdrawn: the circuit of revision A was changed" in part and "agrees" not in part
    assert ">3 s<" in part and "<svg" not in part
    (said,) = [r.message for r in caplog.records if "[readings-withdrawn]" in r.message]
    assert "3:" in said and "write seen: " in said


def test_a_circuit_that_was_rewritten_since_is_a_change_of_the_machine() -> None:
    one = examples()["record-change"].examples["passes"]
    assert judged(one)[0].outcome == "ok"
    readings = one.beside["readings"] + "seen: 123abc\n"
    (found,) = judged(replace(one, beside={**one.beside, "readings": readings}))
    assert found.outcome == "finding" and "was changed after its readings were taken" in found.headline
