"""A sheet typed back: the skeleton names what the sheet asks for, and needs nothing but the figures to be a block."""

from __future__ import annotations

from builddoc.blocks import find_blocks
from builddoc.cli import main
from builddoc.language.readings import read_readings
from click.testing import CliRunner

from .test_sheets import TEXT


def run(tmp_path, *words: str):
    (tmp_path / "splitter.yml").write_text(TEXT, "utf-8")
    return CliRunner().invoke(main, ["readings", "new", *words, str(tmp_path)])


def test_a_line_for_each_gauge_and_stroke(tmp_path):
    result = run(tmp_path, "splitter")
    assert result.exit_code == 0, result.output
    lines = result.output.splitlines()
    assert "  - {point: gauge.pressure, state: pushing, value: }  # predicted 110 bar" in lines
    assert "  - {point: ram.time, state: pushing, value: }  # predicted 1.96 s" in lines
    assert not [line for line in lines if "coupler off" in line]  # a fault is not measured


def test_filled_in_it_is_a_readings_block(tmp_path):
    text = run(tmp_path, "splitter").output
    (block,) = find_blocks(text, "readings")
    assert {m.code for m in read_readings(block.text)[1]} == {"value-missing"}
    filled = text.replace("date:\n", "date: 2026-05-01\n").replace("oil temperature:\n", "oil temperature: 40 °C\n")
    filled = filled.replace(".pressure, state: pushing, value: }", ".pressure, state: pushing, value: 108 bar}")
    filled = filled.replace(".time, state: pushing, value: }", ".time, state: pushing, value: 2 s}")
    filled = filled.replace("value: }", "value: 150 bar}")
    (block,) = find_blocks(filled, "readings")
    found, messages = read_readings(block.text)
    assert not messages and found is not None and len(found.readings) == 3


def test_an_unknown_machine_or_revision_is_answered_in_words(tmp_path):
    result = run(tmp_path, "spliter")
    assert result.exit_code == 1 and "machines: splitter" in result.output
    result = run(tmp_path, "splitter", "--revision", "C")
    assert result.exit_code == 1 and "revision 'C'" in result.output
