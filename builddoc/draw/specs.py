"""What a part is made or set for: one row of bore and rod or displacement, and rows of what else a reader of the trade
looks for beside a symbol."""

from __future__ import annotations

from typing import Any

from ..quantities import show

SETTINGS = (
    ("setting", "pressure", "set"), ("set_flow", "flow", "set"), ("trip_flow", "flow", "trips at"),
    ("precharge", "pressure", "gas"),
)  # fmt: skip
"""Parameter, its dimension, the words before its figure."""


def spec(params: Any, system: str) -> str:
    """`63/32 × 600 mm`, `10 cc/rev`; "" where the parameters say nothing of the kind."""
    given = vars(params)  # quicker than to ask a model for what it lacks
    bore, rod, stroke = (given.get(key) for key in ("bore", "rod", "stroke"))
    if isinstance(bore, float) and isinstance(stroke, float):
        first = _mm(bore, system)
        if isinstance(rod, float):
            first += f"/{_mm(rod, system)}"
        return f"{first} × {_mm(stroke, system)} {_unit(system)}"
    displacement = given.get("displacement")
    if isinstance(displacement, float):
        return show(displacement, "displacement", system)
    return ""


def settings(params: Any, system: str) -> list[str]:
    """`set 65 bar`, `pilot 3:1`, `8 + 2.1 cc/rev`: rows in the order of reading. Reliefs tell their settings
    themselves, beside what passes them."""
    given = vars(params)
    stages = given.get("sections") or [given.get("large_stage"), given.get("small_stage")]
    rows = [_stages(stages, system)] if all(isinstance(stage, float) for stage in stages) else []
    for name, dimension, words in SETTINGS:
        if isinstance(value := given.get(name), float):
            rows.append(f"{words} {show(value, dimension, system)}")
    if isinstance(ratio := given.get("pilot_ratio"), float):
        rows.append(f"pilot {ratio:g}:1")
    return rows


def _stages(stages: list[Any], system: str) -> str:
    """Figures with one unit: that of the last, if all have it."""
    figures = [show(stage, "displacement", system) for stage in stages]
    units = {figure.partition(" ")[2] for figure in figures}
    if len(units) > 1:
        return " + ".join(figures)
    return " + ".join(figure.partition(" ")[0] for figure in figures) + f" {units.pop()}"


def _mm(metres: float, system: str) -> str:
    value = metres / 0.0254 if system == "US" else metres * 1000
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _unit(system: str) -> str:
    return "in" if system == "US" else "mm"
