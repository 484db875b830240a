"""Every circuit that we publish reads, solves and proves itself; README's example and its words hold."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from builddoc import render
from builddoc.blocks import find_blocks
from builddoc.pipeline import solve_text
from builddoc.solution import Verdict

from .conftest import CONTENT, page_text, solve_page

ROOT = CONTENT.parent
PAGES = sorted(path.relative_to(CONTENT).as_posix() for path in CONTENT.rglob("*.md"))
WITH_CIRCUITS = [name for name in PAGES if find_blocks(page_text(name))]


WITHOUT_ANSWER = {("guides/adding-a-valve-downstream.md", "lifting")}  # the fault that the page is about


def test_the_pages_that_hold_circuits():
    assert set(WITH_CIRCUITS) >= {"first-build-page.md", "shop-press/before.md", "tipping-trailer/rebuilt.md"}


@pytest.mark.parametrize("name", WITH_CIRCUITS)
def test_circuits_read_without_a_word_and_close_their_balances(name: str):
    for number in range(1, 1 + len(find_blocks(page_text(name)))):
        solved = solve_page(name, number)
        assert [str(m) for m in solved.messages] == []
        assert solved.case is not None
        for state, answer in zip(solved.case.results.states, solved.case.solution.states, strict=True):
            if (name, state) not in WITHOUT_ANSWER:
                assert answer.verdict is Verdict.SOLVED, state
                assert answer.certificate is not None and answer.certificate.holds(), state


@pytest.mark.parametrize("name", WITH_CIRCUITS)
def test_pages_say_that_they_are_invented_and_defer(name: str):
    text = " ".join(page_text(name).split())
    assert "invented" in text
    assert "come first" in text or "come before" in text


def test_readme_example_is_more_than_seven_times_over():
    readme = (ROOT / "README.md").read_text("utf-8")
    (inner,) = re.findall(r"^````markdown\n(.*?)^````$", readme, re.S | re.M)
    (place,) = find_blocks(inner)
    solved = solve_text(place.text)
    assert solved.ok, [str(m) for m in solved.messages]
    (found,) = [f for f in solved.findings if f.rule == "rating-low-pressure-fitting" and f.outcome == "finding"]
    assert 7 < found.figures["ratio"] < 9


def test_readme_python_lines(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    readme = (ROOT / "README.md").read_text("utf-8")
    (code,) = re.findall(r"^```python\n(.*?)^```$", readme, re.S | re.M)
    assert len(code.splitlines()) == 3
    place = find_blocks(page_text("shop-press/before.md"))[0]
    (tmp_path / "mill.yml").write_text(place.text, "utf-8")
    monkeypatch.chdir(tmp_path)
    exec(code, {})
    printed = capsys.readouterr().out
    assert "<svg" in printed and "342 bar" in printed
    assert render(place.text).html in printed


def test_readme_commands():
    readme = (ROOT / "README.md").read_text("utf-8")
    assert "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/mkdocs build\n" in readme
    assert "python3 -m venv .venv && .venv/bin/pip install '.[test]' && .venv/bin/pytest\n" in readme
