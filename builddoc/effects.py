"""What makes a pressure: which relief, load or loss, found along the ways the oil can take.

A little oil `u` put into a node must leave through whatever gives way: an open relief, a rod that moves, lines to the
reservoir. For any such small flow that balances at every node, the principle of virtual work gives exactly

    p u = sum over passages (p_i - p_j) dq + sum over actuators (sum k p) dv

so every pressure is a sum of shares, each with a name. The small flow is taken as the one that the circuit itself would
let through: passages by their slope, shut passages and standing rods not at all. Oil shut in that may be a void gives
way. Where a valve regulates, the flow is taken as acting on what it measures, whatever passes through it: from the one
to the other of two pressures that it holds apart (reducing, sequence, metering with its compensator), or at every
pressure on its poppet by its area (counterbalance). So the pressure is told from the valve's setting. Textbook
mechanics; the choice of the small flow is ours.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from . import kinds
from .network import RESERVOIR, Branch, Network, Pilot
from .results import Results
from .solution import Verdict

_STILL = 1e-6  # share of the largest flow below which nothing passes; ours
_TOUCHING = 1e-3  # share of the highest pressure within which a check valve that lets nothing through is at its kink
_TOLD = 0.01  # share of a pressure below which an effect is not told; ours
_SEEPS = 0.02  # share of the small flow below which its way is not told: on that way gains and losses cancel; ours
_STARTS = 1e-3  # opening, and what is left to full opening, within which a spool counts as at its end
_LEAST = 1e4  # Pa; what counts as pressure in the scales below
_KINK, _NOTHING = 1e-5, 1e-10  # conductance of a check at its kink, and of everything, as share of an open passage's
_WIDEST = 1e3  # conductance of the widest passage, likewise; the shares add up for any split of the small flow
VAPOUR = -0.85e5  # Pa; just above the solver's lowest pressure


@dataclass(frozen=True, slots=True)
class Share:
    """Part of a pressure. sort: "relief", "load", "slip" (leakage inside a pump), "setting" (what a valve holds against
    its spring), "void" (what is shut in beside it may be empty) or "loss". name: of the part, line or tie. value: Pa.
    gain: m3 that pass per m3 put in (a relief behind a cylinder: its area ratio). through: what makes the gain."""

    sort: str
    name: str
    value: float
    gain: float = 1.0
    through: str = ""


class Effects:
    """Shares of the pressures of a solved circuit, state by state when asked for."""

    def __init__(self, r: Results):
        self.r = r
        self._fields: dict[tuple[int, frozenset[int]], _Field] = {}

    def shares(self, node: int, s: int) -> list[Share]:
        """Shares of the pressure of a node in state `s`, largest first; where the state leaves the pressure open, of
        the lowest it can be. Empty if the state is not solved or no way leads anywhere."""
        if node == RESERVOIR or self.r.solution.states[s].verdict is not Verdict.SOLVED:
            return []
        field = self._field(s, frozenset())
        against = field.against(node)
        return (self._field(s, against).shares(node) if against else []) or field.shares(node)

    def _field(self, s: int, fixed: frozenset[int]) -> _Field:
        if (s, fixed) not in self._fields:
            self._fields[s, fixed] = _Field(self.r, s, self._reliefs, self._laws, fixed)
        return self._fields[s, fixed]

    @cached_property
    def _reliefs(self) -> set[tuple[str, str]]:
        parts = self.r.circuit.parts.values()
        return {(p.name, relief.role) for p in parts for relief in kinds.registry()[p.kind].reliefs(p.params)}

    @cached_property
    def _laws(self) -> _Laws:
        net = self.r.network
        pumps = {source.part for source in net.sources}
        named = [(_sort(b, b.part in pumps, (b.part, b.role) in self._reliefs), b.part) for b in net.branches]
        return _Laws(net, len(self.r.states), named)


class _Laws:
    """What passages do, as arrays over branches and states. named: sort and name of each branch."""

    def __init__(self, net: Network, size: int, named: list[tuple[str, str]]):
        def table(rows: list[Any]) -> np.ndarray:
            return np.array(rows, dtype=float).reshape(len(net.branches), size)

        self.named = named
        self.i = np.array([b.i for b in net.branches], dtype=int)
        self.j = np.array([b.j for b in net.branches], dtype=int)
        self.lo, self.hi = table([b.lo for b in net.branches]), table([b.hi for b in net.branches])
        self.c0, self.a, self.b = (table([getattr(b, key) for b in net.branches]) for key in ("c0", "a", "b"))
        self.tube = np.array([b.tube is not None for b in net.branches], dtype=bool)
        none = np.zeros(size)
        self.laminar = table([none if b.tube is None else b.tube.laminar for b in net.branches])

    def slopes(self, s: int, p: np.ndarray, q: np.ndarray, flow: float, top: float) -> np.ndarray:
        """Conductance, m3/(s Pa), of each passage in state s for a little more flow."""
        lo, hi, drop, size = self.lo[:, s], self.hi[:, s], p[self.i] - p[self.j], np.abs(q)
        open_unit, step = flow / top, _STILL * flow
        kink = np.where(np.abs(drop - self.c0[:, s]) < _TOUCHING * top, _KINK * open_unit, 0.0)
        turbulent = np.divide(np.abs(drop), size, out=np.zeros(len(size)), where=size > step)
        slope = self.a[:, s] + 2 * self.b[:, s] * size
        slope = slope + np.where(self.tube, np.maximum(self.laminar[:, s], turbulent), 0.0)
        free = (lo + step < q) & (q < hi - step)
        found = np.where(free, 1.0 / np.maximum(slope, 1e-6 / open_unit), kink)
        return np.where((lo == 0.0) & (hi == 0.0), 0.0, found)


class _Field:
    """Small flows through one state: `ways[:, n]` are the potentials and rods when one unit is put in at node n. fixed:
    numbers of rods and shafts that are taken as standing."""

    def __init__(
        self, r: Results, s: int, reliefs: set[tuple[str, str]], laws: _Laws, fixed: frozenset[int] = frozenset()
    ):
        net, state = r.network, r.solution.states[s]
        self.r, self.s = r, s
        self.p = state.p.copy()
        for node, (low, _) in state.ranges.items():
            self.p[node] = low
        self.flow = max(float(np.abs(state.q).max(initial=0.0)), 1e-9)
        self.top = max(float(self.p.max()), _LEAST)
        opening = zip(net.pilots, state.pilot_x, strict=True)
        met = self._met()
        works = [c.i in met and c.j in met and self._regulates(c, float(x)) for c, x in opening]
        held = [_held(c) if regulates else None for c, regulates in zip(net.pilots, works, strict=True)]
        ends = [pair or (c.i, c.j) for c, pair in zip(net.pilots, held, strict=True)]
        i, j = np.array(ends, dtype=int).reshape(-1, 2).T
        self.i, self.j = np.concatenate([laws.i, i]), np.concatenate([laws.j, j])
        self.unit = self.flow / self.top  # conductances are counted in it, flows in `flow`: numbers near 1 keep digits
        slopes = laws.slopes(s, self.p, np.asarray(state.q), self.flow, self.top)
        self.g = np.concatenate([slopes, self._pilots()]) / self.unit
        self.g[len(net.branches) :][[pair is not None for pair in held]] = _WIDEST
        self.g[len(net.branches) :][[w and pair is None for w, pair in zip(works, held, strict=True)]] = 0.0
        self.g = np.minimum(self.g, _WIDEST) + _NOTHING
        self.numbers = [k for k in range(len(net.actuators)) if k not in fixed and self._gives_way(k)]
        self.rods = [net.actuators[k] for k in self.numbers]
        # A poppet on which more than two pressures act is balanced like a rod, by the areas they act on.
        self.poppets = [
            c for c, regulates, pair in zip(net.pilots, works, held, strict=True) if regulates and pair is None
        ]
        balanced = [*(a.k for a in self.rods), *(c.z for c in self.poppets)]
        self.void = np.array([k in state.ranges for k in range(len(net.nodes))]) & (self.p <= VAPOUR)
        n, m = len(net.nodes), len(balanced)
        matrix = np.zeros((n + m, n + m))
        for rows, columns in ((self.i, self.i), (self.j, self.j)):
            np.add.at(matrix, (rows, columns), self.g)
        for rows, columns in ((self.i, self.j), (self.j, self.i)):
            np.subtract.at(matrix, (rows, columns), self.g)
        for k, areas in enumerate(balanced):
            size = max(map(abs, areas.values()))
            for node, value in areas.items():
                matrix[node, n + k] += value / size
                matrix[n + k, node] += value / size
            matrix[n + k, n + k] = -_NOTHING
        matrix[np.arange(n), np.arange(n)] += np.where(self.void, _WIDEST, 0.0)
        matrix[RESERVOIR, :] = 0.0
        matrix[RESERVOIR, RESERVOIR] = 1.0
        matrix[np.arange(n), np.arange(n)] += _NOTHING * 1e-3
        unit_flows = np.eye(n + m)[:, :n]
        try:
            self.ways = np.linalg.solve(matrix, unit_flows)
            self.ways += np.linalg.solve(matrix, unit_flows - matrix @ self.ways)  # what rounding left
        except np.linalg.LinAlgError:  # a piece of the circuit that nothing holds; `shares` proves what is left
            self.ways = np.linalg.lstsq(matrix, unit_flows)[0]
        pilots = zip(net.pilots, held, strict=True)
        sorts = [("setting" if pair else _sort(c, False, (c.part, c.role) in reliefs), c.part) for c, pair in pilots]
        self._tables([*laws.named, *sorts])

    def _met(self) -> set[int]:
        """Nodes that some passage, rod or pump leads oil to in this state. A spool behind a shut passage holds nothing,
        whatever acts on it (the bypass of a rephasing cylinder in mid-stroke)."""
        net, s = self.r.network, self.s
        open_now = {n for b in net.branches if b.lo[s] < 0.0 or b.hi[s] > 0.0 for n in (b.i, b.j)}
        return {RESERVOIR, *open_now, *(n for a in net.actuators for n in a.k), *(o.node for o in net.sources)}

    def _regulates(self, c: Pilot, x: float) -> bool:
        """A spool between its ends, or shut and on the point of opening."""
        pushed = sum(weight * self.p[node] for node, weight in c.z.items()) - float(c.z0[self.s])
        touching = x <= _STARTS and abs(pushed) < _TOUCHING * self.top
        return touching or _STARTS < x < 1.0 - _STARTS

    def _pilots(self) -> list[float]:
        found = []
        state = self.r.solution.states[self.s]
        for k, c in enumerate(self.r.network.pilots):
            x, q = float(state.pilot_x[k]), float(state.pilot_q[k])
            drop = abs(float(self.p[c.i] - self.p[c.j]))
            own = x * np.sqrt(1.0 / max(float(c.b[self.s]), 1e-30)) / (2 * np.sqrt(max(drop, 1.0)))
            regulating = _STARTS < x < 1.0 - _STARTS
            found.append(max(own, abs(q) / max(float(c.droop[self.s]), 1e-3 * self.top)) if regulating else own)
        return found

    def _gives_way(self, k: int) -> bool:
        """A rod that moves, or stands on oil and is on the point of moving: all that its friction can hold is held."""
        a, s = self.r.network.actuators[k], self.s
        if abs(float(self.r.solution.states[s].v[k])) * max(map(abs, a.k.values())) > _STILL * self.flow:
            return True
        if a.lo[s] == 0.0 == a.hi[s]:
            return False
        held = sum(value * self.p[node] for node, value in a.k.items()) - float(a.force[s])
        size = max(abs(float(a.force[s])), max(map(abs, a.k.values())) * _LEAST)
        return abs(abs(held) - float(a.friction[s])) <= _TOUCHING * size

    def against(self, node: int) -> frozenset[int]:
        """Rods that the small flow drives against more than the pressure of the node: oil that leaves a cylinder would
        push it back and do work elsewhere. What makes the pressure lies on the way out. None where oil is drawn."""
        worth = np.array([self._pushed(a.k) for a in self.rods]) * self.ways[len(self.p) :, node][: len(self.rods)]
        found = worth < -self.p[node] if self.p[node] > 0 else worth < -np.inf
        return frozenset(self.numbers[k] for k in np.flatnonzero(found))

    def shares(self, node: int) -> list[Share]:
        values = self.values[:, node]
        if abs(values.sum() - self.p[node]) > 0.05 * max(abs(self.p[node]), _LEAST):
            return []
        moved = np.abs(self.ways[len(self.p) : len(self.p) + len(self.rods), node])
        through = self.rods[int(np.argmax(moved))].part if moved.size else ""
        told = np.flatnonzero((np.abs(values) > _TOLD * abs(self.p[node])) & (self.volumes[:, node] > _SEEPS))
        gains = self.gains[:, node]
        shares = [Share(*self.keys[k], float(values[k]), float(gains[k]), through) for k in told]
        return sorted(shares, key=lambda share: -share.value)

    def _tables(self, named: list[tuple[str, str]]) -> None:
        """values, gains, volumes: share, gain and volume that passes or is displaced, of every key at every node."""
        dq = self.g[:, None] * (self.ways[self.i] - self.ways[self.j])
        loads: list[tuple[tuple[str, str], float, int]] = []
        for k, a in enumerate(self.rods, len(self.p)):
            pushed = self._pushed(a.k)
            force = float(a.force[self.s]) / max(map(abs, a.k.values()))
            load = pushed if a.role == "shaft" else force  # a shaft's load resists like friction
            loads += [(("load", a.part), load, k), (("loss", a.part), pushed - load, k)]
        for k, c in enumerate(self.poppets, len(self.p) + len(self.rods)):
            loads.append((("setting", c.part), self._pushed(c.z), k))
        self.keys = list(dict.fromkeys([*named, *(key for key, _, _ in loads), ("void", "")]))
        at = {key: n for n, key in enumerate(self.keys)}
        member = np.zeros((len(self.keys), len(named)))  # a product is many times faster than adding row by row
        member[[at[key] for key in named], np.arange(len(named))] = 1.0
        self.gains = member @ dq
        self.volumes = np.zeros(self.gains.shape)
        np.maximum.at(self.volumes, [at[key] for key in named], np.abs(dq))
        self.values = (member * (self.p[self.i] - self.p[self.j])) @ dq
        for key, value, row in loads:
            self.values[at[key]] += value * self.ways[row]
            self.volumes[at[key]] = np.maximum(self.volumes[at[key]], np.abs(self.ways[row]))
        self.volumes[at["void", ""]] = 1.0
        filled = np.where(self.void, _WIDEST * self.p, 0.0)
        self.values[at["void", ""]] += filled @ self.ways[: len(self.p)]

    def _pushed(self, areas: Mapping[int, float]) -> float:
        """Pa that the oil puts on a rod or poppet, counted on its largest area."""
        return float(sum(v * self.p[m] for m, v in areas.items()) / max(map(abs, areas.values())))


def _held(c: Pilot) -> tuple[int, int] | None:
    """The two nodes between which a spool that regulates holds a difference; None where more pressures act on it."""
    ends = sorted((weight, node) for node, weight in c.z.items())
    return (ends[1][1], ends[0][1]) if len(ends) == 2 and ends[0][0] == -ends[1][0] else None


def _sort(b: Branch | Pilot, of_pump: bool, relief: bool) -> str:
    return "relief" if relief else "slip" if of_pump and getattr(b, "leak", False) else "loss"
