"""Reading of the tables beside this module, and what every row that comes out of them says about itself."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import yaml

STATUSES = ("seen", "from memory", "common practice")

BAR = 1e5
PSI = 6894.757293168
INCH = 0.0254
SHOWN = 6  # choices that a message prints
MM = 1e-3
FOOT = 0.3048


class NotListed(LookupError):
    """A name or size that no table holds. message: a sentence for the builder. choices: what is listed, nearest
    first."""

    def __init__(self, message: str, choices: Iterable[str] = ()):
        self.message, self.choices = message, tuple(choices)
        super().__init__(message)

    def __str__(self) -> str:
        shown = ", ".join(self.choices[:SHOWN]) + (" ..." if len(self.choices) > SHOWN else "")
        return f"{self.message} (listed: {shown})" if self.choices else self.message


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """Where a row comes from. status: "seen" (in print), "from memory", "common practice". notes: sentences that must
    stand beside a figure taken from the row. conflict: what other published tables say, and which figure is used."""

    title: str
    source: str
    edition: str
    status: str
    notes: tuple[str, ...] = ()
    conflict: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """One table. rows: column -> value as written in the file (units in `units` or in the file's head)."""

    name: str
    title: str
    source: str
    edition: str
    status: str
    agreement: str
    conflict: str
    notes: str
    units: str
    rows: tuple[Mapping[str, Any], ...]
    more: Mapping[str, Any]

    def origin(self, row: Mapping[str, Any] | None = None) -> dict[str, Any]:
        """Keyword arguments of `Listed` for a row (its own status and place, where it has them, win)."""
        row = row or {}
        return {
            "title": self.title,
            "source": row.get("where") or self.source,
            "edition": self.edition,
            "status": row.get("status") or self.status,
            "notes": (self.notes,) if self.notes else (),
            "conflict": self.conflict,
        }


@cache
def tables(file: str) -> Mapping[str, Table]:
    """All tables of one file of `data/` (without ".yaml"), by name."""
    text = resources.files(__package__).joinpath("data", f"{file}.yaml").read_text(encoding="utf-8")
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    found = {}
    for name, raw in yaml.load(text, Loader=loader).items():
        columns = raw.pop("columns")
        rows = tuple(dict(zip(columns, row, strict=True)) for row in raw.pop("rows"))
        known = {key: str(raw.pop(key, "")) for key in _TEXTS}
        found[name] = Table(name=name, rows=rows, more=raw, **known)
    return found


_TEXTS = ("title", "source", "edition", "status", "agreement", "conflict", "notes", "units")


def table(file: str, name: str) -> Table:
    return tables(file)[name]


FILES = ("hoses", "assembly", "pipes", "tubes", "fittings", "threads", "flow", "oils", "guides")


def catalogue() -> list[Table]:
    """Every table there is, for the page that lists them with their sources."""
    return [entry for file in FILES for entry in tables(file).values()]


def plain_name(text: object) -> str:
    """A name as it is compared: lower case, single spaces, no hyphens or commas."""
    return " ".join(str(text).lower().replace("-", " ").replace(",", " ").replace("_", " ").split())


def nearest(name: str, choices: Iterable[str]) -> list[str]:
    """The choices, those most like `name` first."""
    wanted = plain_name(name)
    return sorted(choices, key=lambda c: -difflib.SequenceMatcher(None, wanted, plain_name(c)).ratio())


def inches(text: object) -> float:
    """A nominal size as a number: "1-1/4", "1 1/4 in", 0.5 -> inches. ValueError if it is none."""
    words = str(text).lower().replace("inch", "").replace("in", "").replace('"', "").replace("-", " ").split()
    if not words:
        raise ValueError("no size given")
    total = 0.0
    for word in words:
        top, slash, bottom = word.partition("/")
        total += float(top) / float(bottom) if slash else float(top)
    return total
