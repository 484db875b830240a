"""Inspection and maintenance."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ..cautions import Caution, split
from ..checks.base import Case
from ..checks.words import listed
from .expected import reliefs_table
from .first_start import identity
from .model import Section, Sheet

BASIS = "Intervals: common practice, no source. Those in the sheets of the makers of the parts come first."


def maintenance(case: Case, cautions: Sequence[Caution] = ()) -> Sheet:
    """What to look at before use, after ten and fifty hours, each year, and when hoses are due."""
    named = _named(case)
    sections = (
        Section(
            "Before each use",
            (
                "Oil level, with all cylinders in.", "Leaks, by eye; hoses by eye: covers, bulges, rub marks.",
                "Pins, guards, props; couplers clean, joined or capped.",
            ),
            note=BASIS,
        ),
        Section(
            "After the first ten hours",
            ("Pressure off, everything down. Every joint against its mark.", "Suction hose and its clips."),
        ),
        Section(
            "After fifty hours, then each year",
            (
                f"New element: {named('filter')}." if named("filter") else "No filter is on the circuit.",
                "A sample of oil from the running return, to be kept or sent in.", "Water drained, breather changed.",
            ),
        ),
        Section("Each year: reliefs by gauge", table=reliefs_table(case)),
        Section(
            "Each year: loads held",
            (
                f"Sag of the load in ten minutes, warm, propped just below, engine off: {_held(case)}.",
                "Compare with last year's figure: the trend tells, not the figure.",
            ),
        ),
        Section("Hoses", ("Against the hose sheet: date, covers, ends. Renew what is due.",)),
    )  # fmt: skip
    blanks = ("Date", "By (role)", "Hours")
    cautioned = split(cautions)[0]
    return Sheet("maintenance", "Inspection and maintenance", identity(case), sections, blanks, cautions=cautioned)


def _named(case: Case) -> Callable[[str], str]:
    def names(kind: str) -> str:
        return listed([part.name for part in case.circuit.parts.values() if part.kind == kind], 8)

    return names


def _held(case: Case) -> str:
    rods = [a.part for a in case.network.actuators if a.role == "rod"]
    return listed(rods, 8) or "no cylinder is on the circuit"
