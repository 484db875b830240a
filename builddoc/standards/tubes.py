"""Hydraulic tube: inch steel (SAE J524, J525), metric steel (EN 10305-4), stainless (ASTM A269)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from ..physics import strength
from .choices import NONE, Choices
from .tables import BAR, INCH, MM, PSI, Listed, NotListed, nearest, plain_name, table

MATERIALS = ("steel", "stainless")
_SAME = {"": "steel", "stainless steel": "stainless", "carbon steel": "steel", "e235": "steel", "e235n": "steel"}

STEEL_STRESS = 12500.0 * PSI
YIELD_E235, FATIGUE_E235 = 235e6, 225e6
_FIT = 0.03 * MM  # an inch size written in mm is rounded to 0.1 or 0.01 mm
_FIT_WALL = 0.02 * MM
_COMPUTED = "Not printed: computed with the formula that reproduces the printed table."


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeRow(Listed):
    """outside, wall, bore: m. rating: Pa, working pressure of the straight tube, None = no ground. static_rating: Pa,
    under steady load, where the table distinguishes. burst: Pa. computed: not printed for this size, but follows from
    the formula that reproduces the printed sizes."""

    material: str
    outside: float
    wall: float
    bore: float
    rating: float | None
    static_rating: float | None = None
    burst: float | None = None
    computed: bool = False


def tube(outside: float, wall: float, material: str = "steel", choices: Choices = NONE) -> TubeRow:
    """Tube of a nominal outside diameter and wall (m), e.g. tube(0.012, 0.0015) or tube(0.0127, 0.00165, "stainless").

    Outside diameters of the inch table are inch tube, all others metric. Printed ratings are used where there are any;
    for other walls of steel tube the formula that reproduces the table, and `computed` says so.
    choices: of tables that disagree.
    Raises NotListed: unknown material, a stainless size without a printed rating, or a wall that is none.
    """
    kind = _SAME.get(plain_name(material), plain_name(material))
    if kind not in MATERIALS:
        raise NotListed(f"tube of '{material}' is not listed", nearest(material, MATERIALS))
    if not 0 < 2 * wall < outside:
        raise NotListed(f"a tube of {outside / MM:g} mm outside cannot have a wall of {wall / MM:g} mm")
    if kind == "stainless":
        return _stainless(outside, wall, choices)
    inch = table("tubes", "steel-inch").rows
    if any(abs(row["outside"] * INCH - outside) < _FIT for row in inch) and not _is_metric(outside):
        return _steel_inch(outside, wall)
    return _steel_metric(outside, wall)


def _is_metric(outside: float) -> bool:
    millimetres = outside / MM
    return abs(millimetres - round(millimetres)) < 1e-6


def _find(rows: Iterable[Mapping[str, Any]], outside: float, wall: float, unit: float) -> Mapping[str, Any] | None:
    for row in rows:
        if abs(row["outside"] * unit - outside) < _FIT and abs(row["wall"] * unit - wall) < _FIT_WALL:
            return row
    return None


def _steel_inch(outside: float, wall: float) -> TubeRow:
    entry = table("tubes", "steel-inch")
    origin = entry.origin()
    row = _find(entry.rows, outside, wall, INCH)
    if row is None:
        origin["status"] = "from memory"
        origin["notes"] = (_COMPUTED, *origin["notes"])
        rating = float(strength.lame(outside, wall, STEEL_STRESS))
    else:
        rating = row["pressure"] * PSI
    return TubeRow(
        material="steel",
        outside=outside,
        wall=wall,
        bore=outside - 2 * wall,
        rating=rating,
        computed=row is None,
        **origin,
    )


def _steel_metric(outside: float, wall: float) -> TubeRow:
    entry = table("tubes", "steel-metric")
    origin = entry.origin()
    row = _find(entry.rows, outside, wall, MM)
    bore = outside - 2 * wall
    if row is not None:
        return TubeRow(
            material="steel",
            outside=outside,
            wall=wall,
            bore=bore,
            rating=row["dynamic"] * BAR,
            static_rating=row["static"] * BAR,
            burst=row["burst"] * BAR,
            **origin,
        )
    if outside > 2 * bore + 1e-9:
        origin["notes"] = ("The formula does not reach walls as thick as this.", *origin["notes"])
        return TubeRow(material="steel", outside=outside, wall=wall, bore=bore, rating=None, **origin)
    origin["status"] = "from memory"
    origin["notes"] = (
        "Not printed for this size: an estimate with the formula that reproduces the printed sizes of 20 to 38 mm.",
        *origin["notes"],
    )
    return TubeRow(
        material="steel",
        outside=outside,
        wall=wall,
        bore=bore,
        rating=float(strength.din2413_dynamic(outside, wall, FATIGUE_E235)),
        static_rating=float(strength.din2413_static(outside, wall, YIELD_E235)),
        computed=True,
        **origin,
    )


def _stainless(outside: float, wall: float, choices: Choices) -> TubeRow:
    entry = table("tubes", "stainless-inch").chosen(choices)
    picked = entry.pick(choices)
    rows = [{**row, "outside": _inch(row["outside"])} for row in entry.rows]
    row = _find(rows, outside, wall, INCH)
    if row is None:
        by_size = sorted(rows, key=lambda r: abs(r["outside"] * INCH - outside) + 10 * abs(r["wall"] * INCH - wall))
        listed = [f"{r['outside']:g} x {r['wall']:g} in" for r in by_size]
        raise NotListed(f"stainless tube {outside / MM:g} x {wall / MM:g} mm is not listed", listed)
    rating = (row[picked] if picked in row else min(row["first"], row["second"])) * PSI
    bore = outside - 2 * wall
    return TubeRow(material="stainless", outside=outside, wall=wall, bore=bore, rating=rating, **entry.origin())


def _inch(text: object) -> float:
    top, slash, bottom = str(text).partition("/")
    return float(top) / float(bottom) if slash else float(top)
