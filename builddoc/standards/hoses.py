"""Hydraulic hoses by construction and size."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from .choices import NONE, Choices
from .tables import BAR, INCH, MM, Listed, NotListed, Table, nearest, plain_name, table, tables

ZERO = 273.15


@dataclass(frozen=True, slots=True, kw_only=True)
class HoseRow(Listed):
    """construction: plain name. designation: by the standards. dash: sixteenths of an inch. bore, bend_radius (least,
    inside of the bend), outside: m. rating (working pressure), burst: Pa, None = not known. coldest, hottest: K of the
    oil."""

    construction: str
    designation: str
    dash: int
    bore: float
    rating: float | None
    burst: float | None
    bend_radius: float | None
    outside: float | None
    coldest: float
    hottest: float


def constructions() -> tuple[str, ...]:
    """Plain names of the constructions that are listed."""
    return tuple(name for name in tables("hoses") if name != "nominal-bores")


@cache
def _names() -> Mapping[str, str]:
    names = {}
    for name in constructions():
        for text in (name, *table("hoses", name).more["designations"]):
            names[plain_name(text)] = name
            names[plain_name(text).replace(" ", "")] = name
            names[plain_name(f"SAE {text}")] = name
    return names


def construction(name: str) -> str:
    """Plain name of a construction from that name or a designation ("2SN", "100R2AT", "EN 853 2SN").

    Raises NotListed with the nearest names.
    """
    wanted = plain_name(name)
    for text in (wanted, wanted.removesuffix(" hose"), wanted.replace(" ", "")):
        if text in _names():
            return _names()[text]
    raise NotListed(f"no hose construction '{name}' is listed", nearest(name, constructions()))


def hose(
    name: str, dash: int | str | None = None, bore: float | None = None, choices: Choices = NONE
) -> HoseRow:
    """The hose of a construction by dash size (8, "-8") or, without one, by bore (m, within 4 % of a nominal bore).
    choices: of tables that disagree.

    Raises NotListed: unknown construction, or no such size of it (choices: the sizes it has).
    """
    kind = construction(name)
    entry = table("hoses", kind).chosen(choices)
    rows = {int(row["dash"]): row for row in entry.rows}
    sizes = [f"-{size} (bore {_bore(row) / MM:.3g} mm)" for size, row in rows.items()]
    if dash is None and bore is None:
        raise NotListed(f"no size is given for the {kind} hose", sizes)
    if dash is None:
        assert bore is not None
        fits = [size for size, row in rows.items() if abs(_bore(row) - bore) <= 0.04 * _bore(row)]
        if not fits:
            by_distance = sorted(rows, key=lambda size: abs(_bore(rows[size]) - bore))
            listed = [f"-{size} (bore {_bore(rows[size]) / MM:.3g} mm)" for size in by_distance]
            raise NotListed(f"no {kind} hose with a bore of {bore / MM:.3g} mm is listed", listed)
        dash = min(fits, key=lambda size: abs(_bore(rows[size]) - bore))
    try:
        size = abs(int(str(dash).strip().lstrip("-–−")))
    except ValueError:
        raise NotListed(f"'{dash}' is not a dash size", sizes) from None
    if size not in rows:
        ordered = sorted(rows, key=lambda other: abs(other - size))
        listed = [f"-{other} (bore {_bore(rows[other]) / MM:.3g} mm)" for other in ordered]
        raise NotListed(f"the {kind} hose is not listed in size -{size}", listed)
    return _row(kind, entry, rows[size])


def _bore(row: Mapping[str, Any]) -> float:
    bores = {r["DN"]: float(r["bore"]) for r in table("hoses", "nominal-bores").rows}
    return bores[row["DN"]] * MM


def _scaled(value: float | None, unit: float) -> float | None:
    return None if value is None else value * unit


def _row(kind: str, entry: Table, row: Mapping[str, Any]) -> HoseRow:
    low, high = entry.more["temperature"]
    origin = entry.origin(row)
    if abs(_bore(row) - row["dash"] * INCH / 16) > MM:
        surprise = f"The bore of this construction is {_bore(row) / MM:.3g} mm, not {row['dash']}/16 in."
        origin["notes"] = (*origin["notes"], surprise)
    return HoseRow(
        construction=kind,
        designation=entry.more["designations"][0],
        dash=int(row["dash"]),
        bore=_bore(row),
        rating=_scaled(row["pressure"], BAR),
        burst=_scaled(row["burst"], BAR),
        bend_radius=_scaled(row["bend"], MM),
        outside=_scaled(row["outside"], MM),
        coldest=low + ZERO,
        hottest=high + ZERO,
        **origin,
    )
