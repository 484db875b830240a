"""A report as HTML: names the anchors and fills the templates."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING

from ..messages import Message
from .charts import chart_html
from .draft import PREFIX, file_mark
from .environment import fill
from .rows import nowhere, rows_html

if TYPE_CHECKING:
    from ..circuit import Circuit
    from ..draw.details import Detail
    from ..draw.svg import Drawing
    from ..report.model import Report, Table

_SECTIONS = ("cautions", "more-cautions", "findings", "not-checked", "assumptions", "proof", "downloads")
_NO_ANCHOR = re.compile(r"[^\w]+")
# Tables of detail: there for who asks, closed for who reads the page from top to bottom.
FOLDED = frozenset(
    {
        "lines-by-state", "heat-parts", "ratings", "states", "motions", "both-ways", "parts", "line-schedule",
        "quantities", "joints", "adapters", "trapped", "pairs", "faults", "envelope", "ladder", "look-alikes",
    }
)  # fmt: skip


class Anchors:
    """Ids of a figure, unique in it: findings by number, table rows by the part or line they are about."""

    def __init__(self, prefix: str, report: Report):
        self.prefix = prefix
        self.taken: dict[str, None] = {}
        self.findings = [self._take(f"f{i}") for i in range(1, len(report.findings) + 1)]
        self.sections = {
            key: self._take(key)
            for key in (*_SECTIONS, *(t.key for t in report.tables))
        }
        self.rows: dict[tuple[str, int], str] = {}
        for table in report.tables:
            for i, row in enumerate(table.rows):
                if row and row[0].subject:
                    self.rows[table.key, i] = self._take(f"{table.key}-{_slug(row[0].subject)}")

    def _take(self, wish: str) -> str:
        name, n = wish, 1
        while name in self.taken:
            n += 1
            name = f"{wish}-{n}"
        self.taken[name] = None
        return f"{self.prefix}-{name}"

    def all(self) -> tuple[str, ...]:
        return tuple(self.taken)


def _slug(name: str) -> str:
    return _NO_ANCHOR.sub("-", name.lower()).strip("-") or "x"


def figure_html(
    report: Report,
    anchors: Anchors,
    panels: Sequence[str],
    files: Mapping[str, str],
    messages: Sequence[Message],
    faults: Collection[str] = (),
    key: str = "",
    ends: Mapping[str, Sequence[str]] | None = None,
    details: bool = False,
) -> str:
    """The whole figure. panels: what stands for each state's drawing, in the order of report.states. faults: names of
    the states that are faults. key: HTML that explains the drawings. ends: line -> parts that it joins. details: some
    panels have a detail picture for small screens."""
    from ..accepting import settled
    from ..cautions import split
    from ..report import SHORT_STATEMENT

    failed = {failure.state: failure for failure in report.failures}
    first, rest = split(report.cautions, "cautions" in report.hidden)
    right = {t.key: right_aligned(t) for t in report.tables}
    lead = nowhere if "drawing" in report.hidden else _to_drawing
    return fill(
        "figure.html",
        p=PREFIX,
        report=report,
        anchors=anchors,
        states=list(zip(report.states, panels, strict=True)),
        failed=failed,
        faults=faults,
        key=key,
        details=details,
        folded=FOLDED,
        shown=report.shown_state if report.shown_state in report.states else next(iter(report.states), ""),
        right=right,
        rows={
            t.key: rows_html(t, right[t.key], anchors.rows, report.states, lead)
            for t in report.tables
            if t.key not in report.hidden
        },
        ends=json.dumps({name: list(dict.fromkeys(at)) for name, at in (ends or {}).items()}, ensure_ascii=False),
        charts=[chart_html(chart) for chart in report.charts],
        links={name: file_mark(name) for name in files},
        short=SHORT_STATEMENT,
        cautions=first,
        more_cautions=rest,
        cautions_shown=(*first, *rest),
        cautions_left_out=len(report.cautions) - len(first) - len(rest),
        findings_left_out=_counted(report) if "findings" in report.hidden else "",
        remarks=[m for m in messages if m.level != "error"],
        settled=settled,
        lived_with=[f for f in report.findings if settled(f)],
        show=lambda section: section not in report.hidden,
    )


def _counted(report: Report) -> str:
    """`1 WARNING, 3 NOTICE, 12 NOT CHECKED`."""
    found = Counter([f.signal for f in report.findings] + ["NOT CHECKED"] * len(report.not_checked))
    return ", ".join(f"{number} {word}" for word, number in found.items())


def _to_drawing(name: str) -> str:
    return f"#{PREFIX}"


def digest_html(report: Report, circuit: Circuit) -> str:
    """What a search should find and a reader may get where the figure cannot be shown: a few plain paragraphs."""
    return fill("digest.html", report=report, names=[*circuit.parts, *circuit.lines])


def statement_html(statement: str) -> str:
    """The standing statement, its first two sentences in bold."""
    first, second, rest = statement.split(". ", 2)
    return fill("statement.html", lead=f"{first}. {second}.", rest=rest)


def right_aligned(table: Table) -> list[bool]:
    """Columns of figures, except where a bar leads the figure: bars must start on one line."""
    barred = [any(row[i].share is not None for row in table.rows) for i in range(len(table.columns))]
    return [i > 0 and c.numeric and not bar for i, (c, bar) in enumerate(zip(table.columns, barred, strict=True))]


def panel_html(
    report: Report, state: str, drawing: Drawing | None, plain: Drawing | None = None, detail: Detail | None = None
) -> str:
    """One state's drawing with its text alternative and, if the state has no figures, the reason. plain: the same
    circuit as a flow diagram, to be unfolded. detail: what stands for the drawing on small screens."""
    failure = next((f for f in report.failures if f.state == state), None)
    path = next((path for path in report.paths if path.state == state), None)
    top = max((step.before for step in path.steps), default=0.0) if path else 0.0
    said = list(zip(drawing.subjects, drawing.words, strict=True)) if drawing else []
    return fill(
        "panel.html", drawing=drawing, said=said, plain=plain, detail=detail,
        left_out=left_out(detail) if detail else "", state=state, failure=failure, path=path, top=top,
    )  # fmt: skip


def left_out(detail: Detail) -> str:
    """What a detail picture does not show."""
    said = [f"{n} {word}{'' if n == 1 else 's'}" for n, word in ((detail.parts, "part"), (detail.lines, "line")) if n]
    sections = f"; of stacked valves {' and '.join(detail.sections)}" if detail.sections else ""
    return f"{' and '.join(said)}{sections}"
