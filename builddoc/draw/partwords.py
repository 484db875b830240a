"""Words of parts: what they say, where beside their symbol they stand, the room they take. Lengths in u = 10 px."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from .. import kinds
from ..circuit import Circuit
from .figures import Figures
from .labelling import Box
from .scheme import Block, Key
from .specs import settings, spec
from .text import width, wrap

U = 10.0  # px
TEXT = 11.0  # px, of all words
ROW = 1.3  # u between rows of words
BADGE = 1.8  # u, height of a finding's number
STACK = "directional valve"  # symbol whose words stand under its enclosure, beside its port B, or left above port A
NAME, FIGURE = 9, 12  # characters in a row beside a symbol; above one there may be a few more
ABOVE = 3
TOGETHER = 8.0  # u; a number and a name that are wider stand in two rows
_PIECES = re.compile(r"[-−\d][\d.,]* \S+|\S+")
Mode = Literal["tank", "under", "corner", "lid", "above", "driver", "right"]
Rows = list[list[tuple[str, bool]]]
Changing = list[list[tuple[str, ...]]]


@dataclass(slots=True)
class PartText:
    """spots: first base line of each member's words. fixed: (text, bold) rows per member; changing: rows per member
    and state. under: all in one row under the enclosure of a stack. boxes: room that they may take. apart: members
    whose number of a finding has a row of its own."""

    spots: list[tuple[float, float]]
    fixed: Rows
    changing: Changing
    under: bool
    boxes: list[Box]
    apart: frozenset[int] = frozenset()


def badge_text(marks: tuple[int, ...], badges: Sequence[str] = ()) -> str:
    words = [badges[m - 1] if badges else str(m) for m in marks]
    return ", ".join(words) if len(words) <= 3 else f"{words[0]}, {words[1]} +{len(words) - 2}"


def badge_width(marks: tuple[int, ...], badges: Sequence[str] = ()) -> float:
    return max(BADGE, (10.0 + 6.2 * len(badge_text(marks, badges))) / U)


def figure_rows(text: str, most: int) -> list[str]:
    """A row of figures broken into rows of about `most` characters, a number and its unit in one."""
    rows: list[str] = []
    for piece in _PIECES.findall(text):
        if rows and len(rows[-1]) + 1 + len(piece) <= most:
            rows[-1] += f" {piece}"
        else:
            rows.append(piece)
    return rows


class PartWords:
    """Words of all blocks. marks: part -> numbers of its findings. badges: what is printed for each number. narrow:
    width is dearer than height."""

    def __init__(
        self, circuit: Circuit, figures: Figures, marks: Mapping[str, tuple[int, ...]], badges: Sequence[str],
        system: str, states: int, narrow: bool = False,
    ):  # fmt: skip
        self.circuit, self.figures, self.marks, self.badges = circuit, figures, marks, badges
        self.system, self.states, self.narrow = system, states, narrow
        self.fixed: dict[Key, Rows] = {}
        self.changing: dict[Key, Changing] = {}
        self.modes: dict[Key, Mode] = {}

    def size(self, block: Block) -> None:
        """Collect the words of a block and give it the room they need."""
        if block.key[0] == "tank":
            self.fixed[block.key], self.changing[block.key], self.modes[block.key] = [], [], "tank"
            block.lw = math.ceil(width(block.members[0].part, TEXT) / U + 0.7)
            return
        self._collect(block)
        mode = self.modes[block.key] = self._mode(block)
        rooms = [self._member_width(block, k) for k in range(len(block.members))]
        if mode == "above":
            self._size_above(block, rooms)
        elif mode == "driver":
            block.left = max(0, math.ceil(rooms[0] - block.members[1].dx - 1.2))
            low = block.members[0].dy + block.members[0].symbol.h + 0.3 + ROW * self._count(block, [0])
            block.lw = math.ceil(max(rooms[1:]) + 0.7)
            block.tall = max(low, ROW * self._count(block, range(1, len(rooms))))
        elif mode == "corner":
            block.lw = max(0, math.ceil(rooms[0] + 0.4 - self._corner(block)))
        elif mode == "lid":
            block.over = ROW * self._count(block, [0]) + 0.3
        elif mode == "right":
            block.lw = math.ceil(max(rooms) + 0.7)
            block.tall = ROW * self._count(block, range(len(rooms)))

    def text(self, block: Block) -> PartText:
        """Where the words of a placed block stand."""
        found = self._text(block)
        if not found.under and block.key[0] != "tank":
            found.apart = frozenset(k for k in range(len(found.fixed)) if self.badge_above(block, k))
        return found

    def _text(self, block: Block) -> PartText:
        fixed, changing, mode = self.fixed[block.key], self.changing[block.key], self.modes[block.key]
        if mode == "tank":
            x, y = block.x + 4.1, block.y + 2.2
            name = block.members[0].part
            box = (x, y - 1.1, x + width(name, TEXT) / U, y + 0.3)
            return PartText([(x, y)], [[(name, False)]], [[() for _ in range(self.states)]], False, [box])
        if mode == "under":
            return self._text_under(block)
        every = range(len(fixed))
        if mode == "above":
            spots = []
            for k, m in enumerate(block.members):
                wide = self._member_width(block, k)
                x = block.x + m.dx + (m.symbol.w - wide) / 2
                x = max(x, block.x - block.left + 0.2) if k == 0 else x
                spots.append((x, block.y - block.over + 1.1))
            return PartText(spots, fixed, changing, False, [self._box(block, k, spots[k], [k]) for k in every])
        if mode == "lid":
            spots = [(block.x + 0.3, block.y - block.over + 1.8)]
            return PartText(spots, fixed, changing, False, [self._box(block, 0, spots[0], [0])])
        if mode == "corner":
            pin = block.pins()["port", block.members[0].part, self._letter_b(block)]
            spots = [(block.x + pin.x + 0.8, block.y + 2.2)]
            return PartText(spots, fixed, changing, False, [self._box(block, 0, spots[0], [0])])
        beside = list(every)
        spots, boxes = [], []
        if mode == "driver":
            first = block.members[0]
            spots = [(block.x - block.left + 0.2, block.y + first.dy + first.symbol.h + 1.4)]
            boxes = [self._box(block, 0, spots[0], [0])]
            beside = beside[1:]
        rows = self._count(block, beside)
        x, y = block.x + block.w + 0.5, block.y + block.h / 2 - rows * ROW / 2 + 1.0
        if block.tanks or rows * ROW > block.h + 0.2:
            y = max(y, block.y + 1.0)
        for k in beside:
            spots.append((x, y + ROW * self._count(block, [j for j in beside if j < k])))
        last = (x - 0.2, y - 1.1, x + block.lw - 0.5, y + (rows - 1) * ROW + 0.4)
        return PartText(spots, fixed, changing, False, [*boxes, last])

    # ---- what they say
    def _collect(self, block: Block) -> None:
        fixed, changing = [], []
        said: set[str] = set()
        more = ABOVE if {pin.side for pin in block.pins().values()} == {"S"} else 0
        for m in block.members:
            rows = [(text, True) for text in wrap(m.part, NAME + more)]
            size = spec(self.circuit.parts[m.part].params, self.system)
            if size and size not in said:
                rows.append((size, False))
                said.add(size)
            if not self._guards(m.part):
                told = settings(self.circuit.parts[m.part].params, self.system)
                rows += [(row, False) for text in told for row in figure_rows(text, FIGURE + more)]
            fixed.append(rows)
            changing.append(self._rows_of(m.part, FIGURE + more))
        self.fixed[block.key], self.changing[block.key] = fixed, changing

    def _guards(self, part: str) -> bool:
        """It is a relief; its setting stands among its figures."""
        params = self.circuit.parts[part].params
        return getattr(params, "setting", None) in [
            relief.setting for relief in kinds.registry()[self.circuit.parts[part].kind].reliefs(params)
        ]

    def _rows_of(self, part: str, most: int) -> list[tuple[str, ...]]:
        """Rows of figures per state; what the symbol itself shows is left out."""
        stack = kinds.registry()[self.circuit.parts[part].kind].symbol == STACK
        out = []
        for rows in self.figures.parts[part]:
            kept = [t for t in dict.fromkeys(rows) if t not in ("open", "joined", "closed")]
            if stack:
                kept = [t for t in kept if "relief" in t or t.startswith("passes")]
            out.append(tuple(kept if stack else (row for t in kept for row in figure_rows(t, most))))
        return out

    # ---- where they stand
    def _mode(self, block: Block) -> Mode:
        first = block.members[0]
        if kinds.registry()[self.circuit.parts[first.part].kind].symbol == STACK and "P" in first.symbol.pins:
            guarded = first.symbol.h > 15
            if first.symbol.pins["P"].x < 5:
                if self._under_width(block) < first.symbol.pins["T"].x - 4.6:
                    return "under"
            elif not guarded and self._count(block, [0]) < 2.9:
                return "corner"
            left_of_a = min(pin.x for pin in first.symbol.pins.values() if pin.side == "N") - 0.8
            return "lid" if self.narrow and self._member_width(block, 0) <= left_of_a else "right"
        sides = {pin.side for pin in block.pins().values()}
        if sides == {"S"}:
            return "above"
        return "driver" if len(block.members) > 1 and not first.symbol.pins else "right"

    def _letter_b(self, block: Block) -> str:
        return next(name for name in block.members[0].symbol.pins if name == "B" or name.endswith(".B"))

    def _corner(self, block: Block) -> float:
        """Room at the right of port B."""
        return block.w - block.members[0].symbol.pins[self._letter_b(block)].x - 0.8

    def _size_above(self, block: Block, rooms: list[float]) -> None:
        x = 0
        for k, m in enumerate(block.members):
            if k:
                before = block.members[k - 1]
                spare = (rooms[k - 1] - before.symbol.w) / 2 + (rooms[k] - m.symbol.w) / 2
                x += before.symbol.w + max(5, math.ceil(spare + 1))
            m.dx = x
        block.rearranged()
        first, last = block.members[0], block.members[-1]
        block.left = max(0, math.floor((rooms[0] - first.symbol.w) / 2 + 0.5))
        block.lw = max(0, math.ceil((rooms[-1] - last.symbol.w) / 2 + (0.5 if len(rooms) == 1 else 0.0)))
        block.over = ROW * max(self._count(block, [k]) for k in range(len(rooms))) + 0.3

    def _member_width(self, block: Block, k: int) -> float:
        """Room of a member's words in u."""
        fixed, changing = self.fixed[block.key][k], self.changing[block.key][k]
        room = max((width(t, TEXT, b) / U for t, b in fixed), default=0.0)
        room = max([room, *(width(t, TEXT) / U for state in changing for t in state)])
        marks = self.marks.get(block.members[k].part)
        if not marks:
            return room
        beside = 0.0 if self.badge_above(block, k) else width(fixed[0][0], TEXT, True) / U + 0.4
        return max(room, beside + badge_width(marks, self.badges))

    def badge_above(self, block: Block, k: int) -> bool:
        """The number of a member's finding has a row of its own."""
        marks = self.marks.get(block.members[k].part)
        name = self.fixed[block.key][k][0][0]
        return bool(marks) and width(name, TEXT, True) / U + badge_width(marks or (), self.badges) + 0.4 > TOGETHER

    def _count(self, block: Block, members: range | list[int]) -> float:
        """Rows of words; a row with a number of a finding is a little higher."""
        fixed, changing = self.fixed[block.key], self.changing[block.key]
        rows = sum(len(fixed[k]) + max((len(s) for s in changing[k]), default=0) for k in members)
        marked = [k for k in members if block.members[k].part in self.marks]
        return rows + sum(1.6 if self.badge_above(block, k) else 0.4 for k in marked)

    def _box(self, block: Block, k: int, spot: tuple[float, float], members: list[int]) -> Box:
        x, y = spot
        return (x - 0.1, y - 1.1, x + self._member_width(block, k), y + (self._count(block, members) - 1) * ROW + 0.4)

    def _text_under(self, block: Block) -> PartText:
        fixed, changing = self.fixed[block.key], self.changing[block.key]
        x, y = block.x + 4.2, block.y + block.h - 0.1
        box = (x, y - 1.1, x + self._under_width(block), y + 0.3)
        return PartText([(x, y)], fixed, changing, True, [box])

    def _under_width(self, block: Block) -> float:
        """u of the one row under a stack."""
        fixed, changing = self.fixed[block.key], self.changing[block.key]
        name = " ".join(t for t, bold in fixed[0] if bold)
        most = max(width(" · ".join([name, *s]), TEXT, True) for s in changing[0]) / U
        marks = self.marks.get(block.members[0].part)
        return most + (badge_width(marks, self.badges) + 0.4 if marks else 0.0)
