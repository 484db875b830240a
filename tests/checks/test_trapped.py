"""Oil that is shut in and warmed. Invented machines.

By hand: 30 K x 7e-4 /K x 1.4 GPa = 294 bar with stiff walls and a little air, half of it, 147 bar, where the oil stands
in hoses; 30 x 7e-4 x 1.6 GPa = 336 bar at most (11.2 bar per kelvin; a trade page prints 11). The expansion: Fluid
Power Engineering, McGraw-Hill, 2009, p. 37; the give of hoses and 1.4 GPa: from memory.
"""

from __future__ import annotations

import math

import pytest
from builddoc.checks.closed import closed
from builddoc.pipeline import solve_text

TEXT = """
machine: head lift (invented)
oil: {grade: ISO VG 46, temperature: 45 °C}
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 1500 rpm, rating: 250 bar}
  relief: {kind: relief valve, setting: 150 bar, rating: 250 bar}
  t: {kind: tee, rating: 250 bar}
  tap: {kind: shut-off valve, rating: 315 bar}
  block: {kind: manifold block, ports: [in, ram, EXTRA], rating: 315 bar}
  ram: {kind: cylinder, bore: 50 mm, rod: 30 mm, stroke: 750 mm, rating: 210 bar}
  OTHER
lines:
  suction: {route: tank > pump.inlet, bore: 25 mm, length: 0.5 m}
  feed: {route: pump.outlet > t, direct: yes}
  guard: {route: t > relief.inlet, direct: yes}
  spill: {route: relief.outlet > tank, bore: 19 mm, length: 1 m}
  head line: {route: t > tap, bore: 9.5 mm, length: 1 m, rating: 225 bar}
  locked: {route: tap > block.in, LOCKED, length: 3 m, rating: RATING}
  last: {route: block.ram > ram.rod, direct: yes}
  back: {route: ram.cap > tank, bore: 19 mm, length: 1 m, rating: 225 bar}
  JOIN
plugged: [PLUGGED]
states:
  parked: {tap: shut, at stop: {ram: STOP}, loads: {ram: LOAD}}
"""
PLAIN = {
    "EXTRA": "spare", "OTHER": "", "JOIN": "", "PLUGGED": "block.spare", "LOCKED": "hose: two-wire, bore: 9.5 mm",
    "STOP": "retracted", "LOAD": "6 kN tension", "RATING": "225 bar",
}  # fmt: skip


def solve(**changed):
    text = TEXT
    for word, meant in {**PLAIN, **changed}.items():
        text = text.replace(word, meant)
    found = solve_text(text)
    assert found.ok, found.messages
    return found


def outcome(found):
    (one,) = [f for f in found.findings if f.rule == "trapped-thermal"]
    return one


RING = math.pi / 4 * (0.050**2 - 0.030**2)


def test_rigid_line_at_the_stop():
    # A rod side under 6 kN of tension: 6000/12.566e-4 = 47.7 bar, and 294 to 336 bar on top: 342 to 384 bar.
    found = solve(LOCKED="bore: 9.5 mm")
    one = outcome(found)
    assert one.outcome == "finding" and one.signal == "WARNING"
    before = 6000 / RING
    assert one.figures["pressure before"] == pytest.approx(before, rel=5e-3)
    assert one.figures["least"] == pytest.approx(before + 294e5, rel=2e-3)
    assert one.figures["most"] == pytest.approx(before + 336e5, rel=2e-3)
    assert one.figures["rating"] == 210e5


def test_hoses_take_up_half():
    # Pinned somewhere: how much oil the cylinder holds is open, at least all stands in the hose. Pressure kept: none is
    # certain. 147 to 336 bar.
    found = solve(STOP="held")
    one = outcome(found)
    assert one.outcome == "finding" and "can be too much" in one.headline
    assert one.figures["least"] == pytest.approx(147e5, rel=2e-3)
    assert one.figures["most"] == pytest.approx(336e5, rel=2e-3)


def test_a_full_rod_side_leaves_the_hose_a_small_share():
    # Hose 3 m of 9.5 mm: 0.2126 L; rod side 0.9425 L: share 0.184, 294/1.184 = 248.3 bar on 47.7.
    (room,) = closed(solve().case)
    hose, side = math.pi / 4 * 0.0095**2 * 3, RING * 0.75
    assert room.hoses == pytest.approx(hose / (hose + side))
    assert room.least == pytest.approx(6000 / RING + 294e5 / (1 + room.hoses), rel=5e-3)


def test_a_thermal_relief_bounds_it():
    found = solve(
        EXTRA="valve", PLUGGED="",
        OTHER="small relief: {kind: relief valve, setting: 190 bar, override: 0 bar at 10 L/min, rating: 315 bar}",
        JOIN="vent: {route: block.valve > small relief.inlet, direct: yes}\n"
        "  drip: {route: small relief.outlet > tank, bore: 8 mm, length: 1 m}",
    )  # fmt: skip
    one = outcome(found)
    assert one.outcome == "ok" and "small relief" in one.text
    assert one.figures["most"] == pytest.approx(190e5, rel=1e-3)


def test_an_accumulator_takes_it_up():
    found = solve(
        EXTRA="bottle", PLUGGED="", OTHER="acc: {kind: accumulator, volume: 1 L, precharge: 30 bar, rating: 315 bar}",
        JOIN="store: {route: block.bottle > acc, direct: yes}",
    )  # fmt: skip
    one = outcome(found)
    assert one.outcome == "ok" and "acc takes up" in one.headline


def test_a_rod_at_the_other_stop_gives_way():
    # Pulled against its extended stop with 6 kN, it leaves that stop above 6000/12.566e-4 = 47.7 bar.
    one = outcome(solve(STOP="extended"))
    assert one.outcome == "ok" and one.figures["most"] == pytest.approx(6000 / RING, rel=5e-3)


def test_a_free_rod_gives_way():
    found = solve_text(_filled().replace("at stop: {ram: retracted}, ", ""))
    one = outcome(found)
    assert one.outcome == "ok" and "moves the rod" in one.headline
    table = next(t for t in found.report.tables if t.key == "trapped")
    assert table.rows[0][2].value == pytest.approx(6000 / RING, rel=5e-3) and "no rise" in table.rows[0][5].text


def test_warming_is_told_in_the_units_of_the_page():
    found = solve_text("units: US\n" + _filled())
    shut, envelope = (next(t for t in found.report.tables if t.key == key) for key in ("trapped", "envelope"))
    assert "54 °F of warming" in shut.caption and "54 °F warmer" in envelope.caption
    assert {c.label for c in shut.columns} >= {"54 °F warmer, least", "54 °F warmer, most"}
    assert outcome(found).headline.startswith("54 °F warmer")


def _filled():
    text = TEXT
    for word, meant in PLAIN.items():
        text = text.replace(word, meant)
    return text


def test_a_spool_leaks():
    text = _filled().replace("tap: {kind: shut-off valve, rating: 315 bar}", "tap: {kind: directional valve, "
                             "centre: open, spools: [lift], rating: 315 bar}")  # fmt: skip
    text = text.replace("t > tap,", "t > tap.P,").replace("tap > block.in", "tap.lift.A > block.in")
    text = text.replace("  back: {route: ram.cap > tank", "  out: {route: tap.T > tank, bore: 19 mm, length: 1 m}\n"
                        "  back: {route: ram.cap > tank")  # fmt: skip
    text = text.replace("tap: shut, ", "").replace("plugged: [block.spare]", "plugged: [block.spare, tap.lift.B]")
    found = solve_text(text)
    assert found.ok, found.messages
    one = outcome(found)
    assert one.outcome == "ok" and "leaks away" in one.headline


def test_without_ratings_it_is_not_checked():
    text = _filled().replace("rating: 210 bar", "rating: unknown").replace("rating: 315 bar", "rating: unknown")
    found = solve_text(text.replace("length: 3 m, rating: 225 bar", "length: 3 m, rating: unknown"))
    assert found.ok, found.messages
    assert outcome(found).outcome == "not checked"


def test_nothing_shut_in():
    found = solve_text(_filled().replace("tap: shut, at stop: {ram: retracted}, ", ""))
    assert outcome(found).outcome == "does not apply"


def test_both_sides_shut_in_squeeze_the_ring():
    # Rod free between two shut taps: the ring side rises by the ratio of areas, 19.635/12.566 = 1.5625: to 525 bar.
    text = _filled().replace("back: {route: ram.cap > tank", "back: {route: ram.cap > stop valve")
    text = text.replace("  ram: {kind", "  stop valve: {kind: shut-off valve, rating: 315 bar}\n  ram: {kind")
    text = text.replace("plugged", "  rest: {route: stop valve > tank, bore: 19 mm, length: 1 m}\nplugged", 1)
    states = "tap: shut, at stop: {ram: retracted}, loads: {ram: 6 kN tension}"
    text = text.replace(states, "tap: shut, stop valve: shut")
    found = solve_text(text)
    assert found.ok, found.messages
    rises = {room.lines: room.most for room in closed(found.case)}
    assert rises["locked",] == pytest.approx(336e5 * 1.5625, rel=1e-3)
    assert rises["back",] == pytest.approx(336e5, rel=1e-3)


def test_a_rod_may_give_way_into_a_side_that_a_spool_shuts():
    # The cap side is plugged by a spool in its centre, the rod is at no stop: the ring may keep what the load makes,
    # 6000/12.566e-4 = 47.7 bar, or be squeezed by the ratio of areas: 336 x 1.5625 = 525 bar on what it surely has.
    text = _filled().replace("back: {route: ram.cap > tank", "back: {route: ram.cap > bank.lift.A")
    bank = "  bank: {kind: directional valve, centre: open, spools: [lift], rating: 315 bar}\n"
    text = text.replace("  ram: {kind", f"{bank}  ram: {{kind")
    text = text.replace("plugged: [block.spare]", "  rest: {route: bank.T > tank, bore: 19 mm, length: 1 m}\n"
                        "plugged: [block.spare, bank.lift.B, bank.P]")  # fmt: skip
    found = solve_text(text.replace("at stop: {ram: retracted}, ", ""))
    assert found.ok, found.messages
    ring = next(room for room in closed(found.case) if "locked" in room.lines)
    assert ring.creeps and ring.squeezed
    assert ring.least == pytest.approx(6000 / RING, rel=5e-3)
    assert ring.most - ring.low == pytest.approx(336e5 * 1.5625, rel=1e-3)
    text = next(f.text for f in found.findings if f.rule == "trapped-thermal" and "locked" in f.headline)
    assert "leaks and the rod gives way" in text and "by the ratio of its areas" in text


def test_intensification_is_told():
    # Its other side at what the pump gives at most, its outlet in the one state there is, times 1.5625.
    case = solve().case
    (room,) = closed(case)
    assert room.intensified == pytest.approx(case.results.pressure("pump", "outlet")[0] * 1.5625, rel=1e-3)
    assert room.intensified > 234e5
