"""The report: what a page says about a circuit, as neutral data in reading order."""

from __future__ import annotations

from collections.abc import Sequence

from .. import cautions
from ..checks.base import Case, Finding
from ..faults import Trial
from . import (
    alike,
    charts,
    envelope,
    faults,
    joints,
    ladder,
    lines,
    motion,
    overview,
    pairs,
    parts,
    paths,
    power,
    scope,
    stored,
    words,
)
from .model import Report, Table
from .words import SHORT_STATEMENT, STATEMENT

__all__ = ["SHORT_STATEMENT", "STATEMENT", "build"]

# What the name of a section hides beside the table of the same name.
SECTIONS = {
    "lines": ("lines-by-state",),
    "ratings": ("trapped",),
    "actuators": ("motors", "both-ways", "pairs", "pair-layouts", "accumulators"),
    "heat": ("heat-parts",),
    "parts": ("line-schedule", "quantities", "joints", "adapters"),
}


def build(case: Case, findings: Sequence[Finding], tried: Trial | None = None) -> Report:
    """The report of a solved circuit. findings: all four outcomes, worst first, as `checks.run` gives them. tried:
    faults, shown in tables of their own only."""
    circuit = case.circuit
    tables: list[Table | None] = [
        lines.lines_table(case),
        motion.rods_table(case),
        motion.shafts_table(case),
        motion.both_ways_table(case),
        pairs.pairs_table(case),
        pairs.layouts_table(case),
        stored.accumulators_table(case),
        stored.trapped_table(case),
        lines.ratings_table(case),
        ladder.ladder_table(case),
        alike.alike_table(case),
        power.heat_table(case),
        power.losses_table(case),
        overview.states_table(case),
        lines.lines_by_state(case),
        faults.faults_table(tried) if tried else None,
        envelope.envelope_table(case, tried) if tried else None,
        parts.parts_table(case),
        parts.lines_schedule(case),
        parts.quantities_table(case),
        joints.joints_table(case),
        joints.adapters_table(case),
    ]
    hidden = [name for section in circuit.show.hide for name in (section, *SECTIONS.get(section, ()))]
    return Report(
        machine=circuit.machine,
        revision=circuit.revision,
        date=circuit.date,
        title=circuit.title,
        states=tuple(case.results.states),
        shown_state=circuit.show.state or next(iter(case.results.states), ""),
        key_figures=overview.key_figures(case),
        failures=overview.failures(case),
        findings=tuple(f for f in findings if f.outcome == "finding"),
        not_checked=tuple(f for f in findings if f.outcome == "not checked"),
        passed=tuple(f for f in findings if f.outcome in ("ok", "does not apply")),
        tables=tuple(t for t in tables if t is not None and t.rows),
        assumptions=words.assumptions(case),
        proofs=words.proofs(case),
        notes=words.notes(case),
        hidden=tuple(dict.fromkeys(hidden)),
        statement=STATEMENT,
        paths=paths.pressure_paths(case),
        scope=scope.scope(case),
        cautions=cautions.shown(case, findings),
        status=circuit.status,
        charts=charts.charts(case),
    )
