"""Reading of the tables beside this module, and what every row that comes out of them says about itself."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

import yaml

if TYPE_CHECKING:
    from .choices import Choices

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
class Other:
    """What another published table says where it differs. name: by which the writer chooses it. changed: column ->
    key of a row -> value. every, most: column -> value of every row, or the most in any. rows: those that only it has.
    more: what else it says (by the table, see its look-up)."""

    name: str
    where: str
    status: str
    changed: Mapping[str, Mapping[str, Any]]
    every: Mapping[str, Any]
    most: Mapping[str, Any]
    rows: tuple[Mapping[str, Any], ...]
    more: Mapping[str, Any]

    def figures(self, row: Mapping[str, Any]) -> dict[str, Any]:
        """What it says in place of figures of this row, by column; empty where it agrees."""
        names = [str(value) for value in row.values()][:2]
        keys = (names[0], " ".join(names))
        own = dict(self.every)
        own |= {c: by_key[key] for c, by_key in self.changed.items() for key in keys if key in by_key}
        for column, most in self.most.items():
            if row[column] is not None and row[column] > most:
                own[column] = most
        return {column: value for column, value in own.items() if value != row[column]}

    def row(self, row: Mapping[str, Any]) -> Mapping[str, Any]:
        """The row as this table has it. A burst pressure stays with the working pressure it was printed for."""
        own = self.figures(row)
        if "pressure" in own and "burst" in row:
            own["burst"] = None
        return {**row, **own, "where": self.where, "status": self.status} if own else row


@dataclass(frozen=True, slots=True)
class Table:
    """One table. rows: column -> value as written in the file (units in `units` or in the file's head). choice: name by
    which the writer chooses among tables that disagree ("" = none does). used: name of the one that stands in `rows`.
    others: the others."""

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
    choice: str = ""
    used: str = ""
    others: tuple[Other, ...] = ()

    def pick(self, choices: Choices) -> str:
        """Name of the one that counts: the writer's choice, else `used`."""
        return choices.get(self.choice, self.used) if self.choice else ""

    def chosen(self, choices: Choices) -> Table:
        """The table with the figures of the one that the writer chose."""
        other = next((o for o in self.others if o.name == self.pick(choices)), None)
        if other is None:
            return self
        conflict = f"{self.conflict.rstrip('.')}; the writer chose '{other.name}' instead" if self.conflict else ""
        rows = (*(other.row(row) for row in self.rows), *other.rows)
        title, more = f"{self.title} ({other.name})", {**self.more, **other.more}
        return replace(self, title=title, conflict=conflict, rows=rows, more=more)

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
        others = tuple(_other(other, columns) for other in raw.pop("others", ()))
        found[name] = Table(name=name, rows=rows, more=raw, others=others, **known)
    return found


def _other(raw: dict[str, Any], columns: list[str]) -> Other:
    name, where, status = (str(raw.pop(key)) for key in ("name", "where", "status"))
    changed = {column: {str(k): v for k, v in by_key.items()} for column, by_key in raw.pop("set", {}).items()}
    added = {"where": where, "status": status}
    rows = tuple({**dict(zip(columns, row, strict=True)), **added} for row in raw.pop("add", ()))
    return Other(name, where, status, changed, raw.pop("every", {}), raw.pop("at most", {}), rows, raw)


_TEXTS = ("title", "source", "edition", "status", "agreement", "conflict", "notes", "units", "choice", "used")


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
