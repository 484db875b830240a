"""The kinds of components. Every module of this package that defines a `Kind` named `KIND` (or `KINDS`) is found."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Mapping
from functools import cache
from typing import Any

from .base import Control, Kind
from .conduit import ConduitKind


@cache
def registry() -> Mapping[str, Kind[Any]]:
    """All kinds by name (aliases are not in it; see `find`)."""
    found: dict[str, Kind[Any]] = {}
    for info in sorted(pkgutil.iter_modules(__path__), key=lambda info: info.name):
        module = importlib.import_module(f"{__name__}.{info.name}")
        for kind in getattr(module, "KINDS", ()) or [k for k in [getattr(module, "KIND", None)] if k is not None]:
            if kind.name in found:
                raise RuntimeError(f"two kinds are named '{kind.name}'")
            found[kind.name] = kind
    return found


@cache
def _by_any_name() -> Mapping[str, Kind[Any]]:
    names: dict[str, Kind[Any]] = {}
    for kind in registry().values():
        for name in (kind.name, *kind.aliases):
            names[name] = kind
    return names


def find(name: str) -> Kind[Any] | None:
    """The kind of that name or alias, or None."""
    return _by_any_name().get(name)


def tie_controls() -> tuple[Control, ...]:
    """What a state may order of a tie: the same as of one rod."""
    from .orders import ROD

    return ROD


@cache
def conduits() -> Mapping[str, ConduitKind[Any]]:
    """What a line may be made of, by the key of the line that names it ("hose"). Every module with a `CONDUIT`."""
    found: dict[str, ConduitKind[Any]] = {}
    for info in sorted(pkgutil.iter_modules(__path__), key=lambda info: info.name):
        conduit = getattr(importlib.import_module(f"{__name__}.{info.name}"), "CONDUIT", None)
        if conduit is not None:
            found[conduit.key] = conduit
    return found
