"""What a reader may take away: the circuit, each table, the solution, the drawing."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from .standalone import standalone_svg

if TYPE_CHECKING:
    from ..pipeline import Solved
    from ..report.model import Cell, Table


def files(solved: Solved, svg: str) -> dict[str, str]:
    """Download name -> text. svg: the drawing of the state shown first ("" = none)."""
    from ..report.export import solution_json

    assert solved.circuit is not None and solved.case is not None and solved.report is not None
    out = {"circuit.yml": solved.circuit.text or solved.text, "solution.json": solution_json(solved.case)}
    if svg:
        out["drawing.svg"] = standalone_svg(svg)
    for table in solved.report.tables:
        if table.key not in solved.report.hidden:
            out[f"{table.key}.csv"] = table_csv(table)
    return {name: text for name, text in out.items() if text}


def table_csv(table: Table) -> str:
    """Plain decimals, unit in the heading, second lines of cells (state, basis) in columns of their own."""
    noted = [any(row[i].note for row in table.rows) for i in range(len(table.columns))]
    head: list[str] = []
    for column, has_note in zip(table.columns, noted, strict=True):
        head.append(f"{column.label} ({column.unit})" if column.unit else column.label)
        if has_note:
            head.append(f"{column.label}: note")
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    for row in table.rows:
        line: list[str] = []
        for cell, column, has_note in zip(row, table.columns, noted, strict=True):
            line.append(_plain(cell, column.numeric))
            if has_note:
                line.append(cell.note)
        writer.writerow(line)
    return out.getvalue()


def _plain(cell: Cell, numeric: bool) -> str:
    if not numeric:
        return cell.text
    text = cell.text.replace("−", "-")
    for space in ("\u00a0", "\u2009", "\u202f"):
        text = text.replace(space, "")
    return text
