"""Fewer bends: blocks slide in their free room, order in the row kept, and are mirrored where that helps."""

from __future__ import annotations

from .channels import Live, least_price, price, stack
from .rows import Grid
from .scheme import Block, Scheme
from .slide import Slide

WORTH = 0.5  # price that mirroring has to save


def improve(made: Scheme, grid: Grid) -> list[list[Live]]:
    """Straighten; draw together what is wider than a page; mirror symbols while the channels beside them get better;
    straighten again. Returns what then lives in each channel."""
    slide = Slide(made, grid)
    slide.run()
    slide.squeeze()
    for turn in range(2):
        if not _mirror(slide) and turn:
            break
        slide.run()
        slide.together()
    return _part_pins(slide)


def _mirror(slide: Slide) -> bool:
    """Whether anything was mirrored."""
    lives: dict[int, list[Live]] = {}
    prices: dict[int, float] = {}
    changed = False
    for item, block in enumerate(slide.made.blocks):
        nodes = list(slide.own[item])
        channels = sorted({block.row if p.side == "S" else block.row + 1 for p in block.pins().values()})
        for members in block.mirrors():
            for c in channels:
                if c not in lives:
                    lives[c] = slide.live(c)
                    prices[c] = price(lives[c])
            low, high = min(m.dx for m in members), max(m.dx + m.symbol.w for m in members)
            turned = {c: [*lives[c]] for c in channels}
            for node in nodes:
                c = slide.channel[node]
                turned[c][slide.place[node]] = slide.turned(node, item, low, high)
            turned = {c: live for c, live in turned.items() if live != lives[c]}
            now = sum([prices[c] for c in channels]) - WORTH
            if not turned or sum([least_price(turned[c]) if c in turned else prices[c] for c in channels]) >= now:
                continue
            new = {c: price(live) for c, live in turned.items()}
            if sum([new.get(c, prices[c]) for c in channels]) < now:
                changed = True
                lives |= turned
                prices |= new
                block.mirror(members)
                slide.pin_down(nodes)
    if changed:
        slide.note_places()
    return changed


def _part_pins(slide: Slide) -> list[list[Live]]:
    """Where two nets meet at one x of a channel and no order of their trunks keeps them apart, the right part of the
    row below moves by one u."""
    grid = slide.grid
    for _ in range(40):
        lives = [slide.live(c) for c in range(grid.rows + 1)]
        found = next((f for c, live in enumerate(lives) if (f := _clash(live, c))), None)
        if found is None:
            return lives
        row, x = found
        for item, (_, slot) in zip(slide.rows[row], grid.slots[row], strict=True):
            if isinstance(slot, Block):
                if slot.x + slot.w >= x:
                    slot.x += 1
                    slide.x[item] += 1
            elif grid.gaps[slot] >= x:
                grid.gaps[slot] += 1
                slide.x[item] += 1
    return [slide.live(c) for c in range(grid.rows + 1)]


def _clash(live: list[Live], c: int) -> tuple[int, int] | None:
    """Row below the channel and x of a line that would lie on another one."""
    trunks = [i for i in live if i.high > i.low]
    met = {x for i in trunks for x in i.top}.intersection([x for i in trunks for x in i.bottom])
    if not met:
        return None
    order, cost = stack(trunks)
    for at, a in enumerate(order):
        for b in order[at + 1 :]:
            if cost[a][b] >= 1000:
                return c - 1, min(set(trunks[b].top) & set(trunks[a].bottom))
    return None
