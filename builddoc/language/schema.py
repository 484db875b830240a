"""JSON Schema of a circuit, generated from the model and the kinds; for editors that check YAML while one types."""

from __future__ import annotations

import copy
from typing import Any

from pydantic import BaseModel

from .. import kinds
from .comparing import CompareText
from .describe import plain_default
from .lines import conduits
from .model import CircuitText, LineText, PartText
from .photos import PhotosText
from .readings import ReadingsText, ReadingText
from .sheets import SheetText

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def circuit_schema() -> dict[str, Any]:
    """Schema (draft 2020-12) of a circuit text. An editor reads `12` as a number and `yes` as a text or a truth value:
    the schema takes either where the language does."""
    schema = _of(CircuitText)
    definitions: dict[str, Any] = schema.setdefault("$defs", {})
    definitions["PartText"] = _part(definitions)
    definitions["LineText"] = _line(definitions)
    definitions["StateText"]["additionalProperties"] = True  # spools and parts that can be set
    schema["properties"]["oil"] = {
        "description": schema["properties"]["oil"].get("description", ""),
        "anyOf": [{"$ref": "#/$defs/OilText"}, {"type": "string"}],
    }
    alone = {
        "required": ["file"],
        "properties": dict.fromkeys(("file", "show", "units"), True),
        "additionalProperties": False,
    }
    whole = {"required": ["machine", "parts"], "not": {"required": ["file"]}}
    changed = {"required": ["machine", "revision", "from"], "not": {"required": ["parts"]}}
    schema.pop("required", None)
    schema["anyOf"] = [whole, changed, alone]
    return {"$schema": DIALECT, "title": "circuit", **{k: v for k, v in schema.items() if k != "title"}}


def block_schema(word: str) -> dict[str, Any]:
    """Schema of a block that names circuits: a key of `BLOCKS`."""
    model, inner = BLOCKS[word]
    schema = _of(model)
    if inner is not None:  # a list whose items the language checks one by one
        item = _of(inner)
        schema.setdefault("$defs", {}).update(item.pop("$defs", {}))
        schema["properties"][word]["items"] = item
    return {"$schema": DIALECT, "title": word, **{k: v for k, v in schema.items() if k != "title"}}


BLOCKS: dict[str, tuple[type[BaseModel], type[BaseModel] | None]] = {
    "compare": (CompareText, None),
    "readings": (ReadingsText, ReadingText),
    "sheet": (SheetText, None),
    "photos": (PhotosText, None),
}
"""Blocks beside `circuit`, by the word of their fence: what describes them, and the items of their list."""


def _of(model: type[BaseModel]) -> dict[str, Any]:
    """A model's own schema, with defaults as a writer would write them."""
    schema = copy.deepcopy(model.model_json_schema(by_alias=True, mode="validation", ref_template="#/$defs/{model}"))
    _tolerant(schema)
    for name, info in model.model_fields.items():
        entry = schema.get("properties", {}).get(info.alias or name)
        if isinstance(entry, dict):
            text = plain_default(info)
            entry.pop("default", None)
            if text:
                entry["default"] = text
    return schema


def _tolerant(schema: Any) -> None:
    """Editors decide on numbers and truth values where the language reads text; no defaults in SI units."""
    if isinstance(schema, list):
        for item in schema:
            _tolerant(item)
        return
    if not isinstance(schema, dict):
        return
    if schema.get("type") == "boolean":
        schema.pop("type")
        schema["enum"] = [True, False, "yes", "no", "on", "off"]
    elif schema.get("type") == "string" and "enum" not in schema and "const" not in schema:
        schema["type"] = ["string", "number", "boolean"]
    elif schema.get("type") == "integer":
        schema["type"] = ["integer", "string"]
    if isinstance(schema.get("default"), (int, float, list, dict)):
        schema.pop("default")
    schema.pop("basis", None)
    for key, value in schema.items():
        if key not in ("enum", "examples", "required"):
            _tolerant(value)


def _adopt(model: type[BaseModel], definitions: dict[str, Any], prefix: str) -> dict[str, Any]:
    """A model's schema with its inner definitions moved into the common ones."""
    schema = _of(model)
    inner = schema.pop("$defs", {})
    moved = {f"#/$defs/{name}": f"#/$defs/{prefix} {name}" for name in inner}
    _refer(schema, moved)
    for name, definition in inner.items():
        _refer(definition, moved)
        definitions[f"{prefix} {name}"] = definition
    return schema


def _refer(schema: Any, moved: dict[str, str]) -> None:
    if isinstance(schema, list):
        for item in schema:
            _refer(item, moved)
    elif isinstance(schema, dict):
        if schema.get("$ref") in moved:
            schema["$ref"] = moved[schema["$ref"]]
        for value in schema.values():
            _refer(value, moved)


def _part(definitions: dict[str, Any]) -> dict[str, Any]:
    """A part: one branch for each kind. No parameter is required here, see below."""
    own = _of(PartText)["properties"]
    names: list[str] = []
    branches = []
    for kind in kinds.registry().values():
        known_as = [kind.name, *kind.aliases]
        names += known_as
        schema = _adopt(kind.Params, definitions, f"kind {kind.name}")
        schema["properties"] = {**own, **schema.get("properties", {})}
        schema["title"], schema["description"] = kind.name, kind.summary
        needed = schema.pop("required", [])  # they may come from `like` or from `defaults`, which an editor cannot see
        if needed:
            schema["description"] += " Needs: " + ", ".join(needed) + "."
        definitions[f"kind {kind.name}"] = schema
        branches.append(
            {
                "if": {"properties": {"kind": {"enum": known_as}}, "required": ["kind"]},
                "then": {"$ref": f"#/$defs/kind {kind.name}"},
            }
        )
    return {
        "type": "object",
        "description": (PartText.__doc__ or "").strip(),
        "properties": {**own, "kind": {**own["kind"], "enum": names}},
        "anyOf": [{"required": ["kind"]}, {"required": ["like"]}],
        "allOf": branches,
    }


def _line(definitions: dict[str, Any]) -> dict[str, Any]:
    """A line: the keys of every line and those of its one conduit."""
    schema = _of(LineText)
    schema.pop("$defs", None)
    choices: list[dict[str, Any]] = [{"required": ["direct"]}]
    for key, conduit in conduits().items():
        found = _adopt(conduit.Params, definitions, f"conduit {key}")
        for name, entry in found.get("properties", {}).items():
            schema["properties"].setdefault(name, entry)
        choices.append({"required": [key]})
    schema["anyOf"] = choices
    return schema
