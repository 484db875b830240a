"""Where everything stands: one Graphviz call for all states of a circuit, so that nothing moves from state to state.

Every box is as wide and high as its longest text in any state. px throughout, origin top left, 1 px = 1 pt.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from .. import kinds
from ..circuit import Circuit
from ..results import Results
from . import curves, engine
from .curves import Point
from .figures import figures
from .frame import (
    FIGURE,
    FIGURE_ROW,
    MARGIN,
    NAME,
    PAD_X,
    SMALL,
    FlowLayout,
    Label,
    PartBox,
    RunPath,
    box_height,
    failure_rows,
    label_height,
)
from .graph import ACTUATORS, Run, Spot, picture
from .plain import Plain, Rect
from .text import width, wrap

if TYPE_CHECKING:
    from graphviz import Digraph

    from ..checks.base import Finding

WIDE = 760.0  # px; a row of actuators wider than this gets its labels in two rows
NODE_GAP = 14.0  # least room between neighbours
WIDEST_CELL = 120.0  # of a port; wider labels push
PLAIN_PORTS = frozenset(("inlet", "outlet", "in", "out"))
SHAFT = "(shaft)"
_GRAPH = {"rankdir": "TB", "splines": "true", "nodesep": f"{NODE_GAP / 72:.3f}", "ranksep": "0.36"}
_NODE = {"shape": "box", "label": "", "fixedsize": "true", "margin": "0"}
_EDGE = {"dir": "none", "weight": "2"}


def layout(
    circuit: Circuit,
    results: Results,
    *,
    units: str | Sequence[str] = "metric",
    findings: Sequence[Finding] = (),
    engine: engine.EngineName = "internal",
    cache_dir: str | Path | None = None,
) -> FlowLayout:
    """Place a circuit for all its states. units: system(s) of units, the first is drawn. Raises DrawingError."""
    return _Layout(circuit, results, units, findings).place(engine, cache_dir)


class _Layout:
    def __init__(self, circuit: Circuit, results: Results, units: str | Sequence[str], findings: Sequence[Finding]):
        self.circuit, self.results = circuit, results
        self.picture = picture(circuit)
        system = units if isinstance(units, str) else next(iter(units), "metric")
        self.figures = figures(circuit, results, self.picture, system)
        self.findings = tuple(f for f in findings if f.outcome == "finding")
        self.marks = self._marks()
        self.ids: dict[tuple[str, ...], str] = {}
        self.boxes = {name: self._box(name) for name in self.picture.parts}
        self.labels = {(r.line, r.number): self._label(r) for r in self.picture.runs}
        self.sides = self._sides()
        self.tapped = {key[1] for key in self.picture.taps}
        self.text_widths: dict[str, float] = {}
        self.spools = {name: self._spool_names(name) for name in self.boxes}
        self.label_widths: dict[tuple[str, str], float] = {}
        self.work_ports: set[tuple[str, str]] = set()
        for run in self.picture.runs:
            label = self.labels[run.line, run.number]
            room = self._label_size(run, label)[0] if label else 0.0
            for spot in (run.start, run.end):
                if spot.key[0] == "part":
                    self.label_widths[spot.key[1], spot.port] = room
                    if self.picture.roles[run.line] == "work" and label:
                        self.work_ports.add((spot.key[1], spot.port))
        self.staggered = False
        row = [self._box_size(box, self.sides[n])[0] for n, box in self.boxes.items() if box.group == ACTUATORS]
        self.staggered = sum(row) + NODE_GAP * len(row) > WIDE

    def _marks(self) -> dict[str, tuple[int, ...]]:
        """Numbers of the findings at each part and line; a tie's stand at all its members."""
        found: dict[str, list[int]] = {}
        for number, finding in enumerate(self.findings, 1):
            tie = self.circuit.ties.get(finding.subject)
            for name in tie.parts if tie else (finding.subject,):
                found.setdefault(name, []).append(number)
        return {name: tuple(numbers) for name, numbers in found.items()}

    # ---- sizes
    def _box(self, name: str) -> PartBox:
        part = self.circuit.parts[name]
        rows = max((len(r) for r in self.figures.parts[name]), default=0)
        kind = "" if part.kind in name.lower() else part.kind
        group = kinds.registry()[part.kind].group
        return PartBox(name, group, wrap(name, 20), kind, rows, marks=self.marks.get(name, ()))

    def _label(self, run: Run) -> Label | None:
        line = self.figures.lines[run.line]
        most = max((len(rows[run.number]) for rows in line.rows), default=0)
        if line.direct or (run.number and not most):
            return None
        first = run.number == 0
        return Label(wrap(run.line, 13) if first else (), most, marks=self.marks.get(run.line, ()) if first else ())

    def _box_size(self, box: PartBox, sides: tuple[list[str], list[str]]) -> tuple[float, float]:
        if box.name not in self.text_widths:
            texts = [width(t, NAME, bold=True) for t in box.names] + [width(box.kind, SMALL)]
            texts += [width(t, FIGURE) for t in {t for rows in self.figures.parts[box.name] for t in rows}]
            self.text_widths[box.name] = max(texts)
        across = [self._cell(box, side) * len(side) for side in sides if side]
        box.stack = bool(self.spools[box.name])
        return max(self.text_widths[box.name] + 2 * PAD_X, 56.0, *across), box_height(box)

    def _cell(self, box: PartBox, side: list[str]) -> float:
        """Room of one port: so wide that its neighbours' labels stand side by side and lines run straight through."""
        room = max(34.0, *(width(self._port_text(box, port), SMALL) + 26 for port in side))
        room = max([room, *(width(spool, SMALL) / 2 + 10 for spool in self.spools[box.name])])
        if len(side) < 2:
            return room
        widths = [min(self.label_widths.get((box.name, port), 0.0), WIDEST_CELL) for port in side]
        apart = max((a + b) / 2 for a, b in pairwise(widths))
        if self.staggered and sum((box.name, port) in self.work_ports for port in side) > 1:
            # Every other label stands a row higher: a label needs room beside its neighbour's line only.
            apart = max(widths) / 2
        return max(room, apart + NODE_GAP)

    def _label_size(self, run: Run, label: Label) -> tuple[float, float]:
        texts = [width(t, SMALL) for t in label.names]
        if texts:
            texts[0] += 14.0  # the letter of the role
        texts += [width(t, FIGURE) for t in {t for rows in self.figures.lines[run.line].rows for t in rows[run.number]}]
        return max(texts, default=0.0) + 8.0, label_height(label)

    def _port_text(self, box: PartBox, port: str) -> str:
        """The letter or word printed at a port; nothing where a part has one way in and one way out."""
        if box.group not in ("valves", ACTUATORS) or port in PLAIN_PORTS or port == SHAFT:
            return ""
        if (box.name, port) in self.picture.alike:
            return ""
        spool, _, letter = port.rpartition(".")
        named = spool in self.spools[box.name] or sum("." in p for p in self.picture.ports[box.name]) <= 2
        return letter if named else f"{spool} {letter}".strip()

    def _spool_names(self, name: str) -> tuple[str, ...]:
        """Spools of a stack that stand side by side along the upper edge of its box and are named there."""
        above, below = self.sides[name]
        stack = {port.rpartition(".")[0] for port in self.picture.ports[name] if "." in port}
        if len(stack) < 2 or any("." in port for port in below):
            return ()
        return tuple(dict.fromkeys(port.rpartition(".")[0] for port in above if "." in port))

    # ---- DOT
    def source(self) -> str:
        """The circuit as DOT: parts, reservoirs, taps and labels are nodes; a labelled run is two edges."""
        import graphviz

        dot = graphviz.Digraph("circuit", graph_attr=_GRAPH, node_attr=_NODE, edge_attr=_EDGE)
        for name, box in self.boxes.items():
            above, below = self.sides[name]
            w, h = self._box_size(box, (above, below))
            shape = {"shape": "record", "label": f"{{{{{_fields('t', above)}}}|{{{_fields('b', below)}}}}}"}
            dot.node(self._id(("part", name)), width=_inch(w), height=_inch(h), **(shape if above or below else {}))
        for key, name in self.picture.tanks.items():
            dot.node(self._id(key), width=_inch(max(34.0, width(name, SMALL) + 8)), height=_inch(26.0))
        for key in self.picture.taps:
            dot.node(self._id(key), shape="circle", width="0.06", height="0.06")
        for run in self.picture.runs:
            self._edges(dot, run)
        for driver, pump in self.picture.shafts:
            dot.edge(self._port(Spot(("part", pump), SHAFT), False), self._port(Spot(("part", driver), SHAFT), True))
        row = [n for n, box in self.boxes.items() if box.group == ACTUATORS and self._hangs_high(n)]
        if len(row) > 1:
            with dot.subgraph() as level:
                level.attr(rank="same")
                for name in row:
                    level.node(self._id(("part", name)))
        text: str = dot.source
        return text

    def _hangs_high(self, name: str) -> bool:
        """True for an actuator that hangs only above other parts, never above an actuator."""
        above, below = self.sides[name]
        return bool(below) and not above

    def _sides(self) -> dict[str, tuple[list[str], list[str]]]:
        """Ports of each part that have a line above and below it, in the kind's order."""
        used: dict[str, tuple[set[str], set[str]]] = {name: (set(), set()) for name in self.boxes}
        for run in self.picture.runs:
            for spot, is_above in ((run.start, run.up or run.arch), (run.end, run.arch or not run.up)):
                if spot.key[0] == "part":
                    used[spot.key[1]][0 if is_above else 1].add(spot.port)
        for driver, pump in self.picture.shafts:
            used[pump][1].add(SHAFT)
            used[driver][0].add(SHAFT)
        sides = {}
        for name, used_here in used.items():
            order = [*self.picture.ports[name], SHAFT]
            above, below = ([p for p in order if p in side] for side in used_here)
            sides[name] = (above, below)
        return sides

    def _id(self, key: tuple[str, ...]) -> str:
        return self.ids.setdefault(key, f"n{len(self.ids)}")

    def _port(self, spot: Spot, above: bool) -> str:
        name = self._id(spot.key)
        if spot.key[0] == "part":
            index = self.sides[spot.key[1]][0 if above else 1].index(spot.port)
            return f"{name}:{'t' if above else 'b'}{index}:{'n' if above else 's'}"
        return f"{name}:{'n' if above else 's'}" if spot.key[0] == "tank" else name

    def _edges(self, dot: Digraph, run: Run) -> None:
        """Edges point downwards in DOT, whatever the flow does."""
        label = self.labels[run.line, run.number]
        low, high = (run.start, run.end) if run.up else (run.end, run.start)
        # A line goes straight through its taps; branches leave it to the side.
        straight = {"weight": "8"} if run.line in self.tapped else {}
        if label is None:
            near = self.figures.lines[run.line].direct
            dot.edge(self._port(high, False), self._port(low, True), **({"weight": "6"} if near else straight))
            return
        w, h = self._label_size(run, label)
        middle = self._id(("label", run.line, str(run.number)))
        dot.node(middle, width=_inch(w), height=_inch(h))
        if run.arch:
            dot.edge(f"{middle}:sw", self._port(run.start, True))
            dot.edge(f"{middle}:se", self._port(run.end, True))
        else:
            higher, lower = self._stagger(run, low)
            dot.edge(self._port(high, False), f"{middle}:n", minlen=higher, **straight)
            dot.edge(f"{middle}:s", self._port(low, True), minlen=lower, **straight)

    def _stagger(self, run: Run, low: Spot) -> tuple[str, str]:
        """Rows above and below the label of a run."""
        if not self.staggered or low.key[0] != "part" or self.picture.roles[run.line] != "work":
            return "1", "1"
        above = [p for p in self.sides[low.key[1]][0] if (low.key[1], p) in self.work_ports]
        return ("1", "2") if len(above) < 2 or above.index(low.port) % 2 else ("2", "1")

    # ---- placing
    def place(self, engine_name: engine.EngineName, cache_dir: str | Path | None) -> FlowLayout:
        plain = Plain(engine.run(self.source(), engine=engine_name, cache_dir=cache_dir))
        room = max(plain.width, 300.0)
        failures = [failure_rows(f"No figures: {text}.", room) for text in self.figures.failures if text]
        header = 1 + max((len(rows) for rows in failures), default=0)
        top = MARGIN + header * FIGURE_ROW + 10.0
        plain.move(MARGIN + (room - plain.width) / 2, top)
        self._take(plain)
        return FlowLayout(
            self.circuit, self.results, self.picture, self.figures, self.findings,
            room + 2 * MARGIN, plain.height + top + MARGIN, header, list(self.boxes.values()),
            [(name, plain.rects[self.ids[key]]) for key, name in self.picture.tanks.items()],
            [(plain.rects[self.ids[key]].cx, plain.rects[self.ids[key]].y + 2.16) for key in self.picture.taps],
            [self._path(run, plain) for run in self.picture.runs],
            [plain.take(self.ids["part", pump], self.ids["part", driver]) for driver, pump in self.picture.shafts],
        )  # fmt: skip

    def _take(self, plain: Plain) -> None:
        for name, box in self.boxes.items():
            box.rect = plain.rects[self.ids["part", name]]
        for (line, number), label in self.labels.items():
            if label:
                label.rect = plain.rects[self.ids["label", line, str(number)]]

    def _path(self, run: Run, plain: Plain) -> RunPath:
        label = self.labels[run.line, run.number]
        start, end = self.ids[run.start.key], self.ids[run.end.key]
        if label is None:
            points = plain.take(end, start)[::-1] if run.up else plain.take(start, end)
            pieces = [points]
        else:
            middle = self.ids["label", run.line, str(run.number)]
            if run.arch:
                pieces = [plain.take(middle, start)[::-1], plain.take(middle, end)]
            elif run.up:
                pieces = [plain.take(middle, start)[::-1], plain.take(end, middle)[::-1]]
            else:
                pieces = [plain.take(start, middle), plain.take(middle, end)]
            if not run.arch:
                _snap(pieces, label)
        for spot, (x, y), above in (
            (run.start, pieces[0][0], run.up or run.arch),
            (run.end, pieces[-1][-1], run.arch or not run.up),
        ):
            if spot.key[0] == "part":
                box = self.boxes[spot.key[1]]
                text = self._port_text(box, spot.port)
                if text and (x, y, above, text) not in box.ports:
                    box.ports.append((x, y, above, text))
                spool = spot.port.rpartition(".")[0]
                if above and spool in self.spools[box.name]:
                    box.spools.setdefault(spool, []).append(x)
        return RunPath(run, pieces, label)


def _snap(pieces: list[list[Point]], label: Label) -> None:
    """Put a label straight above or below the nearer end of its line where little is missing, and straighten that half.

    Labels have NODE_GAP between them, so two that move towards each other by less than half of it stay apart."""
    first, last = pieces
    ends = ((abs(first[0][0] - first[-1][0]), 0), (abs(last[-1][0] - last[0][0]), 1))
    off, half = min(ends)
    if off > NODE_GAP * 0.4:
        return
    x = first[0][0] if half == 0 else last[-1][0]
    label.rect = Rect(x - label.rect.w / 2, label.rect.y, label.rect.w, label.rect.h)
    pieces[0], pieces[1] = curves.bend_end(first, x), curves.bend_end(last[::-1], x)[::-1]


def _fields(letter: str, ports: list[str]) -> str:
    return "|".join(f"<{letter}{n}>" for n in range(len(ports)))


def _inch(px: float) -> str:
    return f"{px / 72:.4f}"
