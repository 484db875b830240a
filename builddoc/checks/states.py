"""Rules on the states themselves: no answer, pressures left open, oil that would have to boil."""

from __future__ import annotations

from collections.abc import Iterable

from ..network import RESERVOIR
from ..solution import Verdict
from . import walk
from .base import Case, Finding, rule
from .unsolved import explain
from .words import Units, listed, quoted

NO_TOP = 900e5  # Pa; beyond, a range has no upper limit in the circuit itself (the solver's bound: 1000 bar)


@rule(
    id="state-unsolved",
    title="Every declared state has an answer",
    signal="WARNING",
    reason="A state without pressures and flows cannot be checked; often it is the dangerous one.",
    criterion="the solution of the state exists, is unique and carries a certificate that closes",
    remedy="See the explanation at the state.",
    source="our own: a figure without proof is never printed",
)
def state_unsolved(case: Case) -> Iterable[Finding]:
    for s, name in enumerate(case.results.states):
        state = case.solution.states[s]
        if state.verdict is Verdict.SOLVED:
            yield Finding("state-unsolved", "ok", "WARNING", "", f"'{name}' has a proven answer", state=name)
            continue
        reason = explain(case, s)
        yield Finding(
            "state-unsolved", "finding", reason.signal, reason.subject, reason.headline, text=reason.text,
            remedy=reason.remedy, state=name, place=case.circuit.states[name].place,
        )  # fmt: skip


def range_words(case: Case, s: int, node: int) -> str:
    """The range of a pressure that state `s` leaves open, in words.

    Where any range of the state runs up to the solver's own bound, the others may lean on that bound too: an upper end
    is printed only if a pressure or a relief of the circuit reaches it."""
    u, ranges = Units(case.circuit), case.solution.states[s].ranges
    low, high = ranges[node]
    known = case.results.p[s, case.results.fixed[s]]
    settings = [1.3 * item.setting for item in walk.limiters(case.circuit, case.network)]
    reached = max([float(known.max(initial=0.0)), *settings])
    limited = high <= reached or all(top < NO_TOP for _, top in ranges.values())
    if low > 0:
        return f"between {u.pressure(low)} and {u.pressure(high)}" if limited else f"{u.pressure(low)} or more"
    return f"anything up to {u.pressure(high)}" if limited else "anything: nothing in the circuit limits it"


def node_words(case: Case, node: int) -> str:
    """The ports at a node, or its own name where no port is."""
    return listed(walk.ports_at(case.network, {node}), 4) or case.network.nodes[node]


@rule(
    id="pressure-undetermined",
    title="Pressures that the state does not fix are said to be open",
    signal="NOTICE",
    reason="Oil shut in keeps whatever pressure it had, and rises when it warms: it may be high with the engine off.",
    criterion="the balances of the state fix the pressure at the port",
    remedy="Open nothing there until a gauge reads zero.",
    source="follows from the equations; the pressure of shut-in oil over temperature: physics of trapped volumes",
)
def pressure_undetermined(case: Case) -> Iterable[Finding]:
    groups: dict[tuple[str, ...], list[int]] = {}
    by_node: dict[int, list[str]] = {}
    ports = set(case.network.port_nodes.values())
    for s, state in enumerate(case.solution.states):
        if case.results.solved[s]:
            for node in (n for n in state.ranges if n in ports):  # nobody can open what is inside a part
                by_node.setdefault(node, []).append(case.results.states[s])
    for node, states in by_node.items():
        groups.setdefault(tuple(states), []).append(node)
    volumes = [(_named(case, nodes), quoted(names)) for names, nodes in groups.items()]
    if volumes:
        one = len(volumes) == 1
        firsts = listed([_named(case, nodes[:1]) for nodes in groups.values()], 6)
        places = f"Oil shut in at {volumes[0][0]}"
        places = places if one else f"Oil shut in at {len(volumes)} places (from {firsts} on)"
        first = set(next(iter(groups.values())))
        part = next((part for (part, _), node in case.network.port_nodes.items() if node in first), "")
        when = f", in {volumes[0][1]}" if one else ""
        yield Finding(
            "pressure-undetermined", "finding", "NOTICE", "",
            f"{places}: it keeps whatever pressure was there{when}",
            text="The states do not fix these pressures: only what they cannot fall below is printed and checked "
            "against ratings. They may be high with the engine off, and rise when the oil warms.",
            remedy="Open nothing there until a gauge reads zero.",
            place=case.circuit.parts[part].place if part else None,
            points=() if one else tuple(f"{where}: in {when}" for where, when in volumes),
        )  # fmt: skip
    else:
        solved = [n for n, ok in zip(case.results.states, case.results.solved, strict=True) if ok]
        if solved:
            yield Finding(
                "pressure-undetermined", "ok", "NOTICE", "", f"Every pressure is fixed in {quoted(solved)}"
            )
        else:
            yield Finding("pressure-undetermined", "not checked", "NOTICE", "", "Which pressures stay open: no state "
                          "has figures", missing="a state with figures")  # fmt: skip


def _named(case: Case, nodes: list[int]) -> str:
    """The ports at nodes that are shut in together."""
    return listed(walk.places_at(case.network, nodes) or [case.network.nodes[n] for n in nodes], 6)


@rule(
    id="suct-void",
    title="No place in the circuit runs short of oil",
    signal="CAUTION",
    reason="Where oil is missing a void forms: the pump rattles and wears, a cylinder runs ahead and drops its load.",
    criterion="no place is held at the vapour limit with flow missing",
    remedy="Feed that place: a wider or shorter suction, a check valve that lets oil follow, slower lowering.",
    source="follows from the equations (mass balance at the vapour limit, set at -0.9 bar: our choice)",
)
def void(case: Case) -> Iterable[Finding]:
    u = Units(case.circuit)
    inlets = {p.inlet: p.part for p in walk.pumps(case.network)}
    worst: dict[int, tuple[float, str]] = {}
    for s, state in enumerate(case.solution.states):
        if case.results.solved[s]:
            for node, flow in state.void.items():
                if flow > worst.get(node, (0.0, ""))[0]:
                    worst[node] = (flow, case.results.states[s])
    for node, (flow, state_name) in worst.items():
        if node == RESERVOIR:
            continue
        pump = inlets.get(node, "")
        where = f"The inlet of {pump}" if pump else node_words(case, node)
        yield Finding(
            "suct-void", "finding", "CAUTION", pump, f"{where} lacks {u.flow(flow)} of oil",
            text="The oil cannot follow, so a void forms there. "
            + ("The pump delivers that much less." if pump else
               "What hangs on it can run ahead of its oil supply."),
            remedy="A wider and shorter suction line, a larger strainer, a slower pump or warmer oil." if pump else
            "Let oil follow through a check valve, or slow the motion down.",
            state=state_name, figures={"missing flow": flow}, place=case.circuit.states[state_name].place,
        )  # fmt: skip
    if not worst and case.results.solved.any():
        yield Finding("suct-void", "ok", "CAUTION", "", "No place runs short of oil in any solved state")
    elif not worst:
        yield Finding("suct-void", "not checked", "CAUTION", "", "Whether a place runs short of oil: no state has "
                      "figures", missing="a state with figures")  # fmt: skip
