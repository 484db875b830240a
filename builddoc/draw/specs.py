"""The one row that tells a part's size: bore and rod, displacement, volume."""

from __future__ import annotations

from typing import Any

from ..quantities import show


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


def _mm(metres: float, system: str) -> str:
    value = metres / 0.0254 if system == "US" else metres * 1000
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _unit(system: str) -> str:
    return "in" if system == "US" else "mm"
