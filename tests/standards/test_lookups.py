"""Look-ups as the language makes them: names, sizes, misses with help."""

from __future__ import annotations

import dataclasses

import pytest
from builddoc import standards
from builddoc.standards import NotListed

BAR, PSI = 1e5, 6894.757293168


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("two-wire", "two-wire"),
        ("Two Wire", "two-wire"),
        ("two-wire hose", "two-wire"),
        ("2SN", "two-wire"),
        ("EN 853 2SN", "two-wire"),
        ("SAE 100R2AT", "two-wire"),
        ("100 R2 AT", "two-wire"),
        ("1SN", "one-wire"),
        ("R4", "suction"),
        ("suction and return", "suction"),
        ("R7", "thermoplastic"),
        ("4SP", "four-spiral"),
        ("4sh", "four-spiral heavy"),
        ("2SC", "two-wire compact"),
        ("ptfe", "PTFE"),
    ],
)
def test_constructions_by_any_name(name: str, plain: str) -> None:
    assert standards.construction(name) == plain


def test_hose_by_dash() -> None:
    row = standards.hose("two-wire", "-8")
    assert (row.dash, row.designation, row.status) == (8, "2SN", "seen")
    assert row.bore == pytest.approx(0.0127) and row.rating == pytest.approx(275 * BAR)
    assert row.burst == pytest.approx(1100 * BAR) and row.hottest == pytest.approx(373.15)
    assert standards.hose("two-wire", 8) == row == standards.hose("two-wire", "8")
    assert any("before 2006" in note for note in row.notes)


def test_hose_by_bore() -> None:
    assert standards.hose("suction", bore=0.019).dash == 12
    assert standards.hose("suction", bore=0.0254).dash == 16
    assert standards.hose("two-wire", bore=0.0125).dash == 8
    with pytest.raises(NotListed) as miss:
        standards.hose("suction", bore=0.016)
    assert miss.value.choices[0].startswith("-12")


def test_hose_status_by_row() -> None:
    assert standards.hose("suction", 12).status == "seen"
    assert standards.hose("suction", 16).status == "from memory"


def test_hose_without_a_public_rating() -> None:
    row = standards.hose("100R12", 8)
    assert row.rating is None and row.bore == pytest.approx(0.0127)
    assert "printed on the hose" in row.notes[0]


def test_bore_of_hose_sized_on_tube() -> None:
    row = standards.hose("100R5", 16)
    assert row.bore == pytest.approx(0.022225)
    assert any("not 16/16 in" in note for note in row.notes)


@pytest.mark.parametrize(
    ("call", "first"),
    [
        (lambda: standards.hose("two wire braid", 8), "two-wire"),
        (lambda: standards.hose("2SNN", 8), None),
        (lambda: standards.hose("two-wire", 9), "-8 (bore 12.7 mm)"),
        (lambda: standards.hose("two-wire", "half"), "-4 (bore 6.35 mm)"),
        (lambda: standards.hose("two-wire"), "-4 (bore 6.35 mm)"),
        (lambda: standards.pipe("5/8", 40), "1/2"),
        (lambda: standards.pipe("half", 40), "1/8"),
        (lambda: standards.pipe("1/4", 160), "40"),
        (lambda: standards.tube(0.012, 0.0015, "cheese"), None),
        (lambda: standards.tube(0.012, 0.006), None),
        (lambda: standards.tube(0.0127, 0.002, "stainless"), "0.5 x 0.083 in"),
        (lambda: standards.fitting_rating("maleable iron", "tee", "1/2", 150), "malleable iron"),
        (lambda: standards.fitting_rating("malleable iron", "tee", "1/2", 3000), "150"),
        (lambda: standards.fitting_rating("malleable iron", "tee", "9", 300), None),
        (lambda: standards.fitting_rating("forged steel", "tee", "1/2", 150), "2000"),
        (lambda: standards.fitting_rating("forged steel", "tee", "1/2", "heavy"), "150"),
        (lambda: standards.fitting_rating("malleable iron", "tee", "some", 150), "1/4"),
        (lambda: standards.flange_rating(61, "5/8"), "1/2"),
        (lambda: standards.flange_rating(63, "1"), "61"),
        (lambda: standards.screw_coupler("1"), "3/4"),
        (lambda: standards.loss("elbo 90"), "elbow 90"),
        (lambda: standards.roughness("drawn tub"), "drawn tube"),
        (lambda: standards.iso_vg(45), "ISO VG 46"),
        (lambda: standards.iso_vg("thick"), "ISO VG 46"),
        (lambda: standards.oil_property("colour"), "density"),
        (lambda: standards.velocity_guide("pilot"), None),
    ],
)
def test_misses_help(call, first) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(NotListed) as miss:
        call()
    assert miss.value.message and not miss.value.message.endswith(".")
    if first is not None:
        assert miss.value.choices[0] == first


def test_a_long_list_of_choices_is_cut_in_the_message_only() -> None:
    with pytest.raises(NotListed) as miss:
        standards.hose("two-wire", 7)
    assert len(miss.value.choices) == 12 and str(miss.value).endswith("...)")


def test_pipe() -> None:
    row = standards.pipe("1/2 in", 80)
    assert row.bore == pytest.approx(0.546 * 0.0254) and row.threads_per_inch == 14
    assert standards.pipe(0.5, "schedule 80") == row
    assert standards.pipe("1 1/4", "40").nps == "1-1/4"


def test_pipe_ratings() -> None:
    threaded, plain = standards.pipe_rating("1/2", 80), standards.pipe_rating("1/2", 80, threaded=False)
    assert threaded.rating == pytest.approx(2925 * PSI) and not threaded.computed and threaded.status == "seen"
    assert plain.rating and plain.rating > 2 * threaded.rating and plain.computed
    assert standards.pipe_rating("3/4", 80, threaded=False).rating == pytest.approx(39.4e6)
    heavy = standards.pipe_rating("1/2", 160)
    assert heavy.computed and heavy.status == "from memory" and "computed" in heavy.notes[0]
    assert standards.pipe_rating("1/2", 80, temperature=500.0).rating is None


def test_a_thread_always_weakens() -> None:
    for size in ("1/8", "1/4", "3/8", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2"):
        for schedule in (40, 80):
            threaded = standards.pipe_rating(size, schedule).rating
            plain = standards.pipe_rating(size, schedule, threaded=False).rating
            assert threaded and plain and threaded < plain


def test_tubes() -> None:
    metric = standards.tube(0.020, 0.002)
    assert metric.rating == pytest.approx(248 * BAR) and metric.static_rating == pytest.approx(282 * BAR)
    small = standards.tube(0.012, 0.0015)
    assert small.computed and small.status == "from memory" and "estimate" in small.notes[0]
    assert small.rating == pytest.approx(303 * BAR, rel=0.002) and small.bore == pytest.approx(0.009)
    assert standards.tube(0.010, 0.003).rating is None  # the formula does not reach so thick a wall
    inch = standards.tube(0.0127, 0.00165)
    assert inch.rating == pytest.approx(3650 * PSI) and "J524" in inch.title
    other = standards.tube(0.0127, 0.0015)
    assert other.computed and 3000 * PSI < other.rating < 3650 * PSI  # type: ignore[operator]
    stainless = standards.tube(0.375 * 0.0254, 0.049 * 0.0254, "stainless steel")
    assert stainless.rating == pytest.approx(4800 * PSI)  # the lower of two tables


def test_malleable_fittings_lose_strength_when_hot() -> None:
    def bar(celsius: float, class_: int = 150, size: str = "1/2") -> float:
        row = standards.fitting_rating("malleable iron", "tee", size, class_, celsius + 273.15)
        assert row.rating is not None and row.low_pressure
        return row.rating / BAR

    assert bar(20) == bar(65) == pytest.approx(20.68, abs=0.01)
    assert bar(70) == bar(93) == pytest.approx(18.27, abs=0.01)  # the next higher temperature of the table
    assert bar(20, 300) == pytest.approx(137.9, abs=0.1)
    assert bar(20, 300, "1-1/2") == pytest.approx(103.4, abs=0.1)
    assert bar(20, 300, "3") == pytest.approx(68.9, abs=0.1)
    assert standards.fitting_rating("malleable iron", "tee", "1/2", 150, 460.0).rating is None
    street = standards.fitting_rating("malleable iron", "street elbow", "1/2", 300)
    assert street.rating == pytest.approx(600 * PSI)
    unnamed = standards.fitting_rating("malleable iron", "tee", "1/2")
    assert unnamed.rating == pytest.approx(300 * PSI) and "class 150" in unnamed.notes[0]


def test_forged_fittings_have_the_rating_of_their_pipe() -> None:
    threaded = standards.fitting_rating("forged steel", "tee", "1/2", 2000)
    assert threaded.rating == standards.pipe_rating("1/2", 80).rating
    assert standards.fitting_rating("forged steel", "tee", "1/2", 3000).rating == pytest.approx(314 * BAR, rel=0.01)
    welded = standards.fitting_rating("forged steel", "tee socket weld", "1/2", 3000)
    assert welded.rating == standards.pipe_rating("1/2", 80, threaded=False).rating
    assert standards.fitting_rating("forged steel", "tee", "1/4", 3000).rating is None  # no such pipe in the table
    assert "class number is not a pressure" in " ".join(threaded.notes)
    order = [standards.fitting_rating("forged steel", "tee", "3/4", c).rating for c in (2000, 3000, 6000)]
    assert order == sorted(order)  # type: ignore[type-var]


@pytest.mark.parametrize("material", ["steel", "forged steel", "brass", "cast iron", "stainless"])
def test_no_figure_is_made_up_for_connectors(material: str) -> None:
    row = standards.fitting_rating(material, "elbow 37 degree flare", "1/2")
    assert row.rating is None
    assert row.low_pressure is (material in ("brass", "cast iron"))


def test_flanges_and_couplers() -> None:
    assert standards.fitting_rating("steel", "flange code 61", "1-1/2").rating == pytest.approx(207 * BAR)
    coupler = standards.screw_coupler("1/2")
    assert coupler.rating == pytest.approx(300 * BAR) and coupler.drop == pytest.approx(1.5 * BAR)
    assert coupler.flow == pytest.approx(45 / 60e3)


def test_losses_and_roughness() -> None:
    elbow = standards.loss("Elbow 90")
    assert elbow == standards.loss("90 elbow") == standards.loss("elbow")
    assert elbow.K == 0.9 and (elbow.low, elbow.high) == (0.25, 1.5) and "0.25 to 1.5" in elbow.conflict
    for form in standards.forms():
        row = standards.loss(form)
        assert 0 <= row.low <= row.K <= row.high and row.source
    assert standards.loss("tee branch").K > standards.loss("tee run").K
    assert standards.roughness("hose").value == 0.0
    assert standards.roughness("pipe").value == pytest.approx(45.7e-6)
    assert standards.roughness("tube").value == pytest.approx(1.5e-6)


def test_oil() -> None:
    grade = standards.iso_vg("ISO VG 46")
    assert grade == standards.iso_vg(46) == standards.iso_vg("vg46") == standards.iso_vg("VG 46")
    assert grade.nu40 == pytest.approx(46e-6) and grade.nu100 == pytest.approx(6.76e-6)
    assert grade.least40 == pytest.approx(0.9 * grade.nu40) and grade.most40 == pytest.approx(1.1 * grade.nu40)
    for name in standards.grades():
        row = standards.iso_vg(name)
        assert row.nu100 < row.nu40
    assert standards.oil_property("density").value == 870.0
    assert standards.oil_property("highest temperature").value == pytest.approx(273.15 + 82.2, abs=0.1)
    window = standards.viscosity_window()
    assert window.least < window.most < window.most_at_start


def test_guides() -> None:
    suction = standards.velocity_guide("suction")
    assert suction.high == pytest.approx(1.22, abs=0.01) and suction.outer == pytest.approx(2.44, abs=0.01)
    slow, usual, fast = (standards.velocity_guide("pressure", p * BAR) for p in (20, 150, 250))
    assert slow.high < usual.high < fast.high
    assert standards.velocity_guide("pressure") == usual
    assert standards.velocity_guide("return").status == "from memory"
    inlet = standards.pump_inlet()
    assert inlet.outer < inlet.caution < 0 and inlet.caution == pytest.approx(-0.169e5, rel=0.01)
    cooling = standards.tank_cooling()
    assert cooling.low < cooling.coefficient < cooling.high
    assert standards.filter_guide().bypass == pytest.approx(1.72 * BAR, rel=0.01)
    assert (standards.reservoir_guide().low, standards.reservoir_guide().high) == (3.0, 5.0)


def test_every_row_says_where_it_comes_from() -> None:
    rows = [
        standards.hose("two-wire", 8),
        standards.pipe("1/2", 80),
        standards.pipe_rating("1/2", 80),
        standards.tube(0.012, 0.0015),
        standards.fitting_rating("malleable iron", "tee", "1/2", 150),
        standards.loss("elbow 90"),
        standards.roughness("hose"),
        standards.iso_vg(46),
        standards.velocity_guide("suction"),
        standards.pump_inlet(),
        standards.tank_cooling(),
    ]
    for row in rows:
        assert isinstance(row, standards.Listed)
        assert row.title and row.source and row.edition and row.status in ("seen", "from memory", "common practice")
        with pytest.raises(dataclasses.FrozenInstanceError):
            row.title = ""  # type: ignore[misc]
