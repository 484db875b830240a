"""The network: equations of a circuit as plain data for the solver. One topology, every number per state.

A kind adds primitives through `assemble.Builder`; the solver reads them and knows no kinds, names, units or text.
Every number is an array of shape (S,), S = number of states. SI: Pa gauge, m3/s, m, N, N m, rad/s. Node 0 is the
reservoir at 0 Pa.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
RESERVOIR = 0


@dataclass(slots=True)
class Tube:
    """Friction of a run: dp = laminar * q * (f Re)/64, Re = re_per_q |q|, f the Darcy factor.

    laminar: 128 mu L/(pi d^4), Pa s/m3, (S,). re_per_q: 4/(pi d nu), s/m3, (S,). rel_rough: roughness/bore, (S,).
    """

    laminar: Array
    re_per_q: Array
    rel_rough: Array


@dataclass(slots=True)
class Branch:
    """A monotone passage i -> j:

    p_i - p_j = c0 + a q + b q|q| + tube(q) - lam_lo + lam_hi,  lo <= q <= hi,  lam_lo (q-lo) = 0 = lam_hi (hi-q).

    Shut in a state: lo = hi = 0 there. leak: internal leakage, not counted as a way out of the circuit.
    part: name of the part or line it belongs to; role: the name the kind knows it by ("element", "bypass", ...).
    """

    i: int
    j: int
    a: Array
    b: Array
    c0: Array
    lo: Array
    hi: Array
    tube: Tube | None = None
    leak: bool = False
    part: str = ""
    role: str = ""


@dataclass(slots=True)
class Pilot:
    """A passage i -> j opened by other pressures: q = x U(dp), dp = b U|U|, 0 <= x <= 1,
    z.p - z0 - droop x > 0 -> x = 1, < 0 -> x = 0, = 0 between. z: node -> weight (same in every state)."""

    i: int
    j: int
    b: Array
    z: dict[int, float]
    z0: Array
    droop: Array
    part: str = ""
    role: str = ""


@dataclass(slots=True)
class Actuator:
    """An ideal transformer with one speed v: it takes k_n v out of node n, and
    sum(k p) = force + friction sign(v) + damping v + stop reaction,  lo <= v <= hi.

    k: node -> m2 (rod) or m3/rad (shaft), same in every state. force N or N m, friction likewise >= 0, damping >= 0.
    An actuator that stands in a state has lo = 0 (at its retracted stop), hi = 0 (extended stop) or both (held).
    """

    k: dict[int, float]
    force: Array
    friction: Array
    damping: Array
    lo: Array
    hi: Array
    part: str = ""
    role: str = ""


@dataclass(slots=True)
class Source:
    """q (S,) m3/s put into `node`; a pump is a source at its outlet and the negative one at its inlet."""

    node: int
    q: Array
    part: str = ""
    role: str = ""


@dataclass(slots=True)
class Network:
    """states: names. nodes: name of every node (index = node number; nodes[0] = "reservoir").
    port_nodes: (part, port) -> node. line_nodes: line -> (start node, end node). line_branches: line -> indices of its
    runs in order, none for a direct joint. tied: the rods of parts that a tie made into one actuator; they are no
    equations, but say which share of the tie's flow and force is whose."""

    states: list[str]
    nodes: list[str] = field(default_factory=lambda: ["reservoir"])
    branches: list[Branch] = field(default_factory=list)
    pilots: list[Pilot] = field(default_factory=list)
    actuators: list[Actuator] = field(default_factory=list)
    sources: list[Source] = field(default_factory=list)
    port_nodes: dict[tuple[str, str], int] = field(default_factory=dict)
    line_nodes: dict[str, tuple[int, int]] = field(default_factory=dict)
    line_branches: dict[str, list[int]] = field(default_factory=dict)
    tied: list[Actuator] = field(default_factory=list)

    @property
    def size(self) -> int:
        return len(self.states)

    def only(self, states: list[int]) -> Network:
        """The same topology in some of its states."""

        def rows(item: Any) -> Any:
            changed = {}
            for f in fields(item):
                value = getattr(item, f.name)
                if isinstance(value, np.ndarray):
                    changed[f.name] = value[states]
                elif isinstance(value, Tube):
                    changed[f.name] = rows(value)
            return replace(item, **changed)

        return replace(
            self,
            states=[self.states[s] for s in states],
            branches=[rows(b) for b in self.branches],
            pilots=[rows(c) for c in self.pilots],
            actuators=[rows(a) for a in self.actuators],
            sources=[rows(s) for s in self.sources],
            tied=[rows(a) for a in self.tied],
        )
