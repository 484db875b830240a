"""`builddoc new`: what it writes builds strictly as written, and nothing of the builder's is overwritten."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
import yaml
from builddoc.cli import main
from builddoc.language import read
from builddoc.starting import write_journal
from click.testing import CliRunner


def test_a_new_journal_builds_strictly(tmp_path: Path) -> None:
    folder = tmp_path / "journal"
    result = CliRunner().invoke(main, ["new", str(folder)])
    assert result.exit_code == 0, result.output
    built = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--strict", "--quiet"], cwd=folder, capture_output=True, text=True
    )
    assert built.returncode == 0, built.stderr
    page = (folder / "site" / "log-splitter" / "index.html").read_text("utf-8")
    assert "<svg" in page and "knot holds the wedge" in page


def test_its_circuit_has_no_error_and_fits_its_schema(tmp_path: Path) -> None:
    files = {path.name: path for path in write_journal(tmp_path)}
    text = files["log-splitter.yml"].read_text("utf-8")
    assert not read(text).messages
    first = text.splitlines()[0]
    named = (files["log-splitter.yml"].parent / first.rpartition("=")[2]).resolve()
    assert named == files["circuit.schema.json"]
    jsonschema.validate(yaml.safe_load(text), json.loads(named.read_text("utf-8")))


@pytest.mark.parametrize("there", ["notes.md", "."])
def test_a_folder_in_use_is_left_alone(tmp_path: Path, there: str) -> None:
    (tmp_path / "notes.md").write_text("mine", "utf-8")
    result = CliRunner().invoke(main, ["new", str(tmp_path / there)])
    assert result.exit_code == 1 and "holds files already" in result.output
    assert [path.name for path in tmp_path.iterdir()] == ["notes.md"]
