"""What guards the ports and sections of a valve stack, drawn inside its enclosure."""

from __future__ import annotations

from .pen import Pen


def port_guard(
    pen: Pen, spool: str, letter: str, a: int, relief: bool, make_up: bool, tap: float, gallery: float
) -> list[tuple[float, list[str]]]:
    """Relief and make-up check of a work port, at the left of A or the right of B. a: x of port A. tap: y where they
    leave the port's line. gallery: y of their return. Returns (x, facts) of what meets the gallery."""
    side, x = (-1, a) if letter == "A" else (1, a + 2)
    found = []
    own = f"{letter} {spool}"
    relieved, made_up = f"{own} relief", f"{own} make-up"

    def out(d: float) -> float:
        return x + side * d

    if relief:
        c = out(2.2)
        pen.on = f"{relieved}|{made_up}" if make_up else relieved
        pen.work((x, tap), (c, tap))
        pen.on = relieved
        pen.work((c, tap), (c, tap - 0.7))
        pen.arrow((c - 0.4, tap - 0.9), (c - 0.4, tap - 2.5), 0.7)
        pen.work((c, tap - 2.7), (c, gallery))
        pen.on = ""
        pen.box(c - 1, tap - 2.7, 2, 2)
        pen.spring(min(out(3.2), out(4.2)), tap - 1.7, 1.0, 0.8, 3)
        pen.pilot((c, tap - 0.35), (out(0.75), tap - 0.35), (out(0.75), tap - 1.7), (out(1.2), tap - 1.7))
        found.append((c, [relieved]))
    if make_up:
        c = out(5.2)
        pen.on = made_up
        pen.work((out(2.2) if relief else x, tap), (c, tap), (c, tap - 1.35))
        pen.work((c, tap - 2.45), (c, gallery))
        pen.on = ""
        pen.seat(c, tap - 1.8, up=False, size=0.65, ball=0.45)
        if relief:
            pen.joint(out(2.2), tap)
        found.append((c, [made_up]))
    if found:
        pen.joint(x, tap)
    return found


def section_relief(pen: Pen, x: float, start: float, end: float, on: str) -> None:
    """Relief of one section at x: from its feed line (y = start) down to the return gallery (y = end)."""
    pen.on = on
    small_relief(pen, x, start, end)
    pen.on = ""


def small_relief(pen: Pen, x: float, start: float, end: float) -> None:
    """Relief of 2u at x with its lines: from its inlet (y = start) down to where its oil goes (y = end)."""
    y = start + 0.8
    pen.work((x, start), (x, y))
    pen.arrow((x - 0.4, y + 0.2), (x - 0.4, y + 1.8), 0.7)
    pen.work((x, y + 2), (x, end))
    pen.on = ""
    pen.box(x - 1, y, 2, 2)
    pen.spring(x + 1, y + 1, 1.1, 0.9, 3)
    pen.pilot((x, start + 0.4), (x - 1.6, start + 0.4), (x - 1.6, y + 1), (x - 1, y + 1))
