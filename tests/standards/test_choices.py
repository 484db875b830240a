"""The writer chooses among published tables that disagree."""

from __future__ import annotations

import pytest
from builddoc import language, standards
from builddoc.standards.choices import choose, disputed, options, said
from builddoc.standards.pages import standards_pages

BAR, PSI, INCH, FOOT, INCH_HG = 1e5, 6894.757293168, 0.0254, 0.3048, 3386.389

MACHINE = """
machine: choice bench
revision: A
date: 2026-01-01
{tables}
parts:
  tank: {{kind: reservoir, volume: 30 L}}
  pump: {{kind: pump, displacement: 10 cc/rev, speed: 1800 rpm}}
lines:
  suction: {{route: tank > pump.inlet, bore: 25 mm, length: 0.5 m}}
  feed: {{route: pump.outlet > tank, hose: four-spiral, size: -8, length: 1 m,
    fittings: [elbow 90, steel flange code 62 1 in, forged steel elbow 1/2 in class 3000]}}
"""


def _line(tables: str = ""):  # type: ignore[no-untyped-def]
    reading = language.read(MACHINE.format(tables=tables))
    assert reading.circuit is not None, reading.messages
    return reading.circuit, reading.circuit.lines["feed"]


# What each of the disagreeing tables prints, as told in the text of the disagreement itself (all seen in print as it
# says): nothing here is worked out by the look-up.
@pytest.mark.parametrize(
    ("name", "option", "look_up", "used", "chosen"),
    [
        ("two-wire hose", "second file", lambda c: standards.hose("2SN", 6, choices=c).bend_radius, 0.125, 0.130),
        ("one-wire compact hose", "second file", lambda c: standards.hose("1SC", 8, choices=c).bend_radius, 0.09, 0.1),
        ("two-wire compact hose", "second file", lambda c: standards.hose("2SC", 16, choices=c).bend_radius, 0.15, .26),
        ("four-spiral hose", "catalogue", lambda c: standards.hose("4SP", 16, choices=c).rating, 280 * BAR, 320 * BAR),
        ("four-spiral heavy hose", "catalogue", lambda c: standards.hose("4SH", 20, choices=c).rating, 325e5, 35e6),
        ("textile hose", "article", lambda c: standards.hose("R6", 4, choices=c).rating, 28e5, 15.5e5),
        ("PTFE hose", "second page", lambda c: standards.hose("R14", 4, choices=c).rating, 175e5, 103e5),
        ("suction hose", "shop list", lambda c: standards.hose("R4", 16, choices=c).rating, 17.2e5, 28e5),
        ("flange code 61", "supplier pages", lambda c: standards.flange_rating(61, "1", c).rating, 345e5, 207e5),
        ("flange code 62", "ISO", lambda c: standards.flange_rating(62, "1", c).rating, 414e5, 420e5),
        ("face seals", "article", lambda c: standards.connector_rating("face seal", "-8", c).rating, 413e5, 630e5),
        ("forged steel fittings", "fourth page", lambda c: standards.fitting_rating(
            "forged steel", "tee", "1/2", 3000, choices=c).rating, standards.pipe_rating("1/2", "160").rating, 210e5),
        ("forged steel fittings", "third page", lambda c: standards.fitting_rating(
            "forged steel", "tee", "1/2", 3000, choices=c).rating, standards.pipe_rating("1/2", "160").rating,
            1515 * PSI),  # threaded schedule 40
        ("stainless tube", "first", lambda c: standards.tube(0.25 * INCH, 0.035 * INCH, "stainless", c).rating,
            5100 * PSI, 5200 * PSI),
        ("stainless tube", "second", lambda c: standards.tube(0.25 * INCH, 0.035 * INCH, "stainless", c).rating,
            5100 * PSI, 5100 * PSI),
        ("velocity", "data sheet", lambda c: standards.velocity_guide("pressure", 1500 * PSI, c).high,
            20 * FOOT, 15 * FOOT),
        ("velocity", "data sheet", lambda c: standards.velocity_guide("pressure", 4000 * PSI, c).high,
            25 * FOOT, 30 * FOOT),
        ("pump inlet", "exam question", lambda c: standards.pump_inlet(c).caution, -5 * INCH_HG, -10 * INCH_HG),
        ("loss coefficients", "lowest", lambda c: standards.loss("elbow 90", c).K, 0.9, 0.25),
        ("loss coefficients", "highest", lambda c: standards.loss("elbow 90", c).K, 0.9, 1.5),
    ],
)  # fmt: skip
def test_each_table_can_be_chosen(name, option, look_up, used, chosen) -> None:  # type: ignore[no-untyped-def]
    key, picked = choose(name, option)
    assert look_up({}) == pytest.approx(used) == look_up({key: disputed()[key].used})
    assert look_up({key: picked}) == pytest.approx(chosen)


def test_no_choice_is_left_untried() -> None:
    """Every option of every disagreement stands in the test above."""
    tried = {
        (mark.args[1][i][0], mark.args[1][i][1])
        for mark in test_each_table_can_be_chosen.pytestmark  # type: ignore[attr-defined]
        for i in range(len(mark.args[1]))
    }
    assert tried == {(key, o.name) for key, entry in disputed().items() for o in entry.others}


def test_only_what_differs_changes() -> None:
    choice = {"four-spiral hose": "catalogue"}
    same, more = standards.hose("4SP", 10, choices=choice), standards.hose("4SP", 8, choices=choice)
    assert (same.rating, same.burst, same.status) == (350e5, 1400e5, "from memory")
    # the burst that is known belongs to the lower rating
    assert (more.rating, more.burst, more.status) == (420e5, None, "seen")
    assert "catalogue" in more.title and "chose 'catalogue' instead" in more.conflict
    assert standards.hose("4SH", 10, choices={"four-spiral heavy hose": "catalogue"}).rating == 450e5
    with pytest.raises(standards.NotListed):
        standards.hose("4SH", 10)
    small = {"flange code 61": "supplier pages"}  # one figure for all sizes is no licence for the large ones
    assert standards.flange_rating(61, "3", small).rating == pytest.approx(138e5)
    assert standards.fitting_rating("forged steel", "tee", "1/2", 1000, choices={"forged steel fittings": "third page"})
    # the second guide is one for pressure lines only
    assert standards.velocity_guide("return", None, {"velocity": "data sheet"}) == standards.velocity_guide("return")


def test_a_circuit_chooses_and_says_so() -> None:
    before, plain = _line()
    circuit, line = _line("tables: {Four-Spiral hose: Catalogue, flange code 62: ISO, loss coefficients: highest, "
                          "forged steel fittings: fourth page}")  # fmt: skip
    assert not before.tables and not any("disagree" in text for text in before.assumed)
    assert circuit.tables["four-spiral hose"] == "catalogue"
    assert (plain.conduit.rating.value, line.conduit.rating.value) == (415e5, 420e5)
    assert [f.rating.value for f in line.fittings[1:]] == [420e5, 210e5]
    assert plain.fittings[1].rating.value == pytest.approx(414e5)
    assert (plain.fittings[0].loss, line.fittings[0].loss) == (0.9, 1.5)
    for key, option in circuit.tables.items():
        assert any(f"disagree on {key}; the writer chose '{option}'" in text for text in circuit.assumed)


@pytest.mark.parametrize(
    ("tables", "text", "hint"),
    [
        ("tables: catalogue", "expected a group", "as {four-spiral hose: catalogue}"),
        ("tables: {four spirals: catalogue}", "'four spirals'", "four-spiral hose"),
        ("tables: {four-spiral hose: shop}", "there is no 'shop'", "standard, catalogue"),
        ("tables: {four-spiral hose: [a]}", "expected the name of one table", "standard, catalogue"),
    ],
)
def test_a_choice_that_is_none(tables: str, text: str, hint: str) -> None:
    reading = language.read(MACHINE.format(tables=tables))
    found = [m for m in reading.messages if m.level == "error"]
    assert reading.circuit is None and text in found[0].text and hint in found[0].hint
    assert found[0].place.line == 5


def test_the_pages_name_every_choice() -> None:
    pages = "\n".join(standards_pages().values())
    for key, entry in disputed().items():
        assert entry.conflict, key
        assert f"`tables: {{{key}: …}}`" in pages and all(f"- `{option}`" in pages for option in options(entry))
        assert all(said({key: option})[0].count(f"'{option}'") >= 1 for option in options(entry))
    assert "8: pressure 420, not 415" in pages
