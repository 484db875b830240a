"""Circuits on disk: from the paths a user names to the texts in them. Pages, circuit files, folders of either."""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from .blocks import find_blocks
from .messages import Message, Place

PAGES = {".md", ".markdown"}
CIRCUITS = {".yml", ".yaml"}
_LOOKS_LIKE_CIRCUIT = re.compile(r"^machine[ ]*:", re.MULTILINE)
_SKIPPED = {"site", "node_modules", "__pycache__"}


@dataclass(frozen=True, slots=True)
class Source:
    """A circuit's text and where its first character stands. number: block of the page, 0 = the file is the circuit."""

    text: str
    path: str
    line: int = 1
    column: int = 1
    number: int = 0


def find_sources(paths: Iterable[Path]) -> tuple[list[Source], list[Message]]:
    """Every circuit below the paths, in order, and what could not be read. A YAML file met in a folder is taken for a
    circuit if it names a machine; a file that is named outright always is."""
    sources: list[Source] = []
    messages: list[Message] = []
    for path in paths:
        if not path.exists():
            messages.append(_trouble(path, "file-missing", f"there is no file or folder '{path}'"))
        elif path.is_dir():
            for file in _walk(path):
                _take(file, sources, messages, named=False)
        else:
            _take(path, sources, messages, named=True)
    return list(dict.fromkeys(sources)), list(dict.fromkeys(messages))


def find_pages(paths: Iterable[Path]) -> list[tuple[str, str]]:
    """(path, text) of every page below the paths that can be read."""
    found: dict[str, str] = {}
    for path in paths:
        for file in _walk(path) if path.is_dir() else [path]:
            if file.suffix.lower() in PAGES:
                with contextlib.suppress(OSError, UnicodeDecodeError):
                    found[str(file)] = file.read_text("utf-8-sig")
    return list(found.items())


def journal_of(path: Path) -> Path:
    """The folder that holds the journal a page or folder belongs to: the highest one above it that still holds pages,
    or the one of mkdocs.yml."""
    folder = path.resolve()
    folder = folder if folder.is_dir() else folder.parent
    top = folder
    for above in folder.parents:
        if (top / "mkdocs.yml").is_file() or not any(f.suffix.lower() in PAGES for f in _files(above)):
            break
        top = above
    shown = os.path.relpath(top)
    return top if shown.startswith("..") else Path(shown)


def _files(folder: Path) -> list[Path]:
    try:
        return [f for f in folder.iterdir() if f.is_file()]
    except OSError:
        return []


def _walk(folder: Path) -> Iterator[Path]:
    try:
        entries = sorted(folder.iterdir())
    except OSError:
        return
    for entry in entries:
        if entry.name.startswith(".") or entry.is_symlink():
            continue
        if entry.is_dir():
            if entry.name not in _SKIPPED and not (entry / "pyvenv.cfg").exists():
                yield from _walk(entry)
        elif entry.suffix.lower() in PAGES | CIRCUITS:
            yield entry


def _take(path: Path, sources: list[Source], messages: list[Message], named: bool) -> None:
    try:
        text = path.read_text("utf-8-sig")
    except UnicodeDecodeError:
        messages.append(_trouble(path, "file-binary", "this is not a text file (UTF-8 is expected)"))
        return
    except OSError as error:
        messages.append(_trouble(path, "file-unreadable", f"this file cannot be read: {error.strerror or error}"))
        return
    name = str(path)
    if path.suffix.lower() not in PAGES:
        if named or _LOOKS_LIKE_CIRCUIT.search(text):
            sources.append(Source(text, name))
        return
    blocks = find_blocks(text)
    for block in blocks:
        if block.closed:
            sources.append(Source(block.text, name, block.line, block.column, block.number))
        else:
            where = Place(name, block.line, block.column)
            messages.append(
                Message("fence-open", "this circuit block is not closed", where, "add a line of ``` below it")
            )
    if named and not blocks:
        messages.append(_trouble(path, "no-circuit", "there is no circuit block in this page", "note"))


def _trouble(path: Path, code: str, text: str, level: str = "error") -> Message:
    return Message(code, text, Place(str(path), 1, 1), level="note" if level == "note" else "error")
