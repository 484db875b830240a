"""What a reader may take away: the circuit, each table, the solution, the drawing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .standalone import standalone_svg

if TYPE_CHECKING:
    from ..pipeline import Solved


def files(solved: Solved, svg: str) -> dict[str, str]:
    """Download name -> text. svg: the drawing of the state shown first ("" = none)."""
    from ..report.export import solution_json, table_csv

    assert solved.circuit is not None and solved.case is not None and solved.report is not None
    text = (solved.circuit.text or solved.text).rstrip("\n") + "\n"
    out = {"circuit.yml": text, "solution.json": solution_json(solved.case)}
    if svg:
        out["drawing.svg"] = standalone_svg(svg)
    for table in solved.report.tables:
        if table.key not in solved.report.hidden:
            out[f"{table.key}.csv"] = table_csv(table)
    return {name: text for name, text in out.items() if text}
