"""The order that an earlier drawing has, so that two revisions can be laid beside one another."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import combinations

from .scheme import Scheme

FEW = 0.03  # share of pairs in another order that a reader does not notice
MORE_CROSSINGS = 2  # for which the earlier order is given up
Places = Mapping[str, tuple[float, float]]


def places(made: Scheme) -> dict[str, tuple[float, float]]:
    """Part -> middle of its symbol."""
    return {
        m.part: (block.x + m.dx + m.symbol.w / 2, block.y + m.dy + m.symbol.h / 2)
        for block in made.blocks if block.key[0] == "part" for m in block.members
    }  # fmt: skip


def flips(a: Places, b: Places) -> float:
    """Share of the pairs of parts in both whose order from left to right or from top to bottom is another one."""
    both = [name for name in a if name in b]
    pairs = list(combinations(both, 2))
    changed = 0
    for one, two in pairs:
        across = (a[one][0] - a[two][0]) * (b[one][0] - b[two][0])
        down = (a[one][1] - a[two][1]) * (b[one][1] - b[two][1])
        changed += (across < 0) + (down < 0)
    return changed / (2 * len(pairs)) if pairs else 0.0


def bends(drawn: Mapping[str, Sequence[tuple[tuple[float, float], tuple[float, float]]]]) -> int:
    """Corners that are no joints. drawn: net -> edges."""
    total = 0
    for edges in drawn.values():
        at: dict[tuple[float, float], list[bool]] = defaultdict(list)
        for a, b in dict.fromkeys(edges):
            if a != b:
                upright = a[0] == b[0]
                at[a].append(upright)
                at[b].append(upright)
        total += sum([len(meet) == 2 and meet[0] is not meet[1] for meet in at.values()])
    return total


def crossings(drawn: Mapping[str, Sequence[tuple[tuple[float, float], tuple[float, float]]]]) -> int:
    """Of unlike nets. drawn: net -> edges."""
    upright, level = [], []
    for net, edges in drawn.items():
        for (x1, y1), (x2, y2) in edges:
            if x1 == x2:
                upright.append((net, x1, min(y1, y2), max(y1, y2)))
            else:
                level.append((y1, min(x1, x2), max(x1, x2), net))
    level.sort()
    heights = [y for y, *_ in level]
    total = 0
    for net, x, y0, y1 in upright:
        for _, x0, x1, other in level[bisect_right(heights, y0) : bisect_left(heights, y1)]:
            total += x0 < x < x1 and net != other
    return total
