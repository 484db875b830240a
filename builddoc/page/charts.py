"""Charts of the report as SVG, in the style of the page: no colour alone, no script, print on white."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan

from ..draw.text import width
from ..report.model import Bar, Chart
from .draft import PREFIX
from .environment import fill

ROW, TOP, SIZE = 22.0, 6.0, 11.0  # px: height of a row, above the first, letters
WIDE, MOST_LABEL = 300.0, 230.0  # px: of the longest bar, of the states' names


@dataclass(frozen=True, slots=True)
class Row:
    """px. pieces: (x, width) of each part of the bar; mark: x or None; end: where the text starts."""

    label: str
    y: float
    pieces: list[tuple[float, float]]
    mark: float | None
    end: float
    text: str
    beyond: bool


def chart_html(chart: Chart) -> str:
    """A figure with its caption; the same is said by the table of heat, to which the text alternative points."""
    label = min(max(width(bar.state, SIZE) for bar in chart.bars) + 10.0, MOST_LABEL)
    top = max([*(sum(bar.parts) for bar in chart.bars), *(b.mark for b in chart.bars if not isnan(b.mark))])
    if top < chart.level <= 3 * top:  # a level far beyond all bars would make them too short to read
        top = chart.level
    scale = WIDE / top
    level = round(label + chart.level * scale, 1) if 0 < chart.level <= top else None
    rows = [_row(bar, n, label, scale, level) for n, bar in enumerate(chart.bars)]
    text = max(row.end + width(row.text, SIZE, row.beyond) for row in rows)
    return fill(
        "chart.html", chart=chart, rows=rows, left=label, level=level, wide=round(max(text, label + WIDE) + 8),
        high=round(TOP + ROW * len(rows) + 4), p=PREFIX, row=ROW,
    )  # fmt: skip


def _row(bar: Bar, n: int, left: float, scale: float, level: float | None) -> Row:
    x, pieces = left, []
    for value in bar.parts:
        pieces.append((round(x, 1), round(value * scale, 1)))
        x += value * scale
    mark = None if isnan(bar.mark) else round(left + bar.mark * scale, 1)
    end, text = max(x, mark or 0.0) + 6, bar.text + (" – beyond" if bar.beyond else "")
    if level is not None and end - 4 < level < end + width(text, SIZE):  # no line through the figure
        end = level + 6
    return Row(bar.state, TOP + ROW * n, pieces, mark, round(end, 1), text, bar.beyond)
