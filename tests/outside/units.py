"""Units of the published examples -> SI and back, with pint's factors. Independent of builddoc's own."""

from __future__ import annotations

from functools import cache
from typing import Any

PINT = {
    "-": "dimensionless",
    "": "dimensionless",
    "%": "percent",
    "in": "inch",
    "in2": "inch**2",
    "in3": "inch**3",
    "in/s": "inch/second",
    "in2/s": "inch**2/second",
    "in3/rev": "inch**3/turn",
    "cm3": "cm**3",
    "cm3/rev": "cm**3/turn",
    "L/rev": "liter/turn",
    "ft2": "foot**2",
    "ft/s": "foot/second",
    "ft/min": "foot/minute",
    "ft3/s": "foot**3/second",
    "mm/s": "mm/second",
    "mm3/s": "mm**3/second",
    "m/s": "m/second",
    "m2/s": "m**2/second",
    "m3/s": "m**3/second",
    "m4": "m**4",
    "gal": "gallon",
    "gal/s": "gallon/second",
    "gpm": "gallon/minute",
    "L/min": "liter/minute",
    "L/s": "liter/second",
    "lbf": "pound_force",
    "lbf.ft": "pound_force*foot",
    "in.lbf": "pound_force*inch",
    "N.m": "newton*meter",
    "lbf/ft2": "pound_force/foot**2",
    "lbf.s/ft2": "pound_force*second/foot**2",
    "slug/ft3": "slug/foot**3",
    "lb/gal": "pound/gallon",
    "kg/m3": "kg/m**3",
    "SG": "62.4*pound/foot**3",
    "psia": "psi",
    "psig": "psi",
    "hp": "33000*foot*pound_force/minute",
    "rpm": "turn/minute",
    "cSt": "mm**2/second",
    "cSt/s": "mm**2/second**2",
    "cP": "mPa*second",
    "Pa.s": "Pa*second",
    "Pa/m": "Pa/m",
    "psi/F": "psi/delta_degF",
    "bar/K": "bar/kelvin",
    "1/K": "1/kelvin",
    "dF": "delta_degF",
    "Btu/h": "Btu/hour",
    "Btu/lb.F": "Btu/pound/delta_degF",
    "Btu/(h.ft2.F)": "Btu/hour/foot**2/delta_degF",
    "hp/(ft2.F)": "33000*foot*pound_force/minute/foot**2/delta_degF",
    "W/(m2.K)": "W/m**2/kelvin",
    "deg": "degree",
    "ft of oil": "foot",
    "m of oil": "m",
}


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


@cache
def factor(unit: str) -> float:
    """SI value of one of that unit (radians for turns)."""
    registry = _registry()
    quantity = registry.parse_expression(PINT.get(unit, unit))
    return float(quantity.to_base_units().magnitude) if hasattr(quantity, "to_base_units") else float(quantity)


def to_si(value: float, unit: str) -> float:
    if unit == "F":
        return (value - 32.0) / 1.8 + 273.15
    return value * factor(unit)


def from_si(value: float, unit: str) -> float:
    if unit == "F":
        return (value - 273.15) * 1.8 + 32.0
    return value / factor(unit)
