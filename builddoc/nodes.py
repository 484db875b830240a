"""Which ports, joints and points on lines are one and the same node of the network."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field

from . import kinds
from .circuit import Circuit, End, Line
from .network import RESERVOIR

TANK: Hashable = "reservoir"
SAME_PLACE = 1e-6
"""m; points on a line closer than this are one."""


class UnionFind:
    """Sets of keys, joined two by two. The key that was known first stands for its set."""

    def __init__(self) -> None:
        self.parent: dict[Hashable, Hashable] = {}

    def find(self, key: Hashable) -> Hashable:
        parent = self.parent
        above = parent.setdefault(key, key)
        while above is not key:  # what stands for a set is its own parent, the very same object
            parent[key] = parent[above]
            key, above = above, parent[above]
        return key

    def join(self, first: Hashable, second: Hashable) -> None:
        self.parent[self.find(second)] = self.find(first)


def port_key(part: str, port: str) -> Hashable:
    return ("port", part, port)


def tap_key(line: str, at: float) -> Hashable:
    return ("tap", line, round(at / SAME_PLACE))


@dataclass(slots=True)
class Nodes:
    """Node numbers of a circuit. names: of the nodes, index = number, 0 = the reservoir. ports: (part, port) -> node.
    taps: line -> distances from its start at which others start on it, between its ends, rising. ends: line -> nodes of
    its start, of its taps, of its end; one node alone for a direct joint."""

    names: list[str]
    ports: dict[tuple[str, str], int] = field(default_factory=dict)
    taps: dict[str, list[float]] = field(default_factory=dict)
    ends: dict[str, list[int]] = field(default_factory=dict)


def number(circuit: Circuit) -> Nodes:
    """Number every port and tap. Joined ports of a part, direct joints and ports at the reservoir share a node.

    Raises ValueError if a line starts beyond the end of the line it names (`language` refuses that first).
    """
    sets = UnionFind()
    sets.find(TANK)
    labels: dict[Hashable, str] = {}
    for part in circuit.parts.values():
        kind = kinds.registry()[part.kind]
        for port in kind.ports(part.params):
            labels[port_key(part.name, port.name)] = f"{part.name}.{port.name}"
            sets.find(port_key(part.name, port.name))
        for group in kind.joined(part.params):
            for other in group[1:]:
                sets.join(port_key(part.name, group[0]), port_key(part.name, other))
        for name in kind.at_reservoir(part.params):
            sets.join(TANK, port_key(part.name, name))
    taps = {line.name: points_on(circuit, line) for line in circuit.lines.values()}
    for name, points in taps.items():
        for at in points:
            labels.setdefault(tap_key(name, at), f"{name} at {at:g} m")
    for line in circuit.lines.values():
        start, end = end_key(line.start, circuit), end_key(line.end, circuit)
        if line.conduit is None:
            sets.join(start, end)
    found = Nodes(["reservoir"], taps=taps)
    numbers = {sets.find(TANK): RESERVOIR}
    for key, label in labels.items():
        root = sets.find(key)
        if root not in numbers:
            numbers[root] = len(found.names)
            found.names.append(label)
    for part in circuit.parts.values():
        for port in kinds.registry()[part.kind].ports(part.params):
            found.ports[part.name, port.name] = numbers[sets.find(port_key(part.name, port.name))]
    for line in circuit.lines.values():
        places = [end_key(line.start, circuit), *(tap_key(line.name, at) for at in taps[line.name])]
        places.append(end_key(line.end, circuit))
        nodes = [numbers[sets.find(place)] for place in places]
        found.ends[line.name] = nodes[:1] if line.conduit is None else nodes
    return found


def points_on(circuit: Circuit, line: Line) -> list[float]:
    """Distances between the ends of a line at which others start on it."""
    found: dict[Hashable, float] = {}
    for other in circuit.lines.values():
        for end in (other.start, other.end):
            if end.line == line.name and not _at_an_end(end, line):
                found.setdefault(tap_key(line.name, end.at), end.at)
    return sorted(found.values())


def _at_an_end(end: End, line: Line) -> bool:
    """A point at the very start or end of a line is that end; on a direct joint every point is."""
    if not 0.0 <= end.at <= line.length + SAME_PLACE and line.conduit is not None:
        raise ValueError(f"{end} lies outside the line, which is {line.length:g} m long")
    return line.conduit is None or end.at < SAME_PLACE or end.at > line.length - SAME_PLACE


def end_key(end: End, circuit: Circuit) -> Hashable:
    """Key of the place where a line ends."""
    for _ in range(len(circuit.lines) + 1):
        if not end.line:
            return port_key(end.part, end.port)
        host = circuit.lines[end.line]
        if not _at_an_end(end, host):
            return tap_key(host.name, end.at)
        end = host.start if host.conduit is None or end.at < SAME_PLACE else host.end
    raise ValueError("lines start on each other in a ring")
