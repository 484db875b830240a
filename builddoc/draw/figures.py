"""What a drawing says at each part and line, in every state: short rows of text in display units, and the facts behind
their style. No figure of a state that is not solved; of a pressure that the steady state does not fix the least it can
be."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import nan
from typing import Any

import numpy as np

from .. import kinds
from ..circuit import Circuit, Line, Part
from ..kinds import orders
from ..kinds.base import Control, SpoolOrder
from ..quantities import show
from ..results import Results
from ..solution import Verdict
from .graph import Picture, joined_directly

IDLE_SHARE = 1e-4  # of the largest flow in the state: less is drawn as no flow
PRESSURE_BOUND = 1e8  # Pa, above which the solver does not look (solver.limits)
UNKNOWN = 2  # sense of a flow that the data do not fix
WORTH_SAYING = 0.1  # least share that is printed at the line nearest its limit
NOTABLE = 0.75  # share of rating from which the figure is printed at the line
LEAST = 1e5  # Pa; a pressure that is not fixed is printed as at least this or more; ours
STEPS = (0.25, 0.5, 0.75, 0.9)  # borders of the ramp's classes u0..u4; above 1 the class is "over"

AT_LEAST = "≥ "

WHY_NOT = {
    Verdict.UNBOUNDED: "in this state the pump flow has no way out",
    Verdict.OVER_LIMIT: "in this state the flow could get out only at a pressure beyond all bounds",
    Verdict.RUNAWAY: "in this state a load drives an actuator without limit",
    Verdict.NOT_CONVERGED: "the calculation of this state did not close",
    Verdict.SPLIT_OPEN: "the data do not fix how the flow divides in this state",
}


@dataclass(slots=True)
class LineFigures:
    """Per state. sense: +1, 0, -1 or UNKNOWN for each run. rows: text rows of the label of each run (empty: it has
    none). step: class of the share of rating, "" = not rated or no figure. note: sentence for tooltip and words."""

    direct: bool
    sense: list[tuple[int, ...]] = field(default_factory=list)
    rows: list[list[tuple[str, ...]]] = field(default_factory=list)
    step: list[str] = field(default_factory=list)
    note: list[str] = field(default_factory=list)
    blocked: list[bool] = field(default_factory=list)


@dataclass(slots=True)
class Figures:
    """parts: name -> rows per state. lines: name -> figures. failures: per state, "" = solved."""

    parts: dict[str, list[tuple[str, ...]]]
    lines: dict[str, LineFigures]
    failures: list[str]


def figures(circuit: Circuit, results: Results, picture: Picture, system: str) -> Figures:
    """All text of all states. system: "metric" or "US"."""
    return _Writer(circuit, results, picture, system).result()


def failure(results: Results, s: int) -> str:
    """Why a state has no figures, as the tail of a sentence; "" if it is solved."""
    return WHY_NOT.get(results.solution.states[s].verdict, "")


@dataclass(frozen=True, slots=True)
class Weakest:
    """Lowest stated working rating along a line. value: Pa. member: what carries it. whole: every member is rated."""

    value: float
    member: str
    whole: bool


def weakest(line: Line) -> Weakest | None:
    """The member of a line with the lowest stated working rating; None if nobody stated one.

    Peak, proof and burst figures are not working ratings and count as not stated."""
    members = [(line.conduit.label, line.conduit.rating)] if line.conduit else []
    members += [(f.label, f.rating) for f in line.fittings]
    rated = [(r.value, label) for label, r in members if r and r.value is not None and r.kind == "working"]
    if not rated:
        return None
    value, label = min(rated)
    return Weakest(value, label, len(rated) == len(members))


@dataclass(frozen=True, slots=True)
class _Traits:
    """Of one state: nodes without way out, nodes that lack oil, pressure ranges; whether every range has an upper end
    that is the circuit's own; highest pressure that is fixed, Pa."""

    blocked: frozenset[int]
    void: frozenset[int]
    ranges: Mapping[int, tuple[float, float]]
    bounded: bool
    highest: float

    @classmethod
    def of(cls, results: Results, s: int) -> _Traits:
        state = results.solution.states[s]
        bounded = all(high < PRESSURE_BOUND * 0.999 for _, high in state.ranges.values())
        highest = float(np.max(results.p[s][results.fixed[s]], initial=0.0))
        return cls(frozenset(state.blocked), frozenset(state.void), state.ranges, bounded, highest)


class _Writer:
    def __init__(self, circuit: Circuit, results: Results, picture: Picture, system: str):
        self.circuit, self.r, self.picture, self.system = circuit, results, picture, system
        self.states = range(results.size)
        self.failures = [failure(results, s) for s in self.states]
        self.ratings: dict[Weakest, str] = {}
        most = np.fmax.reduce(np.abs(results.q), axis=1, initial=0.0).tolist()  # of what is known
        self.idle = [max(q * IDLE_SHARE, 1e-10) for q in most]
        self.flows: list[list[float]] = results.q.T.tolist()  # per passage of the network
        self.levels: dict[int, list[float]] = {}  # per node, Pa
        self.traits = [_Traits.of(results, s) for s in self.states]

    def show(self, value: float, dimension: str) -> str:
        return show(float(value), dimension, self.system)

    def result(self) -> Figures:
        runs: dict[str, int] = {}
        for run in self.picture.runs:
            runs[run.line] = run.number + 1
        shares = {name: self._share(self.circuit.lines[name]) for name in runs}
        # The line nearest its limit in each state carries its figure, however low it is.
        top = [max((x[s] for x, _ in shares.values() if x[s] == x[s]), default=nan) for s in self.states]
        lines = {name: self._line(self.circuit.lines[name], n, *shares[name], top) for name, n in runs.items()}
        parts = {name: self._part(self.circuit.parts[name]) for name in self.picture.parts}
        return Figures(parts, lines, self.failures)

    # ---- lines
    def _least(self, nodes: Iterable[int], s: int) -> float:
        """Pa, the least that a pressure can be that the state does not fix; nan where that says nothing."""
        ranges = self.traits[s].ranges
        low = max((ranges[n][0] for n in nodes if n in ranges), default=0.0)
        return low if low >= LEAST else nan

    def _ends(self, line: str) -> tuple[list[float], list[float]]:
        """Pa at both ends in every state."""
        a, b = self.r.network.line_nodes[line]
        for node in (a, b):
            if node not in self.levels:
                self.levels[node] = self.r.node_pressure(node).tolist()
        return self.levels[a], self.levels[b]

    def _share(self, line: Line) -> tuple[list[float], Weakest | None]:
        """Highest pressure over the lowest rating; nan where the pressure is not known."""
        least = weakest(line)
        if least is None:
            return [nan] * self.r.size, None
        levels = [max(a, b) if a == a and b == b else nan for a, b in zip(*self._ends(line.name), strict=True)]
        return [level / least.value if level > 0.0 else nan for level in levels], least

    def _line(self, line: Line, runs: int, share: list[float], least: Weakest | None, top: list[float]) -> LineFigures:
        out = LineFigures(joined_directly(line))
        branches = self.r.network.line_branches[line.name]
        flows = [self.flows[k] for k in branches] or [self.r.line_flow(line.name).tolist()] * runs
        differs = [any(abs(q - q0) > 2 * idle for q, q0, idle in zip(flow, flows[0], self.idle, strict=True))
                   for flow in flows]  # fmt: skip
        pick = min if self.picture.roles[line.name] == "suction" else max
        pair = frozenset(self.r.network.line_nodes[line.name])
        for s, (a, b) in enumerate(zip(*self._ends(line.name), strict=True)):
            traits, x, low = self.traits[s], share[s], self._least(pair, s) if a != a or b != b else nan
            blocked = not pair.isdisjoint(traits.blocked)
            out.blocked.append(blocked)
            if self.failures[s]:
                out.sense.append((0,) * runs)
                out.rows.append([("no way out",) if blocked and not out.direct and k == 0 else () for k in range(runs)])
                out.step.append("")
                out.note.append("no way out from here" if blocked else "")
                continue
            out.sense.append(tuple([self._sense(flow[s], s) for flow in flows]))
            out.step.append("over" if least is not None and low > least.value else _step(x))
            out.note.append(self._note(out.direct, pair, s, x, low, least))
            level = pick(a, b) if a == a and b == b else nan
            rows = () if out.direct else self._label(flows[0][s], level, low, pair, s, x, least, x == top[s])
            out.rows.append([rows, *[(self._flow(flows[k][s], s),) if differs[k] else () for k in range(1, runs)]])
        return out

    def _label(
        self, q: float, level: float, low: float, pair: frozenset[int], s: int, x: float, least: Weakest | None,
        nearest: bool,
    ) -> tuple[str, ...]:  # fmt: skip
        """Rows below the name. low: of a level that is not fixed. nearest: of all lines this one is nearest its rating
        in the state."""
        starved = not pair.isdisjoint(self.traits[s].void)
        rows = [self._flow(q, s), "starved" if starved and level < 0 else self._pressure(level, low)]
        if starved and level >= 0:
            rows.append("starved at one end")
        if least and (x >= NOTABLE or (nearest and x >= WORTH_SAYING)):
            rows.append(f"{'' if least.whole or x > 1 else '≥ '}{share_text(x)}{' of' if x <= 1 else ''} rating")
        elif least and low > least.value:
            rows.append(f"≥ {share_text(low / least.value)} rating")
        return tuple(rows)

    def _sense(self, q: float, s: int) -> int:
        if q != q:
            return UNKNOWN
        return 0 if abs(q) <= self.idle[s] else (1 if q > 0 else -1)

    def _flow(self, q: float, s: int) -> str:
        if q != q:
            return "flow not known"
        return "no flow" if abs(q) <= self.idle[s] else show(abs(q), "flow", self.system)

    def _pressure(self, p: float, low: float) -> str:
        if p != p:
            return "not fixed" if low != low else f"{AT_LEAST}{show(low, 'pressure', self.system)}"
        return show(p, "pressure", self.system)

    def _note(self, direct: bool, pair: frozenset[int], s: int, x: float, low: float, least: Weakest | None) -> str:
        said = []
        ranges = self.traits[s].ranges
        open_here = [ranges[n] for n in pair if n in ranges] if ranges else []
        if open_here:
            said.append(self._range(min(r[0] for r in open_here), max(r[1] for r in open_here), s))
        if least is None:
            if not direct:
                said.append("no rating stated")
        elif x == x:
            said.append(f"{share_text(x)} of {self._rating(least)}")
        elif low == low:
            said.append(f"at least {share_text(low / least.value)} of {self._rating(least)}")
        return "; ".join(said)

    def _rating(self, least: Weakest) -> str:
        if least not in self.ratings:
            whose = "" if least.whole else ", the lowest rating stated; other members are not rated"
            self.ratings[least] = f"{self.show(least.value, 'pressure')} ({least.member}{whose})"
        return self.ratings[least]

    def _range(self, low: float, high: float, s: int) -> str:
        """Where the solver's own bound made the upper end, the circuit gives none: no figure is printed for it."""
        said = "pressure not fixed by the steady state, "
        if self.traits[s].bounded or high <= self.traits[s].highest:
            return f"{said}anywhere from {self.show(low, 'pressure')} to {self.show(high, 'pressure')}"
        return f"{said}{self.show(low, 'pressure')} or more; the data give no upper limit"

    # ---- parts
    def _part(self, part: Part) -> list[tuple[str, ...]]:
        kind = kinds.registry()[part.kind]
        rows: list[list[str]] = [[] for _ in self.states]
        self._orders(part, kind, rows)
        self._settings(part, kind, rows)
        self._motions(part, kind, rows)
        self._shaft(part, kind, rows)
        if kind.group in ("measuring", "conditioning") and part.name in self.picture.ports:
            self._drop(part, kind.group, rows)
        return [tuple(r) for r in rows]

    def _orders(self, part: Part, kind: kinds.Kind[Any], rows: list[list[str]]) -> None:
        """Lever positions and the like: what the state says, not what comes out of it."""
        spools: list[list[str]] = [[] for _ in self.states]
        if kind.coupling(part.params) is not None:
            for s in self.states:
                mate = list(self.r.circuit.states.values())[s].mate(part.name)
                rows[s].append(f"joined with {mate}" if mate else "apart")
        controls = kind.controls(part.params)
        levers = sum(isinstance(c.default, SpoolOrder) for c in controls)
        for control in controls:
            if control.name in ("load", "stop", "speed"):
                continue
            for s, value in enumerate(self.r.orders(part.name, control.name)):
                if isinstance(value, SpoolOrder):
                    if value.position != "centre":
                        position = value.position if self.failures[s] else _lever(value)
                        spools[s].append(f"{'lever' if control.name == 'position' else control.name}: {position}")
                else:
                    rows[s] += self._position(control, value, s)
        if levers:
            for s in self.states:
                rows[s] += spools[s] or ["all centred" if levers > 1 else "centred"]

    def _position(self, control: Control, value: Any, s: int) -> list[str]:
        """How a valve, a coupler or a filter element stands. Shares are left out where no figures may be printed."""
        if control.parse is orders.coupling:
            return ["joined" if value else "apart, both halves shut"]
        if control.parse is orders.opening:
            if value in (orders.SHUT, orders.OPEN):
                return ["open" if value == orders.OPEN else "shut"]
            return ["partly open" if self.failures[s] else f"{self.show(value, 'share')} open"]
        if control.said is not None and control.parse is not orders.clogging and not self.failures[s]:
            return [f"{'' if control.name == 'position' else control.name + ' '}{control.said(value)}"]
        if control.parse is orders.clogging and value > 0:
            if value == 1.0:
                return ["blocked"]
            return ["partly blocked" if self.failures[s] else f"{self.show(value, 'share')} blocked"]
        return []

    def _settings(self, part: Part, kind: kinds.Kind[Any], rows: list[list[str]]) -> None:
        """Reliefs: the setting, and in each state what goes over."""
        reliefs = kind.reliefs(part.params)
        if not reliefs:
            return
        alone = all(c.name in ("load", "stop", "speed") for c in kind.controls(part.params))
        for relief in reliefs:
            try:
                over = self.r.flow(part.name, relief.role)
            except KeyError:
                continue
            setting = f"{'set' if alone else 'relief'} {self.show(relief.setting, 'pressure')}"
            for s in self.states:
                if self.failures[s]:
                    continue
                rows[s].append(setting)
                if over[s] > self.idle[s]:
                    rows[s].append(f"passes {self.show(over[s], 'flow')}")
                elif alone:
                    rows[s].append("closed")

    def _motions(self, part: Part, kind: kinds.Kind[Any], rows: list[list[str]]) -> None:
        for motion in kind.motions(part, self.r).values():
            rod = motion.kind == "rod"
            speeds, efforts = motion.speed.tolist(), motion.given.tolist()
            fastest = max((abs(v) for v in speeds if v == v), default=0.0)
            stops = self.r.orders(part.name, "stop")
            for s, (v, effort) in enumerate(zip(speeds, efforts, strict=True)):
                if self.failures[s] or v != v:
                    continue
                if abs(v) <= max(1e-4 * fastest, 1e-9):
                    at_stop = stops[s] if stops[s] in ("extended", "retracted") else ""
                    rows[s].append(f"at its stop, {at_stop}" if at_stop else "stands")
                elif rod:
                    rows[s].append(f"{'extends' if v > 0 else 'retracts'} {self.show(abs(v), 'velocity')}")
                else:
                    rows[s].append(f"turns {self.show(abs(v), 'rotational speed')}" + ("" if v > 0 else ", B to A"))
                said = "" if effort != effort else self.show(abs(effort), "force" if rod else "torque")
                if said and not said.startswith("0 "):
                    rows[s].append(f"{'pushes' if effort > 0 else 'pulls'} {said}" if rod else said)

    def _shaft(self, part: Part, kind: kinds.Kind[Any], rows: list[list[str]]) -> None:
        own = kind.shaft_demand(part, self.r)
        nominal = kind.nominal_speed(part.params)
        power = own.power if own else None
        if nominal:
            pumps = [p for driver, p in self.picture.shafts if driver == part.name]
            demands = (
                kinds.registry()[self.circuit.parts[p].kind].shaft_demand(self.circuit.parts[p], self.r) for p in pumps
            )
            total = [d.power for d in demands if d]
            power = np.sum(total, axis=0) if total else None
        ratio = self.r.speed_ratio(part.name) if nominal else None
        for s in self.states:
            if self.failures[s]:
                continue
            if nominal and ratio is not None:
                rows[s].append(self.show(nominal * float(ratio[s]), "rotational speed"))
            if power is not None and not np.isnan(power[s]):
                rows[s].append(f"{self.show(power[s], 'power')}{' at the shaft' if own else ' taken'}")

    def _drop(self, part: Part, group: str, rows: list[list[str]]) -> None:
        """A gauge shows its pressure, a filter or cooler what it costs."""
        ports = [p for p in self.picture.ports[part.name] if (part.name, p) in self.r.network.port_nodes]
        if not ports:
            return
        levels = [self.r.pressure(part.name, p) for p in ports]
        for s in self.states:
            if self.failures[s]:
                continue
            if group == "measuring":
                node = self.r.network.port_nodes[part.name, ports[0]]
                void = node in self.r.solution.states[s].void
                rows[s].append("starved" if void else self._pressure(float(levels[0][s]), self._least([node], s)))
            elif len(ports) == 2 and not np.isnan(levels[0][s] - levels[1][s]):
                rows[s].append(f"takes {self.show(abs(levels[0][s] - levels[1][s]), 'pressure difference')}")


def share_text(x: float) -> str:
    """0.46 -> 46 %, 7.3 -> 7.3×; close to the rating with one more digit, so that 99.7 % is not printed as 100 %."""
    if x <= 1.0:
        return f"{x * 100:.0f} %" if x < 0.995 or x == 1.0 else f"{x * 100:.1f} %"
    return f"{x:.2f}×" if x < 2 else f"{x:.1f}×"


def _lever(order: SpoolOrder) -> str:
    return order.position if order.share >= 1.0 else f"{order.position}, {order.share * 100:.0f} %"


def _step(share: float) -> str:
    if share != share:
        return ""
    return "over" if share > 1 else f"u{bisect_left(STEPS, share)}"
