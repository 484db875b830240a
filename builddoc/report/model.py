"""The report: what a page says about a circuit, as neutral data in reading order. Display units, no markup.

`report.build(case) -> Report`; `page` turns it into HTML, `cli` into text, `page.downloads` into CSV and JSON.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from ..cautions.base import Caution
from ..checks.base import Finding


@dataclass(frozen=True, slots=True)
class Cell:
    """text: as printed (number already rounded, no unit if the column has one). value: SI or None. note: small second
    line (state name, basis). share: 0.. share of a rating (a bar is drawn), else None. subject: part or line name the
    cell is about ("" = none) so that a row and a place in the drawing can point at each other. flag: "" | "over" |
    "wrong" | "not-checked" | "range" | "failed". states: those that the row holds for, where several rows were made
    one."""

    text: str
    value: float | None = None
    note: str = ""
    share: float | None = None
    subject: str = ""
    flag: str = ""
    states: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Column:
    """label: heading; unit: printed below it and in the CSV heading; numeric: right-aligned."""

    label: str
    unit: str = ""
    numeric: bool = True


@dataclass(frozen=True, slots=True)
class Table:
    """key: stable short name ("lines", "actuators", "ratings", "heat", "states", ...). The first column heads its
    row."""

    key: str
    title: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True, slots=True)
class KeyFigure:
    """label: "Highest pressure". text: "151". unit: "bar". note: "feed, in 'clamp at its stop'". second: same figure in
    the second system of units ("2190 psi") or ""."""

    label: str
    text: str
    unit: str
    note: str = ""
    second: str = ""


@dataclass(frozen=True, slots=True)
class Failure:
    """A state without figures: what happened, in the builder's words, and what would give it an answer."""

    state: str
    headline: str
    text: str
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class StateProof:
    """One line of the certificate for a state, already in words and figures."""

    state: str
    holds: bool
    text: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step down from the pump to the tank. before, after: Pa. text: `before` as printed; drop: the difference.
    subject: part or line ("" = several). work: the pressure moves a load."""

    label: str
    subject: str
    before: float
    after: float
    text: str
    drop: str
    work: bool = False


@dataclass(frozen=True, slots=True)
class PressurePath:
    """The steps of one state, from the pump's outlet to the tank."""

    state: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """One state in a chart. parts: W, stacked. text: the whole as printed. mark: W, a limit of that state alone, nan =
    none. beyond: above the limit."""

    state: str
    parts: tuple[float, ...] = ()
    text: str = ""
    mark: float = math.nan
    beyond: bool = False


@dataclass(frozen=True, slots=True)
class Chart:
    """Bars over the states. keys: what the parts of a bar are. level: W, a limit of all states, 0 = none."""

    key: str
    title: str
    caption: str
    keys: tuple[str, ...]
    bars: tuple[Bar, ...]
    level: float = 0.0


@dataclass(frozen=True, slots=True)
class Report:
    machine: str
    revision: str
    date: str
    title: str
    states: tuple[str, ...]
    shown_state: str
    key_figures: tuple[KeyFigure, ...]
    failures: tuple[Failure, ...]
    findings: tuple[Finding, ...]  # worst first; outcome "finding"
    not_checked: tuple[Finding, ...]
    passed: tuple[Finding, ...]  # outcome "ok" or "does not apply"
    tables: tuple[Table, ...]
    assumptions: tuple[str, ...]
    proofs: tuple[StateProof, ...]
    notes: tuple[str, ...] = ()  # undetermined pressures, transition-zone friction, tables from memory
    hidden: tuple[str, ...] = ()
    statement: str = field(default="")
    paths: tuple[PressurePath, ...] = ()
    scope: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()  # worst first
    status: str = "built"  # or "planned", "withdrawn"
    charts: tuple[Chart, ...] = ()
