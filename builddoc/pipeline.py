"""The one-way flow from text to report: text -> circuit -> network -> solution -> findings -> report."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from .messages import Message

if TYPE_CHECKING:
    from .checks.base import Case, Finding
    from .circuit import Circuit
    from .language.revisions import Bases
    from .report.model import Report

_MOST_FILES = 40
_FILE_KEY = re.compile(r"(?:^|[{,])[ ]*file[ ]*:[ ]*(?P<name>\"[^\"\n]*\"|'[^'\n]*'|[^,}#\n]+)", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Solved:
    """What became of a circuit's text. circuit, case, report: None when the text has errors (see `messages`).
    findings: all four outcomes, worst first."""

    text: str
    messages: list[Message]
    circuit: Circuit | None = None
    case: Case | None = None
    findings: tuple[Finding, ...] = ()
    report: Report | None = None

    @property
    def ok(self) -> bool:
        return self.report is not None


def included_files(text: str, path: str = "") -> list[Path]:
    """Files that a circuit's text names under `file:`, relative to the text's own path. Read from the text alone, so
    that a cache may ask without the cost of reading the circuit; a name found in a remark does no harm."""
    base = Path(path).parent
    found = [base / match["name"].strip().strip("\"'") for match in _FILE_KEY.finditer(text)]
    for file in found:  # grows: a revision in a file may start from another file
        if len(found) < _MOST_FILES:
            found += [inner for inner in _included_by(file) if inner not in found]
    return found


def _included_by(file: Path) -> list[Path]:
    try:
        text = file.read_text("utf-8-sig") if file.stat().st_size <= 1_000_000 else ""
    except (OSError, ValueError):
        return []
    return [file.parent / match["name"].strip().strip("\"'") for match in _FILE_KEY.finditer(text)]


def solve_text(
    text: str, path: str = "", first_line: int = 1, first_column: int = 1, bases: Bases | None = None
) -> Solved:
    """Read, solve, check and report one circuit. Bad input ends in `messages`, never in an exception.

    path, first_line, first_column: where the text stands, for messages and for a `file:` beside it. bases: where
    earlier revisions are looked up (a `history.registry.Registry`).
    """
    from . import language

    reading = language.read(text, path, first_line, first_column, bases)
    if reading.circuit is None:
        return Solved(text, list(reading.messages))
    from . import accepting, checks, report, solver
    from .assemble import assemble
    from .checks.base import Case
    from .results import Results

    circuit = reading.circuit
    network = assemble(circuit)
    solution = solver.solve(network)
    case = Case(circuit, network, solution, Results(circuit, network, solution))
    findings = checks.run(case)
    tried = None
    if circuit.faults:
        from . import faults

        tried = faults.solve_with(case)
        findings = checks.with_faults(findings, tried.case, tried.names)
    findings, said = accepting.applied(tried.case if tried else case, findings)
    return Solved(text, [*reading.messages, *said], circuit, case, tuple(findings), report.build(case, findings, tried))
