"""Charts: bars in proportion, limits where they belong, nothing drawn for a single state."""

from __future__ import annotations

import re

import pytest
from builddoc.page.charts import NARROW, WIDE, chart_html
from builddoc.pipeline import solve_text
from builddoc.report.model import Bar, Chart

from ..site.pieces import GOOD

ENGINE = GOOD.replace("parts:\n", "parts:\n  engine: {kind: engine, power: 5 kW, speed: 2400 rpm}\n").replace(
    "rating: 210 bar}\n  valve", "driven by: engine, rating: 210 bar}\n  valve"
)


def bars(html: str) -> list[float]:
    """px, of the drawing for wide screens."""
    html = html.split("bd-narrow")[0]
    return [
        float(w)
        for w in re.findall(r'<rect class="bd-piece-\d" x="[\d.]+" y="[\d.]+" width="([\d.]+)" height="12"', html)
    ]


def test_power_of_the_pump_against_what_the_engine_gives() -> None:
    report = solve_text(ENGINE).report
    assert report is not None
    power, heat = report.charts
    stop = power.bars[list(report.states).index("at its stop")]
    # 10 cc/rev at 2400 rpm against 162 bar over the relief: 400e-6 m3/s x 162e5 Pa = 6.5 kW, more with the pump's
    # own losses, out of an engine that gives less than its 5 kW for hours.
    assert 6.5e3 < stop.parts[0] < 8.5e3 and stop.mark <= 5e3 and stop.beyond
    assert " of " in stop.text
    idle = power.bars[list(report.states).index("idling")]
    assert 0 < idle.parts[0] < 1e3 and not idle.beyond
    # At the stop nothing moves: all of it is heat, most of it over the relief.
    hot = heat.bars[list(report.states).index("at its stop")]
    assert sum(hot.parts) == pytest.approx(stop.parts[0], rel=1e-6) and hot.parts[0] > 0.8 * sum(hot.parts)


def test_one_state_needs_no_chart() -> None:
    report = solve_text(GOOD.replace("  idling: {}\n", "")).report
    assert report is not None and report.charts == ()


def test_bars_are_in_proportion_and_the_limit_is_where_it_belongs() -> None:
    chart = Chart(
        "c", "Heat", "", ("a", "b"), (Bar("one", (1000.0, 3000.0), "4 kW"), Bar("two", (2000.0,), "2 kW")), 2100.0
    )
    html = chart_html(chart)
    assert bars(html) == [WIDE / 4, WIDE * 3 / 4, WIDE / 2]
    left = float(re.search(r'class="bd-base" d="M([\d.]+)', html)[1])  # type: ignore[index]
    level = float(re.search(r'class="bd-level" d="M([\d.]+)', html)[1])  # type: ignore[index]
    assert level - left == pytest.approx(WIDE * 2100 / 4000, abs=0.1)
    # The figure of the second bar would stand under the dashed line: it is moved past it.
    assert float(re.search(r'x="([\d.]+)" y="[\d.]+">2 kW', html)[1]) > level  # type: ignore[index]


def test_a_level_far_above_all_bars_does_not_flatten_them() -> None:
    html = chart_html(Chart("c", "Heat", "", ("a",), (Bar("one", (100.0,), "0.1 kW"),), 5000.0))
    assert bars(html) == [WIDE] and "bd-level" not in html


def test_a_state_without_figures_has_no_bar() -> None:
    html = chart_html(Chart("c", "Heat", "", ("a",), (Bar("<one>", (100.0,), "0.1 kW"), Bar("two", text="no figures"))))
    assert bars(html) == [WIDE] and "no figures" in html and "&lt;one&gt;" in html and "<one>" not in html


def test_a_small_screen_gets_a_drawing_of_its_own_width() -> None:
    """Names above the bars; bars in the same proportion; all of it within 340 px, the column of a phone."""
    names = ["pressing with the relief stuck and the oil cold", "two"]
    given = (Bar(names[0], (400.0,), "400 W of 3 kW"), Bar(names[1], (100.0,), "100 W of 3 kW"))
    chart = Chart("c", "Heat", "", ("a",), given)
    html = chart_html(chart).split("bd-narrow")[1]
    wide = float(re.search(r'width="(\d+)"', html)[1])  # type: ignore[index]
    assert wide <= NARROW + 8 and all(name in html for name in names)
    found = re.findall(r'<rect class="bd-piece-1" x="[\d.]+" y="[\d.]+" width="([\d.]+)"', html)
    long, short = (float(w) for w in found)
    assert long == pytest.approx(4 * short, abs=0.2) and long > 150
