"""Rows of a table as HTML. In Python and not in the template: a page has thousands of cells, and this is the one place
where the template engine's price is felt. Every text goes through `escape`."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from markupsafe import Markup
from markupsafe import escape as escaped

from .environment import share, step

if TYPE_CHECKING:
    from ..report.model import Cell, Report, Table

_STATE = "State"
MANY = 3  # states that are still told one by one
_FLAGS = {
    "over": ' <span class="bd-flag bd-over">over</span>',
    "failed": ' <span class="bd-flag">no figure</span>',
}


@lru_cache(maxsize=4096)
def escape(text: str) -> str:
    """Cells repeat themselves: states, names, zeros."""
    return str(escaped(text))


def nowhere(name: str) -> str:
    return ""


def rows_html(
    table: Table,
    right: Sequence[bool],
    ids: Mapping[tuple[str, int], str],
    states: Sequence[str] = (),
    lead: Callable[[str], str] = nowhere,
) -> Markup:
    """The body's rows. right: which columns are right-aligned. ids: (table key, row) -> anchor. states: of the circuit,
    in order: a row tells by number which it holds for. lead: name of a part or line -> address that the first
    of its rows leads to, "" = none."""
    out: list[str] = []
    linked: set[str] = set()
    for n, row in enumerate(table.rows):
        anchor = ids.get((table.key, n))
        out.append(_open(anchor, row, states) if anchor else "<tr>")
        for i, cell in enumerate(row):
            if i == 0:
                address = lead(cell.subject) if cell.subject and cell.subject not in linked else ""
                linked.add(cell.subject)
                inner = f'<a class="bd-to" href="{escape(address)}">{_inner(cell)}</a>' if address else _inner(cell)
                out.append(f'<th scope="row">{inner}</th>')
                continue
            classes = ("bd-n" if right[i] else "") + (f" bd-{escape(cell.flag)}" if cell.flag else "")
            out.append(f'<td class="{classes.strip()}">' if classes else "<td>")
            out.append(f"{_inner(cell)}</td> ")
        out.append("</tr>\n")
    return Markup("".join(out))


def _open(anchor: str, row: Sequence[Cell], states: Sequence[str]) -> str:
    """A row about a part or line, which the script finds by its name, and those of the state shown by their numbers."""
    held = [str(states.index(name)) for cell in row for name in cell.states if name in states]
    within = f' data-bd-in="{" ".join(held)}"' if held else ""
    return f'<tr id="{escape(anchor)}" data-bd="{escape(row[0].subject)}"{within}>'


def merged_report(report: Report) -> Report:
    """The report with its tables as the page prints them."""
    return replace(report, tables=tuple(merged(table) for table in report.tables))


def merged(table: Table) -> Table:
    """Rows that differ in nothing but their state become one. Of each part or line the row that holds for most states
    comes last and says "all other states", so that what is special is seen."""
    labels = [column.label for column in table.columns]
    if _STATE not in labels[1:]:
        return table
    at = labels.index(_STATE, 1)
    subjects: dict[str, dict[tuple[object, ...], list[tuple[Cell, ...]]]] = {}
    for row in table.rows:
        alike = tuple((c.text, c.note, c.share, c.flag, c.subject) for i, c in enumerate(row) if i != at)
        subjects.setdefault(row[0].text, {}).setdefault(alike, []).append(row)
    rows = [row for groups in subjects.values() for row in _fewest_first(list(groups.values()), at)]
    return replace(table, rows=tuple(rows))


def _fewest_first(groups: list[list[tuple[Cell, ...]]], at: int) -> list[tuple[Cell, ...]]:
    """One row for each group of rows that are alike; the largest group, if it is worth a word, at the end."""
    most = max(groups, key=len)
    last = [most] if len(most) > MANY else []
    out = []
    for group in [g for g in groups if g not in last] + last:
        states = tuple(row[at].text for row in group)
        text = ", ".join(states)
        if group in last:
            text = "all other states" if len(groups) > 1 else "every state"
        state = replace(group[0][at], text=text, value=None, states=states)
        out.append((*group[0][:at], state, *group[0][at + 1 :]))
    return out


def _inner(cell: Cell) -> str:
    text = escape(cell.text)
    if cell.share is not None:
        width = min(max(cell.share, 0.0) * 100, 100.0)
        bar = f'<span class="bd-bar bd-{step(cell.share)}" aria-hidden="true"><i style="width:{width:.1f}%"></i></span>'
        text = f"{bar}{text or escape(share(cell.share))}"
        if cell.flag == "not-checked":
            text += ' <span class="bd-flag">not all rated</span>'
    if cell.flag == "wrong":
        text = f'<span class="bd-flag bd-over">{text}</span>'
    note = f" <small>{escape(cell.note)}</small>" if cell.note else ""
    return f"{text}{_FLAGS.get(cell.flag, '')}{note}"
