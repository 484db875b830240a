"""Lines that look the same and are not: hose, tube or pipe of one size, one line under pressure, another a return or a
drain. How many wires a hose has, or how thick a tube's wall is, nobody sees from outside: the size decides."""

from __future__ import annotations

import math

from ..checks import strength
from ..checks.base import Case
from ..checks.duty import duties_of
from ..checks.words import Units, listed
from ..circuit import Conduit
from .cells import Scale, text_column, words
from .model import Table

HIGH, LOW = ("pressure",), ("return", "drain", "suction")


def alike_table(case: Case) -> Table | None:
    """One row per size of hose, tube or pipe that lines of different duty share; the figures are the highest pressure
    of either side. None where no two lines can be mistaken for each other."""
    u, duty = Units(case.circuit), duties_of(case)
    groups: dict[tuple[str, float], list[str]] = {}
    for name, line in case.circuit.lines.items():
        if line.conduit is not None:
            groups.setdefault(_size(line.conduit), []).append(name)
    mixed = []
    for names in groups.values():
        high, low = ([n for n in names if duty[n] in wanted] for wanted in (HIGH, LOW))
        if high and low:
            label = listed(dict.fromkeys(_label(case, n) for n in (*high, *low)))
            mixed.append((label, high, low, _highest(case, high), _highest(case, low)))
    if not mixed:
        return None
    scale = Scale(u, "pressure", [p for *_, a, b in mixed for p in (a, b)])
    rows = tuple(
        (
            words(label),
            words(listed(high), subject=high[0]),
            scale.cell(a),
            words(listed(f"{n} ({duty[n]})" for n in low), subject=low[0]),
            scale.cell(b),
        )
        for label, high, low, a, b in mixed
    )
    columns = (
        text_column("Conduit"), text_column("Under pressure"), scale.column("Highest there"),
        text_column("Return, drain or suction"), scale.column("Highest there"),
    )  # fmt: skip
    caption = "Mark both ends of these lines before taking one off: swapped, a return line sees full pressure"
    return Table("look-alikes", "Lines that look alike", caption, columns, rows)


def _size(conduit: Conduit) -> tuple[str, float]:
    """What one sees: hose, tube or pipe, and how thick it is, to a tenth of a millimetre."""
    return conduit.kind, round(conduit.wall.outside if conduit.wall else conduit.bore, 4)


def _label(case: Case, name: str) -> str:
    conduit = case.circuit.lines[name].conduit
    return conduit.label if conduit else ""


def _highest(case: Case, names: list[str]) -> float:
    """Pa, highest over the states and these lines; nan where no state has a figure."""
    seen = [strength.seen(case, strength.line_nodes(case.network, n)) for n in names]
    return max((s.value for s in seen if s is not None), default=math.nan)
