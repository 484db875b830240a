"""The browser that tests of several rooms share: one per test process, for there can be only one driver in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    if not CHROMIUM.exists():
        pytest.skip("no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        running = play.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield running
        running.close()
