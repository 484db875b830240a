"""Flow diagrams: everything is there once, in its place, in every state, and nothing that is not known."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from collections import Counter
from itertools import combinations

import pytest
from builddoc.draw import FlowLayout, draw_state, flow_diagram, layout, legend
from builddoc.draw.plain import Rect
from builddoc.quantities import show
from builddoc.solution import Verdict

from . import sample

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def placed() -> FlowLayout:
    made = sample.circuit()
    return layout(made, sample.results(made), units=("metric", "US"), findings=sample.FINDINGS)


def groups(svg: str, attribute: str) -> dict[str, list[ElementTree.Element]]:
    found: dict[str, list[ElementTree.Element]] = {}
    for element in ElementTree.fromstring(svg).iter(f"{SVG}g"):
        if attribute in element.attrib:
            found.setdefault(element.attrib[attribute], []).append(element)
    return found


def texts(element: ElementTree.Element) -> str:
    """All drawn text of an element, rows separated by a bar; tooltips left out."""
    found = element.iter(f"{SVG}text")
    return "|".join("|".join("".join(p.itertext()) for p in text) if len(text) else text.text or "" for text in found)


# ---- whole and well formed
@pytest.mark.parametrize("s", range(4))
def test_every_part_and_line_is_drawn(placed: FlowLayout, s: int) -> None:
    svg = draw_state(placed, s, "p1-b1").svg
    assert set(groups(svg, "data-bd-line")) == set(placed.circuit.lines)
    assert set(groups(svg, "data-bd-part")) == set(placed.circuit.parts)
    once = {name: len(found) for name, found in groups(svg, "data-bd-part").items()}
    assert once.pop("tank") == 3  # the reservoir stands at each of its three line ends
    assert set(once.values()) == {1}


def test_ids_are_prefixed_and_unique_over_the_states(placed: FlowLayout) -> None:
    ids = [i for s in range(4) for i in re.findall(r'\bid="([^"]*)"', draw_state(placed, s, "p1-b1").svg)]
    assert ids and len(ids) == len(set(ids)) and all(i.startswith("p1-b1-") for i in ids)


def test_named_by_title_and_description(placed: FlowLayout) -> None:
    root = ElementTree.fromstring(draw_state(placed, 2).svg)
    by_id = {e.attrib["id"]: "".join(e.itertext()) for e in root.iter() if "id" in e.attrib}
    title, about = (by_id[i] for i in root.attrib["aria-labelledby"].split())
    assert root.attrib["role"] == "img" and title == "bandsaw mill, revision A: lifting" and "16 parts" in about


def test_colours_only_by_class_and_text_only_as_text(placed: FlowLayout) -> None:
    svg = draw_state(placed, 1).svg
    assert not re.search(r"#[0-9a-f]{3,6}|rgb\(|style=|foreignObject|<script|href", svg)
    assert set(re.findall(r'(?:fill|stroke)="([^"]*)"', svg)) == {"none"}


def test_names_are_escaped() -> None:
    parts = {**sample.MILL_PARTS, 'a "<b>" & c': {"kind": "plug"}}
    made = sample.circuit(parts)
    svg = draw_state(layout(made, sample.results(made)), 0, 'x"y').svg
    assert 'a "<b>" & c' in groups(svg, "data-bd-part")


# ---- figures
def test_labels_carry_flow_and_pressure_of_the_state(placed: FlowLayout) -> None:
    """Recomputed here from the made-up numbers, not by the code under test."""
    r = placed.results
    for s in range(3):
        drawn = groups(draw_state(placed, s).svg, "data-bd-line")
        for name in ("return", "clamp close", "link", "feed"):
            q = r.line_flow(name)[s]
            flow = show(abs(q), "flow") if q else "no flow"
            pressure = show(max(p[s] for p in r.line_pressures(name)), "pressure")
            rows = texts(drawn[name][0]).split("|")
            assert flow in rows and pressure in rows, (s, name, rows)


def test_suction_shows_its_lower_pressure(placed: FlowLayout) -> None:
    drawn = groups(draw_state(placed, 1).svg, "data-bd-line")["suction"][0]
    low = min(p[1] for p in placed.results.line_pressures("suction"))
    assert show(low, "pressure") in texts(drawn).split("|")


def test_first_system_of_units_is_drawn() -> None:
    made = sample.circuit()
    svg = draw_state(layout(made, sample.results(made), units=("US", "metric")), 1).svg
    assert "gpm" in svg and " psi" in svg and "L/min" not in svg and " bar" not in svg.replace("151 bar", "")


def test_pressure_that_is_not_fixed_has_no_figure(placed: FlowLayout) -> None:
    drawn = groups(draw_state(placed, 0).svg, "data-bd-line")["gauge line"][0]
    assert "not fixed" in texts(drawn) and " bar" not in texts(drawn)
    title = drawn.find(f"{SVG}title")
    assert title is not None and "anywhere from 0 bar to 151 bar" in (title.text or "")
    assert "not fixed" in texts(groups(draw_state(placed, 0).svg, "data-bd-part")["gauge"][0])


@pytest.mark.parametrize("verdict", [v for v in Verdict if v is not Verdict.SOLVED])
def test_unsolved_state_has_no_figures_and_says_why(verdict: Verdict) -> None:
    made = sample.circuit()
    placed = layout(made, sample.results(made, {2: verdict}), findings=sample.FINDINGS)
    drawing = draw_state(placed, 2)
    root = ElementTree.fromstring(drawing.svg)
    said = " ".join("".join(e.itertext()) for e in root.iter(f"{SVG}text"))
    assert "No figures: " in said
    marks = {e for g in root.iter(f"{SVG}g") if "bd-mark" in g.attrib.get("class", "") for e in g.iter()}
    shown = " ".join("".join(e.itertext()) for e in root.iter(f"{SVG}text") if e not in marks)
    assert not re.search(r"\d", shown), re.findall(r".{12}\d.{12}", shown)
    assert not re.search(r"bd-(on|idle|u\d|over|tip)\b", drawing.svg)
    sentences = " ".join(drawing.words[1:])
    assert "No figures: " in sentences and not re.search(r"\d", sentences)


def test_blocked_line_is_named_in_an_unsolved_state(placed: FlowLayout) -> None:
    drawn = groups(draw_state(placed, 3).svg, "data-bd-line")
    assert "bd-blocked" in drawn["feed"][0].attrib["class"] and "no way out" in texts(drawn["feed"][0])
    assert "bd-blocked" not in drawn["return"][0].attrib["class"]


def test_share_of_rating_by_class_and_figure(placed: FlowLayout) -> None:
    drawn = groups(draw_state(placed, 1).svg, "data-bd-line")
    over = drawn["feed"][0]
    assert "bd-over" in over.attrib["class"] and "7.3× rating" in texts(over)
    title = over.find(f"{SVG}title")
    assert title is not None and "7.3× of 20.7 bar (malleable tee 1/2 in class 150)" in (title.text or "")
    for name, rating in (("return", 150e5), ("clamp close", 275e5), ("link", 275e5)):
        share = max(p[1] for p in placed.results.line_pressures(name)) / rating
        step = "over" if share > 1 else "u" + str(sum(share > b for b in (0.25, 0.5, 0.75, 0.9)))
        assert f"bd-{step}" in drawn[name][0].attrib["class"].split()
    title = drawn["suction"][0].find(f"{SVG}title")
    assert title is not None and "no rating stated" in (title.text or "")
    assert not re.search(r"bd-u\d", drawn["suction"][0].attrib["class"])


def test_orders_and_results_at_the_parts(placed: FlowLayout) -> None:
    idle, stop, lift, apart = (groups(draw_state(placed, s).svg, "data-bd-part") for s in range(4))
    assert "all centred" in texts(idle["bank"][0])
    assert "clamp: A" in texts(stop["bank"][0]) and "lifter: A, 40 %" in texts(lift["bank"][0])
    assert "joined" in texts(stop["clamp coupler"][0]) and "apart" in texts(apart["clamp coupler"][0])
    assert show(300.0, "rotational speed") in texts(lift["engine"][0])
    assert "extends" in texts(lift["left lifter"][0]) and "set 170 bar" in texts(lift["relief"][0])
    assert "clean" not in texts(idle["return filter"][0]) and "shut" not in texts(idle["return filter"][0])


# ---- direction and role
def test_arrow_at_the_end_where_the_oil_goes(placed: FlowLayout) -> None:
    senses = set()
    for s in range(3):
        drawn = groups(draw_state(placed, s).svg, "data-bd-line")
        for path in placed.runs:
            if path.run.number or path.run.line in ("gauge line", "feed") or len(drawn[path.run.line]) > 1:
                continue
            tips = [e for e in drawn[path.run.line][0].iter(f"{SVG}path") if e.attrib.get("class") == "bd-tip"]
            q = placed.results.line_flow(path.run.line)[s]
            sense = 0 if not abs(q) > 0 else (1 if q > 0 else -1)
            senses.add(sense)
            assert len(tips) == abs(sense)
            if sense:
                x, y = (float(v) for v in re.findall(r"[-\d.]+", tips[0].attrib["d"])[:2])
                near, far = (path.pieces[-1][-1], path.pieces[0][0])[::sense]
                assert abs(x - near[0]) + abs(y - near[1]) < 6 < abs(x - far[0]) + abs(y - far[1])
    assert senses == {1, 0, -1}


def test_roles(placed: FlowLayout) -> None:
    roles = placed.picture.roles
    expected = {
        "suction": "suction", "outlet": "pressure", "feed": "pressure", "gauge line": "pressure", "link": "pressure",
        "relief return": "return", "return": "return", "tank return": "return", "clamp close": "work",
        "clamp hose": "work", "raise left": "work", "feed back": "work",
    }  # fmt: skip
    assert {name: roles[name] for name in expected} == expected
    svg = draw_state(placed, 1).svg
    drawn = groups(svg, "data-bd-line")
    assert texts(drawn["suction"][0]).startswith("S") and texts(drawn["return"][0]).startswith("R")


def test_written_duty_wins_and_drain_is_found() -> None:
    from dataclasses import replace

    parts = dict(sample.MILL_PARTS)
    parts["feed motor"] = {**parts["feed motor"], "case drain": "yes"}
    made = sample.circuit(parts, [*sample.MILL_LINES, ("case", "feed motor.drain", "tank.oil", sample.PIPE, ())])
    link = replace(made.lines["link"], duty="pilot")
    made = replace(made, lines={**made.lines, "link": link})
    roles = layout(made, sample.results(made)).picture.roles
    assert roles["case"] == "drain" and roles["link"] == "pilot"


# ---- findings
def test_findings_are_marked_with_their_number_at_the_place(placed: FlowLayout) -> None:
    svg = draw_state(placed, 1).svg
    lines, parts = groups(svg, "data-bd-line"), groups(svg, "data-bd-part")

    def mark(element: ElementTree.Element) -> tuple[str, str]:
        (found,) = (g for g in element.iter(f"{SVG}g") if "bd-mark" in g.attrib.get("class", ""))
        return texts(found), found.attrib["class"]

    assert mark(lines["feed"][0]) == ("1, 4", "bd-mark bd-danger")
    assert mark(parts["second valve"][0])[0] == "2"
    assert mark(parts["left lifter"][0])[0] == mark(parts["right lifter"][0])[0] == "3"
    assert svg.count("bd-mark ") == 4
    one_state = [sample.FINDINGS[0]]
    other = layout(placed.circuit, placed.results, findings=one_state)
    assert "bd-elsewhere" in draw_state(other, 0).svg and "bd-elsewhere" not in draw_state(other, 1).svg


# ---- places
def overlap(a: Rect, b: Rect, slack: float = 1.0) -> bool:
    return a.x + slack < b.x + b.w and b.x + slack < a.x + a.w and a.y + slack < b.y + b.h and b.y + slack < a.y + a.h


def boxes(placed: FlowLayout) -> list[tuple[str, Rect]]:
    found = [(f"part {box.name}", box.rect) for box in placed.parts]
    found += [(f"label {path.run}", path.label.rect) for path in placed.runs if path.label]
    return found + [(f"tank {n}", rect) for n, (_, rect) in enumerate(placed.tanks)]


def point(points: list[tuple[float, float]], t: float) -> tuple[float, float]:
    a, b, c, d = points
    u = 1 - t
    x, y = (u**3 * a[i] + 3 * u * u * t * b[i] + 3 * u * t * t * c[i] + t**3 * d[i] for i in (0, 1))
    return x, y


def test_nothing_overlaps_and_no_line_runs_through_a_box(placed: FlowLayout) -> None:
    found = boxes(placed)
    for (name, a), (other, b) in combinations(found, 2):
        assert not overlap(a, b), (name, other)
    for path in placed.runs:
        for piece in path.pieces:
            for n in range(0, len(piece) - 1, 3):
                for k in range(21):
                    x, y = point(piece[n : n + 4], k / 20)
                    for name, r in found:
                        inside = r.x + 2 < x < r.x + r.w - 2 and r.y + 2 < y < r.y + r.h - 2
                        assert not inside, (path.run, name)


def test_lines_end_at_their_parts_and_inside_the_picture(placed: FlowLayout) -> None:
    rects = {box.name: box.rect for box in placed.parts}
    for path in placed.runs:
        for spot, (x, y) in ((path.run.start, path.pieces[0][0]), (path.run.end, path.pieces[-1][-1])):
            assert 0 < x < placed.width and 0 < y < placed.height
            if spot.key[0] == "part":
                r = rects[spot.key[1]]
                assert r.x < x < r.x + r.w and min(abs(y - r.y), abs(y - r.y - r.h)) < 1.5


def test_energy_below_actuators_above_reservoir_lowest(placed: FlowLayout) -> None:
    top = {box.name: box.rect.y for box in placed.parts}
    assert top["clamp ram"] < top["clamp coupler"] < top["bank"] < top["pump block"] < top["pump"] < top["engine"]
    assert top["feed motor"] < top["second valve"] < top["return filter"]
    assert len({top[n] for n in ("clamp ram", "feed motor", "left lifter", "right lifter")}) == 1
    for (name, rect), key in zip(placed.tanks, placed.picture.tanks, strict=True):
        line = placed.circuit.lines[key[1]]
        other = line.end if line.start.part == name else line.start
        assert rect.y > top[other.part]


def test_places_are_the_same_in_every_state(placed: FlowLayout) -> None:
    def frame(svg: str) -> list[str]:
        return re.findall(r"<rect [^>]*>", re.sub(r'<g class="bd-mark.*?</g>', "", svg))

    frames = [frame(draw_state(placed, s).svg) for s in range(4)]
    assert frames[0] and all(f == frames[0] for f in frames)


def test_text_has_room_in_every_state(placed: FlowLayout) -> None:
    from builddoc.draw.text import width

    for box in placed.parts:
        for rows in placed.figures.parts[box.name]:
            assert all(width(t, 12) <= box.rect.w for t in rows) and len(rows) <= box.rows


# ---- stable
def test_same_circuit_same_drawing() -> None:
    def draw() -> list[str]:
        made = sample.circuit()
        placed = layout(made, sample.results(made), findings=sample.FINDINGS)
        return [draw_state(placed, s).svg for s in range(4)]

    assert draw() == draw()


@pytest.mark.parametrize("shuffle", range(1, 7))
def test_order_of_writing_does_not_matter(shuffle: int) -> None:
    def draw(seed: int) -> tuple[list[str], list[str]]:
        made = sample.circuit(shuffle=seed)
        drawing = flow_diagram(made, sample.results(made), 1, units="metric")
        return re.split("(?=<g )", drawing.svg), drawing.words

    svg, words = draw(shuffle)
    expected_svg, expected_words = draw(0)
    assert svg == expected_svg and words == expected_words


def test_one_call_of_the_engine_for_all_states(monkeypatch: pytest.MonkeyPatch) -> None:
    from builddoc.draw import engine

    calls = []
    real = engine.run

    def counted(source: str, **keys: object) -> str:
        calls.append(source)
        return real(source, **keys)  # type: ignore[arg-type]

    monkeypatch.setattr(engine, "run", counted)
    made = sample.circuit()
    placed = layout(made, sample.results(made))
    for s in range(4):
        draw_state(placed, s)
    assert len(calls) == 1


def test_drawings_are_small(placed: FlowLayout) -> None:
    assert max(len(draw_state(placed, s).svg.encode()) for s in range(4)) < 25_000


# ---- odd circuits
def test_parts_without_lines_and_empty_circuits() -> None:
    made = sample.circuit({"engine": sample.MILL_PARTS["engine"], "tank": sample.MILL_PARTS["tank"]}, [])
    svg = draw_state(layout(made, sample.results(made, {})), 0).svg
    assert set(groups(svg, "data-bd-part")) == {"engine", "tank"}
    empty = sample.circuit({}, [])
    assert groups(draw_state(layout(empty, sample.results(empty, {})), 0).svg, "data-bd-part") == {}


def test_motors_in_series_and_two_taps_on_a_line() -> None:
    parts = dict(sample.MILL_PARTS)
    parts["second motor"] = {"kind": "hydraulic motor", "displacement": "80 cc/rev"}
    parts["far gauge"] = {"kind": "gauge point"}
    lines = [line for line in sample.MILL_LINES if line[0] != "feed back"]
    lines += [
        ("between", "feed motor.B", "second motor.A", sample.HOSE, ()),
        ("feed back", "second valve.feed.B", "second motor.B", sample.HOSE, ()),
        ("far gauge line", "feed at 0.8", "far gauge.port", sample.HOSE, ()),
    ]
    made = sample.circuit(parts, lines)
    placed = layout(made, sample.results(made))
    svg = draw_state(placed, 1).svg
    assert set(groups(svg, "data-bd-line")) == set(made.lines)
    assert svg.count('class="bd-tap"') == 2 and len([p for p in placed.runs if p.run.line == "feed"]) == 3
    top = {box.name: box.rect.y for box in placed.parts}
    assert top["second motor"] == top["feed motor"]
    for (name, a), (other, b) in combinations(boxes(placed), 2):
        assert not overlap(a, b), (name, other)


def test_wide_stack_gets_its_labels_in_two_rows() -> None:
    names = ["lifter", "clamp", "head", "turner", "feed", "winch"]
    parts: dict[str, dict[str, object]] = {n: sample.MILL_PARTS[n] for n in ("tank", "engine", "pump")}
    parts["bank"] = {"kind": "directional valve", "centre": "open", "spools": names}
    lines = [
        ("suction", "tank.oil", "pump.inlet", sample.SUCTION, ()),
        ("feed line", "pump.outlet", "bank.P", sample.HOSE, ()),
        ("return", "bank.T", "tank.oil", sample.PIPE, ()),
    ]
    for name in names:
        parts[f"{name} ram"] = sample.MILL_PARTS["clamp ram"]
        lines.append((f"{name} out", f"bank.{name}.A", f"{name} ram.cap", sample.HOSE, ()))
        lines.append((f"{name} in", f"bank.{name}.B", f"{name} ram.rod", sample.HOSE, ()))
    made = sample.circuit(parts, lines)
    placed = layout(made, sample.results(made, {}))
    for (name, a), (other, b) in combinations(boxes(placed), 2):
        assert not overlap(a, b), (name, other)
    height = {path.run.line: path.label.rect.y for path in placed.runs if path.label}
    assert all(height[f"{n} in"] < height[f"{n} out"] for n in names)
    assert placed.width < 1000
    drawn = texts(groups(draw_state(placed, 0).svg, "data-bd-part")["bank"][0])
    assert [drawn.index(f"|{name}|") for name in names] == sorted(drawn.index(f"|{name}|") for name in names)


def test_line_from_tank_to_tank_is_drawn() -> None:
    made = sample.circuit(sample.MILL_PARTS, [*sample.MILL_LINES, ("odd", "tank.oil", "tank.oil", sample.HOSE, ())])
    assert "odd" in groups(draw_state(layout(made, sample.results(made)), 0).svg, "data-bd-line")


# ---- words and key
def test_words_say_every_line_and_direction(placed: FlowLayout) -> None:
    words = draw_state(placed, 1).words
    for name in placed.circuit.lines:
        assert sum(f"‘{name}’" in sentence for sentence in words) >= 1, name
    assert "engine drives pump." in words
    assert "pump outlet directly feeds pump block (‘outlet’)." in words
    feed = next(sentence for sentence in words if "‘feed’," in sentence)
    q = placed.results.line_flow("feed")[1]
    if q > 0:
        assert feed.startswith(f"pump block feeds bank port P through ‘feed’, {show(q, 'flow')} at 151 bar")
    else:
        assert "151 bar" in feed and ("bank port P feeds pump block" in feed or "no flow" in feed)


def test_key_names_what_occurs(placed: FlowLayout) -> None:
    text = legend(placed)
    ElementTree.fromstring(text)
    for word in ("suction line", "return line", "working line", "no flow", "over the rating", "finding", "shaft"):
        assert word in text
    assert "pilot" not in text and "drain" not in text


def test_counts_in_svg(placed: FlowLayout) -> None:
    """Labels: one per line that is not a direct joint, and more only where taps change the flow."""
    svg = draw_state(placed, 1).svg
    letters = Counter(re.findall(r'<tspan class="bd-role">(.)</tspan>', svg))
    assert sum(letters.values()) == len(placed.circuit.lines) - 2 and letters["S"] == 1
