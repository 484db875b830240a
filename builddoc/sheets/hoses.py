"""Hose schedule: what to make or buy, how old it is, when it is due."""

from __future__ import annotations

from collections.abc import Sequence

from ..cautions import Caution
from ..checks.base import Case
from ..checks.words import Units
from ..circuit import Line
from ..report.cells import Scale, text_column
from ..report.model import Cell, Table
from ..report.parts import LIFE, due, hose_date
from .first_start import identity
from .model import Section, Sheet, blank, text

ABOUT_HOSES = ("injection", "trapped", "suspended")
"""Cautions for who takes a hose off."""


def hose_schedule(case: Case, cautions: Sequence[Caution] = ()) -> Sheet:
    """Every hose with length, bore, ends, rating, date and the date it is due."""
    table = hoses_table(case)
    section = (
        Section(
            "Hoses", table=table,
            note=f"Due {LIFE} years after the date on the hose (common practice; 5 to 10 are in use), sooner by its "
            "maker's sheet or its looks. Lengths are those of the circuit: lay each one out with both ends of the "
            "travel before it is cut.",
        )
        if table
        else Section("Hoses", note="No hose is on the circuit.")
    )  # fmt: skip
    hurts = tuple(c for c in cautions if c.id in ABOUT_HOSES)
    return Sheet("hoses", "Hose schedule", identity(case), (section,), ("Date", "By (role)"), cautions=hurts)


def hoses_table(case: Case) -> Table | None:
    u = Units(case.circuit)
    hoses = [line for line in case.circuit.lines.values() if line.conduit and line.conduit.kind == "hose"]
    if not hoses:
        return None
    length = Scale(u, "length", [line.length for line in hoses])
    rating = Scale(u, "pressure", [_rating(line) for line in hoses])
    rows: list[tuple[Cell, ...]] = [
        (
            text(line.name, subject=line.name), text(line.conduit.label if line.conduit else ""),
            length.cell(line.length), text(f"{line.start} → {line.end}"), rating.cell(_rating(line)),
            _or_blank(hose_date(line)), _or_blank(due(hose_date(line))), blank(),
        )
        for line in hoses
    ]  # fmt: skip
    columns = (
        text_column("Line"), text_column("Hose"), length.column("Length"), text_column("From and to"),
        rating.column("Rated"), text_column("Date on it"), text_column("Due"), text_column("Looked at"),
    )  # fmt: skip
    return Table("hoses", "Hoses", "", columns, tuple(rows))


def _or_blank(words: str) -> Cell:
    return text(words) if words else blank()


def _rating(line: Line) -> float:
    rating = line.conduit.rating if line.conduit else None
    return rating.value if rating and rating.value else float("nan")
