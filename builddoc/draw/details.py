"""The detail picture of one state: of a placed circuit only what has to do with the oil that runs in it, for screens
that are narrower than the whole drawing. Drawn by the same code from a part of the picture.

Kept are the lines that carry oil and the parts at their ends, what a shifted spool holds up without any flow (an
actuator at its stop), pilot lines between kept parts, and the reliefs that limit the pressure there, open or shut. Of
a stack of valves only the sections at work are kept. Nothing is worked out anew: figures and marks are those of the
whole drawing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from .. import kinds
from ..circuit import Circuit
from . import engine as engines
from .circuit_svg import draw_circuit
from .figures import Figures, LineFigures
from .graph import BASE, Picture, Run, Spot, fitted
from .rows import Way
from .sheet import Sheet, part_layout
from .svg import Drawing

WAYS = (Way(wide=36), Way(wide=28, step=-1))  # rows in u, narrow enough for a column of 360 px
FITS = 470.0  # px: what such a column shows with words of a readable size
WORTH = 0.8  # of the whole drawing's width: a detail that is wider is not worth its place
LEAKAGE = 0.01  # of the largest flow in the state: what carries less is left out
STACK = "directional valve"
Vertex = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Detail:
    """drawing: of what is kept, placed as in sheet. parts, lines: how many are left out. sections: `a, b of valve`,
    left out of stacks."""

    drawing: Drawing
    sheet: Sheet
    parts: int
    lines: int
    sections: tuple[str, ...]


def detail(
    sheet: Sheet, s: int, prefix: str, *, engine: engines.EngineName = "internal", cache_dir: str | Path | None = None
) -> Detail | None:
    """Of state number s; None where the whole drawing fits, where the state has no figures, where no oil runs, or where
    the picture would hardly be narrower. Raises DrawingError."""
    kept = None if sheet.width <= FITS or sheet.figures.failures[s] else _Kept(sheet, s)
    if kept is None or not kept.runs:
        return None
    circuit, sections = _narrowed(sheet.circuit, kept.sections)
    picture, said = _part_of(sheet.picture, kept, circuit), _only(sheet.figures, s)
    small = part_layout(sheet, circuit, picture, said, WAYS, FITS, engine=engine, cache_dir=cache_dir)
    if small.width > WORTH * sheet.width:
        return None
    lines = {run.line for run in sheet.picture.runs} - {run.line for run in kept.runs}
    parts = [name for name in sheet.picture.parts if name not in kept.parts]
    return Detail(draw_circuit(small, s, prefix), small, len(parts), len(lines), sections)


class _Kept:
    """runs, parts: what is shown. sections: stack -> names of the spools that are at work."""

    def __init__(self, sheet: Sheet, s: int):
        self.sheet, self.s, self.circuit = sheet, s, sheet.circuit
        registry = kinds.registry()
        self.kind = {name: registry[part.kind] for name, part in self.circuit.parts.items()}
        self.touching: dict[Vertex, list[Run]] = {}
        for run in sheet.picture.runs:
            for spot in (run.start, run.end):
                self.touching.setdefault(_vertex(spot), []).append(run)
        self.most = float(np.nanmax(np.abs(sheet.results.q[s]), initial=0.0))
        self.parts: set[str] = set()
        self.kept: dict[Run, None] = {}
        self.sections: dict[str, set[str]] = {}
        self._take(run for run in sheet.picture.runs if self._carries(run))
        self._held_up()
        self._guards()
        self._drivers()
        self._take(
            run for run in sheet.picture.runs
            if sheet.picture.roles[run.line] == "pilot" and all(self._known(spot) for spot in (run.start, run.end))
        )  # fmt: skip
        self.runs = [run for run in sheet.picture.runs if run in self.kept]

    def _carries(self, run: Run) -> bool:
        """More than leakage; also what the data do not fix."""
        results = self.sheet.results
        branches = results.network.line_branches[run.line]
        flow = abs(results.q[self.s, branches[run.number]] if branches else results.line_flow(run.line)[self.s])
        return bool(flow != flow or flow > LEAKAGE * self.most)

    def _take(self, runs: Iterable[Run]) -> None:
        for run in runs:
            self.kept.setdefault(run)
            for spot in (run.start, run.end):
                if spot.key[0] == "part":
                    self.parts.add(spot.key[1])
                    self._section(spot.key[1], spot.port)

    def _section(self, part: str, port: str) -> None:
        if self.kind[part].symbol == STACK and port.endswith((".A", ".B")):
            self.sections.setdefault(part, set()).add(port[:-2])

    def _known(self, spot: Spot) -> bool:
        if spot.key[0] == "part":
            return spot.key[1] in self.parts
        return any(run in self.kept for run in self.touching[_vertex(spot)])

    def _held_up(self) -> None:
        """What hangs at the ports of shifted spools, through whatever lies in the lines, as far as the actuators."""
        for part in [p for p in self.sheet.picture.parts if self.kind[p].symbol == STACK]:
            params: Any = self.circuit.parts[part].params
            for name in list(params.spools) or [""]:
                start = f"at {name} ".replace("  ", " ")
                if any(fact.startswith(start) for fact in self.sheet.facts[part][self.s]):
                    if name:
                        self.sections.setdefault(part, set()).add(name)
                    self._follow(("port", part, "P"))
                    for letter in "AB":
                        self._follow(("port", part, f"{name}.{letter}" if name else letter))

    def _follow(self, start: Vertex) -> None:
        queue, seen = [start], {start}
        while queue:
            for run in self.touching.get(queue.pop(), []):
                if any(self._measures(spot) for spot in (run.start, run.end)):
                    continue
                self._take([run])
                for spot in (run.start, run.end):
                    vertices = [_vertex(spot)]
                    if spot.key[0] == "part" and self._passes(spot.key[1]):
                        vertices += [("port", spot.key[1], p) for p in self.sheet.picture.ports[spot.key[1]]]
                    for vertex in vertices:
                        if vertex not in seen and vertex[0] != "tank":
                            seen.add(vertex)
                            queue.append(vertex)

    def _measures(self, spot: Spot) -> bool:
        return spot.key[0] == "part" and self.kind[spot.key[1]].group == "measuring"

    def _passes(self, part: str) -> bool:
        return self.kind[part].symbol != STACK and self.kind[part].group not in (BASE, "actuators")

    def _guards(self) -> None:
        """Reliefs of their own that hang at what is kept, with the line that they return through."""
        for part in self.sheet.picture.parts:
            own = len(self.sheet.picture.ports[part]) == 2 and self._passes(part)
            if part in self.parts or not own or not self.kind[part].reliefs(self.circuit.parts[part].params):
                continue
            around: dict[Run, Spot] = {}  # run -> its other end
            for port in self.sheet.picture.ports[part]:
                for run in self.touching.get(("port", part, port), []):
                    around[run] = run.end if run.start.key == ("part", part) else run.start
            if any(far.key[0] != "tank" and self._known(far) for far in around.values()):
                self._take(run for run, far in around.items() if far.key[0] == "tank" or self._known(far))

    def _drivers(self) -> None:
        self.parts |= {driver for driver, pump in self.sheet.picture.shafts if pump in self.parts}


def _vertex(spot: Spot) -> Vertex:
    return ("port", spot.key[1], spot.port) if spot.key[0] == "part" else spot.key


def _part_of(whole: Picture, kept: _Kept, circuit: Circuit) -> Picture:
    spots = {spot.key for run in kept.runs for spot in (run.start, run.end)}
    return replace(
        whole,
        parts=[name for name in whole.parts if name in kept.parts],
        tanks={key: name for key, name in whole.tanks.items() if key in spots},
        taps=[key for key in whole.taps if key in spots],
        runs=kept.runs,
        roles=dict(whole.roles),
        fitted=fitted(circuit),
        shafts=[(driver, pump) for driver, pump in whole.shafts if pump in kept.parts],
    )


def _narrowed(circuit: Circuit, sections: dict[str, set[str]]) -> tuple[Circuit, tuple[str, ...]]:
    """The circuit with stacks of only the sections at work; of a stack with none, the first."""
    parts, said = dict(circuit.parts), []
    for name, part in circuit.parts.items():
        params: Any = part.params
        if kinds.registry()[part.kind].symbol != STACK or len(params.spools) < 2:
            continue
        at_work = sections.get(name) or {next(iter(params.spools))}
        left = [spool for spool in params.spools if spool not in at_work]
        if left:
            spools = {spool: given for spool, given in params.spools.items() if spool in at_work}
            parts[name] = replace(part, params=params.model_copy(update={"spools": spools}))
            said.append(f"{', '.join(left)} of {name}")
    return replace(circuit, parts=parts), tuple(said)


def _only(figures: Figures, s: int) -> Figures:
    """Figures that are silent in all states but one, so that room is kept for its words only."""
    parts = {name: [rows if t == s else () for t, rows in enumerate(every)] for name, every in figures.parts.items()}
    lines = {
        name: LineFigures(
            line.direct, line.sense, [rows if t == s else [()] * len(rows) for t, rows in enumerate(line.rows)],
            [step if t == s else "" for t, step in enumerate(line.step)], line.note, line.blocked,
        )
        for name, line in figures.lines.items()
    }  # fmt: skip
    return Figures(parts, lines, [f if t == s else "" for t, f in enumerate(figures.failures)])
