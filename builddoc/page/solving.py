"""A circuit solved as its block's draft wants it; once for all blocks about it where many are made in one go."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from .draft import ABROAD

if TYPE_CHECKING:
    from ..history.registry import Entry
    from ..pipeline import Solved

MOST = 6  # circuits kept: the blocks about one come close together
_kept: OrderedDict[tuple[object, ...], Solved] | None = None


@contextmanager
def solved_once() -> Iterator[None]:
    """In here a circuit is solved once for the blocks about it."""
    global _kept
    before, _kept = _kept, OrderedDict()
    try:
        yield
    finally:
        _kept = before


def solved_block(text: str, path: str, bases: Sequence[Entry]) -> Solved:
    """The circuit of a block. Places count from the block's first line, those of another block on its page do not.
    path: of the page. bases: earlier revisions that the text may start from."""
    from .. import pipeline
    from ..history.registry import Registry

    def solve() -> Solved:
        abroad = [replace(b, path=ABROAD + b.path) if b.path == path else b for b in bases]
        return pipeline.solve_text(text, path, bases=Registry(abroad))

    if _kept is None:
        return solve()
    files = {*pipeline.included_files(text, path), *(f for b in bases for f in pipeline.included_files(b.text, b.path))}
    key = (text, path, tuple(bases), tuple((file, _content(file)) for file in sorted(files)))
    if key not in _kept:
        _kept[key] = solve()
        while len(_kept) > MOST:
            _kept.popitem(last=False)
    _kept.move_to_end(key)
    return _kept[key]


def _content(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except (OSError, ValueError):
        return b""
