"""What tests of several rooms share: our own site, built once, and a browser, of which a test process can have only
one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from .own_site import own_site

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip

FIRST = (
    "browser/test_access.py", "content/", "browser/", "draw/test_circuit.py", "solver/test_random_machines.py",
    "checks/test_examples.py", "solver/", "site/", "rulebook/", "kinds/", "draw/",
)  # fmt: skip
"""What takes longest, so that at the end no process works alone at it."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    def turn(item: pytest.Item) -> int:
        name = item.nodeid.removeprefix("tests/")
        return next((n for n, start in enumerate(FIRST) if name.startswith(start)), len(FIRST))

    items.sort(key=turn)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Files stay whole, in the order above; those on our own pages share their solved circuits in one process."""
    from xdist.scheduler import LoadFileScheduling

    class Scheduling(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return "content" if "tests/content/" in nodeid else str(super()._split_scope(nodeid))

    config.option.loadscopereorder = False  # it would take files of many tests first, which are the quick ones
    return Scheduling(config, log)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    if not CHROMIUM.exists():
        pytest.skip("no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        running = play.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of our own site, built."""
    return own_site(tmp_path_factory)
