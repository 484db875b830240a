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
    """Where our own site is built."""
    return tmp_path_factory.mktemp("site")


@pytest.fixture(scope="session")
def address(folder: Path) -> Iterator[str]:
    """The site, built and served. It knows its own address: without one the theme has no instant navigation."""
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Quiet, directory=str(folder)))
    url = f"http://127.0.0.1:{server.server_port}/"
    config = load_config(str(ROOT / "mkdocs.yml"), site_dir=str(folder), site_url=url, strict=True)
    config.plugins.on_startup(command="build", dirty=False)
    build(config)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield url
    server.shutdown()


@pytest.fixture(scope="session")
def built(folder: Path, address: str) -> Path:
    """The folder of the built site."""
    return folder


@pytest.fixture
def visit(browser: Any) -> Iterator[Any]:
    """visit(address, width=, scheme=, script=) -> Visit."""
    contexts: list[Any] = []

    def go(url: str, width: int = 1280, scheme: str = "light", script: bool = True) -> Visit:
        context = browser.new_context(
            viewport={"width": width, "height": 900}, color_scheme=scheme, java_script_enabled=script
        )
        contexts.append(context)
        context.set_default_timeout(10_000)
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
