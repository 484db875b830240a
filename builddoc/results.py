"""Questions one may ask of a solved circuit. Arrays run over states, (S,), SI; nan = not known in that state."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from .assemble import Builder, orders_of
from .circuit import Circuit
from .network import Array, Network
from .solution import Solution, Verdict


@dataclass(frozen=True, slots=True)
class Worst:
    """Highest (or lowest) figure over the states: value SI, index and name of the state that made it."""

    value: float
    index: int
    state: str


class Results:
    """A circuit, its network and its solution. A pressure that the steady state does not fix is nan in `pressure`
    and has a range in `pressure_range`; a state without a solution is nan everywhere."""

    def __init__(self, circuit: Circuit, network: Network, solution: Solution):
        self.circuit, self.network, self.solution = circuit, network, solution
        self.states = network.states
        self.size = network.size
        self.solved = np.array([s.verdict is Verdict.SOLVED for s in solution.states])
        self.p = self._table("p", len(network.nodes))
        self.fixed = ~np.isnan(self.p)
        for s, state in enumerate(solution.states):
            for node in state.ranges:
                self.fixed[s, node] = False
        self.q = self._table("q", len(network.branches))
        self.v = self._table("v", len(network.actuators))
        self.pilot_q = self._table("pilot_q", len(network.pilots))
        self.source_q = self._sources()
        builder = Builder(circuit, network, network.port_nodes)
        self.nu, self.rho, self.temperature = builder.nu, builder.rho, builder.temperature
        self.speed_ratio = builder.speed_ratio

    def _table(self, name: str, width: int) -> Array:
        rows = [
            np.asarray(getattr(s, name), dtype=float) if ok else np.full(width, np.nan)
            for s, ok in zip(self.solution.states, self.solved, strict=True)
        ]
        return np.array(rows).reshape(self.size, width)

    def _sources(self) -> Array:
        """m3/s of every source, (S, sources): as solved, which is less than asked for where a pump cannot fill."""
        asked = np.array([s.q for s in self.network.sources]).reshape(-1, self.size).T
        for s, state in enumerate(self.solution.states):
            if self.solved[s] and len(state.source_q):
                asked[s] = state.source_q
        return np.where(self.solved[:, None], asked, np.nan)

    # ---- pressures
    def node_pressure(self, node: int) -> Array:
        """Pa gauge, nan where unsolved or not fixed by the steady state."""
        return np.where(self.fixed[:, node], self.p[:, node], np.nan)

    def pressure(self, part: str, port: str) -> Array:
        return self.node_pressure(self.network.port_nodes[part, port])

    def pressure_range(self, part: str, port: str, s: int) -> tuple[float, float] | None:
        """(low, high) Pa where the steady state leaves the pressure open, else None."""
        return self.solution.states[s].ranges.get(self.network.port_nodes[part, port])

    def line_pressures(self, line: str) -> tuple[Array, Array]:
        i, j = self.network.line_nodes[line]
        return self.node_pressure(i), self.node_pressure(j)

    def line_highest(self, line: str) -> Array:
        """Higher of the two end pressures."""
        return np.fmax(*self.line_pressures(line))

    # ---- flows
    def line_flow(self, line: str) -> Array:
        """m3/s in the first run of the line, positive from start to end. A direct joint carries what its port carries:
        nan (not a branch of its own)."""
        branches = self.network.line_branches[line]
        return self.q[:, branches[0]] if branches else np.full(self.size, np.nan)

    def flow(self, part: str, role: str) -> Array:
        """m3/s through the passage(s) of that role of a part."""
        ids = [k for k, b in enumerate(self.network.branches) if b.part == part and b.role == role]
        pilots = [k for k, b in enumerate(self.network.pilots) if b.part == part and b.role == role]
        if not ids and not pilots:
            raise KeyError(f"{part} has no passage '{role}'")
        return self.q[:, ids].sum(axis=1) + self.pilot_q[:, pilots].sum(axis=1)

    def source_flow(self, part: str, role: str = "outlet") -> Array:
        """m3/s that a pump delivers: what it pumps less the leakage back from its outlet."""
        ids = [k for k, s in enumerate(self.network.sources) if s.part == part and s.role == role]
        node_q = self.source_q[:, ids].sum(axis=1)
        slip = [k for k, b in enumerate(self.network.branches) if b.part == part and b.leak]
        return np.where(self.solved, node_q - self.q[:, slip].sum(axis=1), np.nan)

    def speed(self, part: str, role: str) -> Array:
        """m/s or rad/s of a rod or shaft; a part tied to others has the speed of the tie."""
        names = {part, *(t.name for t in self.circuit.ties.values() if part in t.parts)}
        ids = [k for k, a in enumerate(self.network.actuators) if a.part in names and a.role == role]
        return self.v[:, ids[0]] if ids else np.full(self.size, np.nan)

    # ---- power
    def dissipation(self, part: str) -> Array:
        """W turned into heat in the passages of a part or line."""
        total = np.zeros(self.size)
        for k, b in enumerate(self.network.branches):
            if b.part == part:
                total = total + (self.p[:, b.i] - self.p[:, b.j]) * self.q[:, k]
        for k, c in enumerate(self.network.pilots):
            if c.part == part:
                total = total + (self.p[:, c.i] - self.p[:, c.j]) * self.pilot_q[:, k]
        return total

    def orders(self, part: str, control: str) -> list[Any]:
        return orders_of(self.circuit, part, control)

    # ---- extremes
    def worst(self, values: Array, lowest: bool = False) -> Worst | None:
        """Extreme of an (S,) array over the states that have a figure; None if none has."""
        if np.all(np.isnan(values)):
            return None
        index = int(np.nanargmin(values) if lowest else np.nanargmax(values))
        return Worst(float(values[index]), index, self.states[index])
