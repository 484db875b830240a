"""Cautions on a machine that carries loads on arms, and on one that changed since it was gone over."""

from __future__ import annotations

from ..checks.declared import of_machine
from .base import NO_SOURCE, Said, Scene, caution


@caution(
    id="loader",
    signal="WARNING",
    condition="it carries loads on arms",
    source="statics; guidance on ballast and on carrying low for machines with loading arms, seen as excerpts",
)
def loader(scene: Scene) -> Said | None:
    facts = of_machine(scene.case)
    if not facts.lifting_arms:
        return None

    def told(value: float | None, dimension: str) -> str:
        return "not known" if value is None else scene.u.both(value, dimension)

    figures = {"load": facts.tip_load, "reach": facts.tip_reach, "ballast": facts.ballast}
    return Said(
        "The relief can lift more than the machine can carry.",
        f"It tips about its nearest axle at a load of: {told(facts.tip_load, 'force')}; that load at a reach of: "
        f"{told(facts.tip_reach, 'length')}; ballast at the other end: {told(facts.ballast, 'mass')}. No relief and no "
        "gauge tells of it. Carry low, move slow, turn and brake gently, never over or past people; weigh what is "
        "lifted before it is lifted.",
        {name: value for name, value in figures.items() if value is not None},
    )


@caution(
    id="changed",
    signal="WARNING",
    condition="the revision is dated after the day on which the machine was last gone over against its page, or it was "
    "built as changes to an earlier one and nobody declared that the machine was gone over since",
    source=NO_SOURCE,
)
def changed(scene: Scene) -> Said | None:
    circuit, day = scene.case.circuit, of_machine(scene.case).checked
    dated = f" of {circuit.date}" if circuit.date else ""
    figures = f"The figures here are for revision {circuit.revision or 'without a name'}{dated}"
    unproven = (
        "Every line, setting and rating that this revision touched is unproven on the machine: go over it at rest, "
        "then by the sheet for the first start."
    )
    if later(circuit.date, day):
        lead = "Changed since it was checked."
        return Said(lead, f"{figures}; the machine itself was last gone over on {day}. {unproven}")
    if not circuit.base or circuit.status != "built" or settled(circuit.date, day):
        return None
    open_ = (
        f"the machine was last gone over on {day}, and whether that was after the change is not known"
        if day
        else "nobody stated a day on which the machine was gone over since"
    )
    lead = "Changed, and not known to have been checked since."
    return Said(lead, f"{figures}, made from revision {circuit.base}; {open_}. {unproven}")


def later(date: str, than: str) -> bool:
    """Whether one date is after another for certain; a date without a day or month counts as far as it goes. Neither
    is where one of them is missing."""
    known = min(len(date), len(than))
    return known > 0 and date[:known] > than[:known]


def settled(date: str, checked: str) -> bool:
    """Whether a machine was gone over on the day of a change or later, for certain."""
    whole = len("2026-05-01")
    return later(checked, date) or (date == checked and len(date) == whole)
