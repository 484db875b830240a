"""Pressure ratings of fittings, flanges and couplers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from .choices import NONE, Choices
from .pipes import pipe_rating, size_name
from .tables import BAR, PSI, Listed, NotListed, inches, nearest, plain_name, table
from .threads import FLANGES, dash, plain_dash

MATERIALS = ("malleable iron", "forged steel", "steel", "cast iron", "brass", "stainless")
_SAME = {
    "malleable": "malleable iron",
    "galvanised iron": "malleable iron",
    "galvanized iron": "malleable iron",
    "black iron": "malleable iron",
    "forged": "forged steel",
    "stainless steel": "stainless",
    "carbon steel": "steel",
    "iron": "cast iron",
}
LOW_PRESSURE = frozenset({"malleable iron", "cast iron", "brass"})
STREET_ELBOW = 600.0 * PSI  # class 300, extract of B16.3-2011


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingRating(Listed):
    """rating: Pa, None = no published figure: ask for the part's own. low_pressure: a plumbing fitting. computed:
    follows from a formula, not printed."""

    rating: float | None
    low_pressure: bool = False
    computed: bool = False


def fitting_material(name: str) -> str:
    """Plain name of a material. Raises NotListed with the nearest names."""
    wanted = plain_name(name)
    found = _SAME.get(wanted, wanted)
    if found not in MATERIALS:
        raise NotListed(f"fittings of '{name}' are not listed", nearest(name, MATERIALS))
    return found


def fitting_rating(
    material: str, form: str, size: str | float, class_: int | str | None = None, temperature: float = 293.15,
    choices: Choices = NONE,
) -> FittingRating:
    """Working pressure of a fitting.

    material: "malleable iron", "forged steel", ... form: "tee", "street elbow", "flange code 61", ...; "socket weld" in
    it for forged fittings that are welded. size: nominal size, e.g. "1/2". class_: 150, 300, 2000, 3000, 6000, 9000;
    None = not given. temperature: K of the oil. choices: of tables that disagree.

    The rating of the row is None where no figure by size is public (hydraulic adapters, brass, cast iron, no class).
    Raises NotListed: unknown material, size, or class of that material (choices: what is listed).
    """
    kind = fitting_material(material)
    code = plain_name(form)
    if "code 61" in code or "code 62" in code:
        return flange_rating(61 if "code 61" in code else 62, size, choices)
    if kind == "malleable iron":
        return _malleable(form, size, class_, temperature)
    if class_ is not None and kind in ("forged steel", "steel", "stainless"):
        return _forged(kind, code, size, _class(class_), temperature, choices)
    return FittingRating(
        title=f"{kind} fittings",
        source="no published table of ratings by size was seen",
        edition="none",
        status="common practice",
        rating=None,
        low_pressure=kind in LOW_PRESSURE,
        notes=("Give the rating of the part itself, from its maker's sheet.",),
    )


def _malleable(form: str, size: str | float, class_: int | str | None, temperature: float) -> FittingRating:
    number = 150 if class_ is None else _class(class_)
    if number not in (150, 300):
        raise NotListed(f"malleable iron fittings have no class {class_}", ("150", "300"))
    entry = table("fittings", f"malleable-{number}")
    origin = entry.origin()
    if class_ is None:
        origin["notes"] = ("No class is given: taken as class 150, the usual one and the weaker.", *origin["notes"])
    nominal = _nominal(size)
    column = "pressure"
    if number == 300:
        column = "1/4 to 1" if nominal <= 1 else "1-1/4 to 2" if nominal <= 2 else "2-1/2 to 3"
    least, most = (0.25, 3.0) if number == 300 else (0.125, 4.0)
    if not least <= nominal <= most:
        raise NotListed(f"{entry.title}: size {size} is outside the table", (f"{least:g} to {most:g} in",))
    rating = None
    for row in entry.rows:
        if temperature <= (row["temperature"] - 32) / 1.8 + 273.15 + 1e-6:
            rating = row[column] * PSI
            break
    if rating is None:
        origin["notes"] = ("Hotter than the table reaches (350 F).", *origin["notes"])
    elif "street" in plain_name(form) and number == 300:
        rating = min(rating, STREET_ELBOW)
    return FittingRating(rating=rating, low_pressure=True, **origin)


def _forged(
    kind: str, form: str, size: str | float, class_: int, temperature: float, choices: Choices
) -> FittingRating:
    entry = table("fittings", "forged").chosen(choices)
    ends = "socket weld" if "socket" in form or "weld" in form else "threaded"
    schedules = {int(row["class"]): str(row["schedule"]) for row in entry.rows if row["ends"] == ends}
    if class_ not in schedules:
        raise NotListed(f"forged steel fittings with {ends} ends have no class {class_}", map(str, schedules))
    origin = entry.origin()
    if class_ in entry.more.get("pressure", {}):  # one figure for all sizes
        return FittingRating(rating=entry.more["pressure"][class_] * BAR, **origin)
    try:
        pipe = pipe_rating(size_name(size), schedules[class_], threaded=ends == "threaded", temperature=temperature)
    except NotListed:
        origin["notes"] = (f"No pipe of schedule {schedules[class_]} is listed in this size.", *origin["notes"])
        return FittingRating(rating=None, **origin)
    origin["status"] = "seen" if pipe.status == "seen" and kind == "forged steel" else "from memory"
    origin["notes"] = (
        f"Rated as {ends} pipe of schedule {schedules[class_]} in this size; {pipe.title}.",
        *pipe.notes,
        *origin["notes"],
    )
    return FittingRating(rating=pipe.rating, computed=pipe.computed, **origin)


def flange_rating(code: int, size: str | float, choices: Choices = NONE) -> FittingRating:
    """Working pressure of a four-bolt flange of code 61 or 62 by nominal size. Raises NotListed."""
    if code not in (61, 62):
        raise NotListed(f"there is no four-bolt flange of code {code}", ("61", "62"))
    entry = table("fittings", f"flange-{code}").chosen(choices)
    nominal = _nominal(size)
    for row in entry.rows:
        if abs(inches(row["size"]) - nominal) < 1e-6:
            return FittingRating(rating=row["pressure"] * BAR, **entry.origin(row))
    listed = _by_size(nominal, (row["size"] for row in entry.rows))
    raise NotListed(f"code {code} flanges are not listed in size {size}", listed)


def connector_rating(form: str, size: str, choices: Choices = NONE) -> FittingRating | None:
    """Working pressure of a connector by its form ("flange 61", "37 flare") and its dash or nominal size. None where no
    table by size is public (see the table of connector limits) or the size is not in it."""
    if form in _CONNECTORS:
        name, columns = _CONNECTORS[form]
        entry = table("fittings", name).chosen(choices)
        number = plain_dash(form, size)
        for row in entry.rows:
            listed = row["dash"] if "dash" in row else round(inches(row["size"]) * 16)
            figures = [row[column] for column in columns]
            if listed == number and None not in figures:
                unit = BAR if entry.units == "bar" else PSI
                return FittingRating(rating=min(figures) * unit, **entry.origin(row))
        return None
    number = dash(form, size)
    if form not in FLANGES or number is None:
        return None
    try:
        return flange_rating(int(form.removeprefix("flange ")), number / 16, choices)
    except NotListed:
        return None


_CONNECTORS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "37 flare": ("connectors", ("37 flare, rigid", "37 flare, swivel")),
    "O-ring boss": ("connectors", ("O-ring boss, rigid", "O-ring boss, adjustable")),
    "face seal": ("face-seals", ("pressure",)),
    "NPTF": ("taper-adapters", ("pressure",)),
}
"""Form -> its table by size, and the columns of which the lowest counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CouplerRow(Listed):
    """rating, burst: Pa. flow: m3/s rated. drop: Pa, the most the standard allows at the rated flow."""

    size: str
    rating: float
    burst: float
    flow: float
    drop: float


def screw_coupler(size: str | float) -> CouplerRow:
    """Screw-to-connect quick coupler ISO 14541 of a nominal size in inches. Raises NotListed."""
    entry = table("fittings", "screw-coupler")
    nominal = _nominal(size)
    for row in entry.rows:
        if abs(inches(row["size"]) - nominal) < 1e-6:
            return CouplerRow(
                size=row["size"],
                rating=row["pressure"] * BAR,
                burst=row["burst"] * BAR,
                flow=row["flow"] / 60e3,
                drop=row["drop"] * BAR,
                **entry.origin(),
            )
    raise NotListed(f"no screw coupler of size {size} is listed", _by_size(nominal, (r["size"] for r in entry.rows)))


def _class(class_: int | str) -> int:
    try:
        return int(class_)
    except ValueError:
        raise NotListed(f"'{class_}' is not a class of fittings", ("150", "300", "2000", "3000", "6000")) from None


def _nominal(size: str | float) -> float:
    try:
        return inches(size)
    except (ValueError, ZeroDivisionError):
        raise NotListed(f"'{size}' is not a nominal size", ("1/4", "3/8", "1/2", "3/4", "1")) from None


def _by_size(nominal: float, names: Iterable[str]) -> list[str]:
    return sorted(names, key=lambda name: abs(inches(name) - nominal))
