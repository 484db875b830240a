"""Our own site, built once for a run of the tests, however many processes it has; strictly, as CI wants it."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from builddoc.cache import Cache
from builddoc.language.reference import reference_pages
from mkdocs.commands.build import build
from mkdocs.config import load_config

ROOT = Path(__file__).parents[1]
KEPT = ROOT / ".cache" / "plugin" / "builddoc"
"""What builds of our site keep, by content: the pages of the reference are made once for all test sites with them."""
ADDRESS = "http://own-site.invalid/"
"""The theme has no instant navigation without an address; who serves the site puts the true one in its place."""


@contextmanager
def alone(lock: Path) -> Iterator[None]:
    """One process at a time. An empty data base serves as lock: every system has it, and it ends with its process."""
    lock.parent.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(lock, timeout=900, isolation_level=None)) as base:
        base.execute("BEGIN EXCLUSIVE")
        yield


def reference() -> dict[str, str]:
    """The pages of the reference as Markdown, by path, made by this code."""
    with alone(KEPT / "lock"):
        pages: dict[str, str] = json.loads(Cache(KEPT).text("reference", lambda: json.dumps(reference_pages())))
        return pages


def own_site(factory: pytest.TempPathFactory) -> Path:
    """The folder that it lies in."""
    base = factory.getbasetemp()
    base = base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base
    folder, done = base / "own-site", base / "own-site.done"
    with alone(base / "own-site.lock"):
        if not done.exists():
            config = load_config(str(ROOT / "mkdocs.yml"), site_dir=str(folder), site_url=ADDRESS, strict=True)
            config.plugins.on_startup(command="build", dirty=False)
            with alone(KEPT / "lock"):
                build(config)
            done.touch()
    return folder
