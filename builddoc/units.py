"""The units that builders write, and the dimensions that parameters have. Data only; `quantities` reads it.

The list is closed on purpose: a general unit library guesses (`PS` as petasiemens, `Nm` as a textile unit), a builder's
page must not. Any product, quotient or power of these units is accepted where its dimension fits.
Exact definitions: inch, pound, gallon and g by definition of the international yard and pound (1959), the US gallon
(231 cubic inches), the imperial gallon (4.54609 L), standard gravity (9.80665 m/s2). Horsepower: 550 ft lbf/s; metric
horsepower: 75 kgf m/s; Btu: International Table (1055.05585262 J); mm of mercury: 133.322387415 Pa (conventional).
"""

from __future__ import annotations

from dataclasses import dataclass

# name, definition (the unit library's notation), spellings (separated by ", ")
UNITS: tuple[tuple[str, str, str], ...] = (
    ("metre", "[length]", "m, metre, metres, meter, meters"),
    ("millimetre", "0.001 * metre", "mm, millimetre, millimetres, millimeter, millimeters"),
    ("centimetre", "0.01 * metre", "cm, centimetre, centimetres, centimeter, centimeters"),
    ("kilometre", "1000 * metre", "km"),
    ("micrometre", "1e-6 * metre", "um, µm, μm, micron, microns, micrometre, micrometer"),
    ("inch", "0.0254 * metre", 'in, inch, inches, ", ″, in.'),
    ("thou", "0.001 * inch", "thou"),
    ("foot", "12 * inch", "ft, foot, feet, ft."),
    ("yard", "3 * foot", "yd, yard, yards"),
    ("second", "[time]", "s, sec, second, seconds"),
    ("millisecond", "0.001 * second", "ms"),
    ("minute", "60 * second", "min, minute, minutes, mins"),
    ("hour", "3600 * second", "h, hr, hour, hours"),
    ("day", "24 * hour", "day, days"),
    ("kilogram", "[mass]", "kg, kilogram, kilograms"),
    ("gram", "0.001 * kilogram", "g, gram, grams"),
    ("tonne", "1000 * kilogram", "t, tonne, tonnes, metric ton, metric tons"),
    ("pound", "0.45359237 * kilogram", "lb, lbs, pound, pounds, lbm"),
    ("ounce", "pound / 16", "oz"),
    ("short_ton", "2000 * pound", "US ton, short ton, US tons, short tons"),
    ("kelvin", "[temperature]", "K, kelvin"),
    ("fahrenheit_degree", "kelvin / 1.8", "R, °R, degR"),
    ("radian", "[angle]", "rad, radian, radians"),
    ("revolution", "6.283185307179586476925 * radian", "rev, revs, revolution, revolutions, r"),
    ("degree", "revolution / 360", "deg, degree, degrees, °"),
    ("rpm", "revolution / minute", "rpm, r.p.m., RPM"),
    ("newton", "kilogram * metre / second ** 2", "N, newton, newtons"),
    ("kilonewton", "1000 * newton", "kN, kilonewton, kilonewtons"),
    ("decanewton", "10 * newton", "daN"),
    ("meganewton", "1e6 * newton", "MN"),
    ("kilogram_force", "9.80665 * kilogram * metre / second ** 2", "kgf, kp"),
    ("tonne_force", "1000 * kilogram_force", "tf, tonne-force, tonnes-force"),
    ("pound_force", "pound * 9.80665 * metre / second ** 2", "lbf, pound-force, pounds-force"),
    ("kip", "1000 * pound_force", "kip, kips, klbf"),
    ("short_ton_force", "2000 * pound_force", "tonf, US tonf, short tonf"),
    ("newton_metre", "newton * metre", "Nm"),
    ("kilonewton_metre", "1000 * newton_metre", "kNm"),
    ("pascal", "newton / metre ** 2", "Pa, pascal, pascals"),
    ("hectopascal", "100 * pascal", "hPa"),
    ("kilopascal", "1000 * pascal", "kPa"),
    ("megapascal", "1e6 * pascal", "MPa"),
    ("gigapascal", "1e9 * pascal", "GPa"),
    ("bar", "1e5 * pascal", "bar, bars"),
    ("millibar", "100 * pascal", "mbar, millibar, millibars"),
    ("psi", "pound_force / inch ** 2", "psi, lbf/in2, lb/in2, lb/sq in"),
    ("ksi", "1000 * psi", "ksi"),
    ("technical_atmosphere", "kilogram_force / centimetre ** 2", "kg/cm2, kgf/cm2, kp/cm2"),
    ("atmosphere", "101325 * pascal", "atm"),
    ("mm_mercury", "133.322387415 * pascal", "mmHg, mm Hg, torr"),
    ("inch_mercury", "25.4 * mm_mercury", "inHg, in Hg, inches Hg"),
    ("joule", "newton * metre", "J, joule, joules"),
    ("kilojoule", "1000 * joule", "kJ"),
    ("megajoule", "1e6 * joule", "MJ"),
    ("btu", "1055.05585262 * joule", "Btu, BTU, btu"),
    ("watt", "joule / second", "W, watt, watts"),
    ("kilowatt", "1000 * watt", "kW, kilowatt, kilowatts"),
    ("volt", "[voltage]", "V, volt, volts"),
    ("ampere", "watt / volt", "A, amp, amps, ampere, amperes"),
    ("ampere_hour", "3600 * ampere * second", "Ah, A.h"),
    ("watt_hour", "3600 * joule", "Wh"),
    ("kilowatt_hour", "1000 * watt_hour", "kWh"),
    ("horsepower", "550 * foot * pound_force / second", "hp, HP, bhp, horsepower"),
    ("metric_horsepower", "75 * kilogram_force * metre / second", "PS, metric hp, cv, ch"),
    ("litre", "0.001 * metre ** 3", "L, l, litre, litres, liter, liters, ltr, ℓ"),
    ("millilitre", "1e-6 * metre ** 3", "mL, ml, millilitre, millilitres, milliliter, milliliters"),
    ("centilitre", "1e-5 * metre ** 3", "cL, cl"),
    ("cubic_centimetre", "1e-6 * metre ** 3", "cc, ccm, cm3"),
    ("cubic_inch", "inch ** 3", "cu in, in3, cubic inch, cubic inches, cu. in., ci"),
    ("gallon", "231 * inch ** 3", "gal, gallon, gallons, US gal, US gallon, US gallons, USgal"),
    ("quart", "gallon / 4", "qt, quart, quarts, US qt"),
    ("imperial_gallon", "4.54609 * litre",
     "imp gal, imperial gal, imperial gallon, imperial gallons, UK gal, UK gallon, UK gallons, gal (imp)"),
    ("gallon_per_minute", "gallon / minute", "gpm, GPM, US gpm, usgpm"),
    ("gallon_per_hour", "gallon / hour", "gph"),
    ("imperial_gallon_per_minute", "imperial_gallon / minute", "imp gpm, imperial gpm, UK gpm, igpm, gpm (imp)"),
    ("litre_per_minute", "litre / minute", "lpm, LPM, L/min, l/min"),
    ("cubic_inch_per_revolution", "inch ** 3 / revolution", "cir"),
    ("centistokes", "1e-6 * metre ** 2 / second", "cSt, centistokes, centistoke"),
    ("stokes", "100 * centistokes", "St"),
    ("millipascal_second", "0.001 * pascal * second", "mPa.s, mPa·s, mPas, mPa s, cP, cPs, centipoise"),
    ("pascal_second", "pascal * second", "Pa.s, Pa·s, Pas, Pa s"),
    ("square_metre_kelvin", "metre ** 2 * kelvin", "m2K, m2 K, (m2 K), (m2.K), (m2·K), (m2K), m2.K, m2·K, m2 °C, m2°C"),
    ("kilogram_kelvin", "kilogram * kelvin", "kgK, kg K, (kg K), (kg.K), (kg·K), (kgK), kg.K, kg·K, kg°C, kg °C"),
    ("pound_degree", "pound * kelvin / 1.8", "lb°F, lb °F, (lb °F), (lb·°F), lb.°F"),
    ("hour_foot_degree", "hour * foot ** 2 * kelvin / 1.8", "(h ft2 °F), (h·ft2·°F), h ft2 °F"),
)  # fmt: skip

# A temperature as such has an offset; inside a compound (W/K, Btu/lb°F) a degree is a difference.
TEMPERATURES: dict[str, tuple[float, float]] = {
    **dict.fromkeys(("°C", "degC", "C", "deg C", "Celsius", "celsius", "ºC", "℃"), (1.0, 273.15)),
    **dict.fromkeys(("°F", "degF", "F", "deg F", "Fahrenheit", "fahrenheit", "ºF", "℉"), (1 / 1.8, 459.67 / 1.8)),
    **dict.fromkeys(("K", "kelvin"), (1.0, 0.0)),
}

# Spellings that mean something else in one dimension: a pound that presses is a pound-force.
MEANT: dict[str, dict[str, str]] = {
    "force": {"lb": "pound_force", "lbs": "pound_force", "pounds": "pound_force", "pound": "pound_force"},
    "torque": {"lb": "pound_force", "lbs": "pound_force", "pounds": "pound_force", "pound": "pound_force"},
    "rotational speed": {"1/min": "rpm", "min-1": "rpm", "/min": "rpm"},
}

# Words that look like units, and what to write instead.
ADVICE: dict[str, str] = {
    "SUS": "Saybolt seconds do not convert by a factor: write the cSt that the oil's data sheet gives",
    "SSU": "Saybolt seconds do not convert by a factor: write the cSt that the oil's data sheet gives",
    "ton": "a ton means three things: write kN, tonne (1000 kg), US ton (2000 lb), tonf (2000 lbf)",
    "tons": "a ton means three things: write kN, tonne (1000 kg), US ton (2000 lb), tonf (2000 lbf)",
    "vacuum": "write a vacuum as a negative gauge pressure, such as -0.2 bar or -5 inHg",
    "mPa": "mPa is a thousandth of a pascal; megapascal is written MPa",
    "mpa": "megapascal is written MPa, with a capital M",
    "nm": "newton metre is written N.m or Nm",
    "NM": "newton metre is written N.m or Nm",
    "mNm": "write N.m",
    "GPH": "write gph",
    "gall": "write gal (US) or imp gal",
    "weight": "ISO VG grades and SAE weights belong into 'grade'",
}

# Units whose upper or lower case letters change the meaning; every other unit of two letters or more may be written in
# any case (Bar, PSI, KW).
CASE_MATTERS = frozenset(
    {"mpa", "mn", "mbar", "ms", "nm", "ps", "pa", "gpa", "mj", "hpa", "pas", "mpas", "st", "ch", "cv"}
)

ATMOSPHERE = 101325.0


@dataclass(frozen=True, slots=True)
class Display:
    """One way to print: from `least` (absolute SI value) on, in `unit` (a spelling of UNITS), printed as `label`."""

    unit: str
    label: str
    least: float = 0.0
    decimals: int = 2


@dataclass(frozen=True, slots=True)
class Dimension:
    """si: the SI unit in the unit library's notation. noun: as in "expected a pressure". examples: accepted texts.

    systems: system -> displays, largest `least` first.
    """

    name: str
    si: str
    noun: str
    examples: tuple[str, ...]
    systems: dict[str, tuple[Display, ...]]


def _dimension(
    name: str, si: str, noun: str, examples: tuple[str, ...], metric: tuple[Display, ...], us: tuple[Display, ...] = ()
) -> Dimension:
    return Dimension(name, si, noun, examples, {"metric": metric, "US": us or metric})


_D = Display
_TIME = (_D("h", "h", 7200.0, 1), _D("min", "min", 300.0, 1), _D("s", "s"))
_PRESSURE = ((_D("bar", "bar", decimals=2),), (_D("psi", "psi", decimals=1),))

DIMENSIONS: dict[str, Dimension] = {
    d.name: d
    for d in (
        _dimension("pressure", "pascal", "a pressure", ("150 bar", "2200 psi", "15 MPa"), *_PRESSURE),
        _dimension(
            "pressure difference", "pascal", "a pressure difference", ("5 bar", "70 psi", "0.5 MPa"), *_PRESSURE
        ),
        _dimension(
            "flow", "metre ** 3 / second", "a flow", ("40 L/min", "10.5 gpm", "500 cc/min"),
            (_D("L/min", "L/min", 0.05 / 6e4), _D("mL/min", "mL/min")),
            (_D("gpm", "gpm", 0.02 * 6.309e-5), _D("in3/min", "in³/min")),
        ),
        _dimension(
            "length", "metre", "a length", ("63 mm", "0.8 m", "1-1/4 in", "3 ft"),
            (_D("m", "m", 1.0), _D("mm", "mm", 1e-4), _D("um", "µm", decimals=1)),
            (_D("ft", "ft", 0.9144), _D("in", "in", 0.0, 4)),
        ),
        _dimension(
            "area", "metre ** 2", "an area", ("0.75 m2", "20 cm2", "3.1 in2"),
            (_D("m2", "m²", 0.05), _D("cm2", "cm²", 1e-4), _D("mm2", "mm²")),
            (_D("ft2", "ft²", 0.05), _D("in2", "in²", 0.0, 3)),
        ),
        _dimension(
            "volume", "metre ** 3", "a volume", ("30 L", "8 gal", "500 cc"),
            (_D("L", "L", 1e-4), _D("mL", "mL")),
            (_D("gal", "gal", 4e-4), _D("in3", "in³")),
        ),
        _dimension(
            "displacement", "metre ** 3 / radian", "a displacement per revolution", ("16 cc/rev", "0.98 in3/rev"),
            (_D("cc/rev", "cc/rev", decimals=2),), (_D("in3/rev", "in³/rev", decimals=3),),
        ),
        _dimension(
            "rotational speed", "radian / second", "a shaft speed", ("2400 rpm", "40 rev/s", "250 rad/s"),
            (_D("rpm", "rpm", decimals=1),),
        ),
        _dimension(
            "velocity", "metre / second", "a speed", ("0.1 m/s", "50 mm/s", "4 in/s", "15 ft/s"),
            (_D("m/s", "m/s", 0.2), _D("mm/s", "mm/s")), (_D("ft/s", "ft/s", 0.3048), _D("in/s", "in/s")),
        ),
        _dimension(
            "power", "watt", "a power", ("16 hp", "7.5 kW", "10 PS"),
            (_D("kW", "kW", 100.0), _D("W", "W", decimals=1)), (_D("hp", "hp"),),
        ),
        _dimension(
            "torque", "newton * metre", "a torque", ("90 N.m", "66 lbf.ft", "800 in.lbf"),
            (_D("N.m", "N·m", decimals=2),), (_D("lbf ft", "lbf·ft"),),
        ),
        _dimension(
            "force", "newton", "a force", ("26.5 kN", "6000 lbf", "500 kgf"),
            (_D("kN", "kN", 100.0), _D("N", "N", decimals=1)), (_D("lbf", "lbf", decimals=1),),
        ),
        _dimension(
            "mass", "kilogram", "a mass", ("250 kg", "550 lb", "1.2 t"),
            (_D("kg", "kg"),), (_D("lb", "lb"),),
        ),
        _dimension(
            "temperature", "kelvin", "a temperature", ("45 °C", "113 °F", "45 degC"),
            (_D("°C", "°C", decimals=1),), (_D("°F", "°F", decimals=1),),
        ),
        _dimension(
            "temperature difference", "kelvin", "a temperature difference", ("20 K", "36 °F"),
            (_D("K", "K", decimals=1),), (_D("°F", "°F", decimals=1),),
        ),
        _dimension(
            "kinematic viscosity", "metre ** 2 / second", "a kinematic viscosity", ("46 cSt", "46 mm2/s"),
            (_D("cSt", "cSt", decimals=2),),
        ),
        _dimension(
            "dynamic viscosity", "pascal * second", "a dynamic viscosity", ("40 mPa.s", "40 cP"),
            (_D("mPa.s", "mPa·s", decimals=2),), (_D("cP", "cP", decimals=2),),
        ),
        _dimension(
            "density", "kilogram / metre ** 3", "a density", ("870 kg/m3", "0.87 g/cm3", "54 lb/ft3"),
            (_D("kg/m3", "kg/m³", decimals=1),), (_D("lb/ft3", "lb/ft³", decimals=1),),
        ),
        _dimension("voltage", "volt", "a voltage", ("12 V", "24 V"), (_D("V", "V", decimals=2),)),
        _dimension("current", "ampere", "a current", ("150 A",), (_D("A", "A", decimals=1),)),
        _dimension("charge", "ampere * second", "a charge", ("80 Ah",), (_D("Ah", "Ah", decimals=1),)),
        _dimension("share", "", "a share", ("93 %", "40 %"), (_D("%", "%", decimals=1),)),
        _dimension("ratio", "", "a ratio", ("4:1", "2.5"), (_D(":1", ":1", decimals=3),)),
        _dimension(
            "heat transfer", "watt / metre ** 2 / kelvin", "a heat transfer coefficient",
            ("12 W/m2K", "2 Btu/(h ft2 °F)"),
            (_D("W/m2K", "W/(m²·K)", decimals=2),), (_D("Btu/(h ft2 °F)", "Btu/(h·ft²·°F)"),),
        ),
        _dimension(
            "specific heat", "joule / kilogram / kelvin", "a specific heat", ("1900 J/kgK", "0.45 Btu/lb°F"),
            (_D("kJ/kgK", "kJ/(kg·K)", decimals=3),), (_D("Btu/lb°F", "Btu/(lb·°F)", decimals=3),),
        ),
        _dimension(
            "heat per kelvin", "watt / kelvin", "a heat flow per degree", ("150 W/K", "0.15 kW/K"),
            (_D("W/K", "W/K", decimals=1),), (_D("Btu/h/°F", "Btu/(h·°F)", decimals=1),),
        ),
        _dimension(
            "leakage", "metre ** 3 / second / pascal", "a leakage flow at a pressure",
            ("50 mL/min at 100 bar", "0.5 mL/min/bar"),
            (_D("mL/min/bar", "mL/min per bar"),), (_D("in3/min/psi", "in³/min per psi", decimals=4),),
        ),
        _dimension("energy", "joule", "an energy", ("12 kJ", "0.5 kWh"), (_D("kJ", "kJ"),), (_D("Btu", "Btu"),)),
        _dimension("heat capacity", "joule / kelvin", "a heat capacity", ("20 kJ/K",), (_D("kJ/K", "kJ/K"),)),
        _dimension("time", "second", "a time", ("4 s", "1.5 min", "2 h"), _TIME),
        _dimension("angle", "radian", "an angle", ("30 deg", "0.5 rad"), (_D("deg", "°", decimals=1),)),
    )
}  # fmt: skip
