"""A placed circuit: what stands where, and the sizes that all drawings share. px, origin top left."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ..circuit import Circuit
from ..results import Results
from .curves import Point
from .figures import Figures
from .graph import Picture, Run
from .plain import NOWHERE, Rect
from .text import wrap

if TYPE_CHECKING:
    from ..checks.base import Finding

NAME, SMALL, FIGURE = 13.0, 11.0, 12.0  # sizes of text
NAME_ROW, SMALL_ROW, FIGURE_ROW = 16.0, 13.0, 15.0  # heights of rows
SPOOL_ROW = 15.0
PAD_X, PAD_Y = 10.0, 7.0
MARGIN = 16.0
BADGE = 18.0
LETTERS = {"pressure": "P", "work": "W", "suction": "S", "return": "R", "drain": "D", "pilot": "X"}


@dataclass(slots=True)
class PartBox:
    """names: rows of the name. kind: "" where the name says it. ports: (x, y, above, text) of the port letters.
    stack: spools are named along the upper edge; spools: name -> x of their ports."""

    name: str
    group: str
    names: tuple[str, ...]
    kind: str
    rows: int
    rect: Rect = NOWHERE
    ports: list[tuple[float, float, bool, str]] = field(default_factory=list)
    marks: tuple[int, ...] = ()
    stack: bool = False
    spools: dict[str, list[float]] = field(default_factory=dict)


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


def failure_rows(text: str, room: float) -> tuple[str, ...]:
    """The sentence of a state without figures, in rows that fit `room` px."""
    return wrap(text, max(int(room / (0.62 * FIGURE)), 24), rows=6)


def box_height(box: PartBox) -> float:
    small = SMALL_ROW if box.kind else 0.0
    spools = SPOOL_ROW if box.stack else 0.0
    return 2 * PAD_Y + spools + NAME_ROW * len(box.names) + small + FIGURE_ROW * box.rows


def label_height(label: Label) -> float:
    badge = BADGE + 2 if label.marks else 0.0
    return 6.0 + badge + SMALL_ROW * len(label.names) + FIGURE_ROW * label.rows
