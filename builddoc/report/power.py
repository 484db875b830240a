"""Tables of power and heat: what the driver gives, what becomes work, what heats the oil and where."""

from __future__ import annotations

import math

import numpy as np

from .. import kinds
from ..checks import heat, walk
from ..checks.base import Case
from ..checks.words import Units
from ..network import Array
from .cells import DASH, Scale, share, text_column, words
from .model import Cell, Column, Table

LONGEST = 86400.0  # s; a longer time is printed as a word
OPEN = "rests on a pressure that the state leaves open"
LEAST = 0.5  # W; a row below it in every state is left out


def heat_table(case: Case) -> Table:
    """Per state: shaft power, share of the driver, work given to loads, heat into the oil, part of it over reliefs,
    warming per minute, time from 20 degC to the limit with and without the reservoir's own cooling, temperature in the
    end."""
    r, u, circuit = case.results, Units(case.circuit), case.circuit
    asked = heat.demands(case)
    total = sum((d.power for d in asked), np.zeros(r.size))
    warmings = heat.warmings(case)
    work, relief = heat.work(case), heat.over_reliefs(case)
    into, warm = np.array([watts for watts, _ in warmings]), [w for _, w in warmings]
    power = Scale(u, "power", [float(abs(x)) for x in (*total, *work, *into, *relief)])
    rate = Scale(u, "temperature difference", [w.rate * 60 for w in warm if w])
    time = Scale(u, "time", [t for w in warm if w for t in (w.uncooled, w.cooled) if t < LONGEST], by_smallest=True)
    end = Scale(u, "temperature", [w.settled for w in warm if w and math.isfinite(w.settled)])
    rows = []
    for s, state in enumerate(r.states):
        if not r.solved[s]:
            rows.append((words(state), *(words(DASH, flag="failed"),) * 9))
            continue
        w = warm[s]
        rows.append(
            (
                words(state),
                power.cell(float(total[s])),
                _load(asked, s),
                power.cell(float(work[s]), second=False),
                power.cell(float(into[s]), OPEN if math.isnan(into[s]) else ""),
                power.cell(float(relief[s]), second=False),
                rate.cell(w.rate * 60 if w else math.nan),
                _until(time, w.uncooled if w else math.nan),
                _until(time, w.cooled if w else math.nan),
                words(DASH, OPEN, flag="not-checked") if math.isnan(into[s]) else _settles(end, w, circuit.oil.limit),
            )
        )
    limit, start = u.show(circuit.oil.limit, "temperature"), u.show(heat.START, "temperature")
    columns = (
        text_column("State"), power.column("Shaft power"), text_column("Share of driver"),
        power.column("Given to loads"), power.column("Heat into the oil"), power.column("Over reliefs"),
        Column("Warming", f"{rate.unit}/min"), time.column(f"To {limit}, no cooling"),
        time.column(f"To {limit}, cooled"), end.column("Settles at"),
    )  # fmt: skip
    caption = (
        f"If the state lasted: times count from {start} with all heat into the oil going on, not that over reliefs "
        "alone. Losses of pumps and motors count as heat in the oil. Cooled = with what the reservoir and coolers "
        "give off"
    )
    return Table("heat", "Heat and power", caption, columns, tuple(rows))


def _load(asked: list[heat.Demand], s: int) -> Cell:
    shares = [float(d.power[s] / d.supply[s]) for d in asked if d.supply is not None and d.supply[s] > 0]
    if not shares and asked and all(d.supply is not None for d in asked):
        return words("stands")
    if not shares:
        return words(DASH, "no driver stated", flag="not-checked")
    if any(math.isnan(x) for x in shares):  # of several drivers the one that is not known may be the one that matters
        return words(DASH, OPEN, flag="not-checked")
    return share(max(shares))


def _until(time: Scale, seconds: float) -> Cell:
    if math.isnan(seconds):
        return words(DASH, flag="failed")
    if math.isinf(seconds) or seconds >= LONGEST:
        return words("never" if math.isinf(seconds) else "over a day")
    if time.unit == "min":  # a limit: rounded down, as findings print it
        seconds = 6 * math.floor(seconds / 6 + 1e-9)
    return time.cell(seconds, second=False)


def _settles(end: Scale, w: heat.Warming | None, limit: float) -> Cell:
    if w is None:
        return words(DASH, "no oil volume stated", flag="not-checked")
    if math.isinf(w.settled):
        return words("keeps rising", "no cooling stated", flag="not-checked")
    return words(f"above {end.text(limit)}", flag="over") if w.settled > limit else end.cell(w.settled)


def losses(case: Case) -> dict[str, Array]:
    """Heat (W, (S,)) by the part or line in which it arises; together it is `heat.into_oil`."""
    r, net = case.results, case.network
    found: dict[str, Array] = {}
    for name in (*case.circuit.parts, *case.circuit.lines):
        found[name] = np.where(r.solved, r.dissipation(name), np.nan)
    for name in dict.fromkeys(pump.part for pump in walk.pumps(net)):
        part = case.circuit.parts[name]
        asked = kinds.registry()[part.kind].shaft_demand(part, r)
        if asked is not None:
            ids = [k for k, s in enumerate(net.sources) if s.part == name]
            given = sum((r.p[:, net.sources[k].node] * r.source_q[:, k] for k in ids), np.zeros(r.size))
            found[name] = found[name] + asked.power - given
    for k, a in enumerate(net.actuators):  # of one part there may be several: stages
        taken = sum((c * r.p[:, node] for node, c in a.k.items()), np.zeros(r.size)) * r.v[:, k]
        found[_first(case, a.part)] += np.where(r.solved, taken, np.nan)
    for name in dict.fromkeys(a.part for a in net.actuators):
        for member in _members(case, name):
            part = case.circuit.parts[member]
            for motion in kinds.registry()[part.kind].motions(part, r).values():
                if motion.output is not None:
                    found[_first(case, name)] -= motion.output
    return found


def _members(case: Case, actuator: str) -> tuple[str, ...]:
    """The parts that move as one; the first of them stands for what they lose."""
    tie = case.circuit.ties.get(actuator)
    return tie.parts if tie else (actuator,)


def _first(case: Case, actuator: str) -> str:
    return _members(case, actuator)[0]


def losses_table(case: Case) -> Table | None:
    """Where the heat arises, one column per state; None if there is none."""
    u, found = Units(case.circuit), losses(case)
    kept = {n: w for n, w in found.items() if np.nanmax(np.abs(np.where(np.isnan(w), 0.0, w))) >= LEAST}
    if not kept:
        return None
    power = Scale(u, "power", [float(x) for w in kept.values() for x in w])
    order = sorted(kept, key=lambda n: -float(np.nanmax(kept[n])))
    rows = []
    for n in order:
        cells = (
            power.cell(float(x), second=False) if ok else words(DASH, flag="failed")
            for x, ok in zip(kept[n], case.results.solved, strict=True)
        )
        rows.append((words(n, subject=n), *cells))
    columns = (text_column("Part or line"), *(power.column(state) for state in case.results.states))
    caption = "Pressure lost in passages, and the losses of pumps, cylinders and motors"
    return Table("heat-parts", "Where the heat arises", caption, columns, tuple(rows))
