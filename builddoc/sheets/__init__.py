"""Sheets that are printed and taken to the machine: what to do in which order, what a gauge should show, what to write
down. Plain data from a solved circuit; `page.sheet` sets them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from ..cautions import Caution
from ..checks.base import Case
from .first_start import first_start
from .hoses import hose_schedule
from .maintenance import maintenance
from .model import Section, Sheet

__all__ = ["SHEETS", "Section", "Sheet"]

SHEETS: Mapping[str, Callable[[Case, Sequence[Caution]], Sheet]] = {
    "first start": first_start,
    "maintenance": maintenance,
    "hoses": hose_schedule,
}
"""Every sheet by the name that a page asks for it with. The cautions are those of the circuit's own page."""
