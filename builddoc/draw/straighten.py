"""Fewer bends: blocks slide in their free room, order in the row kept, and are mirrored where that helps."""

from __future__ import annotations

from .channels import Live, live_in, live_of, price, stack
from .rows import Grid
from .scheme import Block, Scheme
from .slide import Limits, Slide


def improve(made: Scheme, grid: Grid) -> None:
    """Straighten; draw together what is wider than a page; mirror symbols while the channels beside them get better;
    straighten again."""
    slide = Slide(made, grid)
    slide.run()
    limits = slide.squeeze()
    for turn in range(2):
        if not _mirror(made, grid) and turn:
            break
        _straight(made, grid, limits)
    _part_pins(made, grid)


def _mirror(made: Scheme, grid: Grid) -> bool:
    """Whether anything was mirrored."""
    at: dict[int, set[str]] = {}
    for net in made.nets:
        for key in net.terminals:
            at.setdefault(id(made.home[key]), set()).add(net.name)
    lives: dict[int, list[Live]] = {}
    prices: dict[int, float] = {}
    changed = False
    for block, members in ((b, members) for b in made.blocks for members in b.mirrors()):
        channels = sorted({block.row if p.side == "S" else block.row + 1 for p in block.pins().values()})
        for c in channels:
            if c not in lives:
                lives[c] = live_in(made, grid, c)
                prices[c] = price(lives[c])
        block.mirror(members)
        own = at.get(id(block), set())
        turned = {c: [live_of(made, grid, i.net, c) if i.net.name in own else i for i in lives[c]] for c in channels}
        new = {c: price(live) if live != lives[c] else prices[c] for c, live in turned.items()}
        if sum(new.values()) < sum(prices[c] for c in channels) - 0.5:
            changed = True
            lives |= turned
            prices |= new
        else:
            block.mirror(members)
    return changed


def _straight(made: Scheme, grid: Grid, limits: Limits | None) -> None:
    slide = Slide(made, grid, limits)
    slide.run()
    slide.together()


def _part_pins(made: Scheme, grid: Grid) -> None:
    """Where two nets meet at one x of a channel and no order of their trunks keeps them apart, the right part of the
    row below moves by one u."""
    for _ in range(40):
        found = next((f for c in range(grid.rows + 1) if (f := _clash(made, grid, c))), None)
        if found is None:
            return
        row, x = found
        for _, slot in grid.slots[row]:
            if isinstance(slot, Block):
                if slot.x + slot.w >= x:
                    slot.x += 1
            elif grid.gaps[slot] >= x:
                grid.gaps[slot] += 1


def _clash(made: Scheme, grid: Grid, c: int) -> tuple[int, int] | None:
    """Row below the channel and x of a line that would lie on another one."""
    trunks = [i for i in live_in(made, grid, c) if i.high > i.low]
    order, cost = stack(trunks)
    for at, a in enumerate(order):
        for b in order[at + 1 :]:
            if cost[a][b] >= 1000:
                return c - 1, min(set(trunks[b].top) & set(trunks[a].bottom))
    return None
