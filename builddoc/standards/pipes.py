"""Steel pipe: sizes by ASME B36.10M and pressure ratings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from ..physics import strength
from .tables import INCH, PSI, Listed, NotListed, inches, nearest, table

SEAMLESS = 137.9e6
"""Allowable stress of A106 B / A53 B seamless pipe up to 204 degC, Pa (seen with the plain-end table)."""

WELDED = 16000.0 * PSI
"""Allowable stress times joint factor that reproduces the table of threaded A53 B nipples, Pa (fitted by us)."""

HOTTEST = 273.15 + 204.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeRow(Listed):
    """nps: nominal size as written in the standard ("1-1/4"). schedule: "40", "80", "160" or "XXS". outside, wall,
    bore: m. threads_per_inch: of the NPT thread."""

    nps: str
    schedule: str
    outside: float
    wall: float
    bore: float
    threads_per_inch: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeRating(Listed):
    """rating: Pa, None = no ground for a figure. computed: the figure is not printed but follows from the formula that
    reproduces the printed ones."""

    rating: float | None
    computed: bool = False


_SAME = {"std": "40", "xs": "80", "xh": "80", "xxh": "XXS", "sch 40": "40", "sch 80": "80", "sch 160": "160"}


def schedule_name(schedule: int | str) -> str:
    """ "40", "STD", "sch 80", "XXS" ... -> the key of the table."""
    text = str(schedule).strip().lower().replace("schedule", "").strip()
    return _SAME.get(text, text.upper())


@cache
def sizes() -> tuple[str, ...]:
    """Nominal sizes that are listed, smallest first."""
    return tuple(dict.fromkeys(str(row["nps"]) for row in table("pipes", "dimensions").rows))


def size_name(nps: str | float) -> str:
    """A nominal size as the tables write it: "1 1/4 in" or 1.25 -> "1-1/4". Raises NotListed."""
    try:
        wanted = inches(nps)
    except (ValueError, ZeroDivisionError):
        raise NotListed(f"'{nps}' is not a pipe size", sizes()) from None
    for name in sizes():
        if abs(inches(name) - wanted) < 1e-6:
            return name
    raise NotListed(f"pipe of nominal size {nps} is not listed", sorted(sizes(), key=lambda s: abs(inches(s) - wanted)))


def pipe(nps: str | float, schedule: int | str) -> PipeRow:
    """Dimensions of steel pipe, e.g. pipe("1/2", 80). STD, XS and XXS are accepted.

    Raises NotListed: unknown size, or a schedule that this size does not have.
    """
    name, sched = size_name(nps), schedule_name(schedule)
    entry = table("pipes", "dimensions")
    rows = {str(row["schedule"]): row for row in entry.rows if row["nps"] == name}
    if sched not in rows:
        raise NotListed(f"pipe {name} in has no schedule {schedule} in the table", nearest(sched, rows))
    row = rows[sched]
    threads = {str(r["nps"]): float(r["threads per inch"]) for r in table("pipes", "threads").rows}
    return PipeRow(
        nps=name,
        schedule=sched,
        outside=row["outside"] * INCH,
        wall=row["wall"] * INCH,
        bore=(row["outside"] - 2 * row["wall"]) * INCH,
        threads_per_inch=threads[name],
        **entry.origin(),
    )


def pipe_rating(
    nps: str | float, schedule: int | str, threaded: bool = True, temperature: float = 293.15
) -> PipeRating:
    """Static working pressure of steel pipe, threaded or with plain (welded) ends, up to 204 degC (temperature in K).

    Threaded, schedule 40 and 80: printed table. Everything else: the formula of ASME B31.3, 304.1.2 that reproduces the
    printed tables; `computed` says so. Above 204 degC the rating is None.
    """
    size = pipe(nps, schedule)
    entry = table("pipes", "threaded-ratings" if threaded else "plain-ratings")
    origin = entry.origin()
    if temperature > HOTTEST:
        origin["notes"] = ("No rating above 204 degC was seen.", *origin["notes"])
        return PipeRating(rating=None, **origin)
    printed = _printed_threaded(size) if threaded else _printed_plain(size)
    if printed is not None:
        return PipeRating(rating=printed, **origin)
    origin["notes"] = ("Not printed: computed with the formula that reproduces the printed table.", *origin["notes"])
    origin["status"] = "from memory"
    return PipeRating(rating=_computed(size, threaded), computed=True, **origin)


def _printed_threaded(size: PipeRow) -> float | None:
    row = next(r for r in table("pipes", "threaded-ratings").rows if r["nps"] == size.nps)
    return row[size.schedule] * PSI if size.schedule in row else None


def _printed_plain(size: PipeRow) -> float | None:
    for row in table("pipes", "plain-ratings").rows:
        if (row["nps"], str(row["schedule"])) == (size.nps, size.schedule):
            return float(row["pressure"]) * 1e6
    return None


def _computed(size: PipeRow, threaded: bool) -> float:
    """ASME B31.3 formula; where the wall is thicker than D/6 Lame's, if lower."""
    depth = strength.npt_depth(size.threads_per_inch) if threaded else 0.0
    stress = WELDED if threaded else SEAMLESS
    wall = 0.875 * size.wall - depth
    pressure = strength.pipe(size.outside, size.wall, stress, thread_depth=depth)
    return float(min(pressure, strength.lame(size.outside, wall, stress)) if wall >= size.outside / 6 else pressure)
