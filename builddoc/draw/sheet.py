"""A circuit drawing placed once for all its states: where every symbol, line and word stands. u = 10 px."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import repeat
from pathlib import Path
from typing import TYPE_CHECKING

from .. import kinds
from ..circuit import Circuit
from ..results import Results
from . import engine as engines
from .channels import Routed, Spot, route
from .facts import facts
from .figures import UNKNOWN, Figures, figures
from .frame import LETTERS, PartBox
from .graph import Picture
from .labelling import Box, Paper, Put, Wish, beside, lay, on_line
from .order import FEW, MORE_CROSSINGS, Places, bends, crossings, flips, places
from .packs import packs as enclosures
from .partwords import BADGE, ROW, TEXT, PartText, PartWords, U, badge_width
from .rows import WAYS, Grid, Way, place
from .scheme import TANK_ROOM, Key, Net, Scheme, scheme
from .slide import BENT, TANGLED
from .straighten import improve
from .text import width
from .tracing import Edge, Trace, entries_of, trace

if TYPE_CHECKING:
    from ..checks.base import Finding

BEYOND_PART = 1.0  # u by which words may make the picture of a part wider
STUB = 2.4  # u of line above a repeated reservoir
BEND = 0.25  # crossings that a bend counts as


@dataclass(slots=True)
class LineText:
    """name: printed if the choice is 0 or 2; figures stand in one row if it is 0 or 1. rows: figures per state. letter:
    where the label found no place."""

    name: str
    role: str
    rows: list[str]
    put: Put
    letter: str = ""


@dataclass(slots=True)
class Sheet:
    """A placed circuit, ready to be drawn in any state. box: extent in u. whole: False for a picture of a part of it.
    parts, ends, failures: for the same in words. still: what no state changes, drawn. head: u above it, once known.
    known: answers of the engine for pictures of a part of it, which several states may share."""

    circuit: Circuit
    results: Results
    picture: Picture
    figures: Figures
    findings: tuple[Finding, ...]
    made: Scheme
    grid: Grid
    routed: Routed
    traces: dict[str, Trace]
    stubs: list[tuple[Net, Spot, list[int]]]
    texts: dict[Key, PartText]
    labels: dict[str, LineText]
    marks: dict[str, tuple[int, ...]]
    badges: dict[str, Box]
    facts: dict[str, list[frozenset[str]]]
    packs: list[Box]
    box: Box
    system: str
    whole: bool = True
    badge_words: tuple[str, ...] = ()
    parts: list[PartBox] = field(default_factory=list)
    ends: dict[str, tuple[str, str]] = field(default_factory=dict)
    still: dict[str, str] = field(default_factory=dict)
    head: float = 0.0
    known: dict[str, str] = field(default_factory=dict)

    @property
    def width(self) -> float:
        """px"""
        return max((self.box[2] - self.box[0]) * U, 300.0)


def circuit_layout(
    circuit: Circuit,
    results: Results,
    *,
    units: str | Sequence[str] = "metric",
    findings: Sequence[Finding] = (),
    badges: Sequence[str] = (),
    engine: engines.EngineName = "internal",
    cache_dir: str | Path | None = None,
    like: Sheet | None = None,
) -> Sheet:
    """Place a circuit for all its states. units: system(s) of units, the first is drawn. badges: what marks each
    finding in the drawing, left out: its number. like: an earlier revision's drawing, whose order is kept where that
    costs little. Raises DrawingError."""
    system = units if isinstance(units, str) else next(iter(units), "metric")
    layout = _Layout(circuit, results, system, findings, badges, engine=engine, cache_dir=cache_dir)
    fresh = layout.least_tangled()
    if like is not None:
        before = places(like.made)
        moved = flips(places(fresh.made), before)
        if moved >= FEW:
            kept = layout.arranged(WAYS[0], before)
            if kept.crossed < fresh.crossed + MORE_CROSSINGS and flips(places(kept.made), before) < moved:
                fresh = kept
    return layout.sheet(fresh)


def part_layout(
    whole: Sheet,
    circuit: Circuit,
    shown: Picture,
    said: Figures,
    ways: Sequence[Way],
    fits: float,
    *,
    engine: engines.EngineName = "internal",
    cache_dir: str | Path | None = None,
) -> Sheet:
    """Place a part of a placed circuit, with the same numbers of findings. circuit: whose valves may have fewer
    sections. shown: what of its picture is drawn. said: what is written. ways: tried until one is no wider than `fits`
    px; if none is, the narrowest is taken. Raises DrawingError."""
    layout = _Layout(circuit, whole.results, whole.system, whole.findings, whole.badge_words, shown, said, whole.known,
                     engine=engine, cache_dir=cache_dir)  # fmt: skip
    best: Sheet | None = None
    for way in ways:
        made = layout.sheet(layout.arranged(way))
        if best is None or made.width < best.width:
            best = made
        if best.width <= fits:
            break
    assert best is not None
    return best


@dataclass(frozen=True, slots=True)
class _Arranged:
    """Blocks and lines in their places, words not yet. excess: crossings and bends beyond what its nets excuse."""

    made: Scheme
    grid: Grid
    routed: Routed
    crossed: int = 0
    excess: float = 0.0


class _Layout:
    def __init__(
        self, circuit: Circuit, results: Results, system: str, findings: Sequence[Finding],
        badges: Sequence[str] = (), shown: Picture | None = None, said: Figures | None = None,
        known: dict[str, str] | None = None, *, engine: engines.EngineName, cache_dir: str | Path | None,
    ):  # fmt: skip
        self.circuit, self.results, self.system, self.part = circuit, results, system, shown is not None
        self.made = scheme(circuit, shown)
        self.picture = self.made.picture
        self.figures = said or figures(circuit, results, self.picture, system)
        self.findings = tuple(f for f in findings if f.outcome == "finding")
        self.badges = tuple(badges)
        self.marks = self._marks()
        self.words = PartWords(circuit, self.figures, self.marks, self.badges, system, results.size, self.part)
        for block in self.made.blocks:
            self.words.size(block)
        self.label_rows = {run.line: self._label_rows(run.line) for run in self.picture.runs}
        self.engine = partial(engines.run, engine=engine, cache_dir=cache_dir)
        self.known = {} if known is None else known

    def run(self, source: str) -> str:
        if source not in self.known:
            self.known[source] = self.engine(source)
        return self.known[source]

    def least_tangled(self) -> _Arranged:
        """The first way with few crossings and bends; if none has, the one with the fewest beyond."""
        best: _Arranged | None = None
        for way in WAYS:
            found = self.arranged(way)
            if best is None or found.excess < best.excess:
                best = found
            if not found.excess:
                break
        assert best is not None
        return best

    def arranged(self, way: Way, before: Places | None = None) -> _Arranged:
        """before: where parts stand in another drawing."""
        made = self.made.copy()
        if not made.blocks:
            return _Arranged(made, Grid(0), Routed())
        grid = place(made, self.run, before, way)
        lives = improve(made, grid)
        routed = route(made, grid, lives, self._room(grid))
        nets, crossed = len(made.nets) + len(made.stubs), crossings(routed.edges)
        excess = max(crossed - TANGLED * nets - 1, 0.0) + BEND * max(bends(routed.edges) - BENT * nets, 0.0)
        return _Arranged(made, grid, routed, crossed, excess)

    def sheet(self, arranged: _Arranged) -> Sheet:
        """With all words."""
        made, grid, routed = arranged.made, arranged.grid, arranged.routed
        size = self.results.size
        traces = {net.name: trace(net, routed.edges[net.name], routed.places, self.figures, size) for net in made.nets}
        stubs = [self._stub(net, routed) for net in made.stubs]
        texts = {b.key: self.words.text(b) for b in made.blocks}
        packs = enclosures(made, self.circuit)
        paper = Paper(*_sides(made, routed), *((BEYOND_PART,) if self.part else ()))
        self._take(paper, made, traces, stubs, texts, routed)
        for a, b, c, d in packs:
            for edge in (((a, b), (c, b)), ((a, d), (c, d)), ((a, b), (a, d)), ((c, b), (c, d))):
                paper.take(around(edge))
        badges, labels = self._words(paper, traces, stubs)
        box = self._extent(made, traces, texts, labels, badges, packs)
        changing = {m.part: facts(self.circuit.parts[m.part], self.results)
                    for b in made.blocks for m in b.members if b.key[0] == "part"}  # fmt: skip
        return Sheet(
            self.circuit, self.results, self.picture, self.figures, self.findings, made, grid, routed, traces, stubs,
            texts, labels, self.marks, badges, changing, packs, box, self.system, not self.part, self.badges,
            self._boxes(),
        )  # fmt: skip

    # ---- words of parts
    def _marks(self) -> dict[str, tuple[int, ...]]:
        """Numbers of the findings at each part and line; a tie's stand at all its members."""
        found: dict[str, list[int]] = {}
        for number, finding in enumerate(self.findings, 1):
            tie = self.circuit.ties.get(finding.subject)
            for name in tie.parts if tie else (finding.subject,):
                found.setdefault(name, []).append(number)
        return {name: tuple(numbers) for name, numbers in found.items()}

    def _boxes(self) -> list[PartBox]:
        """Parts as the words alternative names them."""
        out = []
        for name in self.picture.parts:
            part = self.circuit.parts[name]
            kind = "" if part.kind in name.lower() else part.kind
            group = kinds.registry()[part.kind].group
            out.append(PartBox(name, group, (name,), kind, 0, marks=self.marks.get(name, ())))
        return out

    # ---- words of lines
    def _label_rows(self, name: str) -> list[str]:
        """Flow and pressure of a line in every state; "" where no oil flows and there is no pressure."""
        line = self.figures.lines[name]
        if line.direct:
            return []
        out = []
        for s in range(self.results.size):
            rows = [r for r in line.rows[s][0] if r != "no flow"]
            if line.sense[s][0] in (0, UNKNOWN):
                rows = [r for r in rows if not r.startswith(("0 ", "-0 "))]
            out.append(" · ".join(rows))
        return out

    def _room(self, grid: Grid) -> dict[int, float]:
        """Channels with a line to be labelled are higher."""
        told = [0] * (grid.rows + 1)
        for net in self.made.nets:
            count = sum([bool(self.label_rows[p.line]) for p in net.pieces])
            for c in range(grid.low[net.name], grid.high[net.name] + 1):
                told[c] += count
        return {c: min(2.2 + 0.3 * count, 5.0) for c, count in enumerate(told) if count}

    def _stub(self, net: Net, routed: Routed) -> tuple[Net, Spot, list[int]]:
        key = next(t for t in net.terminals if t[0] == "port")
        return net, routed.places[key], entries_of(net, self.figures, self.results.size)[key]

    def _take(
        self, paper: Paper, made: Scheme, traces: dict[str, Trace], stubs: list[tuple[Net, Spot, list[int]]],
        texts: dict[Key, PartText], routed: Routed,
    ) -> None:  # fmt: skip
        for block in made.blocks:
            paper.take((block.x + 0.1, block.y + 0.1, block.x + block.w - 0.1, block.y + block.h - 0.1))
            for box in texts[block.key].boxes:
                paper.take(box)
        for _, (x, y), _ in stubs:
            paper.take((x - 1.6, y + STUB - 0.9, x + 1.6, y + STUB + 0.7))
            paper.take((x - 0.2, y, x + 0.2, y + STUB))
        for key in made.loose:
            x, y = routed.places[key]
            paper.take((x - 0.7, y - 0.9, x + 0.7, y + 0.9))
        for found in traces.values():
            for stretch in found.stretches:
                for edge in stretch.edges:
                    paper.take(around(edge), stretch.line)
            for x, y in found.joints:
                paper.take((x - 0.4, y - 0.4, x + 0.4, y + 0.4))
            for key, row in found.entries.items():
                if 1 in row:
                    x, y = routed.places[key]
                    up = made.home[key].pins()[key].side == "N"
                    paper.take((x - 0.55, y - 1.2, x + 0.55, y) if up else (x - 0.55, y, x + 0.55, y + 1.2))

    def _words(
        self, paper: Paper, traces: dict[str, Trace], stubs: list[tuple[Net, Spot, list[int]]]
    ) -> tuple[dict[str, Box], dict[str, LineText]]:
        edges: dict[str, list[Edge]] = {}
        for found in traces.values():
            for stretch in sorted(found.stretches, key=lambda s: s.number):
                edges.setdefault(stretch.line, []).extend(sorted(stretch.edges, key=_telling))
        for net, (x, y), _ in stubs:
            name = net.pieces[0].line
            edges.setdefault(name, []).extend(
                [((x, y), (x, y + STUB)), ((x + 1.4, y + 0.3), (x + 1.4, y + 3.2)),
                 ((x - 1.4, y + 0.3), (x - 1.4, y + 3.2)), ((x - 2, y + 3.0), (x + 2, y + 3.0))]
            )  # fmt: skip
        badges: dict[str, Box] = {}
        for name in self.figures.lines:
            if self.marks.get(name) and name in edges:
                size = badge_width(self.marks[name], self.badges), BADGE
                box = on_line(paper, name, edges[name], *size)
                if box is None:
                    put = lay(paper, [Wish(name, [size], edges[name])])[name]
                    box = put.box if put.choice == 0 else None
                if box:
                    badges[name] = box
                    paper.take(box)
        for net, (x, y), _ in stubs:
            tank = next(t for t in net.terminals if t[0] == "tank")[1]
            if tank in self.marks and tank not in badges:
                w, low = badge_width(self.marks[tank], self.badges), y + STUB + 0.7
                for left, top in ((x - w / 2, low), (x - 2.0 - w, y + 1.2), (x + 2.0, y + 1.2)):
                    box = (left, top, left + w, top + BADGE)
                    if paper.free(box):
                        badges[tank] = box
                        paper.take(box)
                        break
        for found in traces.values():
            for name, spot in found.tees.items():
                if self.marks.get(name) and name not in badges:
                    badges[name] = beside(paper, spot, badge_width(self.marks[name], self.badges), BADGE)
                    paper.take(badges[name])
        wishes = []
        for name, rows in self.label_rows.items():
            if not rows or name not in edges:
                continue
            role = LETTERS[self.picture.roles[name]]
            over = [step == "over" for step in self.figures.lines[name].step]  # told in bold letters
            figure = max(map(width, rows, repeat(TEXT), over)) / U
            title = width(f"{role} {name}", TEXT, True) / U
            split = [r.split(" · ") for r in rows]
            pieces = max([width(t, TEXT, bold) for texts, bold in zip(split, over, strict=True) for t in texts]) / U
            deep = max(map(len, split))
            sizes = [
                (max(title, figure) + 0.3, 2 * ROW), (figure + 1.6, ROW), (max(title, pieces) + 0.3, ROW * (deep + 1)),
                (pieces + 1.6, ROW * deep),
            ]  # fmt: skip
            wishes.append(Wish(name, sizes if figure else [(title + 0.3, ROW)], edges[name]))
        puts = lay(paper, wishes)
        labels: dict[str, LineText] = {}
        letters = 0
        for name, rows in self.label_rows.items():
            if name not in puts:
                if not any(rows):
                    continue
                puts[name] = Put(-1, None)  # the drawing joins its branches elsewhere: told in the list
            text = labels[name] = LineText(name, LETTERS[self.picture.roles[name]], rows, puts[name])
            if text.put.choice < 0:
                text.letter = _letter(letters)
                letters += 1
        return badges, labels

    def _extent(
        self, made: Scheme, traces: dict[str, Trace], texts: dict[Key, PartText], labels: dict[str, LineText],
        badges: dict[str, Box], packs: list[Box],
    ) -> Box:  # fmt: skip
        boxes: list[Box] = [(0.0, 0.0, 1.0, 1.0)] if not made.blocks else []
        boxes += [(b.x, b.y, b.x + b.w, b.y + b.h + (TANK_ROOM if b.tanks else 0)) for b in made.blocks]
        boxes += [box for t in texts.values() for box in t.boxes]
        boxes += [t.put.box for t in labels.values() if t.put.box]
        boxes += badges.values()
        boxes += [around(e) for found in traces.values() for s in found.stretches for e in s.edges]
        boxes += packs
        air = 0.5 if self.part else 1.5
        return (
            min([b[0] for b in boxes]) - air, min([b[1] for b in boxes]) - 1.5,
            max([b[2] for b in boxes]) + air, max([b[3] for b in boxes]) + 1.5,
        )  # fmt: skip


def _sides(made: Scheme, routed: Routed) -> tuple[float, float]:
    xs: list[float] = [x for b in made.blocks for x in (b.x - b.left, b.x + b.w + b.lw)]
    xs += [x for edges in routed.edges.values() for edge in edges for x, _ in edge]
    return (min(xs), max(xs)) if xs else (0.0, 0.0)


def around(edge: Edge, m: float = 0.15) -> Box:
    (x1, y1), (x2, y2) = edge
    return min(x1, x2) - m, min(y1, y2) - m, max(x1, x2) + m, max(y1, y2) + m


def _telling(edge: Edge) -> float:
    """Long pieces first, horizontal ones a little before upright ones."""
    (x1, y1), (x2, y2) = edge
    return -(abs(x1 - x2) * 1.2 + abs(y1 - y2))


def _letter(n: int) -> str:
    return chr(97 + n) if n < 26 else _letter(n // 26 - 1) + chr(97 + n % 26)
