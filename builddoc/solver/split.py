"""Independent circuits: parts of a network that share nothing but the reservoir are solved one by one.

One stubborn valve then does not hold back the others, and cost grows linearly. The split looks at the topology only
(never at numbers, so a passage that is shut still joins): every state splits alike, and alone as in company.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..network import RESERVOIR
from .tables import Index, Tables


@dataclass(frozen=True, slots=True)
class Piece:
    """One independent circuit. nodes, branches, pilots, actuators, sources: indices in the whole network, in order;
    nodes[0] is the reservoir. tables: the numbers of this circuit alone, nodes renumbered."""

    tables: Tables
    nodes: Index
    branches: Index
    pilots: Index
    actuators: Index
    sources: Index


class UnionFind:
    """Sets of integers that are merged pair by pair."""

    def __init__(self, count: int):
        self.parent = list(range(count))

    def find(self, x: int) -> int:
        parent = self.parent
        while parent[x] != x:
            parent[x] = parent[parent[x]]
            x = parent[x]
        return x

    def join(self, x: int, y: int) -> None:
        self.parent[self.find(x)] = self.find(y)


def split(t: Tables) -> list[Piece]:
    """Independent circuits of a network, in the order of their first node. Nodes that nothing touches are in none."""
    sets = UnionFind(t.nodes)
    pilot_nodes = [
        [int(t.pilot_i[c]), int(t.pilot_j[c]), *np.flatnonzero(t.z[c]).tolist()] for c in range(len(t.pilot_i))
    ]
    actuator_nodes = [np.flatnonzero(row).tolist() for row in t.k]
    branch_nodes = [list(pair) for pair in zip(t.i.tolist(), t.j.tolist(), strict=True)]
    pumps: dict[str, list[int]] = {}  # inlet and outlet belong together: a starved pump delivers less
    for node, part in zip(t.source_node.tolist(), t.source_part, strict=True):
        pumps.setdefault(part or f"at {node}", []).append(node)
    source_nodes = [
        pumps[part or f"at {node}"] for node, part in zip(t.source_node.tolist(), t.source_part, strict=True)
    ]
    for group in (*branch_nodes, *pilot_nodes, *actuator_nodes, *pumps.values()):
        inner = [n for n in group if n != RESERVOIR]
        for other in inner[1:]:
            sets.join(other, inner[0])

    def home(group: list[int]) -> int:
        return next((sets.find(n) for n in group if n != RESERVOIR), RESERVOIR)

    homes = [np.array([home(g) for g in groups], dtype=np.intp) for groups in
             (branch_nodes, pilot_nodes, actuator_nodes, source_nodes)]  # fmt: skip
    used = sorted(set(np.concatenate(homes).tolist()))
    roots = np.array([sets.find(n) for n in range(t.nodes)], dtype=np.intp)
    if len(used) == 1 and np.all(roots[1:] == used[0]):
        return [_piece(t, np.arange(t.nodes), *(np.arange(h.size) for h in homes))]
    pieces = []
    for root in used:
        nodes = np.concatenate([[RESERVOIR], np.flatnonzero(roots == root)]) if root else np.array([RESERVOIR])
        pieces.append(_piece(t, nodes.astype(np.intp), *(np.flatnonzero(h == root) for h in homes)))
    return pieces


def _piece(t: Tables, nodes: Index, branches: Index, pilots: Index, actuators: Index, sources: Index) -> Piece:
    number = np.zeros(t.nodes, dtype=np.intp)
    number[nodes] = np.arange(nodes.size)
    tubes = np.flatnonzero(np.isin(t.tube, branches))
    new_branch = np.zeros(t.i.size, dtype=np.intp)
    new_branch[branches] = np.arange(branches.size)
    columns: dict[str, Index] = dict.fromkeys(("a", "b", "c0", "lo", "hi"), branches)
    columns |= dict.fromkeys(("laminar", "re_per_q", "rough"), tubes)
    columns |= dict.fromkeys(("pilot_b", "z0", "droop"), pilots)
    columns |= dict.fromkeys(("force", "friction", "damping", "v_lo", "v_hi"), actuators)
    columns["source"] = sources
    tables = replace(
        t,
        nodes=nodes.size,
        i=number[t.i[branches]],
        j=number[t.j[branches]],
        tube=new_branch[t.tube[tubes]],
        leak=t.leak[branches],
        pilot_i=number[t.pilot_i[pilots]],
        pilot_j=number[t.pilot_j[pilots]],
        z=t.z[np.ix_(pilots, nodes)],
        k=t.k[np.ix_(actuators, nodes)],
        source_node=number[t.source_node[sources]],
        source_part=tuple(t.source_part[s] for s in sources),
        **{name: np.ascontiguousarray(getattr(t, name)[:, index]) for name, index in columns.items()},
    )
    return Piece(tables, nodes, branches, pilots, actuators, sources)
