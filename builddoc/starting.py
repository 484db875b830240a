"""A new journal: copies the starter's files into an empty folder and writes the schema beside them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

SCHEMA = "circuit.schema.json"
_RENAMED = {"gitignore": ".gitignore"}  # a package does not carry files that begin with a dot


def write_journal(folder: Path) -> list[Path]:
    """Write a journal that builds as it is into `folder`, made if need be, and return the files in it.

    Raises FileExistsError, before anything is written, if the folder holds a file already; OSError if it cannot be
    written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FileExistsError(str(folder))
    from .language.schema import circuit_schema

    texts = {path: source.read_text("utf-8") for path, source in _starter(files(__package__) / "starter", Path())}
    texts[Path(SCHEMA)] = json.dumps(circuit_schema(), ensure_ascii=False, indent=1) + "\n"
    written = []
    for path, text in texts.items():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, "utf-8")
        written.append(target)
    return written


def _starter(source: Traversable, path: Path) -> Iterator[tuple[Path, Traversable]]:
    for entry in sorted(source.iterdir(), key=lambda entry: entry.name):
        if entry.is_dir():
            yield from _starter(entry, path / entry.name)
        else:
            yield path / _RENAMED.get(entry.name, entry.name), entry
