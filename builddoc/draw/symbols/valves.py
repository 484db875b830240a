"""Directional valves: one template for single valves and stacks of any number of spools.

Three or four square positions a spool, ports at the position of rest; the position of the state shown is shaded. Facts
of a state: "at SPOOL POSITION" (shifted there); "P", "T", "PB", "relief", "A SPOOL", "B SPOOL", "by N" (carry flow).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..text import wrap
from .base import Given, Unfit
from .pen import Pen, Symbol

TOP, BOXES, HEIGHT = 3.9, 5.0, 15  # y of the by-pass loop, of the positions; height of a stack
BYPASS, FEED, RETURN = 10.2, 11.4, 12.7  # y of the galleries


@dataclass(frozen=True, slots=True)
class _Spool:
    name: str
    x: int  # left edge of its room; the positions begin 2u to the right
    float: bool
    to_tank: str
    regen: bool = False

    @property
    def rest(self) -> int:
        return self.x + 6

    @property
    def width(self) -> int:
        return 16 + 4 * (self.float + self.regen)


def directional(given: Given) -> Symbol:
    params = given.params
    names = list(params.spools) or [""]
    has_relief = params.relief is not None
    left = 10 if has_relief else (4 if len(names) > 1 or params.power_beyond else 0)
    spools: list[_Spool] = []
    x = left
    for name in names:
        keys = params.spools.get(name)
        joined = {"to tank": "AB", "A to tank": "A", "B to tank": "B"}.get(keys.ports_in_centre if keys else "", "")
        regen = bool(getattr(keys, "regen", False))
        spool = _Spool(name, x, bool(keys and keys.float), joined, regen)
        spools.append(spool)
        x += spool.width
    if len(spools) == 1 and not params.power_beyond:
        return _single(spools[0], params, has_relief)
    return _stack(spools, params, has_relief, x)


def _port(name: str, letter: str) -> str:
    return f"{name}.{letter}" if name else letter


def _single(spool: _Spool, params: Any, has_relief: bool) -> Symbol:
    """One spool with four ports: the open centre joins P and T inside the box."""
    pen = Pen()
    p, t = spool.rest + 1, spool.rest + 3
    _positions(pen, spool, params, gallery=False)
    pins: dict[str, tuple[int, int, str]] = {}
    bottom = HEIGHT if has_relief else 11
    _work_ports(pen, spool, pins)
    pen.on = "P"
    pen.work((p, BOXES + 4), (p, bottom))
    pen.on = "T"
    pen.work((t, BOXES + 4), (t, bottom))
    pen.on = ""
    width = spool.x + spool.width
    if has_relief:
        pen.enclosure(0.4, 1, width - 0.8, HEIGHT - 2)
        _relief(pen, p, FEED, RETURN)
        pen.joint(p, FEED)
        pen.on = "relief"
        pen.work((5.5, RETURN), (t, RETURN))
        pen.on = ""
        pen.joint(t, RETURN)
    pins |= {"P": (p, bottom, "S"), "T": (t, bottom, "S")}
    _letters(pen, pins, bottom)
    return pen.done(width, bottom, pins)


def _stack(spools: list[_Spool], params: Any, has_relief: bool, end: int) -> Symbol:
    pen = Pen()
    opened, beyond = params.centre == "open", params.power_beyond
    width = end + (2 if beyond else 1)
    px, last = 2, spools[-1]
    tx = last.rest + 3
    pen.enclosure(0.4, 1, width - 0.8, HEIGHT - 2)
    pins: dict[str, tuple[int, int, str]] = {}
    parallel = params.feed == "parallel"
    for spool in spools:
        _positions(pen, spool, params, gallery=opened)
        _work_ports(pen, spool, pins)
    # Feed.
    pen.on = "P"
    pen.work((px, HEIGHT), (px, FEED if parallel and not opened else BYPASS))
    if parallel:
        pen.joint(px, FEED)
        pen.work((px, FEED), (last.rest + 1, FEED))
    pen.on = ""
    for n, spool in enumerate(spools):
        keys = f"A {spool.name} in|B {spool.name} in"
        pen.on = keys
        top, start = BOXES + 4, FEED if parallel else BYPASS
        pen.work((spool.rest + 1, top), (spool.rest + 1, start))
        if (parallel and n < len(spools) - 1) or not parallel:
            pen.joint(spool.rest + 1, start)
        pen.on = ""
        if params.load_checks:
            pen.line((spool.rest + 0.4, top + 1.0), (spool.rest + 1, top + 0.35), (spool.rest + 1.6, top + 1.0))
    # Open centre, from spool to spool.
    if opened:
        _bypass(pen, spools, params, px, width)
    # Return.
    first = spools[0].rest + 3
    series = params.feed == "series"
    pen.on = "T"
    begin = 5.5 if has_relief else float(first if not series else tx)
    pen.work((min(begin, tx), RETURN), (tx, RETURN), (tx, HEIGHT))
    for n, spool in enumerate(spools):
        x = spool.rest + 3
        pen.on = f"A {spool.name} out|B {spool.name} out"
        if series and n < len(spools) - 1:
            to = spools[n + 1].x + 2.0
            pen.work((x, BOXES + 4), (x, BYPASS + 0.6), (to, BYPASS + 0.6), (to, BYPASS))
            pen.joint(to, BYPASS)
            continue
        pen.work((x, BOXES + 4), (x, RETURN))
        pen.joint(x, RETURN)
    pen.on = ""
    if has_relief:
        _relief(pen, px, BYPASS if opened or not parallel else FEED, RETURN)
        pen.joint(px, BYPASS if opened or not parallel else FEED)
    pins |= {"P": (px, HEIGHT, "S"), "T": (tx, HEIGHT, "S")}
    if beyond:
        pins["PB"] = (width - 1, HEIGHT, "S")
    _letters(pen, pins, HEIGHT)
    return pen.done(width, HEIGHT, pins)


def _bypass(pen: Pen, spools: list[_Spool], params: Any, px: int, width: int) -> None:
    x, y = float(px), BYPASS
    for n, spool in enumerate(spools):
        pen.on = f"by {n}"
        middle = spool.rest + 2
        pen.work((x, y), (middle, y), (middle, BOXES + 4))
        x = spool.x + spool.width - 0.3
        last = n == len(spools) - 1
        if not last:
            pen.work((middle, BOXES), (middle, TOP), (x, TOP), (x, BYPASS))
            continue
        x = width - 1 if params.power_beyond else x
        end = HEIGHT if params.power_beyond else RETURN
        pen.work((middle, BOXES), (middle, TOP), (x, TOP), (x, end))
        if not params.power_beyond:
            pen.work((x, RETURN), (spool.rest + 3, RETURN))
    pen.on = ""


def _relief(pen: Pen, px: int, start: float, end: float) -> None:
    """Built-in relief at the left: from the feed line at (px, start) over its top down to the return gallery."""
    pen.on = "relief"
    if px < 5:
        pen.work((px, start), (px, TOP), (5.5, TOP), (5.5, 5.5))
    else:
        pen.work((px, start), (2, start), (2, TOP), (5.5, TOP), (5.5, 5.5))
    pen.box(4, 5.5, 3, 3)
    pen.arrow((4.9, 5.8), (4.9, 8.3), 0.8)
    pen.work((5.5, 8.5), (5.5, end))
    pen.on = ""
    pen.spring(7, 7, 1.6, 1.1)
    pen.arrow((7.1, 8), (8.6, 5.9), 0.7)
    pen.pilot((5.5, 4.8), (3.3, 4.8), (3.3, 7), (4, 7))


def _work_ports(pen: Pen, spool: _Spool, pins: dict[str, tuple[int, int, str]]) -> None:
    for letter, x in (("A", spool.rest + 1), ("B", spool.rest + 3)):
        pins[_port(spool.name, letter)] = (x, 0, "N")
        pen.on = f"{letter} {spool.name}"
        pen.work((x, 0), (x, BOXES))
        pen.on = ""
        pen.word(x - 0.35 if letter == "A" else x + 0.35, 0.8, letter, "end" if letter == "A" else "start", 1.0)
    for n, row in enumerate(wrap(spool.name, 9, rows=2)):
        pen.word(spool.x + 0.2, 2.5 + 1.2 * n, row, "start", 1.1)


def _letters(pen: Pen, pins: dict[str, tuple[int, int, str]], bottom: int) -> None:
    for name in ("P", "T", "PB"):
        if name in pins:
            pen.word(pins[name][0] + 0.4, bottom - 0.15, name, "start", 1.0)


def _positions(pen: Pen, spool: _Spool, params: Any, gallery: bool) -> None:
    """Boxes with their arrows, lever and springs. gallery: a by-pass runs through them, so the ports are six."""
    y, low = BOXES, BOXES + 4
    x0 = spool.x + 2
    order = ["A", "", "B", *(["float"] if spool.float else []), *(["regen"] if spool.regen else [])]
    for n, position in enumerate(order):
        x = x0 + 4 * n
        if position:
            pen.when = f"at {spool.name} {position}"
            pen.box(x, y, 4, 4, "s")
            pen.when = ""
        pen.box(x, y, 4, 4)
        if position in ("A", "B", "regen"):
            _shifted(pen, x, position, gallery)
        else:
            _rest(pen, x, "AB" if position == "float" else spool.to_tank, gallery, params.centre == "open")
    end = x0 + 4 * len(order)
    pen.spring(x0 - 1.3, low - 0.9, 1.3, 1.0, 3)
    pen.spring(end, low - 0.9, 1.3, 1.0, 3)
    pen.line((x0, y + 1), (x0 - 0.8, y + 1), (x0 - 1.4, y - 0.1))
    pen.circle(x0 - 1.5, y - 0.2, 0.28, "f")


def _shifted(pen: Pen, x: float, position: str, gallery: bool) -> None:
    y, low = BOXES, BOXES + 4
    if position == "A":
        pen.arrow((x + 1, low), (x + 1, y + 0.1))
        pen.arrow((x + 3, y), (x + 3, low - 0.1))
    elif position == "B":
        pen.arrow((x + 1, low), (x + 3, y + 0.1))
        pen.arrow((x + 1, y), (x + 3, low - 0.1))
    else:
        # Regenerative: P and B joined to A.
        pen.arrow((x + 1, low), (x + 1, y + 0.1))
        pen.thin((x + 3, y), (x + 3, y + 1.6), (x + 1, y + 1.6))
        pen.shut(x + 3, low, low - 0.9)
    if gallery:
        pen.shut(x + 2, y, y + 0.8)
        pen.shut(x + 2, low, low - 0.8)


def _rest(pen: Pen, x: float, to_tank: str, gallery: bool, opened: bool) -> None:
    """Centre or float: to_tank = work ports that are joined to T."""
    y, low = BOXES, BOXES + 4
    for letter, px in (("A", x + 1), ("B", x + 3)):
        if letter not in to_tank:
            pen.shut(px, y, y + 0.9)
    if "A" in to_tank:
        pen.thin((x + 1, y), (x + 1, y + 1.2), (x + 3, y + 1.2), (x + 3, low))
    if "B" in to_tank:
        pen.thin((x + 3, y), (x + 3, low))
    if gallery:
        pen.thin((x + 2, y), (x + 2, low))
    if not gallery and opened:
        pen.thin((x + 1, low), (x + 1, low - 1.2), (x + 3, low - 1.2), *(() if to_tank else ((x + 3, low),)))
        return
    pen.shut(x + 1, low, low - 0.9)
    if not to_tank:
        pen.shut(x + 3, low, low - 0.9)


def steering(given: Given) -> Symbol:
    """Steering unit: hand-driven spool and metering set in one body."""
    p, t = given.port("P"), given.port("T")
    left, right = given.port("L"), given.port("R")
    beyond = given.maybe("PB")
    if len(given.ports) != (5 if beyond else 4):
        raise Unfit("LS")
    pen = Pen()
    pen.enclosure(0.4, 1, 15, 9)
    for n in range(3):
        pen.box(2 + 4 * n, 3, 4, 4)
    pen.arrow((3, 7), (3, 3.1))
    pen.arrow((5, 3), (5, 6.9))
    pen.shut(7, 3, 3.9)
    pen.shut(9, 3, 3.9)
    pen.thin((7, 7), (7, 5.8), (8 if beyond else 9, 5.8), (8 if beyond else 9, 7))
    if beyond:
        pen.shut(9, 7, 6.1)
    pen.arrow((11, 7), (13, 3.1))
    pen.arrow((11, 3), (13, 6.9))
    for name, x in ((left, 7), (right, 9)):
        pen.work((x, 3), (x, 0))
        pen.word(x - 0.4 if x == 7 else x + 0.4, 0.8, name, "end" if x == 7 else "start", 1.0)
    for name, x in ((p, 7), (t, 9)):
        pen.work((x, 7), (x, 11))
        pen.word(x - 0.4 if x == 7 else x + 0.4, 10.9, name, "end" if x == 7 else "start", 1.0)
    pen.circle(4, 8.5, 1.1)
    pen.triangle(4, 7.7, "N", 0.7)
    pen.triangle(4, 9.3, "S", 0.7)
    pen.shaft(0.8, 5, 1.2)
    pen.shaft(5.1, 8.5, 1)
    pins = {left: (7, 0, "N"), right: (9, 0, "N"), p: (7, 11, "S"), t: (9, 11, "S")}
    if beyond:
        # In centre the oil of P goes on.
        pen.work((8, 7), (8, 8.2), (13, 8.2), (13, 11))
        pen.word(13.4, 10.9, beyond, "start", 1.0)
        pins[beyond] = (13, 11, "S")
    return pen.done(16, 11, pins)


def selector(given: Given) -> Symbol:
    """Leads oil one way or another: one position a way, and a neutral one where it has it. Ports at the position of
    rest. Three ports: C below, A and B above; six: two such groups side by side; four: P and T below, A and B above."""
    names = [p.name for p in given.ports]
    four = set(names) == {"P", "T", "A", "B"}
    groups = [names] if four else [[n for n in names if n[1:] == end] for end in dict.fromkeys(n[1:] for n in names)]
    if not four and any({n[0] for n in group} != set("CAB") or len(group) != 3 for group in groups):
        raise Unfit("port")
    neutral = str(getattr(given.params, "neutral", "none"))
    order = ["A", *([] if neutral == "none" else ["neutral"]), "B"]
    pen, side, y, low = Pen(), 4 * len(groups), 2, 6
    for n, position in enumerate(order):
        left = 2 + side * n
        pen.when = f"at {position}"
        pen.box(left, y, side, 4, "s")
        pen.when = ""
        pen.box(left, y, side, 4)
        for k in range(len(groups)):
            _way(pen, left + 4 * k, position, four, neutral == "open")
    pen.line((2, 3), (1.2, 3), (0.6, 1.9))
    pen.circle(0.5, 1.8, 0.28, "f")
    rest = 2 + side * order.index("neutral" if neutral != "none" else "A")
    pins = {}
    for k, group in enumerate(groups):
        for name in group:
            x = rest + 4 * k + {"C": 2, "P": 1, "A": 1, "T": 3, "B": 3}[name[0]]
            above = name[0] in "AB"
            pins[name] = (x, 0, "N") if above else (x, 8, "S")
            pen.work(*(((x, y), (x, 0)) if above else ((x, low), (x, 8))))
            pen.word(x + 0.3, 0.9 if above else 7.9, name, "start", 0.9)
    return pen.done(2 + side * len(order) + 1, 8, pins)


def _way(pen: Pen, x: float, position: str, four: bool, opened: bool) -> None:
    """What one position of a selector joins."""
    y, low = 2.0, 6.0
    if four:
        if position == "neutral":
            if opened:
                pen.thin((x + 1, y), (x + 1, low))
                pen.thin((x + 3, y), (x + 3, low))
                pen.thin((x + 1, y + 2), (x + 3, y + 2))
            else:
                for px in (x + 1, x + 3):
                    pen.shut(px, y, y + 0.9)
                    pen.shut(px, low, low - 0.9)
        elif position == "A":
            pen.arrow((x + 1, low), (x + 1, y + 0.1))
            pen.arrow((x + 3, y), (x + 3, low - 0.1))
        else:
            pen.arrow((x + 1, low), (x + 3, y + 0.1))
            pen.arrow((x + 1, y), (x + 3, low - 0.1))
        return
    for to, letter in ((x + 1, "A"), (x + 3, "B")):
        if position == letter or (position == "neutral" and opened):
            pen.thin((x + 2, low), (to, y))
        else:
            pen.shut(to, y, y + 0.9)
    if position == "neutral" and not opened:
        pen.shut(x + 2, low, low - 0.9)


MAKERS = {
    "directional valve": directional,
    "steering unit": steering,
    "selector valve": selector,
}
