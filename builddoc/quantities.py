"""Quantities at the edges: text with a unit -> SI float, SI float -> text in metric or US units.

Traps of general unit libraries are closed before they see the text: decimal commas, bare numbers, `Nm`, `PS`, gauge and
absolute pressure, gallons, fractions of an inch. The conversion factors themselves come from pint.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable
from functools import cache, lru_cache
from typing import Any

from .units import ADVICE, ATMOSPHERE, CASE_MATTERS, DIMENSIONS, MEANT, TEMPERATURES, UNITS, Dimension, Display

__all__ = ["DIMENSIONS", "SYSTEMS", "Dimension", "QuantityError", "expected", "number", "parse", "printer", "show"]

SYSTEMS = ("metric", "US")


class QuantityError(ValueError):
    """A text that is no quantity of the wanted dimension. code: stable; text: one sentence; hint: what to write."""

    def __init__(self, code: str, text: str, hint: str = ""):
        self.code, self.text, self.hint = code, text, hint
        super().__init__(f"{text} ({hint})" if hint else text)


# ---------------------------------------------------------------- reading
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}
_DECIMAL = r"(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBER = re.compile(
    rf"(?P<sign>[+-]?)\s*(?:(?:(?P<whole>\d+)(?:\s*-\s*|\s+))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)(?![\d.])|(?P<plain>{_DECIMAL}))"
    r"(?P<unit>.*)$",
    re.DOTALL | re.ASCII,
)
_COMMA = re.compile(r"[+-]?\d+(?:,\d+)+(?:\.\d+)?", re.ASCII)
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d+)?", re.ASCII)
_RATIO = re.compile(rf"({_DECIMAL})\s*(?::|\bto\b)\s*({_DECIMAL})$", re.ASCII)
_GAUGE = re.compile(
    r"(?P<unit>.+?)(?:\s*\((?P<mark>g|a|gauge|abs\.?|absolute)\)|\s+(?P<word>g|a|gauge|abs\.?|absolute)"
    r"|(?<=bar|psi|kPa|MPa)(?P<letter>[gaGA]))$"
)
_SUPERSCRIPTS = str.maketrans(
    {"²": "2", "³": "3", "⁻": "-", "¹": "1", "−": "-", "\u00a0": " ", "\u202f": " ", "º": "°"}
)
_LONGEST = 200


@lru_cache(maxsize=8192)
def parse(text: str, dimension: str) -> float:
    """SI value of a text such as `16 cc/rev`, `1-1/4 in`, `-0.2 bar`, `150 psia` (pressures come back as gauge).

    dimension: a key of DIMENSIONS. Raises QuantityError; its codes: number-comma, number-form, unit-missing,
    unit-unknown, unit-dimension, quantity-impossible. Every result is a finite float.
    """
    wanted = DIMENSIONS[dimension]
    written = _tidy(text)
    if len(written) > _LONGEST:
        raise QuantityError("number-form", "this is too long to be a quantity", _such_as(wanted))
    if dimension == "leakage" and " at " in written:
        flow, _, pressure = written.partition(" at ")
        below = parse(pressure, "pressure")
        if below <= 0:
            raise QuantityError("quantity-impossible", f"'{pressure.strip()}' must be more than 0", _such_as(wanted))
        return parse(flow, "flow") / below
    if dimension == "ratio" and (pair := _RATIO.match(written)):
        top, bottom = float(pair[1]), float(pair[2])
        if bottom == 0:
            raise QuantityError("number-form", f"'{written}' divides by zero", _such_as(wanted))
        return _finite(top / bottom, written, wanted)
    value, unit = _split(written, wanted)
    if dimension == "ratio":
        if unit:
            raise QuantityError("unit-unknown", f"a ratio has no unit, but here stands '{unit}'", _such_as(wanted))
        return value
    if not unit:
        hint = f"write {value * 100:g} %, if that is meant" if dimension == "share" and abs(value) <= 1 else ""
        if dimension == "share" and abs(value) > 1:
            hint = f"write {value:g} %"
        raise QuantityError("unit-missing", f"'{written}' has no unit", hint or _such_as(wanted))
    if dimension == "share":
        if unit not in ("%", "percent", "per cent", "pct"):
            raise QuantityError("unit-unknown", f"expected a share in %, not '{unit}'", _such_as(wanted))
        return value / 100.0
    if (scale := _unit(unit, dimension)) is None:
        raise _explain(unit, wanted, written)
    factor, offset = scale
    result = _finite(value * factor + offset, written, wanted)
    if dimension == "pressure" and result < -ATMOSPHERE * (1 + 1e-9):
        raise QuantityError(
            "quantity-impossible", f"'{written}' is below a perfect vacuum",
            "pressures are gauge; the lowest possible is -1.013 bar (-14.7 psi)",
        )  # fmt: skip
    if dimension == "temperature" and result < 0:
        raise QuantityError("quantity-impossible", f"'{written}' is below absolute zero", _such_as(wanted))
    return result


def expected(dimension: str) -> str:
    """What a parameter of that dimension looks like: `a pressure, such as '150 bar' or '2200 psi'`."""
    wanted = DIMENSIONS[dimension]
    return f"{wanted.noun}, such as " + " or ".join(f"'{e}'" for e in wanted.examples[:2])


def _such_as(wanted: Dimension) -> str:
    return f"write {wanted.noun} like " + " or ".join(f"'{e}'" for e in wanted.examples[:2])


def _tidy(text: str) -> str:
    text = text.translate(_SUPERSCRIPTS)
    for sign, fraction in _VULGAR.items():
        if sign in text:
            text = text.replace(sign, f" {fraction}")
    return " ".join(text.split())


def _finite(value: float, written: str, wanted: Dimension) -> float:
    if not math.isfinite(value):
        raise QuantityError("number-form", f"'{written}' is too large a number", _such_as(wanted))
    return value


def _split(written: str, wanted: Dimension) -> tuple[float, str]:
    """Number and unit of a tidy text."""
    if comma := _COMMA.match(written):
        raise _comma(written, comma[0])
    found = _NUMBER.match(written)
    if not found:
        if not written:
            raise QuantityError("number-form", "nothing is written here", _such_as(wanted))
        raise QuantityError("number-form", f"'{written}' does not begin with a number", _such_as(wanted))
    unit = found["unit"].strip()
    if unit and re.match(r"(?:-|–|\.|…|\bto\b|±|\+|or\b|/\s*\d|x\b|\d(?!\s*/\s*[a-z])|_)", unit):
        raise QuantityError("number-form", f"'{written}' is not one number with a unit", _such_as(wanted))
    if "," in unit:
        raise QuantityError("number-form", f"'{written}' has a comma in it; one quantity is expected", _such_as(wanted))
    if found["top"]:
        bottom = float(found["bottom"])
        if bottom == 0:
            raise QuantityError("number-form", f"'{written}' divides by zero", _such_as(wanted))
        value = float(found["whole"] or 0) + float(found["top"]) / bottom
    else:
        value = float(found["plain"])
    value = _finite(value, written, wanted)
    return (-value if found["sign"] == "-" else value), unit


def _comma(written: str, digits: str) -> QuantityError:
    point = written.replace(digits, digits.replace(",", ".", 1), 1)
    if not _THOUSANDS.fullmatch(digits):
        return QuantityError("number-comma", f"'{written}' has a comma in the number", f"write {point}")
    whole = written.replace(digits, digits.replace(",", ""), 1)
    hint = f"write {whole}" + ("" if digits.count(",") > 1 or "." in digits else f", or {point} if that is meant")
    return QuantityError("number-comma", f"'{written}' has a comma in the number", hint)


# ---------------------------------------------------------------- units
@lru_cache(maxsize=4096)
def _unit(unit: str, dimension: str) -> tuple[float, float] | None:
    """(factor, offset) of a unit as written: SI = factor * number + offset. None: it is none of that dimension."""
    if dimension == "temperature":
        return TEMPERATURES.get(unit)
    if dimension == "temperature difference":
        return (TEMPERATURES[unit][0], 0.0) if unit in TEMPERATURES else None
    bare, offset = unit, 0.0
    if dimension == "pressure" and (mark := _GAUGE.match(unit)):
        bare = mark["unit"]
        offset = -ATMOSPHERE if (mark["mark"] or mark["word"] or mark["letter"]).lower()[0] == "a" else 0.0
    expression = _expression(bare, dimension)
    factor = _factor(expression, DIMENSIONS[dimension].si) if expression else None
    return None if factor is None else (factor, offset)


@cache
def _spellings() -> dict[str, str]:
    """Spelling -> name of the unit."""
    table: dict[str, str] = {}
    for name, _, spellings in UNITS:
        for spelling in spellings.split(", "):
            if spelling in table:
                raise RuntimeError(f"two units are spelled '{spelling}'")
            table[spelling] = name
    for spelling in ("°C", "degC", "°F", "degF"):
        table[spelling] = "kelvin" if spelling.endswith("C") else "fahrenheit_degree"
    return table


@cache
def _any_case() -> dict[str, str]:
    """Lower-case spelling -> name, for units that mean the same in any case."""
    lower: dict[str, set[str]] = {}
    for spelling, name in _spellings().items():
        lower.setdefault(spelling.lower(), set()).add(name)
    return {s: names.pop() for s, names in lower.items() if len(s) > 1 and len(names) == 1 and s not in CASE_MATTERS}


def _expression(unit: str, dimension: str) -> str | None:
    """A unit as written -> an expression of unit names, None if a word of it is not known."""
    whole = _name(unit, dimension)
    if whole:
        return whole
    over, *under = re.split(r"\s*/\s*|\s+per\s+", unit)
    top = _product(over, dimension)
    if top is None:
        return None
    parts = [top]
    for text in under:
        bottom = _product(text, dimension)
        if bottom is None:
            return None
        parts.append(f"({bottom})")
    return " / ".join(parts)


def _product(text: str, dimension: str) -> str | None:
    """`ft lbf`, `N.m`, `sq in`, `m2` -> an expression; what stands after one slash is all below it."""
    if name := _name(text, dimension):
        return name
    words = [w for w in re.split(r"[\s.·*×-]+", text) if w]
    factors: list[str] = []
    n = 0
    while n < len(words):
        power = 1
        if words[n] in ("sq", "square", "cu", "cubic") and n + 1 < len(words):
            power = 2 if words[n].startswith("sq") else 3
            n += 1
        for end in range(len(words), n, -1):
            found = _power(" ".join(words[n:end]), dimension)
            if found:
                factors.append(f"({found}) ** {power}" if power > 1 else found)
                n = end
                break
        else:
            return None
    return " * ".join(factors) or None


def _power(word: str, dimension: str) -> str | None:
    if name := _name(word, dimension):
        return name
    found = re.fullmatch(r"(.*[^\d^*])(?:\^|\*\*)?([23])", word)
    name = _name(found[1], dimension) if found else None
    return f"{name} ** {found[2]}" if found and name else None


def _name(word: str, dimension: str) -> str | None:
    meant = MEANT.get(dimension, {}).get(word)
    return meant or _spellings().get(word) or (_any_case().get(word.lower()) if word not in ADVICE else None)


@cache
def _registry() -> Any:
    """pint with our own definitions only (importing pint takes a while, so only when a quantity is read)."""
    import pint

    registry: Any = pint.UnitRegistry(None)
    for name, definition, _ in UNITS:
        registry.define(f"{name} = {definition}")
    return registry


@lru_cache(maxsize=4096)
def _factor(expression: str, si: str) -> float | None:
    """How many `si` one `expression` is; None if they are of different dimensions."""
    registry = _registry()
    unit, target = registry.parse_expression(expression), registry.parse_expression(si)
    if unit.dimensionality != target.dimensionality:
        return None
    return float((unit / target).to_base_units().magnitude)


# ---------------------------------------------------------------- what went wrong
def _explain(unit: str, wanted: Dimension, written: str) -> QuantityError:
    """Why `unit` is refused for the wanted dimension."""
    if wanted.name == "pressure difference" and (mark := _GAUGE.match(unit)):
        return QuantityError(
            "unit-dimension",
            f"'{written}': a pressure difference is neither gauge nor absolute",
            f"write {mark['unit']}",
        )
    if unit in ("%", "percent", "per cent", "pct"):
        return QuantityError("unit-dimension", f"'{written}' is a share", f"expected {expected(wanted.name)}")
    if expression := _expression(unit, wanted.name):
        return _wrong_dimension(expression, wanted, written)
    for word in re.split(r"[\s./·*-]+", unit):
        if word in ADVICE:
            return QuantityError("unit-unknown", f"'{word}' is not used as a unit here", ADVICE[word])
    near = _nearest(unit, wanted)
    return QuantityError(
        "unit-unknown", f"unknown unit '{unit}'", f"did you mean '{near}'?" if near else _such_as(wanted)
    )


def _nearest(unit: str, wanted: Dimension) -> str | None:
    """The nearest known unit of the wanted dimension, else None."""
    known = list(_spellings())
    if wanted.name.startswith("temperature"):
        pool = list(TEMPERATURES)
    else:
        examples = [re.sub(r"^[\d./-]+\s*", "", e) for e in wanted.examples if " at " not in e]
        displays = [d.unit for system in wanted.systems.values() for d in system]
        pool = [*examples, *displays]
        pool += [s for s in known if len(s) > 1 and _factor(_spellings()[s], wanted.si) is not None]
        for word in dict.fromkeys(re.findall(r"[^\W\d]+", unit)):  # one wrong word inside a compound
            if word in known or word.lower() in _any_case():
                continue
            for near in difflib.get_close_matches(word, [s for s in known if len(s) > 1], 5, 0.5):
                candidate = unit.replace(word, near, 1)
                expression = _expression(candidate, wanted.name)
                if expression and _factor(expression, wanted.si) is not None:
                    pool.append(candidate)
    found = [p for p in pool if p.lower() == unit.lower()] or difflib.get_close_matches(
        unit, dict.fromkeys(pool), 1, 0.6
    )
    if not found:
        lower = {p.lower(): p for p in reversed(pool)}
        found = [lower[m] for m in difflib.get_close_matches(unit.lower(), lower, 1, 0.6)]
    return found[0] if found else None


def _wrong_dimension(expression: str, wanted: Dimension, written: str) -> QuantityError:
    is_a = next((d.noun for d in DIMENSIONS.values() if d.si and _factor(expression, d.si) is not None), "")
    text = f"'{written}' is {is_a}" if is_a else f"'{written}' is of another kind"
    hint = f"expected {expected(wanted.name)}"
    if wanted.name == "force" and is_a == "a mass":
        mass = _factor(expression, "kilogram") or 0.0
        match = _NUMBER.match(written)
        if match and match["plain"]:
            hint = f"expected a force; the weight of it is {show(float(match['plain']) * mass * 9.80665, 'force')}"
    if wanted.name == "displacement" and is_a == "a volume":
        hint = f"expected a displacement per revolution: write '{written}/rev'"
    return QuantityError("unit-dimension", text, hint)


# ---------------------------------------------------------------- printing
def _display(value: float, wanted: Dimension, system: str) -> Display:
    displays = wanted.systems[system]
    size = abs(value)
    if size == 0:  # the everyday unit, not the smallest one
        return next((d for d in displays if wanted.examples[0].endswith(f" {d.unit}")), displays[0])
    for display in displays:
        if size >= display.least * (1 - 1e-12):
            return display
    return displays[-1]


@lru_cache(maxsize=8192)  # a page prints the same few figures in many places
def _rounded(value: float, decimals: int) -> str:
    """Three significant figures, never fewer than the whole number, at most `decimals` after the point."""
    if not math.isfinite(value):
        return "—" if math.isnan(value) else ("∞" if value > 0 else "−∞")
    if value == 0:
        return "0"
    places = min(max(2 - math.floor(math.log10(abs(value) * (1 + 1e-12))), 0), decimals)
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text.replace("-", "−")


def number(value: float, dimension: str, system: str = "metric", like: float | None = None) -> tuple[str, str]:
    """SI value -> (number, unit) as printed, in "metric" or "US". nan is printed as a dash.

    like: another SI value of the same dimension whose unit is to be used (one unit for a whole column).
    """
    wanted = DIMENSIONS[dimension]
    display = _display(value if like is None else like, wanted, system)
    if dimension == "share":
        return _rounded(value * 100.0, display.decimals), display.label
    if dimension == "ratio":
        return _rounded(value, display.decimals), display.label
    factor, offset = _unit(display.unit, dimension) or (1.0, 0.0)  # every display unit is known (a test sees to it)
    return _rounded((value - offset) / factor, display.decimals), display.label


def printer(dimension: str, system: str, like: float) -> tuple[Callable[[float], str], str]:
    """What prints the figures of one column, and its unit: as `number` with this `like`, looked up once."""
    display = _display(like, DIMENSIONS[dimension], system)
    if dimension in ("share", "ratio"):
        return (lambda value: number(value, dimension, system)[0]), display.label
    factor, offset = _unit(display.unit, dimension) or (1.0, 0.0)
    return (lambda value: _rounded((value - offset) / factor, display.decimals)), display.label


def show(value: float, dimension: str, system: str = "metric") -> str:
    """SI value -> text: `151 bar`, `−10 °C`, `4:1`."""
    text, unit = number(value, dimension, system)
    if text == "—":
        return text
    return f"{text}{unit}" if unit in (":1", "°") else f"{text} {unit}"
