"""Directional valve: one body with one spool or a stack of several, open or closed centre."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal

import numpy as np
from pydantic import BeforeValidator, Field, model_validator

from ..circuit import Part, Rating
from ..fields import DropAtFlow, Leakage, PressureDrop, RatingField
from . import limiting, orders
from .base import THICKER, Control, Fault, Kind, Parameters, Port, Relief, SpoolOrder, assumed, assumptions_of
from .passages import at_40, full, shut, throttled
from .spools import One, Shift, Spool, read_spools, refusal

if TYPE_CHECKING:
    from ..assemble import Builder

class DirectionalValveParams(Parameters):
    centre: Literal["open", "closed"] = Field(
        description="Way of the oil from P with all levers in centre: `open` = through the body to T; `closed` "
        "= blocked."
    )
    spools: Annotated[dict[str, Spool], BeforeValidator(read_spools, json_schema_input_type=Any)] = Field(
        default_factory=dict,
        description="Names of the spools in the order in which the oil meets them, as `[lifter, clamp]`, or "
        "each with keys of its own: `{lifter: {float: yes}, clamp: {}}`. Left out: one spool, with ports A "
        "and B of the valve itself.",
    )
    feed: Literal["parallel", "series", "tandem"] = Field(
        "parallel",
        description="How several spools are fed. `parallel`: all from P. `tandem`: from the open centre, so "
        "the first one shifted has priority. `series`: what comes back from one goes on to the next.",
    )
    relief: limiting.ReliefField | None = Field(
        None, description="Built-in relief from P to T: its setting, or a group of setting, override, pilot operated."
    )
    power_beyond: bool = Field(
        False,
        description="A sleeve leads the end of the open centre to a port PB of its own, which feeds what comes after; "
        "T takes only what the spools and the relief return. Without it the centre ends in T.",
    )
    tank_port_rating: RatingField | None = Field(
        None, description="Rated pressure of the tank port T, often far below that of the valve."
    )
    drop: DropAtFlow = assumed(at_40(5.0), "Pressure drop of each path, P to port and port to T, fully shifted.")
    centre_drop: DropAtFlow = assumed(at_40(3.0), "Pressure drop of the open centre, for each spool, lever in "
    "centre.")
    load_checks: bool = Field(True, description="A check valve before each spool keeps a load from falling "
    "back to P.")
    load_check_cracking: PressureDrop = assumed(0.4e5, "Opening pressure of the load checks.")
    make_up_cracking: PressureDrop = assumed(0.2e5, "Opening pressure of the make-up checks of its spools.")
    make_up_drop: DropAtFlow = assumed(at_40(2.0), "Pressure drop of a make-up check at a flow, beyond its cracking.")
    spool_leakage: Leakage = Field(
        0.0, description="Leakage of each work port to T, as `20 mL/min at 100 bar`; left out: none, so "
        "blocked ports hold." + THICKER
    )

    @model_validator(mode="after")
    def _feed_needs_open_centre(self) -> DirectionalValveParams:
        if self.centre == "closed" and self.feed != "parallel":
            raise refusal(
                "choice", f"a closed centre cannot feed its spools in {self.feed}",
                "series and tandem feed run through the open centre: leave 'feed' out, or write 'centre: open'",
            )  # fmt: skip
        return self

    @model_validator(mode="after")
    def _sleeve_needs_open_centre(self) -> DirectionalValveParams:
        if self.centre == "closed" and self.power_beyond:
            raise refusal(
                "choice", "a closed centre has nothing to lead to a power-beyond port",
                "leave 'power beyond' out, or write 'centre: open'",
            )  # fmt: skip
        return self

    @model_validator(mode="after")
    def _relief_of_a_section_needs_a_feed_of_its_own(self) -> DirectionalValveParams:
        named = next((name for name, spool in self.spools.items() if spool.relief), "")
        if named and self.feed == "parallel":
            raise refusal(
                "choice", f"spool '{named}' has a relief of its own, but all spools are fed from P together",
                "one relief guards them all: give the valve 'relief', or write 'feed: series'",
            )  # fmt: skip
        return self

    def each(self) -> list[One]:
        """The spools in order; one without a name where none is named."""
        if not self.spools:
            return [One("", Spool.model_construct(), self.drop)]
        return [One(name, spool, spool.drop or self.drop) for name, spool in self.spools.items()]


class DirectionalValve(Kind[DirectionalValveParams]):
    name = "directional valve"
    aliases = ("directional control valve", "control valve", "spool valve")
    group = "valves"
    symbol = "directional valve"
    summary = "Hand valve, one spool or a stack: sends oil to A or B and takes it back from the other one."
    equations = (
        """
- **A path that a position opens** (P to a work port, a work port to T): `dp = drop × (Q / flow)^2 / x^2`, x = share of
  travel. Area in proportion to travel: common practice, no source.
- **A path that a position shuts** lets nothing through, but for `spool leakage`.
- **From P to a work port** a load check comes first: one way, plus its cracking pressure.
- **Open centre**: one passage for each spool, in series, each with `centre drop`; its area shrinks to nothing at full
  travel (1 - x).
- **Feed**: parallel takes from P; tandem from the centre just before the spool; series likewise, and what returns
  goes on to the next spool instead of T.
- **Float** joins A and B to T and leaves the centre open.
- **`regen`** opens P to A, joins B to A by one more path, two-way, and shuts the centre.
- **Reliefs** of work ports, and of a section (from the centre before its spool), go to T.
- **Make-up**: a check from T, `p_T - p_port = make up cracking + make up drop × (Q / flow)^2`.
- **Power beyond** ends the centre in PB instead of T; a sleeve that is `missing` joins PB and T by one more
  `centre drop`.

Its reliefs: """
        + limiting.LAW
    )
    example = (
        "{kind: directional valve, centre: open, spools: {lifter: {float: yes}, clamp: {drop: 4 bar at 30 L/min}}, "
        "feed: parallel, relief: {setting: 150 bar, override: 3 bar at 40 L/min}, rating: 210 bar, "
        "tank port rating: 25 bar}"
    )
    demo = """
parts:
  $supply
  it:
    kind: directional valve
    centre: open
    spools: {lifter: {float: yes}, clamp: {drop: 4 bar at 30 L/min}}
    feed: parallel
    rating: 210 bar
    tank port rating: 25 bar
  lift ram: {kind: cylinder, bore: 63 mm, rod: 32 mm, stroke: 600 mm, rating: 210 bar}
  clamp ram: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > it.P, direct: yes}
  lift a: {route: it.lifter.A > lift ram.cap, hose: two-wire, size: -6, length: 1 m}
  lift b: {route: it.lifter.B > lift ram.rod, hose: two-wire, size: -6, length: 1 m}
  clamp a: {route: it.clamp.A > clamp ram.cap, hose: two-wire, size: -6, length: 1 m}
  clamp b: {route: it.clamp.B > clamp ram.rod, hose: two-wire, size: -6, length: 1 m}
  home: {route: it.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  idling: {}
  lifting: {lifter: A, loads: {lift ram: 15 kN compression}}
  lifting slowly: {lifter: A 92 %, loads: {lift ram: 15 kN compression}}
  clamping: {clamp: A, loads: {clamp ram: 8 kN compression}}
  floating: {lifter: float, loads: {lift ram: 1 kN compression}}
"""
    more: ClassVar[Mapping[str, str]] = {
        "tandem feed, power beyond": """
parts:
  $supply
  it: {kind: directional valve, centre: open, spools: [first, second], feed: tandem, power beyond: yes, rating: 210 bar}
  one: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 210 bar}
  two: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 210 bar}
  next: {kind: orifice, drop: 30 bar at 18 L/min, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > it.P, direct: yes}
  one a: {route: it.first.A > one.cap, hose: two-wire, size: -6, length: 1 m}
  one b: {route: it.first.B > one.rod, hose: two-wire, size: -6, length: 1 m}
  two a: {route: it.second.A > two.cap, hose: two-wire, size: -6, length: 1 m}
  two b: {route: it.second.B > two.rod, hose: two-wire, size: -6, length: 1 m}
  beyond: {route: it.PB > next.A, hose: two-wire, size: -8, length: 1 m}
  next home: {route: next.B > tank, hose: one-wire, size: -8, length: 1 m}
  home: {route: it.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  oil goes beyond: {}
  second works: {second: A, loads: {two: 10 kN compression}}
  both, the first has it all: {first: A, second: A, loads: {one: 10 kN compression, two: 2 kN compression}}
  sleeve forgotten: {it.sleeve: missing}
""",
        "series feed": """
parts:
  $supply
  it: {kind: directional valve, centre: open, spools: [first, second], feed: series, rating: 210 bar}
  one: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 210 bar}
  two: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > it.P, direct: yes}
  one a: {route: it.first.A > one.cap, hose: two-wire, size: -6, length: 1 m}
  one b: {route: it.first.B > one.rod, hose: two-wire, size: -6, length: 1 m}
  two a: {route: it.second.A > two.cap, hose: two-wire, size: -6, length: 1 m}
  two b: {route: it.second.B > two.rod, hose: two-wire, size: -6, length: 1 m}
  home: {route: it.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  first works: {first: A, loads: {one: 8 kN compression}}
  both, pressures add up: {first: A, second: A, loads: {one: 8 kN compression, two: 8 kN compression}}
  both, too much: {first: A, second: A, loads: {one: 20 kN compression, two: 20 kN compression}}
""",
        "regenerative position": """
parts:
  $supply
  it: {kind: directional valve, centre: open, spools: {split: {regen: yes}}, rating: 210 bar}
  ram: {kind: cylinder, bore: 80 mm, rod: 56 mm, stroke: 500 mm, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > it.P, direct: yes}
  a: {route: it.split.A > ram.cap, hose: two-wire, size: -8, length: 1 m}
  b: {route: it.split.B > ram.rod, hose: two-wire, size: -8, length: 1 m}
  home: {route: it.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  out, slow and strong: {split: A, loads: {ram: 8 kN compression}}
  out, fast and weak: {split: regen, loads: {ram: 8 kN compression}}
  back: {split: B}
""",
        "guarded ports, motor spool": """
parts:
  $supply
  it: {kind: directional valve, centre: open, rating: 210 bar,
       spools: {arm: {port reliefs: {A: {setting: 120 bar, override: 6 bar at 20 L/min}}, make up: yes},
                winch: {ports in centre: to tank}}}
  ram: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 210 bar}
  drum: {kind: hydraulic motor, displacement: 100 cc/rev, rating: 175 bar}
lines:
  $feed
  to valve: {route: block.branch > it.P, direct: yes}
  arm a: {route: it.arm.A > ram.cap, hose: two-wire, size: -6, length: 1 m}
  arm b: {route: it.arm.B > ram.rod, hose: two-wire, size: -6, length: 1 m}
  winch a: {route: it.winch.A > drum.A, hose: two-wire, size: -6, length: 1 m}
  winch b: {route: it.winch.B > drum.B, hose: two-wire, size: -6, length: 1 m}
  home: {route: it.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  winding: {winch: A, loads: {drum: 40 N.m resisting}}
  arm held: {loads: {ram: 20 kN compression}}
  arm pushed from outside: {loads: {ram: 25 kN compression}}
""",
        "closed centre": """
parts:
  $supply
  it: {kind: directional valve, centre: closed, rating: 210 bar}
  ram: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > it.P, direct: yes}
  a: {route: it.A > ram.cap, hose: two-wire, size: -6, length: 1 m}
  b: {route: it.B > ram.rod, hose: two-wire, size: -6, length: 1 m}
  home: {route: it.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  all over the relief: {}
  out: {it: A, loads: {ram: 10 kN compression}}
  out slowly: {it: A 5 %, loads: {ram: 10 kN compression}}
""",
    }
    Params = DirectionalValveParams

    def ports(self, params: DirectionalValveParams) -> tuple[Port, ...]:
        work = [
            Port(one.port(letter), "work", doc=f"work port {letter}" + (f" of {one.name}" if one.name else ""))
            for one in params.each()
            for letter in "AB"
        ]
        sleeve = (Port("PB", "pressure", doc="power beyond: to the next valve"),) if params.power_beyond else ()
        return (Port("P", "pressure", doc="from the pump"), Port("T", "return", doc="to the reservoir"), *sleeve, *work)

    def controls(self, params: DirectionalValveParams) -> tuple[Control, ...]:
        sleeve = Control(
            "sleeve", orders.sleeve, "fitted", "`fitted`, or `missing`: the power-beyond port and T are one",
            faults=(Fault("sleeve forgotten", "missing", "forgotten sleeves"),),
        )  # fmt: skip
        levers = tuple(
            Control(
                one.control,
                orders.spool_position(one.keys.float, one.keys.regen),
                SpoolOrder(),
                "`A` or `B` (the port that gets pressure), `centre`" + (", `float`" if one.keys.float else "")
                + (", `regen`" if one.keys.regen else "")
                + "; `A 40 %` = shifted in part",
                lever=True,
            )
            for one in params.each()
        )  # fmt: skip
        return (*levers, sleeve) if params.power_beyond else levers

    def port_ratings(self, params: DirectionalValveParams) -> Mapping[str, Rating | None]:
        return {
            port.name: params.tank_port_rating if port.name == "T" else params.rating for port in self.ports(params)
        }

    def reliefs(self, params: DirectionalValveParams) -> tuple[Relief, ...]:
        found = [Relief("relief", "P", params.relief.setting, "the inlet relief")] if params.relief else []
        for one in params.each():
            if one.keys.relief:
                label = f"the relief of section {one.name}"
                found.append(Relief(one.role("relief"), one.port("A"), one.keys.relief.setting, label))
            for letter, limit in one.keys.port_reliefs.items():
                found.append(Relief(one.role(f"relief of {letter}"), one.port(letter), limit.setting))
        return tuple(found)

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        P, T = b.node("P"), b.node("T")
        if params.relief:
            limiting.add(b, "relief", P, T, params.relief)
        spools = params.each()
        shifts = [Shift.of(b.orders(one.control)) for one in spools]
        # Nodes of the open centre before, between and behind the spools. The last spool returns to T in any feed: the
        # sleeve takes the centre only.
        end = b.node("PB") if params.power_beyond else T
        gallery = [P, *(b.inner(f"centre behind {one.name}") for one in spools[:-1]), end]
        for n, (one, shift) in enumerate(zip(spools, shifts, strict=True)):
            before, behind = gallery[n], gallery[n + 1]
            if params.centre == "open":
                left = 1.0 - shift.x
                b.branch(one.role("centre"), before, behind, b=throttled(params.centre_drop, left), shut=shut(left))
            if one.keys.relief:
                limiting.add(b, one.role("relief"), before, T, one.keys.relief)
            feed = P if params.feed == "parallel" else before
            back = behind if params.feed == "series" and n < len(spools) - 1 else T
            self._paths(one, shift, params, b, feed, back)
            self._guards(one, params, b)
        if params.power_beyond:
            fitted = np.array([order == "fitted" for order in b.orders("sleeve")])
            b.branch("without sleeve", end, T, b=full(params.centre_drop), shut=fitted)

    def _paths(
        self, one: One, shift: Shift, params: DirectionalValveParams, b: Builder, feed: int, back: int
    ) -> None:
        """P to A, P to B, A back, B back, and what float, centre and leakage add."""
        T = b.node("T")
        loss = throttled(one.drop, np.where(shift.x > 0, shift.x, 1.0))
        lo, cracking = (0.0, params.load_check_cracking) if params.load_checks else (-np.inf, 0.0)
        for letter, gets, gives in (("A", shift.a | shift.regen, shift.b), ("B", shift.b, shift.a)):
            to_tank = shift.to_tank(one.keys, letter)
            port = b.node(one.port(letter))
            b.branch(one.role(f"P to {letter}"), feed, port, b=loss, c0=cracking, lo=lo, shut=~gets)
            if back == T:
                b.branch(one.role(f"{letter} to T"), port, T, b=loss, shut=~(gives | to_tank))
            else:
                b.branch(one.role(f"{letter} onward"), port, back, b=loss, shut=~gives)
                if to_tank.any():
                    b.branch(one.role(f"{letter} to T"), port, T, b=loss, shut=~to_tank)
            if params.spool_leakage > 0:
                b.branch(one.role(f"leakage of {letter}"), port, T, a=1.0 / params.spool_leakage, leak=True)

        if one.keys.regen:
            b.branch(one.role("B to A"), b.node(one.port("B")), b.node(one.port("A")), b=loss, shut=~shift.regen)

    def _guards(self, one: One, params: DirectionalValveParams, b: Builder) -> None:
        """Port reliefs and make-up checks."""
        T = b.node("T")
        for letter, limit in one.keys.port_reliefs.items():
            limiting.add(b, one.role(f"relief of {letter}"), b.node(one.port(letter)), T, limit)
        if one.keys.make_up:
            for side in "AB":
                b.branch(
                    one.role(f"make-up to {side}"), T, b.node(one.port(side)),
                    c0=params.make_up_cracking, b=full(params.make_up_drop), lo=0.0,
                )  # fmt: skip

    def assumptions(self, part: Part) -> tuple[str, ...]:
        params = self.own(part)
        found = [text for text in assumptions_of(part.name, params) if self._in_use(text, part.name, params)]
        if params.relief:
            found += params.relief.assumed(f"relief of {part.name}")
        for one in params.each():
            owner = f"{part.name}.{one.name}" if one.name else part.name
            if one.keys.relief:
                found += one.keys.relief.assumed(f"relief of {owner}")
            for letter, limit in one.keys.port_reliefs.items():
                found += limit.assumed(f"relief of {owner}.{letter}")
        return tuple(found)

    def _in_use(self, text: str, owner: str, params: DirectionalValveParams) -> bool:
        if text.startswith(f"{owner}: centre drop"):
            return params.centre == "open"
        if text.startswith(f"{owner}: load check cracking"):
            return params.load_checks
        if text.startswith(f"{owner}: make up"):
            return any(one.keys.make_up for one in params.each())
        if text.startswith(f"{owner}: drop"):
            return any(one.keys.drop is None for one in params.each())
        return True


KIND = DirectionalValve()
