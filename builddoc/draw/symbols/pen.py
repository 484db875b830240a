"""Geometry of symbols as plain data: marks and words on a grid of units u, origin top left, y downwards.

Shapes follow the usual fluid-power conventions and are our own; the standard ISO 1219-1 itself was not at hand. Every
port lies on a whole u of the upper ("N") or lower ("S") edge, so that lines need only rows and channels.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import hypot
from typing import NamedTuple

Point = tuple[float, float]
# ("M" | "L", x, y), ("A", radius, large, sweep, x, y) or ("Z",)
Step = tuple[str] | tuple[str, float, float] | tuple[str, float, int, int, float, float]

OUTLINE, WORK, PILOT, CHAIN, FILL, THIN, SHADE = "o", "w", "x", "e", "f", "t", "s"
"""Styles: outline of a body, working line, pilot or drain line, enclosure, filled, thin stroke, shaded position."""


class Mark(NamedTuple):
    """A path. when: facts of the state under which it is drawn ("" = always; "!x|y" = unless x or y; terms joined by
    "&"). on: facts, of which any makes it carry flow (separated by "|")."""

    style: str
    steps: tuple[Step, ...]
    when: str = ""
    on: str = ""


class Word(NamedTuple):
    """Text at a point (its base line). anchor: start, middle or end. size: u. when: as of a mark."""

    x: float
    y: float
    text: str
    anchor: str = "middle"
    size: float = 1.1
    bold: bool = False
    when: str = ""


class Pin(NamedTuple):
    """Where a port is. side: "N" = upper edge, "S" = lower edge."""

    x: int
    y: int
    side: str


@dataclass(frozen=True, slots=True)
class Symbol:
    """w, h: box in u. pins: port -> place. turns: may stand on its head (a two-port symbol in a line). mirrors: may be
    mirrored left to right. axis: u from the top to the shaft that enters at the left. rod: x of a cylinder's rod."""

    w: int
    h: int
    pins: Mapping[str, Pin]
    marks: tuple[Mark, ...]
    words: tuple[Word, ...] = ()
    turns: bool = False
    mirrors: bool = False
    axis: int = 2
    rod: float = 2.5

    def turned(self) -> Symbol:
        """On its head. Words stay upright."""
        pins = {k: Pin(p.x, self.h - p.y, "S" if p.side == "N" else "N") for k, p in self.pins.items()}
        words = tuple(t._replace(y=self.h - t.y + 0.72 * t.size) for t in self.words)
        return replace(self, pins=pins, marks=tuple(_mapped(m, lambda x, y: (x, self.h - y)) for m in self.marks),
                       words=words)  # fmt: skip

    def mirrored(self) -> Symbol:
        """Left to right. Words keep their sense of reading."""
        other = {"start": "end", "end": "start", "middle": "middle"}
        pins = {k: Pin(self.w - p.x, p.y, p.side) for k, p in self.pins.items()}
        words = tuple(t._replace(x=self.w - t.x, anchor=other[t.anchor]) for t in self.words)
        return replace(self, pins=pins, marks=tuple(_mapped(m, lambda x, y: (self.w - x, y)) for m in self.marks),
                       words=words, rod=self.w - self.rod)  # fmt: skip


def _mapped(mark: Mark, place: object) -> Mark:
    """The mark with its points moved by a reflection, which turns the sense of arcs."""
    assert callable(place)
    steps: list[Step] = []
    for step in mark.steps:
        if step[0] == "A":
            _, r, large, sweep, x, y = step  # type: ignore[misc]
            steps.append(("A", r, large, 1 - sweep, *place(x, y)))
        elif step[0] == "Z":
            steps.append(step)
        else:
            steps.append((step[0], *place(step[1], step[2])))  # type: ignore[misc]
    return mark._replace(steps=tuple(steps))


def _stroke(points: tuple[Point, ...]) -> tuple[Step, ...]:
    if len(points) == 2:  # nearly all of them
        (x, y), (to_x, to_y) = points
        return ("M", x, y), ("L", to_x, to_y)
    first, *rest = points
    return ("M", *first), *[("L", x, y) for x, y in rest]


@dataclass(slots=True)
class Pen:
    """Collects the marks of a symbol. when, on: given to everything drawn until they are changed."""

    marks: list[Mark] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)
    when: str = ""
    on: str = ""

    def _add(self, style: str, steps: tuple[Step, ...]) -> None:
        self.marks.append(Mark(style, steps, self.when, self.on))

    # ---- strokes
    def line(self, *points: Point, style: str = OUTLINE) -> None:
        self.marks.append(Mark(style, _stroke(points), self.when, self.on))

    def work(self, *points: Point) -> None:
        self.marks.append(Mark(WORK, _stroke(points), self.when, self.on))

    def pilot(self, *points: Point) -> None:
        self.marks.append(Mark(PILOT, _stroke(points), self.when, self.on))

    def thin(self, *points: Point) -> None:
        self.marks.append(Mark(THIN, _stroke(points), self.when, self.on))

    def polygon(self, *points: Point, style: str = OUTLINE) -> None:
        self._add(style, (*_stroke(points), ("Z",)))

    def box(self, x: float, y: float, w: float, h: float, style: str = OUTLINE) -> None:
        self.polygon((x, y), (x + w, y), (x + w, y + h), (x, y + h), style=style)

    def enclosure(self, x: float, y: float, w: float, h: float) -> None:
        self.box(x, y, w, h, style=CHAIN)

    def circle(self, x: float, y: float, r: float, style: str = OUTLINE) -> None:
        self._add(style, (("M", x - r, y), ("A", r, 0, 1, x + r, y), ("A", r, 0, 1, x - r, y), ("Z",)))

    def arc(self, start: Point, end: Point, r: float, sweep: int, style: str = OUTLINE) -> None:
        self._add(style, (("M", *start), ("A", r, 0, sweep, *end)))

    # ---- parts of the grammar
    def joint(self, x: float, y: float) -> None:
        self.circle(x, y, 0.3, style=FILL)

    def triangle(self, x: float, y: float, to: str, size: float = 1.3, style: str = FILL) -> None:
        """Flow: its tip at (x, y), pointing N, S, E or W."""
        dx, dy = {"N": (0.0, -1.0), "S": (0.0, 1.0), "E": (1.0, 0.0), "W": (-1.0, 0.0)}[to]
        half = size * 0.55
        self.polygon(
            (x, y), (x - dx * size - dy * half, y - dy * size + dx * half),
            (x - dx * size + dy * half, y - dy * size - dx * half), style=style,
        )  # fmt: skip

    def arrow(self, start: Point, end: Point, head: float = 0.9) -> None:
        """A path inside a valve, or an adjustment."""
        (x1, y1), (x2, y2) = start, end
        length = hypot(x2 - x1, y2 - y1)
        a, b = (x2 - x1) / length, (y2 - y1) / length
        self.thin(start, (x2 - a * head * 0.7, y2 - b * head * 0.7))
        self.polygon(
            (x2, y2), (x2 - a * head - b * head * 0.36, y2 - b * head + a * head * 0.36),
            (x2 - a * head + b * head * 0.36, y2 - b * head - a * head * 0.36), style=FILL,
        )  # fmt: skip

    def spring(self, x: float, y: float, length: float = 1.6, width: float = 1.1, turns: int = 4) -> None:
        """From (x, y) to the right."""
        zigzag = [(x + length * (i + 0.5) / turns, y + (width / 2 if i % 2 else -width / 2)) for i in range(turns)]
        self.thin((x, y), *zigzag, (x + length, y))

    def shut(self, x: float, y: float, to: float) -> None:
        """A port that is blocked inside a box: a short stroke from y to `to` with a bar."""
        self.thin((x, y), (x, to))
        self.thin((x - 0.45, to), (x + 0.45, to))

    def restriction(self, x: float, y: float, length: float = 2.0, gap: float = 0.55) -> None:
        """Two arcs back to back round a vertical line through (x, y)."""
        half = length / 2
        for side, sweep in ((-1.0, 1), (1.0, 0)):
            far = x + side * (gap + 0.45)
            self.arc((far, y - half), (far, y + half), length * 0.8, sweep)

    def seat(self, x: float, y: float, up: bool = True, size: float = 0.85, ball: float = 0.6) -> None:
        """Check valve: ball, with its centre at (x, y), and seat; free flow goes upwards (or downwards)."""
        s = 1.0 if up else -1.0
        self.circle(x, y, ball)
        self.line((x - size, y + s * 0.05), (x, y + s * (0.05 + size)), (x + size, y + s * 0.05))

    def shaft(self, x: float, y: float, length: float) -> None:
        """Mechanical link: two strokes close together, to the right from x, round y."""
        for d in (-0.25, 0.25):
            self.thin((x, y + d), (x + length, y + d))

    def tank(self, x: float, y: float, stub: float = 1.6) -> None:
        """Open box; the line ends below its rim."""
        self.work((x, y), (x, y + stub))
        self.line((x - 1.5, y + stub - 0.8), (x - 1.5, y + stub + 0.5), (x + 1.5, y + stub + 0.5),
                  (x + 1.5, y + stub - 0.8))  # fmt: skip

    def word(
        self, x: float, y: float, text: str, anchor: str = "middle", size: float = 1.1, bold: bool = False
    ) -> None:
        self.words.append(Word(x, y, text, anchor, size, bold, self.when))

    def done(
        self, w: int, h: int, pins: Mapping[str, tuple[int, int, str]], turns: bool = False, mirrors: bool = False,
        axis: int = 2, rod: float = 2.5,
    ) -> Symbol:  # fmt: skip
        placed = {name: Pin(*place) for name, place in pins.items()}
        return Symbol(w, h, placed, tuple(self.marks), tuple(self.words), turns, mirrors, axis, rod)
