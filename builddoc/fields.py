"""Types for the parameters of kinds: a field says its dimension, the text of the writer becomes an SI float.

From YAML every scalar arrives as text and is read with its unit; from Python a float is taken as SI.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import AfterValidator, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from . import quantities
from .circuit import Rating


@dataclass(frozen=True)
class Quantity:
    """Field marker: a quantity of `dimension` (a key of `quantities.DIMENSIONS`), with bounds in SI."""

    dimension: str
    gt: float | None = None
    ge: float | None = None
    le: float | None = None

    def read(self, value: Any) -> float:
        """Text or SI float -> SI float. Raises PydanticCustomError whose type is the message code."""
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            raise PydanticCustomError(
                "quantity-form",
                "expected {expected}, not a list or a group of keys",
                {"expected": quantities.expected(self.dimension)},
            )
        if isinstance(value, str):
            try:
                number = quantities.parse(value, self.dimension)
            except quantities.QuantityError as error:
                raise PydanticCustomError(
                    error.code, "{text}", {"text": error.text, "hint": error.hint}
                ) from None
        else:
            number = float(value)
        if (self.gt is not None and not number > self.gt) or (self.ge is not None and not number >= self.ge):
            raise PydanticCustomError("quantity-range", "must be {bound}", {"bound": self._bounds()})
        if self.le is not None and not number <= self.le:
            raise PydanticCustomError("quantity-range", "must be {bound}", {"bound": self._bounds()})
        return number

    def _bounds(self) -> str:
        words = []
        if self.gt is not None:
            words.append(f"more than {quantities.show(self.gt, self.dimension)}")
        if self.ge is not None:
            words.append(f"at least {quantities.show(self.ge, self.dimension)}")
        if self.le is not None:
            words.append(f"at most {quantities.show(self.le, self.dimension)}")
        return " and ".join(words)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {
            "type": ["string", "number"],
            "title": self.dimension,
            "description": quantities.expected(self.dimension),
            "examples": list(quantities.DIMENSIONS[self.dimension].examples),
        }


@dataclass(frozen=True)
class NamesPart:
    """Field marker: the text is the name of another part of the circuit; `language` checks that it is there.

    driver: it must be one that turns a shaft (its kind has a nominal speed).
    """

    driver: bool = False


DriverName = Annotated[str, NamesPart(driver=True)]
PartName = Annotated[str, NamesPart()]
Pressure = Annotated[float, Quantity("pressure")]
PositivePressure = Annotated[float, Quantity("pressure", gt=0.0)]
PressureDrop = Annotated[float, Quantity("pressure difference", ge=0.0)]
Flow = Annotated[float, Quantity("flow", gt=0.0)]
Length = Annotated[float, Quantity("length", gt=0.0)]
LengthOrZero = Annotated[float, Quantity("length", ge=0.0)]
Area = Annotated[float, Quantity("area", gt=0.0)]
Volume = Annotated[float, Quantity("volume", gt=0.0)]
Displacement = Annotated[float, Quantity("displacement", gt=0.0)]
ShaftSpeed = Annotated[float, Quantity("rotational speed", ge=0.0)]
PositiveShaftSpeed = Annotated[float, Quantity("rotational speed", gt=0.0)]
Power = Annotated[float, Quantity("power", gt=0.0)]
Torque = Annotated[float, Quantity("torque", ge=0.0)]
Force = Annotated[float, Quantity("force", ge=0.0)]
Velocity = Annotated[float, Quantity("velocity", gt=0.0)]
Mass = Annotated[float, Quantity("mass", gt=0.0)]
Temperature = Annotated[float, Quantity("temperature")]
Viscosity = Annotated[float, Quantity("kinematic viscosity", gt=0.0)]
Density = Annotated[float, Quantity("density", gt=0.0)]
Share = Annotated[float, Quantity("share", ge=0.0, le=1.0)]
Efficiency = Annotated[float, Quantity("share", gt=0.0, le=1.0)]
Ratio = Annotated[float, Quantity("ratio", gt=0.0)]
HeatTransfer = Annotated[float, Quantity("heat transfer", gt=0.0)]
SpecificHeat = Annotated[float, Quantity("specific heat", gt=0.0)]
HeatPerKelvin = Annotated[float, Quantity("heat per kelvin", gt=0.0)]
Voltage = Annotated[float, Quantity("voltage", gt=0.0)]
Current = Annotated[float, Quantity("current", gt=0.0)]
Duration = Annotated[float, Quantity("time", gt=0.0)]
Leakage = Annotated[float, Quantity("leakage", ge=0.0)]


@dataclass(frozen=True, slots=True)
class Pair:
    """Two quantities written `X at Y`, e.g. a pressure drop at a flow: `5 bar at 40 L/min`. SI."""

    value: float
    at: float


@dataclass(frozen=True)
class PairOf:
    """Field marker for a `Pair`: `first` and `second` are dimensions."""

    first: str
    second: str
    second_needed: bool = True

    def read(self, value: Any) -> Pair:
        if isinstance(value, Pair):
            return value
        if not isinstance(value, str):
            raise PydanticCustomError("pair-form", "expected {expected}", {"expected": self.expected()})
        head, mark, tail = value.partition(" at ")
        if not mark:
            if self.second_needed:
                raise PydanticCustomError(
                    "pair-form",
                    "{text}",
                    {"text": f"'{value}' does not say at what {self.second}", "hint": self.expected()},
                )
            return Pair(Quantity(self.first, ge=0.0).read(head.strip()), float("nan"))
        first, second = Quantity(self.first, ge=0.0), Quantity(self.second, gt=0.0)
        return Pair(first.read(head.strip()), second.read(tail.strip()))

    def expected(self) -> str:
        a, b = (quantities.DIMENSIONS[d].examples[0] for d in (self.first, self.second))
        return f"write it like '{a} at {b}'"

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        a, b = (quantities.DIMENSIONS[d].examples[0] for d in (self.first, self.second))
        return {"type": "string", "title": f"{self.first} at {self.second}", "examples": [f"{a} at {b}"]}


DropAtFlow = Annotated[Pair, PairOf("pressure difference", "flow")]
PowerAtSpeed = Annotated[Pair, PairOf("power", "rotational speed", second_needed=False)]
FlowAtPressure = Annotated[Pair, PairOf("flow", "pressure")]


class _RatingReader:
    """`210 bar`, `unknown`, or `{value: 210 bar, kind: working, read on: plate, document: ...}`."""

    KINDS = ("working", "intermittent", "peak", "proof", "burst")
    KEYS = ("value", "kind", "read on", "document")

    @classmethod
    def read(cls, value: Any) -> Rating:
        if isinstance(value, Rating):
            return value
        if isinstance(value, Mapping):
            unknown = [k for k in value if k not in cls.KEYS]
            if unknown:
                raise PydanticCustomError(
                    "key-unknown",
                    "{text}",
                    {"text": f"a rating has no key '{unknown[0]}'", "hint": "keys: " + ", ".join(cls.KEYS)},
                )
            kind = str(value.get("kind", "working"))
            if kind not in cls.KINDS:
                raise PydanticCustomError(
                    "choice", "{text}", {"text": f"'{kind}' is not a kind of rating", "hint": ", ".join(cls.KINDS)}
                )
            inner = cls.read(value.get("value", "unknown"))
            return Rating(inner.value, kind, str(value.get("read on", "")), str(value.get("document", "")))
        if isinstance(value, str) and value.strip().lower() == "unknown":
            return Rating(None)
        return Rating(Quantity("pressure", gt=0.0).read(value))

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(cls.read)

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {
            "title": "rating",
            "description": "a pressure, 'unknown', or a group: value, kind, read on, document",
            "examples": ["210 bar", "3000 psi", "unknown"],
            "type": ["string", "object"],
        }


RatingField = Annotated[Rating, _RatingReader]


def _date(text: str) -> str:
    found = re.fullmatch(r"(\d{4})(?:-(\d\d)(?:-(\d\d))?)?", text, re.ASCII)
    if text and not (found and 1 <= int(found[2] or 1) <= 12 and 1 <= int(found[3] or 1) <= 31):
        raise PydanticCustomError(
            "date-form", "{text}", {"text": f"'{text}' is not a date", "hint": "write 2025-05-18, 2025-05 or 2025"}
        )
    return text


Date = Annotated[str, AfterValidator(_date)]
