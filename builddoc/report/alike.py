"""Lines that look the same and are not: equal conduit and size, one under pressure, another a return or a drain."""

from __future__ import annotations

import math

from ..checks import strength
from ..checks.base import Case
from ..checks.duty import duties_of
from ..checks.words import Units, listed
from .cells import Scale, text_column, words
from .model import Table

HIGH, LOW = ("pressure",), ("return", "drain", "suction")


def alike_table(case: Case) -> Table | None:
    """One row per conduit that lines of different duty share; the figures are the highest pressure of either side.
    None where no two lines can be mistaken for each other."""
    u, duty = Units(case.circuit), duties_of(case)
    groups: dict[str, list[str]] = {}
    for name, line in case.circuit.lines.items():
        if line.conduit is not None:
            groups.setdefault(line.conduit.label, []).append(name)
    mixed = []
    for label, names in groups.items():
        high, low = ([n for n in names if duty[n] in wanted] for wanted in (HIGH, LOW))
        if high and low:
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


def _highest(case: Case, names: list[str]) -> float:
    """Pa, highest over the states and these lines; nan where no state has a figure."""
    seen = [strength.seen(case, strength.line_nodes(case.network, n)) for n in names]
    return max((s.value for s in seen if s is not None), default=math.nan)
