"""Rules on the way of the oil: home in neutral, returns that can be shut, checks that face wrong, who is fed."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from .. import kinds
from ..circuit import Part
from ..network import RESERVOIR
from ..results import Worst
from . import walk
from .base import Case, Finding, rule
from .duty import duties_of
from .flows import MOSTLY, relief_share
from .levers import in_neutral, spools
from .loads import STANDS
from .outcomes import About
from .rod_duty import rods
from .sections import CAN_SHUT, members, of_kind, section, top_pressure
from .strength import weakest
from .words import Units, listed, percent

EASY = 15e5
"""Pa that an idling open-centre circuit should not exceed at its pump. Common practice, no source."""
DELIVERS = 0.1
NOTHING = 1e-9
"""m3/s that is no flow."""
ACTIVE, SURPLUS = 0.95, 0.05


def neutral_states(case: Case) -> list[int]:
    """Solved states in which every spool stands in centre, no wheel is turned, and a pump turns."""
    pumps = walk.pumps(case.network)
    return [
        s
        for s in range(case.results.size)
        if case.results.solved[s]
        and any(p.flow[s] > 0 for p in pumps)
        and not _something_shut(case, s)
        and in_neutral(case, s)
    ]


def _something_shut(case: Case, s: int) -> bool:
    """A coupler or a shut-off stands otherwise than it usually does: that is told of it, not of neutral."""
    for part in of_kind(case, *CAN_SHUT):
        controls = kinds.registry()[part.kind].controls(part.params)
        if any(case.results.orders(part.name, c.name)[s] != c.default for c in controls):
            return True
    return False


@rule(
    id="path-neutral-open",
    title="With every lever in neutral the oil has an easy way home",
    signal="NOTICE",
    reason="The pump sits on its relief all day: hot oil, a start under load, wear.",
    criterion="in every state with all spools in centre: pressure of each pump that delivers more than a tenth of its "
    "flow at most 15 bar, and less than half of its flow over reliefs",
    remedy="Find the closed centre or the plug in the chain; a bypass, or the power-beyond port.",
    source="an army lesson on open-centre circuits (seen as an excerpt); 15 bar: common practice, no source",
)
def neutral_open(case: Case) -> Iterable[Finding]:
    id, u, r = "path-neutral-open", Units(case.circuit), case.results
    pumps, states = walk.pumps(case.network), neutral_states(case)
    valves = bool(of_kind(case, "directional valve"))
    for pump in pumps if valves else ():
        say = About(id, pump.part, case.circuit.parts[pump.part].place)
        delivery = pump.delivery(r)
        feeding = [s for s in states if delivery[s] > DELIVERS * pump.flow[s] > 0]
        if not feeding:
            idle = any(pump.flow[s] > 0 for s in states)
            yield (
                say.ok(f"{pump.part} hardly delivers with every lever in neutral")
                if idle
                else say.unchecked(f"{pump.part}: no state shows every lever in neutral",
                                   "a solved state with all levers in centre")
            )  # fmt: skip
            continue
        level = r.node_pressure(pump.outlet)
        spilling = {i: relief_share(case, i, pump.outlet).share >= MOSTLY for i in feeding}
        s = max(feeding, key=lambda i: (spilling[i], np.nan_to_num(level[i])))
        figures = {"pressure": float(level[s])}
        line = f"{pump.part} stands at {u.both(float(level[s]), 'pressure')} with every lever in neutral"
        over = spilling[s]
        if over or level[s] > EASY:
            why = "Its flow goes over a relief" if over else "Valves and lines take that all the time"
            heat = float(level[s] * delivery[s])
            yield say.finding(line, f"{why}: {u.power(heat)} of heat for nothing.", state=r.states[s],
                              figures=figures | {"heat": heat})  # fmt: skip
        else:
            yield say.ok(line, state=r.states[s], figures=figures)
    if not pumps or not valves:
        yield About(id).none("No pump, or no directional valve")


@rule(
    id="path-pb-tank-missing",
    title="A valve with power beyond has a tank line of its own",
    signal="WARNING",
    reason="What the cylinders give back has nowhere to go: they lock, or their pressure is multiplied; or the relief "
    "blows into the next valve.",
    criterion="from T of every valve with `power beyond` lines lead to the reservoir, and not into its PB",
    remedy="A tank line of its own from T; never join PB and T.",
    source="a trade page on power beyond (seen as an excerpt)",
)
def pb_tank(case: Case) -> Iterable[Finding]:
    id = "path-pb-tank-missing"
    beyond = [v for v in of_kind(case, "directional valve") if getattr(v.params, "power_beyond", False)]
    for valve in beyond:
        say = About(id, valve.name, valve.place)
        tank, pb = (case.network.port_nodes[valve.name, p] for p in ("T", "PB"))
        way = section(case, tank)
        home = _home(case, tank, valve.name)
        if pb in way.nodes or (tank == pb and tank != RESERVOIR):
            yield say.finding(f"{valve.name}: PB and T are joined", "What goes beyond stands on the tank gallery, and "
                              "the cylinders push their oil into the next valve.")  # fmt: skip
        elif not home:
            yield say.finding(f"{valve.name}.T does not lead to the reservoir",
                              "Only PB leads on; what spools and relief return is shut in.")  # fmt: skip
        else:
            yield say.ok(f"{valve.name}.T has a way of its own to the reservoir")
    if not beyond:
        yield About(id).none("No valve with power beyond")


@rule(
    id="path-return-shut",
    title="No return line can be shut",
    signal="WARNING",
    reason="Filter bowl, cooler, shaft seal or tank gallery see the relief's pressure; a burst bowl throws hot oil.",
    criterion="no quick coupler and no unlocked shut-off valve in a return line, or everything before it rated for the "
    "highest pressure at a pump",
    remedy="Take it out, lock it open, or a check valve past it to the reservoir that opens at a few bar.",
    source="a trade article on filter bypass and a marine manual on coolers (seen as excerpts)",
)
def return_shut(case: Case) -> Iterable[Finding]:
    id, u, top = "path-return-shut", Units(case.circuit), top_pressure(case)
    duty = duties_of(case)
    ends = {end.part for n, li in case.circuit.lines.items() if duty[n] == "return" for end in (li.start, li.end)}
    closing = [p for p in of_kind(case, *CAN_SHUT) if p.name in ends]
    for part in closing:
        say = About(id, part.name, part.place)
        if getattr(part.params, "locked", False):
            yield say.ok(f"{part.name} in a return is locked open")
            continue
        ways = [section(case, case.network.port_nodes[part.name, p], without=(part.name,)) for p in ("A", "B")]
        homes = {n for w in ways for n in w.nodes if _home(case, n, part.name)}
        behind = [w for w in ways if w.nodes and not w.nodes & homes]
        before = [m for w in behind for m in members(case, w) if m.owner != part.name]
        if not behind:
            yield say.ok(f"{part.name} in a return: shut, the oil still finds the reservoir")
            continue
        unrated, weak = [m.label for m in before if m.missing], weakest(before)
        if top is None or (unrated and (weak is None or weak.value is None or weak.value >= top[0])):
            yield say.unchecked(
                f"{part.name} can shut a return: what stands before it must bear the relief",
                "a state with figures" if top is None else f"ratings of {listed(unrated, 3)}",
            )  # fmt: skip
        elif weak is None or weak.value is None or weak.value >= top[0]:
            yield say.ok(f"{part.name} can shut a return; all before it bears {u.pressure(top[0])}")
        else:
            yield say.finding(
                f"{part.name} can shut a return: {weak.label}, rated {u.both(weak.value, 'pressure')}, then sees up to "
                f"{u.both(top[0], 'pressure')}",
                "Shut, or apart, it leaves the oil no way home.",
                figures={"pressure": top[0], "rating": weak.value, "ratio": top[0] / weak.value},
            )  # fmt: skip
    if not closing:
        yield About(id).none("Nothing in a return can be shut")


def _home(case: Case, node: int, without: str) -> bool:
    return RESERVOIR in _reach(case, {node}, without)


def _reach(case: Case, start: set[int], without: str) -> set[int]:
    return walk.reach(case.network, start, walk.EVER, lambda part, role: part != without, rotors=True)


@rule(
    id="path-check-direction",
    title="Check valves face the way the oil goes",
    signal="WARNING",
    reason="A check valve the wrong way round is a dead end: the pump stands on its relief, or nothing moves.",
    criterion="every check valve passes oil in some state; one that a pump presses on from behind, and that neither "
    "lets oil follow from the reservoir nor stands before a rod, faces the wrong way",
    remedy="The arrow on its body against the arrow on this page; turn it round.",
    source="common practice, no source",
)
def check_direction(case: Case) -> Iterable[Finding]:
    id, u, r = "path-check-direction", Units(case.circuit), case.results
    checks = of_kind(case, "check valve")
    outlets = {p.outlet for p in walk.pumps(case.network)}
    moved = {n for a in case.network.actuators if a.role == "rod" for n in a.k}
    for part in checks:
        say = About(id, part.name, part.place)
        most = r.worst(r.flow(part.name, "passage"))
        if most is not None and most.value > NOTHING:
            yield say.ok(f"{part.name} passes {u.flow(most.value)}", state=most.state, figures={"flow": most.value})
            continue
        fed = _reach(case, outlets, part.name)
        inlet, outlet = (case.network.port_nodes[part.name, p] for p in ("inlet", "outlet"))
        source = section(case, inlet)
        follows = inlet == RESERVOIR or any(RESERVOIR in case.network.line_nodes[n] for n in source.lines)
        if outlet in fed and inlet not in fed and not follows and not source.nodes & moved:
            yield say.finding(f"{part.name} faces the pump: its outlet is pressed on, its inlet gets nothing",
                              "No state lets oil through it, and none can.")  # fmt: skip
        else:
            yield say.unchecked(f"{part.name} passes no oil in any solved state", "a state in which it opens")
    if not checks:
        yield About(id).none("No check valve in this circuit")


@rule(
    id="path-upstream-priority",
    title="No function starves while another one is moved",
    signal="NOTICE",
    reason="The function that needs more pressure, or comes later, slows or stops while another lever is moved.",
    criterion="in every state with two or more levers shifted, each rod behind a shifted spool moves, unless it is at "
    "its stop",
    remedy="Order the valves by need, a priority divider for what must not stop, and say it where the machine is used.",
    source="a trade page on power beyond (seen as an excerpt); follows from the solved states",
)
def upstream_priority(case: Case) -> Iterable[Finding]:
    id, r, valves = "path-upstream-priority", case.results, of_kind(case, "directional valve")
    levers = [(v, name) for v in valves for name in spools(case, v, 0)] if r.size else []
    if len(levers) < 2:
        yield About(id).none("Fewer than two levers")
        return
    both = []
    for s in map(int, np.flatnonzero(r.solved)):
        shifted = [(v, n) for v in valves for n, o in spools(case, v, s).items() if o.position in ("A", "B")]
        if len(shifted) > 1:
            both.append((s, shifted))
    if not both:
        yield About(id).unchecked("Which function waits when two levers are moved is open",
                                  "a solved state with two levers shifted")  # fmt: skip
        return
    starved = [(s, names) for s, shifted in both if (names := _standing(case, s, shifted))]
    if not starved:
        yield About(id).ok("Nothing starves in the states with two levers shifted", state=r.states[both[0][0]])
    for s, names in starved:
        yield About(id, names[0], case.circuit.parts[names[0]].place).finding(
            f"{listed(names)} stands in '{r.states[s]}' while another lever is moved",
            "The oil takes the easier way, or is used up before it gets there.", state=r.states[s],
        )  # fmt: skip


def _standing(case: Case, s: int, shifted: list[tuple[Part, str]]) -> list[str]:
    """Rods that do not move although their spool is shifted, those at a stop left out."""
    found = []
    orders = case.circuit.states[case.results.states[s]].orders
    own: dict[str, set[int]] = {}
    for (part, _), node in case.network.port_nodes.items():
        own.setdefault(part, set()).add(node)
    for valve, name in shifted:
        ports = [f"{name}.{x}" if (valve.name, f"{name}.A") in case.network.port_nodes else x for x in "AB"]
        nodes = {n for p in ports for n in section(case, case.network.port_nodes[valve.name, p]).nodes}
        for rod in rods(case):
            tied = [t.name for t in case.circuit.ties.values() if rod.part.name in t.parts]
            near = not own[rod.part.name].isdisjoint(nodes)
            held = any(orders.get((n, "stop")) for n in (rod.part.name, *tied))
            if near and not held and abs(float(case.results.speed(rod.part.name, "rod")[s])) <= STANDS:
                found.append(rod.part.name)
    return list(dict.fromkeys(found))


@rule(
    id="flow-control-restrictive",
    title="A flow control does not force the rest of the flow over a relief",
    signal="NOTICE",
    reason="A two-port flow control after a pump of fixed flow sends the surplus over the main relief: heat, and full "
    "pressure for every other function.",
    criterion="in every state in which it limits its flow, less than 5 % of the pump's flow goes over reliefs",
    remedy="A three-port flow control, so that the surplus leaves at the load's pressure, or a smaller pump.",
    source="a trade article on dividers (seen as an excerpt); mass balance",
)
def restrictive(case: Case) -> Iterable[Finding]:
    id = "flow-control-restrictive"
    controls = of_kind(case, "flow control valve")
    for part in controls:
        yield _restricts(case, part)
    if not controls:
        yield About(id).none("No two-port flow control in this circuit")


def _restricts(case: Case, part: Part) -> Finding:
    u, r, say = Units(case.circuit), case.results, About("flow-control-restrictive", part.name, part.place)
    flow, set_flow = r.flow(part.name, "controlled"), float(part.params.set_flow)  # type: ignore[attr-defined]
    active = [int(s) for s in np.flatnonzero(r.solved) if flow[s] >= ACTIVE * set_flow]
    if not active:
        return say.unchecked(f"{part.name} limits its flow in no solved state", "a state in which it does")
    over = {s: relief_share(case, s, case.network.port_nodes[part.name, "inlet"]) for s in active}
    s = max(active, key=lambda i: over[i].share)
    surplus, share, heat = over[s].flow, over[s].share, over[s].power
    worst = Worst(surplus, s, r.states[s])
    figures = {"flow": surplus, "share": share, "heat": heat}
    if share <= SURPLUS:
        return say.ok(f"{part.name} limits {u.flow(set_flow)}, the rest goes elsewhere", state=worst.state,
                      figures=figures)  # fmt: skip
    return say.finding(
        f"{part.name} lets {u.flow(set_flow)} pass; {u.both(surplus, 'flow')} go over a relief",
        f"That is {percent(share)} of the flow, {u.power(heat)} of heat.",
        state=worst.state, figures=figures,
    )  # fmt: skip
