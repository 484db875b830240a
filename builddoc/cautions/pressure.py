"""Cautions on pressure: jets, bursts, parts that are too weak, oil that is shut in."""

from __future__ import annotations

from ..checks.closed import WARMING, closed
from ..checks.duty import duties_of
from ..checks.strength import Member, line_members, line_nodes, seen, weakest
from ..checks.trapped import rise
from ..checks.words import listed
from .base import NO_SOURCE, Said, Scene, caution

INJECTS = 7e5
"""Pa; from about 7 bar (100 psi) on a jet is thought able to pierce skin."""
SERIOUS = 100e5
"""Pa; above it serious cases are on record."""
RATINGS = ("rating-each-part", "rating-line-weakest", "rating-low-pressure-fitting")


def highest(scene: Scene) -> tuple[float, str, str] | None:
    """Pa, line and state of the highest pressure in any line; None if no state says anything."""
    case = scene.case
    levels = {name: seen(case, line_nodes(case.network, name)) for name in case.circuit.lines}
    known = [(level.value, name, level.state) for name, level in levels.items() if level is not None]
    return max(known, key=lambda k: k[0], default=None)


@caution(
    id="injection",
    signal="WARNING",
    condition="some line sees more than 7 bar",
    source="safety alert on injection injuries, HSE NI, 2014 (serious cases above 100 bar, some evidence from 7 bar); "
    "WAC 296-45-285 (no part of the body may locate a leak); seen as excerpts",
)
def injection(scene: Scene) -> Said | None:
    top, u = highest(scene), scene.u
    if top is None or top[0] <= INJECTS:
        return None
    return Said(
        "Oil under pressure can pierce skin.",
        f"A jet from a pinhole goes through gloves and leaves a mark like a splinter; it is thought possible from "
        f"about "
        f"{u.both(INJECTS, 'pressure')}, serious cases are on record above {u.both(SERIOUS, 'pressure')}. This circuit "
        f"reaches {u.both(top[0], 'pressure')} ({top[1]}, in '{top[2]}'). Never feel for a leak: hold a piece of wood "
        "or card there, shut down and release the pressure first. If skin is broken, go to a hospital at once, without "
        "waiting for pain, and say that oil was injected under high pressure: hours can cost the limb.",
        {"pressure": top[0], "from": INJECTS},
    )


@caution(
    id="rating",
    signal="WARNING",
    condition="a part, a line or a fitting is rated below what it sees",
    source="29 CFR 1926.956(d): rated pressures may not be exceeded (seen as an excerpt; its scope is other work)",
)
def rating(scene: Scene) -> Said | None:
    found = scene.found(*RATINGS)
    if not found:
        return None
    names = list(dict.fromkeys(f.subject for f in found))
    return Said(
        "Something here is rated below the pressure that it can see.",
        f"It can burst: {listed(names, 6)}. Do not put pressure on it until it is put right; the findings below say "
        "where, by how much and what to do.",
        {"findings": float(len(found))},
    )


@caution(
    id="plumbing-fitting",
    signal="WARNING",
    condition="a plumbing-grade fitting stands in a pressure line",
    source="ASME B16.3 as tabulated by a maker (Class 150: 300 psi up to 150 °F), seen as an excerpt",
)
def plumbing_fitting(scene: Scene) -> Said | None:
    found = scene.found("rating-low-pressure-fitting")
    if not found:
        return None
    rated = min((f.figures["rating"] for f in found if "rating" in f.figures), default=None)
    own = f"the weakest here is rated {scene.u.both(rated, 'pressure')}; " if rated is not None else ""
    return Said(
        "Fittings for water are not fittings for hydraulics.",
        f"In {listed([f.subject for f in found], 4)}: {own}cast ones break without leaking first. Replace them before "
        "the next start.",
        {"rating": rated} if rated is not None else {},
    )


@caution(
    id="no-relief",
    signal="DANGER",
    condition="a pump has no relief, or one that can be shut off",
    source=f"a pump of fixed displacement delivers into any pressure; {NO_SOURCE}",
)
def no_relief(scene: Scene) -> Said | None:
    found = scene.found("relief-none", "relief-isolated")
    if not found:
        return None
    return Said(
        "A pump that can be blocked without a relief bursts something.",
        f"It is so at {listed([f.subject for f in found], 4)}. Do not start this circuit before a relief stays joined "
        f"to "
        "the pump in every position of every lever, valve and coupler.",
        {"findings": float(len(found))},
    )


@caution(
    id="weakest",
    signal="WARNING",
    condition="in a pressure line that sees more than 7 bar something is rated below the hose or tube",
    source="SAE J517: an assembly is rated by the lower of hose and connectors (seen as an excerpt)",
)
def weak_member(scene: Scene) -> Said | None:
    case, u = scene.case, scene.u
    duty = duties_of(case)
    limited: list[tuple[str, Member, float]] = []
    for name, line in case.circuit.lines.items():
        limit = weakest(line_members(case, name))
        level = seen(case, line_nodes(case.network, name))
        own = line.conduit.rating.value if line.conduit and line.conduit.rating else None
        above = level is not None and level.value > INJECTS and duty.get(name) == "pressure"
        if above and limit is not None and limit.value and own and limit.value < own:
            limited.append((name, limit, own))
    if not limited:
        return None
    name, limit, own = min(limited, key=lambda entry: entry[1].value or 0.0)
    least = limit.value or 0.0
    more = [n for n, _, _ in limited if n != name]
    also = f" The same goes for {listed(more, 4)}." if more else ""
    return Said(
        f"{name} is rated {u.both(least, 'pressure')} by its {limit.label}, not by its conduit.",
        f"Its conduit alone holds {u.both(own, 'pressure')}. A stronger hose there makes the line no stronger.{also}",
        {"rating": least, "conduit": own},
    )


@caution(
    id="intensify",
    signal="WARNING",
    condition="something can shut in the rod side of a cylinder while its cap side has pressure",
    source="p_rod = p_cap A_cap / A_ring: elementary",
)
def intensify(scene: Scene) -> Said | None:
    able = [f for f in scene.findings if f.rule == "cyl-rod-intensify" and f.figures.get("pressure")]
    if not able:
        return None
    worst = max(able, key=lambda f: f.figures["pressure"])
    ratio, level, u = worst.figures["area ratio"], worst.figures["pressure"], scene.u
    return Said(
        f"With its rod side shut, {worst.subject} multiplies pressure by {ratio:.2f}.",
        f"Up to {u.both(level, 'pressure')} stand there then, and no gauge at the pump shows it. Never block or part "
        f"the "
        "line of a rod side while the other side has pressure.",
        {"area ratio": ratio, "pressure": level},
    )


@caution(
    id="trapped",
    signal="WARNING",
    condition="a state shuts oil in that warming can raise",
    source="dp = expansion x bulk modulus x warming (see the rule trapped-thermal); 29 CFR 1910.147(d)(5): stored "
    "energy is relieved first (seen as an excerpt)",
)
def trapped(scene: Scene) -> Said | None:
    shut = [one for one in closed(scene.case) if one.rises]
    if not shut:
        return None
    worst, u = max(shut, key=lambda one: one.most), scene.u
    where = listed((*worst.rods, *worst.lines), 4)
    return Said(
        "Oil that is shut in keeps its pressure with the engine off.",
        f"At {where} (in '{worst.state}') it can stand at {rise(u, worst)} once it is "
        f"{u.both(WARMING, 'temperature difference')} warmer. Open nothing before a gauge reads zero there.",
        {"least": worst.least, "most": worst.most},
    )
