"""Sheets as HTML, to be printed on A4 or Letter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from .draft import PREFIX, Draft, message_to_block
from .environment import fill
from .figure import right_aligned
from .named import named_circuit
from .rows import rows_html

if TYPE_CHECKING:
    from ..history.registry import Entry
    from ..sheets import Sheet


def sheet_draft(text: str, path: str, entries: Sequence[Entry]) -> Draft:
    """A `sheet` block as a draft, as `rendering.draft` gives one. entries: all revisions of its machine."""
    from ..cautions import shown
    from ..language.sheets import read_sheets
    from ..sheets import SHEETS

    wanted, messages = read_sheets(text, path)
    solved = None
    if wanted is not None:
        solved, trouble = named_circuit(wanted.machine, wanted.revision, wanted.place, path, entries)
        messages += [trouble] if trouble is not None else []
    said = tuple(message_to_block(m, path) for m in messages)
    if wanted is None or solved is None or solved.case is None:
        return Draft(messages=said, text=text)
    told = shown(solved.case, solved.findings)
    sheets = [SHEETS[name](solved.case, told) for name in wanted.sheets]
    html = "".join(sheet_html(sheet, n) for n, sheet in enumerate(sheets, 1))
    digest = "".join(f"<p>{fill('words.html', text=f'{sheet.title}: {sheet.identity}')}</p>" for sheet in sheets)
    return Draft(html=html, digest=digest, messages=said, text=text)


def sheet_html(sheet: Sheet, number: int = 1) -> str:
    """One block-level element. Rows carry no anchors: a sheet repeats what stands on the machine's page."""
    sections = []
    for section in sheet.sections:
        right = right_aligned(section.table) if section.table else []
        rows = rows_html(section.table, right, {}) if section.table else ""
        sections.append((section, rows, right))
    anchor = PREFIX if number == 1 else f"{PREFIX}-sheet-{number}"
    return fill("sheet.html", anchor=anchor, sheet=sheet, sections=sections)
