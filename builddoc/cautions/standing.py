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
    condition="the revision is dated after the day on which the machine was last gone over against its page",
    source=NO_SOURCE,
)
def changed(scene: Scene) -> Said | None:
    circuit, day = scene.case.circuit, of_machine(scene.case).checked
    if not later(circuit.date, day):
        return None
    return Said(
        "Changed since it was checked.",
        f"The figures here are for revision {circuit.revision or 'without a name'} of {circuit.date}; the machine "
        f"itself was last gone over on {day}. Every line, setting and rating that this revision touched is unproven on "
        "the machine: go over it at rest, then by the sheet for the first start.",
    )


def later(date: str, than: str) -> bool:
    """Whether one date is after another for certain; a date without a day or month counts as far as it goes. Neither
    is where one of them is missing."""
    known = min(len(date), len(than))
    return known > 0 and date[:known] > than[:known]
