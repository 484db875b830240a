"""Directional valves: one template for single valves and stacks of any number of spools.

Square positions side by side, three or more a spool; the row of them moves so that the position of the state shown
stands at the ports, and is shaded. Facts of a state: "at SPOOL POSITION" (shifted there), "part SPOOL" (not the whole
way), "no sleeve"; these carry flow: "P", "T", "PB", "relief", "by N" (open centre of spool N), "A SPOOL",
"A SPOOL in", "A SPOOL out", "A SPOOL relief", "A SPOOL make-up", "SPOOL section".
"""

from __future__ import annotations

from typing import Any

from ..text import wrap
from .base import Given
from .pen import Pen, Symbol
from .spool import Levels, Spool, positions
from .stack_relief import port_guard, section_relief

Pins = dict[str, tuple[int, int, str]]


def directional(given: Given) -> Symbol:
    params = given.params
    names = list(params.spools) or [""]
    stack = len(names) > 1 or params.power_beyond
    x = left = 8 if params.relief is not None else (1 if stack else 0)
    spools: list[Spool] = []
    for name in names:
        keys = params.spools.get(name)
        joined = {"to tank": "AB", "A to tank": "A", "B to tank": "B"}.get(keys.ports_in_centre if keys else "", "")
        more = tuple(p for p in ("float", "regen") if keys and getattr(keys, p))
        spool = Spool(
            name, x, ("A", "", "B", *more), joined, frozenset(keys.port_reliefs) if keys else frozenset(),
            bool(keys and keys.make_up), bool(keys and keys.relief),
        )  # fmt: skip
        spools.append(spool)
        x += spool.width
    at = Levels(4 if any(s.guarded for s in spools) else 0, 3 if any(s.relief for s in spools) else 0)
    return _stack(spools, params, at) if stack else _single(spools[0], params, at, bool(left))


def _port(name: str, letter: str) -> str:
    return f"{name}.{letter}" if name else letter


def _single(spool: Spool, params: Any, at: Levels, has_relief: bool) -> Symbol:
    """One spool with four ports: the open centre joins P and T inside the box."""
    pen = Pen()
    p, t = spool.a, spool.a + 2
    pins: Pins = {}
    whole = has_relief or spool.guarded or spool.relief
    bottom = at.height if whole else 11
    width = spool.x + spool.width + (1 if spool.guarded else 0)
    if whole:
        pen.enclosure(0.4, 1, width - 0.8, bottom - 2)
    positions(pen, spool, at, 0, params.centre == "open", gallery=False)
    _work_ports(pen, spool, at, pins)
    pen.on = "P"
    pen.work((p, bottom), (p, at.low + 1.6 if params.load_checks else at.low))
    pen.on = "T"
    pen.work((t, at.low), (t, bottom))
    pen.on = ""
    if params.load_checks:
        pen.seat(p, at.low + 1.15, size=0.65, ball=0.45)
        pen.work((p, at.low + 0.7), (p, at.low))
    if has_relief:
        _inlet_relief(pen, p, at.feed, at)
        pen.joint(p, at.feed)
        pen.on = "relief"
        pen.work((4.5, at.back), (t, at.back))
        pen.on = ""
        pen.joint(t, at.back)
    if spool.relief:
        section_relief(pen, spool.a - 4.0, at.feed - 0.7, at.back, f"{spool.name} section")
        pen.work((spool.a - 4.0, at.feed - 0.7), (p, at.feed - 0.7))
        pen.work((spool.a - 4.0, at.back), (t, at.back))
        pen.joint(p, at.feed - 0.7)
    if spool.guarded:
        _aside(pen, [spool], at, width - 1.2, t)
    pins |= {"P": (p, bottom, "S"), "T": (t, bottom, "S")}
    _letters(pen, pins, bottom)
    return pen.done(width, bottom, pins)


def _stack(spools: list[Spool], params: Any, at: Levels) -> Symbol:
    pen = Pen()
    opened, beyond = params.centre == "open", params.power_beyond
    parallel = params.feed == "parallel" or not opened
    px, last = 2, spools[-1]
    end = last.x + last.width + (1 if at.over else 0)
    width = end + (2 if beyond else 1)
    tx = last.a + 2
    pen.enclosure(0.4, 1, width - 0.8, at.height - 2)
    pins: Pins = {}
    for n, spool in enumerate(spools):
        positions(pen, spool, at, n, opened, gallery=opened)
        _work_ports(pen, spool, at, pins)
        _feed_leg(pen, spool, params, at, at.feed if parallel else at.centre)
    if params.relief is not None:
        _inlet_relief(pen, px, at.centre if opened else at.feed, at)
        pen.joint(px, at.centre if opened else at.feed)
    pen.on = "P"
    pen.work((px, at.height), (px, at.feed if parallel else at.centre))
    if parallel:
        _feed_gallery(pen, spools, px, at, opened)
    if opened:
        _open_centre(pen, spools, params, px, width, at)
    _return_gallery(pen, spools, params, at, px)
    if at.over:
        _aside(pen, spools, at, end - 0.2, tx)
    if beyond:
        pen.when = "no sleeve"
        pen.work((width - 1, at.back), (tx, at.back))
        pen.joint(width - 1, at.back)
        pen.when = ""
    pins |= {"P": (px, at.height, "S"), "T": (tx, at.height, "S")}
    if beyond:
        pins["PB"] = (width - 1, at.height, "S")
    _letters(pen, pins, at.height)
    return pen.done(width, at.height, pins)


def _feed_leg(pen: Pen, spool: Spool, params: Any, at: Levels, start: float) -> None:
    """From the gallery through the load check to the spool."""
    pen.on = "|".join(spool.carries("in"))
    if params.load_checks:
        pen.work((spool.a, start), (spool.a, at.low + 1.6))
        pen.work((spool.a, at.low + 0.7), (spool.a, at.low))
        pen.on = ""
        pen.seat(spool.a, at.low + 1.15, size=0.65, ball=0.45)
    else:
        pen.work((spool.a, start), (spool.a, at.low))
    pen.on = ""


def _feed_gallery(pen: Pen, spools: list[Spool], px: int, at: Levels, opened: bool) -> None:
    x = px
    for n, spool in enumerate(spools):
        pen.on = "|".join(key for later in spools[n:] for key in later.carries("in"))
        pen.work((x, at.feed), (spool.a, at.feed))
        pen.on = ""
        if n < len(spools) - 1:
            pen.joint(spool.a, at.feed)
        x = spool.a
    if opened:
        pen.joint(px, at.feed)
        pen.on = "by 0|relief"
        pen.work((px, at.feed), (px, at.centre))
        pen.on = ""


def _open_centre(pen: Pen, spools: list[Spool], params: Any, px: int, width: int, at: Levels) -> None:
    """From spool to spool, over the loop between them; the last one ends in T or PB."""
    x = float(px)
    tapped = params.feed != "parallel"
    for n, spool in enumerate(spools):
        middle = spool.a + 1
        own = f"by {n}"
        before = [f"by {n - 1}"] if n else [own]
        if tapped:
            before += spool.carries("in")
            if n and params.feed == "series":
                before += spools[n - 1].carries("out")
            pen.on = "|".join(before)
            pen.work((x, at.centre), (spool.a, at.centre))
            pen.on = ""
            pen.joint(spool.a, at.centre)
            if spool.relief:
                section_relief(pen, spool.a - 4.0, at.centre, at.back, f"{spool.name} section")
                pen.joint(spool.a - 4.0, at.centre)
            x = spool.a
        pen.on = own
        pen.work((x, at.centre), (middle, at.centre), (middle, at.low))
        x = spool.x + spool.width - 0.5
        if n < len(spools) - 1:
            pen.work((middle, at.boxes), (middle, at.loop), (x, at.loop), (x, at.centre))
            continue
        if params.power_beyond:
            pen.work((middle, at.boxes), (middle, at.loop), (width - 1, at.loop), (width - 1, at.height))
        else:
            pen.work((middle, at.boxes), (middle, at.loop), (x, at.loop), (x, at.back), (spool.a + 2, at.back))
    pen.on = ""


def _return_gallery(pen: Pen, spools: list[Spool], params: Any, at: Levels, px: int) -> None:
    """T of the spools, and of reliefs at the left, to the port T below the last spool."""
    series = params.feed == "series" and params.centre == "open"
    carried: list[str] = []
    x: float | None = None
    if params.relief is not None:
        x, carried = 4.5, ["relief"]
    for n, spool in enumerate(spools):
        here = float(spool.a + 2)
        onward = series and n < len(spools) - 1
        if spool.relief:
            start = spool.a - 4.0
            if x is not None:
                pen.on = "|".join(carried)
                pen.work((x, at.back), (start, at.back))
                pen.on = ""
                pen.joint(start, at.back)
            x, carried = start, [*carried, f"{spool.name} section"]
        pen.on = "|".join(spool.carries("out"))
        if onward:
            to = spools[n + 1].x + 1.0
            pen.work((here, at.low), (here, at.centre + 0.7), (to, at.centre + 0.7), (to, at.centre))
            pen.on = ""
            pen.joint(to, at.centre)
            continue
        pen.work((here, at.low), (here, at.back))
        if x is not None:
            pen.on = "|".join(carried)
            pen.work((x, at.back), (here, at.back))
        pen.on = ""
        if x is not None or n == len(spools) - 1:
            pen.joint(here, at.back)
        x, carried = here, [*carried, *spool.carries("out")]
    pen.on = "T"
    pen.work((spools[-1].a + 2, at.back), (spools[-1].a + 2, at.height))
    pen.on = ""


def _inlet_relief(pen: Pen, px: int, start: float, at: Levels) -> None:
    """Built-in relief at the left: from the feed line at (px, start) over its top down to the return gallery."""
    y = at.boxes + 0.2
    pen.on = "relief"
    rise = [(px, start), (px, at.loop)] if px < 3 else [(px, start), (1.6, start), (1.6, at.loop)]
    pen.work(*rise, (4.5, at.loop), (4.5, y))
    pen.arrow((4.1, y + 0.2), (4.1, y + 1.8), 0.7)
    pen.work((4.5, y + 2), (4.5, at.back))
    pen.on = ""
    pen.box(3.5, y, 2, 2)
    pen.spring(5.5, y + 1, 1.2, 0.9, 3)
    pen.arrow((5.5, y + 1.9), (6.8, y - 0.1), 0.6)
    pen.pilot((4.5, at.loop + 0.5), (2.8, at.loop + 0.5), (2.8, y + 1), (3.5, y + 1))


def _work_ports(pen: Pen, spool: Spool, at: Levels, pins: Pins) -> None:
    for letter, x in (("A", spool.a), ("B", spool.a + 2)):
        pins[_port(spool.name, letter)] = (x, 0, "N")
        own = f"{letter} {spool.name}"
        if letter in spool.reliefs or spool.make_up:
            pen.on = f"{own}|{own} relief|{own} make-up"
            pen.work((x, 0), (x, at.tap))
            pen.on = own
            pen.work((x, at.tap), (x, at.boxes))
        else:
            pen.on = own
            pen.work((x, 0), (x, at.boxes))
        pen.on = ""
        pen.word(x - 0.35 if letter == "A" else x + 0.35, 0.8, letter, "end" if letter == "A" else "start", 1.0)
    rows = wrap(spool.name, 9, rows=2)
    for n, row in enumerate(rows):
        pen.word(spool.a - 0.6, at.boxes - 1.0 - 1.1 * (len(rows) - n), row, "end", 1.1)


def _aside(pen: Pen, spools: list[Spool], at: Levels, right: float, tx: int) -> None:
    """Reliefs and make-up checks of the work ports, and the gallery that joins them to T."""
    places: list[tuple[float, list[str]]] = []
    for spool in spools:
        for letter in "AB":
            places += port_guard(pen, spool.name, letter, spool.a, letter in spool.reliefs, spool.make_up,
                                 at.tap, at.aside)  # fmt: skip
    places.sort()
    pen.on = "|".join(key for _, keys in places for key in keys)
    pen.work((places[0][0], at.aside), (right, at.aside), (right, at.back), (tx, at.back))
    pen.on = ""
    for x, _ in places[1:]:
        pen.joint(x, at.aside)
    pen.joint(tx, at.back)


def _letters(pen: Pen, pins: Pins, bottom: int) -> None:
    for name, side in (("P", 1), ("T", 1), ("PB", -1)):
        if name in pins:
            pen.word(pins[name][0] + 0.4 * side, bottom - 0.15, name, "start" if side > 0 else "end", 1.0)


MAKERS = {"directional valve": directional}
