"""Wishes of the writer and the order of an earlier drawing: kept where lines allow it, told where not."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builddoc.circuit import Hint, Show
from builddoc.draw import Sheet, circuit_layout, draw_circuit
from builddoc.draw.order import crossings, flips, places

from . import measure, sample


def drawn(hints: dict[str, Hint], like: Sheet | None = None) -> Sheet:
    made = replace(sample.circuit(), show=Show(hints=hints))
    return circuit_layout(made, sample.results(made, {}), like=like)


@pytest.fixture(scope="module")
def free() -> Sheet:
    return drawn({})


def row(sheet: Sheet, part: str) -> int:
    return sheet.made.by_part[part].row


def middle(sheet: Sheet, part: str) -> float:
    return places(sheet.made)[part][0]


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_part_at_the_end_of_its_row(side: str) -> None:
    sheet = drawn({"clamp ram": Hint(side)})
    beside = [middle(sheet, p) for p in ("left lifter", "right lifter", "feed motor")]
    assert row(sheet, "clamp ram") == row(sheet, "left lifter")
    here = middle(sheet, "clamp ram")
    assert here < min(beside) if side == "left" else here > max(beside)
    assert not measure.faults(sheet)


@pytest.mark.parametrize(("side", "other"), [("left", "clamp ram"), ("right", "clamp ram")])
def test_a_part_beside_another(side: str, other: str) -> None:
    sheet = drawn({"feed motor": Hint(side, other)})
    assert (middle(sheet, "feed motor") < middle(sheet, other)) is (side == "left")
    assert not measure.faults(sheet)


def test_rows_above_below_and_level(free: Sheet) -> None:
    above = drawn({"gauge": Hint(row="above", of="bank")})
    assert row(free, "gauge") <= row(free, "bank") < row(above, "bank") + 1
    assert row(above, "gauge") > row(above, "bank")
    level = drawn({"second valve": Hint(row="below", of="bank")})
    assert row(level, "second valve") < row(level, "bank")
    beside = drawn({"gauge": Hint(row="level", of="bank")})
    assert row(beside, "gauge") == row(beside, "bank")
    for sheet in (above, level, beside):
        assert not measure.faults(sheet) and not sheet.grid.unmet


def test_what_lines_do_not_allow_is_told(free: Sheet) -> None:
    sheet = drawn({"pump": Hint(row="above", of="left lifter"), "left lifter": Hint(row="above", of="right lifter")})
    assert "lies the other way" in sheet.grid.unmet["pump"]
    assert "one block" in sheet.grid.unmet["left lifter"]
    assert draw_circuit(sheet, 0).svg == draw_circuit(free, 0).svg


def test_hints_do_not_depend_on_the_order_of_writing() -> None:
    one = {"gauge": Hint("right"), "relief": Hint("left"), "clamp ram": Hint("left")}
    assert draw_circuit(drawn(one), 1).svg == draw_circuit(drawn(dict(reversed(one.items()))), 1).svg


def test_the_order_of_an_earlier_drawing_is_kept() -> None:
    """The earlier one has its actuators the other way round: 3 of 4 parts of the upper row change sides in a fresh
    drawing; laid out after it they do not, or the crossings that this costs are told by the measure."""
    before = drawn({"feed motor": Hint("left"), "clamp ram": Hint("left", "left lifter")})
    fresh, kept = drawn({}), drawn({}, like=before)
    told = [flips(places(sheet.made), places(before.made)) for sheet in (fresh, kept)]
    assert told[0] > 0.03 and told[1] <= told[0]
    extra = crossings(kept.routed.edges) - crossings(fresh.routed.edges)
    assert extra < 2 and not measure.faults(kept)
    assert crossings(kept.routed.edges) == measure.crossings(kept)


def test_share_of_pairs_that_change_sides() -> None:
    """Three parts in a row, two of them exchanged: 1 of 3 pairs across, none of 3 downwards."""
    a = {"x": (0.0, 0.0), "y": (1.0, 0.0), "z": (2.0, 0.0)}
    b = {"x": (0.0, 0.0), "y": (2.0, 0.0), "z": (1.0, 0.0), "new": (9.0, 9.0)}
    assert flips(a, b) == pytest.approx(1 / 6) and flips(a, a) == 0
