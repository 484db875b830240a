"""Which line each drawn edge of a net is, and which way oil runs in it.

A drawn net is a tree, as is the net of hoses. An edge of either parts the terminals in two; where both part them alike
the edge is that run of that line. Where the drawing joins branches elsewhere than the machine does, an edge is given to
the run that parts the terminals most alike, and carries oil if any passes between the terminals on its two sides.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from .channels import Spot
from .figures import UNKNOWN, Figures
from .scheme import Key, Net, Piece

Edge = tuple[Spot, Spot]


@dataclass(slots=True)
class Stretch:
    """Edges of one run: straight pieces (merged), drawn alike in every state. exact: the run parts the terminals as
    they do. sense: per state, +1 from a to b of the edges as stored, 0 idle, UNKNOWN."""

    line: str
    number: int
    edges: list[Edge]
    flows: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Trace:
    """joints: dots. tees: tee part -> its dot. stretches: what is drawn. entries: terminal -> per state, +1 where oil
    enters the part there, -1 where it leaves it, else 0."""

    stretches: list[Stretch]
    joints: list[Spot]
    tees: dict[str, Spot]
    entries: dict[Key, list[int]]


def entries_of(net: Net, figures: Figures, states: int) -> dict[Key, list[int]]:
    """Per terminal and state: +1 = oil goes from the net into it, -1 = comes from it, 0 = idle, UNKNOWN."""
    ends: dict[Key, tuple[Piece, int]] = {}
    for piece in net.pieces:
        ends[piece.a] = piece, -1
        ends[piece.b] = piece, 1
    found: dict[Key, list[int]] = {}
    for terminal in net.terminals:
        row = [0] * states
        if terminal in ends:
            piece, into = ends[terminal]
            senses = [sense[piece.number] for sense in figures.lines[piece.line].sense]
            row = [UNKNOWN if sense == UNKNOWN else into * sense for sense in senses]
        found[terminal] = row
    return found


def trace(net: Net, edges: Sequence[Edge], places: dict[Key, Spot], figures: Figures, states: int) -> Trace:
    edges = list(dict.fromkeys([e for e in edges if e[0] != e[1]]))
    near: dict[Spot, list[Spot]] = defaultdict(list)
    for a, b in edges:
        near[a].append(b)
        near[b].append(a)
    here = {places[t]: 1 << n for n, t in enumerate(net.terminals)}
    everything = (1 << len(net.terminals)) - 1
    below = _masks(places[net.terminals[0]], near, here)
    wanted = _piece_masks(net)
    entries = entries_of(net, figures, states)
    groups: dict[tuple[str, int, bool], list[tuple[Edge, int]]] = {}
    paths: dict[int, list[Edge]] = {}
    for a, b in edges:
        mask = below[a] & below[b]  # one of the two lies beyond the other
        if mask not in (0, everything):
            paths.setdefault(mask, []).append((a, b))
    between: dict[str, Spot] = {}
    for mask, path in paths.items():
        same = [piece for piece, other in wanted if other == mask]
        if len(same) > 1:
            telling = [piece for piece in same if not figures.lines[piece.line].direct] or same[:1]
        else:
            telling = same
        if not telling:
            piece = _likest(mask, everything, wanted)
            groups.setdefault((piece.line, piece.number, False), []).extend((edge, mask) for edge in path)
            continue
        parts = _shared(path, len(telling), below) if len(telling) > 1 else [path]
        for piece, part in zip(telling, parts, strict=True):
            groups.setdefault((piece.line, piece.number, True), []).extend((edge, mask) for edge in part)
        for one, other in pairwise(zip(telling, parts, strict=True)):
            common = {one[0].a, one[0].b} & {other[0].a, other[0].b}
            between |= {v[1]: other[1][0][0] for v in common if v[0] == "joint"}
    stretches = []
    for (line, number, exact), items in groups.items():
        if exact:
            senses = figures.lines[line].sense
            stretches.append(Stretch(line, number, _merged([e for e, _ in items]), [s[number] for s in senses]))
            continue
        by_mask: dict[int, list[Edge]] = {}
        for edge, mask in items:
            by_mask.setdefault(mask, []).append(edge)
        for mask, some in by_mask.items():
            stretches.append(Stretch(line, number, _merged(some), _sums(net, mask, entries, states)))
    joints = [p for p, beside in near.items() if len(beside) > 2]
    tees = _tees(net, wanted, joints, near, below, everything) | between
    return Trace(stretches, [*joints, *between.values()], tees, entries)


def _masks(root: Spot, near: dict[Spot, list[Spot]], here: dict[Spot, int]) -> dict[Spot, int]:
    """Terminals at or beyond every point, seen from the root."""
    order, parent = [root], {root: root}
    for p in order:
        for q in near[p]:
            if q not in parent:
                parent[q] = p
                order.append(q)
    masks = {p: here.get(p, 0) for p in order}
    for p in reversed(order[1:]):
        masks[parent[p]] |= masks[p]
    return masks


def _piece_masks(net: Net) -> list[tuple[Piece, int]]:
    """What each run parts: terminals beyond it, seen from the first one. Of a ring only a tree is taken."""
    near: dict[Key, list[tuple[Piece, Key]]] = defaultdict(list)
    for piece in net.pieces:
        near[piece.a].append((piece, piece.b))
        near[piece.b].append((piece, piece.a))
    bits = {t: 1 << n for n, t in enumerate(net.terminals)}
    root = net.terminals[0]
    order: list[Key] = [root]
    parent: dict[Key, tuple[Key, Piece | None]] = {root: (root, None)}
    for v in order:
        for piece, w in near[v]:
            if w not in parent:
                parent[w] = (v, piece)
                order.append(w)
    masks = {v: bits.get(v, 0) for v in order}
    found: list[tuple[Piece, int]] = []
    for v in reversed(order[1:]):
        up, run = parent[v]
        assert run is not None
        masks[up] |= masks[v]
        if masks[v]:
            found.append((run, masks[v]))
    return found[::-1]


def _shared(path: list[Edge], count: int, order: dict[Spot, int]) -> list[list[Edge]]:
    """A way without a branch cut into stretches of one length, for lines that follow each other: the first one is the
    nearest to the root. order: all points, those nearer to the root first. Every edge leads away from the root."""
    rank = {spot: n for n, spot in enumerate(order)}
    path = sorted(((a, b) if rank[a] < rank[b] else (b, a) for a, b in path), key=lambda edge: rank[edge[0]])
    each = sum(_length(edge) for edge in path) / count
    out: list[list[Edge]] = [[]]
    room = each
    for a, b in path:
        while len(out) < count and _length((a, b)) > room + 1e-9:
            share = room / _length((a, b))
            cut = (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)
            if room > 1e-9:
                out[-1].append((a, cut))
            out.append([])
            a, room = cut, each
        out[-1].append((a, b))
        room -= _length((a, b))
    return out


def _length(edge: Edge) -> float:
    (x1, y1), (x2, y2) = edge
    return abs(x1 - x2) + abs(y1 - y2)


def _likest(mask: int, everything: int, wanted: list[tuple[Piece, int]]) -> Piece:
    best, score = wanted[0][0], -1
    for piece, other in wanted:
        same = (~(mask ^ other) & everything).bit_count()
        if max(same, everything.bit_count() - same) > score:
            best, score = piece, max(same, everything.bit_count() - same)
    return best


def _sums(net: Net, mask: int, entries: dict[Key, list[int]], states: int) -> list[int]:
    """Whether an edge that is no run of its own carries oil: it does where a terminal beyond it takes or gives any and
    one on the near side as well."""
    out = []
    for s in range(states):
        beyond = [entries[t][s] for n, t in enumerate(net.terminals) if mask >> n & 1]
        before = [entries[t][s] for n, t in enumerate(net.terminals) if not mask >> n & 1]
        if UNKNOWN in beyond or UNKNOWN in before:
            out.append(UNKNOWN)
        else:
            crossing = (1 in beyond and -1 in before) or (-1 in beyond and 1 in before)
            out.append(1 if crossing else 0)
    return out


def _merged(edges: list[Edge]) -> list[Edge]:
    """Collinear edges that touch become one."""
    if len(edges) == 1:
        one, other = edges[0]
        return [(one, other) if one < other else (other, one)]
    rows: dict[tuple[bool, float], list[tuple[float, float]]] = defaultdict(list)
    for (x1, y1), (x2, y2) in edges:
        if x1 == x2:
            rows[True, x1].append((y1, y2) if y1 < y2 else (y2, y1))
        else:
            rows[False, y1].append((x1, x2) if x1 < x2 else (x2, x1))
    out: list[Edge] = []
    for (upright, at), spans in rows.items():
        spans.sort()
        low, high = spans[0]
        for a, b in [*spans[1:], (float("inf"), 0.0)]:
            if a > high:
                out.append(((at, low), (at, high)) if upright else ((low, at), (high, at)))
                low, high = a, b
            else:
                high = max(high, b)
    return out


def _tees(
    net: Net, wanted: list[tuple[Piece, int]], joints: list[Spot], near: dict[Spot, list[Spot]], below: dict[Spot, int],
    everything: int,
) -> dict[str, Spot]:  # fmt: skip
    """The dot that parts the terminals as the tee does; else the one that does it most alike."""
    found: dict[str, Spot] = {}
    if not joints:
        return found
    for name in dict.fromkeys(v[1] for p in net.pieces for v in (p.a, p.b) if v[0] == "joint"):
        mine = set()
        for piece, mask in wanted:
            if ("joint", name) in (piece.a, piece.b):
                mine |= {mask, everything ^ mask}
        best: tuple[int, Spot] | None = None
        for spot in joints:
            around = {below[q] if below[q] != below[spot] and below[q] & below[spot] == below[q] else
                      everything ^ below[spot] for q in near[spot]}  # fmt: skip
            score = len(around & mine)
            if best is None or score > best[0]:
                best = (score, spot)
        if best is not None:
            found[name] = best[1]
    return found
