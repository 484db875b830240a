"""The rule on selector valves: what happens to the pump's oil, and to a load, while the lever is between positions."""

from __future__ import annotations

from collections.abc import Iterable

from ..circuit import Part
from ..network import RESERVOIR
from . import walk
from .base import Case, Finding, rule
from .holding import carried
from .outcomes import About
from .sections import of_kind
from .words import listed


@rule(
    id="path-selector-crossover",
    title="A selector valve neither shuts the pump in nor drops a load while it moves",
    signal="WARNING",
    reason="Between two positions its ports are blocked, and the pressure spikes; or they are joined, and a load that "
    "hangs behind it drops.",
    criterion="`transition` of a selector valve that the pump's oil reaches: closed needs a relief between pump and "
    "selector that nothing can shut off; open needs that no load hangs on its ports without a valve that holds it",
    remedy="Shift it only at idle with the loads lowered, and say so on the page; a selector with open transition for "
    "the pump's flow, a holding valve at the cylinder.",
    source="common practice, no source",
)
def crossover(case: Case) -> Iterable[Finding]:
    id, none = "path-selector-crossover", True
    for part in of_kind(case, "selector valve"):
        if _fed(case, part):
            none = False
            yield _judged(case, About(id, part.name, part.place), part)
    if none:
        yield About(id).none("No selector valve that a pump feeds in this circuit")


def _ports(case: Case, part: Part) -> set[int]:
    return {node for (name, _), node in case.network.port_nodes.items() if name == part.name}


def _fed(case: Case, part: Part) -> list[walk.Pump]:
    """Pumps whose oil reaches the selector in some state."""
    ports = _ports(case, part)
    return [p for p in walk.pumps(case.network) if ports & walk.reach(case.network, {p.outlet}, walk.EVER)]


def _judged(case: Case, say: About, part: Part) -> Finding:
    transition = str(part.params.transition)  # type: ignore[attr-defined]
    if not transition:
        return say.unchecked(f"{part.name}: what is joined while its lever moves is open", "its 'transition'")
    if transition == "closed":
        bare = [p.part for p in _fed(case, part) if not _relieved(case, p, part)]
        if bare:
            return say.finding(
                f"{part.name} blocks all ports while its lever moves, and no relief is left for {listed(bare)}",
                "The pump's flow is shut in for as long as the lever takes: the pressure rises at once, until "
                "something gives way.",
            )  # fmt: skip
        return say.ok(f"{part.name} blocks all ports while its lever moves; a relief before it takes the pump's flow")
    ports = _ports(case, part)
    loose = [h.part.name for h in carried(case) if ports & h.way.nodes]
    if loose:
        return say.finding(
            f"{part.name} joins its ports while its lever moves: the load on {listed(loose)} drops",
            f"Nothing shuts tight between {part.name} and {listed(loose)}. The oil goes to the other function.",
        )  # fmt: skip
    return say.ok(f"{part.name} joins its ports while its lever moves; no load hangs on them")


def _relieved(case: Case, pump: walk.Pump, part: Part) -> bool:
    """With the selector blocked a relief, or a way home, is reached that nothing can shut off."""
    closed = walk.closable_parts(case.circuit) | {part.name}
    found = walk.reach(case.network, {pump.outlet}, walk.ALWAYS, lambda name, role: name not in closed)
    reliefs = walk.limiters(case.circuit, case.network)
    return RESERVOIR in found or any(item.inlets(case.network) & found for item in reliefs)
