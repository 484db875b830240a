"""Our own site in a browser, for all tests of this folder."""

from __future__ import annotations

import functools
import http.server
import io
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from ..own_site import ADDRESS

READY = "[...document.querySelectorAll('figure.bd')].every(e => e.hasAttribute('data-bd-ready'))"
ARRIVED = f"""old => document.readyState === 'complete' && !(window.leaving && window.leaving.isConnected)
  && location.href !== old && document.querySelector('figure.bd') !== null && {READY}"""


@dataclass
class Visit:
    """An open page and what went wrong on it. errors: of the console and of scripts. requests: to other hosts."""

    page: Any
    errors: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)


def follow(page: Any, step: Callable[[], None]) -> None:
    """Does step, which goes to another page of ours in the same document, and waits until it is there. The address
    changes first, the text after it: until the old page's article has gone, all that is found is the old page's."""
    old = page.url
    page.evaluate("() => { window.leaving = document.querySelector('article'); }")
    step()
    page.wait_for_function(ARRIVED, arg=old)


class _Handler(http.server.SimpleHTTPRequestHandler):
    """Serves the site as if it had been built for the server's address."""

    def send_head(self) -> Any:
        path = Path(self.translate_path(self.path))
        path = path / "index.html" if path.is_dir() and self.path.split("?")[0].endswith("/") else path
        if path.suffix not in {".html", ".xml"} or not path.is_file():
            return super().send_head()
        port = self.server.server_address[1]
        body = path.read_bytes().replace(ADDRESS.encode(), f"http://127.0.0.1:{port}/".encode())
        self.send_response(200)
        self.send_header("Content-Type", self.guess_type(path))
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        return io.BytesIO(body)

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing on the terminal."""


@pytest.fixture(scope="session")
def address(built: Path) -> Iterator[str]:
    """The site, served."""
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Handler, directory=str(built)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()


@pytest.fixture
def visit(browser: Any) -> Iterator[Any]:
    """visit(address, width=, scheme=, script=, idle=) -> Visit. idle: wait until nothing is fetched any more, for
    half a second; without it until the page is loaded and its figures are ready."""
    contexts: list[Any] = []

    def go(url: str, width: int = 1280, scheme: str = "light", script: bool = True, idle: bool = False) -> Visit:
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
        found.page.goto(url, wait_until="networkidle" if idle else "load")
        if script:
            found.page.wait_for_function(READY)
        return found

    yield go
    for context in contexts:
        context.close()


def _foreign(url: str, host: str) -> bool:
    return not url.startswith((host, "data:", "blob:"))
