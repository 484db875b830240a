"""Loss coefficients of fittings and roughness of lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from .choices import NONE, Choices
from .tables import MM, Listed, NotListed, nearest, plain_name, table


@dataclass(frozen=True, slots=True, kw_only=True)
class LossRow(Listed):
    """K: loss coefficient on the velocity head of the line, turbulent flow. low, high: ends of the figures in print.
    three_k: (K1, Ki, Kd) of K = K1/Re + Ki (1 + Kd/D^0.3), D in inches (see `physics.line.three_k`), or None."""

    form: str
    K: float
    low: float
    high: float
    three_k: tuple[float, float, float] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoughnessRow(Listed):
    """value: absolute roughness, m."""

    material: str
    value: float


@cache
def _index(name: str, key: str) -> Mapping[str, Mapping[str, Any]]:
    found: dict[str, Mapping[str, Any]] = {}
    for row in table("flow", name).rows:
        for text in (row[key], *row["aliases"]):
            found[plain_name(text)] = row
    return found


def forms() -> tuple[str, ...]:
    """Forms of fittings that have a loss coefficient."""
    return tuple(str(row["form"]) for row in table("flow", "loss-coefficients").rows)


def loss(form: str, choices: Choices = NONE) -> LossRow:
    """Loss coefficient of a form of fitting, e.g. loss("elbow 90"). Raises NotListed with the nearest forms.
    choices: of tables that disagree."""
    entry = table("flow", "loss-coefficients").chosen(choices)
    row = _index("loss-coefficients", "form").get(plain_name(form))
    if row is None:
        raise NotListed(f"no loss coefficient is listed for '{form}'", nearest(form, forms()))
    constants = {r["form"]: (r["K1"], r["Ki"], r["Kd"]) for r in table("flow", "three-k").rows}
    return LossRow(
        form=row["form"],
        K=row[{"lowest": "low", "highest": "high"}.get(entry.pick(choices), "K")],
        low=row["low"],
        high=row["high"],
        three_k=constants.get(row["form"]),
        **entry.origin(row),
    )


def roughness(material: str) -> RoughnessRow:
    """Absolute roughness of a line material, e.g. roughness("drawn tube"). Raises NotListed."""
    entry = table("flow", "roughness")
    row = _index("roughness", "material").get(plain_name(material))
    if row is None:
        names = [str(r["material"]) for r in entry.rows]
        raise NotListed(f"no roughness is listed for '{material}'", nearest(material, names))
    return RoughnessRow(material=row["material"], value=row["roughness"] * MM, **entry.origin(row))
