"""The numbers of a network stacked into arrays, states first. Plain SI data: no scaling, no law, no solver."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from ..network import Array, Network

Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Tables:
    """S states, N nodes, M branches, T tubes among them, C pilots, A actuators, Q sources.

    Topology: i, j (M,); tube (T,) branch index of each tube; leak (M,); pilot_i, pilot_j (C,); z (C, N) weights of
    the pilot condition; k (A, N) volume taken out of a node per unit travel; source_node (Q,).
    Numbers, one row per state: a, b, c0, lo, hi (S, M); laminar, re_per_q, rough (S, T); pilot_b, z0, droop (S, C);
    force, friction, damping, v_lo, v_hi (S, A); source (S, Q). SI, as in `network`.
    """

    nodes: int
    i: Index
    j: Index
    tube: Index
    leak: NDArray[np.bool_]
    pilot_i: Index
    pilot_j: Index
    z: Array
    k: Array
    source_node: Index
    source_part: tuple[str, ...]
    a: Array
    b: Array
    c0: Array
    lo: Array
    hi: Array
    laminar: Array
    re_per_q: Array
    rough: Array
    pilot_b: Array
    z0: Array
    droop: Array
    force: Array
    friction: Array
    damping: Array
    v_lo: Array
    v_hi: Array
    source: Array

    @property
    def size(self) -> int:
        return self.source.shape[0]

    def take(self, rows: Index) -> Tables:
        """The same circuit in some of its states (a row may occur more than once)."""
        return replace(self, **{name: getattr(self, name)[rows] for name in NUMBERS})

    def rows(self) -> list[bytes]:
        """The numbers of each state as bytes: equal bytes, equal answer."""
        table = np.concatenate([getattr(self, name) for name in NUMBERS], axis=1)
        return [row.tobytes() for row in np.ascontiguousarray(table) + 0.0]

    def injection(self) -> Array:
        """Flow that the sources put into each node, (S, N), m3/s."""
        return gather_at_nodes(self.nodes, self.source_node, self.source)

    def outflow(self, q: Array, pilot_q: Array, v: Array) -> Array:
        """Net flow that leaves each node through branches, pilots and actuators, (S, N), m3/s."""
        n = self.nodes
        total = gather_at_nodes(n, self.i, q) - gather_at_nodes(n, self.j, q)
        if pilot_q.shape[1]:
            total += gather_at_nodes(n, self.pilot_i, pilot_q) - gather_at_nodes(n, self.pilot_j, pilot_q)
        if v.shape[1]:
            total += v @ self.k
        return total


NUMBERS = tuple(f.name for f in fields(Tables))[[f.name for f in fields(Tables)].index("a") :]


def gather_at_nodes(nodes: int, where: Index, values: Array) -> Array:
    """Sum values (S, M) that belong to nodes `where` (M,) into (S, nodes)."""
    out = np.empty((values.shape[0], nodes))
    for s, row in enumerate(values):
        out[s] = np.bincount(where, weights=row, minlength=nodes)
    return out


def tabulate(network: Network) -> Tables:
    """Stack the numbers of a network. Raises ValueError if an array does not have one number per state."""
    size, nodes = network.size, len(network.nodes)
    branches, pilots, actuators, sources = network.branches, network.pilots, network.actuators, network.sources
    tubes = [n for n, b in enumerate(branches) if b.tube is not None]
    tube_data = [b.tube for b in branches if b.tube is not None]

    def stack(items: list[Array]) -> Array:
        if not items:
            return np.zeros((size, 0))
        table = np.array(items, dtype=float)
        if table.shape != (len(items), size):
            raise ValueError(f"every number needs one value per state ({size}), got {table.shape}")
        return np.ascontiguousarray(table.T)

    def index(items: list[int]) -> Index:
        return np.array(items, dtype=np.intp)

    z = np.zeros((len(pilots), nodes))
    for row, pilot in enumerate(pilots):
        for node, weight in pilot.z.items():
            z[row, node] += weight
    k = np.zeros((len(actuators), nodes))
    for row, actuator in enumerate(actuators):
        for node, weight in actuator.k.items():
            k[row, node] += weight
    return Tables(
        nodes=nodes,
        i=index([b.i for b in branches]),
        j=index([b.j for b in branches]),
        tube=index(tubes),
        leak=np.array([b.leak for b in branches], dtype=bool),
        pilot_i=index([c.i for c in pilots]),
        pilot_j=index([c.j for c in pilots]),
        z=z,
        k=k,
        source_node=index([s.node for s in sources]),
        source_part=tuple(s.part for s in sources),
        a=stack([b.a for b in branches]),
        b=stack([b.b for b in branches]),
        c0=stack([b.c0 for b in branches]),
        lo=stack([b.lo for b in branches]),
        hi=stack([b.hi for b in branches]),
        laminar=stack([t.laminar for t in tube_data]),
        re_per_q=stack([t.re_per_q for t in tube_data]),
        rough=stack([t.rel_rough for t in tube_data]),
        pilot_b=stack([c.b for c in pilots]),
        z0=stack([c.z0 for c in pilots]),
        droop=stack([c.droop for c in pilots]),
        force=stack([x.force for x in actuators]),
        friction=stack([x.friction for x in actuators]),
        damping=stack([x.damping for x in actuators]),
        v_lo=stack([x.lo for x in actuators]),
        v_hi=stack([x.hi for x in actuators]),
        source=stack([s.q for s in sources]),
    )


def readable(tables: Tables) -> NDArray[np.bool_]:
    """(S,) True where every number of a state can be worked with: none missing, no bound above its counterpart."""
    ok = np.ones(tables.size, dtype=bool)
    for name in NUMBERS:
        table = getattr(tables, name)
        bad = np.isnan(table) if name in ("lo", "hi", "v_lo", "v_hi") else ~np.isfinite(table)
        ok &= ~bad.any(axis=1)
    with np.errstate(invalid="ignore"):
        ok &= (tables.lo <= tables.hi).all(axis=1) & (tables.v_lo <= tables.v_hi).all(axis=1)
    return ok
