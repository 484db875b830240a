"""Where power goes in each state: shaft power, work, heat over reliefs, and what the heat does to the oil."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from .. import kinds
from ..circuit import Circuit
from ..kinds.base import BY_HAND, HeatSink
from ..network import Array, Bools
from ..physics import heat as laws
from . import walk
from .base import Case, Finding, Signal, once, rule
from .declared import staying
from .loads import STANDS
from .words import Units, listed, minutes, percent, quoted

START = 293.15  # K; the oil's temperature from which minutes are counted
SOON = 300.0  # s
NEGLIGIBLE = 10.0  # W over all reliefs


@dataclass(frozen=True, slots=True)
class Demand:
    """Shaft power (W) and torque (N m) that one driver has to give, and what it can give for as long as it `lasts`,
    per state (S,). supply None: the driver is not in the circuit or says nothing."""

    driver: str
    pumps: tuple[str, ...]
    power: Array
    torque: Array
    supply: Array | None


def demands(case: Case) -> list[Demand]:
    """One demand per driver; pumps without a named driver share the name ""."""
    r, registry = case.results, kinds.registry()
    power: dict[str, Array] = {}
    torque: dict[str, Array] = {}
    pumps: dict[str, list[str]] = {}
    for part in case.circuit.parts.values():
        asked = registry[part.kind].shaft_demand(part, r)
        if asked is None:
            continue
        zero = np.zeros(r.size)
        power[asked.driver] = power.get(asked.driver, zero) + np.where(r.solved, asked.power, np.nan)
        torque[asked.driver] = torque.get(asked.driver, zero) + np.where(r.solved, asked.torque, np.nan)
        pumps.setdefault(asked.driver, []).append(part.name)
    return [Demand(d, tuple(pumps[d]), power[d], torque[d], supply_of(case, d)) for d in power]


def supply_of(case: Case, driver: str) -> Array | None:
    """W that a driver can give at its speed in each state, for as long as it `lasts`; None if it is not in the
    circuit."""
    part = case.circuit.parts.get(driver)
    if part is None:
        return None
    kind = kinds.registry()[part.kind]
    nominal = kind.nominal_speed(part.params)
    if nominal is None:
        return None
    given = kind.shaft_supply(part, nominal * case.results.speed_ratio(driver))
    return None if given is None else np.asarray(given, dtype=float)


def lasts(case: Case, driver: str) -> str:
    """How long a driver of the circuit gives what `supply_of` says, in words."""
    return kinds.registry()[case.circuit.parts[driver].kind].lasts


def work(case: Case) -> Array:
    """W given to loads, (S,); negative where loads drive."""
    return case.results.output_power()


def into_oil(case: Case) -> Array:
    """W that end up as heat, (S,): shaft power of all pumps less the work given to loads. All losses of pumps and
    motors count as heat in the oil, a little more than is true."""
    total = np.zeros(case.results.size)
    for demand in demands(case):
        total = total + demand.power
    return total - work(case)


def over_reliefs(case: Case) -> Array:
    """W over all reliefs, (S,)."""
    total = np.where(case.results.solved, 0.0, np.nan)
    for item in walk.limiters(case.circuit, case.network):
        total = total + item.power(case.results)
    return total


def sink(circuit: Circuit) -> HeatSink:
    """All that stores or gives off heat, added up."""
    volume = conductance = extra = 0.0
    basis: list[str] = []
    for part in circuit.parts.values():
        one = kinds.registry()[part.kind].heat_sink(part)
        if one is not None:
            volume, conductance, extra = (
                volume + one.oil_volume, conductance + one.conductance, extra + one.extra_heat_capacity
            )  # fmt: skip
            basis += one.basis
    return HeatSink(volume, conductance, extra, tuple(basis))


@dataclass(frozen=True, slots=True)
class Warming:
    """What a heat flow does to the oil. rate: K/s at the start. uncooled, cooled: s from 20 degC to the limit (inf =
    never, nan = no heat). settled: K, temperature reached in the end with what the reservoir gives off (inf = nothing
    is given off)."""

    rate: float
    uncooled: float
    cooled: float
    settled: float


def warming(circuit: Circuit, heat: float) -> Warming | None:
    """None without an oil volume."""
    s, oil = sink(circuit), circuit.oil
    if s.oil_volume <= 0:
        return None
    c = laws.capacity(s.oil_volume, oil.density, oil.specific_heat) + s.extra_heat_capacity
    return Warming(
        heat / c,
        float(laws.time_to(oil.limit, START, heat, 0.0, circuit.ambient, c)),
        float(laws.time_to(oil.limit, START, heat, s.conductance, circuit.ambient, c)),
        float(laws.steady_temperature(heat, s.conductance, circuit.ambient)),
    )


@once
def warmings(case: Case) -> list[tuple[float, Warming | None]]:
    """Per state: all heat into the oil (W; nan where unsolved, or where oil flows at a pressure that the state leaves
    open) and what it does if the state lasts.

    The one basis of every time that is printed: finding, key figure and table."""
    found: list[tuple[float, Warming | None]] = []
    for watts in into_oil(case):
        known = math.isfinite(watts)
        found.append((float(watts), warming(case.circuit, max(float(watts), 0.0)) if known else None))
    return found


def one_stroke(case: Case) -> Bools:
    """(S,) states in which a load drives a rod: they end with its stroke, and come again only when it was lifted."""
    driven = np.zeros(case.results.size, dtype=bool)
    for k, a in enumerate(case.network.actuators):
        if a.role == "rod":
            v = np.nan_to_num(case.results.v[:, k])
            driven |= (np.abs(v) > STANDS) & (v * a.force < 0)
    return driven


@rule(
    id="relief-heat",
    title="Heat over a relief is named, and how long the oil bears it",
    signal="CAUTION",
    reason="Flow over a relief turns all its power into heat: hot surfaces, thin oil, aged hoses, in minutes.",
    criterion="time from 20 degC to the oil's limit with all heat into the oil in that state (all losses, the reliefs' "
    "among them) and no cooling, states left out that end because a load drives a rod to its stop; under 5 minutes, or "
    "with a lever that stays where it is put, CAUTION, longer NOTICE",
    remedy="Unload the pump instead, and limit the time at the stop.",
    source="heat balance: elementary physics. Limit 82 degC: a trade author on oil temperature (seen as an excerpt)",
)
def relief_heat(case: Case) -> Iterable[Finding]:
    id, u, r = "relief-heat", Units(case.circuit), case.results
    reliefs = walk.limiters(case.circuit, case.network)
    if not reliefs:
        yield Finding(id, "does not apply", "CAUTION", "", "No relief in this circuit")
        return
    heat = over_reliefs(case)
    lasting = np.where(one_stroke(case), np.nan, heat)
    worst = r.worst(heat if np.isnan(lasting).all() else lasting)
    if worst is None:
        yield Finding(id, "not checked", "CAUTION", "", "Heat over reliefs: no state has figures",
                      missing="a state with figures")  # fmt: skip
        return
    if worst.value < NEGLIGIBLE:
        yield Finding(id, "ok", "CAUTION", "", "No relief passes oil in any state", figures={"heat": worst.value})
        return
    over = listed(item.label for item in reliefs if item.power(r)[worst.index] > NEGLIGIBLE / 10)
    figures = {"heat": worst.value}
    others = [s for s, h in zip(r.states, heat, strict=True) if s != worst.state and h >= 0.5 * worst.value]
    also = f" So it is in {quoted(others)}." if others else ""
    total, warm = warmings(case)[worst.index]
    all_known = math.isfinite(total)
    if not all_known:
        total, warm = worst.value, warming(case.circuit, worst.value)
    limit = u.show(case.circuit.oil.limit, "temperature")
    if warm is None:
        yield Finding(
            id, "not checked", "CAUTION", "",
            f"{u.both(worst.value, 'power')} of heat over {over}: how fast the oil warms is open",
            missing="the volume of oil in the reservoir", state=worst.state, figures=figures,
        )  # fmt: skip
        return
    figures |= {"all heat": total, "rate": warm.rate, "time": warm.uncooled, "time with cooling": warm.cooled}
    start = u.show(START, "temperature")
    if math.isinf(warm.cooled):
        cooled = f"with what the reservoir gives off it settles below, at {u.show(warm.settled, 'temperature')}"
    elif minutes(warm.cooled) == minutes(warm.uncooled):
        cooled = "what the reservoir gives off hardly changes that"
    else:
        cooled = f"with what the reservoir gives off, {minutes(warm.cooled)}"
    rate = u.show(warm.rate * 60, "temperature difference")
    stays = staying(case, worst.state)
    if all_known:
        part = f"{percent(worst.value / total)} of it over {over}"
        cause, losses = "with all losses", f"All losses of this state put {u.both(total, 'power')} into the oil, {part}"
    else:
        cause, losses = "by that alone", "What else becomes heat in this state is open: it may be faster"
    signal: Signal = "CAUTION" if warm.uncooled < SOON or stays else "NOTICE"
    lasts = f" The lever of {listed(stays)} stays where it is put, with nobody there." if stays else ""
    yield Finding(
        id, "finding", signal, reliefs[0].part,
        f"{u.both(worst.value, 'power')} of heat over {over}: {cause} the oil warms {rate} per minute and "
        f"passes {limit} after {minutes(warm.uncooled)}",
        text=f"{losses}. From {start} it takes {minutes(warm.uncooled)} without cooling; {cooled}. Hot oil is thin, "
        f"hot metal burns.{lasts}{also}",
        remedy=f"Do not stay in this state longer than {minutes(warm.uncooled / 2)}; unload the pump instead.",
        state=worst.state, figures=figures, place=case.circuit.states[worst.state].place,
    )  # fmt: skip


@rule(
    id="power-engine",
    title="The driver can give what the pumps ask",
    signal="NOTICE",
    reason="The engine stalls, with a load half up.",
    criterion="shaft power of all pumps on a driver <= the power it gives for hours (a battery motor: for its on-time) "
    "at its speed, in every state",
    remedy="Lower the relief, take a smaller pump or a two-stage pump, or a stronger engine.",
    source="about 85 % of the rated power for hours: a trade-journal article (seen as an excerpt); P = dp D n over the "
    "mechanical efficiency: elementary",
)
def power_engine(case: Case) -> Iterable[Finding]:
    id, u, r = "power-engine", Units(case.circuit), case.results
    asked = demands(case)
    for demand in asked:
        who = listed(demand.pumps)
        if demand.driver == BY_HAND:
            yield Finding(id, "does not apply", "NOTICE", who, f"{who}: worked by hand")
            continue
        worst = r.worst(demand.power)
        name = demand.driver or who
        if worst is None:
            yield Finding(id, "not checked", "NOTICE", name, f"{name}: no state gives a shaft power",
                          missing="a state with figures")  # fmt: skip
            continue
        if demand.supply is None:
            yield Finding(
                id, "not checked", "NOTICE", name,
                f"{who} asks for up to {u.both(worst.value, 'power')}, in '{worst.state}': nobody stated what "
                "drives it",
                missing="an engine or electric motor, named under 'driven by'", state=worst.state,
                figures={"power": worst.value}, place=case.circuit.parts[demand.pumps[0]].place,
            )  # fmt: skip
            continue
        share = demand.power / np.maximum(demand.supply, 1e-9)
        most = r.worst(share)
        assert most is not None
        power, supply = float(demand.power[most.index]), float(demand.supply[most.index])
        figures = {"power": power, "supply": supply, "ratio": most.value, "torque": float(demand.torque[most.index])}
        if most.value > 1:
            yield Finding(
                id, "finding", "NOTICE", name,
                f"{demand.driver} would have to give {u.both(power, 'power')}, it gives "
                f"{u.both(supply, 'power')} {lasts(case, demand.driver)}: {percent(most.value)}",
                text="It slows down or stalls, perhaps with a load half up. What else it drives comes on top.",
                remedy="Lower the relief, take a smaller or a two-stage pump, or a stronger engine.",
                state=most.state, figures=figures, place=case.circuit.parts[demand.driver].place,
            )  # fmt: skip
        else:
            yield Finding(
                id, "ok", "NOTICE", name,
                f"{demand.driver} gives {u.power(power)} of {u.power(supply)}, in '{most.state}'",
                text="What else it drives comes on top.", state=most.state, figures=figures,
            )  # fmt: skip
        if not r.solved.all():
            lost = [n for n, ok in zip(r.states, r.solved, strict=True) if not ok]
            yield Finding(id, "not checked", "NOTICE", name, f"Power that {name} has to give in {quoted(lost)}",
                          missing=f"a solution of {quoted(lost)}")  # fmt: skip
    if not asked:
        yield Finding(id, "does not apply", "NOTICE", "", "No pump in this circuit")
