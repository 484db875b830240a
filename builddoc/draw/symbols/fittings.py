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
    """Diamond with the element across; check valve past it where it has a by-pass, and a lamp where it has an
    indicator."""
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
        _past(pen, x, 5.4)
        width = 7
    if getattr(given.params, "indicator", None) is not None:
        pen.circle(4.2, 1.15, 0.5, "t")
        pen.thin((3.1, 1.6), (3.74, 1.34))
        width = max(width, 5)
    return pen.done(width, 5, {inlet: (x, 5, "S"), outlet: (x, 0, "N")}, turns=True, mirrors=True)


def _past(pen: Pen, x: float, at: float) -> None:
    """Bypass check of a filter or cooler, in at (x, 5) and out at (x, 0): its valve stands at `at`."""
    pen.work((x, 0.3), (at, 0.3), (at, 1.8))
    pen.work((at, 3.3), (at, 4.7), (x, 4.7))
    pen.seat(at, 2.5, size=0.7)
    pen.joint(x, 0.3)
    pen.joint(x, 4.7)


def cooler(given: Given) -> Symbol:
    """Diamond, heat leaves at both sides; check valve past it where it has a by-pass."""
    inlet, outlet = given.two("inlet", "outlet")
    pen = Pen()
    pen.work((3, 5), (3, 4.5))
    pen.work((3, 0), (3, 0.5))
    pen.polygon((3, 0.5), (5, 2.5), (3, 4.5), (1, 2.5))
    pen.arrow((2, 2.5), (0, 2.5), 0.8)
    pen.arrow((4, 2.5), (6, 2.5), 0.8)
    bypass = getattr(given.params, "bypass", None) is not None
    if bypass:
        _past(pen, 3, 7.4)
    width = 9 if bypass else 6
    return pen.done(width, 5, {inlet: (3, 5, "S"), outlet: (3, 0, "N")}, turns=True, mirrors=bypass)


def quick_coupler(given: Given) -> Symbol:
    """Two halves, each with its check valve if it has one, else open; apart, balls sit and a gap shows."""
    a, b = given.two("A", "B")
    valves = getattr(given.params, "valves", "both")
    pen = Pen()
    for letter, s in (("A", 1.0), ("B", -1.0)):  # lower half, upper half
        def y(d: float, s: float = s) -> float:
            return 3 + s * d

        valved = valves in ("both", letter)
        pen.when = ""
        pen.work((1, y(3)), (1, y(1.8)))
        pen.when = "!apart"
        if valved:
            pen.line((0.1, y(0.6)), (1, y(1.5)), (1.9, y(0.6)))
            pen.circle(1, y(0.5), 0.5)
        else:
            _bracket(pen, y(0.5), s)
        pen.work((1, y(1.8)), (1, y(1.5 if valved else 0)))
        pen.when = "apart"
        if valved:
            pen.line((0.1, y(1.5)), (1, y(2.2)), (1.9, y(1.5)))
            pen.circle(1, y(1.45), 0.5)
            pen.line((0.1, y(0.6)), (1.9, y(0.6)))
        else:
            pen.work((1, y(1.8)), (1, y(1.1)))
            _bracket(pen, y(1.1), s)
    pen.when = "!apart"
    if valves == "both":
        pen.line((0.1, 3), (1.9, 3))
    return pen.done(2, 6, {a: (1, 6, "S"), b: (1, 0, "N")}, turns=True)


def _bracket(pen: Pen, y: float, s: float) -> None:
    """Open end of a half without a valve; its ears point up (s = 1) or down (-1)."""
    pen.line((0.1, y - 0.4 * s), (0.1, y), (1.9, y), (1.9, y - 0.4 * s))


def coupler_half(given: Given) -> Symbol:
    """One half, closed by its check valve, or open."""
    if len(given.ports) != 1:
        raise Unfit("port")
    pen = Pen()
    if getattr(given.params, "valved", True):
        pen.work((1, 3), (1, 2.1))
        pen.line((0.1, 1.3), (1, 2.1), (1.9, 1.3))
        pen.circle(1, 1.2, 0.5)
        pen.line((0.1, 0.4), (1.9, 0.4))
    else:
        pen.work((1, 3), (1, 0.9))
        _bracket(pen, 0.9, 1.0)
    return pen.done(2, 3, {given.ports[0].name: (1, 3, "S")}, turns=True)


MAKERS = {
    "tee": tee,
    "manifold block": manifold,
    "plug": plug,
    "gauge": gauge,
    "filter": filter_,
    "cooler": cooler,
    "quick coupler": quick_coupler,
    "coupler half": coupler_half,
}
