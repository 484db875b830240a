"""Telescopic cylinder: stages that slide out of each other, the widest first."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from ..circuit import Part
from ..fields import Force, Length
from ..network import Array
from . import orders
from .base import Control, Keys, Kind, Motion, Parameters, Port
from .cylinder import AT_REST

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..results import Results


def _refuse(text: str, hint: str) -> PydanticCustomError:
    return PydanticCustomError("quantity-range", "{text}", {"text": text, "hint": hint})


class Stage(Keys):
    """One stage."""

    bore: Length = Field(description="Diameter that the oil pushes on when this stage moves out.")
    rod: Length | None = Field(
        None, description="Outer diameter of what slides out at this stage; for every stage of a double-acting one."
    )
    stroke: Length = Field(description="How far this stage moves.")

    def areas(self) -> tuple[float, float]:
        """Area that pushes it out and ring that pulls it in (0 if single-acting), m2."""
        cap = math.pi / 4 * self.bore**2
        return cap, cap - math.pi / 4 * self.rod**2 if self.rod is not None else 0.0


class TelescopicCylinderParams(Parameters):
    stages: list[Stage] = Field(description="The stages, widest first, as `[{bore: 80 mm, stroke: 500 mm}, …]`.")
    friction: Force = Field(0.0, description="Friction of seals and guides, in either direction; left out: none.")

    @model_validator(mode="after")
    def _stages_fit(self) -> TelescopicCylinderParams:
        if len(self.stages) < 2:
            raise _refuse("a telescopic cylinder has two stages or more", "one stage is a plain cylinder")
        if any(inner.bore >= outer.bore for outer, inner in pairwise(self.stages)):
            raise _refuse("each stage must be thinner than the one before", "write the widest stage first")
        rods = [stage.rod for stage in self.stages]
        if any(rod is not None for rod in rods) and any(rod is None for rod in rods):
            raise _refuse("some stages have a rod and some have none", "give every stage a rod if oil pulls it in")
        if any(stage.rod is not None and stage.rod >= stage.bore for stage in self.stages):
            raise _refuse("the rod of a stage is not thinner than its bore", "check both")
        return self

    @property
    def double_acting(self) -> bool:
        return self.stages[0].rod is not None


class TelescopicCylinder(Kind[TelescopicCylinderParams]):
    name = "telescopic cylinder"
    aliases = ("tipping cylinder", "multi-stage cylinder")
    group = "actuators"
    symbol = "telescopic cylinder"
    moves = "rod"
    tieable = False
    summary = "Cylinder of several stages, the widest first: as it goes out, pressure and speed rise step by step."
    equations = (
        "Every stage carries the whole load: `p_cap A_i - p_rod A_ring_i = load + friction × sign(v_i)`, and the flows "
        "add up: `Q_cap = sum(A_i v_i)`. At a rising load the stage that needs the least pressure, the widest, moves "
        "first. A state says which one moves (`<part>.stage: 2`): the wider ones stand extended, the narrower ones "
        "retracted; left out: the first. In a double-acting one they leave these stops if the pressures "
        "drive them. Time for the whole stroke: the sum over the stages, only where the states show every stage moving "
        "with everything else alike. "
        "Elementary relations; the order of the stages is common practice, no source."
    )
    example = (
        "{kind: telescopic cylinder, stages: [{bore: 90 mm, stroke: 500 mm}, {bore: 70 mm, stroke: 500 mm}, "
        "{bore: 50 mm, stroke: 500 mm}], rating: 180 bar}"
    )
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: telescopic cylinder, rating: 180 bar,
       stages: [{bore: 90 mm, stroke: 500 mm}, {bore: 70 mm, stroke: 500 mm}, {bore: 50 mm, stroke: 500 mm}]}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  lift: {route: valve.A > it, hose: two-wire, size: -6, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
plugged: [valve.B]
states:
  first stage: {valve: A, it.stage: 1, loads: {it: 20 kN compression}}
  second stage: {valve: A, it.stage: 2, loads: {it: 20 kN compression}}
  third stage: {valve: A, it.stage: 3, loads: {it: 20 kN compression}}
"""
    Params = TelescopicCylinderParams

    def ports(self, params: TelescopicCylinderParams) -> tuple[Port, ...]:
        cap = Port("cap", "work", ("piston side",), doc="pressure here extends it")
        if not params.double_acting:
            return (cap,)
        return cap, Port("rod", "work", ("rod side",), doc="pressure here retracts it")

    def controls(self, params: TelescopicCylinderParams) -> tuple[Control, ...]:
        count = len(params.stages)
        last = {"extended": count, "retracted": 1}  # a load that a wide stage lifts is none for the narrow last one
        faults = tuple(replace(f, beside=(("stage", last[f.value]),)) for f in orders.STOP.faults)
        return (
            orders.LOAD,
            replace(orders.STOP, faults=faults),
            Control("stage", _stage(count), 1, f"number of the stage that moves, 1 (the widest) to {count}", said=str),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        low, high = orders.rod_limits(b.orders("stop"))
        moving = np.array(b.orders("stage"), dtype=int)
        free = np.array([stop is None for stop in b.orders("stop")])
        load = np.array(b.orders("load"), dtype=float)
        for n, stage in enumerate(params.stages, 1):
            cap, ring = stage.areas()
            k = {b.node("cap"): cap}
            if params.double_acting:
                k[b.node("rod")] = k.get(b.node("rod"), 0.0) - ring
            # One pressure on all stages: p A = load on the one that moves keeps wider ones out and narrower ones in, so
            # these are fixed. With a rod side that is not certain, and they may leave their stops.
            inner, outer = free & (n > moving), free & (n < moving)
            fixed = (inner | outer) & (not params.double_acting)
            b.actuator(
                "rod", k, force=load, friction=params.friction,
                lo=np.where(inner | fixed, 0.0, low), hi=np.where(outer | fixed, 0.0, high),
            )  # fmt: skip

    def at_work(self, part: Part, r: Results) -> Array:
        """Number of the stage that carries the motion, per state (S,): the one that moves if one does; at its extended
        stop the last, at its retracted stop the first, else the one the state names."""
        params = self.own(part)
        speeds = self._speeds(part, r)
        named = np.array(r.orders(part.name, "stage"), dtype=int)
        stops = r.orders(part.name, "stop")
        ends = {"extended": len(params.stages), "retracted": 1}
        resting = np.array([ends.get(stop, n) for stop, n in zip(stops, named, strict=True)])
        flows = np.nan_to_num(np.abs(speeds) * np.array([s.areas()[0] for s in params.stages])[:, None])
        fastest = np.argmax(flows, axis=0) + 1
        result: Array = np.where(np.nanmax(np.abs(np.nan_to_num(speeds)), axis=0) > AT_REST, fastest, resting)
        return result

    def _speeds(self, part: Part, r: Results) -> Array:
        """m/s of every stage against the one around it, (stages, S)."""
        ids = [k for k, a in enumerate(r.network.actuators) if a.part == part.name]
        speeds: Array = r.v[:, ids].T
        return speeds

    def motions(self, part: Part, r: Results) -> Mapping[str, Motion]:
        params = self.own(part)
        areas = np.array([stage.areas() for stage in params.stages])
        speeds, at_work = self._speeds(part, r), self.at_work(part, r)
        index = at_work.astype(int) - 1
        effort = areas[index, 0] * r.pressure(part.name, "cap")
        if params.double_acting:
            effort = effort - areas[index, 1] * r.pressure(part.name, "rod")
        total = speeds.sum(axis=0)
        known = ~np.isnan(total)
        moving = known & (np.abs(total) > AT_REST)
        v = np.where(known, np.where(moving, total, 0.0), np.nan)
        time = self._whole_stroke(part, r, v, index)
        rubbing = params.friction * np.abs(speeds).sum(axis=0)
        output = np.where(moving, effort * v - rubbing, np.where(known, 0.0, np.nan))
        notes = tuple(f"stage {n} of {len(params.stages)}" for n in at_work)
        return {"rod": Motion("rod", v, effort, time, output, notes)}

    def _whole_stroke(self, part: Part, r: Results, v: Array, index: Array) -> Array:
        """s for all stages, (S,): nan unless states that differ in nothing but this part's stage and load show each of
        them moving the same way."""
        params = self.own(part)
        strokes = [stage.stroke for stage in params.stages]
        own = {(part.name, "stage"), (part.name, "load")}
        states = list(r.circuit.states.values())
        alike = [
            (frozenset((k, repr(o)) for k, o in state.orders.items() if k not in own), state.oil_temperature)
            for state in states
        ]
        result = np.full(v.shape, np.nan)
        for s in np.flatnonzero(np.abs(np.nan_to_num(v)) > 0):
            times = {
                int(index[t]): strokes[int(index[t])] / abs(float(v[t]))
                for t in range(len(states))
                if alike[t] == alike[s] and v[t] * v[s] > 0
            }
            if len(times) == len(strokes):
                result[s] = sum(times.values())
        return result


def _stage(count: int) -> Callable[[Any], int]:
    """Reader of a stage's number."""

    def read(raw: Any) -> int:
        text = orders.words(raw, "a stage")
        if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= count:
            raise ValueError(f"'{text}' is no stage: write a number from 1 (the widest) to {count}")
        return int(text)

    return read


KIND = TelescopicCylinder()
