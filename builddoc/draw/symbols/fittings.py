"""What sits in lines: joints, plugs, couplers, filters, coolers, gauges, blocks."""

from __future__ import annotations

from .base import Given, Unfit
from .pen import Pen, Symbol


def tee(given: Given) -> Symbol:
    """Shown alone (contact sheet): a joint dot. In a circuit it is the dot of its lines."""
    pen = Pen()
    pen.joint(2, 2)
    places = [(2, 4, "S"), (2, 0, "N"), (0, 0, "N"), (4, 0, "N")]
    if len(given.ports) > len(places):
        raise Unfit("port")
    pins = {}
    for port, (x, y, side) in zip(given.ports, places, strict=False):
        pins[port.name] = (x, y, side)
        pen.work((x, y), (x, 2), (2, 2))
    return pen.done(4, 4, pins)


def manifold(given: Given) -> Symbol:
    """Shown alone: one gallery in a body. In a circuit its ports are a joint of their lines."""
    pen = Pen()
    count = len(given.ports)
    low, high = given.ports[: (count + 1) // 2], given.ports[(count + 1) // 2 :]
    width = 3 * len(low) + 1
    pen.enclosure(0, 0.6, width, 3.8)
    pins = {}
    for ports, y, side in ((low, 5, "S"), (high, 0, "N")):
        for n, port in enumerate(ports):
            x = 2 + 3 * n
            pins[port.name] = (x, y, side)
            pen.work((x, y), (x, 2.5))
            pen.joint(x, 2.5)
    pen.work((2, 2.5), (2 + 3 * (len(low) - 1), 2.5))
    return pen.done(width, 5, pins)


def plug(given: Given) -> Symbol:
    if len(given.ports) != 1:
        raise Unfit("port")
    pen = Pen()
    pen.work((1, 2), (1, 1))
    pen.line((0.3, 0.3), (1.7, 1.7))
    pen.line((0.3, 1.7), (1.7, 0.3))
    return pen.done(2, 2, {given.ports[0].name: (1, 2, "S")}, turns=True)


def gauge(given: Given) -> Symbol:
    if len(given.ports) != 1:
        raise Unfit("port")
    pen = Pen()
    pen.circle(2, 1.5, 1.5)
    pen.arrow((1.2, 2.3), (2.9, 0.7), 0.8)
    pen.work((2, 3), (2, 4))
    return pen.done(4, 4, {given.ports[0].name: (2, 4, "S")})


def filter_(given: Given) -> Symbol:
    """Diamond with the element across; check valve past it where it has a by-pass."""
    inlet, outlet = given.two("inlet", "outlet")
    pen = Pen()
    bypass = getattr(given.params, "bypass", None) is not None
    x = 2
    pen.work((x, 5), (x, 4.5))
    pen.work((x, 0), (x, 0.5))
    pen.polygon((x, 0.5), (x + 2, 2.5), (x, 4.5), (x - 2, 2.5))
    pen.pilot((x - 2, 2.5), (x + 2, 2.5))
    width = 4
    if bypass:
        pen.thin((x, 0.3), (5.4, 0.3), (5.4, 1.8))
        pen.thin((5.4, 3.3), (5.4, 4.7), (x, 4.7))
        pen.seat(5.4, 2.5, size=0.7)
        width = 7
    indicator = bool(getattr(given.params, "indicator", None))
    if indicator and not bypass:
        pen.circle(4.6, 1.2, 0.6, "t")
        pen.thin((3.1, 1.6), (4, 1.3))
        width = 6
    return pen.done(width, 5, {inlet: (x, 5, "S"), outlet: (x, 0, "N")}, turns=True, mirrors=True)


def cooler(given: Given) -> Symbol:
    """Diamond, heat leaves at both sides."""
    inlet, outlet = given.two("inlet", "outlet")
    pen = Pen()
    pen.work((3, 5), (3, 4.5))
    pen.work((3, 0), (3, 0.5))
    pen.polygon((3, 0.5), (5, 2.5), (3, 4.5), (1, 2.5))
    pen.arrow((2, 2.5), (0, 2.5), 0.8)
    pen.arrow((4, 2.5), (6, 2.5), 0.8)
    return pen.done(6, 5, {inlet: (3, 5, "S"), outlet: (3, 0, "N")}, turns=True)


def quick_coupler(given: Given) -> Symbol:
    """Two halves with a check valve each; apart, both balls sit and a gap shows."""
    a, b = given.two("A", "B")
    pen = Pen()
    pen.work((1, 6), (1, 4.8))
    pen.work((1, 0), (1, 1.2))
    pen.when = "!apart"
    pen.line((0.1, 3.6), (1, 4.5), (1.9, 3.6))
    pen.line((0.1, 2.4), (1, 1.5), (1.9, 2.4))
    pen.circle(1, 3.5, 0.5)
    pen.circle(1, 2.5, 0.5)
    pen.line((0.1, 3), (1.9, 3))
    pen.work((1, 4.8), (1, 4.5))
    pen.work((1, 1.2), (1, 1.5))
    pen.when = "apart"
    pen.line((0.1, 4.5), (1, 5.2), (1.9, 4.5))
    pen.line((0.1, 1.5), (1, 0.8), (1.9, 1.5))
    pen.circle(1, 4.45, 0.5)
    pen.circle(1, 1.55, 0.5)
    pen.line((0.1, 3.6), (1.9, 3.6))
    pen.line((0.1, 2.4), (1.9, 2.4))
    return pen.done(2, 6, {a: (1, 6, "S"), b: (1, 0, "N")}, turns=True)


def plain_coupler(given: Given) -> Symbol:
    """Coupler without valves: two brackets face each other."""
    a, b = given.two("A", "B")
    pen = Pen()
    pen.work((1, 5), (1, 3.3))
    pen.work((1, 0), (1, 1.7))
    pen.when = "!apart"
    pen.work((1, 3.3), (1, 1.7))
    pen.when = ""
    pen.line((0.1, 2), (0.1, 1.7), (1.9, 1.7), (1.9, 2))
    pen.line((0.1, 3), (0.1, 3.3), (1.9, 3.3), (1.9, 3))
    return pen.done(2, 5, {a: (1, 5, "S"), b: (1, 0, "N")}, turns=True)


def coupler_half(given: Given) -> Symbol:
    """One half, closed by its check valve."""
    if len(given.ports) != 1:
        raise Unfit("port")
    pen = Pen()
    pen.work((1, 3), (1, 2.1))
    pen.line((0.1, 1.3), (1, 2.1), (1.9, 1.3))
    pen.circle(1, 1.2, 0.5)
    pen.line((0.1, 0.4), (1.9, 0.4))
    return pen.done(2, 3, {given.ports[0].name: (1, 3, "S")}, turns=True)


MAKERS = {
    "tee": tee,
    "manifold block": manifold,
    "plug": plug,
    "gauge": gauge,
    "filter": filter_,
    "cooler": cooler,
    "quick coupler": quick_coupler,
    "plain coupler": plain_coupler,
    "coupler half": coupler_half,
}
