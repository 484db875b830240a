"""A circuit as blocks with pins and nets between them: what is to be placed and routed.

A block is one symbol or several that belong together (a driver with its pumps, cylinders on one beam). A net is
everything that is one node of lines: tees and branch points become joints of it, not blocks. The order of everything
comes from graph.py's walk, never from the order of writing.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from .. import kinds
from ..circuit import Circuit
from ..nodes import UnionFind
from .graph import Picture, Spot, picture
from .symbols import Symbol, symbol_of
from .symbols.pen import Mark, Pen, Pin

Key = tuple[str, ...]
JOINTS = ("tee", "manifold block")  # symbols that are a joint of lines in a circuit
MANY = 3  # upper ports, of which some lie between others
TANK_ROOM = 4  # u below a port at which the reservoir is repeated


@dataclass(slots=True)
class Member:
    """A part's symbol in a block, dx right of the block's left edge and dy below its top. other: the symbol mirrored,
    once it was needed."""

    part: str
    symbol: Symbol
    dx: int = 0
    dy: int = 0
    other: Symbol | None = None


@dataclass(slots=True)
class Block:
    """key: of the first part, or of a reservoir. x, y: place in u (y once rows are known). Room for words: lw at the
    right, left at the left, over above; tall: height of symbol and words beside it. tanks: terminals with the
    reservoir right below. row: counted upwards."""

    key: Key
    members: list[Member]
    links: tuple[Mark, ...] = ()
    actuator: bool = False
    lw: int = 0
    left: int = 0
    over: float = 0.0
    tall: float = 0.0
    tanks: dict[Key, str] = field(default_factory=dict)
    row: int = 0
    x: int = 0
    y: float = 0.0
    known: dict[Key, Pin] = field(default_factory=dict)
    w: int = field(init=False)
    h: int = field(init=False)

    def __post_init__(self) -> None:
        self._measure()

    def _measure(self) -> None:
        self.w = max([m.dx + m.symbol.w for m in self.members])
        self.h = max([m.dy + m.symbol.h for m in self.members])

    @property
    def deep(self) -> float:
        """Height with the reservoirs below and with words that are taller than the symbol."""
        return max(self.h + (TANK_ROOM if self.tanks else 0), self.tall)

    @property
    def H(self) -> float:
        return self.over + self.deep

    def pins(self) -> dict[Key, Pin]:
        if not self.known:
            for m in self.members:
                for port, pin in m.symbol.pins.items():
                    self.known["port", m.part, port] = Pin(m.dx + pin.x, m.dy + pin.y, pin.side)
        return self.known

    def rearranged(self) -> None:
        """After members have moved or turned: pins and the beam follow."""
        self.known = {}
        self._measure()
        if self.links:
            self.links = _beam(self.members)

    def copy(self) -> Block:
        """With members of its own."""
        members = [Member(m.part, m.symbol, m.dx, m.dy) for m in self.members]
        return Block(
            self.key, members, self.links, self.actuator, self.lw, self.left, self.over, self.tall, self.tanks,
            self.row, self.x, self.y, {**self.known},
        )  # fmt: skip

    def mirrors(self) -> list[list[Member]]:
        """What may be mirrored left to right: all members together; on a beam each by itself."""
        if not all(m.symbol.mirrors for m in self.members):
            return []
        return [[m] for m in self.members] if self.links else [self.members]

    def mirror(self, members: list[Member]) -> None:
        """One of the choices that `mirrors` gives."""
        w = self.w
        for m in members:
            m.symbol, m.other = m.other or m.symbol.mirrored(), m.symbol
            if not self.links:
                m.dx = w - m.dx - m.symbol.w
        self.rearranged()


class Piece(NamedTuple):
    """A run of a line as an edge of a net. a, b: vertices (terminals, joints or taps) in the sense of positive flow."""

    line: str
    number: int
    a: Key
    b: Key


@dataclass(slots=True)
class Net:
    """terminals: ports and reservoirs in walking order. pieces: the lines' runs. pilot: terminals that only sense."""

    name: str
    terminals: list[Key]
    pieces: list[Piece]
    pilot: set[Key] = field(default_factory=set)
    role: str = "work"


@dataclass(slots=True)
class Scheme:
    """stubs: nets that are a single port with the reservoir below it. loose: ports that are closed by a plug."""

    circuit: Circuit
    picture: Picture
    blocks: list[Block]
    nets: list[Net]
    stubs: list[Net]
    loose: list[Key]
    home: dict[Key, Block] = field(default_factory=dict)
    by_part: dict[str, Block] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.home = {key: block for block in self.blocks for key in block.pins()}
        self.by_part = {m.part: block for block in self.blocks if block.key[0] == "part" for m in block.members}

    def hanging(self) -> list[tuple[Block, Block]]:
        """(block with many upper ports, what hangs at one of them): the second has to stand above the first, beside
        which it could be reached only across the lines of the other ports. It is a relief and the like: its only
        line comes from above."""
        found = []
        heads = {id(b): sum([p.side == "N" for p in b.pins().values()]) for b in self.blocks}
        for net in self.nets:
            upper = [self.home[t] for t in net.terminals if self.home[t].pins()[t].side == "N"]
            lone = [b for b in upper if len(b.tanks) == 1 and len(b.pins()) == 2]
            if lone:
                wide = [b for b in upper if heads[id(b)] >= MANY]
                found += [(w, b) for w in wide for b in lone if w is not b]
        return found

    def copy(self) -> Scheme:
        """With blocks of its own, to be placed and mirrored."""
        return replace(self, blocks=[b.copy() for b in self.blocks])


def scheme(circuit: Circuit, shown: Picture | None = None) -> Scheme:
    """shown: the part of the circuit that is to be drawn, left out: all of it."""
    return _Builder(circuit, shown).result()


class _Builder:
    def __init__(self, circuit: Circuit, shown: Picture | None):
        self.circuit = circuit
        registry = kinds.registry()
        self.kind = {n: registry[p.kind] for n, p in circuit.parts.items()}
        self.picture = shown or picture(circuit)
        self.ports = self.picture.fitted
        self.sensing: set[Key] = {
            ("port", n, p.name) for n, ports in self.ports.items() for p in ports if "pilot" in (p.role, p.name)
        }
        self.place = {(n, p.name): i for n, ports in self.ports.items() for i, p in enumerate(ports)}
        self.joints = {n for n in circuit.parts if self.kind[n].symbol in JOINTS}
        self.order = {n: i for i, n in enumerate(self.picture.parts)}
        self.symbols = {n: symbol_of(circuit.parts[n]) for n in self.picture.parts if n not in self.joints}

    def result(self) -> Scheme:
        self._fix_roles()
        nets = self._nets()
        self._orient(nets)
        blocks = self._blocks()
        home = {key: block for block in blocks for key in block.pins()}
        kept: list[Net] = []
        stubs: list[Net] = []
        joined: set[Key] = set()
        for net in nets:
            joined.update(net.terminals)
            ports = [t for t in net.terminals if t[0] == "port"]
            tanks = [t for t in net.terminals if t[0] == "tank"]
            if len(ports) == 1 and tanks and home[ports[0]].pins()[ports[0]].side == "S":
                home[ports[0]].tanks[ports[0]] = tanks[0][1]
                stubs.append(net)
            elif len(net.terminals) > 1:
                for tank in tanks[1:]:
                    net.terminals.remove(tank)
                kept.append(net)
                for tank in tanks[:1]:
                    block = _tank_block(tank)
                    blocks.append(block)
                    home |= dict.fromkeys(block.pins(), block)
                    net.terminals[net.terminals.index(tank)] = next(iter(block.pins()))
                    swap = dict.fromkeys(tanks, next(iter(block.pins())))
                    net.pieces = [p._replace(a=swap.get(p.a, p.a), b=swap.get(p.b, p.b)) for p in net.pieces]
        fitted = [key for block in blocks if block.key[0] == "part" for key in block.pins()]
        for line in self.circuit.lines.values():  # one that is not shown plugs no port
            joined |= {("port", end.part, end.port) for end in (line.start, line.end)}
        loose = [key for key in fitted if key not in joined]
        return Scheme(self.circuit, self.picture, blocks, kept, stubs, loose)

    def _fix_roles(self) -> None:
        """A line that ends at a pilot port senses; whatever it starts from."""
        for line in self.circuit.lines.values():
            for end in (line.start, line.end):
                if end.part and not line.duty and ("port", end.part, end.port) in self.sensing:
                    self.picture.roles[line.name] = "pilot"

    # ---- nets
    def _nets(self) -> list[Net]:
        joined = UnionFind()
        pieces = []
        for run in self.picture.runs:
            a, b = self._vertex(run.start), self._vertex(run.end)
            pieces.append(Piece(run.line, run.number, a, b))
            joined.join(a, b)
        groups: dict[Hashable, list[Piece]] = {}
        for piece in pieces:
            groups.setdefault(joined.find(piece.a), []).append(piece)
        nets: list[Net] = []
        for group in groups.values():
            seen: dict[Key, None] = {}
            for piece in group:
                seen.setdefault(piece.a)
                seen.setdefault(piece.b)
            terminals = sorted((v for v in seen if v[0] in ("port", "tank")), key=self._rank)
            if not terminals:
                continue
            roles = {self.picture.roles[p.line] for p in group}
            role = next((r for r in ("suction", "pressure", "work", "return", "drain", "pilot") if r in roles), "work")
            nets.append(Net(f"n{len(nets)}", terminals, group, self.sensing.intersection(terminals), role))
        return nets

    def _vertex(self, spot: Spot) -> Key:
        if spot.key[0] == "part":
            name = spot.key[1]
            return ("joint", name) if name in self.joints else ("port", name, spot.port)
        if spot.key[0] == "tank":
            return ("tank", self.picture.tanks[spot.key], *spot.key[1:])
        return spot.key

    def _rank(self, key: Key) -> tuple[int, int, Key]:
        if key[0] == "tank":
            return 10**6, 0, key
        return self.order[key[1]], self.place[key[1], key[2]], key

    # ---- standing on feet or head
    def _orient(self, nets: list[Net]) -> None:
        """Turn symbols in a line so that the side that leads to actuators lies above the one that leads to the pump or
        the reservoir."""
        at: dict[Key, Net] = {t: net for net in nets for t in net.terminals}
        for name, symbol in self.symbols.items():
            if not symbol.turns:
                continue
            heights: dict[str, list[float]] = {"N": [], "S": []}
            for port, pin in symbol.pins.items():
                heights[pin.side].append(self._height(("port", name, port), at, {name}))
            north = sum(heights["N"]) / max(len(heights["N"]), 1)
            south = sum(heights["S"]) / max(len(heights["S"]), 1)
            if not heights["N"] or not heights["S"]:
                lone = north if heights["N"] else -south
                if lone < 0:
                    self.symbols[name] = symbol.turned()
            elif north < south - 1e-9 or (abs(north - south) <= 1e-9 and self._nearer(name, at)):
                self.symbols[name] = symbol.turned()

    def _height(self, start: Key, at: dict[Key, Net], seen: set[str]) -> float:
        """Where a port leads: +1 to ports at the foot of parts that lie above, -1 to heads of parts below, -2 to the
        reservoir; the mean of all."""
        found: list[float] = []
        queue = [start]
        while queue:
            net = at.get(queue.pop())
            for t in net.terminals if net else ():
                if t[0] == "tank":
                    found.append(-2.0)
                elif t[1] not in seen:
                    symbol = self.symbols[t[1]]
                    if symbol.turns and len(symbol.pins) > 1:
                        seen = seen | {t[1]}
                        queue += [("port", t[1], p) for p in symbol.pins if p != t[2]]
                    else:
                        found.append(1.0 if symbol.pins[t[2]].side == "S" else -1.0)
        return sum(found) / len(found) if found else 0.0

    def _nearer(self, name: str, at: dict[Key, Net]) -> bool:
        """The side towards the pump is the upper one as the symbol stands: it has to be turned."""
        best: dict[str, int] = {"N": 10**6, "S": 10**6}
        for port, pin in self.symbols[name].pins.items():
            net = at.get(("port", name, port))
            for t in net.terminals if net else ():
                if t[0] == "port" and t[1] != name:
                    best[pin.side] = min(best[pin.side], self.order[t[1]])
        return best["N"] < best["S"]

    # ---- blocks
    def _blocks(self) -> list[Block]:
        taken: set[str] = set()
        blocks: list[Block] = []
        for name in self.picture.parts:
            if name in taken or name in self.joints:
                continue
            group = self._together(name)
            taken.update(group)
            blocks.append(self._block(group))
        return blocks

    def _together(self, name: str) -> list[str]:
        """The parts of a block, in order: a driver and its pumps, or the cylinders of a tie."""
        driver = next((d for d, p in self.picture.shafts if name in (d, p)), None)
        if driver is not None:
            driven = [p for d, p in self.picture.shafts if d == driver]
            return [driver, *sorted(driven, key=lambda n: self.order[n])]
        for tie in self.circuit.ties.values():
            if name in tie.parts and all(p in self.symbols for p in tie.parts):
                return sorted(tie.parts, key=lambda n: self.order[n])
        return [name]

    def _block(self, names: list[str]) -> Block:
        members = []
        x = 0
        actuator = all(self.kind[n].group == "actuators" for n in names)
        apart = 5 if actuator and len(names) > 1 else 0
        h = max(self.symbols[n].h for n in names) + (1 if apart else 0)
        shaft = self.symbols[names[1]].axis - self.symbols[names[0]].axis if len(names) > 1 and not actuator else 0
        for n in names:
            symbol = self.symbols[n]
            # A driver has no ports and stands beside the shaft of its pump.
            down = h - symbol.h if actuator else shaft if not symbol.pins else 0
            members.append(Member(n, symbol, x, down))
            x += symbol.w + apart
        return Block(("part", names[0]), members, _beam(members) if apart else (), actuator)


def _beam(members: list[Member]) -> tuple[Mark, ...]:
    """One beam: a double line over the rods."""
    pen = Pen()
    first, last = members[0], members[-1]
    for d in (0.0, 0.5):
        pen.thin((first.dx + first.symbol.rod - 1, 0.9 + d), (last.dx + last.symbol.rod + 1, 0.9 + d))
    return tuple(pen.marks)


def _tank_block(key: Key) -> Block:
    pen = Pen()
    pen.tank(2, 0, 1.6)
    return Block(key, [Member(key[1], pen.done(4, 3, {":".join(key): (2, 0, "N")}))])
