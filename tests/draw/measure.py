"""Faults and qualities of a placed circuit drawing, counted from its geometry alone."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import combinations

from builddoc.draw.scheme import Block
from builddoc.draw.sheet import STUB, Sheet

Box = tuple[float, float, float, float]
Spot = tuple[float, float]


def hits(a: Box, b: Box, m: float = 0.0) -> bool:
    return a[0] < b[2] - m and b[0] < a[2] - m and a[1] < b[3] - m and b[1] < a[3] - m


def boxes(sheet: Sheet) -> dict[str, Box]:
    """Bodies of symbols, with the reservoirs below them as bodies of their own."""
    found = {str(b.key): (float(b.x), b.y, float(b.x + b.w), b.y + b.h) for b in sheet.made.blocks}
    for net, (x, y), _ in sheet.stubs:
        found[f"reservoir of {net.pieces[0].line}"] = (x - 1.5, y + STUB - 0.8, x + 1.5, y + STUB + 0.5)
    return found


def words(sheet: Sheet) -> dict[str, Box]:
    found = {f"words {n} of {key}": box for key, text in sheet.texts.items() for n, box in enumerate(text.boxes)}
    for name, label in sheet.labels.items():
        if label.put.box:
            found[f"label of {name}"] = label.put.box
    return found | {f"badge of {name}": box for name, box in sheet.badges.items()}


def edges(sheet: Sheet) -> Iterator[tuple[str, str, Spot, Spot]]:
    """(net, line, from, to) of everything drawn between blocks, low ends first."""
    for name, trace in sheet.traces.items():
        for stretch in trace.stretches:
            for a, b in stretch.edges:
                yield name, stretch.line, min(a, b), max(a, b)


def faults(sheet: Sheet) -> Counter[str]:
    """What must never happen."""
    bad: Counter[str] = Counter()
    lines = list(edges(sheet))
    for (n1, _, a, b), (n2, _, c, d) in combinations(lines, 2):
        if n1 == n2:
            continue
        upright = a[0] == b[0] == c[0] == d[0] and min(b[1], d[1]) - max(a[1], c[1]) > 0.05
        level = a[1] == b[1] == c[1] == d[1] and min(b[0], d[0]) - max(a[0], c[0]) > 0.05
        bad["lines on one another"] += upright or level
    bodies, texts = boxes(sheet), words(sheet)
    for _, line, a, b in lines:
        thin = (a[0] - 1e-6, a[1] - 1e-6, b[0] + 1e-6, b[1] + 1e-6)
        bad["line through a symbol"] += sum(hits(thin, (x0 + 0.1, y0 + 0.1, x1 - 0.1, y1 - 0.1))
                                            for x0, y0, x1, y1 in bodies.values())  # fmt: skip
        bad["line through words"] += sum(hits(thin, box) for name, box in texts.items()
                                         if not name.startswith("badge") and name != f"label of {line}")  # fmt: skip
    bad["symbols overlap"] += sum(hits(a, b, 0.05) for a, b in combinations(bodies.values(), 2))
    bad["words overlap"] += sum(hits(a, b, 0.05) for a, b in combinations(texts.values(), 2))
    # A stack's own words stand under its enclosure, between its ports.
    bad["words on a symbol"] += sum(hits(a, b, 0.1) for name, a in texts.items() for key, b in bodies.items()
                                    if not name.endswith(f"of {key}"))  # fmt: skip
    bad["port not reached"] += sum(unreached(sheet, net.name) for net in sheet.made.nets)
    drawn = {line for _, line, *_ in lines} | {p.line for net, *_ in sheet.stubs for p in net.pieces}
    listed = {name for name, label in sheet.labels.items() if label.letter}
    spoken = {name for name, rows in sheet.figures.lines.items() if any(any(r) for s in rows.rows for r in s)}
    bad["line neither drawn nor listed"] += len((set(sheet.circuit.lines) & spoken) - drawn - listed)
    for pack in sheet.packs:
        held = [k for k, box in bodies.items() if hits(box, pack, 0.1)]
        bad["enclosure cuts a part"] += sum(
            not (pack[0] <= bodies[k][0] and bodies[k][2] <= pack[2] and pack[1] <= bodies[k][1]) for k in held
        )
        bad["foreign part in an enclosure"] += strangers(sheet, [b for b in sheet.made.blocks if str(b.key) in held])
    return +bad


def strangers(sheet: Sheet, held: list[Block]) -> int:
    """Of the blocks in an enclosure, how many are not screwed to the others: by lines that are no more than a joint,
    through tees, or by standing on one shaft."""
    near: dict[str, set[str]] = defaultdict(set)
    for line in sheet.circuit.lines.values():
        if line.conduit is None and not line.fittings:
            ends = [end.part or f"line {end.line}" for end in (line.start, line.end)]
            near[ends[0]].add(ends[1])
            near[ends[1]].add(ends[0])
    for block in sheet.made.blocks:
        names = [m.part for m in block.members]
        for name in names:
            near[name] |= set(names)
    parts = [b for b in held if b.key[0] == "part"]
    seen, queue = {parts[0].members[0].part}, [parts[0].members[0].part]
    while queue:
        fresh = {n for n in near[queue.pop()] if n not in seen and n != "tank"}
        seen |= fresh
        queue += fresh
    return sum(b.members[0].part not in seen for b in parts)


def unreached(sheet: Sheet, name: str) -> int:
    """Terminals of a net that its edges do not join to the first one."""
    net = next(n for n in sheet.made.nets if n.name == name)
    near: dict[Spot, set[Spot]] = defaultdict(set)
    for a, b in sheet.routed.edges[name]:
        near[a].add(b)
        near[b].add(a)
    for a in list(near):
        for c, d in sheet.routed.edges[name]:
            on = min(c[0], d[0]) <= a[0] <= max(c[0], d[0]) and min(c[1], d[1]) <= a[1] <= max(c[1], d[1])
            if on:
                near[a] |= {c, d}
                near[c].add(a)
                near[d].add(a)
    start = sheet.routed.places[net.terminals[0]]
    seen, queue = {start}, [start]
    while queue:
        fresh = near[queue.pop()] - seen
        seen |= fresh
        queue += fresh
    return sum(sheet.routed.places[t] not in seen for t in net.terminals)


def crossings(sheet: Sheet) -> int:
    """Of unlike nets."""
    lines = list(edges(sheet))
    upright = [(n, a[0], a[1], b[1]) for n, _, a, b in lines if a[0] == b[0]]
    level = [(n, a[1], a[0], b[0]) for n, _, a, b in lines if a[1] == b[1] and a[0] != b[0]]
    return sum(n != m and x0 < x < x1 and y0 < y < y1 for n, x, y0, y1 in upright for m, y, x0, x1 in level)


def bends(sheet: Sheet) -> int:
    """Corners that are no joints."""
    total = 0
    for name in sheet.traces:
        at: dict[Spot, list[bool]] = defaultdict(list)
        for a, b in dict.fromkeys(e for e in sheet.routed.edges[name] if e[0] != e[1]):
            for p in (a, b):
                at[p].append(a[0] == b[0])
        total += sum(len(d) == 2 and len(set(d)) == 2 for d in at.values())
    return total
