"""One built site for all tests of this folder."""

from __future__ import annotations

import functools
import http.server
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from mkdocs.commands.build import build
from mkdocs.config import load_config

ROOT = Path(__file__).parents[2]


@dataclass
class Visit:
    """An open page and what went wrong on it. errors: of the console and of scripts. requests: to other hosts."""

    page: Any
    errors: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        """Nothing on the terminal."""


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Our own site, built."""
    out = tmp_path_factory.mktemp("site")
    config = load_config(str(ROOT / "mkdocs.yml"), site_dir=str(out), strict=True)
    config.plugins.on_startup(command="build", dirty=False)
    build(config)
    return out


@pytest.fixture(scope="session")
def address(folder: Path) -> Iterator[str]:
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Quiet, directory=str(folder)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()


@pytest.fixture
def visit(browser: Any) -> Iterator[Any]:
    """visit(address, width=, scheme=, script=) -> Visit."""
    contexts: list[Any] = []

    def go(url: str, width: int = 1280, scheme: str = "light", script: bool = True) -> Visit:
        context = browser.new_context(
            viewport={"width": width, "height": 900}, color_scheme=scheme, java_script_enabled=script
        )
        contexts.append(context)
        found = Visit(context.new_page())
        found.page.on("console", lambda m: found.errors.append(m.text) if m.type == "error" else None)
        found.page.on("pageerror", lambda e: found.errors.append(str(e)))
        host = "/".join(url.split("/")[:3])
        found.page.on("request", lambda r: found.requests.append(r.url) if _foreign(r.url, host) else None)
        found.page.goto(url, wait_until="networkidle")
        return found

    yield go
    for context in contexts:
        context.close()


def _foreign(url: str, host: str) -> bool:
    return not url.startswith((host, "data:", "blob:"))
