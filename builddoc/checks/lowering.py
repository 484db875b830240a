"""The rule on cylinders side by side on their way down: what keeps them level going up does not always do so then."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..circuit import Part
from . import walk
from .base import Case, Finding, rule
from .dividers import GEARS, SPOOLS
from .loads import STANDS
from .outcomes import About
from .sections import of_kind, section
from .words import Units, listed, percent

CYLINDERS = ("cylinder", "single-acting cylinder")
HOLDERS = ("counterbalance valve", "pilot-operated check valve")
ALIKE = 0.05
"""Share by which settings of two holding valves may differ. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Group:
    """Cylinders side by side. rigid: a beam links them. divider: what keeps them level going up, None = nothing.
    holders: cylinder -> its own holding valve."""

    names: tuple[str, ...]
    owner: str
    rigid: bool
    divider: Part | None
    holders: dict[str, Part]


@rule(
    id="pair-lowering",
    title="Cylinders side by side are as level on the way down as on the way up",
    signal="CAUTION",
    reason="Level going up, twisted coming down: the load racks and shifts suddenly, or one holding valve opens before "
    "the other.",
    criterion="where a divider feeds the side that lifts and they go down with unequal loads, the oil comes back "
    "through a gear divider too, or a beam links them; holding valves of their own are set within 5 % of each other, "
    "their pilots on one line",
    remedy="A divider that also combines, or a stiff cross tube; the same valve and setting on both sides, piloted "
    "from one line.",
    source="a trade article: a spool divider passes no returning oil (seen as an excerpt); 5 %: common practice, no "
    "source",
)
def lowering(case: Case) -> Iterable[Finding]:
    id = "pair-lowering"
    groups = [g for g in _groups(case) if g.divider is not None or len(g.holders) == len(g.names)]
    for group in groups:
        place = case.circuit.parts[group.names[0]].place
        yield _judged(case, About(id, group.owner, place), group)
    if not groups:
        yield About(id).none("No cylinders side by side with a divider or holding valves of their own")


def _groups(case: Case) -> list[Group]:
    sets = [(t.name, t.parts, t.name in case.circuit.ties) for t in (*case.circuit.ties.values(),
                                                                     *case.circuit.pairs.values())]  # fmt: skip
    told = {name for _, parts, _ in sets for name in parts}
    for divider in of_kind(case, GEARS, SPOOLS):
        alone = tuple(n for n in _fed(case, divider) if n not in told)
        if len(alone) > 1:
            sets.append((divider.name, alone, False))
    found = []
    for owner, parts, rigid in sets:
        if all(case.circuit.parts[n].kind in CYLINDERS for n in parts):
            by = next((d for d in of_kind(case, GEARS, SPOOLS) if len({*_fed(case, d)} & {*parts}) > 1), None)
            found.append(Group(tuple(parts), owner, rigid, by, _holders(case, parts)))
    return found


def _fed(case: Case, divider: Part) -> list[str]:
    """Cylinders whose cap side a divider's outlets reach, through holding valves too."""
    ports = case.network.port_nodes
    outlets = {node for (part, port), node in ports.items() if part == divider.name and port in tuple("ABCD")}
    ways = {p.name for p in of_kind(case, *HOLDERS, "check valve", "velocity fuse", "throttle check valve", "tee")}
    ways |= set(case.circuit.lines)
    reached = walk.reach(case.network, outlets, walk.EVER, lambda part, role: part in ways, pilots=False)
    return [p.name for p in of_kind(case, *CYLINDERS) if ports[p.name, "cap"] in reached]


def _holders(case: Case, names: Iterable[str]) -> dict[str, Part]:
    found = {}
    for name in names:
        way = section(case, case.network.port_nodes[name, "cap"])
        own = [p for p in of_kind(case, *HOLDERS) if case.network.port_nodes.get((p.name, "load")) in way.nodes]
        shared = [n for n in names if n != name and case.network.port_nodes[n, "cap"] in way.nodes]
        if len(own) == 1 and not shared:
            found[name] = own[0]
    return found


def _judged(case: Case, say: About, group: Group) -> Finding:
    wrong = _valves(case, group) if len(group.holders) == len(group.names) else ""
    if wrong:
        return say.finding(f"{listed(group.names)}: {wrong}", "One opens before the other, and the load shifts.")
    if group.divider is None or group.rigid:
        by = "a beam links them" if group.rigid else f"{listed(p.name for p in group.holders.values())} are alike"
        return say.ok(f"{listed(group.names)} come down level: {by}")
    around = _around(case, group.divider)
    if group.divider.kind == GEARS and not around:
        return say.ok(f"{listed(group.names)} come down through {group.divider.name}, which keeps them level")
    why = f"their oil goes round it, through {listed(around)}" if around else "it passes no oil that comes back"
    down = [s for s in range(case.results.size) if any(v < -STANDS for v in _speeds(case, group, s))]
    if not down:
        return say.unchecked(
            f"{listed(group.names)}: {group.divider.name} does not keep them level on the way down ({why}); what loads "
            "they carry then is open", "a solved state in which they go down",
        )  # fmt: skip
    u = Units(case.circuit)
    for s in down:
        state = case.results.states[s]
        orders = case.circuit.states[state].orders
        loads = [float(orders.get((n, "load"), 0.0)) for n in group.names]
        if max(loads) - min(loads) > 0:
            each = listed(f"{n} {u.show(abs(x), 'force')}" for n, x in zip(group.names, loads, strict=True))
            return say.finding(
                f"{group.divider.name} does not keep {listed(group.names)} level on the way down: {why}",
                f"They go down with unequal loads ({each}); the heavier one runs ahead.", state=state,
                figures={"difference": max(loads) - min(loads)},
            )  # fmt: skip
    return say.ok(f"{listed(group.names)} go down with equal loads; {group.divider.name} does not keep them level then")


def _speeds(case: Case, group: Group, s: int) -> list[float]:
    return [float(case.results.speed(n, "rod")[s]) for n in group.names]


def _around(case: Case, divider: Part) -> list[str]:
    """Check valves from an outlet of a divider back to its inlet."""
    ports = case.network.port_nodes
    inlet = section(case, ports[divider.name, "inlet"]).nodes
    outlets: set[int] = set()
    for letter in "ABCD":
        if (divider.name, letter) in ports:
            outlets |= section(case, ports[divider.name, letter]).nodes
    return [
        p.name
        for p in of_kind(case, "check valve")
        if any(b.part == p.name and b.i in outlets and b.j in inlet for b in case.network.branches)
    ]


def _valves(case: Case, group: Group) -> str:
    """What is not alike about their holding valves, "" = nothing."""
    u, valves = Units(case.circuit), list(group.holders.values())
    settings = [float(v.params.setting) for v in valves if hasattr(v.params, "setting")]
    if len({v.kind for v in valves}) > 1:
        return f"{listed(v.name for v in valves)} are not of one kind"
    apart = max(settings) / min(settings) - 1 if settings else 0.0
    if apart > ALIKE + 1e-9:
        each = listed(f"{v.name} {u.pressure(x)}" for v, x in zip(valves, settings, strict=True))
        return f"their holding valves are set {percent(apart)} apart ({each})"
    pilots = [case.network.port_nodes[v.name, "pilot"] for v in valves]
    way = section(case, pilots[0])
    loose = [v.name for v, node in zip(valves, pilots, strict=True) if node not in way.nodes]
    return f"the pilots of {listed([valves[0].name, *loose])} are not on one line" if loose else ""
