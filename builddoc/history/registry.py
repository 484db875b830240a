"""All circuits that a text may refer to by machine and revision: those of its page, of the site, of a folder.

Built from texts alone, before anything is read or solved, so that it costs little and its parts can be hashed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from ..sources import Source

_KEY = re.compile(
    r"^(?P<key>machine|revision|from|file|date|status)[ ]*:[ ]+"
    r"(?P<value>\"[^\"\n]*\"|'[^'\n]*'|\{[^}\n]*\}|[^\n]*?)[ ]*(?:[ ]#[^\n]*)?$",
    re.MULTILINE,
)
_INNER = re.compile(r"(?:^|[{,])[ ]*(?P<key>revision|file)[ ]*:[ ]*(?P<value>[^,}\n]+)")
_DEEPEST = 40  # revisions that follow from one another


@dataclass(frozen=True, slots=True)
class Head:
    """The single values at a circuit's top, as far as they can be had without reading it. base, base_file: what stands
    behind `from`."""

    machine: str = ""
    revision: str = "A"
    date: str = ""
    status: str = "built"
    file: str = ""
    base: str = ""
    base_file: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """A circuit's text, where its first character stands, and its head. page: path below the docs folder, "" = none.
    block, block_path: of the block that names the text's file, "" = the text itself stands in the page. number: which
    circuit block of the page it is."""

    text: str
    path: str
    line: int = 1
    column: int = 1
    page: str = ""
    head: Head = field(default_factory=Head)
    block: str = ""
    block_path: str = ""
    measured: bool = False
    """The text is a readings block, not a circuit."""
    number: int = 1


@lru_cache(maxsize=2048)
def head_of(text: str) -> Head:
    """What a circuit's text says of itself. Only what stands at the left edge counts; the first of each key."""
    found: dict[str, str] = {}
    for match in _KEY.finditer(text):
        found.setdefault(match["key"], match["value"])
    base, base_file = found.get("from", ""), ""
    if base.startswith("{") or ("from" not in found and re.search(r"^from[ ]*:[ ]*$", text, re.MULTILINE)):
        inner = base or _below(text)
        parts = {m["key"]: _plain(m["value"]) for m in _INNER.finditer(inner)}
        base, base_file = parts.get("revision", ""), parts.get("file", "")
    return Head(
        _plain(found.get("machine", "")), _plain(found.get("revision", "A")), _plain(found.get("date", "")),
        _plain(found.get("status", "built")), _plain(found.get("file", "")), _plain(base), base_file,
    )  # fmt: skip


def _below(text: str) -> str:
    """The indented lines below `from:`, as one group in braces."""
    after = re.split(r"^from[ ]*:[ ]*\n", text, maxsplit=1, flags=re.MULTILINE)[-1]
    lines = []
    for line in after.split("\n"):
        if not line.startswith(" "):
            break
        lines.append(line.strip())
    return "{" + ", ".join(lines) + "}"


def _plain(value: str) -> str:
    return " ".join(value.strip().strip("\"'").split())


class Registry:
    """Circuits by machine and revision, and the readings taken on them. The same text found twice counts once. outer:
    asked for what is not here."""

    def __init__(self, entries: Iterable[Entry] = (), outer: Registry | None = None, taken: Iterable[Entry] = ()):
        self._outer, self._taken = outer, list(taken)
        self._by_name: dict[str, dict[str, list[Entry]]] = {}
        for entry in entries:
            head = entry.head
            if head.machine:
                known = self._by_name.setdefault(_key(head.machine), {}).setdefault(head.revision, [])
                if all((e.text, e.path, e.line) != (entry.text, entry.path, entry.line) for e in known):
                    known.append(entry)

    @classmethod
    def of(
        cls, sources: Iterable[Source], page: str = "", outer: Registry | None = None, taken: Iterable[Entry] = ()
    ) -> Registry:
        return cls((entry for source in sources for entry in entries_of(source, page)), outer, taken)

    def entries(self) -> list[Entry]:
        """Its own, without those of `outer`."""
        return [e for revisions in self._by_name.values() for found in revisions.values() for e in found]

    def taken(self, machine: str, revision: str) -> list[Entry]:
        """Readings blocks about a revision, the outer ones included, by date."""
        found = {entry.text: entry for entry in [*(self._outer.taken(machine, revision) if self._outer else ()), *(
            e for e in self._taken if (_key(e.head.machine), e.head.revision) == (_key(machine), revision)
        )]}  # fmt: skip
        return sorted(found.values(), key=lambda entry: entry.head.date)

    def machines(self) -> list[str]:
        """Names as first written, in order."""
        own = [next(iter(revisions.values()))[0].head.machine for revisions in self._by_name.values()]
        known = {_key(name) for name in own}
        return [*own, *(name for name in (self._outer.machines() if self._outer else ()) if _key(name) not in known)]

    def revisions(self, machine: str) -> list[str]:
        """In order of appearance."""
        outer = self._outer.revisions(machine) if self._outer else []
        return list(dict.fromkeys([*self._by_name.get(_key(machine), ()), *outer]))

    def find(self, machine: str, revision: str) -> list[Entry]:
        """Usually one; several are a mistake that is to be told."""
        own = self._by_name.get(_key(machine), {}).get(revision, [])
        return own or (self._outer.find(machine, revision) if self._outer else [])

    def closure(self, text: str, path: str = "") -> tuple[Entry, ...]:
        """What the meaning of a circuit's text depends on: the revisions that it and they are changes to."""
        found: list[Entry] = []
        head = _effective(text, path)
        for _ in range(_DEEPEST):
            if not head.base:
                break
            entries = self.find(head.machine, head.base)
            new = [entry for entry in entries if entry not in found]
            found += new
            if not new:
                break
            head = new[0].head
        return tuple(found)


def entries_of(source: Source, page: str = "") -> list[Entry]:
    """A source as an entry; a block that names a file stands for that file's text."""
    head = head_of(source.text)
    if not head.file:
        return [Entry(source.text, source.path, source.line, source.column, page, head, number=source.number)]
    target = Path(source.path).parent / head.file
    text = _load(target)
    if text is None:
        return []
    return [Entry(text, target.as_posix(), 1, 1, page, head_of(text), source.text, source.path, number=source.number)]


def _effective(text: str, path: str) -> Head:
    head = head_of(text)
    inner = _load(Path(path).parent / head.file) if head.file else None
    return head if inner is None else head_of(inner)


def _load(path: Path) -> str | None:
    try:
        return path.read_text("utf-8-sig") if path.stat().st_size <= 1_000_000 else None
    except (OSError, ValueError):
        return None


def _key(machine: str) -> str:
    return " ".join(machine.lower().split())
