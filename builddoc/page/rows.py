"""Rows of a table as HTML. In Python and not in the template: a page has thousands of cells, and this is the one place
where the template engine's price is felt. Every text goes through `escape`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from markupsafe import Markup
from markupsafe import escape as escaped

from .environment import share, step

if TYPE_CHECKING:
    from ..report.model import Cell, Table

_STATE = "State"
_FLAGS = {
    "over": ' <span class="bd-flag bd-over">over</span>',
    "failed": ' <span class="bd-flag">no figure</span>',
}


@lru_cache(maxsize=4096)
def escape(text: str) -> str:
    """Cells repeat themselves: states, names, zeros."""
    return str(escaped(text))


def rows_html(table: Table, right: Sequence[bool], ids: Mapping[tuple[str, int], str]) -> Markup:
    """The body's rows. right: which columns are right-aligned. ids: (table key, row) -> anchor."""
    out: list[str] = []
    for n, row in enumerate(table.rows):
        anchor = ids.get((table.key, n))
        out.append(f'<tr id="{escape(anchor)}">' if anchor else "<tr>")
        for i, cell in enumerate(row):
            if i == 0:
                out.append(f'<th scope="row">{_inner(cell)}</th>')
                continue
            classes = ("bd-n" if right[i] else "") + (f" bd-{escape(cell.flag)}" if cell.flag else "")
            out.append(f'<td class="{classes.strip()}">' if classes else "<td>")
            out.append(f"{_inner(cell)}</td> ")
        out.append("</tr>\n")
    return Markup("".join(out))


def merged(table: Table) -> Table:
    """Rows that differ in nothing but their state become one, in the place of the first: "idling, turning"."""
    labels = [column.label for column in table.columns]
    if _STATE not in labels[1:]:
        return table
    at = labels.index(_STATE, 1)
    rows: dict[tuple[object, ...], list[Cell]] = {}
    for row in table.rows:
        alike = tuple((c.text, c.note, c.share, c.flag, c.subject) for i, c in enumerate(row) if i != at)
        if alike in rows:
            first = rows[alike][at]
            rows[alike][at] = replace(first, text=f"{first.text}, {row[at].text}", value=None)
        else:
            rows[alike] = list(row)
    return replace(table, rows=tuple(tuple(row) for row in rows.values()))


def _inner(cell: Cell) -> str:
    text = escape(cell.text)
    if cell.share is not None:
        width = min(max(cell.share, 0.0) * 100, 100.0)
        bar = f'<span class="bd-bar bd-{step(cell.share)}" aria-hidden="true"><i style="width:{width:.1f}%"></i></span>'
        text = f"{bar}{text or escape(share(cell.share))}"
        if cell.flag == "not-checked":
            text += ' <span class="bd-flag">not all rated</span>'
    note = f" <small>{escape(cell.note)}</small>" if cell.note else ""
    return f"{text}{_FLAGS.get(cell.flag, '')}{note}"
