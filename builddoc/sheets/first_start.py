"""First start and setting of the pressures."""

from __future__ import annotations

from collections.abc import Sequence

from ..cautions import Caution, split
from ..checks.base import Case
from ..checks.words import Units
from ..report.ladder import ladder_table
from .expected import gauges_table, points_table, reliefs_table, strokes_table
from .model import Section, Sheet

BASIS = "Order of the steps: common practice, no source."


def identity(case: Case) -> str:
    c = case.circuit
    return f"{c.machine}, revision {c.revision}" + (f", {c.date}" if c.date else "")


def first_start(case: Case, cautions: Sequence[Caution] = ()) -> Sheet:
    """Cautions, before the start, filling, first turns, setting, loads in steps, with the figures that each step should
    show."""
    gauges, reliefs, strokes = gauges_table(case), reliefs_table(case), strokes_table(case)
    ladder, points = ladder_table(case), points_table(case)
    sections = [
        Section("Before anything turns", _before(case), note=BASIS),
        Section("First turns", _first_turns(case)),
        *([Section("Test points", table=points)] if points else ()),
        *([Section("Ladder of pressures", table=ladder)] if ladder else ()),
        Section("Setting the reliefs", _setting(case), reliefs),
        Section("Readings", table=gauges) if gauges else Section(
            "Readings", note="No gauge point is on the circuit: nothing can be compared. Fit one at the pump's outlet."
        ),
    ]  # fmt: skip
    if strokes:
        sections.append(Section("Stroke times", table=strokes))
    sections.append(Section("Loads in steps", _loads(case)))
    title, told = "First start and pressure setting", split(cautions)[0]
    return Sheet("first start", title, identity(case), tuple(sections), cautions=told)


def _before(case: Case) -> tuple[str, ...]:
    steps = [
        "Nobody in line with hoses or fittings, nobody under anything that can fall. Someone at the stop.",
        "Everything lowered; props and stops in; guards on. Eye protection. Wood or card for leaks, never a hand.",
        "Every joint tightened and marked; hoses clear of heat, edges and moving parts at both ends of the travel.",
        "Each line against the line schedule: the look-alikes twice.",
        "Oil filled through a filter, all cylinders in. Pump and motor cases filled. Suction open and locked open.",
        "Every relief backed right off. Gauge fitted where the table of reliefs says.",
        "Turning direction of the pump tried with its outlet open into a bottle.",
    ]
    if any(part.kind == "quick coupler" for part in case.circuit.parts.values()):
        steps.insert(4, "Every coupler pushed home and pulled back to test it.")
    return tuple(steps)


def _first_turns(case: Case) -> tuple[str, ...]:
    coldest = case.circuit.oil.coldest
    cold = f" (coldest start written down: {Units(case.circuit).show(coldest, 'temperature')})" if coldest else ""
    return (
        f"Idle, all levers in the middle, 2 to 5 minutes{cold}. Look and listen: gravel in the pump is air or vacuum.",
        "Each function slowly, without load, full stroke, ten times. Top up with all cylinders in.",
        "Stop. Work the levers until every gauge shows zero. Tighten what leaks. Never by feel.",
        "Warm the oil to 40 °C or more before anything is set.",
    )


def _setting(case: Case) -> tuple[str, ...]:
    return (
        "At working speed, one function against its stop for 2 to 3 seconds at a time, nobody in line.",
        "Lowest setting first. Raise in small steps; read at the place named; lock; seal; write it down.",
        "A relief that sits behind a lower one: only by the way its maker gives, and never by raising the main relief "
        "above any rating in the table of lines.",
        "Holding valves last, with the load propped and a safe way down.",
        "Read the main relief once more after all others.",
    )


def _loads(case: Case) -> tuple[str, ...]:
    return (
        "A quarter, half, three quarters, all of the load, each with its readings.",
        "Hold the load, propped just below, ten minutes, engine off: mark the rod and measure its way.",
        "Lower it under control. Then look at every joint again.",
        "Temperature of the tank every five minutes of work until it stands still.",
    )
