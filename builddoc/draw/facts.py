"""What a state changes in the symbols themselves: positions, open and shut, passages that carry oil."""

from __future__ import annotations

from typing import Any

from .. import kinds
from ..circuit import Part
from ..kinds import orders
from ..kinds.base import SpoolOrder
from ..results import Results
from .figures import IDLE_SHARE
from .pen_svg import FIGURES


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
                    if value.share < 1.0:
                        found[s].add(f"part {spool}")
            elif isinstance(value, str) and control.name == "position":
                found[s].add(f"at {value}")
            elif control.name == "sleeve" and value != "fitted":
                found[s].add("no sleeve")
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
    least = [IDLE_SHARE * _largest(results, s) for s in range(results.size)]
    solved = [s for s in range(results.size) if results.solved[s]]
    for s in solved:
        found[s].add(FIGURES)
    for k in results.of_part(part.name).branches:
        branch = results.network.branches[k]
        if branch.leak:
            continue
        spool, _, way = branch.role.rpartition(": ")
        shown = not spool or spool in names
        flow = results.q[:, k].tolist()
        for s in solved:
            if abs(flow[s]) > least[s]:  # not where it is nan
                found[s] |= _carrying(params, names, spool, way) if shown else _beyond(params, way)


def _carrying(params: Any, names: list[str], spool: str, way: str) -> set[str]:
    """Facts of one passage that carries oil, named as in the valve's symbol."""
    own = f"{way[0]} {spool}"
    if way == "relief":
        inlet = params.relief is not None and spool == ("" if names != [""] else spool)
        return {"relief", "P", "T"} if inlet else {f"{spool} section", "P", "T"}
    if way == "centre":
        n = names.index(spool)
        last = n == len(names) - 1
        return {f"by {n}", *(["P"] if n == 0 else []), *(["PB" if params.power_beyond else "T"] if last else [])}
    if way.startswith("P to "):
        return {f"{way[-1]} {spool}", f"{way[-1]} {spool} in", "P"}
    if way.endswith(" to T"):
        return {own, f"{own} out", "T"}
    if way.endswith(" onward"):
        return {own, f"{own} out"}
    if way == "B to A":
        return {f"A {spool}", f"B {spool}", f"{spool} regen"}
    if way.startswith("relief of "):
        return {f"{way[-1]} {spool} relief", "T"}
    if way.startswith("make-up to "):
        return {f"{way[-1]} {spool} make-up"}
    return set()


def _beyond(params: Any, way: str) -> set[str]:
    """Facts of a passage in a section that is not drawn: what passes it leaves the valve by the same port."""
    return {"T"} if way.endswith(" to T") or (way == "centre" and not params.power_beyond) else set()


def _largest(results: Results, s: int) -> float:
    row = abs(results.q[s])
    return float(row[row == row].max(initial=0.0))
