"""Accepting findings: what holds, what withdraws it, and that it never hides anything."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from builddoc.checks.base import Finding
from builddoc.cli import main
from builddoc.messages import Message
from builddoc.page.rendering import render
from builddoc.pipeline import solve_text
from click.testing import CliRunner

from ..cautions.circuits import changed

# 15 L/min in 6 mm: 2.5e-4 / 2.827e-5 = 8.84 m/s in a pressure line
FAST = "{lines: {feed: {bore: 6 mm}}}"
RULE, SUBJECT = "ret-velocity", "feed"


def finding(text: str, rule: str = RULE, subject: str = SUBJECT) -> Finding:
    solved = solve_text(text, "bench.yml")
    assert solved.ok, solved.messages
    return next(f for f in solved.findings if f.rule == rule and f.subject == subject)


def accepting(change: str, seen: str, name: str = f"{RULE} of {SUBJECT}") -> str:
    own = f'\naccepted:\n  "{name}": {{because: it is a test, by: owner, on: 2025-05-18, seen: {seen}}}\n'
    return changed(change) + own


def said(text: str) -> list[Message]:
    return list(solve_text(text, "bench.yml").messages)


@pytest.fixture(scope="module")
def seen() -> str:
    return finding(changed(FAST)).fingerprint


def test_holds_and_stays_in_sight(seen: str) -> None:
    assert re.fullmatch("[0-9a-f]{6}-[0-9a-f]{6}", seen)
    text = accepting(FAST, seen)
    found = finding(text)
    assert found.outcome == "finding"
    assert found.accepted is not None and found.accepted.by == "owner"
    assert said(text) == []
    html = render(text, "bench.yml").html
    assert "Accepted by the owner on 2025-05-18: it is a test" in html
    assert html.count(found.headline) >= 1
    open_ = [f for f in solve_text(text, "").findings if f.outcome == "finding"]
    assert open_[-1].accepted is not None and all(f.accepted is None for f in open_[:-1])


def test_the_way_of_writing_does_not_matter(seen: str) -> None:
    """A remark, another unit, another order of keys, another part: nothing that the finding is about."""
    same = "{lines: {feed: {bore: 0.6 cm, note: short}}, parts: {ram: {stroke: 410 mm}}}"
    assert finding(accepting(same, seen)).accepted is not None


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ("{lines: {feed: {bore: 6 mm, length: 1.2 m}}}", "what is written about"),
        ("{lines: {feed: {bore: 5.5 mm}}}", "what is written about feed"),
        ("{lines: {feed: {bore: 6 mm}}, parts: {pump: {displacement: 11 cc/rev}}}", "its figures"),
    ],
)
def test_a_change_withdraws_it(seen: str, change: str, what: str) -> None:
    text = accepting(change, seen)
    now = finding(text)
    assert now.accepted is None
    (message,) = said(text)
    assert message.code == "accepted-withdrawn" and message.level == "warning"
    assert what in message.text and "2025-05-18" in message.text and now.headline in message.text
    assert f"seen: {now.fingerprint}" in message.hint
    assert finding(accepting(change, now.fingerprint)).accepted is not None
    html = render(text, "bench.yml").html
    assert "counts again" in html and "Accepted by the owner" not in html


def test_what_is_written_about_a_part_counts_though_no_figure_changes() -> None:
    over = "{parts: {bank: {rating: 100 bar}}}"
    before = finding(changed(over), "rating-each-part", "bank")
    tank_port = "{parts: {bank: {rating: 100 bar, tank port rating: 240 bar}}}"
    after = finding(changed(tank_port), "rating-each-part", "bank")
    assert before.figures == after.figures
    one, two = before.fingerprint.split("-"), after.fingerprint.split("-")
    assert one[0] != two[0] and one[1] == two[1]


def test_a_finding_without_figures_is_bound_to_all_that_is_written() -> None:
    rule, subject = "gauge-points", "pump"
    before = finding(changed(), rule, subject)
    assert not before.figures
    after = finding(changed("{lines: {pull: {length: 1.1 m}}}"), rule, subject)
    assert before.fingerprint != after.fingerprint


def test_danger_stays_at_the_head_with_its_word() -> None:
    change = "{parts: {bank: {relief: '~'}}, states: {at its stop: '~'}}"
    bare = finding(changed(change), "relief-none", "pump")
    assert bare.signal == "DANGER"
    text = accepting(change, bare.fingerprint, "relief-none of pump")
    first = solve_text(text, "").findings[0]
    assert first.rule == "relief-none" and first.accepted is not None
    html = render(text, "bench.yml").html
    start = html.index('aria-label="Findings"')
    assert re.search(r"DANGER</span> <span class=\"bd-flag\">accepted</span>", html[start : start + 600])
    assert "that the writer lives with" not in html


def test_names_that_are_wrong() -> None:
    (message,) = said(accepting("", "000000-000000", "ret-velocity of fed"))
    assert message.code == "accepted-subject"
    assert "did you mean 'feed'?" in message.hint
    (message,) = said(accepting("", "000000-000000"))  # 12 mm: 2.2 m/s is within the band
    assert message.code == "accepted-idle" and message.level == "note"
    (message,) = said(accepting("{lines: {feed: {rating: unknown}}}", "000000-000000", "rating-line-weakest of feed"))
    assert message.code == "accepted-unchecked" and message.level == "warning"


def check(folder: Path, text: str, *options: str) -> tuple[int, str]:
    (folder / "bench.yml").write_text(text, "utf-8")
    result = CliRunner().invoke(main, ["check", str(folder / "bench.yml"), *options])
    return result.exit_code, result.output


def test_check_counts_and_lists(tmp_path: Path, seen: str) -> None:
    code, output = check(tmp_path, changed(FAST), "--accept")
    assert code == 0
    line = next(li for li in output.splitlines() if f"seen: {seen}" in li)
    assert line.strip().startswith(f"{RULE} of {SUBJECT}: {{because: ")
    rows = json.loads(check(tmp_path, changed(FAST), "--format", "json")[1].rpartition("}")[0] + "}")["results"]
    prints = {(r["code"], r["subject"]): r["fingerprint"] for r in rows if r["level"] == "finding"}
    assert prints[RULE, SUBJECT] == seen
    # All findings accepted: nothing counts any more, and all are told.
    own = "".join(
        f'  "{rule}{" of " if subject else ""}{subject}": {{because: a test, by: builder, on: 2025, seen: {mark}}}\n'
        for (rule, subject), mark in prints.items()
        if mark
    )
    code, output = check(tmp_path, changed(FAST) + "accepted:\n" + own, "--fail-on", "notice")
    assert code == 0, output
    assert "(accepted by the builder, 2025: a test)" in output
    assert f"{output.count('(accepted by')} accepted" in output
    assert check(tmp_path, changed(FAST), "--fail-on", "notice")[0] == 1


def test_a_later_revision_accepts_for_itself(tmp_path: Path, seen: str) -> None:
    (tmp_path / "a.yml").write_text(accepting(FAST, seen), "utf-8")
    later = "machine: Test bench\nrevision: B\nfrom: {file: a.yml}\n"
    path = str(tmp_path / "b.yml")

    def of(text: str) -> Finding:
        made = solve_text(text, path)
        assert made.ok and not made.messages, made.messages
        return next(f for f in made.findings if (f.rule, f.subject) == (RULE, SUBJECT) and f.outcome == "finding")

    assert of(later).accepted is None
    own = f"accepted: {{{RULE} of {SUBJECT}: {{because: still short, by: owner, on: 2025-06, seen: {seen}}}}}\n"
    accepted = of(later + own).accepted
    assert accepted is not None and accepted.because == "still short"
