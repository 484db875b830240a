"""Cautions on couplers, on valves one after another, and on parts that bear little pressure."""

from __future__ import annotations

from ..checks.declared import of_part
from ..checks.strength import levels
from ..checks.words import listed
from ..kinds import registry
from .base import NO_SOURCE, Said, Scene, caution


def _couplers(scene: Scene) -> list[str]:
    return [
        p.name for p in scene.case.circuit.parts.values()
        if p.kind == "quick coupler" or registry()[p.kind].coupling(p.params) is not None
    ]  # fmt: skip


@caution(
    id="coupler-open", signal="WARNING", condition="a coupler that is apart leaves the flow only a relief, or nothing"
)
def coupler_open(scene: Scene) -> Said | None:
    found = scene.found("path-deadhead-coupler")
    if not found:
        return None
    names = list(dict.fromkeys(f.subject for f in found if f.subject))
    nothing = any(f.signal == "DANGER" for f in found)
    left = "no way at all" if nothing else "only a relief to go over"
    return Said(
        f"With {listed(names, 4) or 'a coupler'} apart the oil has {left}.",
        "Do not run the pump with it apart: join it, or loop the hoses, before every start.",
        {"couplers": float(len(names))},
    )


@caution(
    id="coupler-pressure",
    signal="WARNING",
    condition="there is a coupler",
    source="ISO 16028: such couplings are not made for joining under pressure (seen as an excerpt); a tool maker's "
    "manual on trapped pressure",
)
def coupler_pressure(scene: Scene) -> Said | None:
    names = _couplers(scene)
    if not names:
        return None
    return Said(
        "Join and part couplers only with the engine off and the pressure let out.",
        f"For {listed(names, 4)}: lower everything, stop, work every lever, then couple. One that will not go on may "
        f"hold "
        "pressure from the sun: do not hammer it, and open no fitting in front of you.",
        {"couplers": float(len(names))},
    )


@caution(id="swap", signal="WARNING", condition="two couplers or more, not declared `one way`")
def swap(scene: Scene) -> Said | None:
    names = [n for n in _couplers(scene) if not of_part(scene.case.circuit.parts[n]).one_way]
    if len(names) < 2:
        return None
    return Said(
        "Hoses that are coupled the wrong way round turn a motion round.",
        f"{listed(names, 6)}: mark each pair, fit them so that only the right ones go together, and try the first "
        f"motion "
        "at idle with nobody near.",
    )


@caution(
    id="power-beyond",
    signal="WARNING",
    condition="the tank port of one valve feeds another, or a valve has a power-beyond port",
    source="trade text on power beyond (the tank port stays at low pressure), seen as an excerpt",
)
def power_beyond(scene: Scene) -> Said | None:
    found = [f for f in scene.findings if f.rule == "path-tank-port-pressurised" and f.subject]
    beyond = [p.name for p in scene.case.circuit.parts.values() if getattr(p.params, "power_beyond", False)]
    if not found and not beyond:
        return None
    case, u, figures, sees = scene.case, scene.u, {}, ""
    first = found[0].subject if found else beyond[0]
    if (first, "T") in case.network.port_nodes:
        worst = case.results.worst(levels(case, [case.network.port_nodes[first, "T"]])[0])
        rated = registry()[case.circuit.parts[first].kind].port_ratings(case.circuit.parts[first].params).get("T")
        if worst is not None:
            says = u.both(rated.value, "pressure") if rated and rated.value else "not known"
            figures = {"pressure": worst.value}
            sees = f" {first}.T sees {u.both(worst.value, 'pressure')} (in '{worst.state}'); its rating: {says}."
    return Said(
        "A tank port must not carry the pressure of a valve further on.",
        f"{listed(dict.fromkeys((*(f.subject for f in found), *beyond)), 4)}: what goes on to another valve leaves by "
        f"a "
        f"sleeve made for it, and the tank port has a line of its own.{sees}",
        figures,
    )


@caution(
    id="divider",
    signal="WARNING",
    condition="there is a gear divider",
    source="energy balance of the sections: an unloaded one drives the other; elementary",
)
def divider(scene: Scene) -> Said | None:
    names = [p.name for p in scene.parts("flow divider")]
    if not names:
        return None
    return Said(
        f"{listed(names)} can raise one outlet above its inlet.",
        "When another outlet loses its load, its section drives the rest like a motor. Each outlet needs its own "
        "relief, "
        "right at the divider.",
    )


@caution(
    id="motor-seal",
    signal="CAUTION",
    condition="a motor has no case drain",
    source="a motor maker's manual (without a drain the seal sees the return's pressure), seen as an excerpt",
)
def motor_seal(scene: Scene) -> Said | None:
    case, worst_of = scene.case, []
    for part in scene.parts("hydraulic motor"):
        nodes = case.network.port_nodes
        if getattr(part.params, "case_drain", False) or (part.name, "A") not in nodes:
            continue
        low = [levels(case, [nodes[part.name, port]])[0] for port in ("A", "B")]
        lower = case.results.worst((low[0] + low[1] - abs(low[0] - low[1])) / 2)
        if lower is not None and lower.value > 0:
            worst_of.append((lower.value, part.name, lower.state))
    if not worst_of:
        return None
    level, name, state = max(worst_of)
    return Said(
        f"The shaft seal of {name} sees up to {scene.u.both(level, 'pressure')}.",
        f"It has no case drain, so its return presses on the seal (in '{state}'). If that fails, hot oil sprays along "
        f"the "
        "shaft: a guard there, and nobody in line with it.",
        {"pressure": level},
    )


@caution(
    id="filter",
    signal="WARNING",
    condition="there is a filter and its housing is rated below a pump's highest pressure, or not rated",
    source=f"{NO_SOURCE}; filter articles on bypasses, seen as excerpts",
)
def filter_can(scene: Scene) -> Said | None:
    return _thin(
        scene,
        "filter",
        "is a can for low pressure.",
        "It bursts if its outlet is shut, or if oil is too cold for it. Fit no valve and no coupler after it.",
    )


@caution(
    id="cooler",
    signal="WARNING",
    condition="there is a cooler and it is rated below a pump's highest pressure, or not rated",
    source="a navy training manual: cooler walls are thin and rupture easily (seen as an excerpt)",
)
def cooler(scene: Scene) -> Said | None:
    return _thin(
        scene,
        "cooler",
        "has thin walls.",
        "Cold oil and surging returns burst it: a bypass round it, and nothing that can be shut after it.",
    )


def _thin(scene: Scene, kind: str, lead: str, text: str) -> Said | None:
    from .pressure import highest

    top, u = highest(scene), scene.u
    weak = []
    for part in scene.parts(kind):
        rated = part.params.rating
        value = rated.value if rated is not None else None
        if value is None or (top is not None and value < top[0]):
            weak.append((value, part.name))
    if not weak:
        return None
    known = [v for v, _ in weak if v is not None]
    says = "; ".join(f"{name}: {u.both(v, 'pressure') if v is not None else 'not known'}" for v, name in weak)
    return Said(f"{listed([name for _, name in weak], 3)} {lead}", f"{text} Rated pressure: {says}.",
                {"rating": min(known)} if known else {})  # fmt: skip
