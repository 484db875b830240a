"""Rules on people beside the machine: what oil, heat, gaps and levers can do to them. They read declarations."""

from __future__ import annotations

import math
from collections.abc import Iterable

from ..circuit import Part
from .base import Case, Finding, Signal, rule
from .declared import DRIVERS, LASTING, of_machine, of_part, place_of, wanting
from .heat import warmings
from .loads import STANDS
from .sections import top_pressure
from .words import Units, listed

PIERCES, RECORDED = 7e5, 100e5
"""Pa: from where oil goes through skin (public safety notices, seen); from where maiming is on record."""
TOUCH, SCALD = 273.15 + 60.0, 273.15 + 80.0
"""K; thresholds from memory of standards on hot surfaces, not seen."""
HAND = 0.1
"""m: least gap that does not crush a hand, from memory of ISO 13854, not seen."""
MOVES = ("cylinder", "single-acting cylinder", "telescopic cylinder", "rephasing cylinder")
LEVERS = ("directional valve", *DRIVERS)


@rule(
    id="person-injection",
    title="People are kept from oil that can go through skin",
    signal="WARNING",
    reason="A pinhole drives oil through skin and gloves; the pain comes late, the limb or the life may be lost.",
    criterion="above 7 bar: nobody within about 1 m while it runs, or guards between; above 100 bar injuries are on "
    "record",
    remedy="Guards or sleeves; never feel for leaks, use a card at arm's length; release pressure first. After a hit: "
    "hospital at once, say 'fluid injection'.",
    source="public safety notices on injection of hydraulic oil (7 bar), a study of injuries at work (seen)",
)
def injection(case: Case) -> Iterable[Finding]:
    id, u, facts, top = "person-injection", Units(case.circuit), of_machine(case), top_pressure(case)
    if top is not None and top[0] <= PIERCES:
        yield Finding(id, "does not apply", "WARNING", "", f"No more than {u.both(top[0], 'pressure')} at any pump")
    elif top is None or facts.people is None or (facts.people != "none" and facts.guards is None):
        missing = wanting(facts, "people", "guards") if top is not None else "a state with figures"
        yield Finding(id, "not checked", "WARNING", "", "Whether people are beside oil under pressure is open",
                      missing=missing)  # fmt: skip
    elif facts.people == "none" or facts.guards:
        yield Finding(id, "ok", "WARNING", "", "Nobody is beside oil under pressure without a guard",
                      figures={"pressure": top[0]})  # fmt: skip
    else:
        grave = " Severe injuries are on record at this pressure." if top[0] > RECORDED else ""
        yield Finding(
            id, "finding", "WARNING", "",
            f"People are beside oil at {u.both(top[0], 'pressure')} without guards",
            text=f"A pinhole at more than {u.pressure(PIERCES)} drives oil through skin and gloves.{grave}",
            remedy="Guards or sleeves; never feel for leaks, use a card at arm's length; release pressure first. After "
            "a hit: hospital at once, say 'fluid injection'.",
            state=top[1], figures={"pressure": top[0], "ratio": top[0] / PIERCES},
        )  # fmt: skip


@rule(
    id="person-stored",
    title="The page tells how pressure and loads are let down",
    signal="WARNING",
    reason="Oil that is shut in, a load or a spring moves or jets when a fitting is loosened.",
    criterion="a machine with cylinders or accumulators has its release sequence on the page",
    remedy="Write it: lower, stop, move each lever, bleed at named points, prove zero on a gauge.",
    source="lock-out rules of public law (seen): stored energy is released before work",
)
def stored(case: Case) -> Iterable[Finding]:
    id, facts = "person-stored", of_machine(case)
    keep = [p.name for p in case.circuit.parts.values() if p.kind in (*MOVES, "accumulator")]
    if not keep:
        yield Finding(id, "does not apply", "WARNING", "", "No cylinder and no accumulator in this circuit")
    elif facts.release_sequence is None:
        yield Finding(id, "not checked", "WARNING", "", "Whether the page tells how to release pressure is open",
                      missing=wanting(facts, "release_sequence"))  # fmt: skip
    elif facts.release_sequence:
        yield Finding(id, "ok", "WARNING", "", "The page tells how pressure and loads are let down")
    else:
        yield Finding(id, "finding", "WARNING", "", f"Nothing tells how to let down what {listed(keep, 3)} can keep",
                      text="With the engine off oil may still be shut in there, or a load may hang on it.",
                      remedy="Write it: lower, stop, move each lever, bleed at named points, prove zero on a "
                      "gauge.")  # fmt: skip


@rule(
    id="person-hot",
    title="Hot oil is out of reach",
    signal="CAUTION",
    reason="Metal at the temperature of the oil burns the hand that touches it.",
    criterion="oil at 60 °C or less in every state, and where it settles in one that lasts, or nobody near, or guards; "
    "WARNING above 80 °C",
    remedy="Guards and a label; let it cool before it is opened.",
    source="60 °C and 80 °C: from memory of standards on hot surfaces, not seen",
)
def hot(case: Case) -> Iterable[Finding]:
    id, u, facts = "person-hot", Units(case.circuit), of_machine(case)
    level, state = _hottest(case)
    if level <= TOUCH:
        yield Finding(id, "ok", "CAUTION", "", f"The oil does not get above {u.show(TOUCH, 'temperature')} in any "
                      "state, nor where it settles")  # fmt: skip
    elif facts.people is None or (facts.people != "none" and facts.guards is None):
        yield Finding(id, "not checked", "CAUTION", "", "Whether people can touch hot parts is open",
                      missing=wanting(facts, "people", "guards"))  # fmt: skip
    elif facts.people == "none" or facts.guards:
        yield Finding(id, "ok", "CAUTION", "", "Hot parts are out of reach")
    else:
        word: Signal = "WARNING" if level > SCALD else "CAUTION"
        yield Finding(id, "finding", word, "", f"People can touch parts at {u.both(level, 'temperature')}",
                      text="Tank, lines and motors are nearly as hot as the oil in them, which gets there if the state "
                      "lasts.",
                      remedy="Guards and a label; let it cool before it is opened.", state=state,
                      figures={"temperature": level})  # fmt: skip


def _hottest(case: Case) -> tuple[float, str]:
    """K and state: the hottest oil that is declared, or where it settles if a state lasts, as one in which a rod is on
    its way does not (at most the limit of the oil, which other rules watch; that limit too where nothing tells where it
    settles)."""
    found = []
    moving = [p.name for p in case.circuit.parts.values() if p.kind in MOVES]
    for s, (_, warm) in enumerate(warmings(case)):
        level = float(case.results.temperature[s])
        ends = any(abs(float(case.results.speed(name, "rod")[s])) > STANDS for name in moving)
        if case.results.solved[s] and not ends:
            level = max(level, min(warm.settled if warm else math.inf, case.circuit.oil.limit))
        found.append((level, case.results.states[s]))
    return max(found)


@rule(
    id="person-crush",
    title="Nobody can reach into a gap that closes",
    signal="WARNING",
    reason="A gap that closes on a hand or a body crushes it; hydraulics do not stop for it.",
    criterion="least gap >= 100 mm (a hand), or out of reach, or guarded; DANGER where hands feed it",
    remedy="A guard; two-hand control; a lever that stops when it is let go, out of reach of the gap.",
    source="least gap for a hand: from memory of ISO 13854, not seen; a body needs 500 mm",
)
def crush(case: Case) -> Iterable[Finding]:
    id, u = "person-crush", Units(case.circuit)
    movers = [p for p in case.circuit.parts.values() if p.kind in MOVES]
    for part in movers:
        facts = of_part(part)
        if facts.guarded or facts.in_reach is False or (facts.gap is not None and facts.gap >= HAND):
            yield Finding(id, "ok", "WARNING", part.name, f"No hand is crushed at {part.name}")
        elif facts.gap is None or facts.in_reach is None or facts.guarded is None:
            yield Finding(id, "not checked", "WARNING", part.name, f"{part.name}: whether a gap closes on someone is "
                          "open", missing=wanting(facts, "gap", "in_reach", "guarded"),
                          place=place_of(part))  # fmt: skip
        else:
            by_hand = ", and hands put the work into it" if facts.fed_by_hand else ""
            yield Finding(id, "finding", "DANGER" if facts.fed_by_hand else "WARNING", part.name,
                          f"{part.name} closes a gap to {u.both(facts.gap, 'length')} within reach, without a guard"
                          f"{by_hand}",
                          text=f"Less than {u.both(HAND, 'length')} crushes a hand.",
                          remedy="A guard; two-hand control; a lever that stops when it is let go, out of reach of "
                          "the gap.", figures={"gap": facts.gap, "needed": HAND}, place=place_of(part))  # fmt: skip
    if not movers:
        yield Finding(id, "does not apply", "WARNING", "", "No cylinder in this circuit")


@rule(
    id="person-under",
    title="Nobody works beneath what only oil holds up",
    signal="DANGER",
    reason="Oil, hose and valve let go in the end, and people have been killed that way.",
    criterion="no work beneath, or a prop rated for its `prop load` (left out: the highest load that a state declares "
    "for the rod or its tie)",
    remedy="Fit a rated prop and show it on the page; never trust a valve or a jack.",
    source="public rules on work beneath raised parts (seen)",
)
def under(case: Case) -> Iterable[Finding]:
    id, u = "person-under", Units(case.circuit)
    movers = [p for p in case.circuit.parts.values() if p.kind in MOVES]
    for part in movers:
        facts = of_part(part)
        load = _carried(case, part) if facts.prop_load is None else facts.prop_load
        if facts.work_beneath is None:
            yield Finding(id, "not checked", "DANGER", part.name, f"{part.name}: whether someone works beneath it is "
                          "open", missing=wanting(facts, "work_beneath"), place=place_of(part))  # fmt: skip
        elif not facts.work_beneath:
            yield Finding(id, "ok", "DANGER", part.name, f"Nobody works beneath what {part.name} holds")
        elif facts.prop is not None and facts.prop >= load:
            yield Finding(id, "ok", "DANGER", part.name, f"A prop for {u.both(facts.prop, 'force')} is there for "
                          f"{part.name}", figures={"prop": facts.prop, "load": load})  # fmt: skip
        else:
            has = "no prop" if facts.prop is None else f"a prop for {u.both(facts.prop, 'force')}"
            yield Finding(id, "finding", "DANGER", part.name,
                          f"Work beneath {part.name}, which carries {u.both(load, 'force')}, with {has}",
                          text="When a hose, a seal or a valve lets go it comes down at once.",
                          remedy="Fit a rated prop and show it on the page; never trust a valve or a jack.",
                          figures={"load": load, **({} if facts.prop is None else {"prop": facts.prop})},
                          place=place_of(part))  # fmt: skip
    if not movers:
        yield Finding(id, "does not apply", "DANGER", "", "No cylinder in this circuit")


def _carried(case: Case, part: Part) -> float:
    """N, the highest load that a state declares for a rod, or for the tie that it is a member of."""
    names = [part.name, *(tie.name for tie in case.circuit.ties.values() if part.name in tie.parts)]
    return max((abs(float(x)) for name in names for x in case.results.orders(name, "load")), default=0.0)


@rule(
    id="person-control",
    title="A lever or switch that can move something toward a person stops when it is let go",
    signal="WARNING",
    reason="Who is caught cannot reach the lever that keeps it moving.",
    criterion="lever hold-to-run, spring centred, or with kick-out; a detent or pedal only where nothing moves toward "
    "the person at it",
    remedy="Spring return; a detent only on the stroke that opens; guards over levers and pedals.",
    source="common practice, no source",
)
def control(case: Case) -> Iterable[Finding]:
    id = "person-control"
    levers = [p for p in case.circuit.parts.values() if p.kind in LEVERS or of_part(p).lever]
    for part in levers:
        facts = of_part(part)
        lasting = facts.lever in LASTING
        if facts.lever is None or (lasting and facts.toward_person is None):
            yield Finding(id, "not checked", "WARNING", part.name,
                          f"{part.name}: how its control returns when it is let go is open",
                          missing=wanting(facts, "lever", "toward_person"), place=place_of(part))  # fmt: skip
        elif not lasting or not facts.toward_person:
            yield Finding(id, "ok", "WARNING", part.name, f"{part.name}: lever {facts.lever}"
                          + (", and nothing moves toward the person at it" if lasting else ""))  # fmt: skip
        else:
            yield Finding(id, "finding", "WARNING", part.name,
                          f"{part.name} has a {facts.lever} that moves something toward the person at it",
                          text="It goes on moving, or starts, without a hand on the lever.",
                          remedy="Spring return; a detent only on the stroke that opens; guards over levers and "
                          "pedals.", place=place_of(part))  # fmt: skip
    if not levers:
        yield Finding(id, "does not apply", "WARNING", "", "No lever and no switch in this circuit")
