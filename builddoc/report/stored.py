"""Tables of what holds oil under pressure: accumulators and volumes that are shut in."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ..checks.base import Case
from ..checks.closed import HOSE, SOFT, Closed, closed, warming
from ..checks.sections import of_kind
from ..checks.words import Units, listed
from ..kinds import registry
from ..kinds.accumulator import Accumulator
from ..physics.trapped import BULK_MODULUS
from ..results import Worst
from .cells import DASH, Scale, text_column, words
from .model import Cell, Table


def accumulators_table(case: Case) -> Table | None:
    """What every accumulator holds at the lowest and the highest pressure that the states give it."""
    kind, r, u = registry()["accumulator"], case.results, Units(case.circuit)
    assert isinstance(kind, Accumulator)
    parts = of_kind(case, "accumulator")
    if not parts:
        return None
    ends = {p.name: _ends(case, p.name) for p in parts}
    held = {p.name: [float(kind.held(p, w.value)) if w else math.nan for w in ends[p.name]] for p in parts}
    stored = {p.name: float(kind.energy(p, w.value)) for p in parts if (w := ends[p.name][1]) is not None}
    charge = {p.name: kind.precharge(p) for p in parts}
    level = Scale(u, "pressure", [*charge.values(), *(w.value for pair in ends.values() for w in pair if w)])
    volume = Scale(u, "volume", [v for pair in held.values() for v in pair])
    energy = Scale(u, "energy", list(stored.values()))
    rows: list[tuple[Cell, ...]] = []
    for p in parts:
        low, high = ends[p.name]
        share = kind.own(p).usable_share
        cells: list[Cell] = [words(p.name, subject=p.name), level.cell(charge[p.name])]
        for worst, oil in zip((low, high), held[p.name], strict=True):
            cells += [level.cell(worst.value, worst.state) if worst else words(DASH, flag="failed"), volume.cell(oil)]
        cells += [
            volume.cell((held[p.name][1] - held[p.name][0]) * share), energy.cell(stored.get(p.name, math.nan)),
        ]  # fmt: skip
        if high is not None and not r.fixed[high.index, case.network.port_nodes[p.name, "oil"]]:
            cells[4:] = [c if c.value is None else replace(c, text=f"≥ {c.text}", flag="range") for c in cells[4:]]
        rows.append(tuple(cells))
    columns = (
        text_column("Accumulator"), level.column("Gas with no oil"), level.column("Lowest pressure"),
        volume.column("Oil held"), level.column("Highest pressure"), volume.column("Oil held"),
        volume.column("Usable between"), energy.column("Energy of the gas"),
    )  # fmt: skip
    return Table(
        "accumulators", "Accumulators",
        "From the gas law; a state shows it as it stands when the pressure of that state is reached, neither "
        "filling nor giving. Shut in, it holds at least the figure. It stays under pressure with the engine off: "
        "discharge it and read zero before any fitting is opened, and follow the pressure-vessel law of the place",
        columns, tuple(rows),
    )  # fmt: skip


def _ends(case: Case, name: str) -> tuple[Worst | None, Worst | None]:
    """The lowest pressure that a state gives it, and the highest; shut in it counts with the least it can be."""
    r, node = case.results, case.network.port_nodes[name, "oil"]
    level = np.maximum(r.node_pressure(node), 0.0)
    least = level.copy()
    for s, state in enumerate(case.solution.states):
        if node in state.ranges:
            least[s] = max(state.ranges[node][0], 0.0)
    return r.worst(level, lowest=True), r.worst(least)


def trapped_table(case: Case) -> Table | None:
    """Every volume that a state shuts in, and what makes its pressure; None without any."""
    found, u = closed(case), Units(case.circuit)
    if not found:
        return None
    level = Scale(
        u, "pressure",
        [p for c in found for p in (c.low, c.by_load, c.intensified, c.least, c.most) if math.isfinite(p)],
    )  # fmt: skip
    rows = [
        (
            words(listed((*c.rods, *c.lines), 4), subject=c.subject), words(c.state, _more(c)),
            level.cell(c.low, "set by the load" if c.fixed else "at least"),
            level.cell(c.by_load) if c.by_load > 0 else words(DASH), level.cell(c.intensified),
            *_warmed(level, c), words(_guard(u, c)),
        )
        for c in found
    ]  # fmt: skip
    columns = (
        text_column("Shut in"), text_column("State"), level.column("Pressure kept"), level.column("By the load alone"),
        level.column("If its other side is driven"), level.column(f"{warming(u)} warmer, least"),
        level.column(f"{warming(u)} warmer, most"), text_column("What bounds it"),
    )  # fmt: skip
    caption = (
        f"Assumed: {warming(u)} of warming (sun on a parked machine; common practice, no source); expansion 0.07 % "
        f"per kelvin; least: bulk modulus {SOFT / 1e9:g} GPa and hoses that give way "
        f"{'' if HOSE == 1 else f'{HOSE:g} times '}as much as the oil in them (from memory), or no rise where the rod "
        "can give way into a side that a leaking spool shuts; most: "
        f"{BULK_MODULUS / 1e9:g} GPa in stiff walls, and the ratio of areas where both sides of a cylinder are shut in"
    )
    return Table("trapped", "Oil that is shut in", caption, columns, tuple(rows))


def _more(c: Closed) -> str:
    return f"and in {len(c.others)} more" if c.others else ""


def _warmed(level: Scale, c: Closed) -> tuple[Cell, Cell]:
    if c.rises:
        return level.cell(c.least), level.cell(c.most)
    why = "the accumulator takes it up" if c.store else "the rod gives way" if c.fixed else "leaks past the spool"
    return words("no rise", why), words("no rise", why)


def _guard(u: Units, c: Closed) -> str:
    if c.guards:
        return listed(c.guards)
    if math.isfinite(c.limit) and not c.fixed:
        return f"gives way above {u.pressure(c.limit)}"
    return "" if c.fixed else "nothing"
