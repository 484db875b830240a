"""Small circuits with exact hand answers; every derivation stands beside its case in hand_cases.yaml (own data)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from builddoc.network import Network
from builddoc.solution import StateSolution, Verdict
from builddoc.solver import solve

from .building import BAR, LPM, Bench

DATA = yaml.safe_load(Path(__file__).with_name("hand_cases.yaml").read_text(encoding="utf-8"))
CM3, RPM = 1e-6, 6.283185307179586 / 60.0


class Case:
    """A hand case as a network; remembers which primitive a component became."""

    def __init__(self, components: list[dict[str, Any]]) -> None:
        oil = DATA["oil"]
        self.bench = Bench(oil["viscosity_cSt"] * 1e-6, oil["density"])
        self.branch: dict[str, int] = {}
        self.rod: dict[str, int] = {}
        for c in components:
            getattr(self, c["kind"])(c)

    def pump(self, c: dict[str, Any]) -> None:
        self.bench.pump(c["from"], c["to"], c["flow_lpm"] * LPM, c.get("leak_lpm_per_bar", 0.0) * LPM / BAR)

    def relief(self, c: dict[str, Any]) -> None:
        rise = c["rise_bar_per_lpm"] * BAR / LPM
        self.branch[c["id"]] = self.bench.relief(c["from"], c["to"], c["set_bar"] * BAR, rise)

    def resistance(self, c: dict[str, Any]) -> None:
        flow, drop = c["at_lpm"] * LPM, c["dp_bar"] * BAR
        law = {"a": drop / flow} if c["law"] == "linear" else {"b": drop / flow**2}
        self.branch[c["id"]] = self.bench.branch(c["from"], c["to"], **law)

    def check(self, c: dict[str, Any]) -> None:
        self.branch[c["id"]] = self.bench.check(
            c["from"], c["to"], c["crack_bar"] * BAR, c["at_lpm"] * LPM, c["dp_bar"] * BAR
        )

    def coupler(self, c: dict[str, Any]) -> None:
        if c["connected"]:
            self.branch[c["id"]] = self.bench.orifice(c["from"], c["to"], c["at_lpm"] * LPM, c["dp_bar"] * BAR)
        else:
            self.branch[c["id"]] = self.bench.branch(c["from"], c["to"], lo=0.0, hi=0.0)

    def tube(self, c: dict[str, Any]) -> None:
        self.branch[c["id"]] = self.bench.tube(c["from"], c["to"], c["length_m"], c["bore_mm"] / 1000.0)

    def cylinder(self, c: dict[str, Any]) -> None:
        self._cylinders(c, [c["cap"]], [c["rod"]])

    def tied_cylinders(self, c: dict[str, Any]) -> None:
        self._cylinders(c, c["caps"], c["rods"])

    def _cylinders(self, c: dict[str, Any], caps: list[str], rods: list[str]) -> None:
        self.rod[c["id"]] = self.bench.cylinder(
            caps, rods, c["bore_mm"] / 1000.0, c["rod_mm"] / 1000.0, c["load_kN"] * 1000.0, at=c.get("at", "mid")
        )

    def motor(self, c: dict[str, Any]) -> None:
        self.rod[c["id"]] = self.bench.motor(
            c["a"], c["b"], c["disp_cm3"] * CM3, c["torque_Nm"], leak=c.get("leak_lpm_per_bar", 0.0) * LPM / BAR
        )

    def gear_divider(self, c: dict[str, Any]) -> None:
        self.rod[c["id"]] = self.bench.gear_divider(c["inlet"], c["outlets"], [d * CM3 for d in c["disp_cm3"]])

    def priority_divider(self, c: dict[str, Any]) -> None:
        self.bench.priority_divider(
            c["inlet"], c["controlled"], c["excess"], c["set_lpm"] * LPM, c["metering_bar"] * BAR,
            c["excess_at_lpm"] * LPM, c["excess_dp_bar"] * BAR, droop=0.0,
        )  # fmt: skip

    def spool_divider(self, c: dict[str, Any]) -> None:
        self.bench.spool_divider(
            c["inlet"], tuple(c["outlets"]), c["share"], c["rated_lpm"] * LPM, c["metering_bar"] * BAR,
            c["throttle_bar"] * BAR, droop=100.0,
        )  # fmt: skip

    @property
    def network(self) -> Network:
        return self.bench.net


def near(value: float, wanted: float, tolerance: float) -> None:
    assert value == pytest.approx(wanted, rel=tolerance if wanted else None, abs=tolerance if not wanted else 0.0)


def meets(case: Case, state: StateSolution, wanted: dict[str, Any]) -> None:
    bench = case.bench
    if "pressure_bar" in wanted:
        near(state.p[bench.number[wanted["pressure_bar"]]] / BAR, wanted["value"], wanted["tol"])
    elif "flow_lpm" in wanted:
        near(state.q[case.branch[wanted["flow_lpm"]]] / LPM, wanted["value"], wanted["tol"])
    elif "speed_mm_s" in wanted:
        near(state.v[case.rod[wanted["speed_mm_s"]]] * 1000.0, wanted["value"], wanted["tol"])
    elif "speed_rpm" in wanted:
        near(state.v[case.rod[wanted["speed_rpm"]]] / RPM, wanted["value"], wanted["tol"])
    elif "range_bar" in wanted:
        low, high = state.ranges[bench.number[wanted["range_bar"]]]
        near(low / BAR, wanted["low"], wanted["tol"])
        near(high / BAR, wanted["high"], wanted["tol"])
    else:
        names = {case.network.nodes[n] for n in state.blocked}
        assert names == set(wanted["blocked_nodes"])


@pytest.mark.parametrize("data", DATA["cases"], ids=lambda data: data["id"])
def test_hand_case(data: dict[str, Any]) -> None:
    case = Case(data["components"])
    state = solve(case.network).states[0]
    assert state.verdict.value == data["status"]
    if state.verdict is Verdict.SOLVED:
        assert state.certificate is not None and state.certificate.holds()
    else:
        assert state.p.size == state.q.size == state.v.size == 0
    for wanted in data["expect"]:
        meets(case, state, wanted)
    if "undetermined" not in data.get("findings", ()):
        pressures = [e["pressure_bar"] for e in data["expect"] if "pressure_bar" in e]
        assert not {case.bench.number[n] for n in pressures} & state.ranges.keys()


def test_all_sixteen_cases_are_here() -> None:
    assert len(DATA["cases"]) == 16
    assert sum(len(case["expect"]) for case in DATA["cases"]) >= 50
