"""Small invented machines, built from the dataclasses (no text is read here) and solved for real."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from builddoc import checks, kinds
from builddoc.assemble import assemble
from builddoc.checks.base import Case, Finding
from builddoc.circuit import Circuit, Conduit, End, Fitting, Line, Oil, Part, Rating, State, Tie
from builddoc.kinds.base import SpoolOrder
from builddoc.messages import Place
from builddoc.results import Results
from builddoc.solver import solve

BAR, LPM = 1e5, 1 / 6e4
OIL = Oil("ISO VG 46", 46e-6, 6.8e-6, 870.0, 318.15, coldest=263.15)


@dataclass
class Machine:
    """What a test changes before it solves. places: every part and line gets the line number of its order."""

    parts: dict[str, dict[str, Any]]
    lines: dict[str, dict[str, Any]]
    states: dict[str, dict[tuple[str, str], Any]] = field(default_factory=lambda: {"as plumbed": {}})
    temperatures: Mapping[str, float] = field(default_factory=dict)
    ties: dict[str, tuple[str, ...]] = field(default_factory=dict)
    plugged: tuple[str, ...] = ()
    oil: Oil = OIL
    units: tuple[str, ...] = ("metric",)

    def circuit(self) -> Circuit:
        parts = {}
        for n, (name, keys) in enumerate(self.parts.items(), 10):
            kind = kinds.find(keys["kind"])
            assert kind is not None, keys["kind"]
            params = kind.Params(**{k: v for k, v in keys.items() if k != "kind"})
            parts[name] = Part(name, kind.name, params, Place("test.yml", n, 1))
        lines = {}
        for n, (name, keys) in enumerate(self.lines.items(), 50):
            start, end = (_end(text) for text in keys["route"].split(" > "))
            lines[name] = Line(
                name, start, end, keys.get("conduit"), keys.get("length", 1.0 if keys.get("conduit") else 0.0),
                tuple(keys.get("fittings", ())), keys.get("duty", ""), Place("test.yml", n, 1),
            )  # fmt: skip
        states = {
            name: State(name, orders, self.temperatures.get(name), place=Place("test.yml", n, 1))
            for n, (name, orders) in enumerate(self.states.items(), 90)
        }
        ties = {name: Tie(name, members) for name, members in self.ties.items()}
        return Circuit(
            "test rig", "A", "2025-01-01", self.oil, parts, lines, states, ties,
            tuple(_end(p) for p in self.plugged), units=self.units,
        )  # fmt: skip

    def case(self) -> Case:
        circuit = self.circuit()
        network = assemble(circuit)
        solution = solve(network)
        return Case(circuit, network, solution, Results(circuit, network, solution))


def _end(text: str) -> End:
    part, port = text.split(".", 1)
    return End(part, port)


def hose(bore: float = 12.7e-3, rating: float | None = 225.0) -> Conduit:
    """rating: bar, None = nobody stated one."""
    return Conduit("hose", "hose, two-wire", bore, 1e-6, Rating(rating * BAR) if rating else None)


def tee_150(rating: float | None = 20.7) -> Fitting:
    return Fitting(
        "malleable iron tee, class 150", 0.5, rating=Rating(rating * BAR) if rating else None, low_pressure=True,
        place=Place("test.yml", 77, 5),
    )  # fmt: skip


def elbow(rating: float | None = 330.0) -> Fitting:
    return Fitting("elbow", 0.9, rating=Rating(rating * BAR) if rating else None, place=Place("test.yml", 78, 5))


def mill(**states: dict[tuple[str, str], Any]) -> Machine:
    """A pump of 22.3 L/min, an open-centre valve with a relief at 150 bar, a clamp ram; states idle and at its stop."""
    machine = Machine(
        parts={
            "tank": {"kind": "reservoir", "volume": 30e-3, "cooling area": 0.75},
            "engine": {"kind": "engine", "power": "16 hp at 3600 rpm"},
            "pump": {
                "kind": "pump", "displacement": "10 cc/rev", "speed": "2400 rpm", "volumetric efficiency": "93 %",
                "driven by": "engine", "rating": "210 bar",
            },
            "bank": {
                "kind": "directional valve", "centre": "open", "spools": ["clamp"], "rating": "210 bar",
                "tank port rating": "20 bar", "relief": {"setting": "150 bar", "override": "1 bar at 22.3 L/min"},
            },
            "ram": {"kind": "cylinder", "bore": "50 mm", "rod": "28 mm", "stroke": "400 mm", "rating": "210 bar"},
        },
        lines={
            "suction": {"route": "tank.oil > pump.inlet", "conduit": hose(25.4e-3, None), "length": 0.5},
            "feed": {"route": "pump.outlet > bank.P", "conduit": hose()},
            "close": {"route": "bank.clamp.A > ram.cap", "conduit": hose(9.5e-3, 330.0)},
            "open": {"route": "bank.clamp.B > ram.rod", "conduit": hose(9.5e-3, 330.0)},
            "return": {"route": "bank.T > tank.oil", "conduit": hose(19e-3, 50.0)},
        },
        states={
            "idling": {},
            "closing": {("bank", "clamp"): SpoolOrder("A"), ("ram", "load"): 4000.0},
            "clamp at its stop": {("bank", "clamp"): SpoolOrder("A"), ("ram", "stop"): "extended"},
            **states,
        },
    )  # fmt: skip
    return machine


def findings(case: Case, rule: str, outcome: str = "") -> list[Finding]:
    """Outcomes of one rule, all of them or of one sort."""
    found = list(checks.rules()[rule].check(case))
    return [f for f in found if not outcome or f.outcome == outcome]
