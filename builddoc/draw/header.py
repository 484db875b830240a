"""What stands above a circuit drawing: the state, what it is a drawing of, and why there are no figures."""

from __future__ import annotations

from html import escape

from .frame import failure_rows
from .partwords import TEXT, U
from .sheet import Sheet
from .text import width

TALL = 3.0  # u kept for one row
ROW = 1.5  # u for each further one
STATE = 13.0  # px, size of the state's name
GAP = 12.0  # px between it and what follows
EDGE = 20.0  # px of the drawing's width that stay free

Row = list[tuple[str, str]]  # (class, text) of the pieces of one row


def height(sheet: Sheet) -> float:
    """u, alike for all states of a sheet."""
    return TALL + ROW * max(len(_rows(sheet, s)) - 1 + len(_why(sheet, s)) for s in range(sheet.results.size))


def header(sheet: Sheet, s: int, x: str, y: str) -> str:
    """SVG. x, y: of its first word, as written."""
    out = []
    for k, row in enumerate(_rows(sheet, s)):
        for n, (class_, text) in enumerate(row):
            at = f' dx="{GAP:g}"' if n else f' x="{x}" dy="15"' if k else ""
            out.append(f'<tspan class="{class_}"{at}>{escape(text)}</tspan>')
    told = f'<text x="{x}" y="{y}">{"".join(out)}</text>'
    why = _why(sheet, s)
    if why:
        first = 15 * len(_rows(sheet, s))
        spans = (f'<tspan x="{x}" dy="{15 if k else first}">{escape(row)}</tspan>' for k, row in enumerate(why))
        told += f'<text class="bd-why" x="{x}" y="{y}">{"".join(spans)}</text>'
    return told


def _why(sheet: Sheet, s: int) -> tuple[str, ...]:
    failure = sheet.figures.failures[s]
    return failure_rows(f"No figures: {failure}.", sheet.width - 3 * U) if failure else ()


def _rows(sheet: Sheet, s: int) -> list[Row]:
    circuit, room = sheet.circuit, sheet.width - EDGE
    state = list(circuit.states.values())[s]
    status = "" if circuit.status == "built" else circuit.status
    named = (circuit.title or circuit.machine, f"revision {circuit.revision}", status, circuit.date)
    about = [t for t in named if t] if sheet.whole else []
    name = _filled(f"{state.name}{' (fault state)' if state.fault else ''}".split(), " ", STATE, True, room)
    rows: list[Row] = [[("bd-state", row)] for row in name]
    whole = " · ".join(about)
    if whole and width(name[-1], STATE, True) + GAP + width(whole, TEXT) <= room:
        rows[-1].append(("bd-kind", whole))
    elif whole:
        pieces = [row for piece in about for row in _filled(piece.split(), " ", TEXT, False, room)]
        rows += [[("bd-kind", row)] for row in _filled(pieces, " · ", TEXT, False, room)]
    return rows


def _filled(pieces: list[str], glue: str, size: float, bold: bool, room: float) -> list[str]:
    """Pieces in rows no wider than `room` px; a piece that is wider stands alone."""
    rows: list[str] = []
    for piece in pieces:
        if rows and width(f"{rows[-1]}{glue}{piece}", size, bold) <= room:
            rows[-1] += glue + piece
        else:
            rows.append(piece)
    return rows or [""]
