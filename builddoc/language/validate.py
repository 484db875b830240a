"""A group of the tree against a pydantic model; pydantic's errors become messages at the place of the value."""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Iterable
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from ..fields import Quantity
from ..messages import Place
from ..quantities import DIMENSIONS
from .describe import marker
from .model import keys_of
from .talk import Talk, nearest, suggestion
from .yamltext import Group, Node, Sequence, Text

M = TypeVar("M", bound=BaseModel)

_EXPECTED = {
    "string_type": "a text",
    "list_type": "a list in [ ]",
    "tuple_type": "a list in [ ]",
    "set_type": "a list in [ ]",
    "dict_type": "a group of 'key: value'",
    "mapping_type": "a group of 'key: value'",
    "model_type": "a group of 'key: value'",
    "model_attributes_type": "a group of 'key: value'",
    "dataclass_type": "a group of 'key: value'",
    "quantity-form": "a quantity",
}
_NUMBERS = {
    "int_parsing": "a whole number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing_size": "a whole number",
    "float_parsing": "a number",
    "float_type": "a number",
    "finite_number": "a number",
}


def check(model: type[M], group: Group, owner: str, place: Place, talk: Talk, others: Iterable[str] = ()) -> M | None:
    """The validated model, or None after its errors were said.

    owner: how to call it in a message ("part 'pump'"). place: where a missing key is reported. others: keys that
    belong to someone else; they are left out here without a word.
    """
    known = keys_of(model)
    others = set(others)
    for key in [k for k in group.values if k not in known and k not in others]:
        unknown_key(key, group.keys[key], owner, [*known, *sorted(others)], talk)
    empty = {k for k, v in group.values.items() if isinstance(v, Text) and v.nothing and k in known}
    for key in empty:
        talk.say("value-missing", f"'{key}' has no value", group.keys[key], _example(model, key))
    kept = Group(
        {k: group.keys[k] for k in group.values if k in known and k not in empty},
        {k: v for k, v in group.values.items() if k in known and k not in empty},
        group.place,
    )
    try:
        result = model.model_validate(kept.plain())
    except ValidationError as error:
        meant = {nearest(k, known) or k for k in group.values if k not in known}  # misspelled: not missing as well
        _say_all(model, error, kept, owner, place, talk, empty | meant)
        return None
    return None if empty else result


def unknown_key(key: str, place: Place, owner: str, known: list[str], talk: Talk) -> None:
    talk.say("key-unknown", f"{owner} has no key '{key}'", place, suggestion(key, known, "keys"))


def _say_all(
    model: type[BaseModel],
    error: ValidationError,
    group: Group,
    owner: str,
    place: Place,
    talk: Talk,
    excused: set[str],
) -> None:
    clusters: dict[tuple[Any, ...], list[Any]] = {}
    for one in error.errors(include_url=False, include_input=False):
        path, _ = _follow(group, one["loc"])
        clusters.setdefault(path, []).append(one)
    for path, errors in clusters.items():
        # A union of forms gives an error for each: those about a wrong form are said once, together, or not at all.
        telling = [e for e in errors if e["type"] not in _EXPECTED]
        for one in telling:
            if not (one["type"] == "missing" and one["loc"][-1] in excused):
                _say(model, one, group, owner, place, talk)
        if not telling and not _deeper(clusters, path):
            wanted = " or ".join(dict.fromkeys(_EXPECTED[e["type"]] for e in errors))
            _, node = _follow(group, errors[0]["loc"])
            text = f"{_label(path)}: expected {wanted}, not {_kind(node)}"
            talk.say("value-form", text, node.place, _example(model, str(path[0]) if path else ""))


def _deeper(clusters: dict[tuple[Any, ...], list[Any]], path: tuple[Any, ...]) -> bool:
    return any(len(other) > len(path) and other[: len(path)] == path for other in clusters)


def _follow(group: Group, loc: tuple[Any, ...]) -> tuple[tuple[Any, ...], Node]:
    """The part of an error's loc that exists in the tree, and the node there (names of union members are skipped)."""
    node: Node = group
    path: list[Any] = []
    for step in loc:
        if isinstance(node, Group) and step in node.values:
            node = node.values[step]
            path.append(step)
        elif isinstance(node, Sequence) and isinstance(step, int) and step < len(node.items):
            node = node.items[step]
            path.append(step)
    return tuple(path), node


def _label(path: tuple[Any, ...]) -> str:
    return ", ".join(str(step) for step in path if not isinstance(step, int))


def _kind(node: Node) -> str:
    return "a text" if isinstance(node, Text) else "a list" if isinstance(node, Sequence) else "a group of keys"


def _say(model: type[BaseModel], error: Any, group: Group, owner: str, place: Place, talk: Talk) -> None:
    kind, context = error["type"], error.get("ctx") or {}
    path, node = _follow(group, error["loc"])
    label, last = _label(path) or owner, error["loc"][-1] if error["loc"] else ""
    at = node.place if path else place
    if kind == "missing":
        who = f"'{label}' of {owner}" if path else owner
        inner = _model_at(model, path)
        talk.say("value-missing", f"{who} needs '{last}'", at, _example(inner, str(last)) if inner else "")
    elif kind == "extra_forbidden":
        key_place = node.place
        parent_path, parent = _follow(group, error["loc"][:-1])
        if isinstance(parent, Group) and last in parent.keys:
            key_place = parent.keys[last]
        inner = _model_at(model, parent_path)
        hint = suggestion(str(last), keys_of(inner), "keys") if inner else ""
        talk.say("key-unknown", f"'{_label(parent_path) or owner}' has no key '{last}'", key_place, hint)
    elif kind in ("literal_error", "enum"):
        choices = re.findall(r"'([^']*)'", str(context.get("expected", "")))
        written = node.value if isinstance(node, Text) else ""
        choices = [c for c in choices if c]
        near = nearest(written, choices) if written else None
        hint = (f"did you mean '{near}'? " if near else "") + "one of: " + "; ".join(choices)
        talk.say("choice", f"{label}: '{written}' is not possible here", at, hint)
    elif kind in _NUMBERS:
        talk.say("number-form", f"{label}: expected {_NUMBERS[kind]}{_quoted(node)}", at)
    elif kind.startswith("bool_"):
        talk.say("choice", f"{label}: expected yes or no{_quoted(node)}", at)
    elif kind == "value_error":
        talk.say("value-wrong", f"{label}: {context.get('error', error['msg'])}", at)
    elif kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        text = error["msg"].replace("Input should be", "must be")
        for theirs, ours in (("greater than or equal to", "at least"), ("less than or equal to", "at most"),
                             ("greater than", "more than")):  # fmt: skip
            text = text.replace(theirs, ours)
        talk.say("quantity-range", f"{label}: {text}", at)
    elif "-" in kind or kind == "choice":
        text = str(context.get("text") or error["msg"])
        talk.say(kind, f"{label}: {text}", at, str(context.get("hint", "")))
    else:
        text = error["msg"].replace("Input should", "it should")
        talk.say("value-wrong", f"{label}: {text}", at)


def _quoted(node: Node) -> str:
    return f", not '{node.value}'" if isinstance(node, Text) else f", not {_kind(node)}"


def _example(model: type[BaseModel], key: str) -> str:
    """What a key takes: an example of its quantity, else its description."""
    field = model.model_fields.get(keys_of(model).get(key, ""))
    if field is None:
        return ""
    if quantity := marker(field, Quantity):
        return f"as '{key}: {DIMENSIONS[quantity.dimension].examples[0]}'"
    return (field.description or "").split(". ")[0].rstrip(".").replace("`", "'")


def _model_at(model: type[BaseModel], path: tuple[Any, ...]) -> type[BaseModel] | None:
    """The model that describes what stands at `path`; None if none does."""
    found: Any = model
    for step in path:
        if isinstance(step, int):  # of a list: `_element` has gone into it
            continue
        if isinstance(found, type) and issubclass(found, BaseModel):
            name = keys_of(found).get(str(step))
            if name is None:
                return None
            found = found.model_fields[name].annotation
        found = _element(found)
    return found if isinstance(found, type) and issubclass(found, BaseModel) else None


def _element(annotation: Any) -> Any:
    """`X | None`, `dict[str, X]`, `list[X]`, `Annotated[X, …]` -> X."""
    args = [a for a in typing.get_args(annotation) if a is not type(None)]
    origin = typing.get_origin(annotation)
    if origin is dict:
        return args[1]
    if origin in (list, tuple, typing.Annotated, typing.Union, types.UnionType) and args:
        return _element(args[0]) if origin is typing.Annotated or len(args) == 1 else args[0]
    return annotation
