"""A report as text for a terminal: the same sections as on a page, in plain columns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .pipeline import Solved
    from .report.model import Cell, Report, Table


def report_text(solved: Solved, state: str | None = None) -> str:
    """The report of a solved circuit. state: only what is said about this state (findings, failures, proof) beside the
    tables, which name the state that governs each figure."""
    assert solved.report is not None
    return "\n".join(_sections(solved.report, state)).rstrip()


def _sections(report: Report, state: str | None) -> Iterator[str]:
    yield f"{report.title or report.machine}, revision {report.revision}: predicted, not measured"
    for failure in report.failures:
        if state in (None, failure.state):
            yield f"NO FIGURES in '{failure.state}': {failure.headline}. {failure.text} {failure.remedy}".rstrip()
    yield ""
    for figure in report.key_figures:
        second = f" ({figure.second})" if figure.second else ""
        note = f", {figure.note}" if figure.note else ""
        yield f"{figure.label}: {figure.text} {figure.unit}{second}{note}".replace("  ", " ")
    yield ""
    for number, finding in enumerate(report.findings, 1):
        if state is None or finding.state in ("", state):
            where = f", in '{finding.state}'" if finding.state else ""
            a = finding.accepted
            by = f" (accepted by the {a.by}, {a.on}: {a.because})" if a else ""
            yield f"{number:2} {finding.signal}{by}: {finding.headline}{where}"
            yield from (f"      - {point}" for point in finding.points)
    for finding in report.not_checked:
        yield f"   NOT CHECKED: {finding.headline}" + (f" (missing: {finding.missing})" if finding.missing else "")
    yield from (f"   Caution, {c.signal}: {c.lead} {c.text}" for c in report.cautions if state is None)
    for table in report.tables:
        yield ""
        yield from _table(table)
    yield ""
    yield from (f"Assumed: {text}" for text in report.assumptions)
    yield from (f"Proof, {p.state}: {p.text}" for p in report.proofs if state in (None, p.state))


def _table(table: Table) -> Iterator[str]:
    heads = [f"{c.label}, {c.unit}" if c.unit else c.label for c in table.columns]
    rows = [[_cell(cell) for cell in row] for row in table.rows]
    widths = [max(len(row[i]) for row in [heads, *rows]) for i in range(len(heads))]
    right = [i > 0 and column.numeric for i, column in enumerate(table.columns)]
    yield f"{table.title}: {table.caption}" if table.caption else table.title
    for row in [heads, *rows]:
        cells = [text.rjust(w) if r else text.ljust(w) for text, w, r in zip(row, widths, right, strict=True)]
        yield "  ".join(cells).rstrip()


def _cell(cell: Cell) -> str:
    return f"{cell.text} [{cell.note}]" if cell.note else cell.text
