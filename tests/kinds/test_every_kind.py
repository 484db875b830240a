"""Every kind, by what `kinds/base.py` asks of it: its example is read and solved, ports and controls agree."""

from __future__ import annotations

import numpy as np
import pytest
import yaml
from builddoc import kinds, solver
from builddoc.assemble import Builder, assemble
from builddoc.circuit import Circuit, Line, Part, Rating, State
from builddoc.kinds.base import Kind
from builddoc.network import Network
from builddoc.results import Results

from .bench import OIL, end, part

KINDS = sorted(kinds.registry().values(), key=lambda kind: kind.name)
NAMES = {
    "reservoir", "engine", "electric motor", "pump", "hydraulic motor", "cylinder", "single-acting cylinder",
    "relief valve", "check valve", "orifice", "directional valve", "shut-off valve", "quick coupler", "filter",
    "cooler", "gauge point", "tee", "plug",
}  # fmt: skip
GROUPS = {"energy", "valves", "actuators", "lines", "conditioning", "measuring"}


def test_all_kinds_are_found_by_name_and_alias():
    assert set(kinds.registry()) >= NAMES
    aliases = [alias for kind in KINDS for alias in (kind.name, *kind.aliases)]
    assert len(aliases) == len(set(aliases))
    for kind in KINDS:
        for alias in kind.aliases:
            assert kinds.find(alias) is kind
    assert kinds.find("toaster") is None


@pytest.fixture(params=KINDS, ids=lambda kind: kind.name)
def kind(request) -> Kind:
    return request.param


@pytest.fixture
def sample(kind) -> Part:
    made = part("it", kind.example)
    assert made.kind == kind.name
    return made


def test_words(kind):
    assert kind.group in GROUPS and kind.symbol and kind.summary.endswith(".")
    assert kind.equations.strip()
    assert kind.moves in ("", "rod", "shaft")
    for name, field in kind.Params.model_fields.items():
        assert field.description, f"{kind.name}: '{name}' has no description"
        assert field.alias == name.replace("_", " ")


def test_example_uses_only_known_keys(kind):
    keys = yaml.load(kind.example, Loader=yaml.BaseLoader)
    with pytest.raises(Exception, match="extra"):
        kind.Params.model_validate({**{k: v for k, v in keys.items() if k != "kind"}, "colour": "green"})


def test_ports(kind, sample):
    ports = kind.ports(sample.params)
    names = [port.name for port in ports]
    spelled = [text.lower() for port in ports for text in (port.name, *port.aliases)]
    assert len(set(spelled)) == len(spelled)
    assert all(port.role in ("suction", "pressure", "return", "drain", "work", "gauge", "pilot") for port in ports)
    assert all(port.doc for port in ports)
    for group in kind.joined(sample.params):
        assert set(group) <= set(names) and len(group) > 1
    assert set(kind.at_reservoir(sample.params)) <= set(names)
    rated = kind.port_ratings(sample.params)
    assert set(rated) <= set(names)
    assert all(value is None or isinstance(value, Rating) for value in rated.values())
    for relief in kind.reliefs(sample.params):
        assert relief.port in names and relief.setting > 0
    if sum(port.alike for port in ports) == 1:
        pytest.fail("a single port cannot be alike to others")


def test_controls(kind, sample):
    for control in kind.controls(sample.params):
        assert control.doc
        for nonsense in ("sideways", "", "12 parsecs", ["A"], {"A": "B"}):
            with pytest.raises(ValueError):
                control.parse(nonsense)


def bench(sample: Part) -> Circuit:
    return Circuit("bench", "A", "", OIL, {sample.name: sample}, {}, {n: State(n) for n in ("one", "two", "three")})


def test_expands_for_three_states(kind, sample):
    circuit = bench(sample)
    net = assemble(circuit)
    for items in (net.branches, net.pilots, net.actuators, net.sources):
        for item in items:
            assert item.part == "it" and item.role
    for b in net.branches:
        assert {len(x) for x in (b.a, b.b, b.c0, b.lo, b.hi)} == {3}
        assert np.all(np.isfinite([b.a, b.b, b.c0])) and np.all(b.a >= 0) and np.all(b.b >= 0) and np.all(b.lo <= b.hi)
    for a in net.actuators:
        assert {len(x) for x in (a.force, a.friction, a.damping, a.lo, a.hi)} == {3} and np.all(a.friction >= 0)
        assert not kind.moves or a.role == kind.moves
    roles = [b.role for b in net.branches]
    assert len(roles) == len(set(roles)), "two passages have one role"
    piloted = [c.role for c in net.pilots]
    for relief in kind.reliefs(sample.params):
        assert relief.role in (*roles, *piloted)
    assert net.actuators or not kind.moves


def test_answers_questions_of_a_solution(kind, sample):
    circuit = bench(sample)
    net = assemble(circuit)
    results = Results(circuit, net, solver.solve(net))
    motions = kind.motions(sample, results)
    assert set(motions) == ({kind.moves} if kind.moves else set())
    for motion in motions.values():
        assert motion.speed.shape == motion.effort.shape == (3,) and motion.output.shape == (3,)
    demand = kind.shaft_demand(sample, results)
    assert demand is None or demand.power.shape == demand.torque.shape == (3,)
    nominal = kind.nominal_speed(sample.params)
    supply = kind.shaft_supply(sample, np.full(3, nominal or 100.0))
    assert (nominal is None) == (supply is None)
    if supply is not None:
        assert supply.shape == (3,) and np.all(supply > 0)
    sink = kind.heat_sink(sample)
    assert sink is None or (sink.basis and sink.conductance >= 0)
    assert all(text.startswith(("it", "relief of it")) for text in kind.assumptions(sample))


def test_node_asks_for_a_part_in_hand(kind, sample):
    circuit = bench(sample)
    builder = Builder(circuit, Network(["one"]), {})
    with pytest.raises(AssertionError):
        builder.node("P")


def test_assumptions_go_away_when_the_writer_says_it():
    valve = kinds.registry()["relief valve"]
    assert len(valve.assumptions(part("rv", "{kind: relief valve, setting: 150 bar}"))) == 1
    assert not valve.assumptions(part("rv", "{kind: relief valve, setting: 150 bar, override: 3 bar at 40 L/min}"))
    piloted = part("rv", "{kind: relief valve, setting: 150 bar, pilot operated: yes, rated flow: 30 L/min}")
    assert valve.assumptions(piloted) == (
        "rv: override 6 bar at 30 L/min, as of a pilot-operated relief (common practice, no source)",
    )
    pump = kinds.registry()["pump"]
    said = pump.assumptions(part("p", "{kind: pump, displacement: 10 cc/rev, speed: 1500 rpm}"))
    assert "p: volumetric efficiency 92 % (common practice, no source)" in said


@pytest.mark.parametrize(
    "text",
    [
        "{kind: cylinder, bore: 50 mm, rod: 50 mm}",
        "{kind: engine, power: 16 hp}",
        "{kind: engine, power: 16 hp at 0 rpm}",
        "{kind: electric motor, power: 3 kW, speed: 0 rpm}",
        "{kind: orifice}",
        "{kind: orifice, diameter: 1 mm, drop: 5 bar at 10 L/min}",
        "{kind: orifice, drop: -5 bar at 10 L/min}",
        "{kind: orifice, drop: 5 bar at 0 L/min}",
        "{kind: tee, ports: 5}",
        "{kind: directional valve, centre: tandem, spools: [a]}",
        "{kind: directional valve, centre: closed, feed: series, spools: [a, b]}",
        "{kind: directional valve, centre: open, spools: [a, a]}",
        "{kind: directional valve, centre: open, spools: [a.b]}",
        "{kind: directional valve, centre: open, spools: [P]}",
        "{kind: directional valve, centre: open, spools: {a: {flot: yes}}}",
        "{kind: directional valve, centre: open, spools: [a], relief: {override: 3 bar at 40 L/min}}",
        "{kind: filter, bypass: maybe}",
        "{kind: relief valve, setting: 0 bar}",
    ],
)
def test_impossible_parameters_are_refused(text):
    with pytest.raises(ValueError):
        part("it", text)


def test_lines_have_ends():
    made = Line("x", end("a.b"), end("feed at 0.4"), None, 0.0)
    assert str(made.start) == "a.b" and str(made.end) == "feed at 0.4 m"


def test_laws_are_no_wall_of_text(kind):
    """Many laws stand in a list; and what is one letter is not also the sign of a product."""
    items = [item for block in kind.equations.split("\n\n") for item in block.split("\n- ")]
    assert max(map(len, items)) < 650, kind.name
    assert " x (" not in kind.equations and ") x " not in kind.equations
