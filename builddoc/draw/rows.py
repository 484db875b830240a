"""Which row each block stands in and in what order: two passes of Graphviz's `dot`.

Rows and channels: blocks stand in rows, lines run in the channels between them. An upper port has its line in the
channel above, a lower port in the one below; that alone gives the ranks. In the second pass every net is a small
node in each channel that it uses and a gap in each row that it passes, so that every edge spans one rank.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

from .fold import GAP, WIDE, fold, room
from .order import Places
from .scheme import Block, Key, Net, Scheme
from .wishes import settled, wish_rows, wish_sides

WEIGHT = {"pilot": 1, "drain": 1, "pressure": 3, "suction": 3}
USUAL = 2  # weight of all other lines; the greater it is, the straighter and shorter they become
POINTS = 24  # dot's points per u: an empty field of a record is then not wider than one u
Slot = Block | tuple[str, int]


@dataclass(slots=True)
class Grid:
    """rows: number of rows. gaps: (net, row) -> x of the place where the net passes the row. slots: per row, (width,
    block or gap) from left to right. low, high: lowest and highest channel of each net. chan: (net, channel) ->
    terminals above the channel and below it. unmet: part -> why a hint was left."""

    rows: int
    gaps: dict[tuple[str, int], int] = field(default_factory=dict)
    slots: list[list[tuple[int, Slot]]] = field(default_factory=list)
    low: dict[str, int] = field(default_factory=dict)
    high: dict[str, int] = field(default_factory=dict)
    chan: dict[tuple[str, int], tuple[list[Key], list[Key]]] = field(default_factory=dict)
    unmet: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Way:
    """How rows are filled. folded: wide ones give blocks away. step: nets are told to dot in steps of so many, which
    leads it to another order; -1: from the last to the first. heavy: the weights of lines count for the ranks, too.
    wide: u of a row that counts as wide."""

    folded: bool = True
    step: int = 1
    heavy: bool = False
    wide: int = WIDE

    def turned(self, nets: Sequence[Net]) -> list[Net]:
        if self.step < 0:
            return [*reversed(nets)]
        return [net for first in range(self.step) for net in nets[first :: self.step]]


WAYS = (
    *(Way(folded, step) for steps in ((1, -1), (2, 3, 5)) for folded in (True, False) for step in steps),
    *(Way(folded, heavy=True) for folded in (True, False)),
)
"""Tried one after the other while a drawing is tangled: most are not."""


def place(made: Scheme, run: Callable[[str], str], before: Places | None = None, way: Way = WAYS[0]) -> Grid:
    """Rows, order and first x of all blocks. run: DOT text -> dot's `plain` output. before: where parts stand in
    another drawing whose order from left to right is to be kept."""
    names = {id(b): f"b{n}" for n, b in enumerate(made.blocks)}
    unmet = wish_rows(made, lambda more: _rank(made, run, names, more, way), names)
    if way.folded:
        fold(made, settled(made), way.wide)
    grid = Grid(max(b.row for b in made.blocks) + 1, unmet=unmet)
    for net in made.nets:
        used = []
        for key in net.terminals:
            block = made.home[key]
            above = block.pins()[key].side == "S"
            c = block.row if above else block.row + 1
            grid.chan.setdefault((net.name, c), ([], []))[0 if above else 1].append(key)
            used.append(c)
        grid.low[net.name], grid.high[net.name] = min(used), max(used)
    _order(made, grid, run, before or {}, way)
    wish_sides(made, grid)
    return grid


def _xs(text: str) -> dict[str, tuple[float, float]]:
    """Node -> place in u, from dot's `plain` output: first the nodes, then the edges."""
    found = {}
    for row in text.splitlines():
        word, _, rest = row.partition(" ")
        if word == "node":
            name, x, y, _ = rest.split(" ", 3)
            found[name] = (float(x) * 72 / POINTS, float(y) * 72 / POINTS)
        elif word == "edge":
            break
    return found


@lru_cache(maxsize=256)
def _fields(width: int, sides: str) -> str:
    """Label of a record with a field for every u of the edges that have ports."""
    upper, lower = ("|".join([f"<{side}{i}>" for i in range(width)]) if side in sides else "" for side in "ns")
    return f"{{{{{upper}}}|{{{lower}}}}}"


def _rank(made: Scheme, run: Callable[[str], str], ids: Mapping[int, str], more: Sequence[str], way: Way) -> None:
    out = ['digraph{rankdir=BT;splines=none;node[shape=box width=.1 height=.1 label=""]', *ids.values()]
    for net in made.nets:
        lower, upper = [], []
        for key in net.terminals:
            block = made.home[key]
            if block.pins()[key].side == "N":
                lower.append(ids[id(block)])
            elif key not in net.pilot:
                upper.append(ids[id(block)])
        weight = f"[weight={WEIGHT.get(net.role, USUAL)}]" if way.heavy else ""
        out += [f"{a}->{b}{weight}" for a in dict.fromkeys(lower) for b in dict.fromkeys(upper) if a != b]
    out += [f"{ids[id(a)]}->{ids[id(b)]}" for a, b in made.hanging()]
    top = [ids[id(b)] for b in made.blocks if b.actuator]
    if top:
        out.append("{rank=same;" + ";".join(top) + "}")
    places = _xs(run("\n".join([*out, *more]) + "}"))
    levels = {y: n for n, y in enumerate(sorted({round(places[i][1], 2) for i in ids.values()}))}
    for block in made.blocks:
        block.row = levels[round(places[ids[id(block)]][1], 2)]


def _order(made: Scheme, grid: Grid, run: Callable[[str], str], before: Places, way: Way) -> None:
    ids = {id(b): f"b{n}" for n, b in enumerate(made.blocks)}
    out = [
        "digraph{rankdir=BT;splines=none;nodesep=.08;ranksep=.3;remincross=true;mclimit=4;"
        'node[shape=box fixedsize=true width=.05 height=.3 label=""];edge[arrowhead=none]'
    ]
    ranks: dict[int, list[str]] = defaultdict(list)
    for block in made.blocks:
        width = room(block)
        sides = "".join(sorted({pin.side.lower() for pin in block.pins().values()}))
        out.append(
            f'{ids[id(block)]}[shape=record width={width * POINTS / 72:.3f} height=1.2 label="{_fields(width, sides)}"]'
        )
        ranks[2 * block.row + 1].append(ids[id(block)])
    edges = []
    for net in way.turned(made.nets):
        weight = WEIGHT.get(net.role, USUAL)
        low, high = grid.low[net.name], grid.high[net.name]
        for c in range(low, high + 1):
            here = f"{net.name}c{c}"
            ranks[2 * c].append(here)
            above, below = grid.chan.get((net.name, c), ([], []))
            edges += [f"{here}->{_at(made, ids, key)}[weight={weight}]" for key in above]
            edges += [f"{_at(made, ids, key)}->{here}[weight={weight}]" for key in below]
            if c < high:
                gap = f"{net.name}g{c}"
                ranks[2 * c + 1].append(gap)
                out.append(f"{gap}[width={1.6 * POINTS / 72:.3f}]")
                edges.append(f"{here}->{gap}->{net.name}c{c + 1}[weight={2 * weight}]")
    for r in range(grid.rows):
        # What stood left of something shall do so again: an edge that is not drawn.
        known = [b for b in made.blocks if b.row == r and b.members[0].part in before]
        known.sort(key=lambda b: before[b.members[0].part][0])
        edges += [f"{ids[id(a)]}->{ids[id(b)]}[style=invis weight=1]" for a, b in pairwise(known)]
    last = max(ranks)
    out += [f"s{r}[style=invis];{{rank=same;s{r};{';'.join(ranks[r])}}}" for r in range(last + 1)]
    out.append("->".join(f"s{r}" for r in range(last + 1)) + "[style=invis weight=0]")
    places = _xs(run("\n".join([*out, *edges]) + "}"))
    for r in range(grid.rows):
        items: list[tuple[float, int, Slot]] = []
        for block in made.blocks:
            if block.row == r:
                width = room(block)
                items.append((places[ids[id(block)]][0] - width / 2, width, block))
        passing = [net.name for net in made.nets if grid.low[net.name] <= r < grid.high[net.name]]
        items += [(places[f"{name}g{r}"][0] - 0.8, 2, (name, r)) for name in passing]
        items.sort(key=lambda item: item[0])
        edge = -(10**6)
        row: list[tuple[int, Slot]] = []
        for x, width, slot in items:
            left = max(round(x), edge)
            edge = left + width
            if isinstance(slot, Block):
                slot.x = left + GAP + slot.left
            else:
                grid.gaps[slot] = left + 1
            row.append((width, slot))
        grid.slots.append(row)


def _at(made: Scheme, ids: dict[int, str], key: Key) -> str:
    block = made.home[key]
    pin = block.pins()[key]
    side = pin.side.lower()
    return f"{ids[id(block)]}:{side}{pin.x + GAP + block.left}:{side}"


def pin_x(made: Scheme, key: Key) -> int:
    block = made.home[key]
    return block.x + block.pins()[key].x
