"""The terminal: what it prints, where it points, how it ends. No traceback for anything."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest
from builddoc.cli import main
from click.testing import CliRunner, Result

from ..site.building import GOOD, TYPO, fenced


def run(*words: str) -> Result:
    result = CliRunner().invoke(main, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exc_info
    assert "Traceback" not in result.output
    return result


@pytest.fixture
def journal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "good.md").write_text(f"# Good\n\n{fenced()}", "utf-8")
    (tmp_path / "bad.md").write_text(f"# Bad\n\n{fenced(TYPO)}\n\n{fenced(TYPO)}", "utf-8")
    (tmp_path / "clamp.yml").write_text(GOOD, "utf-8")
    (tmp_path / "mkdocs.yml").write_text("site_name: x\n", "utf-8")
    (tmp_path / ".hidden").mkdir()
    (tmp_path / ".hidden" / "x.md").write_text(fenced(TYPO), "utf-8")
    return tmp_path


def test_check_names_the_tee_with_its_line_and_the_ratio(journal: Path) -> None:
    result = run("check", "good.md")
    assert result.exit_code == 0
    lines = (journal / "good.md").read_text("utf-8").split("\n")
    line = next(n for n, text in enumerate(lines, 1) if "class 150" in text)
    tee = [text for text in result.stdout.split("\n") if text.startswith(f"good.md:{line}:") and "tee" in text]
    assert tee and re.search(r"^good\.md:\d+:\d+: [A-Z]+: .* \[[a-z-]+\]$", tee[0])
    assert re.search(r"\b8\.\d times", tee[0])  # 150 bar and more of the 18.3 bar that class 150 has at 82 °C


def test_check_a_folder_finds_all_errors_of_all_blocks(journal: Path) -> None:
    result = run("check")
    assert result.exit_code == 1
    lines = result.stdout.split("\n")
    assert len([x for x in lines if x.startswith("bad.md:") and "ccc" in x]) == 2
    assert len({x.split(":")[1] for x in lines if x.startswith("bad.md:")}) == 4
    assert [x for x in lines if x.startswith("clamp.yml:")]
    assert not [x for x in lines if "mkdocs.yml" in x or "hidden" in x]
    assert "4 circuits: 4 errors" in result.stderr


def test_fail_on_decides_the_exit_code(journal: Path) -> None:
    codes = [run("check", "clamp.yml", "--fail-on", level).exit_code for level in ("error", "not-checked")]
    assert codes == [0, 1]
    words = run("check", "clamp.yml").stdout
    for level, signals in {"danger": ["DANGER"], "warning": ["DANGER", "WARNING"]}.items():
        expected = int(any(f": {signal}: " in words for signal in signals))
        assert run("check", "clamp.yml", "--fail-on", level).exit_code == expected


def test_check_as_json_says_the_same(journal: Path) -> None:
    data = json.loads(run("check", "--format", "json").stdout)
    assert data["circuits"] == 4
    assert sorted(row["text"] for row in data["results"]) == sorted(run("check").stdout.strip().split("\n"))
    assert {row["level"] for row in data["results"]} >= {"error", "finding"}


def test_solve_as_text(journal: Path) -> None:
    result = run("solve", "good.md")
    assert result.exit_code == 0
    assert "predicted, not measured" in result.stdout and "L/min" in result.stdout and "NOT CHECKED" in result.stdout


def test_solve_as_json_keeps_to_its_schema(journal: Path) -> None:
    schema = json.loads(run("schema", "solution").stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    whole = json.loads(run("solve", "clamp.yml", "--json").stdout)
    one = json.loads(run("solve", "clamp.yml", "--json", "--state", "at its stop").stdout)
    for data in (whole, one):
        jsonschema.validate(data, schema)
    assert [s["name"] for s in whole["states"]] == ["idling", "at its stop"]
    assert [s["name"] for s in one["states"]] == ["at its stop"]


def test_solve_chooses_a_block(journal: Path) -> None:
    (journal / "two.md").write_text(fenced() + "\n" + fenced(GOOD.replace("test clamp", "second")), "utf-8")
    first = run("solve", "two.md")
    assert "test clamp" in first.stdout and "2 circuit blocks" in first.stderr
    assert "second" in run("solve", "two.md", "--block", "2").stdout
    assert run("solve", "two.md", "--block", "3").exit_code == 1


def test_circuit_schema_takes_a_circuit_and_refuses_a_typo() -> None:
    import yaml

    schema = json.loads(run("schema", "circuit").stdout)
    validator = jsonschema.Draft202012Validator(schema)
    data = yaml.load(GOOD, yaml.BaseLoader)
    assert list(validator.iter_errors(data)) == []
    assert list(validator.iter_errors({**data, "partz": {}}))


@pytest.mark.parametrize("command", ["check", "solve"])
def test_bad_files_are_answered_in_words(journal: Path, command: str) -> None:
    (journal / "binary.md").write_bytes(b"\xff\xfe\x00\x01")
    (journal / "empty.yml").write_text("", "utf-8")
    (journal / "open.md").write_text("```circuit\nmachine: x\n", "utf-8")
    (journal / "folder.md").mkdir()
    for name, word in {
        "missing.md": "no file",
        "binary.md": "not a text file",
        "empty.yml": "empty.yml",
        "open.md": "not closed",
    }.items():
        result = run(command, name)
        assert result.exit_code == 1 and word in result.output and name in result.output, result.output
    run(command, "folder.md")
    assert run("solve", ".").exit_code == 1
    assert "no circuit block" in run(command, str(_plain(journal))).output


def _plain(folder: Path) -> Path:
    (folder / "plain.md").write_text("# Nothing\n", "utf-8")
    return folder / "plain.md"


def test_unknown_state_lists_the_states(journal: Path) -> None:
    result = run("solve", "clamp.yml", "--state", "at its stopp")
    assert result.exit_code == 1 and "idling, at its stop" in result.output


def test_help_says_what_a_newcomer_needs() -> None:
    assert "```circuit" in run("--help").output
    for command in ("check", "solve", "schema", "reference", "assets"):
        assert command in run("--help").output
        assert "Usage" in run(command, "--help").output
    assert "file:line:column" in run("check", "--help").output


def test_assets_for_other_hosts(tmp_path: Path) -> None:
    assert run("assets", str(tmp_path / "css")).exit_code == 0
    assert ".bd-flow" in (tmp_path / "css" / "builddoc.css").read_text("utf-8")
    (tmp_path / "file").write_text("")
    assert run("assets", str(tmp_path / "file")).exit_code == 1


def test_a_fault_of_the_program_is_a_message(journal: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from builddoc import pipeline

    def broken(*args: object, **kwargs: object) -> object:
        raise RuntimeError("kaboom")

    monkeypatch.setattr(pipeline, "solve_text", broken)
    result = run("check", "clamp.yml")
    assert result.exit_code == 1 and "kaboom" in result.output and "[fault]" in result.output


def test_names_for_prose(journal: Path) -> None:
    result = run("names", "clamp.yml")
    assert result.exit_code == 0
    assert re.search(r"^pump\.flow: [\d.]+ L/min", result.output, re.MULTILINE), result.output
    assert run("names", "bad.md").exit_code == 1
