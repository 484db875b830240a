"""Narrower drawings: a row that is wider than a page gives a block to a row above or below it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from .scheme import Block, Scheme

GAP = 1  # u kept free on each side of a block
PASSING = 2  # u for a line that passes a row
WIDE = 78  # u; what a column of text can show with words of a readable size
WORTH = 6  # u that a row must get narrower
MOST = 6  # blocks moved at most


def room(block: Block) -> int:
    """Width in u with words and air."""
    return math.ceil(block.left + block.w + block.lw + 2 * GAP)


def fold(made: Scheme, settled: set[int], wide: int = WIDE) -> None:
    """Move blocks of rows that are wider than `wide` u, into rows of their own if need be. What must lie above or below
    something stays so. settled: ids of blocks that stay where they are."""
    rows = _Rows(made)
    stuck: set[int] = set()
    for _ in range(MOST):
        widths = rows.widths(rows.at)
        over = [r for r, w in enumerate(widths) if w > wide and r not in stuck]
        if not over:
            break
        r = max(over, key=lambda r: widths[r])
        best: tuple[float, dict[int, int]] | None = None
        for move in _moves(rows, r, settled):
            at = _after(rows.at, move)
            new = rows.widths(at)
            first = min(r, move.row)
            value = max(new[first : first + 2 + move.fresh]) + (1.0 if move.fresh else 0.0)
            if value <= widths[r] - WORTH and max(new) <= max(widths) and (best is None or value < best[0]):
                best = value, at
        if best is None:
            stuck.add(r)
            continue
        rows.at = best[1]
        stuck = set()
    for block in made.blocks:
        block.row = rows.at[id(block)]


class _Rows:
    """at: id of a block -> its row."""

    def __init__(self, made: Scheme):
        self.made = made
        self.at = {id(b): b.row for b in made.blocks}
        # Per net: (block, whether its port is an upper one, whether it only senses).
        self.nets = [
            [(id(made.home[t]), made.home[t].pins()[t].side == "N", t in net.pilot) for t in net.terminals]
            for net in made.nets
        ]
        self.rooms = {id(b): room(b) for b in made.blocks}
        self.hanging = [(id(a), id(b)) for a, b in made.hanging()]

    def widths(self, at: dict[int, int]) -> list[int]:
        """u that each row needs."""
        widths = [0] * (max(at.values()) + 1)
        for key, row in at.items():
            widths[row] += self.rooms[key]
        for net in self.nets:
            low = high = at[net[0][0]] + net[0][1]
            for key, upper, _ in net:
                channel = at[key] + upper
                if channel < low:
                    low = channel
                elif channel > high:
                    high = channel
            for row in range(low, high):
                widths[row] += PASSING
        return widths

    def fits(self, block: Block, row: int) -> bool:
        """What the block is joined to stays above or below it in that row."""
        if not 0 <= row <= max(self.at.values()):
            return False
        me = id(block)
        if any((me == a and row >= self.at[b]) or (me == b and row <= self.at[a]) for a, b in self.hanging):
            return False
        for net in self.nets:
            for key, upper, sensing in net:
                if key != me or sensing:
                    continue
                for other, up, quiet in net:
                    if other != me and up is not upper and not quiet:
                        place = self.at[other]
                        if place <= row if upper else place >= row:
                            return False
        return True


@dataclass(frozen=True, slots=True)
class _Move:
    """The block goes to `row`; fresh: everything from that row on moves up by one first."""

    block: Block
    row: int
    fresh: bool


def _moves(rows: _Rows, r: int, settled: set[int]) -> Iterator[_Move]:
    here = [b for b in rows.made.blocks if rows.at[id(b)] == r]
    if len(here) < 2:
        return
    for block in here:
        if block.actuator or id(block) in settled:
            continue
        for row in (r - 1, r + 1):
            if rows.fits(block, row):
                yield _Move(block, row, False)
        yield _Move(block, r, True)
        yield _Move(block, r + 1, True)


def _after(at: dict[int, int], move: _Move) -> dict[int, int]:
    rows = {key: row + (row >= move.row) for key, row in at.items()} if move.fresh else dict(at)
    rows[id(move.block)] = move.row
    return rows
