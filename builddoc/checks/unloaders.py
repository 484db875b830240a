"""The rule on pumps of two stages, or two pumps of which one is unloaded: power where they change over."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from .. import kinds
from ..circuit import Part
from ..kinds.two_stage_pump import TwoStagePumpParams
from ..kinds.unloading_valve import UnloadingValveParams
from . import walk
from .base import Case, Finding, rule
from .heat import lasts
from .outcomes import About
from .reliefs import guard_at
from .sections import of_kind, section
from .settings import stated_flow
from .walk import Limiter
from .words import Units, listed


@dataclass(frozen=True, slots=True)
class Stages:
    """What is unloaded, at the driver's nominal speed. at: Pa where the large stage goes off. both, small: W of shaft
    power for each Pa. flow: m3/s of both. driver: "" = not named or not the same for both. reliefs: that guard the
    small stage."""

    part: Part
    at: float
    both: float
    small: float
    flow: float
    driver: str
    reliefs: tuple[Limiter, ...]


@rule(
    id="power-unload-fails",
    title="The driver can bear the change-over of two stages, and the relief both of them",
    signal="NOTICE",
    reason="The engine stalls, or its belt burns, where the large stage goes off too late; and if it does not go off "
    "at all, the relief has to pass both.",
    criterion="power of both stages at the unloading pressure, and of the small one at the relief's setting, at most "
    "what the driver gives for hours at its nominal speed; the relief's stated flow at least that of both stages, "
    "WARNING where it is less",
    remedy="Unload earlier; measure how far the engine's speed drops at the change. A relief for the flow of both "
    "stages.",
    source="P = p Q over the mechanical efficiency: elementary; a trade article on power units (seen as an excerpt)",
)
def changing_over(case: Case) -> Iterable[Finding]:
    id = "power-unload-fails"
    found = [*_two_stage(case), *_unloaded(case)]
    for stages in found:
        yield _judged(case, About(id, stages.part.name, stages.part.place), stages)
    if not found:
        yield About(id).none("No pump is unloaded in this circuit")


def _judged(case: Case, say: About, stages: Stages) -> Finding:
    u = Units(case.circuit)
    lowest = min((item.setting for item in stages.reliefs), default=None)
    if lowest is None:
        return say.unchecked(f"{say.subject}: no relief to reckon with", "a relief")
    flows = [stated_flow(case, item) for item in stages.reliefs]
    passes = sum(f for f in flows if f is not None)
    change, top, stuck = stages.both * stages.at, stages.small * lowest, stages.both * lowest
    figures = {"power at the change": change, "power at the relief": top, "power if it fails": stuck}
    need = max(change, top)
    fails = f"If it does not unload, {u.both(stages.flow, 'flow')} and {u.power(stuck)} stand at the relief."
    names = listed(item.label for item in stages.reliefs)
    if None not in flows and passes < stages.flow:
        return say.finding(
            f"{say.subject}: {names} is stated up to {u.both(passes, 'flow')}, both stages give "
            f"{u.both(stages.flow, 'flow')}", fails, signal="WARNING",
            figures=figures | {"ratio": stages.flow / passes},
        )  # fmt: skip
    part = case.circuit.parts.get(stages.driver)
    supply = None
    if part is not None:
        kind = kinds.registry()[part.kind]
        supply = kind.shaft_supply(part, np.array([kind.nominal_speed(part.params) or 0.0]))
    asks = (
        f"{say.subject} asks for {u.both(change, 'power')} where it unloads, at {u.pressure(stages.at)}, and for "
        f"{u.power(top)} at {u.pressure(lowest)}"
    )
    if supply is None:
        return say.unchecked(f"{asks}: what drives it is open", "a driver named under 'driven by'", figures=figures)
    gives = float(supply[0])
    if need > gives:
        has = f"{stages.driver} gives {u.both(gives, 'power')} {lasts(case, stages.driver)}"
        return say.finding(f"{asks}; {has}", fails,
                           figures=figures | {"ratio": need / gives})  # fmt: skip
    if None in flows:
        return say.unchecked(f"{asks}, and has it; whether {names} passes both stages is open",
                             "the relief's rated flow, or its override at a flow", figures=figures)  # fmt: skip
    return say.ok(f"{asks}; {stages.driver} gives {u.power(gives)}, and {names} passes both stages", figures=figures)


def _two_stage(case: Case) -> Iterable[Stages]:
    for part in of_kind(case, "two-stage pump"):
        p = part.params
        assert isinstance(p, TwoStagePumpParams)
        (pump,) = [x for x in walk.pumps(case.network) if x.part == part.name]
        both = (p.large_stage + p.small_stage) * p.speed
        small = p.small_stage * p.speed / p.mechanical_efficiency
        flow = both * p.volumetric_efficiency
        reliefs = _guards(case, [pump])
        yield Stages(part, p.unloads_at, both / p.mechanical_efficiency, small, flow, p.driven_by, reliefs)


def _unloaded(case: Case) -> Iterable[Stages]:
    """Pumps of their own, one of which an unloading valve sends home."""
    for part in of_kind(case, "unloading valve"):
        params = part.params
        assert isinstance(params, UnloadingValveParams)
        ports = case.network.port_nodes
        line = ports[part.name, "A" if params.check else "pilot"]
        pumps = [p for p in walk.pumps(case.network) if case.circuit.parts[p.part].kind == "pump"]
        large = [p for p in pumps if p.outlet in section(case, ports[part.name, "P"]).nodes]
        small = [p for p in pumps if p not in large and line in walk.reach(case.network, {p.outlet}, walk.EVER)]
        if not large or not small:
            continue
        drivers = {str(case.circuit.parts[p.part].params.driven_by) for p in (*large, *small)}  # type: ignore[attr-defined]
        ideal = [(_displaced(case, p.part), p in small) for p in (*large, *small)]
        yield Stages(
            part, params.setting, sum(power for (power, _), _ in ideal), sum(w for (w, _), s in ideal if s),
            sum(flow for (_, flow), _ in ideal), drivers.pop() if len(drivers) == 1 else "", _guards(case, small),
        )  # fmt: skip


def _displaced(case: Case, name: str) -> tuple[float, float]:
    """Shaft power for each Pa (W), and flow (m3/s), of a pump at its nominal speed."""
    p = case.circuit.parts[name].params
    ideal = float(p.displacement * p.speed)  # type: ignore[attr-defined]
    return ideal / float(p.mechanical_efficiency), ideal * float(p.volumetric_efficiency)  # type: ignore[attr-defined]


def _guards(case: Case, pumps: list[walk.Pump]) -> tuple[Limiter, ...]:
    found = {
        (i.part, i.role): i for p in pumps for state in guard_at(case, p.part, p.outlet).by_state for i in state
    }
    return tuple(found.values())
