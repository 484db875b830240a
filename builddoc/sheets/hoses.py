"""Hose schedule: what to make or buy, how old it is, when it is due."""

from __future__ import annotations

import re
from collections.abc import Sequence

from ..cautions import Caution
from ..checks.base import Case
from ..checks.words import Units
from ..circuit import Line
from ..report.cells import Scale, text_column
from ..report.model import Cell, Table
from .first_start import identity
from .model import Section, Sheet, blank, text

ABOUT_HOSES = ("injection", "trapped", "suspended")
"""Cautions for who takes a hose off."""
LIFE = 6
"""Years after which a hose is renewed whatever it looks like; common practice, no source (5 to 10 are in use)."""
_YEAR = re.compile(r"(?P<year>(?:19|20)[0-9]{2})(?P<rest>.*)")


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
            text(_date(line)) if _date(line) else blank(), text(due(_date(line))) if due(_date(line)) else blank(),
            blank(),
        )
        for line in hoses
    ]  # fmt: skip
    columns = (
        text_column("Line"), text_column("Hose"), length.column("Length"), text_column("From and to"),
        rating.column("Rated"), text_column("Date on it"), text_column("Due"), text_column("Looked at"),
    )  # fmt: skip
    return Table("hoses", "Hoses", "", columns, tuple(rows))


def _rating(line: Line) -> float:
    rating = line.conduit.rating if line.conduit else None
    return rating.value if rating and rating.value else float("nan")


def _date(line: Line) -> str:
    return str(line.details.get("hose date", ""))


def due(date: str) -> str:
    """`2019-05` -> `2025-05`; "" for a text without a year."""
    match = _YEAR.search(date)
    return f"{int(match['year']) + LIFE}{match['rest']}" if match else ""
