"""Why a state has no figures, in the builder's words."""

from __future__ import annotations

from dataclasses import dataclass

from ..network import RESERVOIR
from ..solution import StateSolution, Verdict
from . import walk
from .base import Case, Signal
from .orders import position_words
from .words import listed


@dataclass(frozen=True, slots=True)
class Reason:
    """headline: one line. text: what is shut in and by what. remedy: what would give the state an answer. subject: the
    part that is to blame ("" = none)."""

    headline: str
    text: str
    remedy: str
    signal: Signal
    subject: str = ""


def explain(case: Case, s: int) -> Reason:
    """Reason why state number `s` has no figures; ValueError if it has some."""
    state = case.solution.states[s]
    if state.verdict is Verdict.UNBOUNDED or state.verdict is Verdict.OVER_LIMIT:
        return _blocked(case, s, state)
    if state.verdict is Verdict.RUNAWAY:
        movers = listed(case.network.actuators[a].part for a in state.runaway) or "an actuator"
        return Reason(
            f"No figures: nothing holds the load on {movers}",
            f"The load drives {movers} faster and faster: no valve and no line on its way limits the speed. "
            "There is no figure to print.",
            "Fit a valve that holds the load back, or check the sign of the load.",
            "WARNING",
            movers,
        )
    if state.verdict is Verdict.SPLIT_OPEN:
        loose = [case.network.branches[k].part for k in state.open_split]
        loose += [case.network.actuators[k].part for k in state.open_speeds]
        ways = listed(loose, 5) or "several ways"
        return Reason(
            "No figures: the data do not fix how the flow divides",
            f"Oil can go through {ways} in any shares, because nothing stated resists it there. "
            "There is no figure to print.",
            "State the length of the lines or the pressure drop of the valves on these ways.",
            "NOTICE",
        )
    if state.verdict is Verdict.NOT_CONVERGED:
        return _not_converged(case, state)
    raise ValueError(f"state '{case.results.states[s]}' is solved")


def _blocked(case: Case, s: int, state: StateSolution) -> Reason:
    network = case.network
    blocked = set(state.blocked) - {RESERVOIR}
    pumps = [p for p in walk.pumps(network) if p.flow[s] > 0]
    shut_in = [p.part for p in pumps if p.outlet in blocked] or [p.part for p in pumps] or ["the pump"]
    who = listed(shut_in)
    places = listed([f"line {n}" for n in walk.lines_within(network, blocked)] + _parts_at(case, blocked, shut_in), 8)
    by = listed(closed_by(case, s, blocked), 6)
    text = f"The oil that {who} delivers has no way out"
    text += f" of {places}." if places else "."
    if by:
        text += f" It is shut in by {by}."
    if state.verdict is Verdict.OVER_LIMIT:
        text = f"The oil that {who} delivers finds a way out only above 1000 bar: something breaks before that."
        if places:
            text += f" It presses on {places}."
    return Reason(
        f"No figures: the flow of {who} has no way out",
        text + " The pressure rises until something bursts or the engine stalls; there is no figure to print.",
        "Fit a relief valve right after the pump, with nothing that can be shut between them, and a free line from it "
        "to the reservoir.",
        "DANGER",
        shut_in[0],
    )


def _parts_at(case: Case, nodes: set[int], leave_out: list[str]) -> list[str]:
    return [p for p in walk.ports_at(case.network, nodes) if p.split(".", 1)[0] not in leave_out]


def closed_by(case: Case, s: int, nodes: set[int]) -> list[str]:
    """What keeps oil from leaving a set of nodes in state `s`, named part by part."""
    network = case.network
    found: list[str] = []
    for b in network.branches:
        if b.leak or (b.i in nodes) == (b.j in nodes):
            continue
        if walk.is_shut(b, s):
            position = position_words(case.circuit, b.part, case.results.states[s])
            found.append(f"{b.part} ({position or 'shut'})")
        elif (b.j in nodes and b.lo[s] >= 0) or (b.i in nodes and b.hi[s] <= 0):
            found.append(f"{b.part} (lets no oil that way)")
    for a in network.actuators:
        if nodes & a.k.keys():
            if a.lo[s] == 0 and a.hi[s] == 0:
                found.append(f"{a.part} (held)")
            elif a.hi[s] == 0 or a.lo[s] == 0:
                found.append(f"{a.part} (at its stop)")
    plugged = {case.network.port_nodes.get((e.part, e.port)): str(e) for e in case.circuit.plugged}
    found += [f"{label} (plugged)" for node, label in plugged.items() if node in nodes]
    return list(dict.fromkeys(found))


def _not_converged(case: Case, state: StateSolution) -> Reason:
    where = ""
    if state.certificate is not None:
        certificate = state.certificate
        node = case.network.nodes[certificate.worst_node] if certificate.worst_node >= 0 else ""
        branch = case.network.branches[certificate.worst_branch].part if certificate.worst_branch >= 0 else ""
        where = (
            f" The worst residual is {certificate.worst:.1e} (1e-6 is allowed), the energy balance misses by "
            f"{certificate.energy:.1e}; look at {listed(w for w in (node, branch) if w)}."
        )
    return Reason(
        "No figures: the calculation did not reach a proven answer",
        "The balances of flow and pressure do not close well enough to be believed." + where,
        "Check the sizes and settings there; a figure wrong by a factor of a thousand is the usual cause.",
        "CAUTION",
    )
