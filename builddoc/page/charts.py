"""Charts of the report as SVG, in the style of the page: no colour alone, no script, print on white."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan

from ..draw.text import width
from ..report.model import Bar, Chart
from .draft import PREFIX
from .environment import fill

TOP, SIZE = 6.0, 11.0  # px: above the first row, letters
WIDE, MOST_LABEL = 300.0, 230.0  # px: of the longest bar, of the states' names
NARROW = 340.0  # px: of the whole chart on a small screen, where each name stands above its bar
ROW, TALL = 22.0, 34.0  # px: height of a row, with the name beside the bar and above it


@dataclass(frozen=True, slots=True)
class Row:
    """px. pieces: (x, width) of each part of the bar, whose upper edge is y; mark: x or None; end: where the text
    starts."""

    label: str
    y: float
    pieces: list[tuple[float, float]]
    mark: float | None
    end: float
    text: str
    beyond: bool


@dataclass(frozen=True, slots=True)
class Picture:
    """One of the two drawings of a chart, px. left: where bars begin; level: x of the dashed line or None. narrow: for
    small screens."""

    narrow: bool
    rows: list[Row]
    left: float
    level: float | None
    wide: int
    high: int


def chart_html(chart: Chart) -> str:
    """A figure with its caption; the same is said by the table of heat, to which the text alternative points."""
    label = min(max(width(bar.state, SIZE) for bar in chart.bars) + 10.0, MOST_LABEL)
    text = max(width(_text(bar), SIZE, bar.beyond) for bar in chart.bars) + 14.0
    pictures = (_picture(chart, label, WIDE, narrow=False), _picture(chart, 1.0, NARROW - text, narrow=True))
    return fill("chart.html", chart=chart, pictures=pictures, p=PREFIX)


def _text(bar: Bar) -> str:
    return bar.text + (" – beyond" if bar.beyond else "")


def _picture(chart: Chart, left: float, wide: float, narrow: bool) -> Picture:
    top = max([*(sum(bar.parts) for bar in chart.bars), *(b.mark for b in chart.bars if not isnan(b.mark))])
    if top < chart.level <= 3 * top:  # a level far beyond all bars would make them too short to read
        top = chart.level
    scale = wide / top
    level = round(left + chart.level * scale, 1) if 0 < chart.level <= top else None
    pitch, first = (TALL, TOP + 14.0) if narrow else (ROW, TOP + 4.0)
    rows = [_row(bar, first + pitch * n, left, scale, level) for n, bar in enumerate(chart.bars)]
    text = max(row.end + width(row.text, SIZE, row.beyond) for row in rows)
    high = round(TOP + pitch * len(rows) + 4)
    return Picture(narrow, rows, left, level, round(max(text, left + wide) + 8), high)


def _row(bar: Bar, y: float, left: float, scale: float, level: float | None) -> Row:
    x, pieces = left, []
    for value in bar.parts:
        pieces.append((round(x, 1), round(value * scale, 1)))
        x += value * scale
    mark = None if isnan(bar.mark) else round(left + bar.mark * scale, 1)
    end, text = max(x, mark or 0.0) + 6, _text(bar)
    if level is not None and end - 4 < level < end + width(text, SIZE):  # no line through the figure
        end = level + 6
    return Row(bar.state, y, pieces, mark, round(end, 1), text, bar.beyond)
