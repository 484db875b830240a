"""Rules on the oil: viscosity over its temperatures, where it settles, how much of it there is."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ..circuit import Part
from ..physics import oil as laws
from ..standards.guides import reservoir_guide
from . import heat, walk
from .base import Case, Finding, Signal, rule
from .loads import STANDS
from .sections import of_kind
from .ways import neutral_states
from .words import Units, listed

START_MOST, SUSTAINED, LEAST = 1600e-6, 10e-6, 7.4e-6
NO_WORK = 1.0  # W
WARM = 273.15 + 60.0
MARKS = 0.5
"""Share of the oil between the marks of a reservoir, where nobody says. Common practice, no source."""


@rule(
    id="visc-window",
    title="The oil is neither too thick cold nor too thin hot",
    signal="NOTICE",
    reason="Thick oil starves the pump; thin oil leaks, wears parts and lets loads sink.",
    criterion="at most 1600 mm2/s at the coldest start, at least 10 mm2/s in every state; below 7.4 mm2/s "
    "beyond any guide",
    remedy="Another grade, a warm-up at idle, or a cooler.",
    source="a gear-pump maker's oil page: 50 SSU (7.4 mm2/s) least, 7500 SSU (1620) at start; a valve maker's: "
    "60 SSU (10) "
    "sustained (both seen as excerpts)",
)
def viscosity_window(case: Case) -> Iterable[Finding]:
    id, u, oil = "visc-window", Units(case.circuit), case.circuit.oil
    temperatures = [float(t) for t in case.results.temperature]
    coldest = min([*temperatures, *([oil.coldest] if oil.coldest is not None else [])])
    hottest = max([*temperatures, oil.temperature])

    def nu(temperature: float) -> float:
        return float(laws.viscosity(oil.nu40, oil.nu100, temperature))

    thick, thin = nu(coldest), nu(hottest)
    figures = {"coldest": thick, "hottest": thin}

    def at(value: float, temperature: float) -> str:
        return f"{u.show(value, 'kinematic viscosity')} at {u.show(temperature, 'temperature')}"

    said = []
    if thick > START_MOST:
        said.append(f"{at(thick, coldest)}, usual is at most {u.show(START_MOST, 'kinematic viscosity')} at the start")
    if thin < SUSTAINED:
        beyond = ", thinner than any guide allows" if thin < LEAST else ""
        said.append(f"{at(thin, hottest)}{beyond}, usual is at least {u.show(SUSTAINED, 'kinematic viscosity')}")
    if said:
        yield Finding(
            id, "finding", "NOTICE", "", f"{oil.grade}: {'; '.join(said)}",
            text="Thick oil starves the pump and opens filter bypasses; thin oil leaks, wears parts and lets "
            "loads sink.",
            remedy="Another grade, a warm-up at idle, or a cooler.", figures=figures, place=oil.place,
        )  # fmt: skip
    else:
        yield Finding(id, "ok", "NOTICE", "", f"{oil.grade}: {at(thick, coldest)}, {at(thin, hottest)}",
                      text="" if oil.coldest is not None else "Nobody stated the coldest start.",
                      figures=figures)  # fmt: skip


@rule(
    id="temp-steady",
    title="The machine can idle for as long as it likes",
    signal="NOTICE",
    reason="A machine that overheats with no lever moved is too hot before it does any work.",
    criterion="of the states in which every lever is in neutral (without valves: nothing moves) and no work is done, "
    "in the one with the least heat, the oil settles at most at 60 degC; above its limit CAUTION",
    remedy="Unload the pump at rest, a smaller pump, a larger face of the reservoir, a cooler.",
    source="heat balance; 60 degC: a university slide on design safety (seen as an excerpt); limit 82 degC: a "
    "trade author",
)
def steady_temperature(case: Case) -> Iterable[Finding]:
    id, u, r = "temp-steady", Units(case.circuit), case.results
    warm = heat.warmings(case)
    watts = np.array([w for w, _ in warm])
    if of_kind(case, "directional valve", "steering unit"):  # what seeps past them may creep
        quiet = np.isin(np.arange(r.size), neutral_states(case))
    else:
        quiet = np.abs(np.nan_to_num(r.v)).max(axis=1, initial=0.0) <= STANDS
    at_rest = (np.abs(r.output_power()) < NO_WORK) & quiet
    least = r.worst(np.where(at_rest, watts, np.nan), lowest=True)
    if not walk.pumps(case.network):
        yield Finding(id, "does not apply", "NOTICE", "", "No pump in this circuit")
        return
    settled = warm[least.index][1] if least else None
    if least is None or settled is None or not np.isfinite(settled.settled):
        missing = "volume and cooling area of the reservoir" if least else "a solved state at rest, no lever shifted"
        yield Finding(id, "not checked", "NOTICE", "", "Where the oil's temperature settles is open", missing=missing)
        return
    figures = {"temperature": settled.settled, "heat": least.value}
    limit = case.circuit.oil.limit  # how far above it the straight line goes on is no figure
    at = f"above {u.both(limit, 'temperature')}" if settled.settled > limit else (
        f"at {u.both(settled.settled, 'temperature')}"
    )  # fmt: skip
    line = f"The oil settles {at} with {u.both(least.value, 'power')} of heat"
    if settled.settled <= WARM:
        yield Finding(id, "ok", "NOTICE", "", line, state=least.state, figures=figures)
        return
    signal: Signal = "CAUTION" if settled.settled > limit else "NOTICE"
    yield Finding(
        id, "finding", signal, "", f"{line}, with nothing at work",
        text="No state at rest puts less heat into the oil. Hot metal burns.",
        remedy="Unload the pump at rest, take a smaller pump, a larger reservoir or a cooler.",
        state=least.state, figures=figures, place=case.circuit.states[least.state].place,
    )  # fmt: skip


def _volume(case: Case) -> float:
    return heat.sink(case.circuit).oil_volume


@rule(
    id="tank-volume",
    title="The reservoir holds at least a minute of pump flow",
    signal="NOTICE",
    reason="With less, air and dirt have no time to leave the oil, and it heats fast.",
    criterion="oil volume over the flow of all pumps at least one minute; three to five are usual for "
    "stationary machines",
    remedy="A larger reservoir; a multiple of the flow is no proof, temperature and level decide.",
    source="common practice, no source (see the guide of the standards room)",
)
def tank_volume(case: Case) -> Iterable[Finding]:
    id, u = "tank-volume", Units(case.circuit)
    pumps = walk.pumps(case.network)
    if not pumps:
        yield Finding(id, "does not apply", "NOTICE", "", "No pump in this circuit")
        return
    flow, volume = float(sum(np.max(p.flow) for p in pumps)), _volume(case)
    if volume <= 0:
        yield Finding(id, "not checked", "NOTICE", "",
                      f"{u.both(flow, 'flow')} come from a reservoir of unknown volume",
                      missing="the volume of oil in the reservoir")  # fmt: skip
        return
    ratio = volume / flow / 60
    guide = reservoir_guide()
    line = f"The oil in the reservoir, {u.both(volume, 'volume')}, is {ratio:.1f} minutes of pump flow"
    usual = f"{guide.low:g} to {guide.high:g} are usual for machines that stand, one at least for those that move."
    if ratio >= 1:
        yield Finding(id, "ok", "NOTICE", "", line, text=usual, figures={"minutes": ratio})
    else:
        yield Finding(
            id, "finding", "NOTICE", "", line, text=f"{usual} Air has no time to leave the oil, and it heats fast.",
            remedy="A larger reservoir; temperature and level decide.", figures={"minutes": ratio},
            place=next((p.place for p in of_kind(case, "reservoir")), None),
        )  # fmt: skip


def _swing(part: Part) -> float | None:
    """m3 that a cylinder takes out of the reservoir between in and out: of its rod, or of the piston where no rod side
    gives oil back; None if a stroke is missing."""
    total = 0.0
    for stage in getattr(part.params, "stages", [part.params]):
        if stage.stroke is None:
            return None
        wide = getattr(stage, "rod", None) or stage.bore
        total += float(np.pi / 4 * wide**2 * stage.stroke)
    return total


@rule(
    id="tank-differential",
    title="The level stays between the marks as rods move",
    signal="CAUTION",
    reason="With all rods out the suction may draw air just as a load is up; with all in hot oil may run over.",
    criterion="1.1 times the volume of all rods (of single-acting cylinders: of the piston; of telescopic ones stage "
    "by stage) at most half of the oil; WARNING where it is all of the oil or more",
    remedy="A larger reservoir; mark the dipstick for rods in, and fill with everything in.",
    source="geometry; half of the oil between the marks: common practice, no source",
)
def tank_differential(case: Case) -> Iterable[Finding]:
    id, u = "tank-differential", Units(case.circuit)
    rods = of_kind(case, "cylinder", "single-acting cylinder", "telescopic cylinder")
    volume = _volume(case)
    swings = {p.name: _swing(p) for p in rods}
    unknown = [name for name, own in swings.items() if own is None]
    if not rods or volume <= 0 or unknown:
        if not rods:
            yield Finding(id, "does not apply", "CAUTION", "", "No cylinder in this circuit")
        else:
            missing = f"stroke of {listed(unknown, 4)}" if unknown else "the volume of oil in the reservoir"
            yield Finding(id, "not checked", "CAUTION", "", "How far the level of the reservoir swings is open",
                          missing=missing)  # fmt: skip
        return
    swing = sum(own for own in swings.values() if own is not None)
    figures = {"swing": swing, "volume": volume}
    line = f"Between all rods in and out {u.both(swing, 'volume')} of the {u.both(volume, 'volume')} of oil come and go"
    if 1.1 * swing <= MARKS * volume:
        yield Finding(id, "ok", "CAUTION", "", line, figures=figures)
        return
    dry = swing >= volume
    if dry:
        line = f"All rods out take {u.both(swing, 'volume')}; there are {u.both(volume, 'volume')} of oil"
    yield Finding(
        id, "finding", "WARNING" if dry else "CAUTION", "", line,
        text="The pump runs dry before the load is all the way up, and what is up then stands on air."
        if dry
        else "That is more than half of the oil: the suction may draw air just as a load is up, or hot oil runs over "
        "when all comes down.",
        remedy="A larger reservoir; mark the dipstick for rods in, and fill with everything in.", figures=figures,
        place=next((p.place for p in of_kind(case, "reservoir")), None),
    )  # fmt: skip
