"""Rules on what a rating means: its kind, the temperature it holds at, who stated it, and room for spikes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from ..circuit import Part
from ..physics import hammer
from . import strength
from .base import Case, Finding, rule
from .declared import of_part
from .duty import duties_of
from .outcomes import About
from .strength import Member
from .velocity import line_velocity
from .words import Units, listed

WAVE = 1200.0
"""m/s, speed of a pressure wave in oil in hose or tube; from memory, 1000 to 1300."""
PART_OF_BURST = 4.0
SPIKE = 1.25


def _all(case: Case) -> Iterator[tuple[Member, set[int]]]:
    """Every rated place with its nodes: ports of parts, conduits and fittings of lines."""
    for part, members in strength.each_port(case):
        for m in members:
            yield m, {case.network.port_nodes[part.name, m.port]}
    for name in case.circuit.lines:
        nodes = strength.line_nodes(case.network, name)
        for m in strength.line_members(case, name):
            if not m.port:
                yield m, nodes


@rule(
    id="rating-basis-mixed",
    title="Burst, peak and intermittent ratings are not read as working ratings",
    signal="WARNING",
    reason="A burst figure read as a working figure hides a factor of four.",
    criterion="burst: highest pressure at most a quarter of it; proof: at most half; intermittent and peak: not "
    "checked for a working pressure, above them a finding",
    remedy="Ask for the continuous working pressure and the page of the document that states it.",
    source="SAE J1065 and hose standards: four to one (seen as excerpts). Proof twice the working pressure of hoses; "
    "common practice",
)
def basis_mixed(case: Case) -> Iterable[Finding]:
    id, u = "rating-basis-mixed", Units(case.circuit)
    other = [(m, n) for m, n in _all(case) if m.rating and m.rating.value and m.rating.kind not in strength.WORKING]
    for m, nodes in other:
        assert m.rating is not None and m.rating.value is not None
        say, seen = About(id, m.label if m.port else m.owner, m.place), strength.seen(case, nodes)
        kind, value = m.rating.kind, m.rating.value
        share = {"burst": PART_OF_BURST, "proof": 2.0}.get(kind)
        may = value / (share or 1.0)
        stated = f"{m.label}: {u.both(value, 'pressure')} is a {kind} pressure"
        figures = {"pressure": seen.value if seen else 0.0, "rating": may}
        if seen is None:
            yield say.unchecked(f"{stated}; no state fixes the pressure there", "a state with figures")
        elif seen.value > may:
            meant = f", good for {u.pressure(may)} at work" if share else ""
            yield say.finding(f"{stated}{meant}; it sees {seen.words}{u.both(seen.value, 'pressure')}",
                              "No working pressure is stated for it.", state=seen.state,
                              figures=figures | {"ratio": seen.value / may})  # fmt: skip
        elif share is None:
            yield say.unchecked(f"{stated}; it sees {u.pressure(seen.value)}, for how long nobody knows",
                                "its continuous working pressure", figures=figures)  # fmt: skip
        else:
            yield say.ok(f"{stated}; it sees {u.pressure(seen.value)}, less than {u.pressure(may)}", state=seen.state,
                         figures=figures)  # fmt: skip
    if not other:
        yield About(id).none("Every rating is given as a working pressure")


@rule(
    id="rating-temperature",
    title="Hoses bear the oil's temperature",
    signal="WARNING",
    reason="A hose that is too hot hardens and blows off beside the operator; one too cold cracks.",
    criterion="temperature limits of the hose's construction hold for the hottest state and the coldest start",
    remedy="A hose for a higher temperature, away from the exhaust, or cooler oil.",
    source="a hose maker's table of temperature limits by SAE type (seen as an excerpt); see the standards room",
)
def temperature(case: Case) -> Iterable[Finding]:
    id, u, oil = "rating-temperature", Units(case.circuit), case.circuit.oil
    hottest = float(np.max(case.results.temperature))
    coldest = min([float(np.min(case.results.temperature)), *([oil.coldest] if oil.coldest is not None else [])])
    hoses = [line for line in case.circuit.lines.values() if line.conduit and line.conduit.kind == "hose"]
    unknown = [line.name for line in hoses if line.conduit and line.conduit.hottest is None]
    for line in hoses:
        assert line.conduit is not None
        high, low = line.conduit.hottest, line.conduit.coldest
        if high is None or low is None:
            continue
        say = About(id, line.name, line.place)
        figures = {"temperature": hottest, "highest": high, "lowest": low}
        limits = f"its construction bears {u.show(low, 'temperature')} to {u.show(high, 'temperature')}"
        if hottest > high or coldest < low:
            at = hottest if hottest > high else coldest
            yield say.finding(f"{line.name} meets oil of {u.both(at, 'temperature')}; {limits}",
                              "Its pressure rating does not hold there.", figures=figures)  # fmt: skip
        else:
            yield say.ok(f"{line.name}: {limits}", figures=figures)
    if unknown:
        yield About(id).unchecked(f"{listed(unknown, 4)}: what temperature they bear is not known",
                                  "a listed construction of the hose")  # fmt: skip
    if not hoses:
        yield About(id).none("No hose in this circuit")


@rule(
    id="rating-surge",
    title="Lines have room for the spike of a spool that shuts at once",
    signal="WARNING",
    reason="Spikes that no gauge shows crack hoses, seals and gauges.",
    criterion="highest pressure while it flows plus rho c v at most 1.25 times the rating of its weakest member; an "
    "estimate for sudden stopping, c = 1200 m/s",
    remedy="Shift spools slower, a relief close to the actuator, a cushion, or a wider line.",
    source="Joukowsky's rule: elementary; c from memory. 1.25: hose ratings include spikes up to some extent, common "
    "practice, no source",
)
def surge(case: Case) -> Iterable[Finding]:
    id, u, r = "rating-surge", Units(case.circuit), case.results
    duty, found = duties_of(case), False
    for name, line in case.circuit.lines.items():
        if duty[name] != "pressure" or line.conduit is None:
            continue
        found = True
        say, weak = About(id, name, line.place), strength.weakest(strength.line_members(case, name))
        level, _ = strength.levels(case, strength.line_nodes(case.network, name))
        rise = hammer.surge(case.circuit.oil.density, WAVE, line_velocity(case, name))
        worst = r.worst(np.asarray(level + rise, dtype=float))
        if worst is None or weak is None or weak.value is None:
            missing = "a state with figures" if worst is None else f"a rating in {name}"
            yield say.unchecked(f"{name}: room for spikes is open", missing)
            continue
        figures = {"pressure": worst.value, "rating": weak.value, "surge": float(np.asarray(rise)[worst.index])}
        line_words = (
            f"{name}: stopped at once its oil adds about {u.both(figures['surge'], 'pressure')}, to "
            f"{u.both(worst.value, 'pressure')}"
        )
        if worst.value > SPIKE * weak.value and level[worst.index] <= weak.value:
            yield say.finding(f"{line_words}; {weak.label} is rated {u.pressure(weak.value)}",
                              "An estimate, for a spool or a stop that is quicker than the wave's way back.",
                              state=worst.state, figures=figures | {"ratio": worst.value / weak.value})  # fmt: skip
        elif level[worst.index] > weak.value:
            yield say.none(f"{name} is over its rating without any spike: judged there")
        else:
            yield say.ok(line_words, state=worst.state, figures=figures)
    if not found:
        yield About(id).none("No pressure line with a length")


@rule(
    id="rating-unknown-part",
    title="Second-hand parts and home-built frames have a known rating",
    signal="WARNING",
    reason="A part without mark or date is of unknown strength in a pressure line, and a frame that only its builder "
    "reckoned is as strong as his sums.",
    criterion="every part that is said to be second-hand has a rated working pressure and says where it was read; one "
    "read nowhere (a guess) is a finding; every `frame rating` has `frame reviewed: yes`",
    remedy="Identify it by its casting number; replace hoses. Proof testing is for trained people with a hand pump and "
    "shields, never with air.",
    source="SAE J1273 on used hose (seen as an excerpt); common practice",
)
def unknown_part(case: Case) -> Iterable[Finding]:
    id, used = "rating-unknown-part", [p for p in case.circuit.parts.values() if p.params.salvaged]
    for part in used:
        say, members = About(id, part.name, part.place), strength.port_members(part)
        without = [m for m in members if m.missing]
        guessed = [m for m in members if m.rating and m.rating.basis == "guess"]
        unsaid = [m for m in members if m.rating and m.rating.value and not m.rating.basis]
        if guessed:
            yield say.finding(f"{part.name} is second-hand and its rating is a guess",
                              "Every figure that rests on it is a guess as well.")  # fmt: skip
        elif without:
            yield say.unchecked(f"{part.name} is second-hand: its strength is unknown",
                                listed(dict.fromkeys(m.missing for m in without)))  # fmt: skip
        elif unsaid:
            yield say.unchecked(f"{part.name} is second-hand: where its rating was read is not said",
                                "where the rating was read (`read on`)")  # fmt: skip
        else:
            yield say.ok(f"{part.name} is second-hand; its rating was read on: {strength.basis(members[0].rating)}"
                         if members else f"{part.name} is second-hand and bears no pressure")  # fmt: skip
    frames = [p for p in case.circuit.parts.values() if getattr(p.params, "frame_rating", None) is not None]
    for part in frames:
        yield _frame(case, part)
    if not used and not frames:
        yield About(id).none("No part is said to be second-hand, and no frame is rated")


def _frame(case: Case, part: Part) -> Finding:
    say, rated = About("rating-unknown-part", part.name, part.place), getattr(part.params, "frame_rating")  # noqa: B009
    reviewed = of_part(part).frame_reviewed
    line = f"The frame that {part.name} works against is rated {Units(case.circuit).both(rated, 'force')}"
    if reviewed:
        return say.ok(f"{line}, reviewed by somebody trained for it")
    if reviewed is None:
        return say.unchecked(f"{line}: who reckoned that is open", "'frame reviewed', under 'declare'")
    return say.unchecked(f"{line} by its builder alone", "a review by somebody licensed or trained for it")
