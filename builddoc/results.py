"""Questions one may ask of a solved circuit. Arrays run over states, (S,), SI; nan = not known in that state."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from . import kinds
from .assemble import Builder, defaults_of
from .circuit import Circuit
from .joints import joint_flows
from .network import Array, Bools, Network
from .solution import Solution, Verdict

ALIKE = 1e-6
"""Relative difference below which the figures of two states are the same; the solver's pressures are good to less."""


@dataclass(frozen=True, slots=True)
class Worst:
    """Highest (or lowest) figure over the states: value SI, index and name of the state that made it."""

    value: float
    index: int
    state: str


@dataclass(frozen=True, slots=True)
class Own:
    """Numbers of a part's passages, pilot chambers, sources and actuators in the network."""

    branches: list[int]
    pilots: list[int]
    sources: list[int]
    actuators: list[int]


NONE = Own([], [], [], [])


class Results:
    """A circuit, its network and its solution. A pressure that the steady state does not fix is nan in `pressure`
    and has a range in `pressure_range`; a state without a solution is nan everywhere.

    p (S, N), q (S, M), pilot_q, v, source_q: raw tables, nan in unsolved states; `p` holds one admissible value where
    the pressure is not fixed (see `fixed`), so print `node_pressure`, not `p`. solved (S,): states that have figures.
    """

    def __init__(self, circuit: Circuit, network: Network, solution: Solution):
        self.circuit, self.network, self.solution = circuit, network, solution
        self.states = network.states
        self.size = network.size
        self.solved: Bools = np.array([s.verdict is Verdict.SOLVED for s in solution.states], dtype=bool)
        self.p = self._table("p", len(network.nodes))
        self.q = self._table("q", len(network.branches))
        self.v = self._table("v", len(network.actuators))
        self.pilot_q = self._table("pilot_q", len(network.pilots))
        self.source_q = self._table("source_q", len(network.sources))
        self.fixed: Bools = ~np.isnan(self.p)
        for s, state in enumerate(solution.states):
            self.fixed[s, list(state.ranges)] = False
            if self.solved[s]:
                self.q[s, state.open_split] = np.nan
        builder = Builder(circuit, network, network.port_nodes)
        self.nu, self.rho, self.temperature = builder.nu, builder.rho, builder.temperature
        self.speed_ratio = builder.speed_ratio

    def _table(self, name: str, width: int) -> Array:
        table = np.full((self.size, width), np.nan)
        for s, state in enumerate(self.solution.states):
            if self.solved[s]:
                table[s] = getattr(state, name)
        return table

    # ---- pressures
    def node_pressure(self, node: int) -> Array:
        """Pa gauge, nan where unsolved or not fixed by the steady state."""
        return self._known[:, node].copy()

    @cached_property
    def _known(self) -> Array:
        return np.where(self.fixed, self.p, np.nan)

    def pressure(self, part: str, port: str) -> Array:
        return self.node_pressure(self.network.port_nodes[part, port])

    def pressure_range(self, part: str, port: str, s: int) -> tuple[float, float] | None:
        """(low, high) Pa where the steady state leaves the pressure open, else None."""
        return self.solution.states[s].ranges.get(self.network.port_nodes[part, port])

    def highest_possible(self, node: int) -> Array:
        """Pa: the pressure where it is fixed, the upper end of its range where it is not; nan in unsolved states."""
        high = self.node_pressure(node)
        for s, state in enumerate(self.solution.states):
            if self.solved[s] and node in state.ranges:
                high[s] = state.ranges[node][1]
        return high

    def line_pressures(self, line: str) -> tuple[Array, Array]:
        i, j = self.network.line_nodes[line]
        return self.node_pressure(i), self.node_pressure(j)

    def line_highest(self, line: str) -> Array:
        """Highest pressure at its ends and at the points where others start on it."""
        nodes = {*self.network.line_nodes[line]}
        for k in self.network.line_branches[line]:
            nodes |= {self.network.branches[k].i, self.network.branches[k].j}
        result = np.full(self.size, np.nan)
        for node in nodes:
            result = np.fmax(result, self.node_pressure(node))
        return result

    # ---- flows
    def of_part(self, part: str) -> Own:
        """What the network has of a part or line."""
        return self._own.get(part, NONE)

    @cached_property
    def _own(self) -> dict[str, Own]:
        found: dict[str, Own] = {}
        net = self.network
        for k, branch in enumerate(net.branches):
            found.setdefault(branch.part, Own([], [], [], [])).branches.append(k)
        for k, pilot in enumerate(net.pilots):
            found.setdefault(pilot.part, Own([], [], [], [])).pilots.append(k)
        for k, source in enumerate(net.sources):
            found.setdefault(source.part, Own([], [], [], [])).sources.append(k)
        for k, rod in enumerate(net.actuators):
            found.setdefault(rod.part, Own([], [], [], [])).actuators.append(k)
        return found

    def line_flow(self, line: str) -> Array:
        """m3/s in the first run of the line, positive from start to end. For a direct joint: what must pass it so that
        the flows at its node add up; nan where that is not unique (parts joined in a ring)."""
        branches = self.network.line_branches[line]
        return self.q[:, branches[0]] if branches else self._joints.get(line, np.full(self.size, np.nan))

    @cached_property
    def _joints(self) -> dict[str, Array]:
        return joint_flows(self)

    def flow(self, part: str, role: str) -> Array:
        """m3/s through the passage(s) of that role of a part."""
        own = self.of_part(part)
        ids = [k for k in own.branches if self.network.branches[k].role == role]
        pilots = [k for k in own.pilots if self.network.pilots[k].role == role]
        if not ids and not pilots:
            raise KeyError(f"{part} has no passage '{role}'")
        return self.q[:, ids].sum(axis=1) + self.pilot_q[:, pilots].sum(axis=1)

    def source_flow(self, part: str, role: str = "outlet") -> Array:
        """m3/s that a source of a part delivers (less what a starved inlet lacks) minus the leakage that starts at its
        node. For what leaves a pump's port see `Kind.delivery`."""
        sources = [k for k, s in enumerate(self.network.sources) if s.part == part and s.role == role]
        if not sources:
            raise KeyError(f"{part} has no source '{role}'")
        nodes = {self.network.sources[k].node for k in sources}
        slip = [k for k, b in enumerate(self.network.branches) if b.part == part and b.leak and b.i in nodes]
        return self.source_q[:, sources].sum(axis=1) - self.q[:, slip].sum(axis=1)

    def inner_pressure(self, part: str, name: str) -> Array:
        """Pa at a node inside a part, named as its kind named it."""
        return self.node_pressure(self.network.nodes.index(f"{part} ({name})"))

    def speed(self, part: str, role: str) -> Array:
        """m/s or rad/s of a rod or shaft; a part tied to others has the speed of the tie, one with several stages the
        sum of theirs."""
        names = {part, *(t.name for t in self.circuit.ties.values() if part in t.parts)}
        ids = [k for k, a in enumerate(self.network.actuators) if a.part in names and a.role == role]
        return self.v[:, ids].sum(axis=1) if ids else np.full(self.size, np.nan)

    # ---- power
    def dissipation(self, part: str) -> Array:
        """W turned into heat in the passages of a part or line; nan also where oil flows at a pressure that the steady
        state leaves open."""
        total = np.where(self.solved, 0.0, np.nan)
        own = self.of_part(part)
        for k in own.branches:
            branch = self.network.branches[k]
            total = total + self._lost(branch.i, branch.j, self.q[:, k])
        for k in own.pilots:
            pilot = self.network.pilots[k]
            total = total + self._lost(pilot.i, pilot.j, self.pilot_q[:, k])
        return total

    def _lost(self, i: int, j: int, flow: Array) -> Array:
        known = (self.fixed[:, i] & self.fixed[:, j]) | ~(np.abs(flow) > self.still)
        return np.where(known, (self.p[:, i] - self.p[:, j]) * flow, np.nan)

    @cached_property
    def still(self) -> Array:
        """m3/s below which nothing flows, (S,)."""
        largest = np.zeros(self.size)
        for table in (self.q, self.pilot_q, self.source_q):
            if table.shape[1]:
                largest = np.fmax(largest, np.nanmax(np.abs(np.nan_to_num(table)), axis=1))
        return 1e-6 * np.maximum(largest, 1e-9)

    def input_power(self) -> Array:
        """W that all pumps take from their drivers."""
        total = np.where(self.solved, 0.0, np.nan)
        for part in self.circuit.parts.values():
            demand = kinds.registry()[part.kind].shaft_demand(part, self)
            if demand is not None:
                total = total + demand.power
        return total

    def output_power(self) -> Array:
        """W that all rods and shafts give to their loads, less what driving loads put in. How rods of one tie share its
        load may be open; together they give what it takes."""
        given: dict[str, Array] = {}
        for part in self.circuit.parts.values():
            for motion in kinds.registry()[part.kind].motions(part, self).values():
                if motion.output is not None:
                    given[part.name] = given.get(part.name, np.zeros(self.size)) + motion.output
        for k, a in enumerate(self.network.actuators):
            tie = self.circuit.ties.get(a.part)
            if tie is not None and given.keys() >= set(tie.parts):
                each = np.sum([given.pop(name) for name in tie.parts], axis=0)
                springs = sum(float(getattr(self.circuit.parts[n].params, "spring", 0.0)) for n in tie.parts)
                given[a.part] = np.where(np.isnan(each), (a.force - springs) * self.v[:, k], each)
        total: Array = np.sum([np.zeros(self.size), *given.values()], axis=0)
        return np.where(self.solved, total, np.nan)

    def heat(self) -> Array:
        """W that stay in the machine as heat: what goes in at the pumps' shafts and does not come out as work."""
        return self.input_power() - self.output_power()

    def orders(self, part: str, control: str) -> list[Any]:
        """Value of a part's control in every state."""
        if part not in self._defaults:
            self._defaults[part] = defaults_of(self.circuit, part)
        default = self._defaults[part].get(control)
        return [state.orders.get((part, control), default) for state in self.circuit.states.values()]

    @cached_property
    def _defaults(self) -> dict[str, dict[str, Any]]:
        return {}

    # ---- extremes
    def worst(self, values: Array, lowest: bool = False) -> Worst | None:
        """Extreme of an (S,) array over the states that have a figure; None if none has. Of states that are alike but
        for the last digits, the solver's noise, the first one."""
        if np.all(np.isnan(values)):
            return None
        extreme = np.nanmin(values) if lowest else np.nanmax(values)
        index = int(np.flatnonzero(np.isclose(values, extreme, rtol=ALIKE, atol=0.0))[0])
        return Worst(float(values[index]), index, self.states[index])
