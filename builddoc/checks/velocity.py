"""Rules on the velocity of oil in lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from ..network import Array
from ..physics import line as line_laws
from ..standards.guides import velocity_guide
from . import strength
from .base import Case, Finding, rule
from .duty import duties_of, flow_of
from .words import Units

GUIDES = (
    "guides of supplier pages and of US Army TM 5-3820-256-24-2 (see the table of velocities in the standards room); "
    "guides differ, a guide is not a limit"
)


def line_velocity(case: Case, name: str) -> Array:
    """Highest mean velocity (m/s, absolute) in a line, per state (S,); nan without a conduit or a flow."""
    conduit = case.circuit.lines[name].conduit
    if conduit is None:
        return np.full(case.results.size, np.nan)
    flow = flow_of(name, case.network, case.results.q)
    return np.asarray(line_laws.velocity(flow, conduit.bore), dtype=float)


@rule(
    id="suct-velocity",
    title="Oil in a suction line runs slowly",
    signal="NOTICE",
    reason="Fast oil in the suction line costs inlet pressure: the pump cavitates, rattles and wears.",
    criterion="mean velocity at most 4 ft/s (1.2 m/s); above it a remark, above 8 ft/s (2.4 m/s) beyond every guide; "
    "the inlet pressure decides",
    remedy="Take the next hose size up.",
    source=GUIDES,
)
def suction_velocity(case: Case) -> Iterable[Finding]:
    yield from _velocity(case, "suct-velocity", ("suction",), "No suction line in this circuit")


@rule(
    id="ret-velocity",
    title="Oil in pressure and return lines runs within the usual band",
    signal="NOTICE",
    reason="Fast oil costs pressure and heat, and foams in the return.",
    criterion="mean velocity at most that of the guide for the duty and the pressure of the line",
    remedy="Enlarge or shorten the line, or use fewer elbows.",
    source=GUIDES,
)
def line_velocities(case: Case) -> Iterable[Finding]:
    yield from _velocity(case, "ret-velocity", ("pressure", "return"), "No pressure or return line in this circuit")


def _velocity(case: Case, id: str, wanted: tuple[str, ...], none: str) -> Iterator[Finding]:
    u, r = Units(case.circuit), case.results
    lines = {name: duty for name, duty in duties_of(case).items() if duty in wanted}
    if not lines:
        yield Finding(id, "does not apply", "NOTICE", "", none)
    for name, duty in lines.items():
        line = case.circuit.lines[name]
        if line.conduit is None:
            yield Finding(id, "does not apply", "NOTICE", name, f"{name}: a direct joint, no velocity")
            continue
        worst = r.worst(line_velocity(case, name))
        if worst is None:
            yield Finding(
                id, "not checked", "NOTICE", name, f"{name}: no state gives a flow in it",
                missing="a state with figures", place=line.place,
            )  # fmt: skip
            continue
        pressure = strength.seen(case, strength.line_nodes(case.network, name))
        guide = velocity_guide(duty, pressure.value if pressure else None, case.circuit.tables)
        v, bore = worst.value, line.conduit.bore
        figures = {"velocity": v, "guide": guide.high, "ratio": v / guide.high}
        runs = f"{name}: oil runs at {u.both(v, 'velocity')} in a bore of {u.show(bore, 'length')}"
        if v <= guide.high:
            yield Finding(id, "ok", "NOTICE", name, f"{runs}; the guide is {u.velocity(guide.high)}", figures=figures,
                          state=worst.state)  # fmt: skip
            continue
        needed = line_laws.bore_for(float(flow_of(name, case.network, r.q)[worst.index]), guide.high)
        beyond = ", beyond every guide" if v > guide.outer > guide.high else ""
        decides = " The inlet pressure decides; see there." if duty == "suction" else ""
        yield Finding(
            id, "finding", "NOTICE", name,
            f"{runs}{beyond}: {duty} lines usually up to {u.velocity(guide.high)}",
            text=f"Guides differ, and a guide is not a limit.{decides}"
            + (f" The figure is {guide.status}." if guide.status not in ("seen", "") else ""),
            remedy=f"A bore of {u.show(float(needed), 'length')} would stay within it.",
            state=worst.state, figures=figures, place=line.place,
        )  # fmt: skip
