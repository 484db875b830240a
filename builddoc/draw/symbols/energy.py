"""Pumps, their drivers, reservoirs and accumulators."""

from __future__ import annotations

from .base import Given, Unfit
from .pen import Pen, Symbol


def _pump_circle(pen: Pen, x: float, y: float, up: bool = True) -> None:
    pen.circle(x, y, 2)
    pen.triangle(x, y - 2 if up else y + 2, "N" if up else "S", 1.4)


def pump(given: Given) -> Symbol:
    pen = Pen()
    pen.shaft(0, 2, 2)
    _pump_circle(pen, 4, 2)
    if getattr(given.params, "variable", False):
        pen.arrow((2.2, 3.9), (6, 0.0))
    inlet, outlet = given.two("inlet", "outlet")
    return pen.done(6, 4, {inlet: (4, 4, "S"), outlet: (4, 0, "N")})


def hand_pump(given: Given) -> Symbol:
    """A pump with a hand lever."""
    pen = Pen()
    pen.thin((0, 0.2), (2.4, 1.4))
    pen.circle(0.3, 0.2, 0.3, "f")
    _pump_circle(pen, 4, 2)
    inlet, outlet = given.two("inlet", "outlet")
    return pen.done(6, 4, {inlet: (4, 4, "S"), outlet: (4, 0, "N")})


def tandem_pump(given: Given) -> Symbol:
    """Several sections on one shaft: every suction port below, every delivery above."""
    suctions = [p.name for p in given.ports if p.role == "suction"]
    outlets = [p.name for p in given.ports if p.role not in ("suction", "drain")]
    drains = [p.name for p in given.ports if p.role == "drain"]
    if not outlets or not suctions or len(suctions) > len(outlets) or len(drains) > 1:
        raise Unfit("outlet")
    pen = Pen()
    pins = {}
    for n, outlet in enumerate(outlets):
        x = 4 + 6 * n
        pen.shaft(x - 4, 2, 2)
        _pump_circle(pen, x, 2)
        pins[outlet] = (x, 0, "N")
        if n < len(suctions):
            pins[suctions[n]] = (x, 5, "S")
            pen.work((x, 4), (x, 5))
    last = 4 + 6 * (len(suctions) - 1)
    for n in range(len(suctions), len(outlets)):
        x = 4 + 6 * n
        pen.work((last, 4.6), (x, 4.6), (x, 4))
        pen.joint(last, 4.6)
    width = 6 * len(outlets)
    if drains:
        width += 2
        pins[drains[0]] = (width - 1, 5, "S")
        pen.pilot((width - 2, 2), (width - 1, 2), (width - 1, 5))
    return pen.done(width, 5, pins)


def two_stage_pump(given: Given) -> Symbol:
    """Two gear sets on one shaft in one body; the large one is unloaded through a pilot valve at high pressure."""
    inlet, outlet = given.port("inlet", "suction"), given.port("outlet", "pressure")
    unload = given.maybe("U")
    others = [p.name for p in given.ports if p.name not in (inlet, outlet, unload)]
    if others:
        raise Unfit(others[0])
    pen = Pen()
    pen.enclosure(2, 0.5, 17, 13)
    pen.shaft(0, 10, 3)
    _pump_circle(pen, 5, 10)
    pen.shaft(7, 10, 5)
    _pump_circle(pen, 14, 10)
    # Delivery: the small set straight, the large one through a check valve.
    pen.work((14, 8), (14, 2), (5, 2))
    pen.work((14, 2), (14, 0))
    pen.work((5, 8), (5, 4.4))
    pen.work((5, 3), (5, 2))
    pen.seat(5, 3.5)
    # Unloading valve from the large set back to the inlet, moved by the delivery pressure.
    pen.work((5, 6.5), (9.5, 6.5))
    pen.joint(5, 6.5)
    pen.box(8, 3.2, 3, 2.6)
    pen.thin((9.5, 6.5), (9.5, 5.8))
    pen.arrow((8.7, 5.6), (8.7, 3.4), 0.8)
    pen.spring(6.6, 4.5, 1.4, 0.9)
    pen.pilot((14, 4.5), (11, 4.5))
    pen.joint(14, 4.5)
    pins = {inlet: (14, 14, "S"), outlet: (14, 0, "N")}
    if unload:
        # To a port of its own instead of back to the inlet.
        pen.work((9.5, 3.2), (9.5, 2.6), (18, 2.6), (18, 14))
        pen.word(17.6, 13.2, unload, "end", 1.0)
        pins[unload] = (18, 14, "S")
    else:
        pen.work((9.5, 3.2), (9.5, 2.6), (11.7, 2.6), (11.7, 13))
        pen.joint(11.7, 13)
    pen.work((5, 12), (5, 13), (14, 13), (14, 12))
    pen.work((14, 13), (14, 14))
    pen.joint(14, 13)
    return pen.done(20 if unload else 19, 14, pins, axis=10)


def engine(given: Given) -> Symbol:
    pen = Pen()
    pen.box(0, 0, 4, 4)
    pen.word(2, 2.55, "M", size=1.5, bold=True)
    return pen.done(4, 4, {})


def electric_motor(given: Given) -> Symbol:
    pen = Pen()
    pen.circle(2, 2, 2)
    pen.word(2, 2.55, "M", size=1.5, bold=True)
    return pen.done(4, 4, {})


def dc_motor(given: Given) -> Symbol:
    """An electric motor for direct current: a full stroke above a broken one."""
    pen = Pen()
    pen.circle(2, 2, 2)
    pen.word(2, 2.1, "M", size=1.4, bold=True)
    pen.thin((1.2, 2.6), (2.8, 2.6))
    for x in (1.2, 1.8, 2.4):
        pen.thin((x, 3.05), (x + 0.4, 3.05))
    return pen.done(4, 4, {})


def reservoir(given: Given) -> Symbol:
    """With all its ports as lines that end below the rim; a circuit repeats the small box at each line instead."""
    pen = Pen()
    count = max(len(given.ports), 1)
    width = 2 * count + 2
    pen.line((0, 1), (0, 3), (width, 3), (width, 1))
    pins = {}
    for n, port in enumerate(given.ports):
        x = 2 + 2 * n
        pen.work((x, 0), (x, 2.2))
        pins[port.name] = (x, 0, "N")
    return pen.done(width, 3, pins)


def accumulator(given: Given) -> Symbol:
    """Gas-loaded: capsule with the parting line and an open triangle for the gas."""
    if len(given.ports) != 1:
        raise Unfit("port")
    pen = Pen()
    pen.line((0.5, 3.5), (0.5, 1.5))
    pen.arc((0.5, 1.5), (3.5, 1.5), 1.5, 1)
    pen.line((3.5, 1.5), (3.5, 3.5))
    pen.arc((3.5, 3.5), (0.5, 3.5), 1.5, 1)
    pen.line((0.5, 2.5), (3.5, 2.5))
    pen.triangle(2, 2.3, "S", 1.2, style="t")
    pen.work((2, 5), (2, 6))
    return pen.done(4, 6, {given.ports[0].name: (2, 6, "S")})


MAKERS = {
    "pump": pump,
    "hand pump": hand_pump,
    "tandem pump": tandem_pump,
    "two-stage pump": two_stage_pump,
    "engine": engine,
    "electric motor": electric_motor,
    "DC motor": dc_motor,
    "reservoir": reservoir,
    "accumulator": accumulator,
}
