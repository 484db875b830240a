"""Cautions: what can hurt somebody at this very machine, shown while its condition holds in the circuit.

The standing statement (`report.STATEMENT`) stands above them always. Each caution is one function with @caution.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Mapping, Sequence
from functools import cache

from ..checks.base import ORDER, Case, Finding
from .base import CAUTIONS, Caution, Entry, Scene

__all__ = ["HEAD", "Caution", "all_cautions", "shown", "split"]

HEAD = 7
"""Most cautions at the head of a circuit; the rest stand at its end. DANGER words all stand at the head."""
GRAVEST = (
    "no-relief", "under", "press", "accumulator", "injection", "rating", "suspended", "overrun", "work-energy", "tip",
    "crush", "coupler-open", "intensify", "trapped", "battery", "detent", "fire", "plumbing-fitting",
)  # fmt: skip
"""Order among cautions of one signal word; those not named follow in the order they were written."""
ABSORBED = {"rating": ("plumbing-fitting",), "press": ("crush",), "under": ("suspended",)}
"""Caution -> those that tell of the same remedy and are left to the page's end where it is at the head."""


@cache
def all_cautions() -> Mapping[str, Entry]:
    """Every caution by id, in the order of GRAVEST, then of writing."""
    for info in sorted(pkgutil.iter_modules(__path__), key=lambda info: info.name):
        importlib.import_module(f"{__name__}.{info.name}")
    return {id: CAUTIONS[id] for id in dict.fromkeys((*GRAVEST, *CAUTIONS))}


def shown(case: Case, findings: Sequence[Finding]) -> tuple[Caution, ...]:
    """The cautions whose condition holds, worst first. findings: all four outcomes."""
    scene = Scene(case, tuple(findings))
    found = [c for entry in all_cautions().values() if (c := entry.shown(scene)) is not None]
    late = {id for c in found for id in ABSORBED.get(c.id, ())}
    return tuple(sorted(found, key=lambda c: (ORDER[c.signal], c.id in late)))


def split(found: Sequence[Caution], hidden: bool = False) -> tuple[tuple[Caution, ...], tuple[Caution, ...]]:
    """Those at the head of a circuit, and the rest for its end. hidden: the writer leaves them out, as he may where
    another circuit of the same machine on the page shows them; those with DANGER stay all the same, because who copies
    the build has only this page to learn from what kills."""
    if hidden:
        return tuple(c for c in found if c.signal == "DANGER"), ()
    return tuple(found[:HEAD]), tuple(found[HEAD:])
