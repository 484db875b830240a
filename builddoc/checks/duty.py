"""What a line is for, worked out from the circuit where the writer does not say it."""

from __future__ import annotations

import numpy as np

from .. import kinds
from ..circuit import Circuit
from ..network import RESERVOIR, Array, Network
from . import walk
from .base import Case, once

DUTIES = ("suction", "pressure", "return", "drain", "pilot")


@once
def duties_of(case: Case) -> dict[str, str]:
    """`duties` of a case, which many rules ask for."""
    return duties(case.circuit, case.network)


def duties(circuit: Circuit, network: Network) -> dict[str, str]:
    """Duty of every line.

    The writer's word stands. Else: a line on the way to a pump's inlet is suction; one at a drain or pilot port is
    that; one from which passive parts lead to the reservoir, and which no pump feeds through passive parts, is return;
    the rest is pressure. A line from the reservoir's own port is never pressure.
    """
    passive = {p.name for p in circuit.parts.values() if _passive(circuit, p.name)}
    lines = set(circuit.lines)
    roles = _port_roles(circuit)
    pumps = walk.pumps(network)
    inlets = _inlets(pumps, network)

    def side(nodes: set[int], backward: bool) -> set[int]:
        return walk.reach(
            network, nodes, walk.EVER, lambda part, role: part in lines or part in passive, backward=backward
        )

    suction = side({p.inlet for p in pumps} - {RESERVOIR}, True) - {RESERVOIR}
    returns = side({RESERVOIR}, True)
    fed = side({p.outlet for p in pumps} - {RESERVOIR}, False) - {RESERVOIR}
    result: dict[str, str] = {}
    for name, line in circuit.lines.items():
        nodes = set(network.line_nodes[name])
        ends_at = {(end.part, end.port) for end in (line.start, line.end)}
        ends = {roles.get(end, "") for end in ends_at}
        if line.duty:
            result[name] = line.duty
        elif "drain" in ends or "pilot" in ends:
            result[name] = "drain" if "drain" in ends else "pilot"
        elif (nodes <= suction | {RESERVOIR} and nodes & suction) or ends_at & inlets:
            result[name] = "suction"
        elif RESERVOIR in nodes or (nodes <= returns and not nodes & fed):
            result[name] = "return"
        else:
            result[name] = "pressure"
    return result


def _passive(circuit: Circuit, name: str) -> bool:
    """Oil goes through it and that is all: no relief, nothing that moves, no pump, no more than one way through."""
    part = circuit.parts[name]
    kind = kinds.registry()[part.kind]
    if kind.group in ("energy", "actuators") or kind.reliefs(part.params) or kind.at_reservoir(part.params):
        return False
    ports = kind.ports(part.params)
    joined = sum(len(group) - 1 for group in kind.joined(part.params))
    return len(ports) - joined <= 2


def _port_roles(circuit: Circuit) -> dict[tuple[str, str], str]:
    return {
        (part.name, port.name): port.role
        for part in circuit.parts.values()
        for port in kinds.registry()[part.kind].ports(part.params)
    }


def _inlets(pumps: list[walk.Pump], network: Network) -> set[tuple[str, str]]:
    """Inlet ports: a direct joint between reservoir and pump has the reservoir's node at both ends."""
    return {
        (part, port)
        for (part, port), node in network.port_nodes.items()
        if any(p.part == part and p.inlet == node for p in pumps)
    }


def flow_of(line: str, network: Network, q: Array) -> Array:
    """Largest flow (m3/s, absolute) in any run of a line, per state (S,); nan if the line is no passage of its own."""
    branches = network.line_branches.get(line, [])
    if not branches:
        return np.full(network.size, np.nan)
    return np.max(np.abs(q[:, branches]), axis=1)
