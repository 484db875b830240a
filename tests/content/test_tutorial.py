"""The tutorial, run as a reader would: files written and lines replaced as printed, commands run, answers compared.

Fences with a title `X` are the file X; with the title `in X` they are lines that replace those of X with the same key;
```console``` fences are a command after `$` and all that the terminal prints.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from builddoc.blocks import find_blocks
from builddoc.cli import main
from click.testing import CliRunner
from mkdocs.__main__ import cli as mkdocs

from .conftest import CONTENT, Figures, block, page_text, solve_page

NAME = "first-build-page.md"
FENCE = re.compile(
    r"^(?P<fence>`{3,})(?P<language>\w+)(?: title=\"(?P<title>[^\"]+)\")?\n(?P<text>.*?)^(?P=fence)$", re.S | re.M
)


def replaced(old: str, new: str) -> str:
    """`old` with each of the new lines in place of the one line that has the same key."""
    lines = old.splitlines()
    for line in new.splitlines():
        key = line.partition(":")[0] + ":"
        places = [i for i, text in enumerate(lines) if text.startswith(key)]
        assert len(places) == 1, f"{key} stands {len(places)} times in the file"
        lines[places[0]] = line
    return "\n".join(lines) + "\n"


def follow(folder: Path, monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str, str]]:
    """Do all that the page says, in `folder`. Returns (command, output as printed on the page, output as it is)."""
    monkeypatch.chdir(folder)
    ran = []
    for match in FENCE.finditer(page_text(NAME)):
        title, text = match["title"] or "", match["text"]
        if title.startswith("in "):
            file = folder / title.removeprefix("in ")
            file.write_text(replaced(file.read_text("utf-8"), text), "utf-8")
        elif title:
            file = folder / title
            file.parent.mkdir(exist_ok=True)
            file.write_text(text, "utf-8")
        elif match["language"] == "console":
            command, _, printed = text.removeprefix("$ ").partition("\n")
            ran.append((command, printed, run(command)))
        elif match["language"] not in ("circuit", "sh"):
            pytest.fail(f"a fence of the tutorial is neither a file nor a command: {match[0][:60]}")
    return ran


def run(command: str) -> str:
    program, *words = command.split()
    assert program == "builddoc"
    result = CliRunner().invoke(main, words, prog_name="builddoc")
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.output


def test_every_block_does_what_the_page_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ran = follow(tmp_path, monkeypatch)
    assert len(ran) == 3
    if os.environ.get("BUILDDOC_UPDATE_GOLDEN"):  # look at the difference before it is kept
        text = page_text(NAME)
        for command, printed, output in ran:
            text = text.replace(f"$ {command}\n{printed}", f"$ {command}\n{output}", 1)
        (CONTENT / NAME).write_text(text, "utf-8")
    for command, printed, output in ran:
        assert output == printed, command
    built = CliRunner().invoke(mkdocs, ["build", "--strict"])
    assert built.exit_code == 0, built.output
    html = (tmp_path / "site/cider-press/index.html").read_text("utf-8")
    assert "<svg" in html and "not a promise that anything is safe" in html


def test_what_the_reader_ends_with_is_what_the_page_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    follow(tmp_path, monkeypatch)
    (written,) = find_blocks((tmp_path / "docs/cider-press.md").read_text("utf-8"))
    assert block(NAME).text == written.text


def test_the_circuit_that_the_page_shows() -> None:
    """By hand: 4 cm3 x 1450 /min x 0.92 = 5.336 L/min; cap of 63 mm 31.17 cm2: 28.5 mm/s; 25 kN / 31.17 cm2 = 80.2 bar;
    basket full 120 bar + 18 bar (15 % of it, the assumed override) x 5.336/40 = 122.4 bar over the tank port."""
    press = Figures(solve_page(NAME))
    assert press.line_flow("feed", "pressing") == pytest.approx(5.336, rel=1e-4)
    assert press.speed("ram", "rod", "pressing") == pytest.approx(0.0285, abs=5e-5)
    back = (1 - (35 / 63) ** 2) * press.pressure("ram", "rod", "pressing")
    assert press.pressure("ram", "cap", "pressing") == pytest.approx(80.2 + back, abs=0.05)
    full = press.pressure("valve", "P", "basket full") - press.pressure("valve", "T", "basket full")
    assert full == pytest.approx(122.4, abs=0.01)
