"""Cells and columns in display units: one unit for a whole column, the second system as a small second line."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from .. import quantities
from ..checks.words import Units
from .model import Cell, Column

DASH = "—"


class Scale:
    """Prints all values of one column in one unit. values: SI, all that the column holds; the largest of them picks the
    unit, or the smallest one that is not zero."""

    def __init__(self, units: Units, dimension: str, values: Iterable[float], *, by_smallest: bool = False):
        finite = [abs(v) for v in values if math.isfinite(v) and v != 0]
        like = (min if by_smallest else max)(finite, default=0.0)
        self.text, self.unit = quantities.printer(dimension, units.first, like)
        self._second, self._second_unit = quantities.printer(dimension, units.second or units.first, like)

    def column(self, label: str) -> Column:
        return Column(label, self.unit)

    def cell(self, value: float, note: str = "", *, subject: str = "", flag: str = "", second: bool = True) -> Cell:
        """A figure with its note; nan becomes a dash."""
        if math.isnan(value):
            return Cell(DASH, None, note, subject=subject, flag=flag)
        other = self._other(value) if second else ""
        return Cell(
            self.text(value), value, " · ".join(w for w in (other, note) if w), subject=subject, flag=flag
        )

    def _other(self, value: float) -> str:
        """The figure in the second system, in one unit for the whole column; "" where it reads the same."""
        return "" if self._second_unit == self.unit else f"{self._second(value)} {self._second_unit}"


def at_least(cell: Cell) -> Cell:
    """Marks a figure as a lower bound."""
    return replace(cell, text=f"≥ {cell.text}", flag="range")


def words(text: str, note: str = "", *, subject: str = "", flag: str = "") -> Cell:
    """A cell without a figure."""
    return Cell(text or DASH, None, note, subject=subject, flag=flag)


def share(value: float, *, flag: str = "", subject: str = "", note: str = "") -> Cell:
    """A share of a rating: `46 %`, or `7.3×` above it; a bar is drawn for it."""
    if math.isnan(value):
        return Cell(DASH, None, note, subject=subject, flag=flag)
    text = f"{value:.1f}×" if value >= 1.095 else f"{value * 100:.0f} %"  # 105 % is not 1.1 times
    return Cell(text, value, note, share=max(value, 0.0), subject=subject, flag="over" if value > 1 else flag)


def text_column(label: str) -> Column:
    return Column(label, numeric=False)
