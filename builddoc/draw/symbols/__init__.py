"""Symbols of all kinds, found by the name that a kind gives in `symbol`."""

from __future__ import annotations

import math
from typing import Any

from ... import kinds
from ...circuit import Part
from ...kinds.base import Kind
from ..text import wrap
from . import actuators, directional, energy, fittings, flow, pressure, valves
from .base import Given, Maker, Unfit
from .pen import Mark, Pen, Pin, Symbol, Word

__all__ = ["MAKERS", "Mark", "Pin", "Symbol", "Word", "box_symbol", "forget", "symbol_of"]

MAKERS: dict[str, Maker] = {
    **energy.MAKERS, **actuators.MAKERS, **pressure.MAKERS, **flow.MAKERS, **fittings.MAKERS, **valves.MAKERS,
    **directional.MAKERS,
}  # fmt: skip

MOST = 2000  # symbols that are kept
_drawn: dict[tuple[str, str], Symbol] = {}


def symbol_of(part: Part) -> Symbol:
    """The symbol of a part with all its ports; a labelled box where there is none, or where it has no place for one of
    the ports."""
    key = part.kind, part.params.model_dump_json()
    known = _drawn.get(key)
    if known is None:
        if len(_drawn) >= MOST:
            forget()
        known = _drawn[key] = _draw(part)
    return known


def forget() -> None:
    """Draw all symbols anew when they are next wanted: for whoever measures time."""
    _drawn.clear()


def _draw(part: Part) -> Symbol:
    kind: Kind[Any] = kinds.registry()[part.kind]
    given = Given(part.name, kind.ports(part.params), part.params)
    maker = MAKERS.get(kind.symbol)
    if maker is not None:
        try:
            made = maker(given)
        except Unfit:
            return box_symbol(given, kind.name)
        if set(made.pins) == {port.name for port in given.ports} or kind.symbol == "reservoir":
            return made
    return box_symbol(given, kind.name)


def box_symbol(given: Given, title: str) -> Symbol:
    """A body of a kind without a symbol: feeding, pilot and drain ports below, the others above, each with its name."""
    low = [p for p in given.ports if p.role in ("suction", "return", "drain", "pilot") or p.name in ("P", "inlet", "V")]
    high = [p for p in given.ports if p not in low]
    if not low and len(high) > 1:
        low, high = high[: len(high) // 2], high[len(high) // 2 :]
    longest = max((len(p.name) for p in given.ports), default=1)
    pitch = max(2, math.ceil(0.58 * longest) + 1)
    width = max(pitch * max(len(low), len(high)) + 1, 6)
    pen = Pen()
    rows = wrap(title, int((width - 1) / 0.6), rows=3)
    h = 4 + len(rows)
    pen.box(0.5, 1, width - 1, h - 2)
    pins = {}
    for ports, y, side, inside in ((high, 0, "N", 2.0), (low, h, "S", h - 1.3)):
        for n, port in enumerate(ports):
            x = 1 + pitch // 2 + pitch * n
            pins[port.name] = (x, y, side)
            pen.work((x, y), (x, 1 if side == "N" else h - 1))
            pen.word(x, inside, port.name, size=1.0)
    for n, row in enumerate(rows):
        pen.word(width / 2, 3.2 + 1.2 * n, row)
    return pen.done(width, h, pins)
