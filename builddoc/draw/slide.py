"""Blocks and the lines that pass a row slide sideways, order in the row kept, to where lines are straight."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from .channels import tangle
from .fold import GAP, WIDE
from .rows import Grid
from .scheme import Block, Scheme

REACH = 14  # u that a block at the end of a row may move at once
VISITS = 3  # of each item
SLACK = 4  # u of play in the widest row
WIDER = (1.0, 1.15, 1.35)  # widths tried, in that of the widest row
CORNERS, TANGLED = 2.0, 0.15  # corners and crossings for each net, as the price of a narrow drawing
Limits = tuple[int, int]


class Slide:
    """limits: left and right end of every row, or None.

    Items are numbered: blocks as in made.blocks, then the gaps where nets pass rows. A node is what a net touches in a
    channel: its pins are (item, dx from the item's left edge).
    """

    def __init__(self, made: Scheme, grid: Grid, limits: Limits | None = None):
        self.made, self.grid, self.limits = made, grid, limits
        numbers = {id(b): n for n, b in enumerate(made.blocks)}
        self.gaps = {gap: len(numbers) + n for n, gap in enumerate(grid.gaps)}
        size = len(numbers) + len(self.gaps)
        self.x = [0] * size
        self.width = [0] * size
        self.left, self.right = [-1] * size, [-1] * size
        self.rows: list[list[int]] = []
        for row in grid.slots:
            items: list[int] = []
            for w, slot in row:
                if isinstance(slot, Block):
                    item = numbers[id(slot)]
                    self.x[item] = slot.x - slot.left - GAP
                else:
                    item = self.gaps[slot]
                    self.x[item] = grid.gaps[slot] - 1
                self.width[item] = w
                if items:
                    self.left[item], self.right[items[-1]] = items[-1], item
                items.append(item)
            self.rows.append(items)
        self.pins: list[list[tuple[int, int]]] = []
        self.weight: list[float] = []
        self.channel: list[int] = []
        self.own: list[dict[int, list[int]]] = [{} for _ in range(size)]
        for net in made.nets:
            weight = 1.2 if net.role in ("drain", "pilot") else 2.5
            low, high = grid.low[net.name], grid.high[net.name]
            for c in range(low, high + 1):
                pins = []
                for keys in grid.chan.get((net.name, c), ([], [])):
                    for key in keys:
                        block = made.home[key]
                        pins.append((numbers[id(block)], block.pins()[key].x + block.left + GAP))
                pins += [(self.gaps[net.name, r], 1) for r in (c - 1, c) if low <= r < high]
                node = len(self.pins)
                for item, dx in pins:
                    self.own[item].setdefault(node, []).append(dx)
                self.pins.append(pins)
                self.weight.append(weight)
                self.channel.append(c)
        self._note_places()

    def _note_places(self) -> None:
        """(channel, x) -> nodes with a pin there."""
        self.places: dict[tuple[int, int], list[int]] = defaultdict(list)
        for node, pins in enumerate(self.pins):
            for item, dx in pins:
                self.places[self.channel[node], self.x[item] + dx].append(node)

    def run(self) -> None:
        """Every item, and again those whose surroundings have moved."""
        self._settle(item for row in self.rows for item in row)
        self._hand_over()

    def together(self) -> None:
        """Blocks with the passing lines that hang straight at them move as one; then what is around them."""
        moved: dict[int, None] = {}
        for block in range(len(self.made.blocks)):
            group = self._hanging(block)
            if len(group) > 1 and self._shift(group):
                moved |= dict.fromkeys(group)
        self._settle([near for item in moved for near in self._near(item)])
        self._hand_over()

    def squeeze(self) -> Limits | None:
        """Bring all rows into the width of a page, or into that of the widest row, if that does not cost too many
        corners; the order in the rows stays. Returns the limits."""
        if not self.x:
            return None
        left = min(self.x[row[0]] for row in self.rows if row)
        right = max(self.x[row[-1]] + self.width[row[-1]] for row in self.rows if row)
        need = max(sum(self.width[item] for item in row) for row in self.rows)
        target = max(WIDE, need + SLACK)
        before = list(self.x)
        nets = len(self.made.nets) + len(self.made.stubs)
        tangled = max(tangle(self.made, self.grid), TANGLED * nets + 1)
        for times in WIDER:
            if target * times >= right - left:
                break
            self._pack(round(target * times), left, right)
            self.run()
            if self._corners() <= CORNERS * nets and tangle(self.made, self.grid) <= tangled:
                return self.limits
            self.x = list(before)
        self.x, self.limits = before, None
        self._note_places()
        self._hand_over()
        return None

    def _hand_over(self) -> None:
        for block, x in zip(self.made.blocks, self.x, strict=False):
            block.x = x + block.left + GAP
        for gap, item in self.gaps.items():
            self.grid.gaps[gap] = self.x[item] + 1

    # ---- narrower
    def _pack(self, target: int, left: int, right: int) -> None:
        """Draw together in proportion, as far as the blocks of each row leave room."""
        scale = target / (right - left)
        for row in self.rows:
            rest = sum(self.width[item] for item in row)
            edge = 0
            for item in row:
                w = self.width[item]
                middle = (self.x[item] + w / 2 - left) * scale
                self.x[item] = edge = min(max(round(middle - w / 2), edge), target - rest)
                edge += w
                rest -= w
        self.limits = (0, target)
        self._note_places()

    def _corners(self) -> int:
        """Ends of trunks."""
        return sum(2 for pins in self.pins if len({self.x[item] + dx for item, dx in pins}) > 1)

    # ---- one item
    def _settle(self, items: Iterable[int]) -> None:
        queue = dict.fromkeys(items)
        left = [VISITS] * len(self.x)
        while queue:
            item = next(iter(queue))
            del queue[item]
            left[item] -= 1
            if not self._slide(item):
                continue
            for other in self._near(item):
                if left[other] > 0:
                    queue[other] = None

    def _near(self, item: int) -> list[int]:
        """Its neighbours in the row, and what shares a line with it."""
        near = {self.left[item], self.right[item]} - {-1}
        for node in self.own[item]:
            near.update([other for other, _ in self.pins[node]])
        return sorted(near)

    def _bounds(self, item: int) -> Limits:
        now = self.x[item]
        low, high = now - REACH, now + REACH
        if self.limits:
            low, high = max(low, self.limits[0]), min(high, self.limits[1] - self.width[item])
        before, after = self.left[item], self.right[item]
        if before >= 0:
            low = max(low, self.x[before] + self.width[before])
        if after >= 0:
            high = min(high, self.x[after] - self.width[item])
        return low, high

    def _slide(self, item: int) -> bool:
        x, places, own = self.x, self.places, self.own[item]
        now = x[item]
        low, high = self._bounds(item)
        if low >= high:
            return False
        wishes = {now, low, high}
        parts = []
        for node, mine in own.items():
            others = [x[o] + d for o, d in self.pins[node] if o != item]
            parts.append((self.channel[node], self.weight[node], mine, others))
            wishes.update([p - d for p in others for d in mine])
        best, where = float("inf"), now
        for place in wishes:
            if not low <= place <= high:
                continue
            value = 0.01 * abs(place - now)
            for c, weight, mine, others in parts:
                for d in mine:
                    for node in places.get((c, place + d), ()):
                        if node not in own:
                            value += 2.0
                            break
                if len(mine) == len(others) == 1:  # the usual case: as _price has it
                    spread = abs(others[0] - place - mine[0])
                    if spread:
                        value += weight + 0.12 * spread
                else:
                    value += _price([*others, *[place + d for d in mine]], weight)
                if value >= best:
                    break
            if value < best or (value == best and place < where):
                best, where = value, place
        if where == now:
            return False
        self._move(item, where)
        return True

    def _move(self, item: int, where: int) -> None:
        now = self.x[item]
        for node, mine in self.own[item].items():
            c = self.channel[node]
            for d in mine:
                self.places[c, now + d].remove(node)
                self.places[c, where + d].append(node)
        self.x[item] = where

    # ---- a block with what hangs at it
    def _hanging(self, block: int) -> list[int]:
        group, queue = {block: None}, [block]
        while queue:
            for node in self.own[queue.pop()]:
                pins = self.pins[node]
                if len(pins) == 2 and self.x[pins[0][0]] + pins[0][1] == self.x[pins[1][0]] + pins[1][1]:
                    for item, _ in pins:
                        if item not in group and item >= len(self.made.blocks):
                            group[item] = None
                            queue.append(item)
        return list(group)

    def _shift(self, group: list[int]) -> bool:
        members = set(group)
        low, high = -REACH, REACH
        for item in group:
            a, b = self._bounds(item)
            if self.left[item] not in members:
                low = max(low, a - self.x[item])
            if self.right[item] not in members:
                high = min(high, b - self.x[item])
        nodes = sorted({node for item in group for node in self.own[item]})
        edges = []
        for node in nodes:
            mine = [self.x[o] + d for o, d in self.pins[node] if o in members]
            others = [self.x[o] + d for o, d in self.pins[node] if o not in members]
            if others:
                edges.append((node, mine, others))
        wishes = {p - q for _, mine, others in edges for p in others for q in mine}
        inside = set(nodes)

        def price(by: int) -> float:
            value = 0.0
            for node, mine, others in edges:
                moved = [q + by for q in mine]
                value += _price([*others, *moved], self.weight[node])
                c = self.channel[node]
                value += 2.0 * sum(any(n not in inside for n in self.places.get((c, q), ())) for q in moved)
            return value

        now = price(0)
        fitting = [(price(by), abs(by), by) for by in sorted(wishes) if low <= by <= high and by]
        if fitting and min(fitting)[0] < now - 0.3:
            by = min(fitting)[2]
            for item in group:
                self._move(item, self.x[item] + by)
            return True
        return False


def _price(places: list[int], weight: float) -> float:
    """Of a trunk: that there is one, its length, legs that are not in the middle."""
    spread = max(places) - min(places)
    if not spread:
        return 0.0
    value = weight + 0.12 * spread
    if len(places) > 2:
        places.sort()
        middle = places[len(places) // 2]
        value += 0.25 * (len(places) - places.count(middle))
    return value
