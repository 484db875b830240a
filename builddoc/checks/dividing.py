"""Rules on how a divider is fed and what becomes of its oil: its range of flow, priority, blocked outlets, heat."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from ..circuit import Part
from ..kinds.engine import EngineParams
from ..kinds.flow_divider import FlowDividerParams
from ..kinds.priority_divider import PriorityDividerParams
from ..network import RESERVOIR, Array
from . import walk
from .base import Case, Finding, Signal, once, rule
from .dividers import GEARS, SPOOLS
from .heat import demands
from .outcomes import About
from .reliefs import guard_at
from .sections import of_kind, section
from .strength import seen
from .words import Units, listed, percent

PRIORITY, STEERING = "priority divider", "steering unit"
METERS = ("three-port flow control",)
TURN = 2 * np.pi
"""rad/s of a hand wheel, one turn a second: the least that a machine is steered with. Common practice, no source."""
SLOWEST, FASTEST = 750 * TURN / 60, 3000 * TURN / 60
"""rad/s within which a gear divider divides: a maker's application note, seen as an excerpt."""
STANDS = 1e-3
"""Share of the largest flow of all states below which a divider stands."""
FREE = 10e5
"""Pa at an excess port that counts as the way to the tank. Common practice, no source."""
WASTED = 0.10
"""Share of the shaft power lost in dividing from which it is worth a word. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Speeds:
    """Of what turns the pumps that feed a place, over the speed of each state, (S,): at idle, at high idle. missing:
    what has to be known for the first, "" = nothing."""

    idle: Array
    high: Array
    missing: str


@once
def speeds(case: Case, node: int) -> Speeds:
    """Speeds beside those of the states, for the pumps whose oil reaches `node` in some state. An electric motor has
    none."""
    r = case.results
    low, high, missing = np.ones(r.size), np.ones(r.size), []
    for pump in walk.pumps(case.network):
        if node not in walk.reach(case.network, {pump.outlet}, walk.EVER):
            continue
        driver = str(getattr(case.circuit.parts[pump.part].params, "driven_by", "by hand"))
        part = case.circuit.parts.get(driver)
        if part is None:
            missing += [] if driver else [f"'driven by' of {pump.part}"]
            continue
        params = part.params
        if not isinstance(params, EngineParams):
            continue
        now = params.nominal() * np.asarray(r.speed_ratio(driver), dtype=float)
        now = np.where(now > 0, now, np.nan)
        if params.idle is None:
            missing.append(f"'idle' of {driver}")
        else:
            low = np.fmin(low, params.idle / now)
        if params.high_idle is not None:
            high = np.fmax(high, params.high_idle / now)
    return Speeds(low, high, listed(missing))


def inlet_flow(case: Case, part: Part) -> Array:
    """m3/s into a divider, (S,), nan where unsolved or where it stands."""
    r = case.results
    if part.kind == GEARS:
        params = part.params
        assert isinstance(params, FlowDividerParams)
        flow = sum(params.sections) * r.speed(part.name, "rotor")
    else:
        ways = ("controlled", "excess") if part.kind == PRIORITY else ("metering A", "metering B")
        flow = np.asarray(sum(r.flow(part.name, way) for way in ways))
    flow = np.where(r.solved, np.abs(flow), np.nan)
    largest = np.nanmax(flow, initial=0.0)
    return np.where(flow > STANDS * largest, flow, np.nan)


@rule(
    id="split-flow-range",
    title="A divider works within its range of flow",
    signal="NOTICE",
    reason="With too little oil it does not divide: one outlet takes all. With too much it stalls, heats or is "
    "overspeeded.",
    criterion="flow at the inlet in every state, and in proportion to speed at the engine's idle and high idle, "
    "between its `lowest flow` and `highest flow`; a gear divider without them: its shaft between 750 and 3000 rpm",
    remedy="Choose the size for the working speed, and write down what it does at idle.",
    source="750 to 3000 rpm, best between 1000 and 2000: a maker's application note on gear dividers (seen as an "
    "excerpt); in proportion to speed: a pump's delivery, elementary",
)
def flow_range(case: Case) -> Iterable[Finding]:
    id = "split-flow-range"
    dividers = of_kind(case, GEARS, SPOOLS, PRIORITY)
    for part in dividers:
        yield _in_range(case, About(id, part.name, part.place), part)
    if not dividers:
        yield About(id).none("No divider in this circuit")


def _in_range(case: Case, say: About, part: Part) -> Finding:
    u, r = Units(case.circuit), case.results
    low, high, note = part.params.lowest_flow, part.params.highest_flow, ""  # type: ignore[attr-defined]
    if isinstance(part.params, FlowDividerParams):
        size = sum(part.params.sections)
        note = " (its shaft at 750 to 3000 rpm)" if low is None and high is None else ""
        low = low if low is not None else SLOWEST * size
        high = high if high is not None else FASTEST * size
    flow = inlet_flow(case, part)
    beside = speeds(case, case.network.port_nodes[part.name, "inlet"])
    least, most = r.worst(flow * beside.idle, lowest=True), r.worst(flow * beside.high)
    if least is None or most is None:
        return say.unchecked(f"{part.name}: no state gives its flow", "a solved state in which it divides")
    figures = {"lowest": least.value, "highest": most.value}
    at = [" at idle" if beside.idle[least.index] < 1 else "", " at high idle" if beside.high[most.index] > 1 else ""]
    runs = f"{part.name} gets {u.both(least.value, 'flow')}{at[0]} to {u.both(most.value, 'flow')}{at[1]}"
    if low is not None and least.value < low:
        return say.finding(
            f"{part.name} gets {u.both(least.value, 'flow')}{at[0]}: it divides from {u.both(low, 'flow')} on{note}",
            "Below it its spool does not move, or its gears slip: one outlet may take all of the oil.",
            state=least.state, figures=figures,
        )  # fmt: skip
    if high is not None and most.value > high:
        return say.finding(
            f"{part.name} gets {u.both(most.value, 'flow')}{at[1]}: it may have {u.both(high, 'flow')}{note}",
            "Above it it chokes and heats the oil, or its gears run too fast.", state=most.state,
            figures=figures | {"ratio": most.value / high},
        )  # fmt: skip
    if low is None or high is None:
        return say.unchecked(f"{runs}: its range is open", "its 'lowest flow' and 'highest flow'", figures=figures)
    if beside.missing:
        return say.unchecked(f"{runs}; what it gets at idle is open", beside.missing, figures=figures)
    return say.ok(f"{runs}, within {u.flow(low)} to {u.flow(high)}{note}", state=least.state, figures=figures)


@rule(
    id="split-priority-starved",
    title="What has priority gets its flow at the lowest engine speed too",
    signal="WARNING",
    reason="With the engine at idle the wheel goes heavy or cannot be turned, and the machine cannot be steered.",
    criterion="flow to the divider in every state, and in proportion to speed at the engine's idle, at least its set "
    "flow; for a steering unit the set flow (or the pump's flow, where no divider feeds it) at least its displacement "
    "times one turn of the wheel a second. NOTICE where it is no steering that has priority",
    remedy="A smaller priority setting, a bigger pump, a higher idle. A gear divider gives no priority: it scales both "
    "outlets.",
    source="a trade article on dividers (seen as an excerpt); one to two turns a second: common practice, no source",
)
def starved(case: Case) -> Iterable[Finding]:
    id, none = "split-priority-starved", True
    units = {p.name: p for p in of_kind(case, STEERING)}
    for part in of_kind(case, PRIORITY):
        params = part.params
        assert isinstance(params, PriorityDividerParams)
        none = False
        way = section(case, case.network.port_nodes[part.name, "controlled"])
        fed = [u for n, u in units.items() if case.network.port_nodes[n, "P"] in way.nodes]
        for unit in fed:
            units.pop(unit.name)
        flow, inlet = inlet_flow(case, part), case.network.port_nodes[part.name, "inlet"]
        yield _fed(case, About(id, part.name, part.place), flow, speeds(case, inlet), params.set_flow, fed)
    for unit in units.values():
        node = case.network.port_nodes[unit.name, "P"]
        pumps = [p for p in walk.pumps(case.network) if p.outlet in section(case, node).nodes]
        if pumps:
            none = False
            flow = np.sum([p.delivery(case.results) for p in pumps], axis=0)
            flow = np.where(case.results.solved & (flow > 0), flow, np.nan)
            yield _fed(case, About(id, unit.name, unit.place), flow, speeds(case, node), None, [unit])
    if none:
        yield About(id).none("No priority divider, and no steering unit straight behind a pump")


def _fed(case: Case, say: About, flow: Array, beside: Speeds, setting: float | None, fed: list[Part]) -> Finding:
    """setting: of a priority divider, m3/s. fed: steering units behind it."""
    u = Units(case.circuit)
    wheel = max((float(p.params.displacement) * TURN for p in fed), default=0.0)  # type: ignore[attr-defined]
    what = f"{listed(p.name for p in fed)} takes {u.both(wheel, 'flow')} at one turn of the wheel a second"
    signal: Signal | None = None if fed else "NOTICE"
    if setting is not None and setting < wheel:
        return say.finding(
            f"{say.subject} is set to {u.both(setting, 'flow')}, {what}",
            "The wheel cannot be turned that fast, whatever the engine does.", figures={"set": setting, "wheel": wheel},
        )  # fmt: skip
    least = case.results.worst(flow * beside.idle, lowest=True)
    if least is None:
        return say.unchecked(f"{say.subject}: no state gives its flow", "a solved state with oil for it")
    needs = wheel if setting is None else setting
    at = " at idle" if beside.idle[least.index] < 1 else ""
    line = f"{say.subject} gets {u.both(least.value, 'flow')}{at}"
    wanted = what if setting is None else f"its priority side is set to {u.both(setting, 'flow')}"
    figures = {"flow": least.value, "needed": needs}
    if least.value < needs:
        return say.finding(
            f"{line}; {wanted}", "What has priority gets all there is, and that is too little; the rest stands.",
            state=least.state, signal=signal, figures=figures | {"ratio": needs / least.value},
        )  # fmt: skip
    if beside.missing:
        return say.unchecked(f"{line}; what it gets at idle is open", beside.missing, figures=figures)
    return say.ok(f"{line}; {wanted}", state=least.state, figures=figures)


@rule(
    id="split-excess-pressure",
    title="An excess port that has to run free runs free",
    signal="WARNING",
    reason="In a divider that is not made for it, pressure at the excess port pushes its spool: the flow that has "
    "priority falls or rises with the load of the other function, and a wheel turns hard.",
    criterion="highest pressure at the excess port over the states at most 10 bar, unless `excess port takes pressure` "
    "is written and true; not checked where it is not written",
    remedy="Lead the excess port to the tank, or fit a divider whose excess port may feed a function.",
    source="trade notes on priority dividers (seen as excerpts); 10 bar: common practice, no source",
)
def excess_pressure(case: Case) -> Iterable[Finding]:
    id, u = "split-excess-pressure", Units(case.circuit)
    parts = of_kind(case, PRIORITY, *METERS)
    for part in parts:
        say, keys = About(id, part.name, part.place), part.params
        worst = seen(case, {case.network.port_nodes[part.name, "excess"]})
        may = "excess_port_takes_pressure" in keys.model_fields_set and keys.excess_port_takes_pressure  # type: ignore[attr-defined]
        if may or worst is None or worst.value <= FREE:
            at = "" if worst is None else f" and sees {u.both(worst.value, 'pressure')} at most"
            yield say.ok(f"{say.subject}.excess {'may take pressure' if may else 'runs free'}{at}")
            continue
        figures = {"pressure": worst.value, "ratio": worst.value / FREE}
        line = f"{say.subject}.excess sees {worst.words}{u.both(worst.value, 'pressure')}"
        if "excess_port_takes_pressure" not in keys.model_fields_set:
            yield say.unchecked(f"{line}: whether it may is open", "'excess port takes pressure'", figures=figures)
            continue
        yield say.finding(
            f"{line}, and has to run free", "The figures here are those of a divider that bears it: this one does not "
            "keep its flow then.", state=worst.state, figures=figures,
        )  # fmt: skip
    if not parts:
        yield About(id).none("No priority divider and no three-port flow control")


@rule(
    id="split-excess-deadhead",
    title="Oil of a divider's outlet that is blocked has a way out",
    signal="WARNING",
    reason="A blocked outlet sends all of the flow over a relief; a gear divider stops altogether or drives the other "
    "outlet up.",
    criterion="at each outlet a relief, or a way to the tank in every state; an outlet that feeds a rod is blocked at "
    "each of its stops. DANGER where no relief guards the pump either",
    remedy="An open-centre valve, a bypass or a relief at that outlet; see whether the divider's own relief guards "
    "only its priority side.",
    source="trade notes on dividers (seen as excerpts)",
)
def blocked(case: Case) -> Iterable[Finding]:
    id = "split-excess-deadhead"
    dividers = of_kind(case, GEARS, SPOOLS, PRIORITY)
    for part in dividers:
        for port in ("controlled", "excess") if part.kind == PRIORITY else "ABCD":
            if (part.name, port) in case.network.port_nodes:
                yield _outlet(case, About(id, f"{part.name}.{port}", part.place), part, port)
    if not dividers:
        yield About(id).none("No divider in this circuit")


def _outlet(case: Case, say: About, part: Part, port: str) -> Finding:
    r, node = case.results, case.network.port_nodes[part.name, port]
    way = section(case, node)
    reliefs = walk.limiters(case.circuit, case.network)
    own = [item.label for item in reliefs if item.inlets(case.network) & way.nodes]
    if own:
        return say.ok(f"{say.subject} is relieved by {listed(own)}")
    passages = {(item.part, item.role) for item in reliefs}

    def open_way(name: str, role: str) -> bool:
        return name != part.name and (name, role) not in passages

    rods = [p.name for p in of_kind(case, "cylinder", "single-acting cylinder", "telescopic cylinder")
            if p.name in way.parts]  # fmt: skip
    ways = [walk.reach(case.network, {node}, s, open_way) for s in range(r.size)]
    inlet = case.network.port_nodes[part.name, "inlet"]
    shut = [s for s, nodes in enumerate(ways)
            if RESERVOIR not in nodes and not _moves(case, nodes, s) and _oil_for(case, inlet, s)]  # fmt: skip
    if shut or rods:
        stops = "is at its stop" if len(rods) == 1 else "are at their stops"
        why = f"in '{r.states[shut[0]]}'" if shut else f"when {listed(rods)} {stops}"
        bare = any(not _guarded(case, s) for s in shut or range(r.size))
        then = "no relief guards the pump either" if bare else "all of the flow then goes over the pump's relief"
        return say.finding(
            f"{say.subject} is blocked {why} and has no relief: {then}",
            "A priority or spool divider throttles the other outlet as well; a gear divider stops, or drives the other "
            "outlet up.",
            state=r.states[shut[0]] if shut else "", signal="DANGER" if bare else None,
        )  # fmt: skip
    closing = _closing(case, node, open_way)
    if closing:
        missing = f"a state that shifts {listed(closing, 3)}"
        return say.unchecked(f"{say.subject}: what is left open when {listed(closing, 3)} shuts is open", missing)
    return say.ok(f"{say.subject} has a way to the tank in every state")


def _oil_for(case: Case, inlet: int, s: int) -> bool:
    """Some pump that delivers in state `s` has a way to the inlet."""
    before = walk.reach(case.network, {inlet}, s, backward=True)
    return any(p.outlet in before and p.flow[s] > 0 for p in walk.pumps(case.network))


def _moves(case: Case, nodes: set[int], s: int) -> bool:
    """An actuator takes oil from these nodes in a state."""
    v = np.nan_to_num(case.results.v[s])
    return any(abs(v[k]) > 1e-9 and nodes & set(a.k) for k, a in enumerate(case.network.actuators))


def _guarded(case: Case, s: int) -> bool:
    """Every pump has a relief in state `s`."""
    return all(guard_at(case, p.part, p.outlet).by_state[s] for p in walk.pumps(case.network))


def _closing(case: Case, node: int, open_way: Callable[[str, str], bool]) -> list[str]:
    """Parts that could shut the way to the tank and that no state shifts."""
    closable = walk.closable_parts(case.circuit)

    def lasting(name: str, role: str) -> bool:
        return name not in closable and open_way(name, role)

    if RESERVOIR in walk.reach(case.network, {node}, walk.ALWAYS, lasting):
        return []
    ordered = {part for state in case.circuit.states.values() for part, _ in state.orders}
    ways = walk.reach(case.network, {node}, walk.EVER, open_way) - {RESERVOIR}
    met = {part for (part, _), n in case.network.port_nodes.items() if n in ways}
    return [name for name in case.circuit.parts if name in met & closable and name not in ordered]


@rule(
    id="split-heat",
    title="What dividing and metering turns into heat is small",
    signal="NOTICE",
    reason="Oil that is throttled down to the lighter side, or metered off, heats the tank all the time it runs.",
    criterion="loss in dividers and three-port flow controls, sum of flow times drop to each outlet (a gear divider: "
    "its turning loss) while a pump works, at most 10 % of the most that the pumps take in any state",
    remedy="A gear divider recovers most of it; else a smaller pump, or outlets at like pressures. Count it in the "
    "heat balance.",
    source="P = dp Q: elementary; 10 %: common practice, no source",
)
def wasted(case: Case) -> Iterable[Finding]:
    id, u, r = "split-heat", Units(case.circuit), case.results
    dividers = of_kind(case, GEARS, SPOOLS, PRIORITY, *METERS)
    asked = [d.power for d in demands(case)]
    most = r.worst(np.sum(asked, axis=0)) if asked else None
    for part in dividers:
        say, loss = About(id, part.name, part.place), _loss(case, part)
        if asked:  # with the pumps standing it is the load, going down, that heats the oil, for a stroke
            loss = np.where(np.sum(asked, axis=0) > 0, loss, np.nan)
        worst = r.worst(loss)
        if worst is None or most is None or most.value <= 0:
            yield say.unchecked(f"{part.name}: no state gives its loss and the pumps' power", "a state with figures")
            continue
        share = worst.value / most.value
        figures = {"heat": worst.value, "share": share}
        line = (
            f"{part.name} turns {u.both(worst.value, 'power')} into heat, {percent(share)} of the "
            f"{u.power(most.value)} that the pumps take at most"
        )
        if share <= WASTED:
            yield say.ok(line, state=worst.state, figures=figures)
        else:
            yield say.finding(line, "It throttles the side with the lighter load; the heat balance counts it.",
                              state=worst.state, figures=figures | {"ratio": share / WASTED})  # fmt: skip
    if not dividers:
        yield About(id).none("No divider and no three-port flow control in this circuit")


def _loss(case: Case, part: Part) -> Array:
    """W, (S,), without what its reliefs turn into heat."""
    r = case.results
    total = r.dissipation(part.name)
    for item in walk.limiters(case.circuit, case.network):
        if item.part == part.name:
            total = total - item.power(r)
    if isinstance(part.params, FlowDividerParams):
        turning = part.params.turning_loss * sum(part.params.sections)
        total = total + turning * np.abs(r.speed(part.name, "rotor"))
    return np.asarray(total, dtype=float)
