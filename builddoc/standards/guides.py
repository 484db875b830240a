"""Guide figures of the trade: velocities, pump inlet, cooling of tanks, filters, reservoirs."""

from __future__ import annotations

from dataclasses import dataclass

from .choices import NONE, Choices
from .tables import FOOT, PSI, Listed, NotListed, nearest, table

INCH_HG = 3386.389


@dataclass(frozen=True, slots=True, kw_only=True)
class VelocityGuide(Listed):
    """low, high: usual band of mean velocity, m/s. outer: highest figure in print, m/s."""

    duty: str
    low: float
    high: float
    outer: float


@dataclass(frozen=True, slots=True, kw_only=True)
class InletLimits(Listed):
    """caution, outer: lowest gauge pressures at a pump inlet, Pa (negative = vacuum). velocity: m/s, most in print."""

    caution: float
    outer: float
    velocity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TankCooling(Listed):
    """coefficient, low, high: heat given off per area and temperature difference, W/(m2 K)."""

    coefficient: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FilterGuide(Listed):
    """bypass, collapse: Pa. least_ratio: bypass setting over clean drop."""

    bypass: float
    collapse: float
    least_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReservoirGuide(Listed):
    """low, high: volume over pump flow per minute, [-]."""

    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeGuide(Listed):
    """low, high: shares of a gauge's scale between which it is read."""

    low: float
    high: float


def gauge_guide() -> GaugeGuide:
    """The part of a gauge's scale in which it is used."""
    entry = table("guides", "gauge")
    values = {row["rule"]: float(row["share"]) for row in entry.rows}
    return GaugeGuide(
        low=values["lowest reading worth taking"], high=values["most, steady pressure"], **entry.origin()
    )


def velocity_guide(duty: str, pressure: float | None = None, choices: Choices = NONE) -> VelocityGuide:
    """Guide for the velocity in a line: duty "suction", "pressure" or "return"; pressure in Pa picks the band of
    pressure lines (None: that of 500 to 3000 psi). Raises NotListed: no guide is in print for that duty.
    choices: of tables that disagree."""
    entry = table("guides", "velocity")
    value = 1000.0 if pressure is None else pressure / PSI
    if duty == "pressure" and entry.pick(choices) == "data sheet":
        return _second_guide(value)
    for row in entry.rows:
        above = row["over"] is None or value > row["over"]
        below = row["up to"] is None or value <= row["up to"]
        if row["duty"] == duty and above and below:
            return VelocityGuide(
                duty=duty,
                low=row["low"] * FOOT,
                high=row["high"] * FOOT,
                outer=row["outer"] * FOOT,
                **entry.origin(row),
            )
    duties = dict.fromkeys(str(row["duty"]) for row in entry.rows)
    raise NotListed(f"no velocity guide is listed for a {duty} line", nearest(duty, duties))


def _second_guide(pressure: float) -> VelocityGuide:
    """pressure: psi. It prints one velocity for each band and no lower end: the two are the same here."""
    entry = table("guides", "velocity-by-pressure")
    row = next(r for r in entry.rows if r["up to"] is None or pressure <= r["up to"])
    speed = row["velocity"] * FOOT
    return VelocityGuide(duty="pressure", low=speed, high=speed, outer=speed, **entry.origin(row))


def pump_inlet(choices: Choices = NONE) -> InletLimits:
    """Lowest pressures at a pump inlet as published; the pump's own sheet decides. choices: of tables that disagree."""
    entry = table("guides", "pump-inlet").chosen(choices)
    vacuum = {row["limit"]: row["vacuum"] * INCH_HG for row in entry.rows}
    suction = velocity_guide("suction")
    return InletLimits(caution=-vacuum["caution"], outer=-vacuum["outer"], velocity=suction.outer, **entry.origin())


def tank_cooling() -> TankCooling:
    """Heat transfer of a steel tank in still air: the coefficient we take and the ends of what is in print."""
    entry = table("guides", "tank-cooling")
    values = {row["rule"]: float(row["coefficient"]) for row in entry.rows}
    return TankCooling(
        coefficient=values["used here"],
        low=values["lowest in print"],
        high=values["highest in print"],
        **{**entry.origin(), "status": "common practice"},
    )


def filter_guide() -> FilterGuide:
    """Bypass of return filters, pressure at which spin-on elements may collapse, ratio of bypass to clean drop."""
    entry = table("guides", "filter")
    values = {row["rule"]: row["value"] for row in entry.rows}
    return FilterGuide(
        bypass=values["bypass of a return filter"] * PSI,
        collapse=values["element may collapse"] * PSI,
        least_ratio=values["bypass over clean drop, least"],
        **entry.origin(),
    )


def reservoir_guide() -> ReservoirGuide:
    """Usual volume of a reservoir, as a multiple of the pump flow per minute."""
    entry = table("guides", "reservoir")
    row = entry.rows[0]
    return ReservoirGuide(low=row["low"], high=row["high"], **entry.origin())
