"""Narrower drawings: a row that is wider than a page gives a block to a row above or below it."""

from __future__ import annotations

import math
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
    something stays so. settled: numbers of blocks that stay where they are."""
    rows = _Rows(made)
    stuck: set[int] = set()
    for _ in range(MOST):
        stay = _Way(rows, [*rows.at])
        widths = stay.widths
        over = [r for r, w in enumerate(widths) if w > wide and r not in stuck]
        if not over:
            break
        r = max(over, key=lambda r: widths[r])
        most = max(widths)
        best: tuple[float, list[int]] | None = None
        moves = _moves(rows, r, settled)
        # Every fresh row makes way in the same manner, whatever block goes there.
        ways = {row: _Way(rows, [at + (at >= row) for at in rows.at]) for row in {m.row for m in moves if m.fresh}}
        for move in moves:
            way = ways[move.row] if move.fresh else stay
            new = way.moved(move.block, move.row)
            first = min(r, move.row)
            value = max(new[first : first + 2 + move.fresh]) + (1.0 if move.fresh else 0.0)
            if value <= widths[r] - WORTH and max(new) <= most and (best is None or value < best[0]):
                best = value, [*way.at[: move.block], move.row, *way.at[move.block + 1 :]]
        if best is None:
            stuck.add(r)
            continue
        rows.at = best[1]
        stuck = set()
    for block, row in zip(made.blocks, rows.at, strict=True):
        block.row = row


class _Rows:
    """Blocks by number. at: row of each."""

    def __init__(self, made: Scheme):
        self.blocks = made.blocks
        numbers = {id(b): n for n, b in enumerate(made.blocks)}
        self.at = [b.row for b in made.blocks]
        # Per net: (block, whether its port is an upper one, whether it only senses).
        self.nets = []
        self.own: list[dict[int, None]] = [{} for _ in made.blocks]  # nets of each block
        for n, net in enumerate(made.nets):
            ends = []
            for t in net.terminals:
                home = made.home[t]
                block = numbers[id(home)]
                ends.append((block, home.pins()[t].side == "N", t in net.pilot))
                self.own[block][n] = None
            self.nets.append(ends)
        self.rooms = [room(b) for b in made.blocks]
        self.hanging = [(numbers[id(a)], numbers[id(b)]) for a, b in made.hanging()]

    def widths(self, at: list[int]) -> list[int]:
        """u that each row needs."""
        widths = [0] * (max(at) + 1)
        for room, row in zip(self.rooms, at, strict=True):
            widths[row] += room
        for n in range(len(self.nets)):
            for row in self.passed(n, at):
                widths[row] += PASSING
        return widths

    def passed(self, net: int, at: list[int]) -> range:
        """Rows that a net passes: those between its lowest and its highest channel."""
        channels = [at[block] + upper for block, upper, _ in self.nets[net]]
        return range(min(channels), max(channels))

    def fits(self, me: int, row: int) -> bool:
        """What the block is joined to stays above or below it in that row."""
        at = self.at
        if not 0 <= row <= max(at):
            return False
        if any((me == a and row >= at[b]) or (me == b and row <= at[a]) for a, b in self.hanging):
            return False
        for n in self.own[me]:
            net = self.nets[n]
            for block, upper, sensing in net:
                if block != me or sensing:
                    continue
                for other, up, quiet in net:
                    if other != me and up is not upper and not quiet:
                        place = at[other]
                        if place <= row if upper else place >= row:
                            return False
        return True


class _Way:
    """Rows before one block is moved, from which those after it follow. at: row of each block. widths: with an empty
    row on top, for the block may go there."""

    def __init__(self, rows: _Rows, at: list[int]):
        self.rows, self.at = rows, at
        self.widths = [*rows.widths(at), 0]

    def moved(self, block: int, row: int) -> list[int]:
        """Widths with the block in another row."""
        rows, at = self.rows, self.at
        new = [*self.widths]
        before = at[block]
        new[before] -= rows.rooms[block]
        new[row] += rows.rooms[block]
        nets = rows.own[block]
        for net in nets:
            for r in rows.passed(net, at):
                new[r] -= PASSING
        at[block] = row
        for net in nets:
            for r in rows.passed(net, at):
                new[r] += PASSING
        at[block] = before
        return new


@dataclass(frozen=True, slots=True)
class _Move:
    """The block goes to `row`; fresh: everything from that row on moves up by one first."""

    block: int
    row: int
    fresh: bool


def _moves(rows: _Rows, r: int, settled: set[int]) -> list[_Move]:
    here = [n for n, row in enumerate(rows.at) if row == r]
    found: list[_Move] = []
    if len(here) < 2:
        return found
    for n in here:
        if rows.blocks[n].actuator or n in settled:
            continue
        found += [_Move(n, row, False) for row in (r - 1, r + 1) if rows.fits(n, row)]
        found += [_Move(n, r, True), _Move(n, r + 1, True)]
    return found
