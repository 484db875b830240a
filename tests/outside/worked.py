"""Reads published.yaml and works each entry with the functions of the package. Nothing here knows a formula."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from builddoc import standards
from builddoc.physics import (
    accumulator,
    buckling,
    cylinder,
    hammer,
    heat,
    line,
    motor,
    oil,
    orifice,
    power,
    pump,
    strength,
    trapped,
)

from .units import from_si, to_si

LIBRARY = {
    "accumulator": accumulator,
    "buckling": buckling,
    "cylinder": cylinder,
    "hammer": hammer,
    "heat": heat,
    "line": line,
    "motor": motor,
    "oil": oil,
    "orifice": orifice,
    "power": power,
    "pump": pump,
    "standards": standards,
    "strength": strength,
    "trapped": trapped,
    "min": min,
}


@dataclass(frozen=True, slots=True)
class Outcome:
    """One published figure and what the package computes for it, in the unit of the source."""

    entry: str
    title: str
    topic: str
    name: str
    source: str
    where: str
    seen_as: str
    published: float
    computed: float
    unit: str
    rel_tol: float
    by: str

    @property
    def deviation(self) -> float:
        return self.computed / self.published - 1.0

    @property
    def holds(self) -> bool:
        return abs(self.computed - self.published) <= self.rel_tol * abs(self.published) * (1 + 1e-9)


@cache
def data() -> dict[str, Any]:
    text = (Path(__file__).parent / "published.yaml").read_text(encoding="utf-8")
    return yaml.load(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))


def names(entry: dict[str, Any]) -> dict[str, Any]:
    """What the expressions of an entry may use: the package's functions, its inputs in SI, its steps."""
    known: dict[str, Any] = dict(LIBRARY)
    for name, text in entry["given"].items():
        number, _, unit = str(text).partition(" ")
        known[name] = to_si(float(number), unit)
    for step in entry.get("steps", ()):
        name, _, expression = step.partition(" = ")
        known[name] = evaluate(expression, known)
    return known


def evaluate(expression: str, known: dict[str, Any]) -> Any:
    return eval(expression, {"__builtins__": {}}, known)


def outcomes(entry: dict[str, Any]) -> Iterator[Outcome]:
    known = names(entry)
    for figure in entry["expected"]:
        yield Outcome(
            entry=entry["id"],
            title=entry["title"],
            topic=entry["topic"],
            name=figure["name"],
            source=data()["sources"][entry["source"]],
            where=str(entry.get("where", "")),
            seen_as=entry["seen_as"],
            published=float(figure["published"]),
            computed=from_si(float(evaluate(figure["by"], known)), figure["unit"]),
            unit=figure["unit"],
            rel_tol=float(figure["rel_tol"]),
            by=figure["by"],
        )


def calls(expression: str) -> list[str]:
    """Functions of the package that an expression calls, e.g. ["cylinder.force"]."""
    functions = [node.func for node in ast.walk(ast.parse(expression, mode="eval")) if isinstance(node, ast.Call)]
    return [
        f"{function.value.id}.{function.attr}"
        for function in functions
        if isinstance(function, ast.Attribute) and isinstance(function.value, ast.Name)
    ]
