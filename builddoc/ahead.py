"""Blocks (circuits, comparisons, readings, sheets) not in the cache yet, solved ahead by several processes.

A build renders its pages one after the other. Before it starts, all texts are known, so what is missing can be made by
as many processes as the machine has cores; they leave their results in the cache's folder. Processes of our own and
not a pool: a pool would run the caller's main program again. If one fails, the build makes what is missing itself.
"""

from __future__ import annotations

import gc
import json
import logging
import os
import subprocess
import sys
import threading
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from .cache import Cache
from .history.registry import Entry, Head, head_of
from .page.rendering import MAKERS, Options, load_all
from .page.solving import solved_once

log = logging.getLogger("builddoc")
WORTH_IT = 6  # circuits; fewer are made sooner than a process starts
MOST = 8  # processes


@dataclass(frozen=True, slots=True)
class Job:
    """key: of the cache. text, path, bases: as for the makers of drafts. word: of the fence, a key of MAKERS."""

    key: str
    text: str
    path: str
    bases: tuple[Entry, ...] = ()
    word: str = "circuit"


def render_ahead(jobs: Sequence[Job], folder: Path, options: Options) -> int:
    """Make the drafts of `jobs` and leave them in the cache's folder. Returns the number of processes used (0 = left to
    the caller)."""
    count = min(_cores(), MOST, len(jobs) // 2)
    if len(jobs) < WORTH_IT or count < 2:
        return 0
    shares = _shared_out(jobs, count)
    running = []
    try:
        for n in range(count):
            own = [asdict(job) for job in shares[n]]
            order = {"folder": str(folder), "options": asdict(options), "jobs": own, "compiles": n == 0}
            process = subprocess.Popen(
                [sys.executable, "-P", "-c", "from builddoc.ahead import main; main()"],
                stdin=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.PIPE,
                env=_environment(),
            )
            running.append(process)
            assert process.stdin is not None
            process.stdin.write(json.dumps(order).encode())
            process.stdin.close()
            process.stdin = None  # `communicate` would flush it
    except OSError as error:
        log.debug("no further processes: %s", error)
    for process in running:
        _, said = process.communicate()
        if process.returncode:
            log.debug("a process that solves ahead failed: %s", said.decode(errors="replace"))
    return len(running)


def _shared_out(jobs: Sequence[Job], count: int) -> list[list[Job]]:
    """About equally many for each of `count` processes. Blocks about the same machine, or where it has too many,
    about the same revision, follow one another in one of them, which solves each circuit once."""
    heads = [head_of(job.text) for job in jobs]
    about = [head.machine or str(n) for n, head in enumerate(heads)]
    if max(Counter(about).values()) > len(jobs) / count:
        about = [f"{machine}\n{head.revision}" for machine, head in zip(about, heads, strict=True)]
    groups: dict[str, list[Job]] = {}
    for name, job in zip(about, jobs, strict=True):
        groups.setdefault(name, []).append(job)
    shares: list[list[Job]] = [[] for _ in range(count)]
    for group in sorted(groups.values(), key=len, reverse=True):
        min(shares, key=len).extend(group)
    return shares


def _cores() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _environment() -> dict[str, str]:
    """The same package as here, wherever it was imported from, and one thread of linear algebra for each process."""
    home = str(Path(__file__).parent.parent)
    paths = [home, *filter(None, os.environ.get("PYTHONPATH", "").split(os.pathsep))]
    return {**os.environ, "PYTHONPATH": os.pathsep.join(paths), "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}


def main() -> None:
    """One of the processes: the order comes as JSON by standard input."""
    order = json.load(sys.stdin)
    cache, options = Cache(Path(order["folder"])), Options(**order["options"])
    if order["compiles"] and options.engine == "internal":  # one for all, while everything else is loaded
        from .draw import engine

        threading.Thread(target=engine.prepare, args=(cache.folder,), daemon=True).start()
    load_all()
    # What is loaded stays; without this the collector walks through all of it again and again.
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)
    with solved_once():
        for job in order["jobs"]:
            bases = [Entry(**{**base, "head": Head(**base["head"])}) for base in job["bases"]]
            made = MAKERS[job["word"]](job["text"], job["path"], options, cache.folder, bases)
            if not any(message.code == "fault" for message in made.messages):
                cache.put(job["key"], made)
                cache.forget(job["key"])
