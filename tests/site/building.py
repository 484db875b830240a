"""Real sites in a temporary folder, built in this process as `mkdocs build` does it."""

from __future__ import annotations

import contextlib
import logging
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.exceptions import Abort

from ..own_site import KEPT, alone
from .pieces import GOOD, TYPO, fenced

__all__ = ["GOOD", "TYPO", "Site", "fenced", "ids_of", "links_of", "make_site"]


@dataclass
class Site:
    """folder: of mkdocs.yml. aborted: strict mode stopped the build. log: (level, text) from WARNING up."""

    folder: Path
    aborted: bool = False
    log: list[tuple[str, str]] = field(default_factory=list)

    @property
    def warnings(self) -> list[str]:
        return [text for _, text in self.log]

    def read(self, path: str) -> str:
        return (self.folder / "site" / path).read_text("utf-8")

    def exists(self, path: str) -> bool:
        return (self.folder / "site" / path).is_file()


class _Listener(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.records: list[tuple[str, str]] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.records.append((record.levelname, record.getMessage()))


def make_site(
    folder: Path,
    pages: Mapping[str, str],
    *,
    strict: bool = False,
    options: Mapping[str, Any] | None = None,
    plugins: list[Any] | None = None,
    fresh: bool = False,
    **settings: Any,
) -> Site:
    """Write the pages below docs/ and build. options: of the plugin. settings: of mkdocs.yml. fresh: with a cache of
    its own; otherwise all sites share what they keep, which goes by content: most show the same circuit. Those with
    the reference, which has many pages, have no search."""
    own = dict(options or {})
    if not fresh:
        own["cache_dir"] = str(KEPT)
    reference = "reference" in own
    docs = folder / "docs"
    for name, text in pages.items():
        (docs / name).parent.mkdir(parents=True, exist_ok=True)
        (docs / name).write_text(text, "utf-8")
    (folder / "mkdocs.yml").touch()
    config = {"theme": {"name": "material", "font": False}, "site_url": "https://example.org/", **settings}
    wanted = [*([] if reference else ["search"]), {"builddoc": own}] if plugins is None else plugins
    loaded = load_config(
        str(folder / "mkdocs.yml"),
        site_name="Test",
        docs_dir=str(docs),
        site_dir=str(folder / "site"),
        plugins=wanted,
        strict=strict,
        **config,
    )
    listener, site = _Listener(), Site(folder)
    logger = logging.getLogger("mkdocs")
    logger.addHandler(listener)
    try:
        loaded.plugins.on_startup(command="build", dirty=False)
        with alone(KEPT / "lock") if reference else contextlib.nullcontext():
            build(loaded)
    except Abort:
        site.aborted = True
    finally:
        logger.removeHandler(listener)
        loaded.plugins.on_shutdown()
    site.log = listener.records
    return site


def ids_of(html: str) -> list[str]:
    return re.findall(r'\sid="([^"]*)"', html)


def links_of(html: str) -> list[str]:
    return re.findall(r'\shref="([^"]*)"', html)
