"""Rules on where reliefs stand: what is behind them, and branches that none of them guards."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ..circuit import Rating
from ..network import Array
from . import walk
from .base import Case, Finding, rule
from .outcomes import About
from .rod_duty import Rod, rods
from .sections import members, of_kind, section
from .settings import limit
from .strength import Member, weakest
from .words import Units, percent

SHARE, CALM = 0.10, 10e5
"""Share of a setting, and Pa, that may stand behind a relief. Common practice, no source."""


@rule(
    id="relief-outlet-backpressure",
    title="What stands behind a relief does not shift its setting",
    signal="WARNING",
    reason="Back pressure adds one for one: everything that the relief guards sees more than the page says.",
    criterion="highest pressure at the relief's outlet in any state at most 10 % of its setting and at most 10 bar, or "
    "setting plus that pressure within the weakest rating it guards by 10 % (then NOTICE); of two reliefs that open "
    "either way between two sides only the one on the side with more pressure counts",
    remedy="Pipe the relief straight to the tank, its end below the oil.",
    source="the force balance of a relief: elementary; 10 %: common practice, no source",
)
def outlet(case: Case) -> Iterable[Finding]:
    id, u, r = "relief-outlet-backpressure", Units(case.circuit), case.results
    items = walk.limiters(case.circuit, case.network)
    for item in items:
        say = About(id, item.part, case.circuit.parts[item.part].place)
        back = r.worst(_behind(case, item))
        if back is None:
            yield say.unchecked(f"{item.label}: no state fixes the pressure behind it", "a state with figures")
            continue
        total = item.setting + max(back.value, 0.0)
        figures = {"pressure": total, "setting": item.setting, "back pressure": back.value}
        line = f"{item.label} is set to {u.pressure(item.setting)} and has {u.both(back.value, 'pressure')} behind it"
        if back.value <= min(SHARE * item.setting, CALM):
            yield say.ok(line, state=back.state, figures=figures)
            continue
        weak = weakest(members(case, section(case, min(item.inlets(case.network)))))
        room = weak is not None and weak.value is not None and total * 1.1 <= weak.value
        yield say.finding(
            f"{line}: it opens at {u.both(total, 'pressure')}",
            f"That is {percent(back.value / item.setting)} above its setting. "
            + (f"{weak.label} still has room." if room and weak else "What it guards has no room for that."),
            signal="NOTICE" if room else None, state=back.state, figures=figures,
        )  # fmt: skip
    if not items:
        yield About(id).none("No relief in this circuit")


def _behind(case: Case, item: walk.Limiter) -> Array:
    """Pa at the outlet of a relief, (S,), nan where it is not fixed, or where a relief the other way limits that side
    and this one has less before it than behind it: nothing asks it to open."""
    r, network = case.results, case.network
    level: Array = r.node_pressure(min(item.outlets(network)))
    others = [o for o in walk.limiters(case.circuit, network) if o.part == item.part and o.role != item.role]
    if any(o.inlets(network) & item.outlets(network) and o.outlets(network) & item.inlets(network) for o in others):
        level = np.where(item.pressure(r) < level, np.nan, level)
    return level


@rule(
    id="relief-secondary-missing",
    title="A weaker branch has a limit of its own",
    signal="WARNING",
    reason="A cylinder, hose or jaw of the branch bursts or crushes at a pressure that the rest of the machine is "
    "built for.",
    criterion="weakest rating at each work port of a valve >= the lowest relief setting on its pump, or a relief in "
    "that branch set at most to it; where several spools share that relief, the `frame rating` over the piston's area "
    "counts as a rating too",
    remedy="A relief at this work port, or a reducing valve before this valve; know which: a relief lowers the "
    "pressure of all that flows, a reducing valve only that of the branch.",
    source="common practice, no source",
)
def secondary(case: Case) -> Iterable[Finding]:
    id, u = "relief-secondary-missing", Units(case.circuit)
    valves = of_kind(case, "directional valve")
    several = sum(len(getattr(v.params, "spools", ())) for v in valves) > 1
    for valve in valves:
        ports = [p for (part, p), _ in case.network.port_nodes.items() if part == valve.name and p[-1:] in "AB"]
        fed = section(case, case.network.port_nodes[valve.name, "P"])
        reduced = [p for p in fed.parts if "reducing" in case.circuit.parts[p].kind]
        for port in ports:
            way = section(case, case.network.port_nodes[valve.name, port])
            main = limit(case, case.network.port_nodes[valve.name, port])
            reduced_to = min([main or 0.0, *(case.circuit.parts[p].params.setting for p in reduced)])  # type: ignore[attr-defined]
            frames = _frames(case, way.nodes) if several else []
            weak = weakest([*(m for m in members(case, way) if m.owner != valve.name), *frames])
            say = About(id, f"{valve.name}.{port}", valve.place)
            if main is None or weak is None or weak.value is None:
                missing = "a relief" if main is None else f"a rating of what {valve.name}.{port} feeds"
                yield say.unchecked(f"{valve.name}.{port}: whether its branch bears the relief is open", missing)
                continue
            own = [i.setting for i in walk.limiters(case.circuit, case.network) if i.inlets(case.network) & way.nodes]
            most = min([reduced_to, *own])
            figures = {"pressure": most, "rating": weak.value, "ratio": most / weak.value}
            line = f"{valve.name}.{port} may carry {u.both(most, 'pressure')}"
            if weak.value >= most:
                yield say.ok(f"{line}; {weak.label} is rated {u.pressure(weak.value)}", figures=figures)
            else:
                yield say.finding(f"{line}, {weak.label} is rated {u.both(weak.value, 'pressure')}",
                                  "Only the relief of the whole machine limits this branch.",
                                  figures=figures)  # fmt: skip
    if not valves:
        yield About(id).none("No directional valve in this circuit")


def _frames(case: Case, nodes: frozenset[int]) -> list[Member]:
    """Frames that a push from these nodes works against, each as the pressure that it bears."""
    found = []
    for rod in rods(case):
        rated = getattr(rod.part.params, "frame_rating", None)
        if rated is not None and case.network.port_nodes[rod.part.name, "cap"] in nodes:
            label = f"the frame of {rod.part.name} ({Units(case.circuit).show(rated, 'force')})"
            found.append(Member(label, rod.part.name, Rating(rated / rod.pushes), rod.part.place))
    return found


@rule(
    id="relief-port-missing",
    title="A shut port bears the force that can come from outside",
    signal="WARNING",
    reason="A force on a rod whose ports are shut makes a pressure above every relief setting: burst hose, bent rod.",
    criterion="`outside push` over the cap's area, `outside pull` over the ring, <= the weakest rating there, or a "
    "relief at that port set at most to it",
    remedy="A port relief with an anti-cavitation check at that port, or less force from outside.",
    source="p = F / A: elementary; a military loader manual sets port reliefs (seen as an excerpt)",
)
def port(case: Case) -> Iterable[Finding]:
    id = "relief-port-missing"
    unstated = []
    for rod in rods(case):
        stated = _forces(rod)
        if stated:
            yield from _outside(case, rod, stated)
        else:
            unstated.append(rod.part)
    if unstated:
        yield About.unstated(id, unstated, "the worst force from outside is open", "outside push or outside pull")
    if not rods(case):
        yield About(id).none("No cylinder in this circuit")


def _forces(rod: Rod) -> list[tuple[str, str, float, float]]:
    """(port that holds it, word, N, m2) of the forces from outside that are stated."""
    forces = (("cap", "push", getattr(rod.part.params, "outside_push", None), rod.pushes),
              ("rod", "pull", getattr(rod.part.params, "outside_pull", None), rod.pulls))  # fmt: skip
    return [(p, w, float(f), a) for p, w, f, a in forces if f is not None and a > 0]


def _outside(case: Case, rod: Rod, stated: list[tuple[str, str, float, float]]) -> Iterable[Finding]:
    u, say = Units(case.circuit), About("relief-port-missing", rod.part.name, rod.part.place)
    worst: tuple[float, Finding] | None = None
    for name, word, force, area in stated:
        way = section(case, case.network.port_nodes[rod.part.name, name])
        own = [i.setting for i in walk.limiters(case.circuit, case.network) if i.inlets(case.network) & way.nodes]
        level = min([force / area, *own])
        weak = weakest(members(case, way))
        if weak is None or weak.value is None:
            yield say.unchecked(f"{rod.part.name}.{name}: {u.pressure(level)} from outside, against what nobody knows",
                                "a rating there")  # fmt: skip
            continue
        figures = {"pressure": level, "rating": weak.value, "ratio": level / weak.value}
        line = f"{u.both(force, 'force')} that {word} the rod of {rod.part.name} make {u.both(level, 'pressure')}"
        against = f"{weak.label} is rated {u.both(weak.value, 'pressure')}"
        why = f"Its ports shut, nothing limits {rod.part.name}.{name} below that."
        if level <= weak.value:
            made = say.ok(f"{line}; {against}", figures=figures)
        else:
            made = say.finding(f"{line}; {against}", why, figures=figures)
        if worst is None or figures["ratio"] > worst[0]:
            worst = (figures["ratio"], made)
    if worst is not None:
        yield worst[1]
