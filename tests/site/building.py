"""Real sites in a temporary folder, built in this process as `mkdocs build` does it."""

from __future__ import annotations

import logging
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.exceptions import Abort

GOOD = """\
machine: test clamp
oil: {grade: ISO VG 46, temperature: 45 °C}

parts:
  tank:  {kind: reservoir, volume: 30 L}
  pump:  {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, rating: 210 bar}
  valve: {kind: directional valve, centre: open, spools: [clamp], relief: 150 bar, rating: 210 bar}
  ram:   {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 210 bar}

lines:
  suction: {route: tank > pump.inlet, hose: suction, bore: 19 mm, length: 1 m}
  feed:    {route: pump.outlet > valve.P, hose: two-wire, size: -8, length: 0.8 m,
            fittings: [malleable iron tee 1/2 in class 150]}
  close:   {route: valve.clamp.A > ram.cap, hose: two-wire, size: -6, length: 1.5 m}
  open:    {route: valve.clamp.B > ram.rod, hose: two-wire, size: -6, length: 1.5 m}
  return:  {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}

states:
  idling: {}
  at its stop: {clamp: A, at stop: {ram: extended}}
"""
TYPO = GOOD.replace("10 cc/rev", "10 ccc/rev").replace("valve.P", "valve.Q")


def fenced(text: str = GOOD, indent: str = "", header: str = "circuit") -> str:
    lines = [f"```{header}", *text.rstrip("\n").split("\n"), "```"]
    return "\n".join(indent + line for line in lines) + "\n"


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
    **settings: Any,
) -> Site:
    """Write the pages below docs/ and build. options: of the plugin. settings: of mkdocs.yml."""
    docs = folder / "docs"
    for name, text in pages.items():
        (docs / name).parent.mkdir(parents=True, exist_ok=True)
        (docs / name).write_text(text, "utf-8")
    (folder / "mkdocs.yml").touch()
    config = {"theme": {"name": "material", "font": False}, "site_url": "https://example.org/", **settings}
    wanted = ["search", {"builddoc": dict(options or {})}] if plugins is None else plugins
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
