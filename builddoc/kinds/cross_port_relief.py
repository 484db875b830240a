"""Cross-port relief block: two reliefs that let oil from either side of a motor or ram over to the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow, PressureDrop
from . import limiting
from .base import Kind, Parameters, Port, Relief, assumed, assumptions_of
from .passages import at_40, full

if TYPE_CHECKING:
    from ..assemble import Builder


class CrossPortParams(Parameters):
    relief_of_A: limiting.ReliefField = Field(description="Relief from A to B: its setting, or a group of keys.")
    relief_of_B: limiting.ReliefField | None = Field(
        None, description="Relief from B to A. Left out: the same as from A to B."
    )
    make_up: bool = Field(False, description="It has a port T and a check from there to each side.")
    cracking: PressureDrop = assumed(0.2e5, "Opening pressure of the make-up checks.")
    make_up_drop: DropAtFlow = assumed(at_40(2.0), "Pressure drop of a make-up check at a flow, beyond its cracking.")

    def pair(self) -> tuple[tuple[str, str, limiting.ReliefSetting], ...]:
        """From, to, relief."""
        return (("A", "B", self.relief_of_A), ("B", "A", self.relief_of_B or self.relief_of_A))


class CrossPortRelief(Kind[CrossPortParams]):
    name = "cross-port relief"
    aliases = ("crossover relief", "dual cross relief")
    group = "valves"
    symbol = "cross-port relief"
    summary = "Two reliefs between the sides of a motor or ram: each lets oil over to the other side above its setting."
    equations = (
        limiting.LAW
        + "\n\nOutlet of each is the other side, whose pressure adds to the setting. Make-up: a check from T to each "
        "side, `cracking + make up drop × (Q / flow)^2`. On a cylinder of unequal areas oil has to come from "
        "or go somewhere else besides."
    )
    example = (
        "{kind: cross-port relief, relief of A: {setting: 140 bar, override: 6 bar at 30 L/min}, "
        "make up: yes, rating: 210 bar}"
    )
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: cross-port relief, relief of A: {setting: 120 bar, override: 6 bar at 30 L/min}, make up: yes,
       rating: 210 bar}
  motor: {kind: hydraulic motor, displacement: 100 cc/rev, rating: 175 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  side a: {route: valve.A > it.A, hose: two-wire, size: -8, length: 1 m}
  side b: {route: valve.B > it.B, hose: two-wire, size: -8, length: 1 m}
  motor a: {route: it.motor A > motor.A, direct: yes}
  motor b: {route: it.motor B > motor.B, direct: yes}
  make up: {route: it.T > tank, hose: one-wire, size: -6, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  turning: {valve: A, loads: {motor: 80 N.m resisting}}
  stalled: {valve: A, loads: {motor: 400 N.m resisting}}
"""
    Params = CrossPortParams

    def ports(self, params: CrossPortParams) -> tuple[Port, ...]:
        own = (
            Port("A", "work", doc="side A"),
            Port("B", "work", doc="side B"),
            Port("motor A", "work", optional=True, doc="side A again, on the other face of the block"),
            Port("motor B", "work", optional=True, doc="side B again, on the other face of the block"),
        )
        return (*own, Port("T", "return", doc="make-up oil comes from here")) if params.make_up else own

    def joined(self, params: CrossPortParams) -> tuple[tuple[str, ...], ...]:
        return (("A", "motor A"), ("B", "motor B"))

    def reliefs(self, params: CrossPortParams) -> tuple[Relief, ...]:
        return tuple(Relief(f"{i} to {j}", i, limit.setting) for i, j, limit in params.pair())

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        for i, j, limit in params.pair():
            limiting.add(b, f"{i} to {j}", b.node(i), b.node(j), limit)
            if params.make_up:
                loss = full(params.make_up_drop)
                b.branch(f"make-up to {i}", b.node("T"), b.node(i), c0=params.cracking, b=loss, lo=0.0)

    def assumptions(self, part: Part) -> tuple[str, ...]:
        params = self.own(part)
        found = assumptions_of(part.name, params) if params.make_up else ()
        limits = [limit.assumed(f"relief of {part.name}.{i}") for i, _, limit in params.pair()]
        return (*found, *(text for texts in limits for text in texts))


KIND = CrossPortRelief()
