"""The rule on motors whose load runs on when their spool closes. It reads declarations."""

from __future__ import annotations

from collections.abc import Iterable

from ..circuit import Part
from ..kinds.directional_valve import DirectionalValveParams
from . import walk
from .base import Case, Finding, rule
from .declared import of_part, place_of, wanting
from .sections import of_kind, section
from .words import listed

OPENS = {"A": ("to tank", "A to tank"), "B": ("to tank", "B to tank")}


@rule(
    id="motor-inertia-stop",
    title="What a motor turns can run out when its spool closes",
    signal="WARNING",
    reason="A spool that blocks the motor stops a heavy load at once: the pressure spike breaks shaft, coupling or "
    "hose.",
    criterion="the load does not run on by itself, or each side of the motor has a relief, or its spool opens that "
    "side to the tank in centre",
    remedy="A motor spool (ports open to the tank in centre), or reliefs across the motor with make-up; a brake to "
    "hold.",
    source="common practice, no source",
)
def inertia_stop(case: Case) -> Iterable[Finding]:
    id = "motor-inertia-stop"
    motors = of_kind(case, "hydraulic motor")
    for part in motors:
        facts = of_part(part)
        if facts.runs_on is None:
            yield Finding(id, "not checked", "WARNING", part.name, f"{part.name}: whether its load runs on by itself "
                          "is open", missing=wanting(facts, "runs_on"), place=place_of(part))  # fmt: skip
            continue
        shut = [f"{part.name}.{port} ({spool})" for port in ("A", "B") if (spool := _blocking(case, part, port))]
        if facts.runs_on and shut:
            yield Finding(
                id, "finding", "WARNING", part.name,
                f"{part.name} turns a load that runs on; in centre its oil is shut in at {listed(shut)}",
                text="No relief opens there, so the load is stopped by the strength of shaft, coupling and hose.",
                remedy="A motor spool (ports open to the tank in centre), or reliefs across the motor with make-up; a "
                "brake to hold.", place=place_of(part),
            )  # fmt: skip
        else:
            why = "can run out" if facts.runs_on else "does not run on by itself"
            yield Finding(id, "ok", "WARNING", part.name, f"What {part.name} turns {why}")
    if not motors:
        yield Finding(id, "does not apply", "WARNING", "", "No motor in this circuit")


def _blocking(case: Case, motor: Part, port: str) -> str:
    """The spool that shuts this side of the motor in when it is in centre, as `bank.feed.A`; "" if none does, or a
    relief opens there."""
    way = section(case, case.network.port_nodes[motor.name, port])
    if any(i.inlets(case.network) & way.nodes for i in walk.limiters(case.circuit, case.network)):
        return ""
    for name in way.parts:
        params = case.circuit.parts[name].params
        for spool in params.each() if isinstance(params, DirectionalValveParams) else ():
            for side in ("A", "B"):
                shut = spool.keys.ports_in_centre not in OPENS[side]
                if shut and case.network.port_nodes.get((name, spool.port(side))) in way.nodes:
                    return f"{name}.{spool.port(side)}"
    return ""
