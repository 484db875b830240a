"""Where oil may go: reachability in the network, state by state, and the pumps, limiters and names of places."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from .. import kinds
from ..circuit import Circuit, Part
from ..network import RESERVOIR, Array, Branch, Network
from ..results import Results

ALWAYS, EVER = "always", "ever"
LEFT_TO_MOTION = ("load", "stop", "speed", "sleeve")
"""Controls that are no closing member: loads, stops, speeds, and what is screwed in."""
NO_HAND = (*LEFT_TO_MOTION, "unloader", "stage")
"""Controls by which no hand shuts anything: besides these an unloader that sticks, the stage of a cylinder."""


@dataclass(frozen=True, slots=True)
class Pump:
    """An outlet at which a part puts oil into the circuit. flow: m3/s that its source delivers when it can fill, (S,).
    role: of that source."""

    part: str
    outlet: int
    inlet: int
    flow: Array
    role: str = "outlet"

    def delivery(self, r: Results) -> Array:
        """m3/s that leave the part there, (S,)."""
        part = r.circuit.parts[self.part]
        return kinds.registry()[part.kind].delivery(part, self.role, r)


@dataclass(frozen=True, slots=True)
class Limiter:
    """A relief of any kind: its passages as indices of branches and pilots."""

    part: str
    role: str
    label: str
    setting: float
    branches: tuple[int, ...]
    pilots: tuple[int, ...]

    def inlets(self, network: Network) -> set[int]:
        return {network.branches[k].i for k in self.branches} | {network.pilots[k].i for k in self.pilots}

    def outlets(self, network: Network) -> set[int]:
        return {network.branches[k].j for k in self.branches} | {network.pilots[k].j for k in self.pilots}

    def flow(self, r: Results) -> Array:
        """m3/s, (S,), nan where unsolved; 0 while it is shut."""
        total = r.q[:, list(self.branches)].sum(axis=1) + r.pilot_q[:, list(self.pilots)].sum(axis=1)
        return np.where(r.solved, np.where(np.abs(total) > r.still, total, 0.0), np.nan)

    def power(self, r: Results) -> Array:
        """W turned into heat, (S,), nan where unsolved."""
        total = np.zeros(r.size)
        for k in self.branches:
            b = r.network.branches[k]
            total = total + (r.p[:, b.i] - r.p[:, b.j]) * r.q[:, k]
        for k in self.pilots:
            c = r.network.pilots[k]
            total = total + (r.p[:, c.i] - r.p[:, c.j]) * r.pilot_q[:, k]
        return np.where(r.solved, total, np.nan)

    def pressure(self, r: Results) -> Array:
        """Pa at its inlet, (S,), nan where not fixed."""
        return r.node_pressure(min(self.inlets(r.network)))


def pumps(network: Network) -> list[Pump]:
    """Every port of a part where a source delivers in some state, in the order of the circuit. A source inside a part
    (the stage that is unloaded) is no outlet of its own."""
    found: list[Pump] = []
    ports = set(network.port_nodes.values())
    for source in network.sources:
        if np.max(source.q) <= 0 or source.node not in ports:
            continue
        drawn = [s.node for s in network.sources if s.part == source.part and np.min(s.q) < 0]
        found.append(Pump(source.part, source.node, drawn[0] if drawn else RESERVOIR, source.q, source.role))
    return found


def limiters(circuit: Circuit, network: Network) -> list[Limiter]:
    """Every relief that a part of the circuit contains."""
    found: list[Limiter] = []
    for part in circuit.parts.values():
        own = kinds.registry()[part.kind].reliefs(part.params)
        for relief in own:
            branches = tuple(
                k for k, b in enumerate(network.branches) if b.part == part.name and b.role == relief.role
            )
            pilots = tuple(k for k, c in enumerate(network.pilots) if c.part == part.name and c.role == relief.role)
            if not branches and not pilots:
                continue
            label = part.name if part.kind == "relief valve" else f"the relief in {part.name}"
            if len(own) > 1:
                label = f"{relief.label} in {part.name}" if relief.label else f"the relief at {part.name}.{relief.port}"
            found.append(Limiter(part.name, relief.role, label, relief.setting, branches, pilots))
    return found


def is_shut(branch: Branch, s: int) -> bool:
    return bool(branch.lo[s] == 0.0 and branch.hi[s] == 0.0)


def closable(part: Part) -> bool:
    """Something on it can be shut by hand: a spool, a shut-off, a coupler, an adjustable orifice. A filter that clogs
    is no hand movement; what it does when blocked is a state of its own."""
    if kinds.registry()[part.kind].group == "conditioning":
        return False
    return any(c.name not in NO_HAND for c in kinds.registry()[part.kind].controls(part.params))


def closable_parts(circuit: Circuit) -> set[str]:
    return {part.name for part in circuit.parts.values() if closable(part)}


def reach(
    network: Network,
    start: Iterable[int],
    state: int | str,
    allowed: Callable[[str, str], bool] = lambda part, role: True,
    *,
    backward: bool = False,
    pilots: bool = True,
    rotors: bool = False,
    upstream: bool = True,
) -> set[int]:
    """Nodes that oil from `start` can get to (backward: can come from) through the passages that are open in `state`.

    state: a number, or ALWAYS (a passage counts if it is open in every state) or EVER (in some state). allowed(part,
    role) leaves passages out. Leakage never counts; oil does not pass the reservoir on its way; rods and shafts are no
    passages. rotors: what turns inside a part (a divider) lets oil through, both ways. upstream: passages opened by
    other pressures let it through against their usual sense too.
    """
    steps: dict[int, list[int]] = {}

    def edge(i: int, j: int) -> None:
        a, b = (j, i) if backward else (i, j)
        steps.setdefault(a, []).append(b)

    for branch in network.branches:
        if branch.leak or not allowed(branch.part, branch.role):
            continue
        if isinstance(state, int):
            high, low = branch.hi[state], branch.lo[state]
        elif state == ALWAYS:
            high, low = branch.hi.min(), branch.lo.max()
        else:
            high, low = branch.hi.max(), branch.lo.min()
        if high > 0:
            edge(branch.i, branch.j)
        if low < 0:
            edge(branch.j, branch.i)
    if pilots:
        for pilot in network.pilots:
            if allowed(pilot.part, pilot.role):
                edge(pilot.i, pilot.j)
                if upstream:
                    edge(pilot.j, pilot.i)
    for actuator in network.actuators if rotors else ():
        if actuator.role not in ("rod", "shaft"):
            for i in actuator.k:
                for j in actuator.k:
                    edge(i, j)
    seen = set(start)
    waiting = list(seen)
    while waiting:
        node = waiting.pop()
        for after in steps.get(node, ()):
            if after not in seen:
                seen.add(after)
                if after != RESERVOIR:
                    waiting.append(after)
    return seen


def ports_at(network: Network, nodes: Iterable[int]) -> list[str]:
    """`part.port` of every port at these nodes, in the order of the circuit."""
    wanted = set(nodes)
    return [f"{part}.{port}" for (part, port), node in network.port_nodes.items() if node in wanted]


def places_at(network: Network, nodes: Iterable[int]) -> list[str]:
    """As `ports_at`, but a part all of whose ports are there is named once."""
    wanted = set(nodes)
    outside = {part for (part, _), node in network.port_nodes.items() if node not in wanted}
    named = [
        f"{part}.{port}" if part in outside else part
        for (part, port), node in network.port_nodes.items()
        if node in wanted
    ]
    return list(dict.fromkeys(named))


def lines_within(network: Network, nodes: Iterable[int]) -> list[str]:
    """Lines whose both ends are among these nodes."""
    wanted = set(nodes)
    return [name for name, ends in network.line_nodes.items() if set(ends) <= wanted]
