"""The page of assumptions: what the program says it has assumed on a page must stand in it."""

from __future__ import annotations

import re

import pytest
from builddoc import kinds
from builddoc.circuit import Part
from builddoc.kinds.base import PRACTICE
from builddoc.kinds.base import basis as basis_of
from builddoc.language import read
from builddoc.language.assumptions import assumptions_page
from builddoc.language.reference import example_params

BARE = """
machine: press
parts:
  tank: {kind: reservoir}
  pump: {kind: pump, displacement: 8 cc/rev, speed: 1450 rpm}
lines:
  suction: {route: tank > pump.inlet, bore: 25 mm, length: 0.3 m}
  back: {route: pump.outlet > tank, bore: 12 mm, length: 0.3 m}
"""


@pytest.fixture(scope="module")
def page() -> str:
    return assumptions_page()


@pytest.fixture(scope="module")
def rows(page: str) -> list[str]:
    return [row for row in page.splitlines() if row.startswith("| ")]


def test_what_kinds_assume_stands_in_their_rows(page: str, rows: list[str]) -> None:
    """Sentences are `name: key value (basis)`; those of reliefs on the override are told in words."""
    told = 0
    for kind in kinds.registry().values():
        params = example_params(kind)
        assert params is not None
        guesses = {name: info.default for name, info in type(params).model_fields.items() if basis_of(info)}
        bare = type(params).model_construct(set(), **{**dict(params), **guesses})  # as if the writer had said nothing
        for text in kind.assumptions(Part("it", kind.name, bare)):
            if "override" in text or not text.startswith("it: "):
                continue
            told_with_basis = re.fullmatch(r"it: (.*?) \((.*)\)", text)
            if told_with_basis is None:
                assert text.removeprefix("it: ") in page, text
                continue
            said, basis = told_with_basis.groups()
            found = [
                row for row in rows
                if row.startswith(f"| [{kind.name}](") and basis in row
                and any(said == f"{key} {value}" for key, value in re.findall(r"`([^`]+)` \| ([^|]+) \|", row))
            ]  # fmt: skip
            assert len(found) == 1, text
            told += 1
    assert told > 60


def test_what_a_circuit_without_data_assumes_stands_there(page: str) -> None:
    reading = read(BARE)
    assert reading.circuit is not None, reading.messages
    values = [re.findall(r"(ISO VG \d+|[\d.]+ (?:°C|cSt|kg/m³|kJ/\(kg·K\)))", text) for text in reading.circuit.assumed]
    assert len(values) >= 7
    for found, text in zip(values, reading.circuit.assumed, strict=True):
        assert found and found[-1] in page, text


def test_every_guess_has_a_source_or_says_that_it_has_none(rows: list[str]) -> None:
    guesses = [row.split(" | ") for row in rows if row.count(" | ") == 4]
    assert len(guesses) > 70
    assert all(cells[3].strip() for cells in guesses) and sum(PRACTICE in cells[3] for cells in guesses) > 50
