"""Rules on how a hose lies: bends, slack, twist, and who or what is beside it. They read the lines' declarations."""

from __future__ import annotations

import re
from collections.abc import Iterable

from ..circuit import Line
from ..standards.hoses import hose
from ..standards.tables import NotListed
from .base import Case, Finding, Signal, rule
from .declared import highest, hoses, of_line, place_of, wanting
from .duty import duties_of
from .words import Units, percent

SHORTENS = 0.04
"""Share by which pressure may shorten a hose; lengthening is at most 0.02."""
CLEAR = 0.025
"""m to edges; common practice, no source."""
REACH, PRESSED, HOT = 1.0, 50e5, 273.15 + 60.0
"""m, Pa, K; from memory of safety standards for earth-moving machines, not seen."""
SPRAY = 0.5
"""m from a hot part; common practice, no source."""


def _none(id: str, signal: Signal = "WARNING", what: str = "No hose in this circuit") -> Finding:
    return Finding(id, "does not apply", signal, "", what)


def _listed_radius(case: Case, line: Line) -> float | None:
    """m, the table's least bend radius of the hose by the words of its label."""
    assert line.conduit is not None
    words = re.fullmatch(r"hose, (.+?) -(\d+)", line.conduit.label)
    if not words:
        return None
    try:
        return hose(words[1], int(words[2]), choices=case.circuit.tables).bend_radius
    except NotListed:
        return None


@rule(
    id="hose-bend-radius",
    title="No hose is bent tighter than it may be",
    signal="WARNING",
    reason="A hose bent too tightly kinks, its wires break, and it bursts at the ferrule.",
    criterion="tightest bend over the whole movement >= least bend radius of the hose; NOTICE in a return",
    remedy="Elbows at the ends, a longer hose, or another route.",
    source="least bend radii by size: tables of hoses (see the standards pages)",
)
def bend_radius(case: Case) -> Iterable[Finding]:
    id, u, duty = "hose-bend-radius", Units(case.circuit), duties_of(case)
    for line in hoses(case):
        facts, place = of_line(line), place_of(line)
        least = facts.rated_bend_radius or _listed_radius(case, line)
        if facts.bend_radius is None or least is None:
            missing = wanting(facts, "bend_radius") or "'rated bend radius'"
            yield Finding(id, "not checked", "WARNING", line.name, f"{line.name}: how tightly it is bent is open",
                          missing=missing, place=place)  # fmt: skip
            continue
        figures = {"radius": facts.bend_radius, "allowed": least, "ratio": least / facts.bend_radius}
        told = f"{line.name} is bent to {u.both(facts.bend_radius, 'length')}"
        if facts.bend_radius >= least * (1 - 1e-9):
            yield Finding(id, "ok", "WARNING", line.name, f"{told}; {u.both(least, 'length')} is allowed",
                          figures=figures)  # fmt: skip
            continue
        signal: Signal = "NOTICE" if duty[line.name] in ("return", "drain") else "WARNING"
        yield Finding(id, "finding", signal, line.name, f"{told}; {u.both(least, 'length')} is the least it may be",
                      text="Measured on the inside of the bend, where the machine bends it most.",
                      remedy="Elbows at the ends, a longer hose, or another route.", figures=figures,
                      place=place)  # fmt: skip
    if not hoses(case):
        yield _none(id)


@rule(
    id="hose-length-change",
    title="A hose has slack to shorten under pressure",
    signal="WARNING",
    reason="A hose that is too short is pulled off its fitting under pressure.",
    criterion="slack where its path is longest >= 4 % of its length",
    remedy="A longer hose; never stretch one.",
    source="a hose may shorten by up to 4 % and lengthen by up to 2 % (hose standards, by a public guide)",
)
def length_change(case: Case) -> Iterable[Finding]:
    id, u, duty = "hose-length-change", Units(case.circuit), duties_of(case)
    meant = [line for line in hoses(case) if duty[line.name] not in ("suction", "return", "drain")]
    for line in meant:
        facts, needed = of_line(line), SHORTENS * line.length
        if facts.slack is None:
            yield Finding(id, "not checked", "WARNING", line.name, f"{line.name}: whether it has slack is open",
                          missing=wanting(facts, "slack"), place=place_of(line))  # fmt: skip
            continue
        told = f"{line.name} has {u.both(facts.slack, 'length')} of slack, {percent(SHORTENS)} of its length is "
        told += u.both(needed, "length")
        figures = {"slack": facts.slack, "needed": needed}
        if facts.slack >= needed * (1 - 1e-9):
            yield Finding(id, "ok", "WARNING", line.name, told, figures=figures)
            continue
        yield Finding(id, "finding", "WARNING", line.name, told,
                      text="Pressure may shorten a hose by that much, and it then pulls at its ends.",
                      remedy="A longer hose; never stretch one.", figures=figures, place=place_of(line))  # fmt: skip
    if not meant:
        yield _none(id, what="No hose under pressure in this circuit")


@rule(
    id="hose-twist-route",
    title="A hose lies without twist, rubbing or a second plane",
    signal="WARNING",
    reason="Twist and rubbing cut the life of a hose to a tenth, and it bursts.",
    criterion="lay line straight in every position; 25 mm to edges, or sleeved; one plane, or clamped where it changes",
    remedy="Clamp it, sleeve it, or fit a swivel where it turns.",
    source="no twist: hose guides; clearance of 25 mm: common practice, no source",
)
def twist_route(case: Case) -> Iterable[Finding]:
    id, u = "hose-twist-route", Units(case.circuit)
    for line in hoses(case):
        facts, wrong = of_line(line), []
        if facts.twisted:
            wrong.append("it is twisted")
        near = facts.clearance
        if near is not None and near < CLEAR and not facts.sleeve:
            wrong.append(f"it is {u.both(near, 'length')} from what it can rub on, without a sleeve")
        if facts.one_plane is False:
            wrong.append("it bends in two planes without a clamp")
        missing = wanting(facts, "twisted", "one_plane", *(() if facts.sleeve else ("clearance",)))
        if wrong:
            yield Finding(id, "finding", "WARNING", line.name, f"{line.name}: {'; '.join(wrong)}",
                          text="Looked at by the builder in every position of the machine."
                          + (f" Not said: {missing}." if missing else ""),
                          remedy="Clamp it, sleeve it, or fit a swivel where it turns.",
                          place=place_of(line))  # fmt: skip
        elif missing:
            yield Finding(id, "not checked", "WARNING", line.name, f"{line.name}: how it lies is open", missing=missing,
                          place=place_of(line))  # fmt: skip
        else:
            yield Finding(id, "ok", "WARNING", line.name, f"{line.name} lies without twist, rubbing or a second plane")
    if not hoses(case):
        yield _none(id)


@rule(
    id="hose-person-shield",
    title="A shield stands between a person and a hose under pressure",
    signal="WARNING",
    reason="When it bursts, oil is driven into flesh or burns.",
    criterion="nearer than 1 m to a person and above 50 bar, or its oil above 60 °C: shielded",
    remedy="A sheet or a rated sleeve between hose and person, or another route.",
    source="from memory of safety standards for earth-moving machines; the text was not seen",
)
def person_shield(case: Case) -> Iterable[Finding]:
    id, u = "hose-person-shield", Units(case.circuit)
    hot = max(float(t) for t in case.results.temperature) > HOT
    for line in hoses(case):
        facts, level = of_line(line), highest(case, line)
        if level is None and not hot:
            yield Finding(id, "not checked", "WARNING", line.name, f"{line.name}: its pressure is open",
                          missing="a state with figures", place=place_of(line))  # fmt: skip
            continue
        if not hot and level is not None and level <= PRESSED:
            yield Finding(id, "ok", "WARNING", line.name, f"{line.name} sees {u.both(level, 'pressure')} at most, and "
                          "its oil is not hot")  # fmt: skip
            continue
        near = facts.near_people
        if facts.shield or (near is not None and near >= REACH):
            yield Finding(id, "ok", "WARNING", line.name, f"{line.name} is shielded or out of reach")
        elif near is None or facts.shield is None:
            yield Finding(id, "not checked", "WARNING", line.name, f"{line.name}: whether people are beside it is open",
                          missing=wanting(facts, "near_people", "shield"), place=place_of(line))  # fmt: skip
        else:
            under = f" under {u.both(level, 'pressure')}" if level is not None else ""
            yield Finding(
                id, "finding", "WARNING", line.name,
                f"{line.name}{under} is {u.both(near, 'length')} from a person, without a shield",
                text="A burst hose whips, and its jet goes through skin and gloves.",
                remedy="A sheet or a rated sleeve between hose and person, or another route.",
                figures={"distance": near, **({} if level is None else {"pressure": level})}, place=place_of(line),
            )  # fmt: skip
    if not hoses(case):
        yield _none(id)


@rule(
    id="person-fire",
    title="No line under pressure can spray onto a hot part",
    signal="WARNING",
    reason="Oil sprayed as mist onto an exhaust burns at once.",
    criterion="farther than 0.5 m from hot parts, or shielded",
    remedy="Another route or a sheet between; a fire extinguisher on the machine.",
    source="0.5 m: common practice, no source; mist fires: public reports on fires with hydraulic oil",
)
def fire(case: Case) -> Iterable[Finding]:
    id, u, duty = "person-fire", Units(case.circuit), duties_of(case)
    lines = [
        line for line in case.circuit.lines.values()
        if line.conduit is not None and duty[line.name] not in ("suction", "return", "drain")
    ]  # fmt: skip
    for line in lines:
        facts = of_line(line)
        near = facts.near_hot_part
        if facts.shield or (near is not None and near >= SPRAY):
            yield Finding(id, "ok", "WARNING", line.name, f"{line.name} is shielded or far from hot parts")
        elif near is None or facts.shield is None:
            yield Finding(id, "not checked", "WARNING", line.name, f"{line.name}: whether it is near a hot part is "
                          "open", missing=wanting(facts, "near_hot_part", "shield"), place=place_of(line))  # fmt: skip
        else:
            yield Finding(id, "finding", "WARNING", line.name,
                          f"{line.name} is {u.both(near, 'length')} from a hot part, without a shield",
                          text="A leak there sprays onto it.",
                          remedy="Another route or a sheet between; a fire extinguisher on the machine.",
                          figures={"distance": near}, place=place_of(line))  # fmt: skip
    if not lines:
        yield _none(id, what="No line under pressure in this circuit")
