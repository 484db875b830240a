"""All figures of a solved circuit by name and state, as plain data: what prose, readings and comparisons ask for.

Kept with the rendered circuit, so that a sentence on a page can be checked without solving anything again. SI.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ..checks.base import Case
    from ..circuit import Change, Circuit
    from ..network import Array

Cell = tuple[float, ...] | None
"""(low, high) of a figure in one state, equal where it is known; () = it does not apply there (a ram that stands has no
stroke time); None = it is not known there."""

# quantity -> (of what, what it is); the one list, also of the reference page
QUANTITIES: Mapping[str, tuple[str, str]] = {
    "pressure": ("line, port", "Highest gauge pressure in a line (the lowest in a suction line), or that at a port."),
    "start pressure": ("line", "Pressure at the end that `route` names first."),
    "end pressure": ("line", "Pressure at the other end."),
    "flow": ("line, pump", "Flow, whichever way it runs; of a pump: what it delivers."),
    "velocity": ("line", "Mean velocity of the oil."),
    "warmed": ("line, cylinder", "Pressure of oil that is shut in there, 30 K warmer: with hoses giving way, and in "
               "stiff walls. Worked out in the state in which it gets highest."),
    "share": ("line, port, engine", "Share of the rating that is used; of an engine: of what it can give for hours."),
    "speed": ("cylinder, motor", "Speed of the rod or shaft, whichever way it moves."),
    "force": ("cylinder", "Force of the rod."),
    "torque": ("motor, pump, engine", "Torque at the shaft."),
    "time": ("cylinder", "Time of a full stroke at that speed."),
    "power": ("cylinder, motor, pump, engine, machine", "Power given to the load, or taken from the driver."),
    "heat": ("part, line, machine", "Power turned into heat."),
    "temperature": ("machine", "Oil temperature in the end, if the state lasted."),
}


@dataclass(frozen=True, slots=True)
class Figure:
    """dimension: a key of quantities.DIMENSIONS. cells: one per state. missing: why cells are None, "" = unsaid."""

    dimension: str
    cells: tuple[Cell, ...]
    missing: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """figures: "feed.pressure" -> Figure. failed: states without a solution, with the reason. faults: states that show
    a fault or a mistake. units: systems to print in. changes: (what, because) where it was written as changes."""

    machine: str
    revision: str
    units: tuple[str, ...]
    states: tuple[str, ...]
    failed: dict[str, str] = field(default_factory=dict)
    faults: tuple[str, ...] = ()
    figures: dict[str, Figure] = field(default_factory=dict)
    changes: tuple[tuple[str, str], ...] = ()

    def to_data(self) -> dict[str, Any]:
        figures = {name: [f.dimension, _packed(f.cells), f.missing] for name, f in self.figures.items()}
        return {
            "machine": self.machine, "revision": self.revision, "units": [*self.units], "states": [*self.states],
            "failed": self.failed, "faults": [*self.faults], "figures": figures,
            "changes": [[*change] for change in self.changes],
        }  # fmt: skip

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Facts:
        """Inverse of `to_data`, also after JSON."""
        size = len(data["states"])
        figures = {
            name: Figure(dimension, _unpacked(cells, size), missing)
            for name, (dimension, cells, missing) in data["figures"].items()
        }
        return cls(
            data["machine"], data["revision"], tuple(data["units"]), tuple(data["states"]), dict(data["failed"]),
            tuple(data["faults"]), figures, tuple((what, because) for what, because in data["changes"]),
        )  # fmt: skip


def _packed(cells: tuple[Cell, ...]) -> list[Any]:
    """Short for JSON: one number for a known figure, one cell where all states have the same. Nine digits are more than
    any figure is good for."""
    short = [
        cell[0] if cell and cell[0] == cell[1] else cell
        for cell in (None if c is None else [float(f"{v:.9g}") for v in c] for c in cells)
    ]
    return short[:1] if all(cell == short[0] for cell in short) else short


def _unpacked(cells: list[Any], size: int) -> tuple[Cell, ...]:
    whole = [c if c is None else (c, c) if isinstance(c, int | float) else tuple(c) for c in cells]
    return tuple(whole * size if len(whole) == 1 else whole)


def facts(case: Case) -> Facts:
    """Every figure of a case. Names: `line.quantity`, `part.quantity`, `part.port.quantity`, `machine.quantity`, and
    the part's or line's own data as written (`pump.displacement`, `feed.length`)."""
    from ..report.overview import failures

    found: dict[str, Figure] = {}
    _lines(case, found)
    _ports(case, found)
    _parts(case, found)
    _shut_in(case, found)
    _machine(case, found)
    _written(case.circuit, len(case.results.states), found)
    circuit = case.circuit
    return Facts(
        circuit.machine, circuit.revision, circuit.units, tuple(case.results.states),
        {f.state: f.headline for f in failures(case)},
        tuple(name for name, state in circuit.states.items() if state.fault), found,
        tuple((_change(change), change.because) for change in circuit.changes),
    )  # fmt: skip


def _change(change: Change) -> str:
    """`set pump.displacement: 6 cc/rev → 5 cc/rev`, `remove back`."""
    names = change.path[1:] if len(change.path) > 1 else change.path
    words = f"{change.verb} {'.'.join(str(step) for step in names)}"
    if change.verb in ("set", "re-route"):
        words += f": {change.before or 'not said'} → {change.after}"
    return words


def _plain(values: Iterable[float], size: bool = True) -> tuple[Cell, ...]:
    """Cells of an array over states; size: without its sign."""
    numbers = [float(abs(v) if size else v) for v in values]
    return tuple(None if math.isnan(v) else (v, v) for v in numbers)


def _applies(values: Iterable[float], speed: Iterable[float]) -> tuple[Cell, ...]:
    """As `_plain`, but a figure that is missing where the speed is known does not apply there."""
    cells = _plain(values)
    return tuple(
        () if cell is None and not math.isnan(v) else cell for cell, v in zip(cells, map(float, speed), strict=True)
    )


def level_of(case: Case, nodes: Collection[int]) -> tuple[Cell, ...]:
    """Highest pressure at these nodes; a range where the state leaves one of them open, without an upper end where the
    circuit gives it none. Where oil is missing no pressure is known."""
    from ..checks.states import NO_TOP

    r, cells = case.results, []
    for s, state in enumerate(case.solution.states):
        lows, highs = [], []
        # Where one range runs up to the solver's own bound, the others may lean on it too.
        topless = any(high >= NO_TOP for _, high in state.ranges.values())
        for node in nodes:
            fixed = float(r.node_pressure(node)[s])
            low, high = state.ranges.get(node, (fixed, fixed))
            lows.append(low)
            highs.append(math.inf if topless and node in state.ranges else high)
        known = r.solved[s] and lows and not any(math.isnan(v) for v in (*lows, *highs))
        known = known and not any(node in state.void for node in nodes)
        cells.append((float(max(lows)), float(max(highs))) if known else None)
    return tuple(cells)


def _share(level: tuple[Cell, ...], rating: float) -> tuple[Cell, ...]:
    return tuple(tuple(max(v, 0.0) / rating for v in cell) if cell else cell for cell in level)


def _lines(case: Case, found: dict[str, Figure]) -> None:
    import numpy as np

    from ..checks import strength
    from ..checks.duty import duties_of, flow_of
    from ..checks.velocity import line_velocity

    r, duty = case.results, duties_of(case)
    for name in case.circuit.lines:
        start, end = r.line_pressures(name)
        level = level_of(case, sorted(strength.line_nodes(case.network, name)))
        if duty[name] == "suction":
            level = tuple(
                None if any(n in state.void for n in case.network.line_nodes[name]) else cell
                for cell, state in zip(_plain(np.minimum(start, end), size=False), case.solution.states, strict=True)
            )
        found[f"{name}.pressure"] = Figure("pressure", level)
        found[f"{name}.start pressure"] = Figure("pressure", level_of(case, [case.network.line_nodes[name][0]]))
        found[f"{name}.end pressure"] = Figure("pressure", level_of(case, [case.network.line_nodes[name][1]]))
        flow = r.line_flow(name) if case.circuit.lines[name].conduit is None else flow_of(name, case.network, r.q)
        found[f"{name}.flow"] = Figure("flow", _plain(flow))
        found[f"{name}.heat"] = Figure("power", _plain(r.dissipation(name)))
        if case.circuit.lines[name].conduit is not None:
            found[f"{name}.velocity"] = Figure("velocity", _plain(line_velocity(case, name)))
        members = strength.line_members(case, name)
        _rated(found, f"{name}.share", members, level)


def _rated(found: dict[str, Figure], name: str, members: list[Any], level: tuple[Cell, ...]) -> None:
    """Share of the weakest rating; not known where one of the members has none."""
    from ..checks import strength

    weakest = strength.weakest(members)
    unrated = [m.label for m in members if m.missing]
    if unrated or weakest is None or not weakest.value:
        reason = f"no rating: {', '.join(unrated)}" if unrated else "nothing there has a rating"
        found[name] = Figure("share", tuple(None for _ in level), reason)
    else:
        found[name] = Figure("share", _share(level, weakest.value))


def _ports(case: Case, found: dict[str, Figure]) -> None:
    from ..checks import strength

    ports = Counter(part for part, _ in case.network.port_nodes)
    for (part, port), node in case.network.port_nodes.items():
        found[f"{part}.{port}.pressure"] = Figure("pressure", level_of(case, [node]))
        if ports[part] == 1:  # a gauge, a plug: its port goes without saying
            found[f"{part}.pressure"] = found[f"{part}.{port}.pressure"]
    for owner, members in strength.each_port(case):
        for member in members:
            at = case.network.port_nodes.get((owner.name, member.port))
            if at is not None:
                _rated(found, f"{owner.name}.{member.port}.share", [member], level_of(case, [at]))


def _parts(case: Case, found: dict[str, Figure]) -> None:
    import numpy as np

    from .. import kinds
    from ..checks import heat, walk

    r, pumps = case.results, walk.pumps(case.network)
    for name, part in case.circuit.parts.items():
        kind = kinds.registry()[part.kind]
        for pump in [p for p in pumps if p.part == name]:
            key = f"{name}.flow" if pump.role == "outlet" else f"{name}.{pump.role}.flow"
            found[key] = Figure("flow", _plain(pump.delivery(r)))
            if pump.role == "outlet":
                found[f"{name}.pressure"] = Figure("pressure", level_of(case, [pump.outlet]))
        found[f"{name}.heat"] = Figure("power", _plain(r.dissipation(name)))
        demand = kind.shaft_demand(part, r)
        if demand is not None:
            found[f"{name}.power"] = Figure("power", _plain(_solved(case, demand.power)))
            found[f"{name}.torque"] = Figure("torque", _plain(_solved(case, demand.torque)))
        motions = kind.motions(part, r)
        for role, motion in motions.items():
            start = name if len(motions) == 1 else f"{name}.{role}"
            rod = motion.kind == "rod"
            found[f"{start}.speed"] = Figure("velocity" if rod else "rotational speed", _plain(motion.speed))
            found[f"{start}.{'force' if rod else 'torque'}"] = Figure(
                "force" if rod else "torque", _plain(motion.given)
            )
            if motion.stroke_time is not None:
                found[f"{start}.time"] = Figure("time", _applies(motion.stroke_time, motion.speed))
            if motion.output is not None:
                found[f"{start}.power"] = Figure("power", _plain(motion.output))
    for demand_of in heat.demands(case):
        if demand_of.driver:
            found[f"{demand_of.driver}.power"] = Figure("power", _plain(demand_of.power))
            found[f"{demand_of.driver}.torque"] = Figure("torque", _plain(demand_of.torque))
            if demand_of.supply is not None:
                stands = demand_of.supply <= 0
                share = np.where(stands, 0.0, demand_of.power / np.where(stands, 1.0, demand_of.supply))
                found[f"{demand_of.driver}.share"] = Figure("share", _plain(share))


def _solved(case: Case, values: Array) -> Array:
    import numpy as np

    return np.where(case.results.solved, values, np.nan)


def _shut_in(case: Case, found: dict[str, Figure]) -> None:
    """Of each closed volume, under the names of its cylinders and lines."""
    from ..checks.closed import closed

    for one in closed(case):
        if one.rises:
            cells = tuple((one.least, one.most) if s == one.state else () for s in case.results.states)
            for name in (*one.rods, *one.lines):
                found.setdefault(f"{name}.warmed", Figure("pressure", cells))


def _machine(case: Case, found: dict[str, Figure]) -> None:
    from ..checks import heat

    if "machine" in case.circuit.parts or "machine" in case.circuit.lines:
        return
    found["machine.power"] = Figure(
        "power", _plain(sum((d.power for d in heat.demands(case)), case.results.heat() * 0))
    )
    found["machine.heat"] = Figure("power", _plain(heat.into_oil(case)))
    limit = case.circuit.oil.limit
    ends = [w.settled if w else math.nan for _, w in heat.warmings(case)]
    # Above the oil's limit the machine is stopped or spoilt: how far above says nothing.
    cells = tuple(None if math.isnan(v) else (limit, math.inf) if v > limit else (v, v) for v in ends)
    found["machine.temperature"] = Figure("temperature", cells, "the page states no oil volume")


def _written(circuit: Circuit, size: int, found: dict[str, Figure]) -> None:
    """Data of parts and lines as the writer gave them: the same in every state."""
    from ..fields import Quantity
    from ..language.describe import marker

    for name, part in circuit.parts.items():
        for field_name, info in type(part.params).model_fields.items():
            value, quantity = getattr(part.params, field_name), marker(info, Quantity)
            if quantity is not None and isinstance(value, float):
                key = f"{name}.{info.alias or field_name}"
                found.setdefault(key, Figure(quantity.dimension, ((value, value),) * size))
    for name, line in circuit.lines.items():
        if line.conduit is not None:
            found[f"{name}.length"] = Figure("length", ((line.length, line.length),) * size)
            found[f"{name}.bore"] = Figure("length", ((line.conduit.bore, line.conduit.bore),) * size)
