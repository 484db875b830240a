"""Where everything stands: one Graphviz call for all states of a circuit, so that nothing moves from state to state.

Every box is as wide and high as its longest text in any state. px throughout, origin top left, 1 px = 1 pt.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from .. import kinds
from ..circuit import Circuit
from ..results import Results
from . import curves, engine
from .curves import Point
from .figures import Figures, figures
from .graph import ACTUATORS, Picture, Run, Spot, picture
from .plain import NOWHERE, Plain, Rect
from .text import width, wrap

if TYPE_CHECKING:
    from graphviz import Digraph

    from ..checks.base import Finding

NAME, SMALL, FIGURE = 13.0, 11.0, 12.0  # sizes of text
NAME_ROW, SMALL_ROW, FIGURE_ROW = 16.0, 13.0, 15.0  # heights of rows
PAD_X, PAD_Y = 10.0, 7.0
MARGIN = 16.0
BADGE = 18.0
NODE_GAP = 14.0  # least room between neighbours
WIDEST_CELL = 120.0  # of a port; wider labels push
LETTERS = {"pressure": "P", "work": "W", "suction": "S", "return": "R", "drain": "D", "pilot": "X"}
PLAIN_PORTS = frozenset(("inlet", "outlet", "in", "out"))


@dataclass(slots=True)
class PartBox:
    """names: rows of the name. kind: "" where the name says it. ports: (x, y, above, text) of the port letters."""

    name: str
    group: str
    names: tuple[str, ...]
    kind: str
    rows: int
    rect: Rect = NOWHERE
    ports: list[tuple[float, float, bool, str]] = field(default_factory=list)
    marks: tuple[int, ...] = ()


@dataclass(slots=True)
class Label:
    """Label of a run. names: rows of the line's name (empty on later runs). rows: most figures in any state."""

    names: tuple[str, ...]
    rows: int
    rect: Rect = NOWHERE
    marks: tuple[int, ...] = ()


@dataclass(slots=True)
class RunPath:
    """pieces: chains of cubic Bezier points in the sense of positive flow, two where a label interrupts the line.
    drawn: what was already written, by sense of flow and empty rows of the label; still: for every state."""

    run: Run
    pieces: list[list[Point]]
    label: Label | None
    drawn: dict[tuple[int, int], str] = field(default_factory=dict)
    still: dict[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class FlowLayout:
    """A placed circuit, ready to be drawn in any state. header: rows kept for the state's name and for failures.
    still: pieces of SVG that no state changes, kept by the writer; ends: how words name the ends of a line."""

    circuit: Circuit
    results: Results
    picture: Picture
    figures: Figures
    findings: tuple[Finding, ...]
    width: float
    height: float
    header: int
    parts: list[PartBox]
    tanks: list[tuple[str, Rect]]
    taps: list[Point]
    runs: list[RunPath]
    shafts: list[list[Point]]
    still: dict[str, str] = field(default_factory=dict)
    ends: dict[str, tuple[str, str]] = field(default_factory=dict)


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


def failure_rows(text: str, room: float) -> tuple[str, ...]:
    """The sentence of a state without figures, in rows that fit `room` px."""
    return wrap(text, max(int(room / (0.62 * FIGURE)), 24), rows=6)


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
        self.port_roles: dict[tuple[str, str], str] = {}
        self.label_widths: dict[tuple[str, str], float] = {}
        self.work_width = 0.0
        for run in self.picture.runs:
            label, role = self.labels[run.line, run.number], self.picture.roles[run.line]
            room = self._label_size(run, label)[0] if label else 0.0
            if role == "work":
                self.work_width = max(self.work_width, room)
            for spot in (run.start, run.end):
                if spot.key[0] == "part":
                    self.port_roles[spot.key[1], spot.port] = role
                    self.label_widths[spot.key[1], spot.port] = room

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
        texts = [width(t, NAME, bold=True) for t in box.names] + [width(box.kind, SMALL)]
        texts += [width(t, FIGURE) for rows in self.figures.parts[box.name] for t in rows]
        across = [self._cell(box, side) * len(side) for side in sides if side]
        return max(max(texts) + 2 * PAD_X, 56.0, *across), box_height(box)

    def _cell(self, box: PartBox, side: list[str]) -> float:
        """Room of one port: as wide as the labels there, so that lines run straight up through them."""
        room = max(34.0, *(width(self._port_text(box, port), SMALL) + 26 for port in side))
        if len(side) < 2:
            return room
        widths = [self.label_widths.get((box.name, port), 0.0) for port in side]
        return max(room, min(max(widths), WIDEST_CELL) + NODE_GAP)

    def _label_size(self, run: Run, label: Label) -> tuple[float, float]:
        texts = [width(t, SMALL) for t in label.names]
        if texts:
            texts[0] += 14.0  # the letter of the role
        texts += [width(t, FIGURE) for rows in self.figures.lines[run.line].rows for t in rows[run.number]]
        return max(texts, default=0.0) + 8.0, label_height(label)

    def _port_text(self, box: PartBox, port: str) -> str:
        """The letter or word printed at a port; nothing where a part has one way in and one way out."""
        if box.group not in ("valves", ACTUATORS) or port in PLAIN_PORTS or port == SHAFT:
            return ""
        if (box.name, port) in self.picture.alike:
            return ""
        spool, _, letter = port.rpartition(".")
        one = sum("." in p for p in self.picture.ports[box.name]) <= 2
        return letter if one else f"{spool} {letter}".strip()

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
            dot.edge(self._port(high, False), f"{middle}:n", **straight)
            dot.edge(f"{middle}:s", self._port(low, True), **straight)

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
                if text and not any(p[3] == text and p[2] == above for p in box.ports):
                    box.ports.append((x, y, above, text))
        return RunPath(run, pieces, label)


SHAFT = "(shaft)"
_GRAPH = {"rankdir": "TB", "splines": "true", "nodesep": f"{NODE_GAP / 72:.3f}", "ranksep": "0.36"}
_NODE = {"shape": "box", "label": "", "fixedsize": "true", "margin": "0"}
_EDGE = {"dir": "none", "weight": "2"}


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


def box_height(box: PartBox) -> float:
    small = SMALL_ROW if box.kind else 0.0
    return 2 * PAD_Y + NAME_ROW * len(box.names) + small + FIGURE_ROW * box.rows


def label_height(label: Label) -> float:
    badge = BADGE + 2 if label.marks else 0.0
    return 6.0 + badge + SMALL_ROW * len(label.names) + FIGURE_ROW * label.rows


def _fields(letter: str, ports: list[str]) -> str:
    return "|".join(f"<{letter}{n}>" for n in range(len(ports)))


def _inch(px: float) -> str:
    return f"{px / 72:.4f}"
