"""Rules on where the machine stands and what its oil meets: tipping, hitch, spills, seals, cleanliness."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from .. import kinds
from . import walk
from .base import Case, Finding, rule
from .declared import of_machine, of_part, place_of, wanting
from .sections import top_pressure
from .words import Units, listed

MARGIN = 1.25
"""Righting over tipping moment, at least; common practice, no source."""
BURST = 10.0
"""s from a burst until the engine is stopped; common practice, no source."""
HARMS = {
    "EPDM": ("mineral oil", "tractor fluid", "transmission fluid"),
    "NBR": ("brake fluid",),
    "FKM": ("brake fluid",),
    "PU": ("brake fluid", "water glycol"),
    "zinc": ("mineral oil", "tractor fluid", "transmission fluid", "ester", "water glycol"),
}
"""Material -> fluids it must not meet; EPDM and zinc: the trade's rule, all of it from memory."""
TARGETS = ((138e5, (20, 18, 15)), (207e5, (19, 17, 14)), (math.inf, (18, 16, 13)))
"""Highest pressure, Pa -> ISO 4406 code for gear pumps, motors and cylinders; a public guide's table, seen."""


@rule(
    id="stab-tip",
    title="The machine does not tip sideways",
    signal="WARNING",
    reason="It overturns, on its operator or on whoever stands beside it.",
    criterion="(track width / 2 - load offset) x cos(slope) >= 1.25 x height of the centre of gravity x sin(slope)",
    remedy="A lower load, ballast, a wider track, or level ground only; a lower relief where it lifts more than it can "
    "carry.",
    source="moments about the tip line: elementary; 1.25: common practice, no source",
)
def tip(case: Case) -> Iterable[Finding]:
    id, u, facts = "stab-tip", Units(case.circuit), of_machine(case)
    if facts.mobile is False:
        yield Finding(id, "does not apply", "WARNING", "", "Declared as one that cannot tip")
        return
    if facts.slope is None or facts.track_width is None or facts.centre_of_gravity is None:
        yield Finding(id, "not checked", "WARNING", "", "Whether it can tip is open",
                      missing=wanting(facts, "mobile", "slope", "track_width", "centre_of_gravity"))  # fmt: skip
        return
    angle = math.radians(facts.slope)
    arm = facts.track_width / 2 - (facts.load_offset or 0.0)
    right, over = arm * math.cos(angle), facts.centre_of_gravity * math.sin(angle)
    limit = math.degrees(math.atan(max(arm, 0.0) / facts.centre_of_gravity))
    told = f"On {facts.slope:g}° it stands {right / over:.2f} times" if over > 0 else "On level ground it stands"
    told = told if arm > 0 else "Its centre of gravity lies beyond the wheels"
    figures = {"righting": right, "tipping": over, "limit": math.radians(limit)}
    if right > 0:
        figures["ratio"] = MARGIN * over / right
    text = f"Standing still, with a rigid frame, it would tip at {limit:.0f}°; a bump, a swing or soft ground does it "
    text += "earlier. Only sideways tipping is looked at."
    if arm > 0 and right >= MARGIN * over * (1 - 1e-9):
        yield Finding(id, "ok", "WARNING", "", told, text=text, figures=figures)
    else:
        yield Finding(id, "finding", "WARNING", "", f"{told}; {MARGIN:g} times is the least", text=text,
                      remedy=f"Track {u.both(facts.track_width, 'length')}: a wider one, a lower load, ballast, or "
                      "level ground only.", figures=figures)  # fmt: skip


@rule(
    id="stab-hitch",
    title="The tongue rests on its hitch over the whole movement",
    signal="WARNING",
    reason="A tongue that lifts uncouples; one that is pressed down breaks the hitch.",
    criterion="least tongue load > 0; greatest tongue load <= rating of the hitch",
    remedy="A jack foot or a prop at the rear; load moved forward; stay coupled and braked while tipping.",
    source="statics; local law sets further limits",
)
def hitch(case: Case) -> Iterable[Finding]:
    id, u, facts = "stab-hitch", Units(case.circuit), of_machine(case)
    least, most, rated = facts.least_tongue_load, facts.greatest_tongue_load, facts.hitch_rating
    if facts.hitch is False or facts.mobile is False:
        yield Finding(id, "does not apply", "WARNING", "", "Declared as one that is not towed")
    elif least is not None and least <= 0:
        yield Finding(id, "finding", "WARNING", "", f"The tongue lifts: least load {u.both(least, 'force')}",
                      text="It pulls the hitch upwards, and comes off it if nothing locks it.",
                      remedy="A jack foot or a prop at the rear; load moved forward; stay coupled and braked while "
                      "tipping.", figures={"least": least})  # fmt: skip
    elif most is not None and rated is not None and most > rated:
        yield Finding(id, "finding", "WARNING", "", f"The tongue presses with {u.both(most, 'force')} on a hitch for "
                      f"{u.both(rated, 'force')}", text="The hitch is overloaded in some position.",
                      remedy="Load moved back, or a jack foot under the tongue.",
                      figures={"greatest": most, "rating": rated, "ratio": most / rated})  # fmt: skip
    elif least is None or most is None or rated is None:
        names = ("hitch", "least_tongue_load", "greatest_tongue_load", "hitch_rating")
        yield Finding(id, "not checked", "WARNING", "", "What the tongue does to a hitch is open",
                      missing=wanting(facts, *names))  # fmt: skip
    else:
        yield Finding(id, "ok", "WARNING", "", f"The tongue rests with {u.both(least, 'force')} at least and "
                      f"{u.both(most, 'force')} at most", figures={"least": least, "greatest": most})  # fmt: skip


@rule(
    id="spill-environment",
    title="Oil that is lost is caught",
    signal="NOTICE",
    reason="Oil spoils soil and water, and somebody slips on it.",
    criterion="no open water in reach, or something to bind the oil is carried",
    remedy="A spill kit; a stop switch in reach; used oil disposed of by local law.",
    source="common practice, no source; volume: highest pump flow times 10 s",
)
def spill(case: Case) -> Iterable[Finding]:
    id, u, facts = "spill-environment", Units(case.circuit), of_machine(case)
    flow = 0.0
    for pump in walk.pumps(case.network):
        flows = pump.delivery(case.results)
        flow += float(np.nanmax(flows)) if not np.all(np.isnan(flows)) else 0.0
    lost = flow * BURST
    if "reservoir" not in {p.kind for p in case.circuit.parts.values()}:
        yield Finding(id, "does not apply", "NOTICE", "", "No reservoir in this circuit")
    elif facts.spill_kit or facts.near_water is False:
        yield Finding(id, "ok", "NOTICE", "", "Oil that is lost does not reach water, or can be bound",
                      figures={"volume": lost})  # fmt: skip
    elif facts.near_water is None or facts.spill_kit is None:
        yield Finding(id, "not checked", "NOTICE", "", "Where lost oil would go is open",
                      missing=wanting(facts, "near_water", "spill_kit"))  # fmt: skip
    else:
        yield Finding(id, "finding", "NOTICE", "", "Lost oil reaches water, and nothing to bind it is carried",
                      text=f"A burst hose loses {u.both(lost, 'volume')} in {BURST:.0f} s, and then what runs out of "
                      "the tank.", remedy="A spill kit; a stop switch in reach; used oil disposed of by local law.",
                      figures={"volume": lost})  # fmt: skip


@rule(
    id="fluid-compat",
    title="Seals and metals bear the fluid",
    signal="NOTICE",
    reason="Swollen seals leak or let go; what dissolves clogs valves.",
    criterion="no declared material meets a fluid that attacks it",
    remedy="Seals for this fluid, by the sheets of the parts; flush before the sort of fluid is changed.",
    source="from memory of the trade's tables; the sheets of the parts rule",
)
def compatible(case: Case) -> Iterable[Finding]:
    id, fluid = "fluid-compat", of_machine(case).fluid
    wetted = [p for p in case.circuit.parts.values() if kinds.registry()[p.kind].ports(p.params)]
    for part in wetted:
        facts = of_part(part)
        if fluid is None or facts.materials is None:
            missing = listed([*(["'fluid'"] if fluid is None else []), wanting(facts, "materials")])
            yield Finding(id, "not checked", "NOTICE", part.name, f"{part.name}: whether its seals bear the oil is "
                          "open", missing=missing.removesuffix(" and "), place=place_of(part))  # fmt: skip
            continue
        bad = [m for m in facts.materials if fluid in HARMS.get(m, ())]
        if bad:
            yield Finding(id, "finding", "NOTICE", part.name, f"{part.name}: {listed(bad)} in {fluid}",
                          text="This fluid attacks it, or takes it into the oil.",
                          remedy="Seals for this fluid, by the sheets of the parts; flush before the sort of fluid is "
                          "changed.", place=place_of(part))  # fmt: skip
        else:
            yield Finding(id, "ok", "NOTICE", part.name, f"{part.name}: nothing listed against "
                          f"{listed(facts.materials)} in {fluid}")  # fmt: skip
    if not wetted:
        yield Finding(id, "does not apply", "NOTICE", "", "No part that oil touches")


@rule(
    id="clean-target",
    title="The oil is as clean as its parts need",
    signal="NOTICE",
    reason="Dirt sticks spools, makes valves that hold a load leak, and ends a pump early.",
    criterion="no number of the sample's code above the target's: 20/18/15 to 138 bar, 19/17/14 to 207 bar, 18/16/13 "
    "above",
    remedy="Filter new oil in; sample from a live line; flush after every opened line.",
    source="codes after ISO 4406; targets by pressure: a public guide's table for gear pumps, motors and cylinders",
)
def clean(case: Case) -> Iterable[Finding]:
    id, u, facts, top = "clean-target", Units(case.circuit), of_machine(case), top_pressure(case)
    target = facts.cleanliness_target
    if target is None and top is not None:
        target = next(code for limit, code in TARGETS if top[0] <= limit)
    if facts.oil_sample is None or target is None:
        missing = wanting(facts, "oil_sample") or "a state with figures"
        yield Finding(id, "not checked", "NOTICE", "", "How clean the oil is is open", missing=missing)
        return
    code, wanted = ("/".join(f"{n:02d}" for n in c) for c in (facts.oil_sample, target))
    at = f" at {u.both(top[0], 'pressure')}" if top is not None and facts.cleanliness_target is None else ""
    figures = {"worst over": float(max(a - b for a, b in zip(facts.oil_sample, target, strict=True)))}
    if figures["worst over"] <= 0:
        yield Finding(id, "ok", "NOTICE", "", f"The oil is {code}, {wanted} is the target{at}", figures=figures)
    else:
        yield Finding(id, "finding", "NOTICE", "", f"The oil is {code}; {wanted} is the target{at}",
                      text="Each number more is about twice as many particles of that size.",
                      remedy="Filter new oil in; sample from a live line; flush after every opened line.",
                      figures=figures)  # fmt: skip
