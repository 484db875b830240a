"""Indicators of filters, couplers without valves, charge of accumulators: every outcome, worked by hand. Invented."""

from __future__ import annotations

import pytest
from builddoc.pipeline import solve_text

HEAD = """
machine: test rig (invented)
oil: {grade: ISO VG 46, temperature: 45 °C}
parts:
  tank: {kind: reservoir, volume: 40 L}
  pump: {kind: pump, displacement: 20 cc/rev, speed: 1000 rpm, volumetric efficiency: 100 %, rating: 250 bar}
  relief: {kind: relief valve, setting: 100 bar, override: 0 bar at 10 L/min, rating: 250 bar}
  m: {kind: manifold block, ports: [in, out, guard, more], rating: 250 bar}
  THING
lines:
  suction: {route: tank > pump.inlet, bore: 30 mm, length: 0.3 m}
  feed: {route: pump.outlet > m.in, direct: yes}
  guard: {route: m.guard > relief.inlet, direct: yes}
  spill: {route: relief.outlet > tank, bore: 40 mm, length: 0.1 m}
  LINES
"""
WAY = "out: {route: m.out > it.FIRST, direct: yes}\n  back: {route: it.LAST > tank, bore: 40 mm, length: 0.1 m}"


def outcome(rule, thing, lines, more="plugged: [m.more]"):
    found = solve_text(HEAD.replace("THING", thing).replace("LINES", lines) + more)
    assert found.ok, found.messages
    (one,) = [f for f in found.findings if f.rule == rule]
    return one


def filtered(keys, more="plugged: [m.more]"):
    # 20 L/min through 1 bar at 20 L/min: 1 bar over the element; half blocked 2 bar.
    thing = f"it: {{kind: filter, drop: 1 bar at 20 L/min, rating: 250 bar{keys}}}"
    return outcome("filter-indicator", thing, WAY.replace("FIRST", "inlet").replace("LAST", "outlet"), more)


@pytest.mark.parametrize(
    ("keys", "meant"),
    [("", "does not apply"), (", indicator: 1.01 bar", "ok"), (", indicator: 0.99 bar", "finding")],
)
def test_indicator_of_a_filter(keys, meant):
    one = filtered(keys)
    assert one.outcome == meant
    if keys:
        assert one.figures["difference"] == pytest.approx(1e5, rel=1e-3)


def test_indicator_counts_in_the_worst_state():
    one = filtered(", indicator: 1.5 bar", "plugged: [m.more]\nstates: {clean: {}, old: {it: 50 % blocked}}")
    assert one.outcome == "finding" and one.state == "old"
    assert one.figures["ratio"] == pytest.approx(2 / 1.5, rel=1e-3)


def test_indicator_without_figures_is_not_checked():
    # The element is blocked and there is no relief: that state has no answer.
    text = HEAD.replace("THING", "it: {kind: filter, indicator: 1 bar, rating: 250 bar}")
    text = text.replace("LINES", WAY.replace("FIRST", "inlet").replace("LAST", "outlet"))
    text = text.replace("  guard: {route: m.guard > relief.inlet, direct: yes}\n", "")
    text = text.replace("  spill: {route: relief.outlet > tank, bore: 40 mm, length: 0.1 m}\n", "")
    text = "\n".join(line for line in text.splitlines() if not line.startswith("  relief: {")) + "\n"
    found = solve_text(text + "plugged: [m.more, m.guard]\nstates: {stuck: {it: blocked}}")
    assert found.ok, found.messages
    (one,) = [f for f in found.findings if f.rule == "filter-indicator"]
    assert one.outcome == "not checked" and one.missing


@pytest.mark.parametrize(
    ("valves", "state", "meant"),
    [
        ("both", "open", "does not apply"), ("none", "joined", "ok"), ("A", "open", "ok"), ("none", "open", "finding"),
        ("B", "open", "finding"),
    ],
)  # fmt: skip
def test_coupler_that_spills(valves, state, meant):
    # Half A at the pump; half B at the reservoir has nothing to spill. Without a valve in A all 20 L/min run out.
    thing = f"it: {{kind: quick coupler, valves: {valves}, rating: 250 bar}}"
    lines = WAY.replace("FIRST", "A").replace("LAST", "B")
    one = outcome("coup-spill", thing, lines, f"plugged: [m.more]\nstates: {{only: {{it: {state}}}}}")
    assert one.outcome == meant
    if meant == "finding":
        assert one.figures["flow"] * 6e4 == pytest.approx(20, rel=1e-3)


STALL = "store: {route: m.out > it, direct: yes}"


@pytest.mark.parametrize(
    ("charge", "meant", "word"),
    [
        (89, "ok", ""), (91, "finding", "90 %"), (101, "finding", "never holds oil"), (26, "ok", ""),
        (24, "finding", "4 times"),
    ],
)  # fmt: skip
def test_charge_of_an_accumulator(charge, meant, word):
    # The relief holds it at 100 bar: 90 bar of gas is the most, a quarter, 25 bar, the least.
    thing = f"it: {{kind: accumulator, volume: 1 L, precharge: {charge} bar, rating: 250 bar}}"
    one = outcome("acc-gas", thing, STALL)
    assert one.outcome == meant and word in one.headline
    assert one.figures["highest"] == pytest.approx(100e5, rel=1e-3)


def test_what_an_accumulator_holds_is_on_the_page():
    # 1 L, 50 bar: V (1 - p0/p) at 100 bar = 1 - 51.013/101.013 = 0.49499 L; 51.01325e5 x 1e-3 x ln 1.98013 = 3485 J.
    thing = "it: {kind: accumulator, volume: 1 L, precharge: 50 bar, rating: 250 bar, usable share: 95 %}"
    found = solve_text(HEAD.replace("THING", thing).replace("LINES", STALL) + "plugged: [m.more]")
    (table,) = [t for t in found.report.tables if t.key == "accumulators"]
    (row,) = table.rows
    assert row[5].value == pytest.approx(0.49499e-3, rel=1e-3) and row[7].value == pytest.approx(3485, rel=1e-3)
    assert row[6].value == pytest.approx(0.0, abs=1e-9)  # one state: lowest and highest are the same
    assert "read zero" in table.caption
    assert outcome("acc-gas", "it: {kind: gauge point, rating: 250 bar}", STALL).outcome == "does not apply"


def test_no_state_charges_an_accumulator():
    # Shut off by a tap, its pressure is open.
    thing = "tap: {kind: shut-off valve, rating: 250 bar}\n  " \
            "it: {kind: accumulator, volume: 1 L, precharge: 50 bar, rating: 250 bar}"  # fmt: skip
    lines = "to tap: {route: m.out > tap, direct: yes}\n  store: {route: tap > it, direct: yes}"
    one = outcome("acc-gas", thing, lines, "plugged: [m.more]\nstates: {only: {tap: shut}}")
    assert one.outcome == "not checked" and one.missing
