"""Rules on loads that hang on a cylinder, and on loads that drive it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from .. import kinds
from ..circuit import Part
from . import walk
from .base import Case, Finding, Signal, once, rule
from .sections import OPEN_WAYS, Section, of_kind, section
from .words import Units, listed, quoted

RODS = ("cylinder", "single-acting cylinder", "telescopic cylinder")
STANDS = 1e-6  # m/s


@dataclass(frozen=True, slots=True)
class Hung:
    """A rod that a load pulls or pushes in a state in which only oil resists it. load: N, + resists extending. port:
    the port whose oil carries it. way: that port's section. spools: valves whose work port is in it. ends: what else
    ends it, cylinders left out. driven: the states in which the load drives the rod; stands: in which the rod stands
    under it; standing: the largest load in these.
    worst: the state of `load`."""

    part: Part
    load: float
    port: str
    way: Section
    spools: tuple[str, ...]
    ends: tuple[str, ...]
    driven: tuple[int, ...]
    stands: tuple[int, ...]
    standing: float
    worst: int


@once
def hung(case: Case) -> list[Hung]:
    """Every rod that carries a load at rest, or that its load drives, in a solved state. A rod at a stop that carries
    the load, and one that is ordered to be held, do not count."""
    r, found, told = case.results, [], set()
    for part in of_kind(case, *RODS):
        tie = next((t.name for t in case.circuit.ties.values() if part.name in t.parts), part.name)
        if tie in told:  # rods of one tie hang on the same load
            continue
        told.add(tie)
        loads, stops = _orders(case, tie, "load"), _orders(case, tie, "stop")
        speed = r.speed(part.name, "rod")
        driven, stands = [], []
        for s in np.flatnonzero(r.solved):
            load, stop, v = loads[s], stops[s], speed[s]
            carried = stop == "held" or (stop == "retracted" and load > 0) or (stop == "extended" and load < 0)
            if not load or carried or np.isnan(v):
                continue
            if abs(v) <= STANDS and not _pressed(case, part, load, int(s)):
                stands.append(int(s))
            elif abs(v) > STANDS and load * v < 0:
                driven.append(int(s))
        if driven or stands:
            worst = max((*stands, *driven), key=lambda s: abs(loads[s]))
            load = loads[worst]
            port = "cap" if load > 0 else "rod"
            if (part.name, port) not in case.network.port_nodes:
                continue
            way = section(case, case.network.port_nodes[part.name, port], state=stands[0] if stands else walk.EVER)
            spools = tuple(n for n in way.parts if case.circuit.parts[n].kind == "directional valve")
            ends = tuple(n for n in way.parts if case.circuit.parts[n].kind not in (*OPEN_WAYS, *RODS))
            standing = max((loads[s] for s in stands), key=abs, default=0.0)
            found.append(Hung(part, load, port, way, spools, ends, tuple(driven), tuple(stands), standing, worst))
    return found


def _orders(case: Case, name: str, control: str) -> list[Any]:
    default = 0.0 if control == "load" else None
    return [case.circuit.states[s].orders.get((name, control), default) for s in case.results.states]


def _pressed(case: Case, part: Part, load: float, s: int) -> bool:
    """A valve opens the pump's way to the side that carries the load (a stall, not a load that hangs)."""
    node = case.network.port_nodes.get((part.name, "cap" if load > 0 else "rod"))
    if node is None:
        return False
    way = section(case, node)
    feeding = [b for b in case.network.branches if b.j in way.nodes and b.role.endswith(("P to A", "P to B"))]
    return any(b.hi[s] > 0 for b in feeding)


@rule(
    id="load-no-holding",
    title="A load that hangs is held by more than a spool",
    signal="WARNING",
    reason="A spool leaks and a hose can burst: the load comes down on whoever is below.",
    criterion="a load that stands on a rod, or drives it, has a valve at the cylinder's port that shuts tight (a check "
    "of any kind, a counterbalance valve); between port and valve spool there is nothing but lines otherwise",
    remedy="Fit a load-holding valve at the cylinder itself, and a prop or a pin for any work below: a valve is "
    "no prop.",
    source="leakage of spools and standards on load holding (ISO 8643 for lowering control), seen as excerpts; "
    "the prop: "
    "29 CFR 1926.600(a)(3), machinery that is worked under is blocked or cribbed",
)
def no_holding(case: Case) -> Iterable[Finding]:
    id, u = "load-no-holding", Units(case.circuit)
    found = hung(case)
    for h in found:
        state = case.results.states[h.worst]
        load = u.both(abs(h.load), "force")
        if h.spools:
            yield Finding(
                id, "finding", "WARNING", h.part.name,
                f"{h.part.name}: {load} hangs on {listed(h.spools)} alone, by the {h.port} side",
                text=f"Between {h.part.name}.{h.port} and the spool nothing shuts tight. A spool always leaks, a hose "
                "can burst; a load check in the valve only stops the dip while the lever moves.",
                remedy="A load-holding valve at the cylinder itself; for any work below a prop or a pin besides.",
                state=state, figures={"load": abs(h.load)}, place=h.part.place,
            )  # fmt: skip
        elif not h.ends or any(not holds(case, n, h.way.nodes) for n in h.ends):
            what = listed((n for n in h.ends if not holds(case, n, h.way.nodes)), 3) or "no valve"
            yield Finding(
                id, "not checked", "WARNING", h.part.name,
                f"{h.part.name}: {load} stands on its {h.port} side, which ends at {what}",
                missing="a valve there that is known to shut tight", state=state, figures={"load": abs(h.load)},
                place=h.part.place,
            )  # fmt: skip
        else:
            yield Finding(id, "ok", "WARNING", h.part.name, f"{h.part.name}: {load} is held by {listed(h.ends)}",
                          text="A valve is no prop all the same.", state=state,
                          figures={"load": abs(h.load)})  # fmt: skip
    yield from _rest(case, id, "WARNING" if not found else None)


def holds(case: Case, name: str, nodes: frozenset[int]) -> bool:
    """A part at the end of a section that shuts tight against oil that wants out of it; a plain check valve does so if
    it faces the right way."""
    kind = case.circuit.parts[name].kind
    if kind == "check valve":
        return any(b.part == name and b.j in nodes and float(b.lo.min()) >= 0 for b in case.network.branches)
    return kinds.registry()[kind].holding


def _rest(case: Case, id: str, wanted: Signal | None) -> Iterable[Finding]:
    """The outcome where no load hangs or drives: not checked if the circuit states no load at all."""
    if not wanted:
        return
    rods = [p.name for p in of_kind(case, *RODS)]
    if rods and not case.results.solved.any():
        yield Finding(id, "not checked", wanted, "", f"Loads on {listed(rods, 4)}: no state has figures",
                      missing="a state with figures")  # fmt: skip
    else:
        yield Finding(id, "does not apply", wanted, "", "No state has a load that hangs on a rod or drives it")


@rule(
    id="load-overrunning",
    title="A load that drives its rod does not run ahead of the oil",
    signal="WARNING",
    reason="The rod runs away: nothing but what the oil meets on its way out holds it, and a void forms behind it.",
    criterion="in every state in which the load drives the rod, the side that fills is not short of oil",
    remedy="A counterbalance valve, or a fixed restrictor and a check valve through which oil can follow.",
    source="mass balance of the solved state; counterbalance for overrunning loads: a trade page, seen as an excerpt",
)
def overrunning(case: Case) -> Iterable[Finding]:
    id, u, r = "load-overrunning", Units(case.circuit), case.results
    found = [h for h in hung(case) if h.driven]
    for h in found:
        speed = r.speed(h.part.name, "rod")
        fills = "rod" if h.port == "cap" else "cap"
        lacks = {s: _lacks(case, h.part.name, fills, s) for s in h.driven}
        short = [s for s, flow in lacks.items() if flow > 0]
        s = max(short or h.driven, key=lambda i: abs(speed[i]))
        v = abs(float(speed[s]))
        figures = {"load": abs(h.load), "speed": v}
        moves = f"{h.part.name}: its load drives it at {u.both(v, 'velocity')}"
        if short:
            yield Finding(
                id, "finding", "WARNING", h.part.name, f"{moves} and it runs ahead of the pump",
                text=f"Its {fills} side lacks {u.both(lacks[s], 'flow')}: a void forms there. Nothing but the way "
                "out of the "
                f"oil holds the load back; the lever no longer does. Hot oil lets it fall faster.",
                remedy="A counterbalance valve at the cylinder, or a restrictor there and a check for oil to follow.",
                state=r.states[s], figures=figures | {"missing flow": lacks[s]}, place=h.part.place,
            )  # fmt: skip
        else:
            yield Finding(id, "ok", "WARNING", h.part.name, f"{moves}, and the oil follows", state=r.states[s],
                          figures=figures)  # fmt: skip
    yield from _rest(case, id, "WARNING" if not found else None)


def _lacks(case: Case, name: str, port: str, s: int) -> float:
    """m3/s that are missing at a port of a rod, or of one that is tied to it, in state `s`: the most of them."""
    tied = next((tie.parts for tie in case.circuit.ties.values() if name in tie.parts), (name,))
    nodes = [case.network.port_nodes[n, port] for n in tied if (n, port) in case.network.port_nodes]
    return max((case.solution.states[s].void.get(node, 0.0) for node in nodes), default=0.0)


@rule(
    id="load-induced-pressure",
    title="Lines that a load keeps under pressure are named",
    signal="NOTICE",
    reason="They stay under pressure with the engine off; who opens one drops the load and is hit by the oil.",
    criterion="no load stands on shut-in oil in any state",
    remedy="Lower the load onto its rest before a line is opened; mark these lines.",
    source="p = F / A: elementary",
)
def induced(case: Case) -> Iterable[Finding]:
    id, u, r = "load-induced-pressure", Units(case.circuit), case.results
    every = hung(case)
    found = [h for h in every if h.stands]
    if every and not found:
        names = listed(h.part.name for h in every)
        yield Finding(id, "ok", "NOTICE", "", f"The load on {names} stands on shut-in oil in no state")
    for h in found:
        levels = {s: _kept(case, h, s) for s in h.stands}
        worst = max(h.stands, key=levels.__getitem__)
        least = max(levels[worst], 0.0)
        states = quoted([r.states[s] for s in h.stands])
        yield Finding(
            id, "finding", "NOTICE", h.part.name,
            f"{listed(h.way.lines, 5) or h.part.name}: kept under pressure by the load on {h.part.name} at "
            f"{u.both(least, 'pressure')} or more",
            text=f"So it is in {states}, engine on or off.",
            remedy="Lower the load onto its rest before a line is opened; mark these lines.",
            state=r.states[worst], figures={"load": abs(h.standing), "pressure": least},
            place=h.part.place,
        )  # fmt: skip
    yield from _rest(case, id, "NOTICE" if not every else None)



def _kept(case: Case, h: Hung, s: int) -> float:
    """Pa that a load at rest keeps at its port at least: with nothing on the other side, or with less than nothing."""
    node = case.network.port_nodes[h.part.name, h.port]
    low, _ = case.solution.states[s].ranges.get(node, (float(case.results.p[s, node]), 0.0))
    pressure, _, friction = bearing(case, h, s)
    return min(pressure - friction, low)


def bearing(case: Case, h: Hung, s: int) -> tuple[float, float, float]:
    """What a load makes in state `s` with nothing on the other side: Pa at the port that carries it, m2 that it stands
    on, and Pa that friction may take off. The spring of a cylinder counts as load, a tie stands on all its rods, a
    telescopic cylinder on the narrowest stage that is free in that state. No pressure where no rod is free."""
    node = case.network.port_nodes[h.part.name, h.port]
    names = {h.part.name, *(tie.name for tie in case.circuit.ties.values() if h.part.name in tie.parts)}
    found = [(0.0, float("inf"), 0.0)]
    for a in case.network.actuators:
        if a.part in names and node in a.k and (a.lo[s] < 0 or a.hi[s] > 0):
            area = sum(abs(v) for v in a.k.values() if v * a.k[node] > 0)
            found.append((abs(float(a.force[s])) / area, area, float(a.friction[s]) / area))
    return max(found)
