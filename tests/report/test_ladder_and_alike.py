"""The ladder of pressures and the table of lines that look alike."""

from __future__ import annotations

from typing import get_args

from builddoc import report
from builddoc.circuit import Conduit, Wall
from builddoc.language.model import Section
from builddoc.report.alike import alike_table
from builddoc.report.ladder import ladder_table
from builddoc.report.model import Table

from ..checks.machines import BAR, elbow, hose, mill


def rungs(table: Table | None) -> list[tuple[str, str, float, str]]:
    assert table is not None
    return [
        (r[0].text, r[1].text, round((r[2].value or 0.0) / BAR, 1), ": ".join(w for w in (r[3].text, r[3].note) if w))
        for r in table.rows
    ]


def test_rungs_stand_in_the_order_of_pressure() -> None:
    found = rungs(ladder_table(mill().case()))
    assert [p for _, _, p, _ in found] == sorted(p for _, _, p, _ in found)
    assert [sort for _, sort, _, _ in found] == ["working need", "setting", "weakest rating"]
    # set to 150 bar; the pump's 210 bar are the weakest that is rated before the valve
    assert found[1][:3] == ("the relief in bank", "setting", 150.0)
    assert found[2][2] == 210.0
    assert {order for *_, order in found} == {"in order"}


def test_a_setting_above_the_weakest_rating_is_out_of_order() -> None:
    machine = mill()
    machine.lines["feed"]["fittings"] = [elbow(120.0)]
    found = rungs(ladder_table(machine.case()))
    assert ("feed: elbow", "weakest rating", 120.0, "out of order: below the setting of the relief in bank") in found
    assert [order for _, sort, _, order in found if sort == "setting"] == ["out of order: above what feed: elbow bears"]


def test_no_ladder_without_a_relief() -> None:
    machine = mill()
    del machine.parts["bank"]["relief"]
    assert ladder_table(machine.case()) is None


def test_lines_of_one_conduit_and_two_duties_are_named() -> None:
    machine = mill()
    for n, name in enumerate(machine.lines):
        machine.lines[name]["conduit"] = hose((12 + n) * 1e-3)
    assert alike_table(machine.case()) is None
    machine.lines["return"]["conduit"] = machine.lines["feed"]["conduit"]
    table = alike_table(machine.case())
    assert table is not None and len(table.rows) == 1
    row = table.rows[0]
    assert (row[1].text, row[3].text) == ("feed", "return (return)")
    assert (row[2].value or 0.0) > 150 * BAR > 20 * BAR > (row[4].value or 0.0)


def test_one_size_looks_alike_whatever_is_inside() -> None:
    """One wire or two under the cover, 1.5 or 2 mm of wall: the size is what one sees; a tube is no hose."""
    machine = mill()
    for n, name in enumerate(machine.lines):
        machine.lines[name]["conduit"] = hose((12 + n) * 1e-3)
    for name, kind, label, wall in (
        ("feed", "tube", "tube, 12 x 2 mm", Wall(12e-3, 2e-3, 86e6)),
        ("return", "tube", "tube, 12 x 1.5 mm", Wall(12e-3, 1.5e-3, 86e6)),
    ):
        machine.lines[name]["conduit"] = Conduit(kind, label, wall.outside - 2 * wall.nominal, 0.0, wall=wall)
    table = alike_table(machine.case())
    assert table is not None and len(table.rows) == 1
    assert table.rows[0][0].text == "tube, 12 x 2 mm and tube, 12 x 1.5 mm"
    machine.lines["return"]["conduit"] = Conduit("hose", "hose", 8e-3, 0.0)  # the bore of the tube: still no tube
    assert alike_table(machine.case()) is None


def test_both_are_in_the_report_and_can_be_hidden() -> None:
    machine = mill()
    machine.lines["return"]["conduit"] = machine.lines["feed"]["conduit"]
    case = machine.case()
    keys = [t.key for t in report.build(case, []).tables]
    assert "ladder" in keys and "look-alikes" in keys
    assert {"ladder", "look-alikes"} <= set(get_args(Section))
