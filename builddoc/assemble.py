"""Circuit -> network: ports become nodes, lines and parts become equations, one topology for all states."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from . import kinds
from .circuit import Circuit, Line, Part, Tie
from .kinds.base import spread
from .kinds.coupler_half import OPEN_END
from .kinds.orders import LOAD, STOP, rod_limits
from .network import RESERVOIR, Actuator, Array, Bools, Branch, Network, Pilot, Source, Tube
from .nodes import number
from .physics import line as line_laws
from .physics import oil as oil_laws

INF = float("inf")
BURST = "burst"
"""Role of the passages from the ends of a torn line into the air."""
OPEN_ENDS = (BURST, OPEN_END)
"""Roles of all passages into the air."""


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
        oil = circuit.oil
        at_work = oil_laws.viscosity(oil.nu40, oil.nu100, oil.temperature)
        self.thicker: Array = self.nu * self.rho / (at_work * oil_laws.density(oil.density, oil.temperature))

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

    def expand(self, part: Part) -> None:
        """Let the part's kind add its primitives."""
        self._part = part
        kinds.registry()[part.kind].expand(part, self)
        self._part = None

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
        """Add a passage (see `network.Branch`); `shut` (S,) bool closes it in those states. leak: `a` holds with the
        oil of work; with other oil it changes as the viscosity: leakage runs laminar through clearances (textbooks).
        Returns its index."""
        low, high = self._s(lo), self._s(hi)
        if leak:
            a = a * self.thicker
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
    default = defaults_of(circuit, part).get(control)
    return [state.orders.get((part, control), default) for state in circuit.states.values()]


def defaults_of(circuit: Circuit, part: str) -> dict[str, Any]:
    """What each control of a part or tie is at where a state does not mention it."""
    if part in circuit.parts:
        p = circuit.parts[part]
        return {c.name: c.default for c in kinds.registry()[p.kind].controls(p.params)}
    return {c.name: c.default for c in kinds.tie_controls()} if part in circuit.ties else {}


def assemble(circuit: Circuit) -> Network:
    """The network of a circuit that `language.read` accepted (ends exist, ports are connected or plugged)."""
    nodes = number(circuit)
    net = Network(states=list(circuit.states), nodes=nodes.names, port_nodes=nodes.ports)
    builder = Builder(circuit, net, nodes.ports)
    for line in circuit.lines.values():
        ends = nodes.ends[line.name]
        net.line_nodes[line.name] = (ends[0], ends[-1])
        net.line_branches[line.name] = _expand_line(line, ends, nodes.taps[line.name], builder)
    for part in circuit.parts.values():
        builder.expand(part)
    for tie in circuit.ties.values():
        _tie(tie, circuit, net)
    _join(circuit, net)
    _cross(circuit, net)
    for line in circuit.lines.values():
        _damage(line, builder)
    return net


def _join(circuit: Circuit, net: Network) -> None:
    """A passage for every pair of coupler halves that is joined in some state, shut in the others."""
    states = circuit.states.values()
    for pair in dict.fromkeys(pair for state in states for pair in state.joined):
        ends = [circuit.parts[half] for half in pair]
        losses = [kinds.registry()[part.kind].coupling(part.params) or 0.0 for part in ends]
        limit = np.where([pair in state.joined for state in states], INF, 0.0)
        i, j = (port_node(part, net) for part in ends)
        none = np.zeros(net.size)
        loss = spread(max(losses), net.size)
        net.branches.append(
            Branch(i, j, none, loss, none.copy(), -limit, limit.copy(), None, False, pair[0], f"joined with {pair[1]}")
        )


def _cross(circuit: Circuit, net: Network) -> None:
    """A passage for every two halves that a state joins crosswise. It takes what the wider pair of them takes."""
    states = circuit.states.values()
    for one, two in dict.fromkeys(pair for state in states for pair in state.crossed):
        limit = np.where([(one, two) in state.crossed for state in states], INF, 0.0)
        none = np.zeros(net.size)
        loss = spread(max(_passage(end.part, net) for end in (one, two)), net.size)
        i, j = (net.port_nodes[end.part, end.port] for end in (one, two))
        role = f"{one.port} joined with {two}"
        net.branches.append(Branch(i, j, none, loss, none.copy(), -limit, limit.copy(), None, False, one.part, role))


def _passage(part: str, net: Network) -> float:
    """b of the one passage of a coupler."""
    return max(float(b.b.max()) for b in net.branches if b.part == part)


def port_node(half: Part, net: Network) -> int:
    """Node of the one port of a coupler half."""
    (port,) = kinds.registry()[half.kind].ports(half.params)
    return net.port_nodes[half.name, port.name]


def _damage(line: Line, builder: Builder) -> None:
    """States that cap a line at a port, or tear it in the middle of its longest run: there the run is shut, and from
    both sides half of it leads into the open air, where the jet takes its velocity head with it (loss coefficient 1,
    as of any pipe end; textbooks): no oil leaves faster than its pressure can drive it. These passages come after all
    others, so that a network without damage is the beginning of the same one with it."""
    circuit, net = builder.circuit, builder.network
    runs = net.line_branches[line.name]
    if not runs or line.conduit is None:
        return
    states = circuit.states.values()
    for end, k in ((line.start, runs[0]), (line.end, runs[-1])):
        capped = np.array([end in state.capped for state in states], dtype=bool)
        net.branches[k].lo[capped] = net.branches[k].hi[capped] = 0.0
    torn = np.array([line.name in state.cut for state in states], dtype=bool)
    if not torn.any():
        return
    run = max((net.branches[k] for k in runs), key=lambda b: 0.0 if b.tube is None else float(b.tube.laminar.max()))
    run.lo[torn] = run.hi[torn] = 0.0
    half = None if run.tube is None else Tube(run.tube.laminar / 2, run.tube.re_per_q, run.tube.rel_rough)
    limit = np.where(torn, INF, 0.0)
    open_end = line_laws.minor_loss(1.0, line.conduit.bore, builder.rho)
    for node in (run.i, run.j):
        none, loss = np.zeros(net.size), run.b / 2 + open_end
        net.branches.append(
            Branch(node, RESERVOIR, none, loss, none.copy(), -limit, limit.copy(), half, False, line.name, BURST)
        )


def _expand_line(line: Line, ends: list[int], taps: list[float], builder: Builder) -> list[int]:
    """Indices of its branches: one run, or several where others start on it. The fittings act in the first run."""
    if line.conduit is None:
        return []
    found = []
    size, bore = builder.size, line.conduit.bore
    marks = [0.0, *taps, line.length]
    loss = sum(fitting.loss * fitting.count for fitting in line.fittings)
    minor = spread(line_laws.minor_loss(loss, bore, builder.rho), size)
    for n, (i, j) in enumerate(pairwise(ends)):
        tube = None
        run = marks[n + 1] - marks[n]
        if run > 0:
            tube = Tube(
                spread(line_laws.laminar_resistance(run, bore, builder.rho, builder.nu), size),
                spread(line_laws.reynolds_per_flow(bore, builder.nu), size),
                spread(line.conduit.roughness / bore, size),
            )
        found.append(len(builder.network.branches))
        zero, free = np.zeros(size), np.full(size, INF)
        b = minor if n == 0 else np.zeros(size)
        builder.network.branches.append(
            Branch(i, j, zero, b, zero.copy(), -free, free, tube, False, line.name, "line")
        )
    return found


def _tie(tie: Tie, circuit: Circuit, net: Network) -> None:
    """Replace the members' rods by one that carries them all. Its load is the tie's own, plus what a state gives to the
    members; it stands if a member or the tie stands."""
    rods = [a for a in net.actuators if a.part in tie.parts]
    if not rods:
        return
    k: dict[int, float] = {}
    for rod in rods:
        for node, value in rod.k.items():
            k[node] = k.get(node, 0.0) + value
    loads = np.array(orders_of(circuit, tie.name, LOAD.name), dtype=float)
    low, high = rod_limits(orders_of(circuit, tie.name, STOP.name))
    joined = Actuator(
        k,
        loads + np.sum([rod.force for rod in rods], axis=0),
        np.sum([rod.friction for rod in rods], axis=0),
        np.sum([rod.damping for rod in rods], axis=0),
        np.max([low, *(rod.lo for rod in rods)], axis=0),
        np.min([high, *(rod.hi for rod in rods)], axis=0),
        tie.name,
        "rod",
    )
    net.tied += rods
    net.actuators = [*(a for a in net.actuators if a.part not in tie.parts), joined]
