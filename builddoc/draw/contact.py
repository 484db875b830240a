"""Contact sheet: the symbol of every kind, from the kind's own example, with its ports marked."""

from __future__ import annotations

from functools import lru_cache
from html import escape
from importlib.resources import files
from typing import Any

import yaml

from .. import kinds
from ..circuit import Part
from .pen_svg import marks_svg, n
from .symbols import symbol_of
from .symbols.pen import Pen, Symbol
from .text import width

COLUMNS_WIDE = 110  # u
NOTE = (
    "Symbols follow the usual fluid-power conventions; they are drawn by us and were not held against the text of a "
    "standard. Dots mark the connection points."
)


@lru_cache(maxsize=1)
def symbols() -> dict[str, Symbol]:
    """Kind -> symbol of its example."""
    found = {}
    for name, kind in kinds.registry().items():
        keys: dict[str, Any] = dict(yaml.load(kind.example, Loader=yaml.BaseLoader))
        keys.pop("kind", None)
        found[name] = symbol_of(Part(name, name, kind.Params(**keys)))
    return found


def contact_svg() -> str:
    """One SVG with all symbols; shown with drawing.css, which a file of its own carries inside."""
    x = y = 2.0
    tallest = 0.0
    out: list[str] = []
    for name, symbol in symbols().items():
        room = max(symbol.w, width(name, 11.0, True) / 10.0) + 4
        if x + room > COLUMNS_WIDE:
            x, y, tallest = 2.0, y + tallest + 5, 0.0
        pen = Pen()
        for pin in symbol.pins.values():
            pen.circle(x + pin.x, y + pin.y, 0.22, "f")
        drawn = marks_svg(symbol.marks, frozenset(), (x, y), symbol.words)
        out.append(
            f'<g class="bd-sym" data-bd-symbol="{escape(name)}">{drawn}'
            f'<text class="bd-name" x="{n(x)}" y="{n(y + symbol.h + 1.9)}">{escape(name)}</text></g>'
            f"{marks_svg(tuple(pen.marks), frozenset())}"
        )
        x += room
        tallest = max(tallest, symbol.h)
    height = (y + tallest + 6) * 10
    note = f'<text class="bd-kind" x="20" y="{height - 14:.0f}">{NOTE}</text>'
    return (
        f'<svg class="bd-flow bd-circuit" xmlns="http://www.w3.org/2000/svg" role="img" aria-label="Symbols" '
        f'width="{COLUMNS_WIDE * 10}" height="{height:.0f}" viewBox="0 0 {COLUMNS_WIDE * 10} {height:.0f}" fill="none" '
        f'font-size="11">{"".join(out)}{note}</svg>'
    )


def symbol_svg(name: str) -> str:
    """The symbol of one kind with its connection points, as one line of SVG; shown with drawing.css."""
    symbol = symbols()[name]
    x, y = 1.5, 1.5
    pen = Pen()
    for pin in symbol.pins.values():
        pen.circle(x + pin.x, y + pin.y, 0.22, "f")
    wide, high = (symbol.w + 3) * 10, (symbol.h + 3) * 10
    drawn = marks_svg(symbol.marks, frozenset(), (x, y), symbol.words) + marks_svg(tuple(pen.marks), frozenset())
    return (
        f'<svg class="bd-flow bd-circuit" xmlns="http://www.w3.org/2000/svg" role="img" '
        f'aria-label="Symbol of a {escape(name)}" width="{wide:.0f}" height="{high:.0f}" '
        f'viewBox="0 0 {wide:.0f} {high:.0f}" fill="none" font-size="11"><g class="bd-sym">{drawn}</g></svg>'
    ).replace("\n", " ")


@lru_cache(maxsize=1)
def style() -> str:
    return (files(__package__) / "drawing.css").read_text("utf-8")


def contact_file(form: str) -> str:
    """The contact sheet as a file: "svg" or "html"."""
    svg = contact_svg()
    if form == "svg":
        own = f"<style>svg{{background:#fff;color:#1d1f23;font-family:sans-serif}}{style()}</style>"
        return svg.replace(">", f">{own}", 1)
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Symbols</title>'
        '<meta name="viewport" content="width=device-width"><style>body{font-family:sans-serif;margin:1rem;'
        f'color:#1d1f23;background:#fff}}{style()}</style></head><body><h1>Symbols</h1><div class="bd-drawing">{svg}'
        "</div></body></html>"
    )
