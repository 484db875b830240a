"""Cautions on running and upkeep: heat, stored energy, first start, hoses, oil, what was not checked."""

from __future__ import annotations

import math

from ..checks import heat
from ..checks.sections import of_kind
from ..checks.words import listed, minutes
from ..kinds import registry
from ..kinds.accumulator import Accumulator
from .base import NO_SOURCE, Said, Scene, caution

BURNS = 273.15 + 55.0
"""K; metal above it can burn on a short touch. ISO 13732-1 gives thresholds by surface and time (scope seen only): the
figure is common practice, no source."""
SHORT = 1800.0
"""s; a limit that comes sooner than this is told."""


@caution(
    id="accumulator",
    signal="DANGER",
    condition="there is an accumulator",
    source="charging notes of the trade: dry nitrogen only (seen as excerpts); a slide on ISO 4413: it vents by itself "
    "at shut-off or is isolated, and is marked",
)
def accumulator(scene: Scene) -> Said | None:
    case, u = scene.case, scene.u
    parts = of_kind(case, "accumulator")
    if not parts:
        return None
    kind = registry()["accumulator"]
    assert isinstance(kind, Accumulator)
    stored = []
    for part in parts:
        worst = case.results.worst(case.results.pressure(part.name, "oil"))
        if worst is not None:
            stored.append((float(kind.energy(part, max(worst.value, 0.0))), part.name, worst))
    figures, holds = {}, ""
    if stored:
        energy, name, worst = max(stored, key=lambda entry: entry[0])
        figures = {"energy": energy, "pressure": worst.value}
        holds = f" {name} keeps {u.both(worst.value, 'pressure')} and {u.both(energy, 'energy')}."
    return Said(
        "Stored energy stays after the engine is off.",
        f"{listed([p.name for p in parts], 4)}:{holds} Discharge it and prove zero on a gauge before a fitting is "
        f"opened. "
        "Fill it with dry nitrogen only: oxygen or air explodes with oil. It is a pressure vessel; law and trained "
        "people come first.",
        figures,
    )


@caution(
    id="work-energy",
    signal="WARNING",
    condition="some line sees more than 7 bar",
    source="29 CFR 1910.147(d)(5): stored energy is relieved before work (seen as an excerpt; its scope is employment)",
)
def work_energy(scene: Scene) -> Said | None:
    from .pressure import INJECTS, highest

    top = highest(scene)
    if top is None or top[0] <= INJECTS:
        return None
    gauges = [p.name for p in scene.parts("gauge point")]
    prove = f"prove zero at {listed(gauges, 4)}" if gauges else "prove zero (this circuit has no gauge point)"
    return Said(
        "Before anything is loosened:",
        f"lower what is up, stop, take the key, work every lever both ways, {prove}, wait until it is cool, cover the "
        "fitting and stand aside of it.",
        {"gauge points": float(len(gauges))},
    )


@caution(
    id="hot",
    signal="CAUTION",
    condition="the oil works above 55 °C in some state, or would settle above it",
    source="ISO 13732-1 gives burn thresholds (scope seen); 55 °C: common practice, no source",
)
def hot(scene: Scene) -> Said | None:
    case, u = scene.case, scene.u
    stated = case.results.worst(case.results.temperature)
    ends = [(w.settled, -s) for s, (_, w) in enumerate(heat.warmings(case)) if w is not None]
    settled, s = max(ends, default=(0.0, 0))  # the earliest of equals
    limit = case.circuit.oil.limit
    if stated is not None and stated.value > BURNS and stated.value >= min(settled, limit):
        return _hot(f"The oil is at {u.both(stated.value, 'temperature')} in '{stated.state}'.", stated.value, scene)
    if settled > BURNS:
        state = case.results.states[-s]
        reaches = (
            f"would settle at {u.both(settled, 'temperature')}" if settled <= limit
            else f"would pass {u.both(limit, 'temperature')}"
        )  # fmt: skip
        return _hot(f"If '{state}' lasted, the oil {reaches}.", min(settled, limit), scene)
    return None


def _hot(what: str, value: float, scene: Scene) -> Said:
    return Said(
        "Reservoir, relief and hoses get hot enough to burn skin.",
        f"{what} Metal above {scene.u.both(BURNS, 'temperature')} can burn at a short touch. Let it cool before it is "
        "opened; never loosen a hot cap.",
        {"temperature": value},
    )


@caution(
    id="hot-time",
    signal="CAUTION",
    condition="in some state the oil reaches its limit within 30 minutes",
    source="balance of heat and oil (see the rule relief-heat); 82 °C: a trade author on oil temperature, seen as an "
    "excerpt",
)
def hot_time(scene: Scene) -> Said | None:
    case, u = scene.case, scene.u
    soon = [
        (w.uncooled, s) for s, (_, w) in enumerate(heat.warmings(case))
        if w is not None and math.isfinite(w.uncooled) and w.uncooled < SHORT
    ]  # fmt: skip
    if not soon:
        return None
    time, s = min(soon)
    return Said(
        f"In '{case.results.states[s]}' the oil gets too hot within {minutes(time)}.",
        f"From {u.both(heat.START, 'temperature')} it passes {u.both(case.circuit.oil.limit, 'temperature')} by then, "
        "with no cooling counted. Stop earlier, and watch a thermometer.",
        {"time": time},
    )


@caution(id="hose-age", signal="NOTICE", condition="a hose has no date")
def hose_age(scene: Scene) -> Said | None:
    lines = scene.case.circuit.lines.values()
    bare = [li.name for li in lines if li.conduit and li.conduit.kind == "hose" and not li.details.get("hose date")]
    if not bare:
        return None
    return Said(
        f"{len(bare)} {'hose has' if len(bare) == 1 else 'hoses have'} no date on this page.",
        f"{listed(bare, 6)}: rubber ages unseen. Look at each before every season, replace it on condition, and write "
        "its date.",
        {"hoses": float(len(bare))},
    )


@caution(
    id="start",
    signal="CAUTION",
    condition="there is a pump",
    source="an army ordnance course on priming pumps (start with an open pressure line, idle before working the "
    "controls), seen as an excerpt",
)
def start(scene: Scene) -> Said | None:
    from ..checks import walk

    pumps = [p.part for p in walk.pumps(scene.case.network)]
    if not pumps:
        return None
    return Said(
        "The first start, and each one after it was open, goes by the card.",
        f"Fill {listed(pumps, 4)} and its inlet line, back the reliefs off, turn by hand or on the starter with the "
        "pressure side open, check the sense of rotation, then idle; nobody in line with hoses, eyes covered, the stop "
        "within reach.",
    )


@caution(id="oil", signal="NOTICE", condition="always: an oil is named", source=NO_SOURCE)
def oil(scene: Scene) -> Said | None:
    return Said(
        "Oil belongs neither on skin nor in water.",
        f"{scene.case.circuit.oil.grade}: gloves to handle it, a pan below what is opened, absorbent at hand, used "
        f"oil to "
        "a collection point.",
    )


@caution(id="unchecked", signal="NOTICE", condition="a rule could not be checked")
def unchecked(scene: Scene) -> Said | None:
    open_ = [f for f in scene.findings if f.outcome == "not checked"]
    if not open_:
        return None
    count = f"{len(open_)} {'check' if len(open_) == 1 else 'checks'}"
    names = listed(dict.fromkeys(f.subject for f in open_ if f.subject), 6)
    return Said(
        f"{count} could not be made.",
        f"Not checked is not safe{': ' + names if names else ''}. What is missing stands in the list of the findings.",
        {"checks": float(len(open_))},
    )
