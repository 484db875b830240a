"""Table of the published figures against ours, for a page or a terminal: python -m tests.outside.summary"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from .worked import Outcome, data, outcomes

SEEN = {
    "page": "page seen",
    "companion": "seen in a companion notebook",
    "quoted": "quoted by another text",
    "memory": "from memory",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table. reason: "" where the figure is met within its tolerance, else why it is not."""

    id: str
    what: str
    source: str
    where: str
    seen: str
    published: str
    computed: str
    deviation: str
    tolerance: str
    function: str
    reason: str


def rows() -> list[Row]:
    """All figures, in the order of the file."""
    table = []
    for entry in data()["checks"]:
        reasons = {figure["name"]: figure.get("differs", "") for figure in entry["expected"]}
        table += [_row(outcome, reasons[outcome.name]) for outcome in outcomes(entry)]
    return table


def _row(outcome: Outcome, reason: str) -> Row:
    unit = "" if outcome.unit == "-" else f" {outcome.unit}"
    return Row(
        id=outcome.entry,
        what=f"{outcome.title}: {outcome.name}",
        source=outcome.source,
        where=outcome.where,
        seen=SEEN[outcome.seen_as],
        published=f"{outcome.published:.7g}{unit}",
        computed=f"{outcome.computed:.6g}{unit}",
        deviation=f"{100 * outcome.deviation:+.2f} %",
        tolerance=f"{100 * outcome.rel_tol:.2g} %",
        function=outcome.by,
        reason=reason,
    )


def markdown() -> str:
    """A line of counts, then one table for each source under a heading of its own."""
    table = rows()
    seen = Counter(entry["seen_as"] for entry in data()["checks"])
    counts = ", ".join(f"{seen[key]} {SEEN[key]}" for key in SEEN if seen[key])
    missed = sum(1 for row in table if row.reason)
    lines = [
        f"{len(data()['checks'])} published examples and tables ({counts}) with {len(table)} figures. "
        f"{missed} figures are not met within the tolerance; the reason stands below their table.",
    ]
    by_source: dict[str, list[Row]] = {}
    for row in table:
        by_source.setdefault(row.source, []).append(row)
    for source, group in sorted(by_source.items(), key=lambda item: -len(item[1])):
        lines += ["", f"### {source}", ""]
        lines += ["| Check | Published | Computed | Deviation | Allowed |", "|---|--:|--:|--:|--:|"]
        lines += [
            f"| {row.what}{'*' if row.reason else ''} ({', '.join(filter(None, (row.where, row.seen)))}) "
            f"| {row.published} | {row.computed} | {row.deviation} | {row.tolerance} |"
            for row in group
        ]
        lines += [line for row in group if row.reason for line in ("", f"\\* {row.what}: {row.reason}")]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    print(markdown())
