"""Cylinders and motors. Cylinders stand upright, rod up, all ports led down to the lower edge."""

from __future__ import annotations

from .base import Given, Unfit
from .pen import Pen, Symbol

HEIGHT = 11  # of a cylinder, rod and stub included


def body(pen: Pen, x: float, vented: bool = False) -> None:
    """Barrel 3u x 6u with piston and rod; x: left edge."""
    pen.box(x, 3, 3, 6.5)
    pen.line((x, 6.9), (x + 3, 6.9))
    pen.line((x, 7.5), (x + 3, 7.5))
    pen.line((x + 1.1, 6.9), (x + 1.1, 0.8), (x + 1.9, 0.8), (x + 1.9, 6.9))
    if vented:
        pen.thin((x + 3, 4), (x + 3.6, 4))
        pen.thin((x + 3.6, 3.6), (x + 3.6, 4.4))


def cylinder(given: Given) -> Symbol:
    """Double-acting; one that rephases has a passage past the piston, beside the barrel at that end of the stroke."""
    cap, rod = given.two("cap", "rod")
    pen = Pen()
    body(pen, 1)
    pen.work((3, 9.5), (3, HEIGHT))
    pen.work((4, 4), (5, 4), (5, HEIGHT))
    rephases = getattr(given.params, "rephasing", "no")
    for y, end in ((3.6, "extended"), (8.3, "retracted")):
        if rephases in (end, "both"):
            pen.thin((1, y), (0.3, y), (0.3, y + 0.8), (1, y + 0.8))
    return pen.done(6, HEIGHT, {cap: (3, HEIGHT, "S"), rod: (5, HEIGHT, "S")}, mirrors=True)


def single_acting(given: Given) -> Symbol:
    """One port; the rod side is open to the air. A return spring stands between the piston and the head."""
    if len(given.ports) != 1:
        raise Unfit("port")
    pen = Pen()
    body(pen, 1, vented=True)
    if getattr(given.params, "spring", 0.0) > 0:
        for x in (1.55, 3.45):
            pen.thin((x, 3), *[(x + (0.35 if i % 2 else -0.35), 3 + 0.65 * (i + 0.5)) for i in range(6)], (x, 6.9))
    pen.work((3, 9.5), (3, HEIGHT))
    return pen.done(5, HEIGHT, {given.ports[0].name: (3, HEIGHT, "S")}, mirrors=True)


def telescopic(given: Given) -> Symbol:
    """Stepped rods, one inside the other: as many as it has stages."""
    if len(given.ports) not in (1, 2):
        raise Unfit("port")
    pen = Pen()
    pen.box(1, 5, 4, 4.5)
    stages = len(getattr(given.params, "stages", "123"))
    for n in range(1, stages + 1):
        inset, top = 1.5 * n / stages, 5 - 4.2 * n / stages
        pen.line((1 + inset, 8.4), (1 + inset, top), (5 - inset, top), (5 - inset, 8.4))
    pen.line((1 + 1.5 / stages, 8.4), (5 - 1.5 / stages, 8.4))
    pen.work((3, 9.5), (3, HEIGHT))
    pins = {given.ports[0].name: (3, HEIGHT, "S")}
    if len(given.ports) == 2:
        pen.work((5, 6), (6, 6), (6, HEIGHT))
        pins[given.ports[1].name] = (6, HEIGHT, "S")
    return pen.done(7 if len(pins) == 2 else 6, HEIGHT, pins, mirrors=True, rod=3)


def motor(given: Given) -> Symbol:
    """Both ways of turning; A and B as far apart as the work ports of a spool."""
    a, b = given.port("A"), given.port("B")
    drain = given.maybe("drain", "D", "case")
    pen = Pen()
    pen.circle(4, 3, 2)
    pen.triangle(3.25, 3, "E", 1.2)
    pen.triangle(4.75, 3, "W", 1.2)
    pen.thin((3.75, 0.9), (3.75, 0))
    pen.thin((4.25, 0.9), (4.25, 0))
    pen.work((2, 3), (1, 3), (1, 5.4), (3, 5.4), (3, 6))
    pen.work((6, 3), (7, 3), (7, 5.4), (5, 5.4), (5, 6))
    pins = {a: (3, 6, "S"), b: (5, 6, "S")}
    width = 8
    if drain:
        pen.pilot((5.4, 1.6), (8, 1.6), (8, 6))
        pins[drain] = (8, 6, "S")
        width = 10
    if len(pins) != len(given.ports):
        raise Unfit("drain")
    return pen.done(width, 6, pins, mirrors=True)


MAKERS = {
    "cylinder": cylinder,
    "single-acting cylinder": single_acting,
    "telescopic cylinder": telescopic,
    "hydraulic motor": motor,
}
