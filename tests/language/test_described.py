"""What is generated from the model: JSON Schema and reference page."""

from __future__ import annotations

import re
from typing import Any

import jsonschema
import pytest
import yaml
from builddoc import kinds
from builddoc.language import read
from builddoc.language.describe import keys_table
from builddoc.language.model import CircuitText, LineText, OilText, StateText, keys_of
from builddoc.language.reference import example, reference_markdown
from builddoc.language.schema import circuit_schema
from builddoc.units import DIMENSIONS

from .machines import MILL, SPLITTER


@pytest.fixture(scope="module")
def validator() -> Any:
    schema = circuit_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def _as_an_editor(text: str) -> Any:
    """YAML 1.1 with its guesses (numbers, truth values, dates as text): the harder case of what editors do."""
    loaded = yaml.safe_load(text)
    return yaml.load(yaml.safe_dump(loaded), Loader=_NoDates)


class _NoDates(yaml.SafeLoader):
    yaml_implicit_resolvers = {  # noqa: RUF012
        sign: [(tag, pattern) for tag, pattern in found if not tag.endswith("timestamp")]
        for sign, found in yaml.SafeLoader.yaml_implicit_resolvers.items()
    }


@pytest.mark.parametrize("text", [SPLITTER, MILL, example(), "file: circuits/mill.yml\nshow: {state: lifting}\n"])
def test_schema_takes_what_the_language_takes(validator: Any, text: str) -> None:
    assert [e.message for e in validator.iter_errors(_as_an_editor(text))] == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("kind: relief valve", "kind: releif valve"),
        ("setting: 150 bar", "seting: 150 bar"),
        ("machine: log splitter\n", ""),
        ("lines:", "pipes:"),
        ("{route: relief.outlet > tank, ", "{"),
        ("bore: 19 mm, length: 1 m", "bore: 19 mm, lenght: 1 m"),
        ("bore: 19 mm, ", ""),
        ("setting: 150 bar", "setting: [150 bar]"),
    ],
)
def test_schema_refuses(validator: Any, old: str, new: str) -> None:
    assert old in SPLITTER
    text = SPLITTER.replace(old, new)
    assert list(validator.iter_errors(_as_an_editor(text)))
    assert read(text).circuit is None


def test_schema_is_plain_and_whole() -> None:
    schema = circuit_schema()
    found = schema["$defs"]["PartText"]["properties"]["kind"]["enum"]
    for kind in kinds.registry().values():
        assert {kind.name, *kind.aliases} <= set(found)
    assert set(keys_of(CircuitText)) == set(schema["properties"])
    for reference in re.findall(r"'\$ref': '#/\$defs/([^']+)'", str(schema)):
        assert reference in schema["$defs"]


def test_reference_names_everything() -> None:
    page = reference_markdown()
    assert page == reference_markdown()
    for model in (CircuitText, OilText, LineText, StateText):
        for key in keys_of(model):
            assert f"`{key}`" in page or f"`{key}:" in page, key
    for kind in kinds.registry().values():
        assert f"#### {kind.name}\n" in page
        assert kind.summary in page
        assert kind.equations in page
        for key in keys_of(kind.Params):
            assert f"| `{key}` |" in page, (kind.name, key)
    for key in kinds.conduits():
        assert f"#### `{key}`" in page
    for dimension in DIMENSIONS:
        assert f"| {dimension} |" in page
    assert "$" not in re.sub(r"```.*?```", "", page, flags=re.DOTALL)


def test_tables_of_the_reference_are_whole() -> None:
    """Every row of a Markdown table has as many cells as its head."""
    width = 0
    for line in reference_markdown().split("\n"):
        if not line.startswith("|"):
            width = 0
            continue
        cells = len(re.findall(r"(?<!\\)\|", line))
        width = width or cells
        assert cells == width, line


def test_yaml_of_the_reference_is_read() -> None:
    """Every block on the page is YAML; the first one is a circuit without a fault."""
    blocks = re.findall(r"```yaml\n(.*?)```", reference_markdown(), re.DOTALL)
    assert len(blocks) > len(kinds.registry())
    reading = read(blocks[0])
    assert reading.circuit is not None, reading.messages
    for block in blocks:
        assert isinstance(yaml.safe_load(block), (dict, list)), block


def test_defaults_are_printed_with_their_unit() -> None:
    table = keys_table(OilText)
    assert "| 45 °C |" in table
    assert "| 870 kg/m³ |" in table
    assert "318" not in table
