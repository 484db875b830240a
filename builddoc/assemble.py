"""Circuit -> network: ports become nodes, lines and parts become equations, one topology for all states."""

from __future__ import annotations

from typing import Any

import numpy as np

from . import kinds
from .circuit import Circuit, Line, Part
from .kinds.base import spread
from .network import RESERVOIR, Actuator, Array, Bools, Branch, Network, Pilot, Source, Tube
from .physics import line as line_laws
from .physics import oil as oil_laws

INF = float("inf")


class Builder:
    """Handed to `Kind.expand`. All numbers may be scalars or arrays over states; they are stored as (S,) arrays."""

    def __init__(self, circuit: Circuit, network: Network, port_nodes: dict[tuple[str, str], int]):
        self.circuit = circuit
        self.network = network
        self.size = network.size
        self._ports = port_nodes
        self._part: Part | None = None
        states = list(circuit.states.values())
        self.temperature = np.array([s.oil_temperature or circuit.oil.temperature for s in states])
        self.nu: Array = oil_laws.viscosity(circuit.oil.nu40, circuit.oil.nu100, self.temperature)
        self.rho: Array = oil_laws.density(circuit.oil.density, self.temperature)

    # ---- nodes
    reservoir = RESERVOIR

    def node(self, port: str) -> int:
        """Node of a port of the part being expanded."""
        return self._ports[self.part.name, port]

    def inner(self, name: str) -> int:
        """A new node inside the part."""
        self.network.nodes.append(f"{self.part.name} ({name})")
        return len(self.network.nodes) - 1

    # ---- what the states say
    @property
    def part(self) -> Part:
        assert self._part is not None, "only inside expand"
        return self._part

    def orders(self, control: str, part: str = "") -> list[Any]:
        """Value of a control in every state (its default where a state says nothing)."""
        name = part or self.part.name
        return orders_of(self.circuit, name, control)

    def speed_ratio(self, driver: str) -> Array:
        """Speed of a driver in every state as a share of its nominal speed (1 if it has none or is not known)."""
        part = self.circuit.parts.get(driver)
        if part is None:
            return np.ones(self.size)
        kind = kinds.registry()[part.kind]
        nominal = kind.nominal_speed(part.params)
        if not nominal:
            return np.ones(self.size)
        return np.array([nominal if v is None else v for v in orders_of(self.circuit, driver, "speed")]) / nominal

    # ---- primitives
    def _s(self, value: float | Array) -> Array:
        return spread(value, self.size)

    def branch(
        self,
        role: str,
        i: int,
        j: int,
        *,
        a: float | Array = 0.0,
        b: float | Array = 0.0,
        c0: float | Array = 0.0,
        lo: float | Array = -INF,
        hi: float | Array = INF,
        tube: Tube | None = None,
        leak: bool = False,
        shut: Bools | None = None,
    ) -> int:
        """Add a passage (see `network.Branch`); `shut` (S,) bool closes it in those states. Returns its index."""
        low, high = self._s(lo), self._s(hi)
        if shut is not None:
            low[shut] = high[shut] = 0.0
        self.network.branches.append(
            Branch(i, j, self._s(a), self._s(b), self._s(c0), low, high, tube, leak, self.part.name, role)
        )
        return len(self.network.branches) - 1

    def pilot(
        self,
        role: str,
        i: int,
        j: int,
        *,
        b: float | Array,
        z: dict[int, float],
        z0: float | Array,
        droop: float | Array = 0.0,
    ) -> int:
        """Add a passage opened by other pressures (see `network.Pilot`)."""
        self.network.pilots.append(
            Pilot(i, j, self._s(b), z, self._s(z0), self._s(droop), self.part.name, role)
        )
        return len(self.network.pilots) - 1

    def actuator(
        self,
        role: str,
        k: dict[int, float],
        *,
        force: float | Array = 0.0,
        friction: float | Array = 0.0,
        damping: float | Array = 0.0,
        lo: float | Array = -INF,
        hi: float | Array = INF,
    ) -> int:
        """Add a rod or shaft (see `network.Actuator`). Several ports on one node: add their k before the call."""
        self.network.actuators.append(
            Actuator(
                k, self._s(force), self._s(friction), self._s(damping), self._s(lo), self._s(hi), self.part.name, role
            )
        )
        return len(self.network.actuators) - 1

    def source(self, role: str, node: int, q: float | Array) -> None:
        self.network.sources.append(Source(node, self._s(q), self.part.name, role))


def orders_of(circuit: Circuit, part: str, control: str) -> list[Any]:
    """Value of a part's control in every state, the control's default where a state does not mention it."""
    default = None
    if part in circuit.parts:
        p = circuit.parts[part]
        for c in kinds.registry()[p.kind].controls(p.params):
            if c.name == control:
                default = c.default
    return [state.orders.get((part, control), default) for state in circuit.states.values()]


def assemble(circuit: Circuit) -> Network:
    """The network of a circuit that `language.read` accepted (ends exist, ports are connected or plugged)."""
    net = Network(states=list(circuit.states))
    ports = _number_nodes(circuit, net)
    builder = Builder(circuit, net, ports)
    net.port_nodes = ports
    for line in circuit.lines.values():
        _expand_line(line, builder)
    for part in circuit.parts.values():
        builder._part = part
        kinds.registry()[part.kind].expand(part, builder)
    for tie in circuit.ties.values():
        _tie(tie.name, tie.parts, circuit, net)
    return net


def _number_nodes(circuit: Circuit, net: Network) -> dict[tuple[str, str], int]:
    """Number every port; joined ports, direct lines and reservoir ports share a node."""
    parent: dict[tuple[str, str], tuple[str, str]] = {}

    def find(x: tuple[str, str]) -> tuple[str, str]:
        while parent.setdefault(x, x) != x:
            parent[x] = parent[parent[x]]
            x = parent[x]
        return x

    tank = ("", "")
    find(tank)
    for part in circuit.parts.values():
        kind = kinds.registry()[part.kind]
        for port in kind.ports(part.params):
            find((part.name, port.name))
        for group in kind.joined(part.params):
            for other in group[1:]:
                parent[find((part.name, other))] = find((part.name, group[0]))
        for port_name in kind.at_reservoir(part.params):
            parent[find((part.name, port_name))] = find(tank)
    for line in circuit.lines.values():
        if line.conduit is None and not line.fittings and line.start.part and line.end.part:
            a, b = find((line.start.part, line.start.port)), find((line.end.part, line.end.port))
            if a != b:
                if a == find(tank):
                    a, b = b, a
                parent[a] = b
    numbers = {find(tank): RESERVOIR}
    result: dict[tuple[str, str], int] = {}
    for key in list(parent):
        if key == tank:
            continue
        root = find(key)
        if root not in numbers:
            numbers[root] = len(net.nodes)
            net.nodes.append(f"{key[0]}.{key[1]}")
        result[key] = numbers[root]
    return result


def _expand_line(line: Line, builder: Builder) -> None:
    """A line is one run, or several where other lines start on it; its fittings' losses act in its first run."""
    net, circuit = builder.network, builder.circuit
    taps = sorted(
        {
            end.at
            for other in circuit.lines.values()
            for end in (other.start, other.end)
            if end.line == line.name
        }
    )
    ends = [_end_node(line.start, builder)]
    for at in taps:
        ends.append(_tap_node(line.name, at, builder))
    ends.append(_end_node(line.end, builder))
    net.line_nodes[line.name] = (ends[0], ends[-1])
    net.line_branches[line.name] = []
    if line.conduit is None and not line.fittings and len(ends) == 2:
        return
    marks = [0.0, *taps, line.length]
    for n, (i, j) in enumerate(zip(ends[:-1], ends[1:], strict=True)):
        bore = line.conduit.bore if line.conduit else 0.0
        minor = np.zeros(builder.size)
        if n == 0 and line.conduit:
            loss = sum(f.loss * f.count for f in line.fittings)
            minor = line_laws.minor_loss(loss, bore, builder.rho)
        tube = None
        run = marks[n + 1] - marks[n]
        if line.conduit and run > 0:
            tube = Tube(
                spread(line_laws.laminar_resistance(run, bore, builder.rho, builder.nu), builder.size),
                spread(line_laws.reynolds_per_flow(bore, builder.nu), builder.size),
                spread(line.conduit.roughness / bore, builder.size),
            )
        free = np.full(builder.size, INF)
        net.line_branches[line.name].append(len(net.branches))
        net.branches.append(
            Branch(
                i, j, np.zeros(builder.size), spread(minor, builder.size), np.zeros(builder.size), -free, free,
                tube, False, line.name, "line",
            )  # fmt: skip
        )


def _end_node(end: Any, builder: Builder) -> int:
    if end.line:
        return _tap_node(end.line, end.at, builder)
    return builder._ports[end.part, end.port]


def _tap_node(line: str, at: float, builder: Builder) -> int:
    name = f"{line} at {at:g} m"
    nodes = builder.network.nodes
    if name not in nodes:
        nodes.append(name)
    return nodes.index(name)


def _tie(name: str, members: tuple[str, ...], circuit: Circuit, net: Network) -> None:
    """Replace the members' rods by one rod that carries them all; its load comes from the tie's own order."""
    rods = [a for a in net.actuators if a.part in members]
    k: dict[int, float] = {}
    for rod in rods:
        for node, value in rod.k.items():
            k[node] = k.get(node, 0.0) + value
    loads = [state.orders.get((name, "load"), 0.0) for state in circuit.states.values()]
    force = np.sum([rod.force for rod in rods], axis=0) + np.array(loads, dtype=float)
    lo = np.max([rod.lo for rod in rods], axis=0)
    hi = np.min([rod.hi for rod in rods], axis=0)
    for s, state in enumerate(circuit.states.values()):
        stop = state.orders.get((name, "stop"))
        if stop in ("retracted", "held"):
            lo[s] = 0.0
        if stop in ("extended", "held"):
            hi[s] = 0.0
    net.actuators = [a for a in net.actuators if a.part not in members]
    net.actuators.append(
        Actuator(
            k,
            force,
            np.sum([rod.friction for rod in rods], axis=0),
            np.sum([rod.damping for rod in rods], axis=0),
            lo,
            hi,
            name,
            "rod",
        )
    )
