"""A sheet as HTML, to be printed on A4 or Letter."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .draft import PREFIX
from .environment import fill
from .figure import right_aligned
from .rows import rows_html

if TYPE_CHECKING:
    from ..sheets import Sheet


def sheet_html(sheet: Sheet) -> str:
    """One block-level element. Rows carry no anchors: a sheet repeats what stands on the machine's page."""
    sections = []
    for section in sheet.sections:
        right = right_aligned(section.table) if section.table else []
        rows = rows_html(section.table, right, {}) if section.table else ""
        sections.append((section, rows, right))
    return fill("sheet.html", p=PREFIX, sheet=sheet, sections=sections)
