"""A spool of a directional valve as it is drawn: its room, its positions and their content."""

from __future__ import annotations

from dataclasses import dataclass

from .pen import Pen

SIZE = 3  # u, side of a position


@dataclass(frozen=True, slots=True)
class Levels:
    """y of what lies over one another. over: u for port reliefs above the spools; under: u for reliefs of sections."""

    over: int = 0
    under: int = 0

    @property
    def tap(self) -> float:
        return 5.0

    @property
    def aside(self) -> float:
        """Return gallery of the port reliefs."""
        return 1.6

    @property
    def loop(self) -> float:
        """Where the open centre goes on to the next spool."""
        return 3.9 + self.over

    @property
    def boxes(self) -> float:
        return 5.0 + self.over

    @property
    def low(self) -> float:
        return self.boxes + SIZE

    @property
    def centre(self) -> float:
        return self.low + 2.6

    @property
    def feed(self) -> float:
        return self.low + 3.6

    @property
    def back(self) -> float:
        return self.low + 4.8 + self.under

    @property
    def height(self) -> int:
        return 15 + self.over + self.under


@dataclass(frozen=True, slots=True)
class Spool:
    """x: left edge of its room. order: positions from the left, "" = rest. to_tank: work ports open in centre."""

    name: str
    x: int
    order: tuple[str, ...]
    to_tank: str
    reliefs: frozenset[str]
    make_up: bool
    relief: bool

    @property
    def a(self) -> int:
        """x of port A; the open centre lies 1u, B and T lie 2u to the right, P below A. There is room for the row of
        positions to move both ways."""
        return self.x + 7 + SIZE * (len(self.order) - 3)

    @property
    def width(self) -> int:
        return self.a - self.x + SIZE * len(self.order) + 1

    @property
    def guarded(self) -> bool:
        return bool(self.reliefs) or self.make_up

    def carries(self, *ways: str) -> list[str]:
        return [f"{letter} {self.name} {way}" for letter in "AB" for way in ways]

    @property
    def rest(self) -> str:
        return "!" + "|".join(f"at {self.name} {p}" for p in self.order if p)


def positions(pen: Pen, spool: Spool, at: Levels, number: int, opened: bool, gallery: bool) -> None:
    """The row of boxes with lever and springs, once for each position that can stand at the ports. number: of the
    spool, for the facts of its open centre. gallery: the open centre runs through the boxes, so the ports are six."""
    for n, live in enumerate(spool.order):
        pen.when = f"at {spool.name} {live}" if live else spool.rest
        left = spool.a - 0.5 - SIZE * n
        if live:
            pen.box(left + SIZE * n, at.boxes, SIZE, SIZE, "s")
        for k, position in enumerate(spool.order):
            x = left + SIZE * k
            pen.box(x, at.boxes, SIZE, SIZE)
            here = position == live
            if position in ("A", "B", "regen"):
                _shifted(pen, x, at, position, gallery, spool, here, number)
            else:
                to_tank = "AB" if position == "float" else spool.to_tank
                _resting(pen, x, at, to_tank, gallery, opened, spool, here, number)
        end = left + SIZE * len(spool.order)
        pen.spring(left - 0.7, at.low - 0.8, 0.7, 0.9, 3)
        pen.spring(end, at.low - 0.8, 0.7, 0.9, 3)
        pen.line((left, at.boxes + 0.9), (left - 0.45, at.boxes + 0.9), (left - 0.45, at.boxes - 0.5))
        pen.circle(left - 0.45, at.boxes - 0.6, 0.26, "f")
    pen.when = ""


def _shifted(
    pen: Pen, left: float, at: Levels, position: str, gallery: bool, spool: Spool, here: bool, number: int
) -> None:
    x, y, low = left + 0.5, at.boxes, at.low
    name = spool.name

    def on(*keys: str) -> None:
        pen.on = "|".join(keys) if here else ""

    if position in ("A", "B"):
        gets, gives = (x, x + 2) if position == "A" else (x + 2, x)
        other = "B" if position == "A" else "A"
        on(f"{position} {name} in")
        pen.arrow((x, low), (gets, y + 0.1), 0.8)
        on(f"{other} {name} out")
        pen.arrow((gives, y), (x + 2, low - 0.1), 0.8)
    else:
        # Regenerative: P and B joined to A.
        on(f"A {name} in")
        pen.arrow((x, low), (x, y + 0.1), 0.8)
        on(f"{name} regen")
        pen.thin((x + 2, y), (x + 2, y + 1.5), (x, y + 1.5))
        on()
        pen.shut(x + 2, low, low - 0.7)
    pen.on = ""
    if not gallery:
        return
    if here:
        # Not the whole way over: the open centre is throttled, not shut.
        full, pen.when = pen.when, f"{pen.when}&part {name}"
        pen.on = f"by {number}"
        pen.thin((x + 1, y), (x + 1, low))
        pen.on, pen.when = "", f"{full}&!part {name}"
    pen.shut(x + 1, y, y + 0.6)
    pen.shut(x + 1, low, low - 0.6)
    if here:
        pen.when = full


def _resting(
    pen: Pen, left: float, at: Levels, to_tank: str, gallery: bool, opened: bool, spool: Spool, here: bool, number: int
) -> None:
    """Centre or float. to_tank: work ports that are joined to T."""
    x, y, low = left + 0.5, at.boxes, at.low
    for letter, px in (("A", x), ("B", x + 2)):
        if letter not in to_tank:
            pen.shut(px, y, y + 0.7)
    pen.on = f"A {spool.name} out" if here else ""
    if "A" in to_tank:
        pen.thin((x, y), (x, y + 0.9), (x + 2, y + 0.9), (x + 2, low))
    pen.on = f"B {spool.name} out" if here else ""
    if "B" in to_tank:
        pen.thin((x + 2, y), (x + 2, low))
    pen.on = f"by {number}" if here else ""
    if gallery:
        pen.thin((x + 1, y), (x + 1, low))
    joined = not gallery and opened
    if joined:
        pen.thin((x, low), (x, low - 0.9), (x + 2, low - 0.9), *(() if to_tank else ((x + 2, low),)))
    pen.on = ""
    if joined:
        return
    pen.shut(x, low, low - 0.7)
    if not to_tank:
        pen.shut(x + 2, low, low - 0.7)
