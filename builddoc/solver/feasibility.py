"""Can the pump flow leave the circuit at all? Decided before any pressure is computed, and independently of it.

First an open-path test: a chain of passages without an upper flow limit from every pump outlet to the reservoir is
enough. Where there is none, a linear program looks for any flow distribution within the bounds (leakage closed,
pilot-moved passages open both ways, actuators within their stops, voids allowed). If there is none either, its dual
names the nodes that have no way out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..network import RESERVOIR
from .scaling import flow_scale
from .tables import Index, Tables

ROUNDS = 40  # passages in series up to which all states are looked at together
LEAST_EXCESS = 1e-6  # share of the pump flow that must be left over before a circuit counts as having no way out


@dataclass(frozen=True, slots=True)
class WayOut:
    """exists: some flow distribution swallows all pump flow. blocked: nodes without a way out otherwise."""

    exists: bool
    blocked: tuple[int, ...] = ()


def ways_out(t: Tables) -> list[WayOut]:
    """One answer per state. States with the same bounds and sources are decided once."""
    known: dict[bytes, WayOut] = {}
    result = []
    for s, open_ in enumerate(open_paths(t).tolist()):
        if open_:
            result.append(WayOut(True))
            continue
        key = b"".join(x[s].tobytes() for x in (t.lo, t.hi, t.v_lo, t.v_hi, t.source))
        if key not in known:
            known[key] = distribution(t, s)
        result.append(known[key])
    return result


def open_paths(t: Tables) -> NDArray[np.bool_]:
    """(S,) True only if every pump outlet reaches the reservoir over passages without an upper limit: the flow can then
    take that chain. False says nothing."""
    counted = ~t.leak
    forwards, backwards = counted & np.isposinf(t.hi), counted & np.isneginf(t.lo)
    home = np.zeros((t.size, t.nodes), dtype=bool)
    home[:, RESERVOIR] = True
    before = 0
    for _ in range(ROUNDS):
        if home.sum() == before:
            break
        before = int(home.sum())
        for starts, ends, passes in ((t.i, t.j, forwards), (t.j, t.i, backwards)):
            rows, columns = np.nonzero(passes & home[:, ends] & ~home[:, starts])
            home[rows, starts[columns]] = True
        for c in range(t.pilot_i.size):
            both = [int(t.pilot_i[c]), int(t.pilot_j[c])]
            home[:, both] |= home[:, both].any(axis=1, keepdims=True)
    else:
        home[:] = [_leads_home(t, forwards[s], backwards[s]) for s in range(t.size)]
    forced = (((t.lo > 0.0) | (t.hi < 0.0)) & counted).any(axis=1)
    delivers = t.source > 0.0
    return np.asarray((home[:, t.source_node] | ~delivers).all(axis=1) & (~forced | ~delivers.any(axis=1)))


def _leads_home(t: Tables, forwards: NDArray[np.bool_], backwards: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(N,) the same for one state of a long circuit, node by node."""
    edges: list[list[int]] = [[] for _ in range(t.nodes)]
    both = np.ones(t.pilot_i.size, dtype=bool)
    for starts, ends, passes in (
        (t.i, t.j, forwards), (t.j, t.i, backwards), (t.pilot_i, t.pilot_j, both), (t.pilot_j, t.pilot_i, both),
    ):  # fmt: skip
        for start, end in zip(starts[passes].tolist(), ends[passes].tolist(), strict=True):
            edges[end].append(start)
    home = np.zeros(t.nodes, dtype=bool)
    home[list(_reach(edges, [RESERVOIR]))] = True
    return home


def distribution(t: Tables, s: int) -> WayOut:
    """The linear program: least flow that is left over, over all flow distributions within the bounds."""
    from scipy.optimize import linprog
    from scipy.sparse import csr_matrix

    flow = float(flow_scale(t)[s])
    n, m, c, a = t.nodes, t.i.size, t.pilot_i.size, t.k.shape[0]
    k0 = np.maximum(np.abs(t.k).max(axis=1, initial=0.0), 1e-300)
    shaft, shaft_node = np.nonzero(t.k)
    e, pe, inner = np.arange(m), m + np.arange(c), np.arange(1, n)
    spare = m + c + a
    row = np.concatenate([t.i, t.j, t.pilot_i, t.pilot_j, shaft_node, inner, inner])
    column = np.concatenate([e, e, pe, pe, m + c + shaft, spare + inner - 1, spare + n - 1 + inner - 1])
    value = np.concatenate([
        np.ones(m), -np.ones(m), np.ones(c), -np.ones(c), t.k[shaft, shaft_node] / k0[shaft],
        -np.ones(n - 1), np.ones(n - 1),
    ])  # fmt: skip
    balance = csr_matrix((value, (row, column)), shape=(n, spare + 2 * (n - 1)))[1:]
    lo, hi = np.where(t.leak, 0.0, t.lo[s]) / flow, np.where(t.leak, 0.0, t.hi[s]) / flow
    speed = flow / k0
    bounds = [
        *zip(lo, hi, strict=True),
        *[(-np.inf, np.inf)] * c,
        *zip(t.v_lo[s] / speed, t.v_hi[s] / speed, strict=True),
        *[(0.0, np.inf)] * (2 * (n - 1)),
    ]
    cost = np.concatenate([np.zeros(spare + n - 1), np.ones(n - 1)])
    found = linprog(cost, A_eq=balance, b_eq=t.injection()[s, 1:] / flow, bounds=bounds, method="highs")
    if found.status != 0 or found.fun < LEAST_EXCESS:
        return WayOut(True)  # where the program itself fails the pressures decide (they then stand at the bound)
    inside = np.concatenate([[False], found.eqlin.marginals > 0.5])
    return WayOut(False, tuple(_blocked(t, s, inside)))


def _blocked(t: Tables, s: int, inside: np.ndarray) -> Index:
    """Nodes of the dual's set that a pump outlet of the set can reach (the dual may hold idle nodes as well)."""
    forwards: list[list[int]] = [[] for _ in range(t.nodes)]
    for e in np.flatnonzero(~t.leak):
        if t.hi[s, e] > 0.0:
            forwards[t.i[e]].append(int(t.j[e]))
        if t.lo[s, e] < 0.0:
            forwards[t.j[e]].append(int(t.i[e]))
    for i, j in zip(t.pilot_i.tolist(), t.pilot_j.tolist(), strict=True):
        forwards[i].append(j)
        forwards[j].append(i)
    outlets = [int(n) for n, q in zip(t.source_node, t.source[s], strict=True) if q > 0.0 and inside[n]]
    reached = _reach(forwards, outlets, inside)
    if not reached:
        return np.flatnonzero(inside)
    return np.array(sorted(reached), dtype=np.intp)


def _reach(edges: list[list[int]], start: list[int], within: np.ndarray | None = None) -> set[int]:
    seen, stack = set(start), list(start)
    while stack:
        for other in edges[stack.pop()]:
            if other not in seen and (within is None or within[other]):
                seen.add(other)
                stack.append(other)
    return seen
