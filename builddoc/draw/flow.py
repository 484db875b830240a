"""The one call a page needs: a circuit in one of its states as a flow diagram."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ..circuit import Circuit
from ..results import Results
from .engine import EngineName
from .frame import FlowLayout
from .placing import layout
from .svg import Drawing, draw_state

if TYPE_CHECKING:
    from ..checks.base import Finding

__all__ = ["Drawing", "FlowLayout", "draw_state", "flow_diagram", "layout"]


def flow_diagram(
    circuit: Circuit,
    results: Results,
    state_index: int,
    *,
    units: str | Sequence[str],
    findings: Sequence[Finding] = (),
    prefix: str = "bd",
    engine: EngineName = "internal",
    cache_dir: str | Path | None = None,
) -> Drawing:
    """Flow diagram of one state. For all states of a circuit call `layout` once and `draw_state` for each: the
    positions are then the same in every state, and Graphviz runs once.

    units: "metric" or "US", or both with the leading one first. findings: those with outcome "finding" are marked with
    their number, counted from 1 in the order given. prefix: of all ids. cache_dir: keeps the compiled engine.
    Raises engine.DrawingError.
    """
    placed = layout(circuit, results, units=units, findings=findings, engine=engine, cache_dir=cache_dir)
    return draw_state(placed, state_index, prefix)
