"""The examples in the docstrings of the laws are executed, and every public law has one."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil

import pytest
from builddoc import physics

MODULES = [f"builddoc.physics.{info.name}" for info in pkgutil.iter_modules(physics.__path__)]
LAWS = [name for name in MODULES if not name.endswith(".values")]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0
    assert result.attempted > 0 or name.endswith(".values")


@pytest.mark.parametrize("name", LAWS)
def test_every_law_has_an_example(name: str) -> None:
    module = importlib.import_module(name)
    for attribute, law in vars(module).items():
        if inspect.isfunction(law) and law.__module__ == name and not attribute.startswith("_"):
            if ">>>" in (law.__doc__ or ""):
                continue
            pytest.fail(f"{name}.{attribute} has no example")
