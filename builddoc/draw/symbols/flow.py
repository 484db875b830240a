"""Checks, restrictions, flow controls and dividers."""

from __future__ import annotations

from .base import Given, Unfit
from .pen import Pen, Symbol
from .pressure import relief_box
from .stack_relief import small_relief


def check(given: Given) -> Symbol:
    inlet, outlet = given.two("inlet", "outlet")
    pen = Pen()
    pen.work((1, 4), (1, 2.9))
    pen.work((1, 0), (1, 1.4))
    pen.seat(1, 2)
    return pen.done(2, 4, {inlet: (1, 4, "S"), outlet: (1, 0, "N")}, turns=True)


def orifice(given: Given) -> Symbol:
    a, b = given.two("A", "B")
    pen = Pen()
    pen.work((1, 0), (1, 4))
    pen.restriction(1, 2)
    if getattr(given.params, "adjustable", False):
        pen.arrow((-0.6, 3.2), (2.6, 0.8))
    return pen.done(2, 4, {a: (1, 4, "S"), b: (1, 0, "N")}, turns=True)


def throttle_check(given: Given) -> Symbol:
    """Adjustable restriction with a check valve past it. Throttled from the inlet, free from the outlet back."""
    inlet, outlet = given.two("inlet", "outlet")
    pen = Pen()
    pen.enclosure(0, 0.6, 7, 5.8)
    pen.work((2, 7), (2, 0))
    pen.restriction(2, 3.5, 1.8)
    pen.arrow((0.6, 4.7), (3.5, 2.2), 0.8)
    pen.work((2, 1.5), (5, 1.5), (5, 2.8))
    pen.work((5, 4.4), (5, 5.5), (2, 5.5))
    pen.seat(5, 3.5, up=False)
    pen.joint(2, 1.5)
    pen.joint(2, 5.5)
    return pen.done(7, 7, {inlet: (2, 7, "S"), outlet: (2, 0, "N")}, turns=True, mirrors=True)


def flow_control(given: Given) -> Symbol:
    """Pressure-compensated: adjustable restriction with the arrow of compensation, check past it where it has one."""
    inlet, outlet = given.two("inlet", "outlet")
    pen = Pen()
    free = bool(getattr(given.params, "check", getattr(given.params, "free_return", True)))
    width = 8 if free else 6
    pen.enclosure(0, 0.6, width, 5.8)
    pen.work((3, 7), (3, 0))
    pen.restriction(3, 3.5, 1.8)
    pen.arrow((1.4, 4.9), (4.6, 2.1), 0.8)
    pen.arrow((1, 4.6), (1, 2.4), 0.7)
    if free:
        pen.work((3, 1.5), (6.4, 1.5), (6.4, 2.8))
        pen.work((6.4, 4.4), (6.4, 5.5), (3, 5.5))
        pen.seat(6.4, 3.5, up=False)
        pen.joint(3, 1.5)
        pen.joint(3, 5.5)
    return pen.done(width, 7, {inlet: (3, 7, "S"), outlet: (3, 0, "N")}, turns=True, mirrors=True)


def _one_to_two(given: Given, letters: tuple[str, str]) -> Symbol:
    """One inlet, a metered outlet on the left and what is left over on the right."""
    inlet = given.port("inlet", "P")
    first, tank = given.maybe("controlled", "CF", "regulated", "metered"), given.maybe("T")
    rest = [p.name for p in given.ports if p.name not in (inlet, first, tank)]
    if first is None and len(rest) == 2:
        first = rest.pop(0)
    if first is None or len(rest) != 1:
        raise Unfit("controlled")
    pen = Pen()
    x = 6 if tank else 0  # room at the left for the relief of the metered outlet
    pen.enclosure(0, 0.6, x + 10, 5.8)
    pen.work((x + 5, 7), (x + 5, 5.4))
    pen.work((x + 2, 0), (x + 2, 5.4), (x + 8, 5.4), (x + 8, 0))
    pen.joint(x + 5, 5.4)
    pen.restriction(x + 2, 3.4, 1.8)
    pen.arrow((x + 0.6, 4.6), (x + 3.6, 2.1), 0.8)
    pen.box(x + 6.6, 2.2, 2.8, 2.4)
    pen.arrow((x + 8, 4.4), (x + 8, 2.4), 0.8)
    pen.pilot((x + 2, 1.4), (x + 5.2, 1.4), (x + 5.2, 3), (x + 6.6, 3))
    pen.pilot((x + 2, 5), (x + 4.4, 5), (x + 4.4, 3.9), (x + 6.6, 3.9))
    pen.word(x + 2.5, 0.4, letters[0], "start", 0.9)
    pen.word(x + 7.5, 0.4, letters[1], "end", 0.9)
    pins = {inlet: (x + 5, 7, "S"), first: (x + 2, 0, "N"), rest[0]: (x + 8, 0, "N")}
    if tank:
        pen.work((x + 2, 1.1), (3, 1.1), (3, 2.2))
        pen.joint(x + 2, 1.1)
        relief_box(pen, 1.5, 2.2)
        pen.work((3, 5.2), (3, 7))
        pins[tank] = (3, 7, "S")
    return pen.done(x + 10, 7, pins, mirrors=True)


def priority(given: Given) -> Symbol:
    return _one_to_two(given, ("CF", "EF"))


def three_port(given: Given) -> Symbol:
    return _one_to_two(given, ("CF", "EF"))


def gear_divider(given: Given) -> Symbol:
    """Sections on one shaft, one inlet, an outlet each; with a port T a relief at each outlet."""
    inlet = given.port("inlet", "P")
    outlets = [p.name for p in given.ports if p.name != inlet and p.role not in ("drain", "return")]
    others = [p.name for p in given.ports if p.name != inlet and p.name not in outlets]
    if len(outlets) < 2 or len(others) > 1:
        raise Unfit("inlet")
    pen = Pen()
    n = len(outlets)
    y = 5 if others else 0  # room above the gears for the reliefs
    width = 5 * n + (4 if others else 1)
    pen.enclosure(0, 0.6, width, y + 6.8)
    pins = {}
    for i, outlet in enumerate(outlets):
        x = 3 + 5 * i
        pen.circle(x, y + 3.6, 1.6)
        pen.triangle(x, y + 2, "N", 1.1)
        pen.triangle(x, y + 4.3, "N", 1.1)
        if i < n - 1:
            pen.shaft(x + 1.6, y + 3.6, 1.8)
        pen.work((x, y + 2), (x, 0))
        pen.work((x, y + 5.2), (x, y + 6.4))
        pins[outlet] = (x, 0, "N")
        if others:
            pen.work((x, 1.5), (x + 2.5, 1.5))
            pen.joint(x, 1.5)
            small_relief(pen, x + 2.5, 1.5, 5.4)
    middle = 3 + (5 * (n - 1)) // 2
    pen.work((3, y + 6.4), (3 + 5 * (n - 1), y + 6.4))
    pen.work((middle, y + 6.4), (middle, y + 8))
    pen.joint(middle, y + 6.4)
    pins[inlet] = (middle, y + 8, "S")
    if others:
        pen.work((5.5, 5.4), (width - 1, 5.4), (width - 1, y + 8))
        for i in range(1, n):
            pen.joint(5.5 + 5 * i, 5.4)
        pins[others[0]] = (width - 1, y + 8, "S")
    return pen.done(width, y + 8, pins, mirrors=not others)


def spool_divider(given: Given) -> Symbol:
    """Two restrictions that one spool keeps at the same drop."""
    inlet = given.port("inlet", "P")
    outlets = [p.name for p in given.ports if p.name != inlet]
    if len(outlets) != 2:
        raise Unfit("outlet")
    pen = Pen()
    pen.box(0.5, 1, 9, 4.6)
    for x, outlet in ((2, outlets[0]), (8, outlets[1])):
        pen.work((x, 0), (x, 4.6))
        pen.restriction(x, 2.9, 1.8)
        assert outlet
    pen.work((2, 4.6), (8, 4.6))
    pen.work((5, 4.6), (5, 7))
    pen.joint(5, 4.6)
    pen.arrow((5, 2.9), (3.4, 2.9), 0.8)
    pen.arrow((5, 2.9), (6.6, 2.9), 0.8)
    pins = {inlet: (5, 7, "S"), outlets[0]: (2, 0, "N"), outlets[1]: (8, 0, "N")}
    return pen.done(10, 7, pins, mirrors=True)


def velocity_fuse(given: Given) -> Symbol:
    """Line-rupture valve: shuts when the oil runs out of the load too fast. Valve side below, load above."""
    below, above = given.two("V", "load")
    pen = Pen()
    pen.work((2, 6), (2, 5))
    pen.work((2, 1), (2, 0))
    pen.box(0.5, 1, 3, 4)
    pen.restriction(2, 2.2, 1.4, 0.4)
    pen.arrow((2, 1.2), (2, 4.8), 0.8)
    pen.thin((3.5, 4.2), (3.8, 3.9), (3.3 + 0.9, 4.4), (4.5, 3.9), (4.9, 4.2))
    pen.pilot((2, 0.5), (0, 0.5), (0, 3), (0.5, 3))
    return pen.done(5, 6, {below: (2, 6, "S"), above: (2, 0, "N")}, turns=True, mirrors=True)


def shut_off(given: Given) -> Symbol:
    """Bow tie; filled where it is shut in the state shown."""
    a, b = given.two("A", "B")
    pen = Pen()
    pen.work((1, 0), (1, 1))
    pen.work((1, 3), (1, 4))
    pen.polygon((0.1, 1), (1.9, 1), (0.1, 3), (1.9, 3))
    pen.when = "shut"
    pen.polygon((0.1, 1), (1.9, 1), (0.1, 3), (1.9, 3), style="f")
    return pen.done(2, 4, {a: (1, 4, "S"), b: (1, 0, "N")}, turns=True)


MAKERS = {
    "check valve": check,
    "orifice": orifice,
    "throttle check valve": throttle_check,
    "flow control valve": flow_control,
    "three-port flow control": three_port,
    "priority divider": priority,
    "flow divider": gear_divider,
    "spool divider": spool_divider,
    "velocity fuse": velocity_fuse,
    "shut-off valve": shut_off,
}
