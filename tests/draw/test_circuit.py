"""The circuit drawing: what must never happen, on random circuits; and what a state changes in it."""

from __future__ import annotations

import re
from collections import Counter
from xml.etree import ElementTree

import pytest
from builddoc import kinds
from builddoc.checks.base import Finding
from builddoc.draw import Sheet, circuit_layout, circuit_legend, draw_circuit
from builddoc.draw.contact import style
from builddoc.draw.specs import settings
from builddoc.kinds.base import SpoolOrder
from builddoc.kinds.bench import bench
from builddoc.pipeline import solve_text

from ..kinds.bench import part
from . import measure, random_circuits, sample


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    made = sample.circuit()
    return circuit_layout(made, sample.results(made), findings=sample.FINDINGS)


def _over_budget(sheet: Sheet) -> Counter[str]:
    nets = len(sheet.made.nets) + len(sheet.stubs)
    return Counter(
        crossings=int(measure.crossings(sheet) > 0.15 * nets + 1), bends=int(measure.bends(sheet) > 2 * nets)
    )


@pytest.mark.slow
def test_no_faults_on_many_random_circuits() -> None:
    over: Counter[str] = Counter()
    for seed in range(500):
        made = random_circuits.circuit(seed)
        sheet = circuit_layout(made, sample.results(made, {}))
        assert not measure.faults(sheet), seed
        over += _over_budget(sheet)
    # A random circuit may be tangled by nature: two cylinders side by side that share both their lines cross once
    # already, and a small circuit may be little else. Six cross more lines than the budget allows, by two at most, in
    # whatever order they are drawn; none bends more often. What is let pass is more, for another release of Graphviz
    # orders otherwise.
    assert over["crossings"] <= 10 and over["bends"] <= 2, over


def test_no_faults_and_within_budget_on_the_sample(sheet: Sheet) -> None:
    assert not measure.faults(sheet) and not +_over_budget(sheet)


def test_measures_see_faults(sheet: Sheet) -> None:
    """The measures themselves: a block moved onto another, a line moved off its port."""
    made = sample.circuit()
    broken = circuit_layout(made, sample.results(made))
    first, second = broken.made.blocks[0], broken.made.blocks[1]
    second.x, second.y = first.x, first.y
    name = next(iter(broken.routed.edges))
    broken.routed.edges[name] = broken.routed.edges[name][1:]
    broken.packs.append((-100.0, -100.0, 1000.0, 1000.0))  # round everything
    found = measure.faults(broken)
    assert found["symbols overlap"] and found["port not reached"] and found["foreign part in an enclosure"]


@pytest.mark.parametrize("shuffle", [1, 2, 3])
def test_order_of_writing_does_not_change_the_drawing(sheet: Sheet, shuffle: int) -> None:
    made = sample.circuit(shuffle=shuffle)
    other = circuit_layout(made, sample.results(made), findings=sample.FINDINGS)
    assert draw_circuit(other, 1).svg == draw_circuit(sheet, 1).svg


def test_every_part_and_line_can_be_found_in_every_state(sheet: Sheet) -> None:
    for s in range(4):
        svg = draw_circuit(sheet, s, "x").svg
        root = ElementTree.fromstring(svg)
        parts = {e.get("data-bd-part") for e in root.iter()} - {None}
        lines = {e.get("data-bd-line") for e in root.iter()} - {None}
        assert parts == set(sheet.circuit.parts)
        assert set(sheet.circuit.lines) - lines <= {"outlet"}  # two tees touch: one dot
        assert f'id="x-{s}-t"' in svg


def test_state_shades_positions_and_opens_couplers() -> None:
    made = sample.circuit()
    sheet = circuit_layout(made, sample.results(made, {}))
    idle, shifted, apart = (sheet.facts[p][s] for p, s in (("bank", 0), ("bank", 1), ("clamp coupler", 3)))
    assert not any(f.startswith("at ") for f in idle)
    assert "at clamp A" in shifted and "apart" in apart
    assert made.states["lifting"].orders["bank", "lifter"] == SpoolOrder("A", 0.4)
    assert [draw_circuit(sheet, s).svg.count('class="bd-s"') for s in (0, 1)] == [0, 1]


def test_no_figures_where_a_state_failed(sheet: Sheet) -> None:
    svg = draw_circuit(sheet, 3).svg
    assert "No figures" in svg and "bd-failed" in svg
    assert not re.search(r"\d L/min", re.sub(r"<title>.*?</title>", "", svg)) and "bd-tip" not in svg


def test_arrows_follow_the_flow(sheet: Sheet) -> None:
    """Terminals take what the network says: sense +1 of the last run enters the part at the line's end."""
    for net in sheet.made.nets:
        for key, row in sheet.traces[net.name].entries.items():
            for piece in net.pieces:
                if piece.b == key and key[0] == "port":
                    assert row[1] in (sheet.figures.lines[piece.line].sense[1][piece.number], 2)


def test_legend_names_roles_positions_and_findings(sheet: Sheet) -> None:
    key = circuit_legend(sheet)
    assert "suction line" in key and "position of the valve" in key and "finding with that number" in key


def test_two_drawings_are_the_same_text(sheet: Sheet) -> None:
    made = sample.circuit()
    again = circuit_layout(made, sample.results(made), findings=sample.FINDINGS)
    assert [draw_circuit(again, s).svg for s in range(4)] == [draw_circuit(sheet, s).svg for s in range(4)]


def test_a_port_without_a_line_is_drawn_shut(sheet: Sheet) -> None:
    """The sample's inlet block is a tee (a dot); a spool nobody plumbed gets a cross at both work ports."""
    valve = {"kind": "directional valve", "centre": "open", "spools": ["feed", "x"]}
    parts = {**sample.MILL_PARTS, "second valve": valve}
    made = sample.circuit(parts)
    other = circuit_layout(made, sample.results(made, {}))
    assert set(other.made.loose) - set(sheet.made.loose) == {
        ("port", "second valve", "x.A"), ("port", "second valve", "x.B")
    }  # fmt: skip
    assert not measure.faults(other)


def test_words_at_the_left_of_a_line_end_at_it(sheet: Sheet) -> None:
    """Room is kept for the longest state; a short one must not stand nearer to another line than to its own."""
    ends = [label for label in sheet.labels.values() if label.put.end]
    assert ends
    svg = draw_circuit(sheet, 0).svg
    for label in ends:
        assert label.put.box is not None
        found = re.search(rf'data-bd-line="{label.name}" x="([\d.-]+)" y="[\d.-]+" text-anchor="end"', svg)
        assert found and float(found[1]) == pytest.approx(label.put.box[2] * 10 - 1, abs=0.06)


def test_numbers_of_findings_lie_on_nothing() -> None:
    """One at every joint, line and part of a circuit: each is drawn, none on another one or on words."""
    made = random_circuits.circuit(12)
    every = [Finding("a", "finding", "WARNING", name, "h") for name in (*made.parts, *made.lines)]
    sheet = circuit_layout(made, sample.results(made, {}), findings=every)
    faults = measure.faults(sheet)
    assert not faults["words overlap"] and not faults["words on a symbol"], faults
    tees = {name for trace in sheet.traces.values() for name in trace.tees}
    assert len(tees) > 3 and tees <= set(sheet.badges)
    assert all(f'data-bd-at="{name}"' in draw_circuit(sheet, 0).svg for name in tees)


@pytest.mark.parametrize(
    ("written", "rows"),
    [
        ("{kind: counterbalance valve, setting: 65 bar, pilot ratio: 3:1}", ["set 65 bar", "pilot 3:1"]),
        ("{kind: pressure reducing valve, setting: 60 bar}", ["set 60 bar"]),
        ("{kind: flow divider, sections: [8 cc/rev, 4 cc/rev]}", ["8 + 4 cc/rev"]),
        ("{kind: priority divider, set flow: 8 L/min}", ["set 8 L/min"]),
        ("{kind: velocity fuse, trip flow: 12 L/min}", ["trips at 12 L/min"]),
        ("{kind: two-stage pump, large stage: 8 cc/rev, small stage: 2.1 cc/rev, unloads at: 50 bar, speed: 1450 rpm}",
         ["8 + 2.1 cc/rev"]),
        ("{kind: accumulator, volume: 1 L, precharge: 60 bar, gas temperature: 20 °C}", ["gas 60 bar"]),
        ("{kind: tee}", []),
    ],
)  # fmt: skip
def test_what_a_part_is_set_for_stands_beside_it(written: str, rows: list[str]) -> None:
    assert settings(part("it", written).params, "metric") == rows


def test_a_relief_tells_its_setting_once() -> None:
    solved = solve_text(bench(kinds.registry()["relief valve"]))
    drawn = draw_circuit(circuit_layout(solved.circuit, solved.case.results, units=("metric",)), 0, "x").svg
    texts = [text for text in re.findall(r"<t(?:ext|span)[^>]*>([^<]*)<", drawn) if "set 150 bar" in text]
    assert texts == ["set 150 bar"]


def test_only_enclosures_are_chain_lines() -> None:
    """Dash and dot goes round what is one body; pilots and drains are dashed."""
    found = dict(re.findall(r"\.bd-(\w+)(?: > path)? \{[^}]*stroke-dasharray: ([\d. ]+);", style()))
    assert len(found["e"].split()) == 4
    assert all(len(found[role].split()) == 2 for role in ("suction", "return", "drain", "pilot", "x"))
