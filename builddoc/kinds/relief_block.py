"""Relief block: several reliefs, each with an inlet of its own, into one outlet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from ..circuit import Part, Rating
from ..fields import RatingField
from . import limiting
from .base import Kind, Parameters, Port, Relief

if TYPE_CHECKING:
    from ..assemble import Builder

OUTLET = "outlet"


class ReliefBlockParams(Parameters):
    inlets: dict[str, limiting.ReliefField] = Field(
        min_length=1, description="Each inlet and its relief, as `{lifter: 180 bar, clamp: {setting: 120 bar}}`."
    )
    outlet_rating: RatingField | None = Field(
        None, description="Rated pressure of the outlet. Left out: the rating of the part."
    )

    @model_validator(mode="after")
    def _names(self) -> ReliefBlockParams:
        for name in self.inlets:
            if not name.strip() or set(name) & set(".>") or name.lower() in (OUTLET, "t"):
                raise PydanticCustomError(
                    "name-form", "{text}",
                    {"text": f"an inlet cannot be named '{name}'", "hint": "no '.', no '>', and not 'outlet' or 'T'"},
                )  # fmt: skip
        return self


class ReliefBlock(Kind[ReliefBlockParams]):
    name = "relief block"
    aliases = ("multi-port relief block",)
    group = "valves"
    symbol = "relief block"
    summary = "Several reliefs in one block: inlets kept apart, each with its setting, one outlet for all."
    equations = limiting.LAW + " Every inlet has a relief of its own to the common outlet: pressure there adds to all."
    example = (
        "{kind: relief block, inlets: {lifter: {setting: 180 bar, override: 5 bar at 30 L/min}, clamp: 120 bar}, "
        "rating: 250 bar}"
    )
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, spools: [lifter, clamp], rating: 250 bar}
  it: {kind: relief block, inlets: {lifter: {setting: 130 bar, override: 5 bar at 30 L/min}, clamp: 80 bar},
       rating: 250 bar}
  fork a: {kind: tee, rating: 250 bar}
  fork b: {kind: tee, rating: 250 bar}
  lift ram: {kind: single-acting cylinder, bore: 50 mm, stroke: 400 mm, rating: 210 bar}
  clamp ram: {kind: single-acting cylinder, bore: 50 mm, stroke: 400 mm, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  lift: {route: valve.lifter.A > fork a.run a, hose: two-wire, size: -6, length: 1 m}
  to lift: {route: fork a.run b > lift ram.cap, direct: yes}
  guard lift: {route: fork a.branch > it.lifter, direct: yes}
  clamp: {route: valve.clamp.A > fork b.run a, hose: two-wire, size: -6, length: 1 m}
  to clamp: {route: fork b.run b > clamp ram.cap, direct: yes}
  guard clamp: {route: fork b.branch > it.clamp, direct: yes}
  over: {route: it.outlet > tank, hose: one-wire, size: -8, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
plugged: [valve.lifter.B, valve.clamp.B]
states:
  lift at its stop: {lifter: A, at stop: {lift ram: extended}}
  clamped: {clamp: A, at stop: {clamp ram: extended}}
"""
    Params = ReliefBlockParams

    def ports(self, params: ReliefBlockParams) -> tuple[Port, ...]:
        inlets = (Port(name, "work", doc=f"inlet of the relief of {name}") for name in params.inlets)
        return (*inlets, Port(OUTLET, "return", ("T",), doc="common outlet, to the reservoir"))

    def port_ratings(self, params: ReliefBlockParams) -> Mapping[str, Rating | None]:
        return {**dict.fromkeys(params.inlets, params.rating), OUTLET: params.outlet_rating or params.rating}

    def reliefs(self, params: ReliefBlockParams) -> tuple[Relief, ...]:
        return tuple(Relief(f"relief of {name}", name, limit.setting) for name, limit in params.inlets.items())

    def expand(self, part: Part, b: Builder) -> None:
        for name, limit in self.own(part).inlets.items():
            limiting.add(b, f"relief of {name}", b.node(name), b.node(OUTLET), limit)

    def assumptions(self, part: Part) -> tuple[str, ...]:
        limits = self.own(part).inlets.items()
        return tuple(text for name, limit in limits for text in limit.assumed(f"relief of {part.name}.{name}"))


KIND = ReliefBlock()
