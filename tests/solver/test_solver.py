"""What the solver promises: verdicts, independence of the company, honest certificates, no traceback."""

from __future__ import annotations

import numpy as np
import pytest
from builddoc.network import Actuator, Branch, Network, Pilot, Source
from builddoc.solution import StateSolution, Verdict
from builddoc.solver import scalar, solve
from builddoc.solver.certificate import Answer, certify
from builddoc.solver.friction import friction_times_re
from builddoc.solver.scaling import scale
from builddoc.solver.split import split
from builddoc.solver.tables import tabulate
from fluids.friction import Churchill_1977

from .building import BAR, INF, LPM, Bench, one, square
from .random_machines import build, some_states, states


def alone(net: Network) -> StateSolution:
    return solve(net).states[0]


# ---- one way or another, the same answer


def test_scalar_reference_agrees_with_the_batch() -> None:
    compared = 0
    for seed in range(12):
        net = states(build(seed, (10, 40)), 3, seed)
        solution = solve(net)
        t = tabulate(net)
        if len(split(t)) > 1:
            continue
        scaled = scale(t)
        for s, state in enumerate(solution.states):
            answer = scalar.solve_state(scaled, s)
            if answer is None or state.verdict is not Verdict.SOLVED or state.notes:
                continue
            compared += 1
            flow = np.abs(state.q).max()
            assert np.abs(answer.q[0] - state.q).max() <= 1e-6 * flow, (seed, s)
            assert np.abs(answer.v[0] - state.v).max(initial=0.0) <= 1e-5 * max(np.abs(state.v).max(initial=0.0), 1.0)
            fixed = [n for n in range(t.nodes) if n not in state.ranges]
            assert np.abs(answer.p[0] - state.p)[fixed].max() <= 0.01 * BAR
    assert compared >= 20


@pytest.mark.parametrize("seed", range(8))
def test_a_state_does_not_depend_on_its_company(seed: int) -> None:
    net = states(build(seed), 6, seed)
    together = solve(net).states
    for s in (0, 3, 5):
        single = alone(some_states(net, [s]))
        assert single.verdict is together[s].verdict
        if single.verdict is Verdict.SOLVED:
            flow = np.abs(single.q).max()
            assert np.abs(single.q - together[s].q).max() <= 1e-9 * flow
            fixed = [n for n in range(len(net.nodes)) if n not in single.ranges]
            assert np.abs(single.p - together[s].p)[fixed].max() <= 1e-9 * 100 * BAR
            assert single.ranges.keys() == together[s].ranges.keys()


def test_equal_states_get_equal_answers() -> None:
    net = states(build(3), 3, 3)
    doubled = solve(some_states(net, [0, 1, 0, 2, 1]))
    assert np.array_equal(doubled.states[0].p, doubled.states[2].p)
    assert np.array_equal(doubled.states[1].q, doubled.states[4].q)


def test_hash_follows_the_numbers() -> None:
    net = states(build(3), 2, 3)
    first = solve(net).data_hash
    assert solve(net).data_hash == first
    net.branches[0].a[1] += 1.0
    assert solve(net).data_hash != first


def test_a_shut_passage_is_no_passage() -> None:
    bench = Bench()
    bench.pump("tank", "p", 20 * LPM)
    bench.orifice("p", "tank", 20 * LPM, 30 * BAR)
    without = alone(bench.net)
    bench.branch("p", "tank", b=square(20 * LPM, 1 * BAR), lo=0.0, hi=0.0)
    state = alone(bench.net)
    assert state.q[1] == 0.0
    assert state.p[1] == pytest.approx(without.p[1], rel=1e-12)


def test_circuits_that_share_only_the_reservoir_are_split() -> None:
    bench = Bench()
    for name in ("one", "two", "three"):
        bench.pump("tank", name, 20 * LPM, part=name)
        bench.orifice(name, "tank", 20 * LPM, 30 * BAR)
    assert len(split(tabulate(bench.net))) == 3
    assert alone(bench.net).p[1:] == pytest.approx([30 * BAR] * 3, rel=1e-8)


# ---- verdicts


def test_over_limit_names_the_node() -> None:
    bench = Bench()
    bench.pump("tank", "p", 20 * LPM)
    bench.orifice("p", "tank", 20 * LPM, 2000 * BAR)
    state = alone(bench.net)
    assert state.verdict is Verdict.OVER_LIMIT and state.blocked == [1] and state.p.size == 0


def test_leakage_is_no_way_out() -> None:
    bench = Bench()
    bench.pump("tank", "p", 20 * LPM, leak_per_pa=20 * LPM / (500 * BAR))
    state = alone(bench.net)
    assert state.verdict is Verdict.UNBOUNDED and state.blocked == [1]


def test_load_that_nothing_holds_runs_away() -> None:
    bench = Bench()
    bench.cylinder(["tank"], ["tank"], 0.05, 0.03, force=-1000.0)
    state = alone(bench.net)
    assert state.verdict is Verdict.RUNAWAY and state.runaway == [0]


def test_two_equal_cylinders_on_one_tee_have_no_determined_speeds() -> None:
    bench = Bench()
    bench.pump("tank", "p", 20 * LPM)
    bench.relief("p", "tank", 200 * BAR)
    for _ in range(2):
        bench.cylinder(["p"], ["tank"], 0.05, 0.03, force=10e3)
    state = alone(bench.net)
    assert state.verdict is Verdict.SPLIT_OPEN and state.open_speeds == [0, 1] and state.v.size == 0


def test_own_hoses_determine_the_speeds() -> None:
    bench = Bench()
    bench.pump("tank", "p", 20 * LPM)
    bench.relief("p", "tank", 200 * BAR)
    for n in range(2):
        bench.tube("p", f"c{n}", 2.0, 0.01)
        bench.cylinder([f"c{n}"], ["tank"], 0.05, 0.03, force=10e3)
    state = alone(bench.net)
    assert state.verdict is Verdict.SOLVED and state.v[0] == pytest.approx(state.v[1], rel=1e-9)


def test_two_ideal_reliefs_of_one_setting_share_in_no_determined_way() -> None:
    bench = Bench()
    bench.pump("tank", "p", 20 * LPM)
    bench.relief("p", "tank", 100 * BAR)
    bench.relief("p", "tank", 100 * BAR)
    state = alone(bench.net)
    assert state.verdict is Verdict.SPLIT_OPEN and state.open_split == [0, 1]


def test_starved_pump_delivers_what_its_suction_line_passes() -> None:
    """The suction orifice passes 40 L/min at 1.6 bar, so 30 L/min at 0.9 bar (hand: q = 40 sqrt(0.9/1.6) = 30)."""
    bench = Bench()
    bench.orifice("tank", "s", 40 * LPM, 1.6 * BAR)
    bench.pump("s", "p", 60 * LPM)
    bench.orifice("p", "tank", 30 * LPM, 50 * BAR)
    state = alone(bench.net)
    assert state.verdict is Verdict.SOLVED and "pump starved" in state.notes
    assert state.q / LPM == pytest.approx([30.0, 30.0], rel=1e-6)
    assert state.source_q / LPM == pytest.approx([30.0, -30.0], rel=1e-6)
    assert state.p / BAR == pytest.approx([0.0, -0.9, 50.0], rel=1e-6)
    assert state.void[1] / LPM == pytest.approx(30.0, rel=1e-6)
    assert state.certificate is not None and state.certificate.void < 1e-6


def test_a_valve_that_holds_itself_open_has_several_answers() -> None:
    bench = Bench()
    bench.pump("tank", "p", 30 * LPM)
    bench.relief("p", "tank", 100 * BAR, 0.1 * BAR / LPM)
    bench.orifice("q", "tank", 30 * LPM, 60 * BAR)
    bench.pilot("p", "q", b=square(30 * LPM, 5 * BAR), z=[("q", 1.0)], z0=20 * BAR, droop=1 * BAR)
    state = alone(bench.net)
    assert state.verdict is Verdict.SOLVED and "several solutions" in state.notes


def test_oil_shut_in_by_the_valve_that_it_holds_shut_is_a_second_answer() -> None:
    """A reducing valve (60 bar) towards a cylinder at its stop, load 40 bar, pump idling at 5 bar: the load sinks back
    through the open valve; with more than 60 bar shut in the valve stays shut and the load stays up. A load of 70 bar
    keeps the valve shut by itself: one answer. (By the equations; no source.)"""
    for load, several in ((40.0, True), (70.0, False)):
        bench = Bench()
        bench.pump("tank", "p", 20 * LPM)
        bench.relief("p", "tank", 100 * BAR, 0.3 * BAR / LPM)
        bench.orifice("p", "tank", 20 * LPM, 5 * BAR)
        bench.pilot("p", "cap", b=square(30 * LPM, 5 * BAR), z=[("cap", -1.0)], z0=-60 * BAR, droop=2 * BAR)
        area = np.pi / 4.0 * 0.05**2
        bench.cylinder(["cap"], [], 0.05, 0.0, force=load * BAR * area, at="extended")
        state = alone(bench.net)
        assert state.verdict is Verdict.SOLVED and ("several solutions" in state.notes) is several
        assert bool(state.v[0] < -1e-3) is several


def test_a_divider_that_oil_comes_back_through_has_several_answers_and_forwards_one() -> None:
    """Each side throttles when it takes more than the other. Backwards the side that gives more opens, the other shuts:
    either of two equal cylinders may come down alone. (By the equations; no source.)"""
    for back in (True, False):
        bench = Bench()
        if back:
            bench.orifice("in", "tank", 20 * LPM, 5 * BAR)
        else:
            bench.pump("tank", "in", 20 * LPM)
            bench.relief("in", "tank", 150 * BAR)
        for own, other in (("a", "b"), ("b", "a")):
            bench.orifice("in", f"metered {own}", 10 * LPM, 4 * BAR)
            z = [(f"metered {own}", 1.0), (f"metered {other}", -1.0)]
            bench.pilot(f"metered {own}", f"cap {own}", b=square(10 * LPM, 1 * BAR), z=z, z0=-100.0, droop=100.0)
            load = (30 if own == "a" else 40) * BAR * np.pi / 4.0 * 0.05**2
            bench.cylinder([f"cap {own}"], [], 0.05, 0.0, force=load)
        state = alone(bench.net)
        assert state.verdict is Verdict.SOLVED and ("several solutions" in state.notes) is back
        assert np.all(state.v < 1e-9) if back else np.all(state.v > 1e-3)


def test_a_priority_valve_does_not_hunt_and_has_one_answer() -> None:
    bench = Bench()
    bench.pump("tank", "p", 50 * LPM)
    bench.relief("p", "tank", 200 * BAR)
    bench.priority_divider("p", "cf", "ef", 15 * LPM, 7 * BAR, 35 * LPM, 2 * BAR)
    bench.orifice("cf", "tank", 15 * LPM, 60 * BAR)
    bench.orifice("ef", "tank", 35 * LPM, 4 * BAR)
    state = alone(bench.net)
    assert 0.0 < state.pilot_x[0] < 1.0 and state.notes == []


def test_lowering_over_a_counterbalance_valve_may_hunt() -> None:
    bench = Bench()
    bench.pump("tank", "rod", 20 * LPM)
    bench.relief("rod", "tank", 180 * BAR, 0.3 * BAR / LPM)
    bench.counterbalance("cap", "held", "rod", 200 * BAR, 4.0, 40 * LPM, 6 * BAR)
    bench.orifice("cap", "tank", 40 * LPM, 5 * BAR)
    bench.cylinder(["held"], ["rod"], 0.06, 0.035, force=30e3)
    state = alone(bench.net)
    assert state.verdict is Verdict.SOLVED and state.v[0] < 0.0
    assert "may hunt" in state.notes and state.hunting == [0]


# ---- the certificate is no rubber stamp


def test_certificate_fails_for_numbers_that_were_tampered_with() -> None:
    net = some_states(states(build(5), 2, 5), [0])
    state, t = alone(net), tabulate(net)
    good = {"p": state.p, "q": state.q, "pilot_q": state.pilot_q, "x": state.pilot_x, "v": state.v}

    def worst(**change: np.ndarray) -> float:
        r = certify(t, Answer(**{name: value[None] for name, value in {**good, **change}.items()}))
        return float(max(r.mass[0], r.law[0], r.complementarity[0], r.actuator[0], r.pilot[0]))

    assert worst() <= 1e-6
    for e in range(state.q.size):
        if abs(state.q[e]) > 1e-3 * np.abs(state.q).max():
            q = state.q.copy()
            q[e] *= 1.001
            assert worst(q=q) > 1e-6
    for node in range(1, state.p.size):
        if node not in state.ranges:
            p = state.p.copy()
            p[node] += 1.0 * BAR
            assert worst(p=p) > 1e-6, net.nodes[node]
    assert worst(q=np.full_like(state.q, np.nan)) == np.inf


# ---- friction


def test_friction_is_churchills_formula_as_fluids_has_it() -> None:
    re = np.geomspace(1.0, 1e7, 200)
    for rough in (0.0, 1e-4, 1e-2):
        ours = friction_times_re(re, np.full_like(re, rough))[0] / re
        theirs = [Churchill_1977(float(r), rough) for r in re]
        assert ours == pytest.approx(theirs, rel=1e-9)


def test_slope_of_friction_is_its_derivative() -> None:
    re = np.geomspace(210.0, 1e6, 60)
    rough = np.full_like(re, 1e-3)
    step = 1e-5 * re
    numeric = (friction_times_re(re + step, rough)[0] - friction_times_re(re - step, rough)[0]) / (2 * step)
    assert friction_times_re(re, rough)[1] == pytest.approx(numeric, rel=1e-4, abs=1e-6)


# ---- nothing legal brings it down

TEN = 1e7


def _branch(i: int, j: int, **numbers: float) -> Branch:
    law = {"a": 0.0, "b": 0.0, "c0": 0.0, "lo": -INF, "hi": INF} | numbers
    return Branch(i, j, **{name: one(value) for name, value in law.items()})


def _rod(k: dict[int, float], force: float = 0.0, lo: float = -INF, hi: float = INF) -> Actuator:
    return Actuator(k, one(force), one(0.0), one(0.0), one(lo), one(hi))


ODD = {
    "nothing at all": (Network(["s"]), Verdict.SOLVED),
    "no state": (Network([], nodes=["t", "p"]), None),
    "a node nothing touches": (Network(["s"], nodes=["t", "p"]), Verdict.SOLVED),
    "source into the reservoir": (Network(["s"], nodes=["t"], sources=[Source(0, one(1e-3))]), Verdict.SOLVED),
    "source into nothing": (Network(["s"], nodes=["t", "p"], sources=[Source(1, one(1e-3))]), Verdict.UNBOUNDED),
    "pump that draws from nothing": (
        Network(["s"], nodes=["t", "p"], sources=[Source(1, one(-1e-3))]), Verdict.SOLVED,
    ),
    "passages from reservoir to reservoir": (
        Network(["s"], nodes=["t"], branches=[_branch(0, 0), _branch(0, 0, c0=TEN, lo=0.0)]), Verdict.SOLVED,
    ),
    "passage from a node to itself": (
        Network(["s"], nodes=["t", "p"], branches=[_branch(1, 1), _branch(1, 0, a=1e9)],
                sources=[Source(1, one(1e-3))]), Verdict.SOLVED,
    ),
    "passages without friction": (
        Network(["s"], nodes=["t", "p", "q"], branches=[_branch(1, 2), _branch(2, 0)],
                sources=[Source(1, one(1e-3))]), Verdict.SOLVED,
    ),
    "a forced flow": (
        Network(["s"], nodes=["t", "p"], branches=[_branch(1, 0, lo=5e-4, hi=5e-4), _branch(1, 0, c0=TEN, lo=0.0)],
                sources=[Source(1, one(1e-3))]), Verdict.SOLVED,
    ),
    "pump at rest": (
        Network(["s"], nodes=["t", "p"], branches=[_branch(1, 0, b=1e11), _branch(1, 0, c0=TEN, lo=0.0)],
                sources=[Source(1, one(0.0))]), Verdict.SOLVED,
    ),
    "rod without oil": (Network(["s"], actuators=[_rod({})]), Verdict.SOLVED),
    "rod without oil, loaded": (Network(["s"], actuators=[_rod({}, force=5.0)]), Verdict.RUNAWAY),
    "rod without oil, loaded, held": (Network(["s"], actuators=[_rod({}, 5.0, 0.0, 0.0)]), Verdict.SOLVED),
    "rod between reservoir and reservoir": (Network(["s"], actuators=[_rod({0: 1e-3})]), Verdict.SOLVED),
    "load on oil shut in beyond 1000 bar": (
        Network(["s"], nodes=["t", "p"], actuators=[_rod({1: 1e-4}, force=2e4)]), Verdict.OVER_LIMIT,
    ),
    "pilot without friction": (
        Network(["s"], nodes=["t", "p"], branches=[_branch(1, 0, c0=TEN, lo=0.0)],
                pilots=[Pilot(1, 0, one(0.0), {1: 1.0}, one(5e6), one(0.0))], sources=[Source(1, one(1e-3))]),
        Verdict.SOLVED,
    ),
    "number missing": (
        Network(["s"], nodes=["t", "p"], branches=[_branch(1, 0, a=float("nan"))]), Verdict.NOT_CONVERGED,
    ),
    "bounds that contradict": (
        Network(["s"], nodes=["t", "p"], branches=[_branch(1, 0, lo=1.0, hi=-1.0)]), Verdict.NOT_CONVERGED,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ODD)
def test_odd_networks(name: str) -> None:
    net, verdict = ODD[name]
    solution = solve(net)
    assert len(solution.states) == net.size
    for state in solution.states:
        assert state.verdict is verdict
        assert (state.p.size == len(net.nodes)) is (verdict is Verdict.SOLVED)
        if verdict is Verdict.SOLVED:
            assert state.certificate is not None and state.certificate.holds()


def test_no_time_for_fallbacks_means_not_converged_never_a_number() -> None:
    for seed in range(20):
        net = states(build(seed), 4, seed)
        for state in solve(net, fallback_seconds=0.0).states:
            assert state.verdict in (Verdict.SOLVED, Verdict.NOT_CONVERGED)
            assert (state.p.size > 0) is (state.verdict is Verdict.SOLVED)


def test_long_chains_are_solved_with_sparse_matrices() -> None:
    bench = Bench()
    bench.pump("tank", "n0", 20 * LPM)
    for n in range(600):
        bench.orifice(f"n{n}", f"n{n + 1}" if n < 599 else "tank", 20 * LPM, 0.1 * BAR)
    state = alone(bench.net)
    assert state.verdict is Verdict.SOLVED and state.p[1] == pytest.approx(60 * BAR, rel=1e-6)
