"""Facts on cylinders that do one job side by side: every leg in every state that moves them, warm, cold and stalled.

They are solved in a batch of their own, with the coldest oil the machine is started with, against the stops, and with
the legs as long as in the other layouts that the writer wants compared.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from .. import kinds
from ..circuit import Circuit, State, Tie
from ..kinds.orders import STOP
from ..network import Actuator
from ..results import Results
from .base import Case, once

STILL = 1e-6
"""m/s; a rod slower than this stands."""
LEVEL = 1e-4
"""m; rods that differ by less are level."""
DRAWN = "as drawn"
FALLBACK_SECONDS = 0.3
"""Of processor time, for states of one layout that the first batch leaves."""


@dataclass(frozen=True, slots=True)
class Side:
    """One member. ports: port -> Pa, nan where open. flow: m3/s through its driven port. loss: Pa over the line at
    that port, nan where it is a direct joint. speed: m/s. force: N, positive outwards: at the load while it moves, of
    the oil at rest. left: m it still has to go when the first of the pair is at its stop, nan where it cannot be told.
    least: oil is shut in behind a check, so that pressure and force of the driven side are the least they can be.
    """

    part: str
    ports: Mapping[str, float]
    flow: float
    loss: float
    speed: float
    force: float
    left: float
    least: bool = False


@dataclass(frozen=True, slots=True)
class View:
    """A pair in one state. Members that nothing links start from the stop behind them.

    state: the declared one. temperature: K of the oil. cold: it is the coldest start. stalled: against its stop. port:
    the driven one. solved: False = no figures, sides is empty.
    """

    pair: Tie
    rigid: bool
    layout: str
    state: str
    temperature: float
    cold: bool
    stalled: bool
    port: str
    solved: bool
    sides: tuple[Side, ...] = ()

    @property
    def _spans(self) -> dict[str, float]:
        """Port -> Pa between the members, where it is fixed."""
        ports = set.intersection(*(set(side.ports) for side in self.sides)) if self.sides else set()
        spans = {port: _span([side.ports[port] for side in self.sides]) for port in sorted(ports)}
        return {port: span for port, span in spans.items() if not math.isnan(span)}

    @property
    def pressure_difference(self) -> float:
        """Pa, the larger of the differences between the members at one port."""
        return max(self._spans.values(), default=math.nan)

    @property
    def worst_port(self) -> str:
        """The port at which the members differ most; "" where none is fixed."""
        return max(self._spans, key=lambda port: self._spans[port], default="")

    @property
    def force_difference(self) -> float:
        return _span([side.force for side in self.sides])

    @property
    def flow_difference(self) -> float:
        return _span([side.flow for side in self.sides])


def _span(values: list[float]) -> float:
    return max(values) - min(values) if values and not any(math.isnan(v) for v in values) else math.nan


@dataclass(frozen=True, slots=True)
class _Plan:
    """A state to be solved: what it shows."""

    pair: Tie
    state: str
    direction: float
    cold: bool
    stalled: bool


def sets(circuit: Circuit) -> list[tuple[Tie, bool]]:
    """Every tie and pair, and whether it is rigid."""
    return [*((t, True) for t in circuit.ties.values()), *((t, False) for t in circuit.pairs.values())]


@once
def views(case: Case) -> tuple[View, ...]:
    """All pairs in all states that move them, as drawn and in the layouts to compare."""
    planned = dict(_plans(case))
    if not planned:
        return ()
    found: list[View] = []
    for layout, circuit in _layouts(case.circuit):
        wanted = {
            state.name: (state, plan)
            for state, plan in planned.values()
            if layout == DRAWN or (layout in plan.pair.compare and not plan.stalled)
        }
        solved = _solve(replace(circuit, states={name: state for name, (state, _) in wanted.items()}))
        for s, (_, plan) in enumerate(wanted.values()):
            found.append(_view(solved, s, plan, layout))
    return tuple(found)


def impossible(case: Case) -> list[str]:
    """Sentences on layouts that cannot be solved because of what the lines are."""
    said = []
    for pair, _ in sets(case.circuit):
        for layout, lengths in pair.compare.items():
            for name, length in lengths.items():
                why = _why_not(case.circuit, name, length)
                if why:
                    said.append(f"{pair.name}, {layout}: {why}")
    return said


def _why_not(circuit: Circuit, name: str, length: float) -> str:
    if circuit.lines[name].conduit is None:
        return f"{name} is a direct joint and has no length"
    starts = [end.at for line in circuit.lines.values() for end in (line.start, line.end) if end.line == name]
    return f"another line starts on {name} beyond {length:g} m" if max(starts, default=0.0) > length else ""


def _layouts(circuit: Circuit) -> Iterator[tuple[str, Circuit]]:
    yield DRAWN, circuit
    for pair, _ in sets(circuit):
        for layout, lengths in pair.compare.items():
            if not any(_why_not(circuit, name, length) for name, length in lengths.items()):
                changed = {name: replace(circuit.lines[name], length=length) for name, length in lengths.items()}
                yield layout, replace(circuit, lines={**circuit.lines, **changed})


def _plans(case: Case) -> Iterator[tuple[str, tuple[State, _Plan]]]:
    coldest, r = case.circuit.oil.coldest, case.results
    for pair, rigid in sets(case.circuit):
        speeds = np.array([r.speed(name, "rod") for name in pair.parts])
        for s, state in enumerate(case.circuit.states.values()):
            fastest = float(speeds[np.argmax(np.abs(np.nan_to_num(speeds[:, s]))), s])
            if state.fault or not abs(fastest) > STILL:
                continue
            stop = "extended" if fastest > 0 else "retracted"
            behind = "retracted" if fastest > 0 else "extended"
            if not rigid and any(state.orders.get((name, STOP.name)) in (stop, "held") for name in pair.parts):
                continue  # one of them has done its stroke or is kept from it: nothing to compare
            owners = (pair.name,) if rigid else pair.parts
            start = {} if rigid else {(owner, STOP.name): behind for owner in owners}
            stalled = {**state.orders, **{(owner, STOP.name): stop for owner in owners}}
            for against in (False, True):
                here = replace(state, orders=stalled if against else {**start, **state.orders})
                for cold in (False, True):
                    if cold and (coldest is None or state.oil_temperature is not None):
                        continue
                    name = " / ".join((pair.name, state.name, "stop" if against else "moving", "cold" * cold))
                    temperature = coldest if cold else state.oil_temperature
                    one = replace(here, name=name, oil_temperature=temperature)
                    yield name, (one, _Plan(pair, state.name, fastest, cold, against))


def _solve(circuit: Circuit) -> Results:
    from ..assemble import assemble
    from ..solver import solve

    network = assemble(circuit)
    # Whether there are further answers is said of the declared states.
    return Results(circuit, network, solve(network, fallback_seconds=FALLBACK_SECONDS, look_seconds=0.0))


def _view(r: Results, s: int, plan: _Plan, layout: str) -> View:
    pair = plan.pair
    port = "cap" if plan.direction > 0 else "rod"
    if any((name, port) not in r.network.port_nodes for name in pair.parts):
        port = "cap"
    view = View(
        pair, pair.name in r.circuit.ties, layout, plan.state, float(r.temperature[s]), plan.cold, plan.stalled, port,
        bool(r.solved[s]),
    )  # fmt: skip
    if not view.solved:
        return view
    speeds = [float(r.speed(name, "rod")[s]) for name in pair.parts]
    left = [math.nan] * len(speeds) if view.rigid or plan.stalled else _left(r, pair, speeds)
    each = zip(pair.parts, speeds, left, strict=True)
    return replace(view, sides=tuple(_side(r, s, name, port, v, rest) for name, v, rest in each))


def _side(r: Results, s: int, name: str, port: str, speed: float, left: float) -> Side:
    part = r.circuit.parts[name]
    kind = kinds.registry()[part.kind]
    ports = {p.name: float(r.pressure(name, p.name)[s]) for p in kind.ports(part.params) if p.name in ("cap", "rod")}
    force = float(kind.motions(part, r)["rod"].given[s])
    low = (r.pressure_range(name, port, s) or (0.0, 0.0))[0]
    least = math.isnan(ports[port]) and low > 0
    if least:
        ports[port] = low
        against = r.pressure_range(name, "rod" if port == "cap" else "cap", s) if len(ports) > 1 else None
        force = math.nan if against else _push(r, s, name, port, low)
    flow, loss = _flow(r, s, name, port), _loss(r, s, name, port)
    return Side(name, ports, flow, loss, speed, force, left, least)


def _push(r: Results, s: int, name: str, port: str, low: float) -> float:
    """N that the oil gives at least with `low` Pa at a port and what is fixed at the others; of stages the weakest."""
    driven = r.network.port_nodes[name, port]
    rods = [a for a in (*r.network.tied, *r.network.actuators) if a.part == name]
    each = [sum(k * (low if node == driven else r.p[s, node]) for node, k in a.k.items()) for a in rods]
    return float(min(each, key=abs))


def _flow(r: Results, s: int, name: str, port: str) -> float:
    """m3/s through a port, whichever way: what the piston displaces there."""
    node = r.network.port_nodes[name, port]
    own: list[Actuator] = [a for a in r.network.tied if a.part == name]
    if own:
        return abs(own[0].k.get(node, 0.0) * float(r.speed(name, "rod")[s]))
    rods = [(k, a) for k, a in enumerate(r.network.actuators) if a.part == name]
    return abs(sum(a.k.get(node, 0.0) * float(r.v[s, k]) for k, a in rods))


def _loss(r: Results, s: int, name: str, port: str) -> float:
    for line in r.circuit.lines.values():
        if line.conduit is not None and any(e.part == name and e.port == port for e in (line.start, line.end)):
            start, end = r.line_pressures(line.name)
            return abs(float(start[s] - end[s]))
    return math.nan


def _left(r: Results, pair: Tie, speeds: list[float]) -> list[float]:
    """m that each member has to go when the first one has made its stroke at these speeds."""
    strokes = [getattr(r.circuit.parts[name].params, "stroke", None) or math.nan for name in pair.parts]
    if any(math.isnan(stroke) for stroke in strokes) or not any(abs(v) > STILL for v in speeds):
        return [math.nan] * len(speeds)
    first = min(stroke / abs(v) for stroke, v in zip(strokes, speeds, strict=True) if abs(v) > STILL)
    return [max(stroke - abs(v) * first, 0.0) for stroke, v in zip(strokes, speeds, strict=True)]
