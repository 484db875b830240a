"""What the data leave open in a solved state, and what a steady point does not say.

Flows and speeds: a passage without any resistance that carries flow, a moving rod without damping and a half-open
pilot without droop can change their flow at unchanged pressures. Where such changes can balance at every node, a
continuum of exact answers exists: the split is not determined. (Found ones are certain; a passage that stands exactly
at a bound is not looked at.)

Pilots: an opening that other pressures hold half open is steady on paper; whether it is calm is another matter.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..network import RESERVOIR
from .certificate import Answer
from .limits import SMALL
from .scaling import flow_scale
from .tables import Tables

CLEAR = 1e-4  # an opening counts as half open when this far from both stops


@dataclass(frozen=True, slots=True)
class OpenSplit:
    """Branches and actuators whose flow or speed is not fixed."""

    branches: list[int]
    actuators: list[int]


@dataclass(frozen=True, slots=True)
class Loose:
    """What may change its flow, speed or opening at unchanged pressures: (S, M), (S, A), (S, C)."""

    branches: NDArray[np.bool_]
    actuators: NDArray[np.bool_]
    pilots: NDArray[np.bool_]


def loose(t: Tables, answer: Answer) -> Loose:
    """Of every state."""
    margin = SMALL * flow_scale(t)[:, None]
    flat = (t.a == 0.0) & (t.b == 0.0) & (t.i != t.j)
    flat[:, t.tube] &= t.laminar == 0.0
    q = answer.q
    slow = margin / np.maximum(np.abs(t.k).max(axis=1, initial=0.0), 1e-300)
    v, x = answer.v, answer.x
    return Loose(
        flat & (np.abs(q) > margin) & (q > t.lo + margin) & (q < t.hi - margin),
        (t.damping == 0.0) & (np.abs(v) > slow) & (v > t.v_lo + slow) & (v < t.v_hi - slow),
        (t.droop == 0.0) & (x > CLEAR) & (x < 1.0 - CLEAR) & (np.abs(answer.pilot_q) > margin),
    )


def open_split(t: Tables, found: Loose, s: int) -> OpenSplit:
    """Flows and speeds of state s that may change without any law noticing."""
    branches, actuators = np.flatnonzero(found.branches[s]), np.flatnonzero(found.actuators[s])
    pilots = np.flatnonzero(found.pilots[s])
    count = branches.size + actuators.size + pilots.size
    if count < 2:
        return OpenSplit([], [])
    k0 = np.abs(t.k).max(axis=1, initial=0.0)
    balance = np.zeros((t.nodes, count))
    for column, (i, j) in enumerate(
        [*zip(t.i[branches], t.j[branches], strict=True), *zip(t.pilot_i[pilots], t.pilot_j[pilots], strict=True)]
    ):
        balance[i, column] += 1.0
        balance[j, column] -= 1.0
    if actuators.size:
        balance[:, branches.size + pilots.size :] = (t.k[actuators] / k0[actuators, None]).T
    _, values, vt = np.linalg.svd(balance[1:])
    rank = int((values > 1e-9 * max(float(values.max(initial=0.0)), 1.0)).sum())
    moves = np.abs(vt[rank:]).max(axis=0, initial=0.0) > 1e-7
    return OpenSplit(
        branches[moves[: branches.size]].tolist(), actuators[moves[branches.size + pilots.size :]].tolist()
    )


def half_open(t: Tables, answer: Answer) -> NDArray[np.bool_]:
    """(S, C) pilots that pass oil half open and are helped open by the pressure of a node other than their own inlet.
    (One that passes none may as well be shut; see `ranges`.)"""
    x, passes = answer.x, np.abs(answer.pilot_q) > SMALL * flow_scale(t)[:, None]
    return helped_open(t) & passes & (x > CLEAR) & (x < 1.0 - CLEAR)


def helped_open(t: Tables) -> NDArray[np.bool_]:
    """(C,) pilots that the pressure of a node other than their own inlet pushes open."""
    return np.array([(np.delete(t.z[c], t.pilot_i[c]) > 0.0).any() for c in range(t.z.shape[0])], dtype=bool)



def shut_by_outlet(t: Tables) -> NDArray[np.bool_]:
    """(C,) pilots that the pressure behind them pushes shut."""
    return np.array([t.pilot_j[c] != RESERVOIR and t.z[c, t.pilot_j[c]] < 0.0 for c in range(t.z.shape[0])], dtype=bool)
