"""`variants.yml` says of every variant that machines are built from how it is written and which test holds its case by
hand: the first must be accepted, the second must be there."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest
import yaml
from builddoc import kinds

from .bench import part

HERE = Path(__file__).parent
VARIANTS = yaml.safe_load((HERE / "variants.yml").read_text("utf-8"))["variants"]


@cache
def functions(file: str) -> frozenset[str]:
    tree = ast.parse((HERE / file).read_text("utf-8"))
    return frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef) and "test_" in node.name)


@pytest.mark.parametrize("variant", VARIANTS, ids=lambda v: v["asked"])
def test_each_variant_is_accepted_and_has_its_case(variant):
    assert variant["tests"] and ("written" in variant or "state" in variant)
    if "written" in variant:
        part("it", variant["written"])
    for test in variant["tests"]:
        file, _, name = test.partition("::")
        assert functions(file) and (name == "*" or name in functions(file)), test


def test_every_kind_that_moves_guides_or_stores_oil_is_among_them():
    listed = {part("it", v["written"]).kind for v in VARIANTS if "written" in v}
    plain = {
        "tee", "plug", "gauge point", "reservoir", "orifice", "check valve", "shut-off valve", "relief valve", "pump",
        "engine", "electric motor",
    }  # fmt: skip
    assert set(kinds.registry()) - plain == listed
