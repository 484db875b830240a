"""The solution of a network: numbers that carry their own proof, or a reason why there are none."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from .network import Array


class Verdict(StrEnum):
    """How a state ended. Only SOLVED states have numbers that may be printed."""

    SOLVED = "solved"
    UNBOUNDED = "unbounded"  # some pump flow has no way out: no steady state exists
    OVER_LIMIT = "over limit"  # a way out exists, but only above the pressure bound of the solver (1000 bar)
    RUNAWAY = "runaway"  # a load drives an actuator without limit
    NOT_CONVERGED = "not converged"
    SPLIT_OPEN = "split not determined"  # flows or speeds that the data do not fix


@dataclass(slots=True)
class Certificate:
    """Residuals against the unrounded laws, recomputed from p, q, v, x and the data only (nothing of the Newton code).

    mass: largest node imbalance / largest flow. law, complementarity, actuator, pilot: relative to 100 bar or to the
    largest flow.
    energy: |pump - dissipation - work - slack| / max(pump, dissipation). pump, dissipation, work: W.
    void: flow that would have to appear out of nothing at nodes held at the cavitation bound / largest flow.
    burst: flow swallowed at the upper pressure bound / largest flow. worst_node, worst_branch: indices.
    method: which attempt succeeded ("path", "restart", "search", "scalar").
    """

    mass: float
    law: float
    complementarity: float
    actuator: float
    pilot: float
    energy: float
    pump: float
    dissipation: float
    work: float
    void: float
    burst: float
    worst_node: int
    worst_branch: int
    method: str = "path"

    @property
    def worst(self) -> float:
        return max(self.mass, self.law, self.complementarity, self.actuator, self.pilot)

    def holds(self, bar: float = 1e-6, energy_bar: float = 1e-4) -> bool:
        return self.worst <= bar and self.energy <= energy_bar


@dataclass(slots=True)
class StateSolution:
    """One state. Arrays are empty unless verdict is SOLVED.

    p: (N,) Pa gauge per node. q: (M,) m3/s per branch. pilot_q, pilot_x: per pilot. v: per actuator.
    void: {node: m3/s} nodes at the cavitation bound that lack this flow.
    ranges: {node: (low, high)} Pa, nodes whose pressure the steady state does not fix (p holds one admissible value:
    never print it as a figure), for the flows of the answer and every choice of valves that pass nothing.
    blocked: nodes that have no way out (UNBOUNDED, OVER_LIMIT). runaway: actuators.
    open_split: branch indices whose flow is not fixed; open_speeds: actuators whose speed is not. hunting: pilots that
    stand half open and may hunt. source_q: flow of each source as solved, m3/s (less than the network says where a pump
    cannot fill; empty unless SOLVED).
    notes: short codes ("may hunt", "several solutions", "pump starved", "time out"; "wide ranges": some ranges are
    bounds only, never narrower than the true ones).
    """

    verdict: Verdict
    certificate: Certificate | None
    p: Array
    q: Array
    pilot_q: Array
    pilot_x: Array
    v: Array
    void: dict[int, float] = field(default_factory=dict)
    ranges: dict[int, tuple[float, float]] = field(default_factory=dict)
    blocked: list[int] = field(default_factory=list)
    runaway: list[int] = field(default_factory=list)
    open_split: list[int] = field(default_factory=list)
    open_speeds: list[int] = field(default_factory=list)
    hunting: list[int] = field(default_factory=list)
    source_q: Array = field(default_factory=lambda: np.zeros(0))
    notes: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Solution:
    """All states of one network, in the network's order. data_hash: of the numbers that were solved."""

    states: list[StateSolution]
    solver_version: str = ""
    data_hash: str = ""
