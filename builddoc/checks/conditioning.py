"""Rules on filters, coolers, the tank's breather and pipes, what stands in the suction line, and time until too hot."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from ..circuit import Part
from ..network import Array
from . import strength, walk
from .base import Case, Finding, rule
from .duty import duties_of
from .flows import MOSTLY, relief_share
from .heat import warmings
from .loads import STANDS
from .outcomes import About
from .rod_duty import rods
from .sections import of_kind
from .words import Units, minutes

SOON = 15 * 60.0
"""s; shorter than this is a demonstration, not work. Common practice, no source."""
DEPTHS = 2.0
"""Return pipes end this many of their bores below the oil, suction openings lie 1.5. Common practice, no source."""
SUCTION_DEPTHS = 1.5
COLDER = 10.0
"""K below the usual oil temperature at which losses are those of a cold start."""


def _drop(case: Case, part: Part) -> Array:
    """Pa from inlet to outlet, (S,)."""
    r = case.results
    return np.asarray(r.pressure(part.name, "inlet") - r.pressure(part.name, "outlet"), dtype=float)


@rule(
    id="filt-rating",
    title="A filter stands where its bowl and its element hold",
    signal="WARNING",
    reason="A screwed-on can bursts at face height and throws hot oil; an element collapses and sends its dirt on.",
    criterion="highest pressure at its inlet <= its rating; drop in every state < `collapse` of its element, or a "
    "bypass that opens below it",
    remedy="Put it on the return side, with a bypass and nothing behind it that can shut.",
    source="ISO 2941 on element collapse (scope, seen as an excerpt); common practice",
)
def filter_rating(case: Case) -> Iterable[Finding]:
    id, u, r = "filt-rating", Units(case.circuit), case.results
    filters = of_kind(case, "filter")
    for part in filters:
        say = About(id, part.name, part.place)
        level = strength.seen(case, {case.network.port_nodes[part.name, p] for p in ("inlet", "outlet")})
        rating = part.params.rating.value if part.params.rating else None
        collapse, bypass = part.params.collapse, part.params.bypass  # type: ignore[attr-defined]
        drop = r.worst(_drop(case, part))
        if level is None or drop is None:
            yield say.unchecked(f"{part.name}: no state fixes its pressure", "a state with figures")
            continue
        figures = {"pressure": level.value, "drop": drop.value}
        sees = f"{part.name} sees {level.words}{u.both(level.value, 'pressure')}"
        if rating is not None and level.value > rating:
            yield say.finding(f"{sees}, its bowl is rated {u.both(rating, 'pressure')}", "It bursts, at face height.",
                              state=level.state, figures=figures | {"rating": rating,
                              "ratio": level.value / rating})  # fmt: skip
        elif collapse is not None and drop.value >= collapse:
            yield say.finding(
                f"{part.name}: {u.both(drop.value, 'pressure difference')} across an element that collapses at "
                f"{u.both(collapse, 'pressure difference')}",
                "Its bypass opens too late." if bypass is not None else "It has no bypass.", signal="CAUTION",
                state=drop.state, figures=figures | {"limit": collapse},
            )  # fmt: skip
        elif rating is None and level.value > 0:
            yield say.unchecked(f"{sees}: nobody stated what its bowl bears", "its rating", figures=figures)
        elif collapse is None and bypass is None:
            yield say.unchecked(f"{sees}, and has no bypass", "the drop at which its element collapses",
                                figures=figures)  # fmt: skip
        else:
            yield say.ok(f"{sees}, and {u.show(drop.value, 'pressure difference')} across its element",
                         state=level.state, figures=figures)  # fmt: skip
    if not filters:
        yield About(id).none("No filter in this circuit")


@rule(
    id="cool-pressure",
    title="A cooler's core holds what it sees",
    signal="WARNING",
    reason="A thin core splits: hot oil mist at the fan or the exhaust.",
    criterion="highest pressure at the core <= its rating, in the coldest state too; a cooler without a bypass in a "
    "machine that starts cold: not checked unless a state shows that start",
    remedy="A check valve past it that opens at 1.5 to 4 bar, on a branch with steady flow.",
    source="a marine manual on oil coolers (seen as an excerpt); bypass pressures: common practice, no source",
)
def cooler(case: Case) -> Iterable[Finding]:
    id, u = "cool-pressure", Units(case.circuit)
    coolers = of_kind(case, "cooler")
    for part in coolers:
        say = About(id, part.name, part.place)
        level = strength.seen(case, {case.network.port_nodes[part.name, p] for p in ("inlet", "outlet")})
        rating = part.params.rating.value if part.params.rating else None
        if level is None or rating is None:
            yield say.unchecked(f"{part.name}: what its core sees or bears is open",
                                "its rating" if level else "a state with figures")  # fmt: skip
            continue
        figures = {"pressure": level.value, "rating": rating, "ratio": level.value / rating}
        sees = f"The core of {part.name} sees {level.words}{u.both(level.value, 'pressure')}"
        coldest = case.circuit.oil.coldest
        cold = coldest is not None and float(np.min(case.results.temperature)) > coldest + 0.5
        if level.value > rating:
            yield say.finding(f"{sees}, rated {u.both(rating, 'pressure')}", "A thin core splits without warning.",
                              state=level.state, figures=figures)  # fmt: skip
        elif cold and part.params.bypass is None:  # type: ignore[attr-defined]
            yield say.unchecked(f"{sees}; without a bypass cold oil presses harder",
                                f"a state with oil at {u.show(coldest or 0.0, 'temperature')}, or a bypass",
                                figures=figures)  # fmt: skip
        else:
            yield say.ok(f"{sees} of its {u.pressure(rating)}", state=level.state, figures=figures)
    if not coolers:
        yield About(id).none("No cooler in this circuit")


@rule(
    id="suct-shutoff",
    title="Nothing in the suction line can shut, choke or collapse",
    signal="NOTICE",
    reason="The pump runs dry within seconds and is ruined.",
    criterion="no quick coupler and no unlocked shut-off in a suction line; no filter without a bypass; hoses of a "
    "suction construction",
    remedy="Lock the valve open, with a tag; put the filter in the return; a hose made for suction.",
    source="a tipping-pump maker's manual and hose types for suction (seen as excerpts); common practice",
)
def suction_shutoff(case: Case) -> Iterable[Finding]:
    id = "suct-shutoff"
    duty = duties_of(case)
    suction = [line for n, line in case.circuit.lines.items() if duty[n] == "suction"]
    if not suction:
        yield About(id).none("No suction line in this circuit")
        return
    ends = dict.fromkeys(end.part for line in suction for end in (line.start, line.end) if end.part)
    bad: list[tuple[str, str]] = []
    for part in (case.circuit.parts[n] for n in ends):
        if part.kind == "quick coupler":
            bad.append((part.name, "a quick coupler in the suction line"))
        elif part.kind == "shut-off valve" and not part.params.locked:  # type: ignore[attr-defined]
            bad.append((part.name, "a shut-off valve that is not locked in the suction line"))
        elif part.kind == "filter" and part.params.bypass is None:  # type: ignore[attr-defined]
            bad.append((part.name, "a filter without a bypass in the suction line"))
    hoses = [(line.name, line.conduit.label) for line in suction if line.conduit and line.conduit.kind == "hose"]
    bad += [(n, f"a hose ({label}) that is not made for suction") for n, label in hoses
            if "suction" not in label and "unknown" not in label]  # fmt: skip
    open_hoses = [n for n, label in hoses if "unknown" in label]
    for name, what in bad:
        place = case.circuit.parts[name].place if name in case.circuit.parts else case.circuit.lines[name].place
        yield About(id, name, place).finding(f"{name}: {what}", "One wrong handle, or cold oil, and the pump runs dry.")
    for name in open_hoses:
        yield About(id, name, case.circuit.lines[name].place).unchecked(
            f"{name}: whether it collapses is open", "what hose it is"
        )
    if not bad and not open_hoses:
        yield About(id, suction[0].name).ok("Nothing in the suction line can shut, choke or collapse")


@rule(
    id="ret-aeration",
    title="The oil carries no air",
    signal="NOTICE",
    reason="Air makes loads spongy and jerky, and foam runs over.",
    criterion="`return depth` at least 2 bores of the widest return line, `suction depth` at least 1.5 bores of the "
    "widest suction line, with every rod out",
    remedy="A longer return pipe cut at 45 degrees, a baffle, more oil.",
    source="common practice, no source",
)
def aeration(case: Case) -> Iterable[Finding]:
    id, u = "ret-aeration", Units(case.circuit)
    duty = duties_of(case)
    tanks = of_kind(case, "reservoir")
    widths = {
        d: max((li.conduit.bore for n, li in case.circuit.lines.items() if duty[n] == d and li.conduit), default=0.0)
        for d in ("return", "suction")
    }
    for part in tanks:
        say = About(id, part.name, part.place)
        depths = {"return": part.params.return_depth, "suction": part.params.suction_depth}  # type: ignore[attr-defined]
        needs = {"return": DEPTHS * widths["return"], "suction": SUCTION_DEPTHS * widths["suction"]}
        short = [d for d in depths if depths[d] is not None and needs[d] and depths[d] < needs[d]]
        missing = [f"its {d} depth" for d in depths if depths[d] is None and needs[d]]
        if short:
            d = short[0]
            yield say.finding(
                f"{part.name}: its {d} ends {u.show(depths[d], 'length')} below the lowest oil level; "
                f"{u.show(needs[d], 'length')} are usual",
                "It draws air, or beats it in.", figures={"depth": depths[d], "limit": needs[d]},
            )  # fmt: skip
        elif missing:
            yield say.unchecked(f"{part.name}: how deep its pipes end is open", " and ".join(missing))
        else:
            yield say.ok(f"{part.name}: its pipes end deep enough")
    if not tanks:
        yield About(id).none("No reservoir in this circuit")


@rule(
    id="tank-breather",
    title="The tank breathes as fast as its level changes",
    signal="NOTICE",
    reason="The tank is sucked flat or blown up, the pump starves, dust is drawn in.",
    criterion="`breather` >= fastest change of the oil in it: the flow that the rods of any state take in or give back",
    remedy="A filter breather about as fine as the system's filter; open the cap of a hot tank slowly.",
    source="mass balance of the solved states; common practice",
)
def breather(case: Case) -> Iterable[Finding]:
    id, u, r = "tank-breather", Units(case.circuit), case.results
    tanks = of_kind(case, "reservoir")
    net = np.where(r.solved, 0.0, np.nan)
    for rod in rods(case):
        net = net + (rod.pushes - rod.pulls) * r.speed(rod.part.name, "rod")
    most = r.worst(np.abs(net))
    for part in tanks if rods(case) else ():
        say, gives = About(id, part.name, part.place), part.params.breather  # type: ignore[attr-defined]
        if most is None:
            yield say.unchecked(f"{part.name}: how fast its level changes is open", "a state with figures")
            continue
        figures = {"flow": most.value}
        line = f"The oil in {part.name} changes by up to {u.both(most.value, 'flow')}"
        if gives is None:
            yield say.unchecked(f"{line}: what its breather passes is open", "its breather", figures=figures)
        elif gives >= most.value:
            yield say.ok(f"{line}; its breather passes {u.flow(gives)}", state=most.state, figures=figures)
        else:
            yield say.finding(f"{line}; its breather passes {u.both(gives, 'flow')}",
                              "Every rod that moves out needs that much air.", state=most.state,
                              figures=figures | {"ratio": most.value / gives})  # fmt: skip
    if not tanks or not rods(case):
        yield About(id).none("No tank, or no rod that changes its level")


@rule(
    id="temp-time",
    title="The machine works long enough before it is too hot",
    signal="NOTICE",
    reason="It works for ten minutes at home and fails in the field.",
    criterion="time from 20 degC to the oil's limit with what the tank gives off, at least 15 minutes in every "
    "state that "
    "lasts: no rod on its way, warm oil, under half of the flow over reliefs",
    remedy="A larger tank, a cooler, less loss; print the time beside the lever.",
    source="heat balance, t = -tau ln((Ts - T)/(Ts - T0)): elementary. 15 min: common practice, no source",
)
def time_until_hot(case: Case) -> Iterable[Finding]:
    id, u, r = "temp-time", Units(case.circuit), case.results
    pumps = walk.pumps(case.network)
    if not pumps:
        yield About(id).none("No pump in this circuit")
        return
    lasting = [s for s in range(r.size) if any(p.flow[s] > 0 for p in pumps) and _lasts(case, s)]
    warm = [s for s in lasting if float(r.temperature[s]) > case.circuit.oil.temperature - COLDER]
    works = warm or lasting
    known = [(w.cooled, s, watts) for s in works for watts, w in [warmings(case)[s]] if w is not None]
    if not known:
        missing = "the tank's volume" if works else "a solved state that lasts"
        yield About(id).unchecked("How long it may work is open", missing)
        return
    seconds, s, watts = min(known, key=lambda k: k[0] if not math.isnan(k[0]) else math.inf)
    figures = {"time": seconds, "heat": watts}
    limit = u.show(case.circuit.oil.limit, "temperature")
    state, say = r.states[s], About(id, r.states[s], case.circuit.states[r.states[s]].place)
    if not seconds < SOON:
        last = "never" if not math.isfinite(seconds) else f"after {minutes(seconds)}"
        yield say.ok(f"At work the oil reaches {limit} {last}", state=state, figures=figures)
        return
    if not warm:
        yield say.unchecked("How long it may work is open: with cold oil its losses are larger than later",
                            "a state that lasts, with warm oil")  # fmt: skip
        return
    yield say.finding(f"At work, in '{state}', the oil reaches {limit} after {minutes(seconds)}",
                      f"{u.power(watts)} go into the oil, from 20 °C on and with what the tank gives off.", state=state,
                      figures=figures)  # fmt: skip


def _lasts(case: Case, s: int) -> bool:
    """A state that can go on for minutes: a stroke ends, and a stall is told by itself."""
    r = case.results
    moving = any(abs(float(r.speed(rod.part.name, "rod")[s])) > STANDS for rod in rods(case))
    return bool(r.solved[s]) and not moving and relief_share(case, s).share < MOSTLY
