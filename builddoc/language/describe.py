"""What a field of the model takes, in words: for the reference page and the JSON Schema."""

from __future__ import annotations

import types
import typing
from typing import Any, Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from ..fields import NamesPart, Pair, PairOf, Quantity, RatingField
from ..quantities import DIMENSIONS, show

_RATING = typing.get_args(RatingField)[1]


def markers(info: FieldInfo) -> list[Any]:
    """Markers of a field's type, also those inside `… | None`."""
    return [*info.metadata, *_inner(info.annotation)]


def _inner(annotation: Any) -> list[Any]:
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        return [m for member in typing.get_args(annotation) for m in _inner(member)]
    if typing.get_origin(annotation) is typing.Annotated:
        base, *found = typing.get_args(annotation)
        return [*found, *_inner(base)]
    return []


def marker(info: FieldInfo, kind: type) -> Any:
    return next((m for m in markers(info) if isinstance(m, kind)), None)


def wanted(info: FieldInfo) -> str:
    """Markdown: what is written behind the key."""
    if quantity := marker(info, Quantity):
        dimension = DIMENSIONS[quantity.dimension]
        return f"{dimension.noun}: `{dimension.examples[0]}`"
    if pair := marker(info, PairOf):
        first, second = DIMENSIONS[pair.first], DIMENSIONS[pair.second]
        return f"{first.noun} at {second.noun}: `{first.examples[0]} at {second.examples[0]}`"
    if any(m is _RATING for m in markers(info)):
        return "a pressure, `unknown`, or a group: value, kind, read on, document"
    if named := marker(info, NamesPart):
        return "name of an engine or electric motor" if named.driver else "name of a part"
    return _type(info.annotation)


def _type(annotation: Any) -> str:
    origin, args = typing.get_origin(annotation), typing.get_args(annotation)
    if origin in (typing.Union, types.UnionType):
        return " or ".join(dict.fromkeys(_type(a) for a in args if a is not type(None) and a != Literal[""]))
    if origin is typing.Annotated:
        return _type(args[0])
    if origin is Literal:
        return ", ".join(f"`{a}`" for a in args if a)
    if origin in (list, tuple):
        inner = typing.get_args(annotation)
        of = _type(inner[0]) if inner and inner[0] is not Any else "texts or groups"
        return f"a list: {of}"
    if origin is dict or (isinstance(annotation, type) and issubclass(annotation, BaseModel)):
        return "a group of keys"
    return {bool: "`yes` or `no`", int: "a whole number", float: "a number", str: "a text"}.get(annotation, "see below")


def default(info: FieldInfo) -> str:
    """Markdown: what holds where the key is left out; "needed" if it may not be."""
    if info.is_required():
        return "**needed**"
    if info.default is PydanticUndefined or info.default in (None, "", ()):
        return "–"
    return plain_default(info)


def plain_default(info: FieldInfo) -> str:
    """The default as a writer would write it, "" if there is none to be written."""
    value = info.default
    if value is PydanticUndefined or value in (None, "", ()):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if (quantity := marker(info, Quantity)) and isinstance(value, float):
        return show(value, quantity.dimension)
    if (pair := marker(info, PairOf)) and isinstance(value, Pair):
        return f"{show(value.value, pair.first)} at {show(value.at, pair.second)}"
    return str(value) if isinstance(value, (str, int, float)) else ""


def inner_model(annotation: Any) -> type[BaseModel] | None:
    """The model of the group that a field takes, also inside a mapping, a list or `… | None`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((m for a in typing.get_args(annotation) if (m := inner_model(a)) is not None), None)


def cell(text: str) -> str:
    """Text for a cell of a Markdown table."""
    return " ".join(text.split()).replace("|", "\\|")


def keys_table(model: type[BaseModel], skip: tuple[str, ...] = ()) -> str:
    """Markdown table of a model's keys."""
    rows = ["| key | written as | left out | what it is |", "|---|---|---|---|"]
    for name, info in model.model_fields.items():
        key = info.alias or name
        if key not in skip:
            rows.append(f"| `{key}` | {cell(wanted(info))} | {cell(default(info))} | {cell(info.description or '')} |")
    return "\n".join(rows)
