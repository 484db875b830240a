"""Rules on where the pump's flow goes when a coupler is apart, a valve is shut or a cylinder stands at its stop."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from ..network import RESERVOIR
from ..results import Results
from . import walk
from .base import Case, Finding, rule
from .unsolved import explain
from .walk import Limiter
from .words import Units, listed, percent

MOSTLY = 0.5
"""Share of the pump's flow over reliefs from which a state counts as having nowhere else to go."""


def over_reliefs(case: Case, s: int) -> list[tuple[Limiter, float, float]]:
    """(relief, flow m3/s, heat W) of every relief that passes oil in solved state `s`, largest flow first."""
    r = case.results
    largest = max((float(p.flow[s]) for p in walk.pumps(case.network)), default=0.0)
    found = [
        (item, float(item.flow(r)[s]), float(item.power(r)[s])) for item in walk.limiters(case.circuit, case.network)
    ]
    return sorted((f for f in found if f[1] > 1e-4 * largest and f[1] > 0), key=lambda f: -f[1])


def pump_flow(case: Case, s: int) -> float:
    """m3/s that all pumps deliver in solved state `s`."""
    return float(sum(max(p.delivery(case.results)[s], 0.0) for p in walk.pumps(case.network)))


def where_it_goes(case: Case, s: int) -> str:
    """Where the pump's flow goes in solved state `s`, with figures, as one sentence."""
    u, total = Units(case.circuit), pump_flow(case, s)
    if total <= 0:
        return "No pump delivers in this state."
    ways: list[str] = []
    rest = total
    for item, flow, heat in over_reliefs(case, s):
        rest -= flow
        at = item.pressure(case.results)[s]
        level = f" at {u.both(float(at), 'pressure')}" if np.isfinite(at) else ""
        ways.append(f"{u.both(flow, 'flow')} over {item.label}{level}, {u.power(heat)} of heat")
    if rest > 0.005 * total:
        ways.append(f"{u.both(rest, 'flow')} on through the circuit")
    several = sum(p.delivery(case.results)[s] > 0 for p in walk.pumps(case.network)) > 1
    deliver = "the pumps deliver" if several else "the pump delivers"
    return f"Of the {u.both(total, 'flow')} that {deliver}, {listed(ways)}."


def downstream(r: Results, start: int, s: int) -> set[int]:
    """Nodes that the oil put in at `start` flows to in solved state `s`; it does not pass the reservoir on its way.
    What turns (a motor, a divider) lets it through; behind a rod it is other oil."""
    steps: dict[int, list[int]] = {}
    runs = [(b.i, b.j, r.q[s, k]) for k, b in enumerate(r.network.branches) if not b.leak]
    runs += [(c.i, c.j, r.pilot_q[s, k]) for k, c in enumerate(r.network.pilots)]
    least = 1e-6 * max((abs(q) for _, _, q in runs), default=0.0)
    for k, a in enumerate(r.network.actuators):
        if a.role != "rod":
            flows = {node: size * r.v[s, k] for node, size in a.k.items()}
            runs += [(i, j, q) for i, q in flows.items() for j, back in flows.items() if q > 0 > back]
    for i, j, q in runs:
        if abs(q) > least:
            steps.setdefault(i if q > 0 else j, []).append(j if q > 0 else i)
    seen, waiting = {start}, [start]
    while waiting:
        node = waiting.pop()
        for after in steps.get(node, ()):
            if after not in seen:
                seen.add(after)
                if after != RESERVOIR:
                    waiting.append(after)
    return seen


@dataclass(frozen=True, slots=True)
class Over:
    """How much of the flow of these pumps goes over reliefs. share: 0..1. flow: m3/s. power: W of heat."""

    share: float = 0.0
    flow: float = 0.0
    power: float = 0.0
    pumps: tuple[str, ...] = ()

    @property
    def whose(self) -> str:
        return f"of the flow of {listed(self.pumps)}" if self.pumps else "of the pump's flow"


def relief_share(case: Case, s: int, through: int | None = None) -> Over:
    """The pump, or the pumps that flow together, with the largest share over reliefs in solved state `s`. through: a
    node; only of the pumps whose oil gets there.

    One pump of several may have no other way while the rest run free, so each is followed along its own oil.
    """
    r, over = case.results, over_reliefs(case, s)
    pumps = {p.outlet: p for p in walk.pumps(case.network) if p.delivery(r)[s] > 0}
    reached = {outlet: downstream(r, outlet, s) for outlet in pumps}
    worst = Over()
    for nodes in reached.values():
        if through is not None and through not in nodes:
            continue
        own = [(item, flow, heat) for item, flow, heat in over if item.inlets(case.network) & nodes]
        inlets = {n for item, _, _ in own for n in item.inlets(case.network)}
        feeding = [p for outlet, p in pumps.items() if reached[outlet] & inlets]
        total = sum(float(p.delivery(r)[s]) for p in feeding)
        spilled = sum(flow for _, flow, _ in own)
        if total > 0 and (share := spilled / total) > worst.share:
            heat = sum(heat for _, _, heat in own)
            worst = Over(share, spilled, heat, tuple(dict.fromkeys(p.part for p in feeding)) if len(pumps) > 1 else ())
    return worst


def shut_parts(case: Case, s: int, kind: str = "") -> list[str]:
    """Parts (of a kind) all of whose passages are shut in state `s`."""
    found = []
    for part in case.circuit.parts.values():
        if kind and part.kind != kind:
            continue
        own = [b for b in case.network.branches if b.part == part.name and not b.leak]
        if own and all(walk.is_shut(b, s) for b in own):
            found.append(part.name)
    return found


@rule(
    id="path-deadhead-coupler",
    title="A coupler that is apart leaves the flow another way",
    signal="WARNING",
    reason="Both halves shut when apart: the flow is blocked, or boils over a relief, or loads low-pressure parts.",
    criterion="for each quick coupler: solved with it open, the pump's flow has a way that is not a relief; DANGER if "
    "it has none at all",
    remedy="Put a relief or a loop-back on the pump's side of the coupler; keep a jumper hose for the parked state.",
    source="common practice, no source; relief after a fixed pump: see relief-none",
)
def deadhead_coupler(case: Case) -> Iterable[Finding]:
    couplers = [p.name for p in case.circuit.parts.values() if p.kind == "quick coupler"]
    halves = dict.fromkeys(pair[0] for state in case.circuit.states.values() for pair in state.joined)
    for name in (*couplers, *halves):
        yield from _coupler(case, name)
    if not couplers and not halves:
        yield Finding("path-deadhead-coupler", "does not apply", "WARNING", "", "No quick coupler in this circuit")


def _coupler(case: Case, name: str) -> Iterator[Finding]:
    id, r = "path-deadhead-coupler", case.results
    place = case.circuit.parts[name].place
    if case.circuit.parts[name].kind == "quick coupler":
        apart = [s for s in range(r.size) if name in shut_parts(case, s, "quick coupler")]
        missing = f"a state with '{name}: open'"
    else:
        apart = [s for s, state in enumerate(case.circuit.states.values()) if not state.mate(name)]
        missing = f"a state whose hook-up leaves '{name}' out"
    if not apart:
        yield Finding(
            id, "not checked", "WARNING", name, f"{name}: no state says what happens with it apart", missing=missing,
            place=place,
        )  # fmt: skip
        return
    unsolved = [s for s in apart if not r.solved[s]]
    blocked = [s for s in unsolved if explain(case, s).signal == "DANGER"]
    solved = [s for s in apart if r.solved[s]]
    if blocked:
        s = blocked[0]
        yield Finding(
            id, "finding", "DANGER", name,
            f"With {name} apart the pump's flow has nowhere to go",
            text=explain(case, s).text,
            remedy="Fit a relief on the pump's side of the coupler before anything is started.",
            state=r.states[s], place=place,
        )  # fmt: skip
    for s in set(unsolved) - set(blocked):
        yield Finding(
            id, "not checked", "WARNING", name, f"{name} apart in '{r.states[s]}': this state has no figures",
            missing=f"a solution of '{r.states[s]}'", place=place,
        )  # fmt: skip
    if not solved:
        return
    s = max(solved, key=lambda i: relief_share(case, i).share)
    flow_over = relief_share(case, s)
    share = flow_over.share
    where = where_it_goes(case, s)
    figures = {"share over reliefs": share, "heat": sum(h for _, _, h in over_reliefs(case, s))}
    if share >= MOSTLY:
        over = listed(item.label for item, _, _ in over_reliefs(case, s))
        yield Finding(
            id, "finding", "WARNING", name,
            f"With {name} apart {percent(share)} {flow_over.whose} goes over {over}",
            text=f"{where} The oil heats, and everything up to the coupler stands at that pressure.",
            remedy="Put a loop-back on the pump's side of the coupler, or park it with a jumper hose.",
            state=r.states[s], figures=figures, place=place,
        )  # fmt: skip
    elif not blocked:
        yield Finding(
            id, "ok", "WARNING", name, f"With {name} apart the flow has another way, in '{r.states[s]}'", text=where,
            state=r.states[s], figures=figures, place=place,
        )  # fmt: skip


@rule(
    id="path-dead-end",
    title="Flow that has nowhere to go but a relief is named",
    signal="NOTICE",
    reason="All of the pump's power becomes heat, and the whole pressure side stands at the relief's pressure.",
    criterion="less than half of the flow of each pump goes over reliefs in the state",
    remedy="Leave the lever as soon as the stop is reached, or unload the pump.",
    source="follows from the equations",
)
def dead_end(case: Case) -> Iterable[Finding]:
    id, r, u = "path-dead-end", case.results, Units(case.circuit)
    if not walk.pumps(case.network):
        yield Finding(id, "does not apply", "NOTICE", "", "No pump in this circuit")
        return
    for s, state in enumerate(r.states):
        if not r.solved[s]:
            yield Finding(
                id, "not checked", "NOTICE", "", f"Where the flow goes in '{state}': this state has no figures",
                missing=f"a solution of '{state}'", place=case.circuit.states[state].place,
            )  # fmt: skip
            continue
        share = relief_share(case, s).share
        if share < MOSTLY:
            yield Finding(id, "ok", "NOTICE", "", f"The pump's flow has a way in '{state}'", where_it_goes(case, s),
                          state=state, figures={"share over reliefs": share})  # fmt: skip
            continue
        over = over_reliefs(case, s)
        item, flow, _ = over[0]
        goes = "The flow has nowhere to go but" if share > 0.995 else f"{percent(share)} of the flow goes over"
        heat = sum(h for _, _, h in over)
        level = float(item.pressure(r)[s])
        yield Finding(
            id, "finding", "NOTICE", item.part,
            f"{goes} {listed(i.label for i, _, _ in over)}: "
            f"{u.both(flow, 'flow')} at {u.both(level, 'pressure')}, {u.both(heat, 'power')} of heat",
            text=where_it_goes(case, s), remedy="Leave the lever as soon as the stop is reached, or unload the pump.",
            state=state, figures={"share over reliefs": share, "flow": flow, "pressure": level, "heat": heat},
            place=case.circuit.states[state].place,
        )  # fmt: skip
