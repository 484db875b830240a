"""Rules on the valves that hold a load, and on spools that let it down."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from ..circuit import Part
from .base import Case, Finding, rule
from .loads import Hung, bearing, holds, hung
from .outcomes import About
from .rod_duty import rods
from .sections import members, of_kind, section
from .settings import limit
from .strength import weakest
from .words import Units, listed

HOLD = 1.3
"""Setting of a counterbalance valve over the highest pressure of its load: a trade page on them, seen as an excerpt."""
USABLE = 0.85
CREEP = 1e-3 / 60
"""m/s; slower sinking is not seen between glances. Common practice, no source."""
METERS = ("orifice", "flow control valve")


def carried(case: Case) -> tuple[Hung, ...]:
    return tuple(hung(case))


def load_pressure(case: Case, h: Hung) -> tuple[float, float]:
    """Pa that the load makes at the port that carries it, in the state in which it is highest, and the m2 there."""
    pressure, area, _ = max((bearing(case, h, s) for s in (*h.stands, *h.driven)), key=lambda found: found[0])
    return pressure, area


def _held(case: Case, h: Hung) -> bool:
    return bool(h.ends) and all(holds(case, n, h.way.nodes) for n in h.ends)


def _no_load(id: str) -> Finding:
    return About(id).none("No state has a load that hangs on a rod or drives it")


@rule(
    id="load-hose-between",
    title="No hose lies between a holding valve and its cylinder",
    signal="WARNING",
    reason="The valve cannot help when that hose bursts: the load falls free.",
    criterion="every line between the valve that holds a load and the cylinder is a direct joint, a tube or a pipe",
    remedy="Screw or bolt the valve to the cylinder's port; else a short steel tube, clamped.",
    source="ISO 8643 on lowering control (scope, seen as an excerpt); common practice",
)
def hose_between(case: Case) -> Iterable[Finding]:
    id = "load-hose-between"
    held = [h for h in carried(case) if _held(case, h)]
    for h in held:
        say = About(id, h.part.name, h.part.place)
        made = {n: c.kind for n in h.way.lines if (c := case.circuit.lines[n].conduit) is not None}
        hoses = [n for n, kind in made.items() if kind == "hose"]
        unknown = [n for n, kind in made.items() if kind not in ("hose", "tube", "pipe")]
        between = f"between {listed(h.ends)} and {h.part.name}"
        if hoses:
            yield say.finding(f"{listed(hoses)}: a hose {between}", "If it bursts nothing holds the load.",
                              state=case.results.states[(*h.stands, *h.driven)[0]])  # fmt: skip
        elif unknown:
            yield say.unchecked(f"{listed(unknown)}, {between}: not said what it is made of", "hose, tube or pipe")
        else:
            yield say.ok(f"No hose {between}")
    if not held:
        yield About(id).none("No load is held by a valve at its cylinder")


@rule(
    id="load-cbv-setting",
    title="A counterbalance valve is set for its load",
    signal="WARNING",
    reason="Set too low it drops the load, too high it lets the pressure rise over the ratings or makes a load judder.",
    criterion="setting >= 1.3 times the load's pressure, and at most the weakest rating at the cylinder's side; pilot "
    "pressure to open, (setting - load + (1 + R) back pressure) / R, at most 85 % of the relief (above: NOTICE)",
    remedy="Set it to 1.3 times the pressure of the largest load, or choose another pilot ratio.",
    source="a trade page on counterbalance valves (1.3, seen as an excerpt); the balance of its poppet; 85 %: common "
    "practice, no source",
)
def cbv_setting(case: Case) -> Iterable[Finding]:
    valves = of_kind(case, "counterbalance valve")
    for valve in valves:
        yield from _cbv(case, valve)
    if not valves:
        yield About("load-cbv-setting").none("No counterbalance valve in this circuit")


def _cbv(case: Case, valve: Part) -> Iterator[Finding]:
    u, say, r = Units(case.circuit), About("load-cbv-setting", valve.name, valve.place), case.results
    near = section(case, case.network.port_nodes[valve.name, "load"])
    loads = [load_pressure(case, h)[0] for h in carried(case) if valve.name in h.ends]
    loads += [p for p, _ in _on_shafts(case, near.nodes)]
    setting, ratio = valve.params.setting, valve.params.pilot_ratio  # type: ignore[attr-defined]
    if not loads:
        yield say.unchecked(f"{valve.name}, set to {u.pressure(setting)}: no state shows the load it holds",
                            "a state with its largest load")  # fmt: skip
        return
    load, weak = max(loads), weakest(members(case, near))
    figures = {"pressure": load, "setting": setting}
    line = f"{valve.name} is set to {u.both(setting, 'pressure')}, its load makes {u.both(load, 'pressure')}"
    lowering = _lowering(case, valve) | {s for _, s in _on_shafts(case, near.nodes) if s >= 0}
    back = np.nanmax(r.pressure(valve.name, "V")[list(lowering)], initial=0.0)
    opens = (setting - load + (1 + ratio) * back) / ratio
    relief = limit(case, case.network.port_nodes[valve.name, "pilot"])
    if setting < HOLD * load:
        yield say.finding(f"{line}: less than {HOLD} times", "It opens under the load, or when the load bounces.",
                          figures=figures)  # fmt: skip
    elif weak is not None and weak.value is not None and setting > weak.value:
        yield say.finding(
            f"{line}; {weak.label} there is rated {u.both(weak.value, 'pressure')}",
            "Shut in, the cylinder may reach the setting: more than its weakest member holds.",
            remedy="Set it lower, or a stronger part.", figures=figures | {"rating": weak.value},
        )  # fmt: skip
    elif relief is not None and opens > USABLE * relief:
        yield say.finding(
            f"{line}; it takes {u.both(opens, 'pressure')} at its pilot to lower",
            f"That is more than {USABLE:.0%} of the relief at {u.pressure(relief)}: it lowers in jerks or not at all. "
            "Pressure on the way back to the reservoir counts 1 + R times.",
            signal="NOTICE", remedy="A larger pilot ratio, or less back pressure.", figures=figures | {"pilot": opens},
        )  # fmt: skip
    else:
        yield say.ok(f"{line}; {u.pressure(opens)} at its pilot lower it", figures=figures | {"pilot": opens})


def _on_shafts(case: Case, nodes: frozenset[int]) -> list[tuple[float, int]]:
    """Pa that a load on a motor's shaft makes at one of these nodes with nothing on the other side, losses left out, in
    every solved state, and the state if the load turns the motor there, else -1."""
    found = []
    for k, a in enumerate(case.network.actuators):
        for node in nodes & set(a.k) if a.role == "shaft" else ():
            for s in np.flatnonzero(case.results.solved & (a.k[node] * a.force > 0)):
                turned = float(case.results.v[s, k]) * float(a.force[s]) < 0
                found.append((abs(float(a.force[s]) / a.k[node]), int(s) if turned else -1))
    return found


def _lowering(case: Case, valve: Part) -> set[int]:
    return {s for h in carried(case) if valve.name in h.ends for s in h.driven}


@rule(
    id="load-pocheck-overrun",
    title="A load that drives its rod is not lowered through a pilot-operated check alone",
    signal="CAUTION",
    reason="The load runs ahead, the pilot pressure falls, the check slams, over and over: jerks, and hoses that fail.",
    criterion="where a pilot-operated check holds a load that a state lowers, an orifice or flow control meters on "
    "its valve side or at the cylinder",
    remedy="A counterbalance valve instead, or a restrictor sized for the lowering speed.",
    source="common practice, no source",
)
def pocheck_overrun(case: Case) -> Iterable[Finding]:
    id = "load-pocheck-overrun"
    found = False
    for h in carried(case):
        checks = [n for n in h.ends if "pilot-operated check" in case.circuit.parts[n].kind]
        for name in checks:
            found = True
            part = case.circuit.parts[name]
            say = About(id, name, part.place)
            valve_side = section(case, case.network.port_nodes[name, "V"])
            meters = [n for n in (*valve_side.parts, *h.way.parts) if case.circuit.parts[n].kind in METERS]
            if meters:
                yield say.ok(f"{name}: the load on {h.part.name} is metered by {listed(meters)}")
            elif h.driven:
                yield say.finding(
                    f"{name} alone lowers the load on {h.part.name}",
                    "Nothing meters the oil that the load drives out: the check opens and slams in turn. A steady "
                    "answer is printed; the machine may not show it.",
                    state=case.results.states[h.driven[0]],
                )  # fmt: skip
            else:
                yield say.unchecked(f"{name} holds the load on {h.part.name}: no state lowers it",
                                    "a state in which the load goes down")  # fmt: skip
    if not found:
        yield About(id).none("No load is held by a pilot-operated check")


@rule(
    id="load-drift",
    title="A load on a spool does not creep down",
    signal="CAUTION",
    reason="A slow trap: it is lower each time one looks.",
    criterion="leakage of the spool at the load's pressure over the area: at most 1 mm per minute",
    remedy="A holding valve at the cylinder; measure with a ruler and a watch, at rated load and with warm oil.",
    source="v = leakage / area: elementary; leakage from the valve's sheet. 1 mm/min: common practice, no source",
)
def drift(case: Case) -> Iterable[Finding]:
    id, u = "load-drift", Units(case.circuit)
    on_spools = [h for h in carried(case) if h.spools]
    for h in on_spools:
        say = About(id, h.part.name, h.part.place)
        leaks = [float(case.circuit.parts[n].params.spool_leakage) for n in h.spools]  # type: ignore[attr-defined]
        pressure, area = load_pressure(case, h)
        if not all(leaks):
            yield say.unchecked(f"{h.part.name}: how fast its load creeps down is open",
                                f"spool leakage of {listed(h.spools)}")  # fmt: skip
            continue
        speed = sum(leaks) * pressure / area
        figures = {"speed": speed, "pressure": pressure}
        rate = u.both(speed * 60, "length")
        line = f"{h.part.name}: its load creeps down {rate} a minute through {listed(h.spools)}"
        if speed > CREEP:
            yield say.finding(line, f"Leakage as stated, at {u.pressure(pressure)}. Hot oil and wear make it more.",
                              figures=figures)  # fmt: skip
        else:
            yield say.ok(line, figures=figures)
    if not on_spools:
        yield About(id).none("No load hangs on a spool alone")


@rule(
    id="load-check-misread",
    title="A load check is not taken for load holding",
    signal="WARNING",
    reason="The builder believes that the load is locked; the check only stops the dip while the lever moves.",
    criterion="no load hangs on the spool of a valve with load checks without a holding valve at the cylinder",
    remedy="A load-holding valve at the cylinder itself, and a prop for any work below.",
    source="a trade article on load checks (seen as an excerpt)",
)
def check_misread(case: Case) -> Iterable[Finding]:
    id, found = "load-check-misread", carried(case)
    for h in found:
        say = About(id, h.part.name, h.part.place)
        with_checks = [n for n in h.spools if getattr(case.circuit.parts[n].params, "load_checks", False)]
        if with_checks:
            yield say.finding(
                f"{h.part.name}: the load checks in {listed(with_checks)} do not hold its load",
                "A load check stands before the spool; behind it the spool leaks, and a hose can burst.",
                state=case.results.states[(*h.stands, *h.driven)[0]],
            )  # fmt: skip
        else:
            yield say.ok(f"{h.part.name}: no load check stands in for holding its load")
    if not found:
        yield _no_load(id)


@rule(
    id="load-single-acting-return",
    title="A single-acting cylinder comes back, and not too fast",
    signal="WARNING",
    reason="A body stays up with no power to bring it down, and somebody climbs below to help; or it drops on who "
    "stands beside it.",
    criterion="(`return force` + spring - friction) / area > highest pressure at the tank port of its valve in any "
    "state, with 10 % to spare; no state drives it back faster than its `highest speed`, where that is stated",
    remedy="A wider return of its own, a spring, or less friction; try it empty at the highest place. Too fast: a "
    "lowering limiter at the cylinder.",
    source="p = F / A: elementary; 10 %: common practice, no source",
)
def single_acting_return(case: Case) -> Iterable[Finding]:
    id, u, r = "load-single-acting-return", Units(case.circuit), case.results
    single = [rod for rod in rods(case) if rod.pulls == 0 and hasattr(rod.part.params, "return_force")]
    for rod in single:
        params, say = rod.part.params, About(id, rod.part.name, rod.part.place)
        spring, force = float(getattr(params, "spring", 0.0)), getattr(params, "return_force", None)
        fast = r.worst(-r.speed(rod.part.name, "rod"))
        allowed = getattr(params, "highest_speed", None)
        if fast is not None and allowed is not None and fast.value > allowed:
            yield say.finding(
                f"{rod.part.name} comes back at {u.both(fast.value, 'velocity')}, {u.velocity(allowed)} are allowed",
                f"It drops{_whole_stroke(params, fast.value)}.", state=fast.state,
                figures={"speed": fast.value, "limit": allowed, "ratio": fast.value / allowed},
                remedy="A pressure-compensated lowering limiter, screwed into the cylinder.",
            )  # fmt: skip
            continue
        if force is None and not spring:
            yield say.unchecked(f"{rod.part.name}: what brings it back is open", "its return force, or a spring")
            continue
        gives = ((force or 0.0) + spring - float(getattr(params, "friction", 0.0))) / rod.pushes
        way = section(case, case.network.port_nodes[rod.part.name, "cap"])
        tanks = [r.worst(r.pressure(n, "T")) for n in way.parts if case.circuit.parts[n].kind == "directional valve"]
        back = max((w.value for w in tanks if w), default=0.0)
        figures = {"pressure": gives, "back pressure": back}
        line = f"{rod.part.name} is pressed back with {u.both(gives, 'pressure')}, against {u.both(back, 'pressure')}"
        if gives > 1.1 * back and gives > 0:
            yield say.ok(line, figures=figures)
        else:
            yield say.finding(f"{line} on the way to the reservoir", "It stays out, or hardly comes back.",
                              figures=figures)  # fmt: skip
    if not single:
        yield About(id).none("No single-acting cylinder in this circuit")


def _whole_stroke(params: object, speed: float) -> str:
    stroke = getattr(params, "stroke", None)
    return f": the whole stroke in {stroke / speed:.1f} s" if stroke else ""


@rule(
    id="load-float",
    title="No lever position lets a load fall",
    signal="WARNING",
    reason="The load falls as soon as the lever reaches float, or is let go.",
    criterion="a spool with a float position, or with its ports to the tank in centre, has no load behind its ports "
    "without a holding valve",
    remedy="A spool whose ports are shut in centre, a gate before float, a holding valve at the cylinder.",
    source="common practice, no source",
)
def load_float(case: Case) -> Iterable[Finding]:
    id, loose = "load-float", False
    stated = {part for state in case.circuit.states.values() for part, control in state.orders if control == "load"}
    for valve in of_kind(case, "directional valve"):
        for name, spool in getattr(valve.params, "spools", {}).items():
            if not spool.float and spool.ports_in_centre != "to tank":
                continue
            loose = True
            yield _loose(case, valve, name, "float" if spool.float else "centre", stated)
    if not loose:
        yield About(id).none("No spool lets its ports to the tank")


def _loose(case: Case, valve: Part, spool: str, where: str, stated: set[str]) -> Finding:
    say, nodes = About("load-float", valve.name, valve.place), set[int]()
    for letter in "AB":
        nodes |= section(case, case.network.port_nodes[valve.name, f"{spool}.{letter}"]).nodes
    falls = [h for h in carried(case) if h.way.nodes & nodes]
    near = [rod.part.name for rod in rods(case)
            if any(n in nodes for (p, _), n in case.network.port_nodes.items() if p == rod.part.name)]  # fmt: skip
    if falls:
        h = falls[0]
        return say.finding(
            f"{valve.name}, {spool}: in {where} the load on {h.part.name} goes to the tank",
            "Nothing at the cylinder holds it.", state=case.results.states[h.worst],
            figures={"load": abs(h.load)},
        )  # fmt: skip
    if any(n not in stated and not any(n in t.parts and t.name in stated for t in case.circuit.ties.values())
           for n in near):  # fmt: skip
        return say.unchecked(f"{valve.name}, {spool}: {where} lets {listed(near)} go; no state has a load on it",
                             "a state with the load that may hang there")  # fmt: skip
    return say.ok(f"{valve.name}, {spool}: no load falls in {where}")
