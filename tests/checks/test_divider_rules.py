"""Rules on dividers and battery packs, by hand.

Divider: relief 150 bar, two equal sections, turning loss 5 bar: 2 x 145 = 290 bar at an outlet, 3 x 145 with three.
Accuracy 5 % over 600 mm: 600 (1 - 0.95/1.05) = 57.1 mm.
Battery: 1.2 cm3 at 2800 rpm against 180 bar: T = 1.2e-6/(2 pi) x 180e5 / 0.9 = 3.82 N m, P = 1.12 kW; 12 V at 70 %:
133 A.
"""

from __future__ import annotations

import pytest
from builddoc.pipeline import solve_text

TEXT = """
machine: lift
oil: {grade: ISO VG 46, temperature: 40 °C}
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 8 cc/rev, speed: 1450 rpm, rating: 400 bar}
  t: {kind: tee, rating: 400 bar}
  relief: {kind: relief valve, setting: 150 bar, override: 0 bar at 10 L/min, rating: 400 bar}
  d: {kind: flow divider, sections: %(sections)s, turning loss: 5 bar, rating: %(rating)s%(more)s}
  left: {kind: single-acting cylinder, bore: 50 mm, stroke: 600 mm, rating: 400 bar}
  right: {kind: single-acting cylinder, bore: 50 mm, stroke: 600 mm, rating: 400 bar}
  third: {kind: single-acting cylinder, bore: 50 mm, stroke: 600 mm, rating: 400 bar}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  out: {route: pump.outlet > t.run a, direct: yes}
  seat: {route: t.run b > relief.inlet, direct: yes}
  over: {route: relief.outlet > tank, direct: yes}
  feed: {route: t.branch > d.inlet, direct: yes}
  a: {route: d.A > left.cap, direct: yes}
  b: {route: d.B > right.cap, direct: yes}
%(lines)s
plugged: [%(plugged)s]
faults: no
states:
  lifting: {loads: {left: 10 kN compression, right: 10 kN compression}}
  at the stop: {at stop: {left: extended, right: extended}}
"""


def found(rule: str, sections: str = "[8 cc/rev, 8 cc/rev]", rating: str = "400 bar", more: str = "", lines: str = ""):
    three = sections.count(",") == 2
    lines += "  c: {route: d.C > third.cap, direct: yes}" if three else ""
    text = TEXT % {"sections": sections, "rating": rating, "more": more, "lines": lines, "plugged": ""}
    text = text.replace("plugged: []\n", "") if three else text.replace("plugged: []", "plugged: [third.cap]")
    solved = solve_text(text)
    assert solved.ok, solved.messages
    return [f for f in solved.findings if f.rule == rule]


@pytest.mark.parametrize(("rating", "outcome"), [("291 bar", "ok"), ("289 bar", "finding"), ("unknown", "not checked")])
def test_intensify(rating, outcome):
    hits = found("split-intensify", rating=rating)
    # an unknown rating of the divider leaves that of the cylinders, 400 bar
    assert [f.outcome for f in hits] == [outcome if rating != "unknown" else "ok"] * 2
    assert hits[0].figures["pressure"] == pytest.approx(290e5, rel=1e-3)


def test_three_sections_are_a_danger():
    hits = found("split-intensify", "[8 cc/rev, 8 cc/rev, 8 cc/rev]")
    assert {f.signal for f in hits if f.outcome == "finding"} == {"DANGER"} and len(hits) == 3
    assert hits[0].figures["pressure"] == pytest.approx(435e5, rel=1e-3)


def test_an_outlet_relief_limits_it():
    hits = found(
        "split-intensify", rating="200 bar", more=", outlet reliefs: {setting: 175 bar, override: 0 bar at 10 L/min}",
        lines="  drain: {route: d.T > tank, direct: yes}",
    )  # fmt: skip
    assert [f.outcome for f in hits] == ["ok"] * 2 and hits[0].figures["pressure"] == pytest.approx(175e5)


@pytest.mark.parametrize(
    ("more", "outcome"),
    [("", "not checked"), (", allowed difference: 57 mm", "finding"), (", allowed difference: 58 mm", "ok")],
)
def test_accuracy(more, outcome):
    (hit,) = found("split-accuracy", more=more)
    assert hit.outcome == outcome and hit.figures["apart"] == pytest.approx(0.0571, abs=1e-4)


PACK = """
machine: pack
oil: {grade: ISO VG 32, temperature: 40 °C}
parts:
  tank: {kind: reservoir, volume: 6 L}
  motor: {kind: DC motor, power: 1.8 kW, speed: 2800 rpm, voltage: 12 V%s}
  pump: {kind: pump, displacement: 1.2 cc/rev, speed: 2800 rpm, driven by: motor, rating: 250 bar}
  relief: {kind: relief valve, setting: 180 bar, override: 0 bar at 5 L/min}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  out: {route: pump.outlet > relief.inlet, direct: yes}
  over: {route: relief.outlet > tank, direct: yes}
"""
GOOD = ", cable: 35 mm2, cable loop: 12 m, fuse: 200 A, longest on time: 2 min"


@pytest.mark.parametrize(
    ("keys", "outcome", "words"),
    [
        (GOOD, "ok", "133 A"),
        (GOOD.replace("35 mm2", "16 mm2"), "finding", "1.75 V"),
        (GOOD.replace("200 A", "130 A"), "finding", "fuse"),
        (GOOD.replace(", fuse: 200 A", ""), "not checked", "133 A"),
        ("", "not checked", "133 A"),
    ],
)
def test_battery(keys, outcome, words):
    (hit,) = [f for f in solve_text(PACK % keys).findings if f.rule == "power-dc-duty"]
    assert hit.outcome == outcome and words in hit.headline
    assert hit.figures["current"] == pytest.approx(133.4, abs=0.2)


def test_none_of_it_without_dividers_and_batteries():
    solved = solve_text(PACK.replace("{kind: DC motor, power: 1.8 kW, speed: 2800 rpm, voltage: 12 V%s}", "{kind: electric motor, power: 2 kW, speed: 2800 rpm}"))  # noqa: E501
    for rule in ("split-intensify", "split-accuracy", "power-dc-duty"):
        assert [f.outcome for f in solved.findings if f.rule == rule] == ["does not apply"]


EXCESS = """
machine: conveyor
parts:
  tank: {kind: reservoir}
  pump: {kind: pump, displacement: 20 cc/rev, speed: 1000 rpm, volumetric efficiency: 100 %, rating: 210 bar}
  t: {kind: tee, rating: 250 bar}
  relief: {kind: relief valve, setting: 150 bar, rating: 250 bar}
  divider: {kind: KIND, set flow: 5 L/min, metering drop: 7 bar, excess drop: 2 bar at 15 L/min, rating: 210 bar KEY}
  belt: {kind: orifice, drop: 20 bar at 5 L/min, rating: 210 bar}
  work: {kind: orifice, drop: DROP bar at 15 L/min, rating: 210 bar}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  out: {route: pump.outlet > t.run a, direct: yes}
  seat: {route: t.run b > relief.inlet, direct: yes}
  over: {route: relief.outlet > tank, direct: yes}
  feed: {route: t.branch > divider.inlet, direct: yes}
  first: {route: divider.SIDE > belt.A, direct: yes}
  rest: {route: divider.excess > work.A, direct: yes}
  home: {route: belt.B > tank, direct: yes}
  home 2: {route: work.B > tank, direct: yes}
states:
  running: {}
"""


@pytest.mark.parametrize(
    ("kind", "side"), [("priority divider", "controlled"), ("three-port flow control", "regulated")]
)
@pytest.mark.parametrize(
    ("key", "drop", "outcome"),
    [("no", "60", "finding"), ("no", "9", "ok"), ("yes", "60", "ok"), ("", "60", "not checked"), ("", "9", "ok")],
)
def test_an_excess_port_that_has_to_run_free(kind, side, key, drop, outcome):
    """15 of the 20 L/min leave by the excess port and make 60 or 9 bar behind it; up to 10 bar count as free."""
    text = EXCESS.replace("KIND", kind).replace("SIDE", side).replace("DROP", drop)
    solved = solve_text(text.replace("KEY", f", excess port takes pressure: {key}" if key else ""))
    assert solved.ok, solved.messages
    (one,) = [f for f in solved.findings if f.rule == "split-excess-pressure"]
    assert one.outcome == outcome
    if outcome == "finding":
        assert one.signal == "WARNING" and one.figures["pressure"] == pytest.approx(60e5, rel=1e-3)
