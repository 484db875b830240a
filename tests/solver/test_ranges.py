"""Ranges of shut-in oil: hand-worked, the same from every start, and against an integer program of its own."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from builddoc import language
from builddoc.assemble import assemble
from builddoc.network import Network
from builddoc.solution import Solution, StateSolution, Verdict
from builddoc.solver import ranges as room
from builddoc.solver import solve
from builddoc.solver.attempts import holds, to_si
from builddoc.solver.certificate import Answer, certify
from builddoc.solver.equations import Equations
from builddoc.solver.feasibility import ways_out
from builddoc.solver.path import cold, follow
from builddoc.solver.scaling import scale
from builddoc.solver.split import split
from builddoc.solver.tables import Tables, tabulate

from .building import BAR, LPM, Bench
from .laws import drop
from .random_circuits import text

LOW, HIGH = -0.9 * BAR, 1000 * BAR
SEEDS = (21, 66)  # seen to end in different choices from different starts


def held(checks: int = 1, spread: float = 30.0) -> Bench:
    """A rod stands on the oil of l (50 bar, friction `spread` either way) behind pilot-operated checks whose pilots
    feel 40 bar; what lies on their valve side is shut in too."""
    bench = Bench()
    bench.pump("tank", "x", 10 * LPM)
    bench.relief("x", "tank", 40 * BAR)
    for n in range(checks):
        bench.pilot_check(f"v{n}", "l", "x", 3.0, 0.5 * BAR, 20 * LPM, 4 * BAR)
    area = 1e-3
    bench.actuator([("l", area)], force=50 * BAR * area, friction=spread * BAR * area)
    return bench


def solved(bench: Bench) -> tuple[StateSolution, dict[str, list[float]]]:
    state = solve(bench.net).states[0]
    assert state.verdict is Verdict.SOLVED
    return state, {n: [end / BAR for end in state.ranges[k]] for n, k in bench.number.items() if k in state.ranges}


def test_open_and_shut_both_count() -> None:
    """Shut: 3*40 - 2v - l <= 0.5 and v - l <= 0.5 (free flow), so l >= (120 - 0.5 - 1)/3 = 39.5 and v from
    (119.5 - 80)/2 = 19.75 to 80.5. Open: v = l and 120 - 3v >= 0.5, so l from 20 to 39.83. Together l has all the
    20 to 80 bar that friction allows; either choice alone would miss a half of it."""
    _, found = solved(held())
    assert found["l"] == pytest.approx([20.0, 80.0], abs=0.01)
    assert found["v0"] == pytest.approx([19.75, 80.5], abs=0.01)
    assert found.keys() == {"l", "v0"}


def test_a_choice_that_no_pressure_allows_does_not_count() -> None:
    """Friction 5 bar: l stands at 45 to 55, where the valve cannot be open (39.83 at most): v from (119.5 - 55)/2 =
    32.25 to 55.5."""
    _, found = solved(held(spread=5.0))
    assert found["l"] == pytest.approx([45.0, 55.0], abs=0.01)
    assert found["v0"] == pytest.approx([32.25, 55.5], abs=0.01)


def test_a_load_held_between_shut_ports() -> None:
    """A rod of 50 mm with 28 mm behind a counterbalance valve (100 bar, 3:1), both lines shut in, 14 kN: cap = 71.3
    + 0.6864 rod side. Open needs cap = valve side and 3 (rod side - cap) >= 100, so a rod side above 333.6 bar; nothing
    ends its rise before the bound of 1000 bar, so the cap may stand at 71.3 + 686.4 = 757.7 bar. (Shut alone would end
    at 302 bar: too low a figure for oil that can burst a hose.)"""
    bench = Bench()
    bench.counterbalance("valve", "cap", "rod", 100 * BAR, 3.0, 20 * LPM, 4 * BAR)
    bench.cylinder(["cap"], ["rod"], 0.05, 0.028, force=14e3)
    _, found = solved(bench)
    assert found["cap"] == pytest.approx([71.3 - 0.6864 * 0.9, 757.7], abs=0.05)
    assert found["rod"] == pytest.approx([-0.9, 1000.0], abs=0.01)


def test_valves_beyond_the_limit_give_bounds_and_say_so() -> None:
    """Eight alike. All eight are shut or all open for v and l as above, and what is left out only widens: v may then
    fall to the bound of oil (-0.9 bar) where nothing holds it but its own valve."""
    few, many = solved(held(6)), solved(held(8))
    assert "wide ranges" not in few[0].notes and "wide ranges" in many[0].notes
    for n in range(6):
        assert few[1][f"v{n}"] == pytest.approx([19.75, 80.5], abs=0.01)
    assert all(many[1][f"v{n}"][0] <= 19.76 and many[1][f"v{n}"][1] >= 80.49 for n in range(8))
    assert many[1]["l"] == pytest.approx([20.0, 80.0], abs=0.01)


def test_a_still_valve_half_open_is_not_said_to_hunt() -> None:
    assert "may hunt" not in solved(held())[0].notes


@cache
def drawn(seed: int) -> tuple[Network, Solution]:
    read = language.read(text(seed, states=3)).circuit
    assert read is not None
    net = assemble(read)
    return net, solve(net)


def arrivals(t: Tables, opening: float) -> tuple[np.ndarray, Answer]:
    """Where the path leads from one opening of all pilots; which of it is proven."""
    eq, states = Equations(scale(t)), np.arange(t.size)
    ends = follow(eq, cold(eq, states, opening))
    answer = to_si(eq.scaled, states, ends, np.ones(t.size, dtype=bool))
    return ends.ok & holds(certify(t, answer)), answer


@pytest.mark.parametrize("seed", SEEDS)
def test_ranges_do_not_depend_on_the_start(seed: int) -> None:
    compared = 0
    with np.errstate(all="ignore"):
        for piece in split(tabulate(drawn(seed)[0])):
            t = piece.tables.take(np.flatnonzero([way.exists for way in ways_out(piece.tables)]))
            if not t.size or not t.z.size:
                continue
            first, one = arrivals(t, 0.5)
            for opening in (-0.2, 1.2, 0.05):
                again, other = arrivals(t, opening)
                alike = np.abs(one.q - other.q).max(axis=1) <= 1e-6 * np.abs(one.q).max(axis=1)
                both = np.flatnonzero(first & again & alike)
                here, there = room.ranges(t, one, both).pressures, room.ranges(t, other, both).pressures
                for s in both.tolist():
                    assert here[s].keys() == there[s].keys()
                    for node, ends in here[s].items():
                        assert ends == pytest.approx(there[s][node], abs=0.01 * BAR)
                        compared += 1
    assert compared > 10


def widest(net: Network, state: StateSolution, s: int, node: int) -> list[float]:
    """(lowest, highest) pressure of a node, bar: a mixed-integer program over all pressures with one yes or no for
    every pilot that passes nothing, straight from the network's laws; those that pass oil stay as they are."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    nodes, still = len(net.nodes), [c for c, q in enumerate(state.pilot_q) if abs(q) <= 1e-6 * np.abs(state.q).max()]
    flow, wide = max(np.abs(state.q).max(), *(abs(x.q[s]) for x in net.sources)), 2e4  # bar: no sum is that large
    rows, lower, upper = [], [], []

    def add(weights: dict[int, float], low: float, high: float, choice: tuple[int, float] | None = None) -> None:
        row = np.zeros(nodes + len(still))
        for n, weight in weights.items():
            row[n] += weight
        if choice is not None:
            row[nodes + choice[0]] = choice[1]
        rows.append(row)
        lower.append(low)
        upper.append(high)

    def difference(i: int, j: int) -> dict[int, float]:
        return {i: 1.0, j: -1.0} if i != j else {}

    for b, q in zip(net.branches, state.q, strict=True):
        law, margin = (b.c0[s] + drop(b, float(q), s)) / BAR, 1e-6 * flow
        low = -np.inf if q <= b.lo[s] + margin else law
        add(difference(b.i, b.j), low - 1e-4, (np.inf if q >= b.hi[s] - margin else law) + 1e-4)
    for a, v in zip(net.actuators, state.v, strict=True):
        if not a.k:
            continue
        size = max(map(abs, a.k.values()))
        load, rub = a.force[s] / size / BAR, a.friction[s] / size / BAR
        row = {n: k / size for n, k in a.k.items()}
        if abs(v) * size > 1e-6 * flow:
            value = sum(weight * state.p[n] for n, weight in row.items()) / BAR
            add(row, value - 1e-4, value + 1e-4)
        else:
            add(row, -np.inf if a.lo[s] >= 0 else load - rub - 1e-4, np.inf if a.hi[s] <= 0 else load + rub + 1e-4)
    for c, pilot in enumerate(net.pilots):
        z0, droop = pilot.z0[s] / BAR, pilot.droop[s] / BAR
        if c in still:
            k = still.index(c)
            add(difference(pilot.i, pilot.j), -np.inf, wide, (k, wide))
            add(difference(pilot.i, pilot.j), -wide, np.inf, (k, -wide))
            add(pilot.z, -np.inf, z0, (k, -wide))
            add(pilot.z, z0 - wide, np.inf, (k, -wide))
        else:
            x, now = state.pilot_x[c], float(state.p[pilot.i] - state.p[pilot.j]) / BAR
            add(difference(pilot.i, pilot.j), now - 1e-4, now + 1e-4)
            z = z0 + droop * x
            add(pilot.z, z - 1e-4, np.inf if x >= 1 - 1e-6 else z + 1e-4)
    floor, top = np.full(nodes + len(still), LOW / BAR), np.full(nodes + len(still), HIGH / BAR)
    floor[0] = top[0] = 0.0
    floor[nodes:], top[nodes:] = 0.0, 1.0
    found = []
    for sign in (1.0, -1.0):
        aim = np.zeros(nodes + len(still))
        aim[node] = sign
        answer = milp(
            aim, constraints=LinearConstraint(np.array(rows), lower, upper), bounds=Bounds(floor, top),
            integrality=np.arange(nodes + len(still)) >= nodes,
        )  # fmt: skip
        assert answer.status == 0, answer.message
        found.append(sign * float(answer.fun))
    return found


def test_the_integer_program_agrees_on_the_hand_case() -> None:
    bench = held()
    state, found = solved(bench)
    assert widest(bench.net, state, 0, bench.number["v0"]) == pytest.approx(found["v0"], abs=0.02)
    assert widest(bench.net, state, 0, bench.number["l"]) == pytest.approx([20.0, 80.0], abs=0.02)


@pytest.mark.parametrize("seed", (*SEEDS, 30, 38))
def test_no_range_is_narrower_than_an_integer_program_finds(seed: int) -> None:
    net, solution = drawn(seed)
    compared = 0
    for s, state in enumerate(solution.states):
        if state.verdict is not Verdict.SOLVED:
            continue
        for node in list(state.ranges)[::3]:
            low, high = widest(net, state, s, node)
            assert state.ranges[node][0] / BAR <= low + 0.05 and state.ranges[node][1] / BAR >= high - 0.05, node
            compared += 1
    assert compared > 3
