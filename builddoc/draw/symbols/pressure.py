"""Pressure valves: relief, reducing, sequence, unloading, counterbalance, pilot-operated check, relief blocks."""

from __future__ import annotations

from .base import Given, Unfit
from .pen import Pen, Symbol


def relief_box(pen: Pen, x: float, y: float, adjustable: bool = True, on: str = "") -> None:
    """Square 3u, normally closed: arrow beside the ports, spring to the right, pilot from the inlet above. Inlet
    (x+1.5, y), outlet (x+1.5, y+3)."""
    before = pen.on
    pen.on = on
    pen.box(x, y, 3, 3)
    pen.arrow((x + 0.9, y + 0.3), (x + 0.9, y + 2.8), 0.8)
    pen.on = before
    pen.spring(x + 3, y + 1.5, 1.6, 1.1)
    if adjustable:
        pen.arrow((x + 3.1, y + 2.5), (x + 4.6, y + 0.4), 0.7)
    pen.pilot((x + 1.5, y - 0.5), (x - 0.6, y - 0.5), (x - 0.6, y + 1.5), (x, y + 1.5))


def relief(given: Given) -> Symbol:
    inlet, outlet = given.two("inlet", "outlet")
    pen = Pen()
    pen.work((3, 0), (3, 1))
    relief_box(pen, 1.5, 1)
    pen.work((3, 4), (3, 5))
    return pen.done(7, 5, {inlet: (3, 0, "N"), outlet: (3, 5, "S")}, turns=True, mirrors=True)


def reducing(given: Given) -> Symbol:
    """Normally open: arrow in line, pilot from the outlet, spring chamber drained."""
    inlet, outlet, drain = given.port("inlet"), given.port("outlet"), given.maybe("drain")
    pen = Pen()
    pen.work((3, 5), (3, 4))
    pen.work((3, 1), (3, 0))
    pen.box(1.5, 1, 3, 3)
    pen.arrow((3, 3.9), (3, 1.1), 0.8)
    pen.spring(4.5, 2.5, 1.6, 1.1)
    pen.arrow((4.6, 3.5), (6.1, 1.4), 0.7)
    pen.pilot((3, 0.5), (0.9, 0.5), (0.9, 2.5), (1.5, 2.5))
    pins = {inlet: (3, 5, "S"), outlet: (3, 0, "N")}
    if drain:
        pen.pilot((6.1, 2.5), (7, 2.5), (7, 5))
        pins[drain] = (7, 5, "S")
    return pen.done(8 if drain else 7, 5, pins, mirrors=True)


def sequence(given: Given) -> Symbol:
    """As a relief whose outlet works, spring chamber drained, with the check valve that lets oil back past it."""
    inlet, outlet, drain = given.port("inlet"), given.port("outlet"), given.maybe("drain")
    pen = Pen()
    pen.enclosure(0, 0.6, 11, 5.8)
    pen.work((6, 7), (6, 5))
    pen.work((6, 2), (6, 0))
    pen.box(4.5, 2, 3, 3)
    pen.arrow((5.3, 4.8), (5.3, 2.2), 0.8)
    pen.spring(7.5, 3.5, 1.6, 1.1)
    pen.arrow((7.6, 4.5), (9.1, 2.4), 0.7)
    pen.pilot((6, 5.4), (3.9, 5.4), (3.9, 3.5), (4.5, 3.5))
    pen.work((6, 1.3), (2, 1.3), (2, 2.8))
    pen.work((2, 4.4), (2, 6), (6, 6))
    pen.seat(2, 3.5, up=False)
    pen.joint(6, 1.3)
    pen.joint(6, 6)
    pins = {inlet: (6, 7, "S"), outlet: (6, 0, "N")}
    if drain:
        pen.pilot((9.1, 3.5), (10, 3.5), (10, 7))
        pins[drain] = (10, 7, "S")
    return pen.done(11, 7, pins, mirrors=True)


def unloading(given: Given) -> Symbol:
    """Inlet to tank, opened by a pilot pressure from elsewhere; or with the check valve to the line behind it, whose
    pressure then opens it."""
    inlet, outlet = given.port("inlet", "P"), given.port("outlet", "T", "tank")
    pilot, line = given.maybe("pilot", "X"), given.maybe("A")
    if len(given.ports) != 3 or not (pilot or line):
        raise Unfit("port")
    pen = Pen()
    if line:
        pen.enclosure(0, 0.5, 11, 7)
        pen.work((2, 8), (2, 4.8))
        pen.seat(2, 4.1)
        pen.work((2, 3.4), (2, 0))
        pen.work((2, 6.6), (5.5, 6.6), (5.5, 5.5))
        pen.joint(2, 6.6)
        pen.box(4, 2.5, 3, 3)
        pen.arrow((4.9, 5.3), (4.9, 2.7), 0.8)
        pen.spring(7, 4, 1.6, 1.1)
        pen.arrow((7.1, 5), (8.6, 2.9), 0.7)
        pen.pilot((2, 2), (3.2, 2), (3.2, 4), (4, 4))
        pen.work((5.5, 2.5), (5.5, 1.4), (9, 1.4), (9, 8))
        return pen.done(11, 8, {inlet: (2, 8, "S"), outlet: (9, 8, "S"), line: (2, 0, "N")}, mirrors=True)
    assert pilot
    pen.work((3, 0), (3, 1))
    pen.work((3, 4), (3, 5))
    pen.box(1.5, 1, 3, 3)
    pen.arrow((2.3, 1.2), (2.3, 3.8), 0.8)
    pen.spring(4.5, 2.5, 1.6, 1.1)
    pen.arrow((4.6, 3.5), (6.1, 1.4), 0.7)
    pen.pilot((1.5, 2.5), (0, 2.5), (0, 0))
    return pen.done(7, 5, {pilot: (0, 0, "N"), inlet: (3, 0, "N"), outlet: (3, 5, "S")}, mirrors=True)


def counterbalance(given: Given) -> Symbol:
    """Relief and check side by side, opened by the pilot from the opposite line as well."""
    valve, load, pilot = given.port("V", "valve"), given.port("load", "C"), given.port("pilot", "X")
    pen = Pen()
    pen.enclosure(0, 0.5, 9, 7)
    pen.work((2, 8), (2, 4.8))
    pen.seat(2, 4.1)
    pen.work((2, 3.4), (2, 0))
    pen.work((2, 1.4), (5.5, 1.4), (5.5, 2.5))
    pen.box(4, 2.5, 3, 3)
    pen.arrow((4.9, 2.7), (4.9, 5.3), 0.8)
    pen.spring(7, 4, 1.5, 1.1)
    pen.work((5.5, 5.5), (5.5, 6.6), (2, 6.6))
    pen.joint(2, 6.6)
    pen.joint(2, 1.4)
    pen.pilot((4, 4.6), (3.4, 4.6), (3.4, 6), (7.4, 6), (8, 6.4), (8, 8))
    pen.pilot((5.5, 2), (3.4, 2), (3.4, 3.4), (4, 3.4))
    return pen.done(9, 8, {valve: (2, 8, "S"), pilot: (8, 8, "S"), load: (2, 0, "N")}, mirrors=True)


def pilot_check(given: Given) -> Symbol:
    """Check valve that a pilot pressure opens."""
    valve, load, pilot = given.port("V", "valve"), given.port("load", "C"), given.port("pilot", "X")
    pen = Pen()
    pen.enclosure(0, 0.5, 6, 5)
    pen.work((2, 6), (2, 3.9))
    pen.work((2, 2.4), (2, 0))
    pen.seat(2, 3)
    pen.pilot((5, 6), (5, 3.5), (2.4, 3.5))
    return pen.done(6, 6, {valve: (2, 6, "S"), pilot: (5, 6, "S"), load: (2, 0, "N")}, mirrors=True)


def cross_port_relief(given: Given) -> Symbol:
    """Two reliefs between two lines, one for each sense; each line may pass straight through the block. With a tank
    port: a check valve lets oil follow into either line."""
    a, b = given.port("A"), given.port("B")
    beyond_a, beyond_b, tank = given.maybe("motor A"), given.maybe("motor B"), given.maybe("T")
    if sum(p is not None for p in (a, b, beyond_a, beyond_b, tank)) != len(given.ports):
        raise Unfit("port")
    h = 13 if tank else 9
    pins = {a: (2, h, "S"), b: (12, h, "S")}
    pen = Pen()
    pen.enclosure(0, 0.5, 14, h - 1)
    for x, name in ((2, beyond_a), (12, beyond_b)):
        pen.work((x, h), (x, 0 if name else 2.85))
        if name:
            pins[name] = (x, 0, "N")
    for y, back in ((1.6, False), (5.2, True)):
        pen.work((2, y + 1.25), (5.5, y + 1.25))
        pen.work((8, y + 1.25), (12, y + 1.25))
        pen.box(5.5, y, 2.5, 2.5)
        start, end = (5.7, y + 0.7), (7.8, y + 0.7)
        pen.arrow(*((end, start) if back else (start, end)), 0.8)
        sense = 9.8 if back else 4.6
        pen.pilot((sense, y + 1.25), (sense, y + 2.9), (6.75, y + 2.9), (6.75, y + 2.5))
        pen.thin((6.4, y), (7.1, y - 0.25), (6.4, y - 0.5), (7.1, y - 0.75))
    for y in (2.85, 6.45):
        pen.joint(2, y)
        pen.joint(12, y)
    if tank:
        pins[tank] = (7, h, "S")
        pen.work((7, h), (7, 11.6))
        pen.work((4.5, 10.9), (4.5, 11.6), (9.5, 11.6), (9.5, 10.9))
        pen.joint(7, 11.6)
        for at, line in ((4.5, 2.0), (9.5, 12.0)):
            pen.seat(at, 10)
            pen.work((at, 9.4), (at, 8.7), (line, 8.7))
            pen.joint(line, 8.7)
    return pen.done(14, h, pins)


def relief_block(given: Given) -> Symbol:
    """Reliefs of several lines in one body, with one outlet."""
    tank = given.maybe("T", "outlet", "tank")
    inlets = [p.name for p in given.ports if p.name != tank]
    if tank is None or not inlets:
        raise Unfit("outlet")
    pen = Pen()
    width = 7 * len(inlets) + 1
    pen.enclosure(0, 0.5, width, 6)
    pins = {tank: (3, 7, "S")}
    for n, name in enumerate(inlets):
        x = 3 + 7 * n
        pins[name] = (x, 0, "N")
        pen.work((x, 0), (x, 1.6))
        relief_box(pen, x - 1.5, 1.6)
        pen.work((x, 4.6), (x, 5.7))
        pen.word(x + 0.4, 0.2, name, "start", 0.9)
    pen.work((3, 5.7), (3, 7))
    if len(inlets) > 1:
        pen.work((3, 5.7), (3 + 7 * (len(inlets) - 1), 5.7))
        pen.joint(3, 5.7)
    return pen.done(width, 7, pins)


MAKERS = {
    "relief valve": relief,
    "pressure reducing valve": reducing,
    "sequence valve": sequence,
    "unloading valve": unloading,
    "counterbalance valve": counterbalance,
    "pilot-operated check valve": pilot_check,
    "cross-port relief": cross_port_relief,
    "relief block": relief_block,
}
