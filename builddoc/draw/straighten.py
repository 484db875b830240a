"""Fewer bends: blocks slide in their free room, order in the row kept, and are mirrored where that helps."""

from __future__ import annotations

from collections import defaultdict

from .channels import live_in, price, stack
from .rows import GAP, Grid, Slot
from .scheme import Block, Scheme

REACH = 14  # u that a block at the end of a row may move at once
SWEEPS = 6
Item = int | tuple[str, int]


def improve(made: Scheme, grid: Grid) -> None:
    """Straighten; mirror symbols while the channels beside them get better; straighten again."""
    _Slide(made, grid).run()
    for _ in range(2):
        changed = False
        prices: dict[int, float] = {}
        for block in made.blocks:
            if not block.mirrors():
                continue
            channels = sorted({block.row if p.side == "S" else block.row + 1 for p in block.pins().values()})
            for c in channels:
                if c not in prices:
                    prices[c] = price(made, grid, c)
            block.mirror()
            turned = {c: price(made, grid, c) for c in channels}
            if sum(turned.values()) < sum(prices[c] for c in channels) - 0.5:
                changed = True
                prices |= turned
            else:
                block.mirror()
        _Slide(made, grid).run()
        if not changed:
            break
    _part_pins(made, grid)


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


class _Slide:
    def __init__(self, made: Scheme, grid: Grid):
        self.made, self.grid = made, grid
        self.at: dict[Item, int] = {}
        self.rows = [[(w, self._item(slot)) for w, slot in row] for row in grid.slots]
        # (net, channel) -> [(item, dx)]; item -> [(net, channel, dx)]
        self.pins: dict[tuple[str, int], list[tuple[Item, int]]] = defaultdict(list)
        self.own: dict[Item, list[tuple[str, int, int]]] = defaultdict(list)
        self.weight: dict[str, float] = {}
        numbers = {id(b): n for n, b in enumerate(made.blocks)}
        for net in made.nets:
            self.weight[net.name] = 1.2 if net.role in ("drain", "pilot") else 2.5
            for c in range(grid.low[net.name], grid.high[net.name] + 1):
                for keys in grid.chan.get((net.name, c), ([], [])):
                    for key in keys:
                        block = made.home[key]
                        self._touch(numbers[id(block)], net.name, c, block.pins()[key].x + block.left + GAP)
            for r in range(grid.low[net.name], grid.high[net.name]):
                for c in (r, r + 1):
                    self._touch((net.name, r), net.name, c, 1)
        self.by_channel: dict[int, list[tuple[str, list[tuple[Item, int]]]]] = defaultdict(list)
        for (name, c), pins in self.pins.items():
            self.by_channel[c].append((name, pins))

    def _item(self, slot: Slot) -> Item:
        if isinstance(slot, Block):
            item: Item = next(n for n, b in enumerate(self.made.blocks) if b is slot)
            self.at[item] = slot.x - slot.left - GAP
        else:
            item = slot
            self.at[item] = self.grid.gaps[slot] - 1
        return item

    def _touch(self, item: Item, net: str, c: int, dx: int) -> None:
        self.pins[net, c].append((item, dx))
        self.own[item].append((net, c, dx))

    def run(self) -> None:
        for _ in range(SWEEPS):
            moved = False
            for row in self.rows:
                for i in range(len(row)):
                    moved |= self._slide(row, i)
            if not moved:
                break
        for item, x in self.at.items():
            if isinstance(item, int):
                block = self.made.blocks[item]
                block.x = x + block.left + GAP
            else:
                self.grid.gaps[item] = x + 1

    def _slide(self, row: list[tuple[int, Item]], i: int) -> bool:
        at = self.at
        width, item = row[i]
        now = at[item]
        low = at[row[i - 1][1]] + row[i - 1][0] if i else now - REACH
        high = at[row[i + 1][1]] - width if i + 1 < len(row) else now + REACH
        grouped: dict[tuple[str, int], list[int]] = defaultdict(list)
        for net, c, dx in self.own[item]:
            grouped[net, c].append(dx)
        wishes = {now, low, high}
        parts = []
        foreign: dict[int, set[int]] = {}
        for (net, c), mine in grouped.items():
            others = [at[o] + d for o, d in self.pins[net, c] if o != item]
            if c not in foreign:
                foreign[c] = {
                    at[o] + d for name, pins in self.by_channel[c] if (name, c) not in grouped for o, d in pins
                }
            parts.append((self.weight[net], mine, others, foreign[c]))
            wishes.update(x - d for x in others for d in mine)
        best: tuple[float, int] | None = None
        for x in wishes:
            if not max(low, now - REACH) <= x <= min(high, now + REACH):
                continue
            value = 0.01 * abs(x - now)
            for weight, mine, others, strange in parts:
                places = sorted([x + d for d in mine] + others)
                spread = places[-1] - places[0]
                value += 2.0 * sum(x + d in strange for d in mine)
                if spread:
                    value += weight + 0.12 * spread
                    if len(places) > 2:
                        middle = places[len(places) // 2]
                        value += 0.25 * sum(p != middle for p in places)
            if best is None or (value, x) < best:
                best = (value, x)
        if best is None or best[1] == now:
            return False
        at[item] = best[1]
        return True
