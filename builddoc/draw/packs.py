"""Chain lines round what is screwed together with a pump."""

from __future__ import annotations

from collections.abc import Hashable

from ..circuit import Circuit
from ..nodes import UnionFind
from .graph import joined_directly
from .labelling import Box
from .scheme import Block, Scheme


def packs(made: Scheme, circuit: Circuit) -> list[Box]:
    """Enclosures of what is screwed together round a pump, if nothing else stands inside."""
    together = UnionFind()
    for net in made.nets:
        screwed = [piece for piece in net.pieces if joined_directly(circuit.lines[piece.line])]
        if not screwed:
            continue
        ends = UnionFind()
        for piece in screwed:
            ends.join(piece.a, piece.b)
        first: dict[Hashable, Block] = {}
        for t in net.terminals:
            block = made.home[t]
            together.join(id(first.setdefault(ends.find(t), block)), id(block))
    groups: dict[Hashable, list[Block]] = {}
    for block in made.blocks:
        groups.setdefault(together.find(id(block)), []).append(block)
    found = []
    for group in groups.values():
        pumps = [b.row for b in group if _has_pump(b, made)]
        for top in range(max(b.row for b in group), min(pumps) - 1, -1) if pumps else ():
            box = _pack(made, [b for b in group if b.row <= top])
            if box:
                found.append(box)
                break
    return found


def _has_pump(block: Block, made: Scheme) -> bool:
    fitted = made.picture.fitted
    return block.key[0] == "part" and any(p.role == "suction" for m in block.members for p in fitted[m.part])


def _pack(made: Scheme, group: list[Block]) -> Box | None:
    """Rectangle round the blocks if nothing else stands inside."""
    if len(group) < 2:
        return None
    box = (
        min(b.x - b.left for b in group) - 0.7, min(b.y - b.over for b in group) - 1.0,
        max(b.x + b.w + b.lw for b in group) + 0.7,
        max(b.y + b.deep for b in group) + 0.7,
    )  # fmt: skip
    own = {id(b) for b in group}
    inside = any(
        id(b) not in own and b.x - b.left - 0.6 < box[2] and box[0] < b.x + b.w + b.lw + 0.6
        and b.y - b.over < box[3] and box[1] < b.y + b.deep
        for b in made.blocks
    )  # fmt: skip
    return None if inside else box
