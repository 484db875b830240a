"""Cylinders side by side: legs compared, warm, cold and stalled. The machine is invented.

By hand. Pump 10 cm3 x 2400 /min x 0.93 = 22.32 L/min, half of it, 11.16 L/min, in each leg of a rigid pair. Legs of
9.5 mm bore, 0.3 and 2.4 m; laminar, dp = 128 rho nu L Q/(pi d^4). Expected of such legs (common practice, no source):
0.9 and 7.4 bar at 5 degC, 0.07 and 0.58 bar at 50 degC. Oil of grade 46 with 46 and 6.8 mm2/s: nu(5 degC) = 370
mm2/s, nu(50 degC) = 29.6 mm2/s by the ASTM D341 line through both.
"""

from __future__ import annotations

import math

import pytest
from builddoc.checks import legs
from builddoc.pipeline import solve_text

TEXT = """
machine: log lifter (invented)
oil: {grade: ISO VG 46, temperature: 50 °C, coldest start: 5 °C, viscosity at 40: 46 cSt, viscosity at 100: 6.8 cSt}
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, volumetric efficiency: 93 %, rating: 250 bar}
  relief: {kind: relief valve, setting: 150 bar, override: 0 bar at 10 L/min, rating: 250 bar}
  inlet: {kind: manifold block, ports: [in, out, guard], rating: 250 bar}
  bank: {kind: directional valve, centre: open, spools: [lifter], load checks: no, rating: 250 bar}
  left: {kind: cylinder, bore: 63 mm, rod: 32 mm, stroke: 600 mm, rating: 210 bar}
  right: {kind: cylinder, bore: 63 mm, rod: 32 mm, stroke: 600 mm, rating: 210 bar}
  split: {kind: tee, rating: 210 bar}
  joint: {kind: tee, rating: 210 bar}
lines:
  suction: {route: tank > pump.inlet, bore: 25 mm, length: 0.5 m}
  feed: {route: pump.outlet > inlet.in, direct: yes}
  guard: {route: inlet.guard > relief.inlet, direct: yes}
  spill: {route: relief.outlet > tank, bore: 40 mm, length: 0.1 m}
  into bank: {route: inlet.out > bank.P, direct: yes}
  return: {route: bank.T > tank, bore: 40 mm, length: 0.1 m}
  up: {route: bank.lifter.A > split, direct: yes}
  left leg: {route: split > left.cap, bore: 9.5 mm, length: 0.3 m}
  right leg: {route: split > right.cap, bore: 9.5 mm, length: 2.4 m}
  left back: {route: left.rod > joint, bore: 25 mm, length: 0.1 m}
  right back: {route: right.rod > joint, bore: 25 mm, length: 0.1 m}
  down: {route: joint > bank.lifter.B, direct: yes}
ties:
  lifter:
    parts: [left, right]
    rigid: RIGID
    compare: {centre: {left leg: 1.35 m, right leg: 1.35 m}}
states:
  lifting: {bank.lifter: A, loads: LOADS}
"""
RIGID = TEXT.replace("RIGID", "yes").replace("LOADS", "{lifter: 26.5 kN compression}")


def loose(left, right):
    loads = f"{{left: {left} N compression, right: {right} N compression}}"
    return solve(TEXT.replace("RIGID", "no").replace("LOADS", loads))


def solve(text):
    found = solve_text(text)
    assert found.ok, found.messages
    return found


def views(found, **wanted):
    seen = [v for v in legs.views(found.case) if all(getattr(v, k) == value for k, value in wanted.items())]
    assert seen
    return seen


def finding(found, rule):
    (one,) = [f for f in found.findings if f.rule == rule]
    return one


def test_legs_of_a_rigid_pair_cold_and_warm():
    found = solve(RIGID)
    for cold, near, far in ((True, 0.93, 7.4), (False, 0.07, 0.58)):
        (view,) = views(found, layout=legs.DRAWN, cold=cold, stalled=False)
        assert [side.loss / 1e5 for side in view.sides] == pytest.approx([near, far], rel=0.03, abs=0.006)
        assert [side.flow * 6e4 for side in view.sides] == pytest.approx([11.16, 11.16], rel=1e-3)
        area = math.pi / 4 * 0.063**2
        assert view.pressure_difference == pytest.approx(view.sides[1].loss - view.sides[0].loss, rel=1e-3)
        assert view.force_difference == pytest.approx(view.pressure_difference * area, rel=0.02)
        # Both together carry the load, whatever the legs do.
        assert sum(side.force for side in view.sides) == pytest.approx(26500, rel=1e-6)


def test_stalled_the_legs_do_not_matter():
    for view in views(solve(RIGID), stalled=True):
        assert [side.ports["cap"] for side in view.sides] == pytest.approx([150e5] * 2, rel=2e-3)
        assert view.force_difference == pytest.approx(0.0, abs=1.0) and view.flow_difference == 0.0


def test_a_tee_in_the_middle_makes_the_sides_alike():
    found = solve(RIGID)
    for view in views(found, layout="centre"):
        assert view.pressure_difference == pytest.approx(0.0, abs=100.0)
    table = next(t for t in found.report.tables if t.key == "pair-layouts")
    assert [row[3].text for row in table.rows] == ["as drawn", "centre", "as drawn", "centre"]
    assert [round(row[4].value / 1e5, 1) for row in table.rows] == [0.5, 0.0, 6.5, 0.0]


def test_the_rule_speaks_of_the_cold_start():
    one = finding(solve(RIGID), "pair-tee-unbalance")
    assert one.outcome == "finding" and "coldest start, 5 °C" in one.headline
    assert one.figures["difference"] / 1e5 == pytest.approx(7.4 - 0.93, rel=0.03)
    short = finding(solve(RIGID.replace("length: 2.4 m", "length: 0.4 m")), "pair-tee-unbalance")
    assert short.outcome == "ok"


def test_a_loose_pair_with_one_load_and_unequal_legs():
    # Equal loads and laminar legs: flows as 2.4 to 0.3 but for the short back lines; the left has 0.3 + x, the right
    # 2.4 + x of resistance. x: what the back leg adds, 0.1 (9.5/25)^4 (ring/cap) ~ 0.001 m. Flows 8 to 1; the slow one
    # still has 600 (1 - 1/8) = 525 mm to go.
    found = loose(12000, 12000)
    for cold in (True, False):
        (view,) = views(found, layout=legs.DRAWN, cold=cold, stalled=False)
        left, right = view.sides
        assert left.flow / right.flow == pytest.approx(8.0, rel=0.02)
        assert (left.left, right.left) == (0.0, pytest.approx(0.525, abs=0.003))
    one = finding(found, "pair-tee-unbalance")
    assert one.outcome == "finding" and "right is 52" in one.headline
    for view in views(found, layout="centre"):
        assert max(side.left for side in view.sides) < legs.LEVEL


def test_the_heavier_of_a_loose_pair_waits():
    # 15 against 12 kN: 9.6 bar more, and the leg of the left takes 0.15 bar warm: it does not move at all.
    found = loose(12000, 15000)
    (view,) = views(found, layout=legs.DRAWN, cold=False, stalled=False)
    left, right = view.sides
    assert right.speed == pytest.approx(0.0, abs=1e-9) and right.left == pytest.approx(0.6)
    assert left.flow * 6e4 == pytest.approx(22.32, rel=1e-3)
    table = next(t for t in found.report.tables if t.key == "pairs")
    assert "does not move until left is at its stop" in [row[-1].text for row in table.rows]
    assert "right waits for the other" in table.caption
    assert "does not move" in finding(found, "pair-tee-unbalance").headline


def test_a_member_that_is_at_its_stop_already_is_not_compared():
    text = TEXT.replace("RIGID", "no").replace("LOADS", "{left: 12 kN compression, right: 13 kN compression}")
    found = solve(text.rstrip().removesuffix("}") + ", at stop: {left: extended}}")
    assert legs.views(found.case) == ()
    assert finding(found, "pair-tee-unbalance").outcome == "not checked"


def test_a_loose_pair_without_strokes_is_not_judged():
    text = TEXT.replace("RIGID", "no").replace("LOADS", "{left: 12 kN compression, right: 13 kN compression}")
    one = finding(solve(text.replace(", stroke: 600 mm", "")), "pair-tee-unbalance")
    assert one.outcome == "not checked" and "stroke" in one.missing


def test_what_cannot_be_compared_is_said():
    text = RIGID.replace("left leg: 1.35 m, right", "up: 2 m, right")
    found = solve(text)
    assert legs.impossible(found.case) == ["lifter, centre: up is a direct joint and has no length"]
    assert not [v for v in legs.views(found.case) if v.layout == "centre"]
    missing = solve_text(RIGID.replace("{left leg: 1.35", "{lefd leg: 1.35"))
    assert [m.code for m in missing.messages] == ["line-unknown"]


def test_a_telescopic_cylinder_is_not_tied():
    text = RIGID.replace(
        "kind: cylinder, bore: 63 mm, rod: 32 mm, stroke: 600 mm",
        "kind: telescopic cylinder, stages: [{bore: 63 mm, rod: 50 mm, stroke: 1 m}, {bore: 50 mm, rod: 40 mm, "
        "stroke: 1 m}]",
    )
    assert {m.code for m in solve_text(text).messages} == {"tie-part"}
