"""Printed rating tables and charts against the formulas of the package: whole tables, not single figures."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from builddoc import standards
from builddoc.physics import line, oil, strength
from builddoc.standards import pipes, tubes
from builddoc.standards.tables import INCH, MM, PSI, inches, table

from .units import to_si

CHART = yaml.safe_load((Path(__file__).parent / "hose_chart.yaml").read_text(encoding="utf-8"))
POINTS = [(dash, gpm, psi) for dash, rows in CHART.items() for gpm, psi in rows]


LENGTH, RHO, NU_CHART = to_si(10, "ft"), to_si(0.85, "SG"), 20e-6


def chart_point(dash: str, gpm: float) -> tuple[float, float, float]:
    """Bore, flow and Reynolds number of a point of the chart (-3 is not made as two-wire hose)."""
    bore = standards.hose("thermoplastic" if dash == "-3" else "two-wire", dash).bore
    flow = to_si(gpm, "gpm")
    return bore, flow, line.reynolds_per_flow(bore, NU_CHART) * flow


@pytest.mark.parametrize(("dash", "gpm", "psi"), POINTS)
def test_hose_chart(dash: str, gpm: float, psi: float) -> None:
    """Laminar points within 13 % (an outlier of the chart, most are within 7 %), turbulent ones within 10 %.

    The chart takes the larger of laminar and smooth turbulent friction, so it leaves the laminar line near Re 1200
    already (it includes the couplings); our curve follows straight pipe and stays laminar longer. In between, up to
    Re 3000, ours is up to 35 % lower than the chart and never lower than laminar: pages call that zone uncertain.
    """
    bore, flow, re = chart_point(dash, gpm)
    drop = line.pressure_drop(flow, LENGTH, bore, RHO, NU_CHART) / PSI
    if re < 1300:
        assert drop == pytest.approx(psi, rel=0.13)
    elif re > 3000:
        assert drop == pytest.approx(psi, rel=0.10)
    else:
        assert line.in_transition(re)
        assert 0.65 <= drop / psi <= 1.0
        assert drop >= 0.999 * line.laminar_resistance(LENGTH, bore, RHO, NU_CHART) * flow / PSI


def test_hose_chart_has_all_regimes() -> None:
    values = [chart_point(dash, gpm)[2] for dash, gpm, _ in POINTS]
    assert sum(re < 1300 for re in values) >= 15
    assert sum(1300 <= re <= 3000 for re in values) >= 9
    assert sum(re > 3000 for re in values) >= 10


@pytest.mark.parametrize("row", table("pipes", "threaded-ratings").rows, ids=lambda row: row["nps"])
def test_threaded_pipe(row: dict) -> None:  # type: ignore[type-arg]
    for schedule in ("40", "80"):
        size = standards.pipe(row["nps"], schedule)
        depth = strength.npt_depth(size.threads_per_inch)
        computed = strength.pipe(size.outside, size.wall, pipes.WELDED, thread_depth=depth)
        assert computed / PSI == pytest.approx(row[schedule], rel=0.016)
        assert standards.pipe_rating(row["nps"], schedule).rating == pytest.approx(row[schedule] * PSI)


@pytest.mark.parametrize("row", table("pipes", "plain-ratings").rows, ids=lambda row: f"{row['nps']} {row['schedule']}")
def test_plain_pipe(row: dict) -> None:  # type: ignore[type-arg]
    size = standards.pipe(row["nps"], row["schedule"])
    assert strength.pipe(size.outside, size.wall, pipes.SEAMLESS) / 1e6 == pytest.approx(row["pressure"], rel=0.006)


@pytest.mark.parametrize("row", table("tubes", "steel-inch").rows, ids=lambda row: f"{row['outside']}x{row['wall']}")
def test_inch_steel_tube(row: dict) -> None:  # type: ignore[type-arg]
    computed = strength.lame(row["outside"] * INCH, row["wall"] * INCH, tubes.STEEL_STRESS)
    assert computed / PSI == pytest.approx(row["pressure"], rel=0.019)
    assert standards.tube(row["outside"] * INCH, row["wall"] * INCH).rating == pytest.approx(row["pressure"] * PSI)


@pytest.mark.parametrize("row", table("tubes", "steel-metric").rows, ids=lambda row: f"{row['outside']}x{row['wall']}")
def test_metric_steel_tube(row: dict) -> None:  # type: ignore[type-arg]
    outside, wall = row["outside"] * MM, row["wall"] * MM
    assert strength.din2413_static(outside, wall, tubes.YIELD_E235) / 1e5 == pytest.approx(row["static"], abs=1.0)
    assert strength.din2413_dynamic(outside, wall, tubes.FATIGUE_E235) / 1e5 == pytest.approx(row["dynamic"], abs=0.6)


@pytest.mark.parametrize(
    "row", table("tubes", "stainless-inch").rows, ids=lambda row: f"{row['outside']} x {row['wall']}"
)
def test_stainless_tube(row: dict) -> None:  # type: ignore[type-arg]
    outside = inches(row["outside"])
    under = 0.15 if outside < 0.5 else 0.10
    computed = strength.fitting_tube(outside * INCH, row["wall"] * INCH, 20000 * PSI, under) / PSI
    assert computed == pytest.approx(row["first"], rel=0.021)


# A public copy of a tube maker's sheet for tensile 55 000 psi, safety factor 4: outside, wall in inches, psi. The row
# 0.375 x 0.083 is printed as 7300, a misprint on the unsafe side (the same sheet prints 8120 at a safety factor of 3).
BARLOW_SHEET = [
    (0.375, 0.025, 1830), (0.375, 0.032, 2350), (0.375, 0.035, 2570), (0.375, 0.042, 3080), (0.375, 0.049, 3590),
    (0.375, 0.058, 4250), (0.375, 0.065, 4770), (0.375, 0.072, 5280), (0.375, 0.095, 6970), (0.375, 0.109, 7990),
    (0.5, 0.025, 1380), (0.5, 0.032, 1760), (0.5, 0.035, 1920), (0.5, 0.042, 2310), (0.5, 0.049, 2700),
]  # fmt: skip


@pytest.mark.parametrize(("outside", "wall", "psi"), BARLOW_SHEET)
def test_barlow_sheet(outside: float, wall: float, psi: float) -> None:
    assert strength.barlow(outside, wall, 55000.0) / 4 == pytest.approx(psi, abs=6)


def test_barlow_sheet_misprint() -> None:
    computed = strength.barlow(0.375, 0.083, 55000.0) / 4
    assert computed == pytest.approx(8120 * 3 / 4, rel=0.002)
    assert computed < 7300 / 1.15


def test_viscosity_worksheet() -> None:
    """Public worksheet after ASTM D341: 32 cSt at 40 degC and 5.4 at 100 give 8.5 at 80 degC (with 273 for 273.15)."""
    assert oil.viscosity(32e-6, 5.4e-6, 353.15) * 1e6 == pytest.approx(8.5, abs=0.05)


def test_viscosity_grades_of_index_100() -> None:
    """Viscosities at 100 degC of the table against ASTM D2270 as computed by another library (chemicals 1.5.2)."""
    computed = {10: 2.659, 15: 3.410, 22: 4.294, 32: 5.362, 46: 6.760, 68: 8.731, 100: 11.384, 150: 15.020, 220: 19.435}
    for grade, value in computed.items():
        assert standards.iso_vg(grade).nu100 * 1e6 == pytest.approx(value, abs=0.006)


def test_thermal_rise_of_trapped_oil() -> None:
    """A trade page prints 11 bar/K and 90 psi/F; 90 psi/F is 11.2 bar/K."""
    from builddoc.physics import trapped

    assert trapped.thermal_rise(1.0) / 1e5 == pytest.approx(11.0, rel=0.03)
    assert to_si(90, "psi/F") / 1e5 == pytest.approx(11.17, abs=0.01)
