"""Hints of the writer: which row a part stands in, and at which side. Lines decide first; what they do not allow is
left and told."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from ..circuit import Hint
from .fold import GAP
from .scheme import Block, Scheme

if TYPE_CHECKING:
    from .rows import Grid


def wish_rows(made: Scheme, rank: Callable[[Sequence[str]], None], name_of: Mapping[int, str]) -> dict[str, str]:
    """Rank the blocks so that they stand in the rows that hints wish, one hint after the other as far as they go
    together. rank: sets the rows, with further statements of DOT; name_of: id of a block -> its name there. Returns
    part -> what could not be done."""
    unmet: dict[str, str] = {}
    rank(())
    told: list[tuple[Block, Block, str]] = []
    statements: list[str] = []
    hints = _in_order(made)
    least = _upside_down(made) if hints else 0
    for name, hint in hints:
        if not hint.row or name not in made.by_part or hint.of not in made.by_part:
            continue
        block, other = made.by_part[name], made.by_part[hint.of]
        if block is other:
            unmet[name] = f"'{name}' and '{hint.of}' are drawn as one block"
            continue
        a, b = name_of[id(block)], name_of[id(other)]
        edge = {"above": f"{b}->{a}", "below": f"{a}->{b}", "level": f"{{rank=same;{a};{b}}}"}[hint.row]
        rank([*statements, edge])
        if all(map(_holds, [*told, (block, other, hint.row)])) and _upside_down(made) <= least:
            told.append((block, other, hint.row))
            statements.append(edge)
            continue
        where = f"level with '{hint.of}'" if hint.row == "level" else f"{hint.row} '{hint.of}'"
        unmet[name] = f"'{name}' cannot stand {where}: what it is joined to lies the other way"
        rank(statements)
    return unmet


def settled(made: Scheme) -> set[int]:
    """Numbers of blocks whose rows are wished."""
    numbers = {id(b): n for n, b in enumerate(made.blocks)}
    found: set[int] = set()
    for name, hint in _in_order(made):
        if hint.row:
            found |= {numbers[id(made.by_part[n])] for n in (name, hint.of) if n in made.by_part}
    return found


def _holds(wish: tuple[Block, Block, str]) -> bool:
    block, other, how = wish
    if how == "level":
        return block.row == other.row
    return block.row > other.row if how == "above" else block.row < other.row


def _upside_down(made: Scheme) -> int:
    """Pairs of ports of one net of which the one that looks up does not lie below the one that looks down."""
    wrong = 0
    for net in made.nets:
        low, high = [], []
        for key in net.terminals:
            block = made.home[key]
            if block.pins()[key].side == "N":
                low.append(block.row)
            elif key not in net.pilot:
                high.append(block.row)
        wrong += sum(a >= b for a in low for b in high)
    return wrong


def _in_order(made: Scheme) -> list[tuple[str, Hint]]:
    """Hints in the order of the walk, not of writing."""
    hints: Mapping[str, Hint] = made.circuit.show.hints
    return [(name, hints[name]) for name in made.picture.parts if name in hints]


def wish_sides(made: Scheme, grid: Grid) -> None:
    """Reorder rows so that blocks stand at the side that hints wish."""
    for name, hint in _in_order(made):
        if not hint.side or name not in made.by_part:
            continue
        block = made.by_part[name]
        other = made.by_part.get(hint.beside) if hint.beside else None
        if other is block:
            continue
        row = grid.slots[block.row]
        mine = next(slot for slot in row if slot[1] is block)
        now, rest = row.index(mine), [slot for slot in row if slot is not mine]
        left = hint.side == "left"
        if other is None:
            at = 0 if left else len(rest)
        elif left:
            at = min(now, sum(_place(grid, slot) + width <= other.x + other.w / 2 for width, slot in rest))
        else:
            at = max(now, sum(_place(grid, slot) < other.x + other.w / 2 for _, slot in rest))
        if other is not None and other.row == block.row:
            beside = next(n for n, slot in enumerate(rest) if slot[1] is other)
            at = min(at, beside) if left else max(at, beside + 1)
        rest.insert(at, mine)
        grid.slots[block.row] = rest
        _spread(grid, block.row, at, mine[0])


def _place(grid: Grid, slot: Block | tuple[str, int]) -> int:
    return slot.x - slot.left - GAP if isinstance(slot, Block) else grid.gaps[slot] - 1


def _spread(grid: Grid, row: int, at: int, width: int) -> None:
    """x of a row whose order has changed; the moved slot stands close to its new neighbour."""
    slots = grid.slots[row]
    if at + 1 < len(slots):
        start = _place(grid, slots[at + 1][1]) - width
    elif at:
        start = _place(grid, slots[at - 1][1]) + slots[at - 1][0]
    else:
        return
    edge = -(10**6)
    for n, (wide, slot) in enumerate(slots):
        x = max(start if n == at else _place(grid, slot), edge)
        edge = x + wide
        if isinstance(slot, Block):
            slot.x = x + GAP + slot.left
        else:
            grid.gaps[slot] = x + 1
