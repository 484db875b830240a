"""Circuits that are right: what becomes of each key."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from builddoc import kinds
from builddoc.circuit import Circuit, End
from builddoc.kinds.base import SpoolOrder
from builddoc.language import read
from builddoc.language.oil import typical_at_100

from .machines import MILL, SPLITTER


def circuit(text: str, path: str = "") -> Circuit:
    reading = read(text, path)
    assert reading.circuit is not None, "\n".join(map(str, reading.messages))
    return reading.circuit


@pytest.fixture(scope="module")
def mill() -> Circuit:
    return circuit(MILL, "mill.md")


def test_head(mill: Circuit) -> None:
    assert (mill.machine, mill.revision, mill.date) == ("bandsaw mill", "B", "2025-05-18")
    assert mill.title == "The lifter and the clamp"
    assert mill.units == ("metric", "US")
    assert mill.ambient == pytest.approx(293.15)
    assert (mill.show.state, mill.show.hide) == ("lifting", ("proof", "downloads"))
    assert mill.text == MILL
    assert mill.source == "mill.md"


def test_oil(mill: Circuit) -> None:
    assert mill.oil.nu40 == pytest.approx(46e-6)
    assert mill.oil.nu100 == pytest.approx(
        6.8e-6, rel=0.02
    )  # data sheets of VG 46, index about 100: 6.7 to 6.9, memory
    assert mill.oil.temperature == pytest.approx(318.15)
    assert mill.oil.coldest == pytest.approx(263.15)
    assert any("100 °C" in sentence for sentence in mill.assumed)


def test_parts(mill: Circuit) -> None:
    pump = mill.parts["pump"]
    assert pump.kind == "pump"
    assert pump.params.displacement == pytest.approx(10e-6 / (2 * math.pi))  # type: ignore[attr-defined]
    assert pump.params.mechanical_efficiency == pytest.approx(0.88)  # type: ignore[attr-defined]
    assert any("mechanical efficiency 88 %" in s and "defaults" in s for s in mill.assumed)
    assert pump.places["displacement"].line == 14
    bank = mill.parts["bank"].params
    assert bank.rating is not None
    assert (bank.rating.value, bank.rating.kind, bank.rating.basis) == (210e5, "working", "plate")
    left, right = mill.parts["left lifter"].params, mill.parts["right lifter"].params
    assert (left.bore, right.bore) == (0.063, 0.063)  # type: ignore[attr-defined]
    assert (left.stroke, right.stroke) == (0.6, 0.58)  # type: ignore[attr-defined]
    assert left.rating is not None
    assert left.rating.value is None
    assert mill.parts["clamp ram"].params.bore == pytest.approx(0.0381)  # type: ignore[attr-defined]


def test_lines(mill: Circuit) -> None:
    feed = mill.lines["feed"]
    assert (feed.start, feed.end) == (End("pump", "outlet"), End("bank", "P"))  # the only port that is left
    assert feed.conduit is not None
    assert feed.conduit.bore == pytest.approx(0.0127, rel=0.01)
    assert feed.conduit.rating is not None
    assert feed.conduit.rating.value == pytest.approx(215e5)  # from the defaults
    assert [f.count for f in feed.fittings] == [1, 2]
    assert feed.fittings[0].low_pressure
    assert feed.fittings[1].rating is not None
    assert mill.lines["suction"].end == End("pump", "inlet")  # by its alias
    assert mill.lines["pressure"].start == End(line="feed", at=0.4)
    assert mill.lines["pressure"].end.part == "gauge"
    assert mill.lines["lower right"].conduit is None
    assert mill.lines["lower right"].length == 0.0
    own = mill.lines["raise left"].conduit
    assert own is not None
    assert own.rating is not None
    assert own.rating.value == pytest.approx(330e5)
    assert mill.lines["return"].duty == "return"
    assert mill.lines["return"].details == {"hose date": "2019-05"}
    rough = mill.lines["squeeze"].conduit
    assert rough is not None
    assert rough.roughness == pytest.approx(2e-6)
    tube = mill.lines["raise"].conduit
    assert tube is not None
    assert tube.bore == pytest.approx(0.009)
    ends = [end for line in mill.lines.values() for end in (line.start, line.end) if end.part == "up"]
    assert len({end.port for end in ends}) == 3  # each line at a tee has a port of its own


def test_plugged_and_ties(mill: Circuit) -> None:
    assert mill.plugged == (End("bank", "clamp.B"), End("clamp ram", "rod"))
    assert mill.ties["lifter pair"].parts == ("left lifter", "right lifter")


def test_states(mill: Circuit) -> None:
    assert list(mill.states) == ["idling", "lifting", "clamped", "floating"]
    assert mill.states["idling"].orders == {}
    assert mill.states["lifting"].orders == {
        ("bank", "lifter"): SpoolOrder("A", 0.4),
        ("lifter pair", "load"): -26500.0,
    }
    clamped = mill.states["clamped"]
    assert clamped.orders["clamp ram", "stop"] == "extended"
    assert clamped.orders["engine", "speed"] == pytest.approx(100 * math.pi)
    assert clamped.oil_temperature == pytest.approx(263.15)
    floating = mill.states["floating"]
    assert floating.fault
    assert floating.orders == {("bank", "lifter"): SpoolOrder("float"), ("clamp ram", "stop"): "held"}


def test_without_states_there_is_one() -> None:
    assert list(circuit(SPLITTER).states) == ["as plumbed"]


def test_without_oil_everything_is_an_assumption() -> None:
    found = circuit(SPLITTER)
    assert found.oil.grade == "ISO VG 46"
    said = " ".join(found.assumed)
    for word in ("names no grade", "45 °C", "870 kg/m³", "kJ/(kg·K)", "82 °C", "20 °C"):
        assert word in said


def test_what_the_writer_gives_is_no_assumption() -> None:
    oil = (
        "oil: {grade: mine, temperature: 50 °C, viscosity at 40: 40 cSt, viscosity at 100: 7 cSt,\n"
        "      density: 0.86 g/cm3, specific heat: 2 kJ/kgK, limit: 80 °C}\nambient: 15 °C\n"
    )
    found = circuit(SPLITTER + oil)
    assert found.assumed == ()
    assert (found.oil.nu40, found.oil.nu100) == (pytest.approx(40e-6), pytest.approx(7e-6))


@pytest.mark.parametrize(
    "text", ["oil: ISO VG 32", "oil: {grade: VG 32}", "oil: {grade: HLP 32}", "oil: {grade: iso vg32}"]
)
def test_grades(text: str) -> None:
    assert circuit(f"{SPLITTER}{text}\n").oil.nu40 == pytest.approx(32e-6)


def test_typical_viscosity_at_100() -> None:
    """ASTM D2270, viscosity index 100. Typical data sheets, from memory: VG 32 5.4, VG 68 8.7 cSt."""
    assert typical_at_100(32e-6) == pytest.approx(5.4e-6, rel=0.02)
    assert typical_at_100(68e-6) == pytest.approx(8.7e-6, rel=0.02)
    between = typical_at_100(56e-6)
    assert between is not None
    assert 6.8e-6 < between < 8.7e-6
    assert typical_at_100(5e-6) is None


@pytest.mark.parametrize(
    "change",
    [
        ("bore: 12 mm, length: 1 m}\n  back", "bore: 1/2 in, length: 0 m, fittings: [elbow 90]}\n  back"),
        ("kind: reservoir", "kind: tank"),  # another word for it
        ("tank > pump.inlet", "tank.suction > pump.inlet"),
        ("pump.outlet > relief.inlet", "pump.outlet >relief.inlet"),
        ("150 bar", "'150 bar'"),
        ("machine: log splitter", "machine: 42"),
        ("machine: log splitter", "# a remark\n---\nmachine: log splitter"),
    ],
)
def test_other_ways_to_write(change: tuple[str, str]) -> None:
    assert change[0] in SPLITTER
    circuit(SPLITTER.replace(*change))


def test_spool_of_the_same_name_in_two_valves_takes_its_full_name() -> None:
    text = (
        "machine: two banks\nparts:\n  tank: {kind: reservoir}\n"
        "  pump: {kind: pump, displacement: 10 cc/rev, speed: 1500 rpm}\n"
        "  a: {kind: directional valve, centre: open, spools: [up]}\n"
        "  b: {kind: directional valve, centre: open, spools: [up]}\n"
        "lines:\n"
        + "".join(
            f"  l{n}: {{route: {route}, bore: 12 mm, length: 1 m}}\n"
            for n, route in enumerate(["tank > pump.inlet", "pump.outlet > a.P", "a.T > b.P", "b.T > tank"])
        )
        + "plugged: [a.up.A, a.up.B, b.up.A, b.up.B]\nstates: {lift: {a.up: A, b.up: B}}\n"
    )
    assert circuit(text).states["lift"].orders == {("a", "up"): SpoolOrder("A"), ("b", "up"): SpoolOrder("B")}


def test_a_file_beside_the_page(tmp_path: Path) -> None:
    (tmp_path / "circuits").mkdir()
    (tmp_path / "circuits" / "mill.yml").write_text(MILL, encoding="utf-8")
    page = str(tmp_path / "page.md")
    found = circuit("file: circuits/mill.yml\nunits: US\nshow: {state: clamped}\n", page)
    assert found.machine == "bandsaw mill"
    assert found.units == ("US",)
    assert (found.show.state, found.show.hide) == ("clamped", ())
    assert found.source == (tmp_path / "circuits" / "mill.yml").as_posix()
    assert found.text == MILL
    assert found.parts["pump"].place is not None
    assert found.parts["pump"].place.path == found.source


def test_errors_of_a_file_stand_at_their_place_in_it(tmp_path: Path) -> None:
    (tmp_path / "mill.yml").write_text(MILL.replace("150 bar", "150 baar"), encoding="utf-8")
    (tmp_path / "latin.yml").write_bytes("machine: Säge\n".encode("latin-1"))
    (tmp_path / "loop.yml").write_text("file: mill.yml\n", encoding="utf-8")
    page = str(tmp_path / "page.md")
    (message,) = read("file: mill.yml\n", page).messages
    assert message.place is not None
    assert (message.place.path, message.place.line) == ((tmp_path / "mill.yml").as_posix(), 18)
    (message,) = read("file: mil.yml\n", page, 5).messages
    assert (message.code, message.hint) == ("file-missing", "did you mean 'mill.yml'?")
    assert str(message.place) == f"{page}:5:7"
    assert [m.code for m in read("file: latin.yml\n", page).messages] == ["file-read"]
    assert [m.code for m in read("file: loop.yml\n", page).messages] == ["file-alone"]
    assert [m.code for m in read(f"file: {'x' * 5000}\n", page).messages] == ["file-read"]
    assert [m.code for m in read("file: .\n", page).messages] == ["file-read"]
    (message,) = read("file: mill.yml\nshow: {state: nowhere}\n", page, 9).messages[1:] or read("", page).messages
    assert message.place is not None


@pytest.mark.parametrize("name", sorted(kinds.registry()))
def test_example_of_every_kind(name: str) -> None:
    """The example on the reference page is a part that the language reads, with ports that may be plugged."""
    kind = kinds.registry()[name]
    text = f"machine: x\nparts:\n  it: {kind.example}\n"
    codes = {m.code for m in read(text).messages}
    assert codes <= {"port-open"}
    body = {p.name for p in kind.ports(circuit_params(text, name)) if not p.optional}
    if body:
        circuit(f"{text}plugged: [{', '.join(f'it.{p}' for p in sorted(body))}]\n")


def circuit_params(text: str, name: str) -> object:
    from builddoc.language.reference import example_params

    return example_params(kinds.registry()[name])


@pytest.mark.parametrize("key", sorted(kinds.conduits()))
def test_example_of_every_conduit(key: str) -> None:
    """As printed on the reference page, but for its route."""
    example = re.sub(r"route: [^,]*", "route: pump.outlet > relief.inlet", kinds.conduits()[key].example)
    found = circuit(re.sub(r"(?m)^  feed: .*$", f"  feed: {example}", SPLITTER))
    conduit = found.lines["feed"].conduit
    assert conduit is not None
    assert 1e-3 < conduit.bore < 0.1
