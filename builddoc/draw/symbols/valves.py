"""Valves that lead oil one way or another and are no stack of spools: steering units and selectors."""

from __future__ import annotations

from .base import Given, Unfit
from .pen import Pen, Symbol
from .stack_relief import port_guard, small_relief


def steering(given: Given) -> Symbol:
    """Steering unit: hand-driven spool and metering set in one body, with the reliefs and make-up checks it has."""
    p, t = given.port("P"), given.port("T")
    left, right = given.port("L"), given.port("R")
    beyond = given.maybe("PB")
    if len(given.ports) != (5 if beyond else 4):
        raise Unfit("LS")
    relief, guarded, make_up = (
        bool(getattr(given.params, name, None)) for name in ("relief", "port_reliefs", "make_up")
    )
    sides = guarded or make_up
    y = 7 if sides else 3  # upper edge of the positions
    low = y + 4
    height = low + (9 if relief else 6 if sides else 4)
    width = 17 if sides else 16
    pen = Pen()
    pen.enclosure(0.4, 1, width - 1, height - 2)
    for n in range(3):
        pen.box(2 + 4 * n, y, 4, 4)
    pen.arrow((3, low), (3, y + 0.1))
    pen.arrow((5, y), (5, low - 0.1))
    pen.shut(7, y, y + 0.9)
    pen.shut(9, y, y + 0.9)
    pen.thin((7, low), (7, low - 1.2), (8 if beyond else 9, low - 1.2), (8 if beyond else 9, low))
    if beyond:
        pen.shut(9, low, low - 0.9)
    pen.arrow((11, low), (13, y + 0.1))
    pen.arrow((11, y), (13, low - 0.1))
    for name, x in ((left, 7), (right, 9)):
        pen.work((x, y), (x, 0))
        pen.word(x - 0.4 if x == 7 else x + 0.4, 0.8, name, "end" if x == 7 else "start", 1.0)
    for name, x in ((p, 7), (t, 9)):
        pen.work((x, low), (x, height))
        pen.word(x - 0.4 if x == 7 else x + 0.4, height - 0.1, name, "end" if x == 7 else "start", 1.0)
    pen.circle(4, low + 1.5, 1.1)
    pen.triangle(4, low + 0.7, "N", 0.7)
    pen.triangle(4, low + 2.3, "S", 0.7)
    pen.shaft(0.8, y + 2, 1.2)
    pen.shaft(5.1, low + 1.5, 1)
    pins = {left: (7, 0, "N"), right: (9, 0, "N"), p: (7, height, "S"), t: (9, height, "S")}
    if beyond:
        # In centre the oil of P goes on.
        pen.work((8, low), (8, low + 1.2), (13, low + 1.2), (13, height))
        pen.word(13.4, height - 0.1, beyond, "start", 1.0)
        pins[beyond] = (13, height, "S")
    if relief or sides:
        _steering_guards(pen, low, height - 2.4, relief, guarded, make_up)
    return pen.done(width, height, pins)


def _steering_guards(pen: Pen, low: int, back: float, relief: bool, guarded: bool, make_up: bool) -> None:
    """Inlet relief beside P; reliefs and make-up checks above the work ports. low: lower edge of the positions. back: y
    where all of them reach T."""
    if relief:
        pen.work((7, low + 3), (4, low + 3))
        pen.joint(7, low + 3)
        small_relief(pen, 4, low + 3, back)
        pen.work((4, back), (9, back))
    if guarded or make_up:
        tops = [
            x for letter in "AB" for x, _ in port_guard(pen, "", letter, 7, guarded, make_up, tap=4.9, gallery=1.6)
        ]  # fmt: skip
        pen.work((min(tops), 1.6), (15.6, 1.6), (15.6, back), (9, back))
        for x in sorted(tops)[1:]:
            pen.joint(x, 1.6)
    pen.joint(9, back)


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
            middle = (x + 2 + to) / 2, (y + low) / 2
            pen.arrow(middle, (x + 2, low), 0.8)  # either way
            pen.arrow(middle, (to, y), 0.8)
        else:
            pen.shut(to, y, y + 0.9)
    if position == "neutral" and not opened:
        pen.shut(x + 2, low, low - 0.9)


MAKERS = {
    "steering unit": steering,
    "selector valve": selector,
}
