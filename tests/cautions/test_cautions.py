"""Every caution: a circuit in which it shows and one in which it does not; its figures worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from builddoc import cautions, language
from builddoc.cautions import standing
from builddoc.cautions.base import Caution, Scene
from builddoc.checks.base import ORDER, Case
from builddoc.declarations import MachineFacts
from builddoc.page.rendering import render
from markupsafe import escape

from .circuits import BASE, ROUND, changed, solved

LOADED = "{parts: {bank: {load checks: yes}}, states: {holding: {loads: {ram: 10 kN compression}}}}"
COUPLED = """
parts: {up coupler: {kind: quick coupler, rating: 250 bar}, down coupler: {kind: quick coupler, rating: 250 bar}}
lines:
  push: {route: bank.ram.A > up coupler.A}
  push 2: {route: up coupler.B > ram.cap, direct: yes}
  pull: {route: bank.ram.B > down coupler.A}
  pull 2: {route: down coupler.B > ram.rod, direct: yes}
states: {parted: {bank.ram: A, down coupler: open}}
"""
ONE_COUPLER = """
parts: {home coupler: {kind: quick coupler, rating: 250 bar}}
lines:
  return: {route: bank.T > home coupler.A}
  return 2: {route: home coupler.B > tank.oil, bore: 19 mm, length: 1 m, rating: 250 bar}
"""
MOTOR = """
parts: {ram: '~', motor: {kind: hydraulic motor, displacement: 50 cc/rev, rating: 250 bar}}
lines: {push: {route: bank.ram.A > motor.A}, pull: {route: bank.ram.B > motor.B}}
states: {pushing: {bank.ram: A, loads: {motor: 30 N.m resisting, ram: '~'}}, at its stop: '~'}
"""
DRAINED = MOTOR.replace("rating: 250 bar}}\nlines: {", "rating: 250 bar, case drain: yes}}\nlines: {drain: {route: "
                        "motor.drain > tank.oil, bore: 8 mm, length: 1 m, rating: 20 bar}, ")  # fmt: skip
FILTER = """
parts: {can: {kind: filter, bypass: 1.7 bar, rating: 10 bar}}
lines:
  return: {route: bank.T > can.inlet}
  return 2: {route: can.outlet > tank.oil, bore: 19 mm, length: 1 m, rating: 250 bar}
"""
STORE = """
parts: {fork: {kind: tee, rating: 250 bar}, store: {kind: accumulator, volume: 1 L, precharge: 60 bar, rating: 250 bar}}
lines:
  feed: {route: pump.outlet > fork.run a}
  to store: {route: fork.branch > store.oil, direct: yes}
  on: {route: fork.run b > bank.P, direct: yes}
"""
GAUGE = """
parts: {dial: {kind: gauge point, rating: 250 bar}}
lines: {tap: {route: feed at 0.5 m > dial.port, bore: 4 mm, length: 0.1 m, rating: 250 bar}}
"""
TIED = """
parts: {ram 2: {like: ram}, split: {kind: tee, rating: 250 bar}, join: {kind: tee, rating: 250 bar}}
lines:
  push: {route: bank.ram.A > split.run a}
  push 1: {route: split.run b > ram.cap, direct: yes}
  push 2: {route: split.branch > ram 2.cap, direct: yes}
  pull: {route: bank.ram.B > join.run a}
  pull 1: {route: join.run b > ram.rod, direct: yes}
  pull 2: {route: join.branch > ram 2.rod, direct: yes}
ties: {both: {parts: [ram, ram 2], rigid: yes}}
states:
  pushing: {bank.ram: A, loads: {both: 15 kN compression, ram: '~'}}
  at its stop: {bank.ram: A, at stop: {both: extended, ram: '~'}}
"""
SHUT = """
parts: {tap: {kind: shut-off valve, rating: 250 bar}}
lines:
  push: {route: bank.ram.A > tap.A}
  push 2: {route: tap.B > ram.cap, bore: 10 mm, length: 1 m, rating: 250 bar}
states: {parked: {tap: shut, loads: {ram: 10 kN compression}}}
"""
DIVIDED = """
parts:
  ram 2: {like: ram}
  split: {kind: flow divider, sections: [5 cc/rev, 5 cc/rev], rating: 250 bar}
  join: {kind: tee, rating: 250 bar}
lines:
  push: {route: bank.ram.A > split.inlet}
  push 1: {route: split.A > ram.cap, direct: yes}
  push 2: {route: split.B > ram 2.cap, direct: yes}
  pull: {route: bank.ram.B > join.run a}
  pull 1: {route: join.run b > ram.rod, direct: yes}
  pull 2: {route: join.branch > ram 2.rod, direct: yes}
"""
PACK = """
parts:
  motor: {kind: DC motor, power: 2 kW, speed: 1500 rpm, voltage: 12 V, motor efficiency: 60 %, longest on time: 2 min}
  pump: {displacement: 1 cc/rev, driven by: motor, mechanical efficiency: 100 %}
"""
STEERED = """
parts: {wheel: {kind: steering unit, displacement: 80 cc/rev, centre: open, rating: 250 bar}}
lines:
  feed: {route: pump.outlet > wheel.P}
  push: {route: wheel.L > ram.cap}
  pull: {route: wheel.R > ram.rod}
  return: {route: wheel.T > tank.oil}
"""
NO_BANK = {"parts": {"bank": "~"}, "states": "~"}
CHAIN = """
parts: {bank: {tank port rating: 25 bar}, bank 2: {kind: directional valve, centre: open, spools: [two],
        rating: 250 bar,
                 tank port rating: 30 bar},
        ram 2: {like: ram}}
lines:
  return: {route: bank.T > bank 2.P}
  home: {route: bank 2.T > tank.oil, bore: 19 mm, length: 1 m, rating: 250 bar}
  push 2: {route: bank 2.two.A > ram 2.cap, direct: yes}
  pull 2: {route: bank 2.two.B > ram 2.rod, direct: yes}
states: {second at its stop: {bank 2.two: A, at stop: {ram 2: extended}}}
"""
# The relief stands behind a tap that can be shut, and so does the way home.
ISOLATED = """
parts: {tap: {kind: shut-off valve, rating: 200 bar}, home tap: {like: tap}}
lines:
  home: {route: fork.run b > home tap.A}
  home 2: {route: home tap.B > tank.oil, direct: yes}
  over: {route: fork.branch > tap.A}
  over 2: {route: tap.B > relief.inlet, direct: yes}
states: {running: {}, shut: {tap: shut, home tap: shut}}
"""

SHOWN = {
    "injection": "",
    "rating": "{lines: {feed: {rating: 100 bar}}}",
    "plumbing-fitting": "{lines: {feed: {fittings: [malleable iron tee 1/2 in class 150]}}}",
    "no-relief": "{parts: {bank: {relief: '~'}}, states: {at its stop: '~'}}",
    "weakest": "{parts: {pump: {rating: 210 bar}}}",
    "intensify": COUPLED,
    "trapped": SHUT,
    "suspended": LOADED,
    "load-check": LOADED,
    "overrun": "{states: {lowering: {bank.ram: B, loads: {ram: 10 kN compression}}}}",
    "crush": "",
    "rotating": MOTOR,
    "paired": TIED,
    "coupler-open": COUPLED,
    "coupler-pressure": ONE_COUPLER,
    "swap": COUPLED,
    "power-beyond": CHAIN,
    "motor-seal": MOTOR,
    "filter": FILTER,
    "cooler": FILTER.replace("can: {kind: filter, bypass: 1.7 bar,", "can: {kind: cooler,"),
    "accumulator": STORE,
    "work-energy": GAUGE,
    "hot": "",
    "hot-time": "",
    "hose-age": "{lines: {suction: {hose date: '~'}}}",
    "start": "",
    "unchecked": "{lines: {feed: {rating: unknown}}}",
    "divider": DIVIDED,
    "under": "{parts: {ram: {declare: {work beneath: yes, prop: 20 kN}}}}",
    "press": "{parts: {ram: {frame rating: 25 kN, declare: "
             "{gap: 5 mm, in reach: yes, guarded: no, fed by hand: yes}}}}",
    "detent": "{parts: {bank: {declare: {lever: detent, toward person: yes}}}}",
    "tip": "{declare: {mobile: yes, slope: 5, track width: 1.5 m, centre of gravity: 1.9 m, load offset: 0.15 m}}",
    "fire": "{lines: {feed: {declare: {near hot part: 200 mm, shield: no}}}}",
    "hose-near": "{lines: {feed: {hose: two-wire, size: -8, bore: '~', declare: {near people: 0.4 m, shield: no}}}}",
    "thread": "{lines: {push: {declare: {end: {form: 37 flare, onto: 45 flare}}}}}",
    "battery": PACK,
    "gauge": GAUGE.replace("rating: 250 bar}}\nlines", "range: 100 bar, rating: 250 bar}}\nlines"),
    "road": "{declare: {hitch: yes}}",
    "unlevel": DIVIDED,
    "loader": "{declare: {lifting arms: yes, tip load: 6 kN, tip reach: 1.8 m}}",
    "changed": "{revision: C, date: 2026-05, declare: {checked: 2026-04-30}}",
}
"""Caution -> what is changed in BASE so that it shows."""
NOT_IN_BASE = {
    "rating", "plumbing-fitting", "no-relief", "weakest", "intensify", "trapped", "suspended", "load-check", "overrun",
    "rotating", "paired", "coupler-open", "coupler-pressure", "swap", "power-beyond", "motor-seal", "filter", "cooler",
    "accumulator", "hose-age", "steering", "divider", "under", "press", "detent", "tip", "fire", "hose-near", "thread",
    "battery", "gauge", "road", "unlevel", "loader", "changed",
}  # fmt: skip
NOT_IN_ROUND = {"injection", "crush", "work-energy", "hot", "hot-time"}
ALWAYS = {"oil"}
ELSEWHERE = {"steering", "start", "unchecked"}
"""Shown, or not shown, in a test of its own below."""


def told(change: object = "", base: str = BASE) -> dict[str, Caution]:
    report = solved(change, base).report  # type: ignore[arg-type]
    assert report is not None
    return {c.id: c for c in report.cautions}


def test_every_caution_has_its_cases() -> None:
    ids = set(cautions.all_cautions())
    assert ids == {*SHOWN, *ALWAYS, *ELSEWHERE}
    assert ids == {*NOT_IN_BASE, *NOT_IN_ROUND, *ALWAYS, *ELSEWHERE}
    assert set(cautions.GRAVEST) <= ids


@pytest.mark.parametrize("id", SHOWN)
def test_shows_where_its_condition_holds(id: str) -> None:
    found = told(SHOWN[id])
    assert id in found, sorted(found)
    assert found[id].lead.endswith((".", ":"))
    assert found[id].text.endswith(".")


def test_does_not_show_where_it_does_not_hold() -> None:
    assert not NOT_IN_BASE & set(told())
    assert not NOT_IN_ROUND & set(told("", ROUND))


def test_steering_and_reliefs_behind_taps() -> None:
    assert "steering" in told({**NO_BANK, **_lines(STEERED)})
    assert "no-relief" in told(ISOLATED, ROUND)
    assert "no-relief" not in told("", ROUND)


def _lines(text: str) -> dict[str, object]:
    import yaml

    tree = yaml.load(text, yaml.BaseLoader)
    return {"lines": tree["lines"], "parts": {**tree["parts"], "bank": "~"}}


def test_a_drained_motor_has_no_pressure_on_its_seal() -> None:
    assert "motor-seal" not in told(DRAINED)
    assert "rotating" in told(DRAINED)


def test_one_coupler_cannot_be_exchanged() -> None:
    assert "swap" not in told(ONE_COUPLER)


def test_figures() -> None:
    plain = told()
    # The relief stands at 150 bar and 0.1 bar x 15/15 more; the line to it loses a little on top.
    assert plain["injection"].figures["pressure"] == pytest.approx(150.2e5, rel=2e-3)
    assert "150 bar (feed, in 'at its stop')" in plain["injection"].text
    # pi/4 x (0.05 m)2 = 19.635 cm2; 19.635e-4 m2 x 150.28e5 Pa = 29.5 kN
    assert plain["crush"].figures["force"] == pytest.approx(29.5e3, rel=5e-3)
    assert "29.5 kN" in plain["crush"].text
    # Areas 50/28 mm: 50^2 / (50^2 - 28^2) = 1.457; x 150.28 bar = 219 bar
    shut = told(COUPLED)["intensify"]
    assert shut.figures["area ratio"] == pytest.approx(2500 / 1716, rel=1e-6)
    assert shut.figures["pressure"] == pytest.approx(150.28e5 * 2500 / 1716, rel=5e-3)
    # 10 kN
    assert told(LOADED)["suspended"].figures["load"] == pytest.approx(10e3)
    # Class 150: 300 psi cold, 265 psi = 18.3 bar at 200 F, and the oil may reach 82 C = 180 F: between the two
    assert 18e5 < told(SHOWN["plumbing-fitting"])["plumbing-fitting"].figures["rating"] < 20.7e5
    # 210 bar at the pump's port, 250 bar of the line
    weak = told(SHOWN["weakest"])["weakest"]
    assert weak.figures == {"rating": pytest.approx(210e5), "conduit": pytest.approx(250e5)}
    assert weak.lead.startswith("feed is rated 210 bar by its pump.outlet")


def test_time_until_the_oil_is_too_hot() -> None:
    """10 cc x 1500/min = 2.5e-4 m3/s at 150.28 bar: 3757 W; 30 L x 870 kg/m3 x 1900 J/(kg K) = 49 590 J/K; 62 K take
    49 590 x 62 / 3757 = 818 s = 13.6 min."""
    found = told("{parts: {pump: {mechanical efficiency: 100 %}}}")["hot-time"]
    assert found.figures["time"] == pytest.approx(818, rel=5e-3)
    assert "within 13 min" in found.lead


def test_oil_that_settles_below_its_limit_is_told_so() -> None:
    """375 W over the relief of a pack, 0.75 m2 of tank at 12 W/(m2 K): 42 K above the air."""
    (f,) = [f for f in solved(PACK).findings if f.rule == "relief-heat"]
    assert f.figures["time with cooling"] == math.inf and "it settles below, at" in f.text


def test_gas_keeps_its_energy() -> None:
    """Slowly, from 61.01 bar absolute with no oil in it to 151.3: V p0 ln(p / p0) = 1e-3 x 61.01e5 x ln 2.48 =
    5.54 kJ"""
    found = told(STORE)["accumulator"]
    assert found.signal == "DANGER"
    assert found.figures["energy"] == pytest.approx(61.01e2 * math.log(151.3 / 61.01), rel=5e-3)


def test_figures_of_what_was_declared() -> None:
    """Tip: atan((0.75 - 0.15)/1.9) = 17.5°. Divider: 400 mm x (1 - 0.95/1.05) = 38.1 mm. Pack: 1 cm3 x 25/s x 150 bar =
    375 W at its stop (0.1 bar x 1.5/15 of override); over 0.6 x 12 V 52 A."""
    assert math.degrees(told(SHOWN["tip"])["tip"].figures["limit"]) == pytest.approx(17.53, abs=0.01)
    assert told(DIVIDED)["unlevel"].figures["apart"] == pytest.approx(0.0381, rel=1e-3)
    assert told(PACK)["battery"].figures["current"] == pytest.approx(52.1, rel=5e-3)
    assert "20 kN" in told(SHOWN["under"])["under"].text and "25 kN" in told(SHOWN["press"])["press"].text
    assert "No prop is declared for ram." in told("{parts: {ram: {declare: {work beneath: yes}}}}")["under"].text


def test_arms_that_lift_more_than_the_machine_carries() -> None:
    found = told(SHOWN["loader"])["loader"]
    assert found.figures == {"load": 6e3, "reach": 1.8}
    # what nobody stated is told as not known
    assert "6 kN" in found.text and "1.8 m" in found.text and "ballast at the other end: not known" in found.text
    assert "loader" not in told("{declare: {lifting arms: no, tip load: 6 kN}}")


@pytest.mark.parametrize(
    ("date", "checked", "shown"),
    [
        ("2026-05-02", "2026-05-01", True),
        ("2026-05-02", "2026-05-02", False),
        ("2026-05-02", "2026-05", False),  # whether before or after is not known
        ("2026-06", "2026-05-31", True),
        ("2027", "2026-12-31", True),
        ("2025-12-31", "2026", False),
    ],
)
def test_changed_since_it_was_gone_over(date: str, checked: str, shown: bool) -> None:
    found = told(f"{{revision: C, date: {date}, declare: {{checked: {checked}}}}}")
    assert ("changed" in found) == shown
    if shown:
        assert f"revision C of {date}" in found["changed"].text and checked in found["changed"].text
    assert "changed" not in told(f"{{revision: C, date: {date}}}")


@pytest.mark.parametrize(
    ("date", "checked", "status", "told_of"),
    [
        ("", "", "built", "revision C, made from revision B; nobody stated a day"),
        ("2026-05-02", "", "built", "revision C of 2026-05-02, made from revision B; nobody stated a day"),
        ("", "2026-05-02", "built", "last gone over on 2026-05-02, and whether that was after"),
        ("2026-05-02", "2026-05", "built", "whether that was after"),
        ("2026", "2026", "built", "whether that was after"),
        ("2026-05-02", "2026-05-01", "built", "last gone over on 2026-05-01. Every line"),
        ("2026-05-02", "2026-05-02", "built", ""),
        ("2026-05-02", "2026-06", "built", ""),
        ("2026-05-02", "", "planned", ""),  # nothing has changed on the machine yet
    ],
)
def test_a_revision_made_from_another_was_changed(date: str, checked: str, status: str, told_of: str) -> None:
    circuit = language.read(BASE).circuit
    assert circuit is not None
    facts = MachineFacts.model_validate({"checked": checked})
    circuit = replace(circuit, revision="C", base="B", date=date, status=status, declare=facts)
    said = standing.changed(Scene(Case(circuit, None, None, None)))  # type: ignore[arg-type]  # it reads no figures
    assert bool(said) == bool(told_of)
    assert said is None or told_of in said.text


def test_what_was_put_right_is_not_shown() -> None:
    assert "press" not in told(SHOWN["press"].replace("guarded: no", "guarded: yes"))
    assert "fire" not in told(SHOWN["fire"].replace("shield: no", "shield: yes"))
    assert "tip" not in told(SHOWN["tip"].replace("1.9 m", "0.9 m"))  # atan(0.6/0.9) = 33.7°
    assert "gauge" not in told(SHOWN["gauge"].replace("range: 100 bar", "range: 160 bar"))
    assert "under" in told(SHOWN["under"])  # a prop does not take the caution away


def test_gauges_are_named() -> None:
    assert "prove zero at dial" in told(GAUGE)["work-energy"].text
    assert "no gauge point" in told()["work-energy"].text


def test_worst_first_and_not_more_than_seven_at_the_head() -> None:
    """A chain of valves with a coupler, a filter, a load and a plumbing fitting: more than twenty cautions."""
    report = solved("{parts: {bank: {relief: '~'}}, lines: {feed: {fittings: [malleable iron tee 1/2 in class 150]}}, "
                    "states: {holding: {loads: {ram: 10 kN compression}}, at its stop: '~'}}").report  # fmt: skip
    assert report is not None
    signals = [ORDER[c.signal] for c in report.cautions]
    assert signals == sorted(signals)
    head, rest = cautions.split(report.cautions)
    assert len(report.cautions) > cautions.HEAD == len(head) == 7
    assert (*head, *rest) == report.cautions
    assert report.cautions[0].id == "no-relief"


def test_hidden_ones_with_danger_stay() -> None:
    report = solved("{parts: {bank: {relief: '~'}}, states: {at its stop: '~'}}").report
    assert report is not None
    head, rest = cautions.split(report.cautions, hidden=True)
    assert [c.id for c in head] == ["no-relief"]
    assert rest == ()


def test_on_the_page() -> None:
    """Head below the drawing, the rest at the end with a link to it; nothing is lost."""
    page = render(changed(SHOWN["weakest"]), "bench.md")
    head, rest = cautions.split(tuple(told(SHOWN["weakest"]).values()))
    html = page.html
    assert 'id="bd-cautions"' in html
    for caution in (*head, *rest):
        assert html.count(f"<strong>{escape(caution.lead)}</strong>") == 1
        assert f"<li>{escape(caution.lead)} {escape(caution.source)}</li>" in html
    assert ('href="#bd-more-cautions"' in html) == bool(rest)
    assert rest and html.index(rest[0].lead) > html.index('id="bd-findings"') > html.index(head[0].lead)
    assert {"bd-cautions", "bd-more-cautions"} <= set(page.ids)


def test_on_the_page_hidden() -> None:
    text = changed("{parts: {bank: {relief: '~'}}, states: {at its stop: '~'}, show: {hide: [cautions]}}")
    html = render(text, "bench.md").html
    assert "<strong>A pump that can be blocked without a relief bursts something.</strong>" in html
    assert "<strong>Oil under pressure can pierce skin.</strong>" not in html
    assert "left out here by the writer" in html


def test_danger_is_rare() -> None:
    """It is kept for what will kill: four cautions of all."""
    assert [id for id, entry in cautions.all_cautions().items() if entry.signal == "DANGER"] == [
        "no-relief", "under", "press", "accumulator",
    ]  # fmt: skip
