"""Lines in the channels between rows: a net has at most one horizontal trunk in a channel, on a track of its own."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from .rows import Grid, pin_x
from .scheme import Key, Net, Scheme

Spot = tuple[float, float]
PITCH = 1.6  # u between tracks
FIRST = 1.1  # u from the row above to the first track


@dataclass(slots=True)
class Live:
    """A net in a channel: x of its pins above and below, its span."""

    net: Net
    top: list[int]
    bottom: list[int]
    low: int
    high: int


@dataclass(slots=True)
class Routed:
    """Edges of every net's drawn tree, in u, and the place of every terminal."""

    edges: dict[str, list[tuple[Spot, Spot]]] = field(default_factory=dict)
    places: dict[Key, Spot] = field(default_factory=dict)
    bottom: float = 0.0


def _above(i: Live, j: Live) -> float:
    """Cost of trunk i lying above trunk j, whose spans meet: crossings, a little for touching corners, very much for
    lines that would lie on one another."""
    cost = 0.0
    low, high = i.low, i.high
    for x in j.top:
        if low <= x <= high:
            cost += 1.0 if low < x < high else 0.3
    low, high = j.low, j.high
    over = j.top
    upon = False
    for x in i.bottom:
        if low <= x <= high:
            cost += 1.0 if low < x < high else 0.3
        if x in over:
            upon = True
    return cost + 1000 * len({*over}.intersection(i.bottom)) if upon else cost


def stack(trunks: list[Live]) -> tuple[list[int], list[list[float]]]:
    """Order of trunks from the top with few crossings (local search by insertion), and the matrix of costs."""
    n = len(trunks)
    cost = [[0.0] * n for _ in range(n)]
    if n < 2:
        return [0] * n, cost
    torn = set()  # trunks to which the order matters
    for a, i in enumerate(trunks):
        low, high, mine = i.low, i.high, cost[a]
        for b in range(a + 1, n):
            j = trunks[b]
            if high < j.low or j.high < low:
                continue
            mine[b] = above = _above(i, j)
            cost[b][a] = below = _above(j, i)
            if above != below:
                torn.add(a)
                torn.add(b)
    order = sorted(range(n), key=lambda i: len(trunks[i].bottom) - len(trunks[i].top))
    better = bool(torn)
    while better:
        better = False
        for a in order:
            if a not in torn:
                continue
            at = order.index(a)
            rest = order[:at] + order[at + 1 :]
            mine = cost[a]
            value = sum(mine)
            best, where = value, 0
            now = value
            for p, b in enumerate(rest, 1):
                value += cost[b][a] - mine[b]
                if value < best - 1e-9:
                    best, where = value, p
                if p == at:
                    now = value
            if best < now - 1e-9:
                order = [*rest[:where], a, *rest[where:]]
                better = True
    return order, cost


def tangle(lives: Iterable[list[Live]]) -> int:
    """Crossings of unlike nets in all channels, before heights are known."""
    total = 0
    for live in lives:
        trunks = [i for i in live if i.high > i.low]
        straight = [i.low for i in live if i.high == i.low]
        order, cost = stack(trunks)
        total += sum([int(cost[a][b]) % 1000 for n, a in enumerate(order) for b in order[n + 1 :]])
        total += _through(trunks, straight)
    return total


def price(live: list[Live]) -> float:
    """How bad a channel looks: crossings, bends, length."""
    trunks = [i for i in live if i.high > i.low]
    order, cost = stack(trunks)
    crossings = sum([cost[a][b] for n, a in enumerate(order) for b in order[n + 1 :]])
    return _price(live, trunks, crossings)


def least_price(live: list[Live]) -> float:
    """What `price` is at least, whatever the trunks' order: a cheap first look."""
    return _price(live, [i for i in live if i.high > i.low], 0.0)


def _price(live: list[Live], trunks: list[Live], crossings: float) -> float:
    crossings += _through(trunks, [i.low for i in live if i.high == i.low])
    return 6 * crossings + sum([1 + 0.15 * (t.high - t.low) for t in trunks])


def _through(trunks: list[Live], straight: list[int]) -> int:
    """Crossings of trunks with the lines that go straight through the channel."""
    return sum([t.low < x < t.high for t in trunks for x in straight]) if straight else 0


def _tracks(order: list[int], trunks: list[Live], cost: list[list[float]]) -> dict[int, int]:
    """Track of each trunk, counted from the top: as few as the order allows."""
    track: dict[int, int] = {}
    for at, a in enumerate(order):
        level = 0
        for b in order[:at]:
            over = trunks[a].low <= trunks[b].high + 1 and trunks[b].low <= trunks[a].high + 1
            if over or cost[b][a] != cost[a][b]:
                level = max(level, track[b] + (1 if over else 0))
        track[a] = level
    return track


def route(made: Scheme, grid: Grid, lives: list[list[Live]], room: dict[int, float]) -> Routed:
    """Height of every row and channel, then every net's edges. lives: nets in each channel. room: u that labels want
    in a channel beside the tracks."""
    found = Routed(edges={net.name: [] for net in made.nets})
    rows = grid.rows
    tops: dict[int, float] = {}
    levels: dict[int, dict[str, float]] = {}
    middle: dict[int, float] = {}
    y = 0.0
    for c in range(rows, -1, -1):
        live = lives[c]
        trunks = [i for i in live if i.high > i.low]
        order, cost = stack(trunks)
        track = _tracks(order, trunks, cost)
        tracks = max(track.values(), default=-1) + 1
        tops[c] = y
        extra = room.get(c, 0.0) if live else 0.0
        levels[c] = {trunks[a].net.name: y + FIRST + extra * 0.6 + track[a] * PITCH for a in track}
        if 0 < c < rows or tracks:
            y += max(2.0 if live else 1.2, (tracks - 1) * PITCH + 2 * FIRST) + extra
        if c:
            blocks = [b for b in made.blocks if b.row == c - 1]
            height = max(b.H for b in blocks)
            middle[c - 1] = y + height / 2
            for block in blocks:
                sides = {pin.side for key, pin in block.pins().items()}
                low = sides == {"S"} and not block.tanks
                spare = 0.0 if sides == {"N"} else round((height - block.H) / 2)
                block.y = y + (height - block.h if low else block.over + spare)
            y += height
    found.bottom = y
    for block in made.blocks:
        for key, pin in block.pins().items():
            found.places[key] = (float(block.x + pin.x), block.y + pin.y)
    for c in range(rows + 1):
        for i in lives[c]:
            _edges(made, grid, found, i, c, levels[c].get(i.net.name), middle)
    return found


def _edges(
    made: Scheme, grid: Grid, found: Routed, i: Live, c: int, level: float | None, middle: dict[int, float]
) -> None:
    """Legs from the trunk to every pin; without a trunk one straight line."""
    name = i.net.name
    above, below = grid.chan.get((name, c), ([], []))
    ends = [found.places[key] for key in (*above, *below)]
    assert all(x == pin_x(made, key) for (x, _), key in zip(ends, (*above, *below), strict=True))
    if grid.low[name] <= c < grid.high[name]:
        ends.append((float(grid.gaps[name, c]), middle[c]))
    if grid.low[name] < c <= grid.high[name]:
        ends.append((float(grid.gaps[name, c - 1]), middle[c - 1]))
    edges = found.edges[name]
    if level is None:
        ys = sorted({y for _, y in ends})
        edges += [((float(i.low), a), (float(i.low), b)) for a, b in pairwise(ys)]
        return
    edges += [((x, level), (x, y)) for x, y in ends]
    xs = sorted({x for x, _ in ends})
    edges += [((a, level), (b, level)) for a, b in pairwise(xs)]
