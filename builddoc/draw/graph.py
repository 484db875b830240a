"""The circuit as a drawing sees it: what hangs above what, which line plays which role, in an order of its own.

Nothing here depends on the order of writing: the walk starts at the pumps and follows the ports in the kinds' order;
names only break ties.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

from .. import kinds
from ..circuit import Circuit, End, Line
from ..kinds.base import Port
from ..nodes import UnionFind

ROLES = ("pressure", "work", "suction", "return", "drain", "pilot")
BASE, ACTUATORS = "energy", "actuators"
CONDUCTING = ("conditioning", "lines", "measuring")
"""Groups of kinds that are one net on all their sides, whatever the state: tee, filter, cooler, coupler, gauge."""


class Spot(NamedTuple):
    """Where a run of a line ends: at a part's port, at the reservoir (drawn once per line end) or at a tap of a line.

    key: ("part", name) | ("tank", line, "start"/"end") | ("tap", line, number). port: "" unless at a part.
    """

    key: tuple[str, ...]
    port: str = ""


class Run(NamedTuple):
    """A piece of line between two spots, in the sense of positive flow. number counts along the line from 0.

    up: the end spot is drawn above the start spot. arch: both ends at actuators, the label lies above both."""

    line: str
    number: int
    start: Spot
    end: Spot
    up: bool = True
    arch: bool = False


@dataclass(slots=True)
class Picture:
    """Everything to be placed. parts: names in walking order. tanks: spots of the reservoir, one per line end.
    taps: spots on lines. roles: line -> role. shafts: (driver, pump). ports: names of each part's ports, in order.
    alike: (part, port) of ports that a reader need not tell apart. fitted: ports of every part of the circuit, as its
    kind gives them."""

    parts: list[str] = field(default_factory=list)
    tanks: dict[tuple[str, ...], str] = field(default_factory=dict)
    taps: list[tuple[str, ...]] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    roles: dict[str, str] = field(default_factory=dict)
    shafts: list[tuple[str, str]] = field(default_factory=list)
    ports: dict[str, list[str]] = field(default_factory=dict)
    alike: set[tuple[str, str]] = field(default_factory=set)
    fitted: dict[str, tuple[Port, ...]] = field(default_factory=dict)


def picture(circuit: Circuit) -> Picture:
    """Order, roles and heights of a circuit's parts and lines."""
    return _Walk(circuit).result()


def fitted(circuit: Circuit) -> dict[str, tuple[Port, ...]]:
    """Ports of every part, as its kind gives them."""
    registry = kinds.registry()
    return {name: registry[part.kind].ports(part.params) for name, part in circuit.parts.items()}


def joined_directly(line: Line) -> bool:
    """True for parts screwed together: no conduit, so no figures of its own."""
    return line.conduit is None and not line.fittings


class _Walk:
    def __init__(self, circuit: Circuit):
        self.circuit = circuit
        registry = kinds.registry()
        self.kind = {name: registry[part.kind] for name, part in circuit.parts.items()}
        self.ports = fitted(circuit)
        self.tank_ports = {
            (name, port) for name, part in circuit.parts.items() for port in self.kind[name].at_reservoir(part.params)
        }
        self.ends = {name: (line.start, line.end) for name, line in circuit.lines.items()}
        self.place = {(n, port.name): i for n, ports in self.ports.items() for i, port in enumerate(ports)}
        self.conducts = {name: kind.group in CONDUCTING for name, kind in self.kind.items()}
        self.passes = {name: self._passes(name) for name in circuit.parts}
        # Whether its start and its end are the reservoir itself.
        self.wet = {name: (self._at_tank(a), self._at_tank(b)) for name, (a, b) in self.ends.items()}
        self.dry = {
            name: [end for end, wet in zip(ends, self.wet[name], strict=True) if end.part and not wet]
            for name, ends in self.ends.items()
        }
        self.taps = self._find_taps()
        self.reservoirs = self._reservoirs()
        self.touching: dict[str, list[tuple[int, str, str]]] = {name: [] for name in circuit.parts}
        for name, dry in self.dry.items():
            for end in dry:
                self.touching[end.part].append((self.place.get((end.part, end.port), 99), name, end.port))
        for touched in self.touching.values():
            touched.sort()
        self.near = self._parts_by_line()
        self.distance: dict[str, int] = {}

    def result(self) -> Picture:
        p = Picture(fitted=self.ports)
        order, self.distance = self._order()
        p.parts = [n for n in order if n not in self.reservoirs]
        p.shafts = self._shafts(p.parts)
        lines = self._line_order(order)
        met = {line: n for n, line in enumerate(lines)}
        p.ports = {n: self._port_order(n, met) for n in p.parts}
        p.alike = {(n, port.name) for n in p.parts for port in self.ports[n] if port.alike}
        p.roles, depth = self._roles(lines)
        for name in lines:
            p.taps += [("tap", name, str(n)) for n in range(len(self.taps.get(name, ())))]
            p.runs += self._runs(self.circuit.lines[name], p, depth.get(name))
        return p

    # ---- small questions
    def _at_tank(self, end: End) -> bool:
        return (end.part, end.port) in self.tank_ports

    def _reservoirs(self) -> set[str]:
        """Parts of which all ports are the reservoir itself. Drawn at each line end, not as a box."""
        reached = {end.part for ends in self.ends.values() for end in ends}
        return {
            name for name in {part for part, _ in self.tank_ports} & reached
            if all((name, port.name) in self.tank_ports for port in self.ports[name])
        }  # fmt: skip

    def _port_role(self, end: End) -> str:
        place = self.place.get((end.part, end.port))
        return "work" if place is None else self.ports[end.part][place].role

    def _find_taps(self) -> dict[str, list[float]]:
        found: dict[str, set[float]] = {}
        for ends in self.ends.values():
            for end in ends:
                if end.line:
                    found.setdefault(end.line, set()).add(end.at)
        return {name: sorted(at) for name, at in found.items()}

    def _passes(self, name: str) -> bool:
        """Oil runs through it from line to line: what conducts, and hand valves, checks, orifices."""
        if self.kind[name].group in (BASE, ACTUATORS):
            return False
        return self.conducts[name] or all(port.role in ("work", "pilot", "gauge") for port in self.ports[name])

    # ---- order
    def _neighbours(self, name: str) -> list[str]:
        """Parts one line away, in port order; through taps too, never through the reservoir."""
        found: list[str] = []
        for _, line_name, _ in self.touching[name]:
            found += [other for other in self.near[line_name] if other != name]
        return found

    def _parts_by_line(self) -> dict[str, list[str]]:
        """Line -> parts at its ends and at the ends of all lines that share a tap with it."""
        joined = UnionFind()
        for name, pair in self.ends.items():
            for end in pair:
                if end.line:
                    joined.join(name, end.line)
        ends: dict[Hashable, list[str]] = {}
        for name in sorted(self.ends):
            ends.setdefault(joined.find(name), []).extend([end.part for end in self.dry[name]])
        return {name: ends[joined.find(name)] for name in self.ends}

    def _order(self) -> tuple[list[str], dict[str, int]]:
        """Breadth first from the pumps (then from whatever is left, by name), and the number of steps taken."""
        parts = self.circuit.parts

        def seed(name: str) -> tuple[bool, bool, str, str]:
            is_source = any(port.role == "suction" for port in self.ports[name])
            return not is_source, not self.touching[name], parts[name].kind, name

        order: list[str] = []
        distance: dict[str, int] = {}
        rank = {name: seed(name) for name in parts}
        seeds = sorted(parts, key=rank.__getitem__)
        sources = [n for n in seeds if not rank[n][0]]
        queue: deque[str] = deque()
        for first in [sources, *([n] for n in seeds)]:
            fresh = [n for n in first if n not in distance]
            distance.update(dict.fromkeys(fresh, 0))
            queue.extend(fresh)
            while queue:
                name = queue.popleft()
                order.append(name)
                for other in self._neighbours(name):
                    if other not in distance:
                        distance[other] = distance[name] + 1
                        queue.append(other)
        return order, distance

    def _line_order(self, order: list[str]) -> list[str]:
        """Lines as the walk meets them; lines that touch no part (tap to tap, tank to tank) last."""
        seen: dict[str, None] = {}
        for name in order:
            for _, line_name, _ in self.touching[name]:
                seen.setdefault(line_name)
        for line_name in sorted(self.circuit.lines):
            seen.setdefault(line_name)
        return list(seen)

    def _port_order(self, name: str, met: Mapping[str, int]) -> list[str]:
        """Ports from left to right: the kind's order for a valve with P, T and work ports; elsewhere as the walk meets
        their lines, gauges and reliefs last, so that branches grow to one side and do not cross."""
        ports = self.ports[name]
        if len(ports) < 2 or (self.kind[name].group == "valves" and len(ports) > 2):
            return [port.name for port in ports]

        def place(port: Port) -> tuple[bool, int]:
            here = [line for _, line, port_name in self.touching[name] if port_name == port.name]
            far = {end.part for line in here for end in self.ends[line] if end.part and end.part != name}
            aside = any(self.kind[f].group == "measuring" or self._is_relief(f) for f in far)
            return aside, min((met[line] for line in here), default=len(met))

        return [port.name for port in sorted(ports, key=place)]

    def _is_relief(self, name: str) -> bool:
        return len(self.ports[name]) == 2 and bool(self.kind[name].reliefs(self.circuit.parts[name].params))

    def _shafts(self, parts: list[str]) -> list[tuple[str, str]]:
        found = []
        for name in parts:
            driver = vars(self.circuit.parts[name].params).get("driven_by", "")
            if driver in self.circuit.parts:
                found.append((driver, name))
        return found

    # ---- roles
    def _roles(self, lines: list[str]) -> tuple[dict[str, str], dict[str, dict[str, int]]]:
        """Role of every line; and heights of the parts of nets that end in the reservoir or at actuators."""
        roles = self._net_roles(self._nets(lines, self.conducts, {}))
        depths: dict[str, dict[str, int]] = {}
        for net in self._nets(lines, self.passes, roles):
            if any(any(self.wet[name]) for name in net):
                depths.update(dict.fromkeys(net, self._steps(net, from_tank=True)))
            elif any(self.kind[e.part].group == ACTUATORS for name in net for e in self.dry[name]):
                steps = {part: -n for part, n in self._steps(net, from_tank=False).items()}
                depths.update(dict.fromkeys(net, steps))
        duty = {name: self.circuit.lines[name].duty or self._pilot(name) for name in roles}
        return {name: duty[name] or role for name, role in roles.items()}, depths

    def _pilot(self, name: str) -> str:
        """Only the line that ends at a pilot port is one, not the working lines that its net joins."""
        return "pilot" if any(e.part and self._port_role(e) == "pilot" for e in self.ends[name]) else ""

    def _net_roles(self, nets: list[list[str]]) -> dict[str, str]:
        """Line -> role. A net that ends only at hand valves, checks and orifices takes after the net beyond them."""
        found: dict[int, str] = {}
        valves: dict[str, list[int]] = {}
        for n, net in enumerate(nets):
            wet = any(any(self.wet[name]) for name in net)
            own = []
            for e in [e for name in net for e in self.dry[name]]:
                if not self.passes[e.part]:
                    own.append(e)
                elif not self.conducts[e.part]:
                    valves.setdefault(e.part, []).append(n)
            moves = any(self.kind[e.part].group == ACTUATORS for e in own)
            found[n] = _role({self._port_role(e) for e in own} - {"pilot"}, wet, moves)
        for _ in nets:
            known = dict(found)
            for pair in valves.values():
                for n in pair:
                    if found[n] not in ("", "wet"):
                        continue
                    beyond = [found[m] for m in pair if m != n and found[m]]
                    if beyond and (not found[n] or (found[n] == "wet" and beyond[0] == "suction")):
                        found[n] = beyond[0]
            if found == known:
                break
        final = {"": "pressure", "wet": "return"}
        return {name: final.get(found[n], found[n]) for n, net in enumerate(nets) for name in net}

    def _nets(self, lines: list[str], joins: Mapping[str, bool], roles: Mapping[str, str]) -> list[list[str]]:
        """Lines that are one net: connected by taps, or through parts that `joins` and with lines of one role."""
        joined = UnionFind()
        at_part: dict[tuple[str, str], str] = {}
        for name in lines:
            for end in self.ends[name]:
                if end.line:
                    joined.join(end.line, name)
            for end in self.dry[name]:
                if joins[end.part]:
                    joined.join(at_part.setdefault((end.part, roles.get(name, "")), name), name)
        nets: dict[Hashable, list[str]] = {}
        for name in lines:
            nets.setdefault(joined.find(name), []).append(name)
        return list(nets.values())

    def _steps(self, net: list[str], from_tank: bool) -> dict[str, int]:
        """Steps of each part of a net from the reservoir, so that a return filter hangs between valve and tank, or from
        the actuators, so that a coupler hangs between valve and ram."""
        steps: dict[str, int] = {}
        for name in net:
            start, finish = self.ends[name]
            for end, far in ((start, finish), (finish, start)):
                if from_tank and end.part and self._at_tank(end) and far.part and not self._at_tank(far):
                    steps[far.part] = 1
                if not from_tank and end.part and self.kind[end.part].group == ACTUATORS:
                    steps[end.part] = 0
        queue = deque(steps)
        members = set(net)
        while queue:
            part = queue.popleft()
            if not self.passes[part] and steps[part] > 0:
                continue
            for _, line_name, _ in self.touching[part]:
                if line_name in members:
                    for other in self.near[line_name]:
                        if other not in steps:
                            steps[other] = steps[part] + 1
                            queue.append(other)
        return steps

    # ---- runs
    def _runs(self, line: Line, p: Picture, depth: dict[str, int] | None) -> list[Run]:
        taps = [Spot(("tap", line.name, str(n))) for n in range(len(self.taps.get(line.name, ())))]
        spots = [self._spot(line, line.start, "start", p), *taps, self._spot(line, line.end, "end", p)]
        up, arch = self._upward(line, depth)
        return [Run(line.name, n, a, b, up, arch) for n, (a, b) in enumerate(pairwise(spots))]

    def _spot(self, line: Line, end: End, which: str, p: Picture) -> Spot:
        if end.line:
            return Spot(("tap", end.line, str(self.taps[end.line].index(end.at))))
        if end.part in self.reservoirs and self._at_tank(end):
            key = ("tank", line.name, which)
            p.tanks[key] = end.part
            return Spot(key)
        return Spot(("part", end.part), end.port)

    def _upward(self, line: Line, depth: dict[str, int] | None) -> tuple[bool, bool]:
        """(end above start, arch). The reservoir lies lowest, then the pump; actuators lie highest."""
        wet = any(self.wet[line.name])
        a, b = (self._height(end, depth, wet) for end in (line.start, line.end))
        if a != b:
            return b > a, False
        both = all(e.part and self.kind[e.part].group == ACTUATORS for e in (line.start, line.end))
        if both and not joined_directly(line):
            return True, True
        return (line.end.part, line.end.port) > (line.start.part, line.start.port), False

    def _height(self, end: End, depth: dict[str, int] | None, wet: bool) -> tuple[int, int]:
        """Comparable heights of the two ends of one line. wet: the other end is the reservoir."""
        if end.line:
            # A branch grows upwards from its host, unless it leads down to the reservoir.
            return (1, 10_000) if wet else (1, -10_000)
        if self._at_tank(end):
            return (0, 0)
        if depth is not None:
            return (1, depth.get(end.part, 9_999))
        return (1, self.distance[end.part])


def _role(ports: set[str], wet: bool, actuator: bool) -> str:
    """Role of a net from the roles of the ports it joins; "" = nothing tells, "wet" = nothing but the reservoir tells.
    wet: it reaches the reservoir. actuator: it reaches one."""
    if "suction" in ports and "pressure" not in ports:
        return "suction"
    if wet:
        return "drain" if ports == {"drain"} else ("return" if ports else "wet")
    if "pressure" in ports:
        return "pressure"
    if ports <= {"return", "drain"}:
        return "return" if ports else ""
    return "work" if actuator or "work" in ports else "pressure"
