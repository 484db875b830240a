"""Faults of lines: a hose that carries a load bursts, the line of a tank port is shut."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from .. import kinds
from ..checks import walk
from ..circuit import End, State
from ..network import RESERVOIR, Actuator
from .basis import fault, still

if TYPE_CHECKING:
    from ..checks.base import Case

CARRIES = 0.5  # share of the load's pressure from which a hose counts as carrying it; ours


def burst(case: Case, base: list[int]) -> Iterator[State]:
    """Every hose that carries a load, torn in the state with the greatest load on it."""
    net = case.network
    worst: dict[str, tuple[float, int]] = {}
    hoses = [n for n, line in case.circuit.lines.items() if line.conduit is not None and line.conduit.kind == "hose"]
    for s in base:
        for actuator in net.actuators:
            carried = _carried(case, s, actuator)
            if not carried:
                continue
            force = abs(float(actuator.force[s]))
            for name in hoses:
                ends = {n for k in net.line_branches[name] for n in (net.branches[k].i, net.branches[k].j)}
                if ends & carried and force > worst.get(name, (0.0, 0))[0]:
                    worst[name] = (force, s)
    for name, (_, s) in worst.items():
        yield fault(case, s, f"{name} burst", "burst hoses", (name,), cut=(name,))


def _carried(case: Case, s: int, actuator: Actuator) -> set[int]:
    """Nodes whose pressure holds the load of an actuator that is free to fall: those that the oil under the load could
    get to."""
    force = float(actuator.force[s])
    free = actuator.lo[s] < 0 if force > 0 else actuator.hi[s] > 0
    if force == 0 or not free:
        return set()
    found: set[int] = set()
    for node, k in actuator.k.items():
        if k * force > 0:
            level = _level(case, s, node)
            near = walk.reach(case.network, [node], s, pilots=False, rotors=True) - {RESERVOIR}
            found |= {n for n in near if _level(case, s, n) >= CARRIES * level > 0}
    return found


def _level(case: Case, s: int, node: int) -> float:
    """Pa; the least that a pressure can be where the state leaves it open."""
    low, _ = case.solution.states[s].ranges.get(node, (float(case.results.p[s, node]), np.nan))
    return low


def capped(case: Case, base: list[int]) -> Iterator[State]:
    """Every tank port whose line is a real one, in the states where oil leaves by it."""
    r = case.results
    for name, line in case.circuit.lines.items():
        runs = case.network.line_branches[name]
        for end, k in ((line.start, runs[0]), (line.end, runs[-1])) if runs else ():
            if _is_tank_port(case, end):
                for s in base:
                    if abs(r.q[s, k]) > still(case, s):
                        about = (end.part, name)
                        yield fault(case, s, f"{end} capped", "capped tank ports", about, capped=(end,))


def _is_tank_port(case: Case, end: End) -> bool:
    part = case.circuit.parts.get(end.part)
    if part is None:
        return False
    kind = kinds.registry()[part.kind]
    roles = {port.name: port.role for port in kind.ports(part.params)}
    return roles.get(end.port) == "return" and end.port not in kind.at_reservoir(part.params)
