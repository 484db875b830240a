"""Rules on joints whose forms are declared, and on couplers that can be exchanged."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..circuit import Line
from ..declarations import Contact, Half, JointFacts
from ..standards import threads
from .base import Case, Finding, Signal, rule
from .declared import highest, of_line, of_part, place_of, wanting
from .words import Units, listed

SPLITS, GRAVE = 70e5, 140e5
"""Pa: from where a taper thread in a cast port is remarked on, and told as WARNING; common practice, no source."""
COUPLERS = ("quick coupler", "coupler half")


def joints(case: Case) -> Iterator[tuple[Line, str, JointFacts]]:
    """Every joint of every line with its end as printed: `start (pump.outlet)`. Nothing declared: an empty group."""
    for line in case.circuit.lines.values():
        facts = of_line(line)
        for end, at in ((facts.start, line.start), (facts.end, line.end)):
            if not at.line:
                yield line, str(at), end or JointFacts.model_validate({})


@rule(
    id="thread-mismatch",
    title="The two halves of a joint belong together",
    signal="WARNING",
    reason="Halves that screw together but do not seal leak a jet, or blow off at pressure.",
    criterion="from the line over every listed adapter to the port: the form of one half is listed as mating with that "
    "of the next, in one size",
    remedy="Measure pitch and cone angle, look for the O-ring, and fit the adapter between the two forms.",
    source="table of joint forms (see the standards pages): which belong together from memory, look-alikes seen",
)
def mismatch(case: Case) -> Iterable[Finding]:
    id = "thread-mismatch"
    for line, at, joint in joints(case):
        for contact in joint.chain:
            yield _contact(id, line, at, joint, contact)
    if not case.circuit.lines:
        yield Finding(id, "does not apply", "WARNING", "", "No line in this circuit")


def _contact(id: str, line: Line, at: str, joint: JointFacts, contact: Contact) -> Finding:
    one, other = contact.one, contact.other
    where = f"{line.name} at {at}" + (f", {_between(one, other)}" if one.adapter or other.adapter else "")
    if one.form is None or other.form is None:
        return Finding(id, "not checked", "WARNING", line.name, f"{where}: the joint's forms are open",
                       missing=_wanted(contact), place=place_of(line))  # fmt: skip
    pair = f"{one.words} onto {other.words}"
    if threads.fits(one.form, one.size, other.form, other.size):
        return Finding(id, "ok", "WARNING", line.name, f"{where}: {pair}",
                       text=f"Seal: {threads.form(one.form).seal}.")  # fmt: skip
    alike = threads.look_alike(one.form, other.form)
    why = f"Taken for one another: {alike}." if alike else "These halves do not seal on one another (from memory)."
    if threads.mates(one.form, other.form):
        why = "The forms belong together, the sizes do not."
    return Finding(id, "finding", "WARNING", line.name, f"{where}: {pair} does not belong together",
                   text=f"{why} One seals by: {threads.form(one.form).seal}; the other by: "
                   f"{threads.form(other.form).seal}.",
                   remedy="Measure pitch and cone angle, look for the O-ring, and fit the adapter between the two "
                   "forms.", place=place_of(line))  # fmt: skip


def _between(one: Half, other: Half) -> str:
    """`onto adapter 1`, `adapter 1 onto adapter 2`, `adapter 2 onto the port`."""
    first = f"adapter {one.adapter} " if one.adapter else ""
    return f"{first}onto " + (f"adapter {other.adapter}" if other.adapter else "the port")


def _wanted(contact: Contact) -> str:
    """Those keys of the two halves that nobody declared."""
    one, other = contact.one, contact.other
    far = [] if other.form else [f"'from' of adapter {other.adapter}" if other.adapter else "'onto'"]
    return listed([*_near([one]), *far])


def _near(halves: Iterable[Half]) -> list[str]:
    """Keys of those halves, each the one toward the line, whose form nobody declared."""
    return [f"'to' of adapter {half.adapter}" if half.adapter else "'form'" for half in halves if half.form is None]


def _open(halves: Iterable[Half], joint: JointFacts, *names: str) -> str:
    """What of these halves and of these keys of the joint nobody declared."""
    return listed(w for w in (*_near(halves), wanting(joint, *names)) if w)


@rule(
    id="thread-taper-split",
    title="No taper thread splits a cast port, no stack of adapters",
    signal="CAUTION",
    reason="A taper thread is a wedge: tightened once more, it splits the housing, and a jet leaves the crack.",
    criterion="no taper thread in a cast port above 70 bar (WARNING above 140 bar); at most 2 adapters in a joint",
    remedy="Ports with an O-ring; one adapter; never turn a taper thread back to line it up.",
    source="common practice, no source",
)
def taper_split(case: Case) -> Iterable[Finding]:
    id, u = "thread-taper-split", Units(case.circuit)
    for line, at, joint in joints(case):
        level = highest(case, line)
        port = joint.chain[-1]
        taper = any(threads.form(f).taper for f in (port.one.form, port.other.form) if f)
        wrong, signal = [], "CAUTION"
        if taper and joint.cast and level is not None and level > SPLITS:
            wrong.append(f"a taper thread in a cast port at {u.both(level, 'pressure')}")
            signal = "WARNING" if level > GRAVE else "CAUTION"
        if joint.adapters is not None and len(joint.adapters) > 2:
            wrong.append(f"{len(joint.adapters)} adapters in a stack")
        if wrong:
            word: Signal = "WARNING" if signal == "WARNING" else "CAUTION"
            yield Finding(id, "finding", word, line.name, f"{line.name} at {at}: {' and '.join(wrong)}",
                          text="Each turn that lines it up drives the wedge further in, and every joint more can leak.",
                          remedy="Ports with an O-ring; one adapter; never turn a taper thread back to line it up.",
                          figures={} if level is None else {"pressure": level}, place=place_of(line))  # fmt: skip
            continue
        missing = _open([port.one], joint, "adapters", *(("cast",) if taper else ()))
        if missing or (taper and joint.cast and level is None):
            yield Finding(id, "not checked", "CAUTION", line.name, f"{line.name} at {at}: whether its thread can "
                          "split the port is open", missing=missing or "a state with figures",
                          place=place_of(line))  # fmt: skip
        else:
            yield Finding(id, "ok", "CAUTION", line.name, f"{line.name} at {at}: no taper thread that splits its port")
    if not case.circuit.lines:
        yield Finding(id, "does not apply", "CAUTION", "", "No line in this circuit")


@rule(
    id="thread-sealant",
    title="Sealant is where it belongs and nowhere else",
    signal="NOTICE",
    reason="Shreds of tape jam reliefs and valves that hold a load.",
    criterion="no sealant on a joint that does not seal in its thread; no tape at all",
    remedy="Hydraulic sealant on taper threads only, two threads back from the end.",
    source="common practice, no source",
)
def sealant(case: Case) -> Iterable[Finding]:
    id = "thread-sealant"
    for line, at, joint in joints(case):
        near = [contact.one for contact in joint.chain]
        forms = [half.form for half in near if half.form]
        on = listed(forms)
        if joint.sealant is None or len(forms) < len(near):
            yield Finding(id, "not checked", "NOTICE", line.name, f"{line.name} at {at}: what was put on is open",
                          missing=_open(near, joint, "sealant"), place=place_of(line))  # fmt: skip
        elif joint.sealant == "tape" or (joint.sealant != "none" and not any(threads.form(f).taper for f in forms)):
            yield Finding(id, "finding", "NOTICE", line.name, f"{line.name} at {at}: {joint.sealant} on {on}",
                          text=f"It seals by: {listed(threads.form(f).seal for f in forms)}. What comes loose ends "
                          "in a valve.",
                          remedy="Hydraulic sealant on taper threads only, two threads back from the end.",
                          place=place_of(line))  # fmt: skip
        else:
            yield Finding(id, "ok", "NOTICE", line.name, f"{line.name} at {at}: {joint.sealant} on {on}")
    if not case.circuit.lines:
        yield Finding(id, "does not apply", "NOTICE", "", "No line in this circuit")


@rule(
    id="coup-orientation",
    title="Couplers can be joined in one way only",
    signal="WARNING",
    reason="Exchanged, a function runs backwards, or pressure meets a case drain and blows its seal.",
    criterion="with two couplers or more: each declared as fitting in one way only",
    remedy="One male and one female on each side; a smaller size for the drain; caps of one colour for each pair.",
    source="common practice, no source",
)
def orientation(case: Case) -> Iterable[Finding]:
    id = "coup-orientation"
    couplers = [p for p in case.circuit.parts.values() if p.kind in COUPLERS]
    if len(couplers) < 2:
        yield Finding(id, "does not apply", "WARNING", "", "Fewer than two couplers: nothing to exchange")
        return
    for part in couplers:
        facts = of_part(part)
        if facts.one_way is None:
            yield Finding(id, "not checked", "WARNING", part.name, f"{part.name}: whether it can be exchanged is open",
                          missing=wanting(facts, "one_way"), place=place_of(part))  # fmt: skip
        elif facts.one_way:
            yield Finding(id, "ok", "WARNING", part.name, f"{part.name} can be joined in one way only")
        else:
            yield Finding(id, "finding", "WARNING", part.name, f"{part.name} can be joined the wrong way round",
                          text="Nothing but care keeps it from being exchanged with another coupler.",
                          remedy="One male and one female on each side; a smaller size for the drain; caps of one "
                          "colour for each pair.", place=place_of(part))  # fmt: skip
