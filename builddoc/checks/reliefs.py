"""Rules on what limits a pump: is there a relief, and can something shut it off from the pump."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..network import RESERVOIR
from ..solution import Verdict
from . import walk
from .base import Case, Finding, once, rule
from .unsolved import closed_by
from .walk import Limiter, Pump
from .words import Units, listed, quoted

APART = {
    "priority divider": "controlled", "three-port flow control": "controlled", "pressure reducing valve": "passage",
}  # fmt: skip
"""Kinds of part with the passage whose far end does not stand at the pressure before it: what is not needed there goes
elsewhere, or stays before it."""

HOMEWARD = ("tee", "quick coupler", "filter", "cooler", "gauge point", "check valve")

FREE_WAY = "Fit a relief valve right after the pump, with nothing that can be shut between them."


class Guard:
    """What guards one pump. always: reliefs that nothing can part from it. by_state: reliefs connected in each state.
    free: its oil has a way to the reservoir that nothing can shut. closables: parts that can be shut."""

    def __init__(self, case: Case, pump: Pump):
        self.case, self.pump = case, pump
        self.closables = walk.closable_parts(case.circuit)
        self.limiters = walk.limiters(case.circuit, case.network)
        self.relief_passages = {(item.part, item.role) for item in self.limiters}
        fixed = self._reach(walk.ALWAYS, self.closables)
        self.free = RESERVOIR in fixed
        self.always = self._connected(fixed, walk.ALWAYS, self.closables)
        self.by_state = [self._connected(self._reach(s, set()), s, set()) for s in range(case.network.size)]

    def _reach(self, state: int | str, without: set[str], start: set[int] | None = None) -> set[int]:
        return walk.reach(
            self.case.network, start or {self.pump.outlet}, state,
            lambda part, role: part not in without and (part, role) not in self.relief_passages, pilots=not without,
            upstream=False,
        )  # fmt: skip

    def _connected(self, nodes: set[int], state: int | str, without: set[str]) -> list[Limiter]:
        """Reliefs that start within `nodes` and end at the reservoir or at the pump's inlet."""
        home = {RESERVOIR, self.pump.inlet}
        return [
            item
            for item in self.limiters
            if item.inlets(self.case.network) & nodes
            and self._reach(state, without, item.outlets(self.case.network)) & home
        ]

    def limiting(self, s: int) -> list[Limiter]:
        """Of the reliefs connected in state `s` those that the pump's own pressure stands at: not one that guards only
        the priority side of a divider, or what is behind a reducing valve."""
        parts, network, at_home = self.case.circuit.parts, self.case.network, home(self.case)
        barred = {(b.part, b.role) for b in network.branches if {b.i, b.j} & at_home}
        barred |= {(c.part, c.role) for c in network.pilots if {c.i, c.j} & at_home}

        def whole(part: str, role: str) -> bool:
            apart = part in parts and APART.get(parts[part].kind) == role
            return not apart and (part, role) not in barred and (part, role) not in self.relief_passages

        nodes = walk.reach(network, {self.pump.outlet}, s, whole, upstream=False)
        return [item for item in self.by_state[s] if item.inlets(self.case.network) & nodes]

    def chain(self, state: int | str, without: set[str]) -> list[Limiter]:
        """Reliefs that together, one behind the other, limit the pump: those with the least sum of settings; empty if
        there is no such chain."""
        home = {RESERVOIR, self.pump.inlet}
        waiting: list[tuple[float, list[Limiter], set[int]]] = [(0.0, [], self._reach(state, without))]
        while waiting:
            waiting.sort(key=lambda entry: entry[0])
            total, passed, nodes = waiting.pop(0)
            if passed and nodes & home:
                return passed
            for item in self.limiters:
                if item not in passed and item.inlets(self.case.network) & nodes:
                    onward = self._reach(state, without, item.outlets(self.case.network))
                    waiting.append((total + item.setting, [*passed, item], onward))
        return []

    def parting(self) -> list[str]:
        """Parts that, shut, part the pump from every relief."""
        alone = [
            name
            for name in self.case.circuit.parts
            if name in self.closables and not self._connected(self._reach(walk.EVER, {name}), walk.EVER, {name})
        ]
        return alone or [name for name in self.case.circuit.parts if name in self.closables]

    def unlimited(self) -> list[int]:
        """States whose flow is proven to have no way out."""
        return [
            s
            for s, state in enumerate(self.case.solution.states)
            if state.verdict in (Verdict.UNBOUNDED, Verdict.OVER_LIMIT)
            and (self.pump.outlet in state.blocked or not state.blocked)
            and self.pump.flow[s] > 0
        ]


@once
def home(case: Case) -> set[int]:
    """The way home: what oil leaves for the reservoir with nothing to hold it back but losses."""
    ways = {p.name for p in case.circuit.parts.values() if p.kind in HOMEWARD} | set(case.circuit.lines)

    def open_way(part: str, role: str) -> bool:
        return part in ways

    return walk.reach(case.network, {RESERVOIR}, walk.EVER, open_way, backward=True, pilots=False)


@once
def guard_at(case: Case, part: str, outlet: int) -> Guard:
    """What guards the pump `part` that delivers into node `outlet`."""
    return Guard(case, next(p for p in walk.pumps(case.network) if (p.part, p.outlet) == (part, outlet)))


@rule(
    id="relief-none",
    title="Every pump has a relief",
    signal="DANGER",
    reason="When the flow of a fixed pump is shut in, pressure multiplies within a second and something bursts.",
    criterion="in every state a relief can be reached from the pump's outlet, and from the relief the reservoir; and "
    "no state is without a way out for the pump's flow",
    remedy=FREE_WAY,
    source="web answer 'Why relief valves?': every circuit with a fixed-volume pump needs one; a pump article of 2018: "
    "blocked flow raises the pressure to several times design within seconds (both seen as excerpts)",
)
def relief_none(case: Case) -> Iterable[Finding]:
    id = "relief-none"
    pumps = walk.pumps(case.network)
    for pump in pumps:
        place = case.circuit.parts[pump.part].place if pump.part in case.circuit.parts else None
        guard = guard_at(case, pump.part, pump.outlet)
        states = case.results.states
        unlimited = guard.unlimited()
        bare = [s for s in range(case.network.size) if not guard.by_state[s] and pump.flow[s] > 0]
        if unlimited:
            s = unlimited[0]
            by = listed(closed_by(case, s, set(case.solution.states[s].blocked)), 4)
            text = "The pressure rises until something bursts or the engine stalls. People are normally beside it."
            if by:
                text = f"The flow is shut in by {by}. {text}"
            yield Finding(
                id, "finding", "DANGER", pump.part,
                f"Nothing limits the pump '{pump.part}': its flow has nowhere to go",
                text=f"So it is in {quoted([states[s] for s in unlimited])}. {text}", remedy=FREE_WAY,
                state=states[s], place=place,
            )  # fmt: skip
        elif guard.free:
            yield Finding(
                id, "does not apply", "DANGER", pump.part,
                f"{pump.part}: nothing can shut its way to the reservoir",
            )  # fmt: skip
        elif bare and all(guard.chain(s, set()) for s in bare):
            yield _in_series(case, id, pump, guard.chain(bare[0], set()), states[bare[0]])
        elif bare:
            yield Finding(
                id, "finding", "DANGER", pump.part,
                f"Nothing limits the pump '{pump.part}': no relief can be reached from its outlet",
                text=f"In {quoted([states[s] for s in bare])} the oil finds a way out only as long as nothing shuts "
                "it: one lever, one valve or a cylinder at its stop is enough, and then something bursts.",
                remedy=FREE_WAY, state=states[bare[0]], place=place,
            )  # fmt: skip
        else:
            names = listed(item.label for item in guard.by_state[0])
            yield Finding(id, "ok", "DANGER", pump.part, f"{pump.part} is limited by {names or 'a relief'}")
    if not pumps:
        yield Finding(id, "does not apply", "DANGER", "", "No pump in this circuit")


def _in_series(case: Case, id: str, pump: Pump, chain: list[Limiter], state: str = "") -> Finding:
    """The pump is limited, but by reliefs one behind the other: their settings add up."""
    limit = sum(item.setting for item in chain)
    names = listed(item.label for item in chain)
    return Finding(
        id, "finding", "DANGER", pump.part,
        f"Only reliefs in series limit {pump.part}: {names} together, at {Units(case.circuit).both(limit, 'pressure')}",
        text="What comes out of the first relief has to lift the next one before it gets home, so their settings add "
        "up. The gauge that was used to set one of them shows nothing of it.",
        remedy="Give the outlet of the first relief a way to the tank that nothing can shut.",
        state=state, figures={"limit": limit}, place=case.circuit.parts[pump.part].place,
    )  # fmt: skip


@rule(
    id="relief-isolated",
    title="Nothing that can be shut stands between pump and relief",
    signal="DANGER",
    reason="One hand movement would take away the only protection.",
    criterion="from the pump's outlet a relief, and from it the reservoir, is reached through passages that nothing "
    "can shut",
    remedy="Move the relief upstream, or remove what can be shut.",
    source="common practice, no source",
)
def relief_isolated(case: Case) -> Iterable[Finding]:
    for pump in walk.pumps(case.network):
        yield from _isolated(case, pump)
    if not walk.pumps(case.network):
        yield Finding("relief-isolated", "does not apply", "DANGER", "", "No pump in this circuit")


def _isolated(case: Case, pump: Pump) -> Iterator[Finding]:
    id, guard = "relief-isolated", guard_at(case, pump.part, pump.outlet)
    if guard.always:
        names = listed(item.label for item in guard.always)
        yield Finding(id, "ok", "DANGER", pump.part, f"Nothing can part {pump.part} from {names}")
    elif guard.free or not any(guard.by_state):
        why = "nothing can shut its way to the reservoir" if guard.free else "it has no relief at all"
        yield Finding(id, "does not apply", "DANGER", pump.part, f"{pump.part}: {why}")
    elif chain := guard.chain(walk.ALWAYS, guard.closables):
        if all(guard.by_state[s] or not pump.flow[s] > 0 for s in range(case.network.size)):
            yield _in_series(case, id, pump, chain)
        else:  # a declared state shows it: the finding of `relief-none`
            said = f"Nothing parts {pump.part} from {len(chain)} reliefs in series"
            yield Finding(id, "ok", "DANGER", pump.part, said)
    else:
        names = listed(guard.parting(), 5)
        yield Finding(
            id, "finding", "DANGER", pump.part,
            f"{names} can shut {pump.part} off from its relief",
            text="One hand movement takes away the only protection; then something bursts.",
            remedy="Move the relief to the pump's side of it, or remove what can be shut.",
            place=case.circuit.parts[pump.part].place if pump.part in case.circuit.parts else None,
        )  # fmt: skip
