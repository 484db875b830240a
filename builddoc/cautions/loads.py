"""Cautions on what moves or hangs: loads, gaps that close, rods side by side, steering."""

from __future__ import annotations

import math

from ..checks.loads import RODS, hung
from ..checks.sections import top_pressure
from ..checks.words import listed
from ..circuit import Part
from ..kinds import registry
from .base import NO_SOURCE, Said, Scene, caution


@caution(
    id="suspended",
    signal="WARNING",
    condition="in some state a load stands on a rod",
    source="29 CFR 1926.600(a)(3): what is held up is blocked before anyone works below (paraphrased by a publisher); "
    "spools leak: common practice, no source",
)
def suspended(scene: Scene) -> Said | None:
    held = [h for h in hung(scene.case) if h.stands]
    if not held:
        return None
    most = max(held, key=lambda h: abs(h.load))
    by = f"the spool of {listed(most.spools)}" if most.spools else listed(most.ends, 3) or "oil alone"
    return Said(
        "A load hangs on oil here.",
        f"{most.part.name} carries {scene.u.both(abs(most.load), 'force')}, held by {by}. Spools leak, hoses burst, a "
        "lever gets bumped. Keep out from beneath; lower it, or set a prop that is rated for it, before a hand or a "
        "head "
        "goes under.",
        {"load": abs(most.load)},
    )


@caution(
    id="load-check", signal="NOTICE", condition="a load hangs on a valve that has load checks, and on nothing else"
)
def load_check(scene: Scene) -> Said | None:
    banks = {n for h in hung(scene.case) for n in h.spools}
    checked = [n for n in sorted(banks) if getattr(scene.case.circuit.parts[n].params, "load_checks", None)]
    if not checked:
        return None
    return Said(
        f"The load check in {listed(checked)} holds no load.",
        "It only stops the dip while the lever moves; after that the spool alone is under the load.",
    )


@caution(id="overrun", signal="WARNING", condition="a load drives its rod ahead of the oil")
def overrun(scene: Scene) -> Said | None:
    found = scene.found("load-overrunning")
    if not found:
        return None
    return Said(
        "A load here can run ahead of the pump.",
        f"It is so at {listed([f.subject for f in found], 4)}: lower with the engine running and slowly, nobody near "
        "what comes down, and fit what the finding asks for.",
        {"findings": float(len(found))},
    )


@caution(
    id="crush",
    signal="WARNING",
    condition="there is a cylinder",
    source="EN 609-1 and a state standard on wood splitters (scopes seen): the control stops when let go, the gap is "
    "guarded",
)
def crush(scene: Scene) -> Said | None:
    rods = scene.parts(*RODS)
    if not rods:
        return None
    top, force = top_pressure(scene.case), ""
    figures: dict[str, float] = {}
    areas = [(_piston(p), p.name) for p in rods]
    if top is not None:
        area, name = max(areas)
        figures = {"force": top[0] * area}
        force = f" {name} can push with {scene.u.both(top[0] * area, 'force')} at the highest pressure of the pump."
    return Said(
        "What a cylinder closes, it crushes.",
        f"Keep hands out of the gaps that {listed([p.name for p in rods], 4)} can close.{force} Hold the work with a "
        "device, not a hand; let the lever return by itself; one person works all levers.",
        figures,
    )


def _piston(part: Part) -> float:
    """m2 under the piston of a rod, of a telescopic one under that of its widest stage."""
    stages = getattr(part.params, "stages", None)
    bores = [stage.bore for stage in stages] if stages else [getattr(part.params, "bore", 0.0)]
    return math.pi / 4 * max(bores) ** 2


@caution(
    id="rotating",
    signal="WARNING",
    condition="there is a hydraulic motor",
)
def rotating(scene: Scene) -> Said | None:
    motors = [p.name for p in scene.case.circuit.parts.values() if registry()[p.kind].moves == "shaft"]
    if not motors:
        return None
    return Said(
        f"What {listed(motors, 4)} turns winds in sleeves, hair and gloves.",
        "Guard it. A motor may start when a lever is bumped, and turn on when the engine is stopped.",
    )


@caution(
    id="paired",
    signal="CAUTION",
    condition="two cylinders work side by side",
    source="trade text on synchronising (a tee splits evenly only where resistances are equal), seen as an excerpt",
)
def paired(scene: Scene) -> Said | None:
    pairs = [*scene.case.circuit.pairs.values(), *scene.case.circuit.ties.values()]
    if not pairs:
        return None
    names = listed([listed(t.parts) for t in pairs], 3)
    return Said(
        "Cylinders that share a line need not move together.",
        f"{names}: cold oil and uneven loads set them apart. Level again at the stop; do not use the frame to force "
        "them level.",
    )


@caution(
    id="steering",
    signal="WARNING",
    condition="there is a steering unit",
    source=f"{NO_SOURCE}; whether it may go on a road is for the authorities",
)
def steering(scene: Scene) -> Said | None:
    units = [p.name for p in scene.parts("steering unit")]
    if not units:
        return None
    return Said(
        "Steering needs the engine.",
        f"With it stopped the wheel of {listed(units)} turns hard, or hardly at all: try it at walking pace, and stop "
        "before you need it. Road use is for the authorities to allow.",
    )
