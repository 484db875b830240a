"""Blocks and the lines that pass a row slide sideways, order in the row kept, to where lines are straight."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from .channels import Live, tangle
from .fold import GAP, WIDE
from .rows import Grid
from .scheme import Block, Net, Scheme

REACH = 14  # u that a block at the end of a row may move at once
VISITS = 3  # of each item
SLACK = 4  # u of play in the widest row
WIDER = (1.0, 1.15, 1.35)  # widths tried, in that of the widest row
CORNERS, TANGLED = 2.0, 0.15  # corners and crossings for each net, as the price of a narrow drawing
BENT = 2.0  # bends for each net that no other order is tried for
Limits = tuple[int, int]
Pinned = tuple[int, int]
Touch = tuple[int, dict[int, list[int]], float, list[int], list[Pinned], int, int]
NONE: list[int] = []


class Slide:
    """limits: left and right end of every row, or None.

    Items are numbered: blocks as in made.blocks, then the gaps where nets pass rows. A node is what a net touches in a
    channel: its pins are (item, dx from the item's left edge), those of the row above the channel and those of the row
    below it. crowds: per channel, x -> nodes with a pin there. touch: per item, what it needs to know of each of its
    nodes: (node, crowd, weight, dx of its own pins, pins of others; the one item of them and how far right of it the
    item stands straight, or -1).
    """

    def __init__(self, made: Scheme, grid: Grid):
        self.made, self.grid = made, grid
        self.limits: Limits | None = None
        self.numbers = {id(b): n for n, b in enumerate(made.blocks)}
        self.gaps = {gap: len(made.blocks) + n for n, gap in enumerate(grid.gaps)}
        size = len(made.blocks) + len(self.gaps)
        self.x = [0] * size
        self.width = [0] * size
        self.left, self.right = [-1] * size, [-1] * size
        self.rows: list[list[int]] = []
        for row in grid.slots:
            items: list[int] = []
            for w, slot in row:
                if isinstance(slot, Block):
                    item = self.numbers[id(slot)]
                    self.x[item] = slot.x - slot.left - GAP
                else:
                    item = self.gaps[slot]
                    self.x[item] = grid.gaps[slot] - 1
                self.width[item] = w
                if items:
                    self.left[item], self.right[items[-1]] = items[-1], item
                items.append(item)
            self.rows.append(items)
        self.nets: list[Net] = []
        self.weight: list[float] = []
        self.channel: list[int] = []
        self.place: list[int] = []
        self.beside: list[list[int]] = [[] for _ in range(grid.rows + 1)]
        for net in made.nets:
            weight = 1.2 if net.role in ("drain", "pilot") else 2.5
            for c in range(grid.low[net.name], grid.high[net.name] + 1):
                self.place.append(len(self.beside[c]))
                self.beside[c].append(len(self.nets))
                self.nets.append(net)
                self.weight.append(weight)
                self.channel.append(c)
        self.above: list[list[Pinned]] = [[] for _ in self.nets]
        self.below: list[list[Pinned]] = [[] for _ in self.nets]
        self.pins: list[list[Pinned]] = [[] for _ in self.nets]
        self.own: list[dict[int, list[int]]] = [{} for _ in range(size)]
        self.crowds: list[dict[int, list[int]]] = [defaultdict(list) for _ in self.beside]
        self.touch: list[list[Touch] | None] = [None] * size
        self.pin_down(range(len(self.nets)))
        self.note_places()

    def pin_down(self, nodes: Iterable[int]) -> None:
        """Note the pins of nodes, at first and when blocks have been mirrored; `note_places` has to follow."""
        made, grid = self.made, self.grid
        for node in nodes:
            net, c = self.nets[node], self.channel[node]
            above, below = (
                [(self.numbers[id(b)], b.pins()[key].x + b.left + GAP) for key in keys for b in (made.home[key],)]
                for keys in grid.chan.get((net.name, c), ([], []))
            )
            pins = [*above, *below]
            if (under := self.gaps.get((net.name, c - 1))) is not None:
                below.append((under, 1))
                pins.append((under, 1))
            if (over := self.gaps.get((net.name, c))) is not None:
                above.append((over, 1))
                pins.append((over, 1))
            self.above[node], self.below[node], self.pins[node] = above, below, pins
            for item, _ in pins:
                self.own[item][node] = []
                self.touch[item] = None
            for item, dx in pins:
                self.own[item][node].append(dx)

    def note_places(self) -> None:
        for crowd in self.crowds:
            crowd.clear()
        for node, pins in enumerate(self.pins):
            crowd = self.crowds[self.channel[node]]
            for item, dx in pins:
                crowd[self.x[item] + dx].append(node)

    def _touch(self, item: int) -> list[Touch]:
        found = self.touch[item] = []
        for n, mine in self.own[item].items():
            others = [pin for pin in self.pins[n] if pin[0] != item]
            # The usual case: the other end is one pin, under which the item's own pin may stand.
            other, dx = others[0] if len(mine) == len(others) == 1 else (-1, 0)
            found.append((n, self.crowds[self.channel[n]], self.weight[n], mine, others, other, dx - mine[0]))
        return found

    def live(self, c: int) -> list[Live]:
        """Nets of a channel, as its price asks for them."""
        return [self.live_of(node) for node in self.beside[c]]

    def live_of(self, node: int) -> Live:
        x = self.x
        return _live(
            self.nets[node], [x[item] + dx for item, dx in self.above[node]],
            [x[item] + dx for item, dx in self.below[node]],
        )  # fmt: skip

    def turned(self, node: int, block: int, low: int, high: int) -> Live:
        """The same if what stands from low to high in a block were mirrored left to right."""
        x = self.x
        air = self.made.blocks[block].left + GAP
        low, high = low + air, high + air
        top, bottom = (
            [x[item] + (low + high - dx if item == block and low <= dx <= high else dx) for item, dx in pins]
            for pins in (self.above[node], self.below[node])
        )
        return _live(self.nets[node], top, bottom)

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

    def squeeze(self) -> None:
        """Bring all rows into the width of a page, or into that of the widest row, if that does not cost too many
        corners; the order in the rows stays."""
        if not self.x:
            return
        left = min(self.x[row[0]] for row in self.rows if row)
        right = max(self.x[row[-1]] + self.width[row[-1]] for row in self.rows if row)
        need = max(sum(self.width[item] for item in row) for row in self.rows)
        target = max(WIDE, need + SLACK)
        if target * WIDER[0] >= right - left:
            return
        before = list(self.x)
        nets = len(self.made.nets) + len(self.made.stubs)
        tangled = max(self._tangle(), TANGLED * nets + 1)
        for times in WIDER:
            if target * times >= right - left:
                break
            self._pack(round(target * times), left, right)
            self.run()
            if self._corners() <= CORNERS * nets and self._tangle() <= tangled:
                return
            self.x = list(before)
        self.limits = None
        self.note_places()
        self._hand_over()

    def _tangle(self) -> int:
        return tangle(self.live(c) for c in range(len(self.beside)))

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
        self.note_places()

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
        x, width = self.x, self.width
        now, wide = x[item], width[item]
        low, high = now - REACH, now + REACH
        if self.limits:
            first, last = self.limits
            if low < first:
                low = first
            if high > last - wide:
                high = last - wide
        before, after = self.left[item], self.right[item]
        if before >= 0 and (edge := x[before] + width[before]) > low:
            low = edge
        if after >= 0 and (edge := x[after] - wide) < high:
            high = edge
        return low, high

    def _slide(self, item: int) -> bool:
        low, high = self._bounds(item)
        if low >= high:
            return False
        x, own = self.x, self.own[item]
        now = x[item]
        wishes = {now, low, high}
        parts: list[tuple[dict[int, list[int]], float, list[int], list[int], int]] = []
        calm = True  # it stands straight and at nobody's place
        for _, crowd, weight, mine, pins, other, away in self.touch[item] or self._touch(item):
            if other >= 0:
                straight = x[other] + away
                wishes.add(straight)
                parts.append((crowd, weight, mine, NONE, straight))
                if calm:
                    calm = straight == now and own.keys() >= {*crowd[now + mine[0]]}
                continue
            others = [x[other] + dx for other, dx in pins]
            parts.append((crowd, weight, mine, others, 0))
            for d in mine:
                wishes.update([p - d for p in others])
            if calm:
                at = now + mine[0]
                calm = len(mine) == 1 and others.count(at) == len(others) and own.keys() >= {*crowd[at]}
        if calm:
            return False
        best, where = float("inf"), now
        for place in wishes:
            if not low <= place <= high:
                continue
            value = 0.01 * abs(place - now)
            for crowd, weight, mine, others, straight in parts:
                for d in mine:
                    for node in crowd.get(place + d, ()):
                        if node not in own:
                            value += 2.0
                            break
                if others is not NONE:
                    value += _price([*others, *[place + d for d in mine]], weight)
                elif straight != place:  # as _price has it
                    value += weight + 0.12 * abs(straight - place)
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
        for node, crowd, _, mine, *_ in self.touch[item] or self._touch(item):
            for d in mine:
                crowd[now + d].remove(node)
                crowd[where + d].append(node)
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
                crowd = self.crowds[self.channel[node]]
                value += 2.0 * sum([any(n not in inside for n in crowd.get(q, ())) for q in moved])
            return value

        now = price(0)
        fitting = [(price(by), abs(by), by) for by in sorted(wishes) if low <= by <= high and by]
        if fitting and min(fitting)[0] < now - 0.3:
            by = min(fitting)[2]
            for item in group:
                self._move(item, self.x[item] + by)
            return True
        return False


def _live(net: Net, top: list[int], bottom: list[int]) -> Live:
    both = top + bottom
    return Live(net, top, bottom, min(both), max(both))


def _price(places: list[int], weight: float) -> float:
    """Of a trunk: that there is one, its length, legs that are not in the middle."""
    if len(places) == 2:
        spread = abs(places[0] - places[1])
        return weight + 0.12 * spread if spread else 0.0
    places.sort()
    spread = places[-1] - places[0]
    if not spread:
        return 0.0
    middle = places[len(places) // 2]
    return weight + 0.12 * spread + 0.25 * (len(places) - places.count(middle))
