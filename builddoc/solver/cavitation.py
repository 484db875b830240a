"""Pumps that cannot fill: where a void appears at a pump's inlet, the pump delivers that much less.

The void flow at an inlet is taken off the pump's source there and, in the same amount, off its outlets, and the circuit
is solved again until no void is left at an inlet. (Leakage back to the inlet changes a little each time, so this takes
a few rounds; each brings the rest down by the share that leaks.)
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..network import RESERVOIR, Array
from .attempts import Budget, Outcome, attempt, pick
from .certificate import certify
from .limits import SMALL
from .tables import Tables, gather_at_nodes

ROUNDS = 15
NOTHING = 1e-4  # share of its flow below which a starved pump counts as delivering nothing


def reduce_starved_pumps(t: Tables, out: Outcome, budget: Budget) -> Array:
    """Solve starved states again with less pump flow, in place in `out`; returns the sources (S, Q) that the answers
    belong to. A state where the reduction does not settle is marked as not solved."""
    source = t.source.copy()
    inlets = (t.source < 0.0) & (t.source_node != RESERVOIR)
    todo = np.flatnonzero(out.ok & inlets.any(axis=1))
    for _ in range(ROUNDS):
        if not todo.size:
            return source
        now = replace(t.take(todo), source=source[todo])
        void = certify(now, pick(out.answer, todo)).void_flow
        lack = _lack(now, void, np.abs(t.source[todo]).max(axis=1))
        starved = lack.any(axis=1)
        todo, lack = todo[starved], lack[starved]
        if not todo.size:
            return source
        source[todo] = _deliver(source[todo], lack, t.source[todo], t.source_part)
        again = attempt(replace(t.take(todo), source=source[todo]), budget)
        for name in ("p", "q", "pilot_q", "x", "v"):
            getattr(out.answer, name)[todo] = getattr(again.answer, name)
        out.ok[todo], out.X[todo] = again.ok, again.X
        for row, s in enumerate(todo):
            out.method[s] = again.method[row]
        todo = todo[again.ok]
    out.ok[todo] = False
    return source


def missing_at_inlets(t: Tables, source: Array) -> Array:
    """Flow (S, N) that the pumps at each node would have drawn but did not get, m3/s."""
    return gather_at_nodes(t.nodes, t.source_node, np.where(t.source < 0.0, source - t.source, 0.0))


def _lack(t: Tables, void: Array, unit: Array) -> Array:
    """Void flow of every source column (S, Q): that of its node, shared by the pumps that draw there."""
    drawn = np.where(t.source < 0.0, -t.source, 0.0)
    at_node = gather_at_nodes(t.nodes, t.source_node, drawn)[:, t.source_node]
    share = np.divide(drawn, at_node, out=np.zeros_like(drawn), where=at_node > 0.0)
    lack = share * void[:, t.source_node]
    lack[lack <= 0.1 * SMALL * unit[:, None]] = 0.0
    return np.minimum(lack, drawn)


def _deliver(source: Array, lack: Array, full: Array, parts: tuple[str, ...]) -> Array:
    """Sources after taking `lack` off inlets and, in proportion, off the outlets of the same pump."""
    new = source + lack
    names = np.array(parts)
    for part in dict.fromkeys(parts):
        own = names == part
        outlet = np.where(own & (source > 0.0), source, 0.0)
        total, less = outlet.sum(axis=1), np.where(own, lack, 0.0).sum(axis=1)
        keep = np.divide(total - less, total, out=np.ones_like(total), where=total > 0.0)
        new = np.where(outlet > 0.0, source * np.maximum(keep, 0.0)[:, None], new)
    return np.where(np.abs(new) < NOTHING * np.abs(full), 0.0, new)
