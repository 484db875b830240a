"""Hydraulic oil: viscosity grades, usual properties, the viscosity that gear pumps can live with."""

from __future__ import annotations

from dataclasses import dataclass

from .tables import Listed, NotListed, plain_name, table


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeRow(Listed):
    """grade: as printed ("ISO VG 46"). nu40, least40, most40: m2/s at 40 degC. nu100: m2/s of an oil of index 100."""

    grade: str
    nu40: float
    least40: float
    most40: float
    nu100: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PropertyRow(Listed):
    """value with the ends of what is in print, SI (`unit`)."""

    name: str
    value: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Window(Listed):
    """Kinematic viscosities, m2/s: least and most in work, most at the start."""

    least: float
    most: float
    most_at_start: float


def grades() -> tuple[str, ...]:
    """Grades that are listed."""
    return tuple(f"ISO VG {row['VG']}" for row in table("oils", "viscosity-grades").rows)


def iso_vg(grade: int | str) -> GradeRow:
    """A viscosity grade: iso_vg(46), iso_vg("ISO VG 46"), iso_vg("VG46"). Raises NotListed with the nearest grades."""
    digits = plain_name(grade).removeprefix("iso").strip().removeprefix("vg").strip()
    entry = table("oils", "viscosity-grades")
    for row in entry.rows:
        if digits == str(row["VG"]):
            return GradeRow(
                grade=f"ISO VG {row['VG']}",
                nu40=row["nominal at 40"] * 1e-6,
                least40=row["least at 40"] * 1e-6,
                most40=row["most at 40"] * 1e-6,
                nu100=row["at 100"] * 1e-6,
                **{**entry.origin(), "status": "common practice"},
            )
    number = float(digits) if digits.replace(".", "", 1).isdigit() else 46.0
    ordered = sorted(grades(), key=lambda name: abs(float(name.split()[-1]) - number))
    raise NotListed(f"'{grade}' is not a viscosity grade of ISO 3448", ordered)


def oil_property(name: str) -> PropertyRow:
    """A property of mineral hydraulic oil: "density" (15 degC), "specific heat", "bulk modulus", "thermal expansion",
    "highest temperature" (K). Raises NotListed."""
    entry = table("oils", "properties")
    for row in entry.rows:
        if row["property"] == plain_name(name):
            return PropertyRow(
                name=row["property"],
                value=float(row["value"]),
                low=float(row["low"]),
                high=float(row["high"]),
                unit=row["unit"],
                **entry.origin(row),
            )
    raise NotListed(f"no property '{name}' of oil is listed", [str(row["property"]) for row in entry.rows])


def viscosity_window() -> Window:
    """The viscosity that external gear pumps ask for; the pump's own sheet decides."""
    entry = table("oils", "viscosity-window")
    values = {row["limit"]: row["viscosity"] * 1e-6 for row in entry.rows}
    return Window(
        least=values["least in work"],
        most=values["most in work"],
        most_at_start=values["most at start"],
        **entry.origin(),
    )
