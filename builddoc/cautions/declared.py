"""Cautions on what only the builder can say: work beneath, hands in a gap, levers, slopes, hoses beside people."""

from __future__ import annotations

import math

from ..checks.base import Finding
from ..checks.declared import of_machine, of_part
from ..checks.declared_people import HAND, MOVES
from ..checks.words import listed
from ..kinds.dc_motor import DCMotorParams
from .base import NO_SOURCE, Said, Scene, caution

LEANS = 30.0
"""Degrees; what tips sideways at less is told. Common practice, no source."""
MAKERS = 5.0
"""Degrees of side slope that a trailer maker's manual allows for tipping, seen as an excerpt."""


def _subjects(found: list[Finding]) -> str:
    return listed(dict.fromkeys(f.subject for f in found if f.subject), 4)


@caution(
    id="under",
    signal="DANGER",
    condition="somebody works beneath what a cylinder has raised",
    source="29 CFR 1926.600(a)(3) (raised parts are blocked before work beneath, paraphrased by a publisher); a safety "
    "regulator's sheet on tipping bodies, seen as excerpts",
)
def under(scene: Scene) -> Said | None:
    rods = [p for p in scene.parts(*MOVES) if of_part(p).work_beneath]
    if not rods:
        return None
    props = [f"{p.name}: rated {scene.u.both(f, 'force')}" for p in rods if (f := of_part(p).prop) is not None]
    fit = f"lower it, or fit the prop ({listed(props, 4)})" if props else "lower it"
    bare = [p.name for p in rods if of_part(p).prop is None]
    none = f" No prop is declared for {listed(bare, 4)}." if bare else ""
    return Said(
        "Hydraulics do not hold a load for a person.",
        f"{listed([p.name for p in rods], 4)}: {fit}, before a hand or a head goes under.{none} "
        "Leaks, a valve that fails and a lever that gets bumped have brought such loads down.",
        {"props": float(len(props))},
    )


@caution(
    id="press",
    signal="DANGER",
    condition="hands put the work into a gap that a cylinder closes, without a guard",
    source=f"scopes of standards on guards and on machines fed by hand; {NO_SOURCE}",
)
def press(scene: Scene) -> Said | None:
    rods = []
    for part in scene.parts(*MOVES):
        facts = of_part(part)
        shut = facts.gap is not None and facts.gap < HAND
        if facts.fed_by_hand and shut and not facts.guarded and facts.in_reach is not False:
            rods.append(part)
    if not rods:
        return None
    frames = [getattr(p.params, "frame_rating", None) for p in rods]
    rated = min((f for f in frames if f is not None), default=None)
    frame = f", {scene.u.both(rated, 'force')}" if rated is not None else " (not known)"
    return Said(
        "This ram crushes a hand.",
        f"{listed([p.name for p in rods], 4)}: blocks or tongs hold the work, a guard and two-hand control keep hands "
        f"out. Set the relief to what the frame is rated for{frame}. Stand aside of the work: parts fly out.",
        {"frame": rated} if rated is not None else {},
    )


@caution(id="detent", signal="WARNING", condition="a lever that stays moves something toward a person")
def detent(scene: Scene) -> Said | None:
    found = scene.found("person-control")
    if not found:
        return None
    return Said(
        f"The lever of {_subjects(found)} stays where you leave it.",
        "What it moves goes on until its stop, toward whoever stands there. Stay at the lever, and let go only in "
        "neutral.",
        {"findings": float(len(found))},
    )


@caution(
    id="tip",
    signal="WARNING",
    condition=f"it would tip sideways at less than {LEANS:.0f}°, or does not stand 1.25 times on its steepest ground",
    source="statics; a trailer maker's manual (5° of side slope) and a regulator's sheet on tipping, seen as excerpts",
)
def tip(scene: Scene) -> Said | None:
    told = [f for f in scene.findings if f.rule == "stab-tip" and "limit" in f.figures]
    facts = of_machine(scene.case)
    if not told or facts.slope is None:
        return None
    (f,) = told
    limit = math.degrees(f.figures["limit"])
    if f.outcome != "finding" and limit >= LEANS:
        return None
    return Said(
        "It can fall over.",
        f"Standing still it tips sideways at {limit:.0f}°, and a load that sticks on one side, a soft wheel or a gust "
        f"does it earlier; its page says ground of {facts.slope:g}° at most, one maker's figure for tipping is "
        f"{MAKERS:g}°. Level and firm ground, nobody in the length of what is raised, no power line above, the load "
        "even; never drive with it up.",
        {"limit": f.figures["limit"]},
    )


@caution(
    id="fire",
    signal="WARNING",
    condition="a line under pressure lies near a hot part without a shield",
    source="public reports on fires with hydraulic oil: ordinary oils burn as a spray (seen as excerpts)",
)
def fire(scene: Scene) -> Said | None:
    found = scene.found("person-fire")
    if not found:
        return None
    least = min(f.figures["distance"] for f in found)
    return Said(
        "A spray of oil on a hot part burns.",
        f"{_subjects(found)}, {scene.u.both(least, 'length')} from one: move it or put a sheet between, and keep an "
        "extinguisher on the machine.",
        {"distance": least},
    )


@caution(
    id="hose-near",
    signal="WARNING",
    condition="a hose under pressure or with hot oil lies within 1 m of a person without a shield",
    source="from memory of safety standards for earth-moving machines; the text was not seen",
)
def hose_near(scene: Scene) -> Said | None:
    found = scene.found("hose-person-shield")
    if not found:
        return None
    near = min(found, key=lambda f: f.figures["distance"])
    top = max((f.figures["pressure"] for f in found if "pressure" in f.figures), default=None)
    at = f" at {scene.u.both(top, 'pressure')}" if top is not None else ""
    return Said(
        "A hose lies beside where you stand.",
        f"{_subjects(found)}{at}, the nearest {scene.u.both(near.figures['distance'], 'length')} away: shield or move "
        "it.",
        {"distance": near.figures["distance"]},
    )


@caution(
    id="thread",
    signal="WARNING",
    condition="two halves of a joint do not belong together",
    source="a public thread chart on forms that share a thread, seen",
)
def thread(scene: Scene) -> Said | None:
    found = scene.found("thread-mismatch")
    if not found:
        return None
    return Said(
        "That it starts to screw does not mean that it fits.",
        f"{'; '.join(f.headline for f in found[:3])}. Such a joint leaks a jet or blows off: replace it, no tightening "
        "helps.",
        {"findings": float(len(found))},
    )


@caution(
    id="battery",
    signal="WARNING",
    condition="a battery drives a pump",
    source="P = U I: elementary; fuse at the battery, cover on the terminals: a seller's sheet for such packs, seen as "
    "an excerpt",
)
def battery(scene: Scene) -> Said | None:
    motors = [p for p in scene.parts("DC motor") if isinstance(p.params, DCMotorParams)]
    if not motors:
        return None
    told = [f.figures["current"] for f in scene.findings if f.rule == "power-dc-duty" and "current" in f.figures]
    amps = f"{scene.u.both(max(told), 'current')} flow" if told else "Hundreds of amperes can flow"
    times = [t for p in motors if (t := getattr(p.params, "longest_on_time", None)) is not None]
    on = f" Not longer at a stretch than {scene.u.both(min(times), 'time')}, then it rests." if times else ""
    return Said(
        "A hot cable is a fire.",
        f"{amps} here: a fuse right at the battery, covers on its terminals, cables that nothing rubs on.{on}",
        {"current": max(told)} if told else {},
    )


@caution(id="gauge", signal="CAUTION", condition="a gauge sees more than its scale")
def gauge(scene: Scene) -> Said | None:
    found = [f for f in scene.found("gauge-range") if f.figures["pressure"] > f.figures["range"]]
    if not found:
        return None
    return Said(
        "A gauge here can burst.",
        f"{'; '.join(f.headline for f in found[:3])}. Keep your face away from its glass, and fit one with a scale for "
        "it.",
        {"pressure": max(f.figures["pressure"] for f in found)},
    )


@caution(
    id="road",
    signal="WARNING",
    condition="it is towed",
    source=f"{NO_SOURCE}; what may go on a road is for the authorities",
)
def road(scene: Scene) -> Said | None:
    if not of_machine(scene.case).hitch:
        return None
    return Said(
        "Road use is for the authorities to allow.",
        "Coupling, brakes, lights and weights are not looked at here. Everything lowered, locked and shut before it is "
        "towed.",
    )


@caution(
    id="unlevel",
    signal="CAUTION",
    condition="a divider keeps cylinders level",
    source="accuracy of dividers: trade articles (seen as excerpts)",
)
def unlevel(scene: Scene) -> Said | None:
    told = [f for f in scene.findings if f.rule == "split-accuracy" and "apart" in f.figures]
    if not told:
        return None
    most = max(f.figures["apart"] for f in told)
    return Said(
        "Level is only about level.",
        f"Behind {_subjects(told)} expect up to {scene.u.both(most, 'length')} of difference at the end of a stroke. "
        "Let both meet their stop in every cycle.",
        {"apart": most},
    )
