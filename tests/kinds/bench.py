"""A bench for kinds: small circuits from Python, without the circuit language, and their solution."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import yaml
from builddoc import kinds, solver
from builddoc.assemble import assemble
from builddoc.circuit import Circuit, Conduit, End, Fitting, Line, Oil, Part, State, Tie
from builddoc.results import Results

BAR, LPM = 1e5, 1 / 6e4
OIL = Oil("test", 100e-6, 11.3e-6, 870.0, 313.15)


def part(name: str, text: str) -> Part:
    """A part from the YAML of its keys, all scalars read as text, as the language does."""
    keys = yaml.load(text, Loader=yaml.BaseLoader)
    kind = kinds.find(keys.pop("kind"))
    assert kind is not None, text
    return Part(name, kind.name, kind.Params.model_validate(keys))


def end(text: str) -> End:
    """`pump.outlet`, `bank.lifter.A`, or `feed at 0.4`."""
    if " at " in text:
        line, _, at = text.partition(" at ")
        return End(line=line, at=float(at))
    name, _, port = text.partition(".")
    return End(name, port)


def line(
    name: str, route: str, bore: float = 0.0, length: float = 0.0, fittings: Sequence[Fitting] = (), rough: float = 0.0
) -> Line:
    """A line of a bore; without one a direct joint."""
    start, _, stop = route.partition(" > ")
    conduit = Conduit("bore", "line", bore, rough) if bore else None
    return Line(name, end(start), end(stop), conduit, length, tuple(fittings))


def circuit(
    parts: Mapping[str, str],
    joints: Sequence[str] = (),
    states: Mapping[str, Mapping[tuple[str, str], Any]] | None = None,
    lines: Sequence[Line] = (),
    ties: Mapping[str, tuple[str, ...]] | None = None,
    temperatures: Mapping[str, float] | None = None,
    oil: Oil = OIL,
) -> Circuit:
    """joints: routes of direct joints. states: name -> orders, already parsed."""
    every = [*(line(f"joint {n}", route) for n, route in enumerate(joints)), *lines]
    heat = temperatures or {}
    return Circuit(
        machine="bench",
        revision="A",
        date="",
        oil=oil,
        parts={name: part(name, text) for name, text in parts.items()},
        lines={one.name: one for one in every},
        states={
            name: State(name, dict(orders), heat.get(name)) for name, orders in (states or {"only": {}}).items()
        },
        ties={name: Tie(name, members) for name, members in (ties or {}).items()},
    )


def solved(*args: Any, **keys: Any) -> Results:
    made = circuit(*args, **keys)
    network = assemble(made)
    return Results(made, network, solver.solve(network))


def pump(litres: float, more: str = "") -> str:
    """A pump without losses that delivers so many L/min at 1000 rpm."""
    extra = f", {more}" if more else ", volumetric efficiency: 100 %"
    return f"{{kind: pump, displacement: {litres!r} cc/rev, speed: 1000 rpm, mechanical efficiency: 100 %{extra}}}"


def relief(bar: float, rise: str = "0 bar at 10 L/min") -> str:
    return f"{{kind: relief valve, setting: {bar!r} bar, override: {rise}}}"


def square(bar: float, litres: float) -> str:
    """An orifice with dp = bar (Q/litres)^2."""
    return f"{{kind: orifice, drop: {bar!r} bar at {litres!r} L/min}}"


def disc(millimetres: float) -> float:
    """m2"""
    return math.pi / 4 * (millimetres * 1e-3) ** 2


TANK = "{kind: reservoir, volume: 30 L}"

SUPPLY = ("tank.oil > pump.inlet", "pump.outlet > t.run a", "t.run b > rv.inlet", "rv.outlet > tank.oil")
"""Joints of a pump with a relief valve `rv` at a tee `t`; the branch of the tee is free."""
