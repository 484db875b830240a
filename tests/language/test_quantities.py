"""Units: against other libraries and published factors; the traps; printing."""

from __future__ import annotations

import math
import time

import pint
import pytest
from builddoc import quantities
from builddoc.quantities import DIMENSIONS, QuantityError, expected, number, parse, show
from builddoc.units import CASE_MATTERS, UNITS
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

GENERAL = pint.UnitRegistry()

# What the general library calls the same thing; its own definitions are the outside check.
SAME = [
    ("1 bar", "pressure", "bar"),
    ("1 psi", "pressure", "psi"),
    ("1 MPa", "pressure", "MPa"),
    ("1 inHg", "pressure", "inch_Hg"),
    ("1 kgf/cm2", "pressure", "kgf/cm^2"),
    ("1 ksi", "pressure", "ksi"),
    ("1 L/min", "flow", "liter/minute"),
    ("1 gpm", "flow", "gallon/minute"),
    ("1 imp gpm", "flow", "imperial_gallon/minute"),
    ("1 cu in/min", "flow", "inch^3/minute"),
    ("1 m3/h", "flow", "m^3/hour"),
    ("1 gph", "flow", "gallon/hour"),
    ("1 in", "length", "inch"),
    ("1 ft", "length", "foot"),
    ("1 thou", "length", "thou"),
    ("1 µm", "length", "micrometer"),
    ("1 gal", "volume", "gallon"),
    ("1 imp gal", "volume", "imperial_gallon"),
    ("1 qt", "volume", "quart"),
    ("1 cc/rev", "displacement", "cm^3/turn"),
    ("1 in3/rev", "displacement", "inch^3/turn"),
    ("1 cir", "displacement", "inch^3/turn"),
    ("1 L/rev", "displacement", "liter/turn"),
    ("1 rpm", "rotational speed", "turn/minute"),
    ("1 rev/s", "rotational speed", "turn/second"),
    ("1 hp", "power", "horsepower"),
    ("1 PS", "power", "metric_horsepower"),
    ("1 Btu/h", "power", "Btu_it/hour"),
    ("1 Nm", "torque", "newton*meter"),
    ("1 lbf.ft", "torque", "pound_force*foot"),
    ("1 in-lb", "torque", "pound_force*inch"),
    ("1 lbf", "force", "pound_force"),
    ("1 kgf", "force", "kilogram_force"),
    ("1 tonf", "force", "2000*pound_force"),
    ("1 lb", "mass", "pound"),
    ("1 US ton", "mass", "short_ton"),
    ("1 oz", "mass", "ounce"),
    ("1 cSt", "kinematic viscosity", "centistokes"),
    ("1 cP", "dynamic viscosity", "centipoise"),
    ("1 lb/ft3", "density", "pound/foot^3"),
    ("1 Btu/lb°F", "specific heat", "Btu_it/pound/delta_degF"),
    ("1 Btu/(h ft2 °F)", "heat transfer", "Btu_it/hour/foot^2/delta_degF"),
    ("1 kW/K", "heat per kelvin", "kW/K"),
    ("1 kWh", "energy", "kWh"),
    ("1 deg", "angle", "degree"),
    ("1 ft/min", "velocity", "foot/minute"),
]

# NIST SP 811 (2008), appendix B.8, as remembered: seven figures; from memory.
SP_811 = [
    ("1 psi", "pressure", 6.894757e3),
    ("1 gpm", "flow", 6.309020e-5),
    ("1 hp", "power", 7.456999e2),
    ("1 lbf ft", "torque", 1.355818),
    ("1 lbf", "force", 4.448222),
    ("1 gal", "volume", 3.785412e-3),
    ("1 in3", "volume", 1.638706e-5),
    ("1 lb/ft3", "density", 1.601846e1),
    ("1 rpm", "rotational speed", 1.047198e-1),
    ("1 kgf/cm2", "pressure", 9.80665e4),
    ("1 inHg", "pressure", 3.386389e3),
]


@pytest.mark.parametrize(("text", "dimension", "same"), SAME)
def test_factor_agrees_with_a_general_library(text: str, dimension: str, same: str) -> None:
    other = GENERAL.parse_expression(same).to_base_units().magnitude
    assert parse(text, dimension) == pytest.approx(other, rel=1e-9)


@pytest.mark.parametrize(("text", "dimension", "value"), SP_811)
def test_factor_agrees_with_the_printed_one(text: str, dimension: str, value: float) -> None:
    assert parse(text, dimension) == pytest.approx(value, rel=5e-7)


def test_factors_of_the_physical_constants_library() -> None:
    """scipy.constants (CODATA and exact definitions)."""
    assert parse("1 psi", "pressure") == pytest.approx(constants.psi, rel=1e-12)
    assert parse("1 hp", "power") == pytest.approx(constants.hp, rel=1e-12)
    assert parse("1 gal", "volume") == pytest.approx(constants.gallon, rel=1e-12)
    assert parse("1 imp gal", "volume") == pytest.approx(constants.gallon_imp, rel=1e-12)
    assert parse("0 psia", "pressure") == pytest.approx(-constants.atm, rel=1e-12)
    assert parse("1 Btu", "energy") == pytest.approx(constants.Btu_IT, rel=1e-9)
    assert parse("50 °F", "temperature") == pytest.approx(
        constants.convert_temperature(50, "Fahrenheit", "Kelvin"), rel=1e-12
    )


def test_two_pi_once() -> None:
    """A 10 cc pump at 600 rpm moves 6 L/min (10 cm3 x 600 / min, by hand)."""
    flow = parse("10 cc/rev", "displacement") * parse("600 rpm", "rotational speed")
    assert show(flow, "flow") == "6 L/min"


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("1-1/4 in", "length", 0.03175),
        ("1 1/4 in", "length", 0.03175),
        ("1¼ in", "length", 0.03175),
        ("½ in", "length", 0.0127),
        ('3/8"', "length", 0.009525),
        ("1/2in", "length", 0.0127),
        ("-10 °C", "temperature", 263.15),
        ("−10 °C", "temperature", 263.15),
        ("-10 degC", "temperature", 263.15),
        ("14 F", "temperature", 263.15),
        ("36 °F", "temperature difference", 20.0),
        ("20 °C", "temperature difference", 20.0),
        ("-0.2 bar", "pressure", -2e4),
        ("+3 bar", "pressure", 3e5),
        ("1e3 Pa", "pressure", 1e3),
        (".5 bar", "pressure", 5e4),
        ("150bar", "pressure", 150e5),
        ("150 BAR", "pressure", 150e5),
        ("150 bar(g)", "pressure", 150e5),
        ("150 barg", "pressure", 150e5),
        ("2 bara", "pressure", 98675.0),
        ("2 bar (a)", "pressure", 98675.0),
        ("2 bar abs", "pressure", 98675.0),
        ("14.695948775513 psia", "pressure", 0.0),
        ("3 psi gauge", "pressure", 20684.27),
        ("93 %", "share", 0.93),
        ("93%", "share", 0.93),
        ("4:1", "ratio", 4.0),
        ("1 : 4", "ratio", 0.25),
        ("2.5", "ratio", 2.5),
        ("3 to 1", "ratio", 3.0),
        ("1500 min-1", "rotational speed", 50 * math.pi),
        ("1500 1/min", "rotational speed", 50 * math.pi),
        ("12 W/(m2 K)", "heat transfer", 12.0),
        ("12 W/m²·K", "heat transfer", 12.0),
        ("3 sq in", "area", 3 * 0.0254**2),
        ("50 mL/min at 100 bar", "leakage", 50e-6 / 60 / 1e7),
        ("0.5 mL/min/bar", "leakage", 0.5e-6 / 60 / 1e5),
        ("66 ft-lb", "torque", 89.48398),
        ("90 N·m", "torque", 90.0),
        ("5000 lbs", "force", 22241.108),
        ("40 L per min", "flow", 40e-3 / 60),
        ("40\u00a0L/min", "flow", 40e-3 / 60),
        ("10 KW", "power", 1e4),
    ],
)
def test_reads(text: str, dimension: str, value: float) -> None:
    assert parse(text, dimension) == pytest.approx(value, rel=1e-6, abs=1e-6 if dimension == "pressure" else 0.0)


@pytest.mark.parametrize(
    ("text", "dimension", "code", "hint"),
    [
        ("3,5 bar", "pressure", "number-comma", "write 3.5 bar"),
        ("1,200 rpm", "rotational speed", "number-comma", "write 1200 rpm"),
        ("1,234,567 Pa", "pressure", "number-comma", "write 1234567 Pa"),
        ("1 200 rpm", "rotational speed", "number-form", ""),
        ("1_200 rpm", "rotational speed", "number-form", ""),
        ("150", "pressure", "unit-missing", "'150 bar'"),
        ("1/2", "length", "unit-missing", ""),
        ("0.93", "share", "unit-missing", "93 %"),
        ("93", "share", "unit-missing", "93 %"),
        ("5-10 bar", "pressure", "number-form", ""),
        ("5 to 10 bar", "pressure", "number-form", ""),
        ("5..10 bar", "pressure", "number-form", ""),
        ("5 ± 1 bar", "pressure", "number-form", ""),
        ("~5 bar", "pressure", "number-form", ""),
        ("1/0 in", "length", "number-form", ""),
        ("4:0", "ratio", "number-form", ""),
        ("", "pressure", "number-form", ""),
        ("1e999 bar", "pressure", "number-form", ""),
        ("1e300 GPa", "pressure", "number-form", ""),
        ("9" * 500 + " bar", "pressure", "number-form", ""),
        ("nan bar", "pressure", "number-form", ""),
        ("inf bar", "pressure", "number-form", ""),
        ("٣ bar", "pressure", "number-form", ""),
        ("15 mPa", "pressure", "unit-unknown", "MPa"),
        ("15 Mbar", "pressure", "unit-unknown", "mbar"),
        ("10 ps", "power", "unit-unknown", "PS"),
        ("90 nm", "torque", "unit-unknown", "N.m"),
        ("90 NM", "torque", "unit-unknown", "N.m"),
        ("10 ton", "force", "unit-unknown", "kN"),
        ("46 SUS", "kinematic viscosity", "unit-unknown", "cSt"),
        ("5 gpmm", "flow", "unit-unknown", "gpm"),
        ("5 L/mn", "flow", "unit-unknown", "L/min"),
        ("150 baar", "pressure", "unit-unknown", "bar"),
        ("150 L/min", "pressure", "unit-dimension", "pressure"),
        ("16 cc", "displacement", "unit-dimension", "16 cc/rev"),
        ("16 cc/rev", "volume", "unit-dimension", "a volume"),
        ("500 kg", "force", "unit-dimension", "4.9 kN"),
        ("20 °C", "pressure", "unit-dimension", "pressure"),
        ("20 bar", "temperature", "unit-dimension", "temperature"),
        ("5 %", "pressure", "unit-dimension", "pressure"),
        ("5 bara", "pressure difference", "unit-dimension", "bar"),
        ("-2 bar", "pressure", "quantity-impossible", "-1.013 bar"),
        ("-1 bara", "pressure", "quantity-impossible", ""),
        ("-300 °C", "temperature", "quantity-impossible", ""),
        ("50 mL/min at -1 bar", "leakage", "quantity-impossible", ""),
    ],
)
def test_refuses(text: str, dimension: str, code: str, hint: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, dimension)
    assert caught.value.code == code
    assert hint in f"{caught.value.text} {caught.value.hint}"


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_examples_and_displays(dimension: str) -> None:
    """Every example is read, every display unit is known, what is printed can be read again."""
    known = DIMENSIONS[dimension]
    assert expected(dimension).startswith(known.noun)
    for example in known.examples:
        value = parse(example, dimension)
        for system in quantities.SYSTEMS:
            text, unit = number(value, dimension, system)
            assert text and unit
            display = next(d for d in known.systems[system] if d.label == unit)
            back = f"{text.replace('−', '-')} {display.unit}".replace(" :1", ":1")
            assert parse(back, dimension) == pytest.approx(value, rel=0.02)


def test_every_spelling_is_read_and_no_spelling_means_two_things() -> None:
    table = quantities._spellings()
    assert len(UNITS) == len({name for name, _, _ in UNITS})
    for spelling, name in table.items():
        assert quantities._factor(name, name) == 1.0, spelling
    for lower, name in quantities._any_case().items():
        assert lower not in CASE_MATTERS
        assert {n for s, n in table.items() if s.lower() == lower} == {name}


@pytest.mark.parametrize(
    ("value", "dimension", "system", "text"),
    [
        (151.2e5, "pressure", "metric", "151 bar"),
        (151.2e5, "pressure", "US", "2193 psi"),
        (2.345e5, "pressure", "metric", "2.35 bar"),
        (0.0, "pressure", "metric", "0 bar"),
        (-1.7e4, "pressure", "metric", "−0.17 bar"),
        (99.96e5, "pressure", "metric", "100 bar"),
        (22.3e-3 / 60, "flow", "metric", "22.3 L/min"),
        (22.3e-3 / 60, "flow", "US", "5.89 gpm"),
        (5e-7 / 60, "flow", "metric", "0.5 mL/min"),
        (0.063, "length", "metric", "63 mm"),
        (1.25, "length", "metric", "1.25 m"),
        (0.0, "length", "metric", "0 mm"),
        (0.0127, "length", "US", "0.5 in"),
        (0.0127, "length", "metric", "12.7 mm"),
        (273.15, "temperature", "metric", "0 °C"),
        (263.15, "temperature", "metric", "−10 °C"),
        (318.15, "temperature", "US", "113 °F"),
        (0.93, "share", "metric", "93 %"),
        (4.0, "ratio", "metric", "4:1"),
        (26500.0, "force", "metric", "26.5 kN"),
        (251.3274, "rotational speed", "metric", "2400 rpm"),
        (-1e-9, "pressure", "metric", "0 bar"),
        (math.nan, "pressure", "metric", "—"),
        (math.inf, "pressure", "metric", "∞ bar"),
    ],
)
def test_prints(value: float, dimension: str, system: str, text: str) -> None:
    assert show(value, dimension, system) == text


def test_one_unit_for_a_column() -> None:
    assert number(0.05, "length", like=2.0) == ("0.05", "m")


@given(st.sampled_from(sorted(DIMENSIONS)), st.text(max_size=40))
def test_any_text_gives_a_number_or_a_message(dimension: str, text: str) -> None:
    try:
        assert math.isfinite(parse(text, dimension))
    except QuantityError as error:
        assert error.code and error.text


_PIECES = st.lists(
    st.sampled_from(
        [
            "1",
            "-",
            ",",
            ".",
            "/",
            "2",
            " ",
            "bar",
            "psi",
            "a",
            "(",
            ")",
            "g",
            "m",
            "in",
            "K",
            "°C",
            "lb",
            "ft",
            "rev",
            "per",
            "sq",
            "^2",
            "2",
            "*",
            "·",
            "at",
            "to",
            ":",
            "%",
            "e9",
            "½",
            "²",
            "Nm",
            "cc",
            "min",
            "s",
        ]
    ),
    max_size=9,
)


@given(st.sampled_from(sorted(DIMENSIONS)), _PIECES)
def test_any_words_of_the_trade_give_a_number_or_a_message(dimension: str, pieces: list[str]) -> None:
    try:
        assert math.isfinite(parse("".join(pieces), dimension))
    except QuantityError as error:
        assert error.code and error.text


@given(st.sampled_from(["pressure", "flow", "length", "power", "torque"]), st.floats(-1e9, 1e9))
def test_three_figures_survive_printing(dimension: str, value: float) -> None:
    text, unit = number(value, dimension)
    display = next(d for d in DIMENSIONS[dimension].systems["metric"] if d.label == unit)
    if dimension == "pressure" and value < -101325:
        return
    back = parse(f"{text.replace('−', '-')} {display.unit}", dimension)
    scale = parse(f"1 {display.unit}", dimension)
    assert back == pytest.approx(value, rel=5.1e-3, abs=0.51 * scale * 10**-display.decimals)


def test_reading_is_fast() -> None:
    """Two hundred pages hold some ten thousand quantities."""
    parse("1 L/min", "flow")
    texts = [f"{n}.25 L/min" for n in range(2000)]
    start = time.perf_counter()
    for text in texts:
        parse(text, "flow")
    assert (time.perf_counter() - start) / len(texts) < 200e-6
