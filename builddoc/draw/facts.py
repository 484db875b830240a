"""What a state changes in the symbols themselves: positions, open and shut, passages that carry oil."""

from __future__ import annotations

from typing import Any

from .. import kinds
from ..circuit import Part
from ..kinds import orders
from ..kinds.base import SpoolOrder
from ..results import Results
from .figures import IDLE_SHARE


def facts(part: Part, results: Results) -> list[frozenset[str]]:
    """Facts of a part in every state, as its symbol asks for them (`Mark.when`, `Mark.on`)."""
    kind = kinds.registry()[part.kind]
    found: list[set[str]] = [set() for _ in range(results.size)]
    for control in kind.controls(part.params):
        for s, value in enumerate(results.orders(part.name, control.name)):
            if isinstance(value, SpoolOrder):
                if value.position != "centre":
                    spool = "" if control.name == "position" else control.name
                    found[s].add(f"at {spool} {value.position}")
            elif isinstance(value, str) and control.name == "position":
                found[s].add(f"at {value}")
            elif control.parse is orders.coupling and not value:
                found[s].add("apart")
            elif control.parse is orders.opening and value == orders.SHUT:
                found[s].add("shut")
    if kind.symbol == "directional valve":
        _passages(part, results, found)
    return [frozenset(f) for f in found]


def _passages(part: Part, results: Results, found: list[set[str]]) -> None:
    """Which galleries of a valve carry oil."""
    params: Any = part.params
    names = list(params.spools) or [""]
    for k, branch in enumerate(results.network.branches):
        if branch.part != part.name or branch.leak:
            continue
        spool, _, way = branch.role.rpartition(": ")
        for s in range(results.size):
            q = results.q[s, k]
            if not results.solved[s] or q != q or abs(q) <= IDLE_SHARE * _largest(results, s):
                continue
            here = found[s]
            if way == "relief":
                here |= {"relief", "P", "T"}
            elif way == "centre":
                n = names.index(spool)
                here.add(f"by {n}")
                if n == 0:
                    here.add("P")
                if n == len(names) - 1:
                    here.add("PB" if params.power_beyond else "T")
            elif way.startswith("P to "):
                here |= {f"{way[-1]} {spool}", f"{way[-1]} {spool} in", "P"}
            elif way.endswith(" to T"):
                here |= {f"{way[0]} {spool}", f"{way[0]} {spool} out", "T"}
            elif way == "B to A":  # regenerative position
                here |= {f"A {spool}", f"B {spool}"}
            elif way.endswith(" onward"):
                here |= {f"{way[0]} {spool}", f"{way[0]} {spool} out"}


def _largest(results: Results, s: int) -> float:
    row = abs(results.q[s])
    return float(row[row == row].max(initial=0.0))
