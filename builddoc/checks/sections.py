"""Parts and lines that stand at one pressure but for the losses between them: what no spool or check parts."""

from __future__ import annotations

from dataclasses import dataclass

from ..circuit import Part
from ..network import RESERVOIR
from . import strength, walk
from .base import Case, once
from .reliefs import guard_at
from .strength import Member

OPEN_WAYS = ("tee", "quick coupler", "shut-off valve", "filter", "cooler", "gauge point", "orifice")
"""Kinds that oil passes both ways when they are open: none of them holds anything back."""
CAN_SHUT = ("quick coupler", "shut-off valve")


@dataclass(frozen=True, slots=True)
class Section:
    """nodes reached from a port; parts with a port there (the ones that end it among them), in the order of writing."""

    nodes: frozenset[int]
    parts: tuple[str, ...]
    lines: tuple[str, ...]


@once
def section(case: Case, node: int, without: tuple[str, ...] = (), state: int | str = walk.EVER) -> Section:
    """What oil at `node` reaches through lines and open ways alone, both ways; not through the reservoir. state: as for
    `walk.reach`."""
    ways = {p.name for p in case.circuit.parts.values() if p.kind in OPEN_WAYS and p.name not in without}
    lines = set(case.circuit.lines)

    def open_way(part: str, role: str) -> bool:
        return part in lines or part in ways

    nodes = walk.reach(case.network, {node}, state, open_way, pilots=False)
    nodes |= walk.reach(case.network, nodes - {RESERVOIR}, state, open_way, backward=True, pilots=False)
    nodes -= {RESERVOIR}
    parts = dict.fromkeys(part for (part, _), n in case.network.port_nodes.items() if n in nodes)
    within = tuple(n for n, ends in case.network.line_nodes.items() if set(ends) & nodes)
    return Section(frozenset(nodes), tuple(parts), within)


def members(case: Case, found: Section) -> list[Member]:
    """Everything with a rating in a section: ports, conduits, fittings."""
    ports = [
        m
        for _, own in strength.each_port(case)
        for m in own
        if case.network.port_nodes.get((m.owner, m.port)) in found.nodes
    ]
    own = [m for n in found.lines for m in strength.line_members(case, n) if not m.port]
    return [*ports, *own]


def of_kind(case: Case, *kinds: str) -> list[Part]:
    return [p for p in case.circuit.parts.values() if p.kind in kinds]


def feeders(case: Case, at: frozenset[int]) -> list[walk.Pump]:
    """The pumps whose oil some state lets get to one of these nodes, not by way of a tank port; all if none does."""

    def fed(part: str, role: str) -> bool:
        return not role.endswith(" to T")

    pumps, before = walk.pumps(case.network), set[int]()
    if at and len(pumps) > 1:
        before = walk.reach(case.network, at, walk.EVER, fed, backward=True, rotors=True)
    return [pump for pump in pumps if pump.outlet in before] or pumps


@once
def without(case: Case, node: int, kind: str) -> bool:
    """Oil of a pump gets to a node also past all parts of a kind."""

    def other(part: str, role: str) -> bool:
        return part not in case.circuit.parts or case.circuit.parts[part].kind != kind

    rotors = kind != "flow divider"
    before = walk.reach(case.network, {node}, walk.EVER, other, backward=True, rotors=rotors)
    return any(pump.outlet in before for pump in walk.pumps(case.network))


def top_pressure(case: Case, at: frozenset[int] = frozenset()) -> tuple[float, str] | None:
    """Highest pressure, Pa, that a pump can make whose oil gets to one of these nodes (none named: any pump): the
    highest at its outlet over the states (with the state), or the lowest setting among its reliefs where no state
    reaches that (""). None without any."""
    r = case.results
    found: list[tuple[float, str]] = []
    for pump in feeders(case, at):
        worst = r.worst(r.node_pressure(pump.outlet))
        if worst is not None and worst.value > 0:
            found.append((worst.value, worst.state))
        settings = [item.setting for state in guard_at(case, pump.part, pump.outlet).by_state for item in state]
        if settings:
            found.append((min(settings), ""))
    return max(found, default=None)
