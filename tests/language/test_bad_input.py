"""Golden cases of bad input: `tests/golden/bad_input/*.case` hold a circuit text and the messages it must give.

After a change of wording: `BUILDDOC_UPDATE_GOLDEN=1 pytest tests/language/test_bad_input.py`, then read every change.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from builddoc.language import read

CASES = sorted((Path(__file__).parent.parent / "golden" / "bad_input").glob("*.case"))
MARK = "=== messages ===\n"
PAGE, FIRST_LINE, FIRST_COLUMN = "page.md", 11, 3  # as a fence that is indented by two, its text from line 11 on


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.stem)
def test_messages(case: Path) -> None:
    text, mark, wanted = case.read_text(encoding="utf-8").partition(MARK)
    assert mark, f"{case} has no line '{MARK.strip()}'"
    reading = read(text, PAGE, FIRST_LINE, FIRST_COLUMN)
    said = "".join(f"{message}\n" for message in reading.messages)
    if os.environ.get("BUILDDOC_UPDATE_GOLDEN"):
        case.write_text(text + MARK + said, encoding="utf-8")
    assert reading.circuit is None
    assert said == wanted
    for message in reading.messages:
        assert message.place is not None, message
        _inside(message.place.line, message.place.column, message.place.end_column, text)


def _inside(line: int, column: int, end: int | None, text: str) -> None:
    """A place lies within the block, and its end within the line."""
    lines = text.split("\n")
    assert FIRST_LINE <= line < FIRST_LINE + len(lines)
    length = len(lines[line - FIRST_LINE])
    assert FIRST_COLUMN <= column <= FIRST_COLUMN + length
    assert end is None or column < end <= FIRST_COLUMN + length


def test_there_are_enough() -> None:
    """The project asks for sixty at least."""
    assert len(CASES) >= 60
