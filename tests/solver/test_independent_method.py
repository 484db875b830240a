"""Random circuits of passages in series and in parallel, solved by nested one-dimensional root finding.

Shares nothing with the solver: Brent's method from scipy, friction from `fluids` (Churchill 1977 as that library has
it). In series the drops at one flow add up; in parallel a pressure is searched at which the flows add up.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import pytest
from builddoc.solution import Verdict
from builddoc.solver import solve
from scipy.optimize import brentq

from .building import BAR, LPM, Bench
from .laws import drop


@dataclass
class Leaf:
    """One branch of the bench."""

    bench: Bench
    index: int
    flow: float = 0.0

    def pressure(self, q: float) -> float:
        b = self.bench.net.branches[self.index]
        return float(b.c0[0]) + drop(b, q)

    def set_flow(self, q: float) -> None:
        self.flow = q


@dataclass
class Series:
    parts: list[Leaf | Parallel] = field(default_factory=list)

    def pressure(self, q: float) -> float:
        return sum(part.pressure(q) for part in self.parts)

    def flow_at(self, p: float, most: float) -> float:
        if self.pressure(0.0) >= p:
            return 0.0
        if self.pressure(most) <= p:
            return most
        return float(brentq(lambda q: self.pressure(q) - p, 0.0, most, xtol=1e-18, rtol=1e-14))

    def set_flow(self, q: float) -> None:
        for part in self.parts:
            part.set_flow(q)


@dataclass
class Parallel:
    paths: list[Series] = field(default_factory=list)

    def pressure(self, q: float) -> float:
        if q == 0.0:
            return min(path.pressure(0.0) for path in self.paths)
        high = min(path.pressure(q) for path in self.paths)  # one path alone would need that
        low = min(path.pressure(0.0) for path in self.paths)

        def excess(p: float) -> float:
            return sum(x.flow_at(p, 2.0 * q) for x in self.paths) - q

        return float(brentq(excess, low, high, xtol=1e-9, rtol=1e-14)) if excess(high) > 0.0 else high

    def set_flow(self, q: float) -> None:
        p = self.pressure(q)
        for path in self.paths:
            path.set_flow(path.flow_at(p, q))


def random_leaf(bench: Bench, rng: random.Random, i: str, j: str) -> Leaf:
    kind = rng.randrange(6)
    if kind <= 1:
        index = bench.tube(i, j, rng.uniform(0.2, 8), rng.uniform(0.006, 0.025), rng.uniform(0, 8))
    elif kind == 2:
        index = bench.orifice(i, j, rng.uniform(5, 40) * LPM, rng.uniform(1, 40) * BAR)
    elif kind == 3:
        index = bench.check(i, j, rng.uniform(0.1, 5) * BAR, 30 * LPM, rng.uniform(0.5, 5) * BAR)
    elif kind == 4:
        index = bench.relief(i, j, rng.uniform(10, 150) * BAR, rng.uniform(0.1, 2) * BAR / LPM)
    else:
        index = bench.filter(i, j, 30 * LPM, rng.uniform(0.2, 8) * BAR)
    return Leaf(bench, index)


def random_series(bench: Bench, rng: random.Random, i: str, j: str, depth: int) -> Series:
    count = rng.randint(1, 3)
    names = [i, *(f"{i}.{rng.randrange(10**9)}" for _ in range(count - 1)), j]
    series = Series()
    for a, b in pairwise(names):
        if depth > 0 and rng.random() < 0.5:
            paths = [random_series(bench, rng, a, b, depth - 1) for _ in range(rng.randint(2, 3))]
            series.parts.append(Parallel(paths))
        else:
            series.parts.append(random_leaf(bench, rng, a, b))
    return series


def leaves(series: Series) -> list[Leaf]:
    out: list[Leaf] = []
    for part in series.parts:
        out += [part] if isinstance(part, Leaf) else [leaf for path in part.paths for leaf in leaves(path)]
    return out


@pytest.mark.parametrize("block", range(6))
def test_nested_root_finding_agrees(block: int) -> None:
    """10 circuits each: every flow within 1e-6 of the pump flow, the pump's pressure within 100 Pa or 1e-6."""
    for seed in range(10 * block, 10 * block + 10):
        rng = random.Random(seed)
        bench = Bench(nu=rng.uniform(15e-6, 150e-6))
        flow = rng.uniform(5, 80) * LPM
        bench.pump("tank", "p", flow)
        circuit = random_series(bench, rng, "p", "tank", 2)
        circuit.set_flow(flow)
        pressure = circuit.pressure(flow)
        state = solve(bench.net).states[0]
        if pressure > 1000 * BAR:
            assert state.verdict is Verdict.OVER_LIMIT
            continue
        assert state.verdict is Verdict.SOLVED, seed
        assert state.p[bench.number["p"]] == pytest.approx(pressure, rel=1e-6, abs=100.0)
        for leaf in leaves(circuit):
            assert state.q[leaf.index] == pytest.approx(leaf.flow, abs=1e-6 * flow), (seed, leaf.index)


def test_loaded_cylinders_agree_with_bisection() -> None:
    """40 circuits: cylinder behind a tube, its return through a tube, a relief with override beside it; the pump's
    pressure is found by bisection on the speed."""
    for seed in range(40):
        rng = random.Random(seed)
        bench = Bench(nu=rng.uniform(15e-6, 100e-6))
        flow, leak = rng.uniform(5, 60) * LPM, rng.uniform(0.0, 0.02) * LPM / BAR
        bore = rng.choice((0.04, 0.05, 0.063, 0.08))
        rod = bore * rng.uniform(0.4, 0.7)
        area, ring = np.pi * bore**2 / 4, np.pi * (bore**2 - rod**2) / 4
        force, friction = rng.uniform(20, 220) * BAR * area, rng.uniform(0, 5) * BAR * area
        bench.pump("tank", "p", flow, leak)
        relief = bench.relief("p", "tank", 180 * BAR, 0.4 * BAR / LPM)
        feed = bench.tube("p", "cap", rng.uniform(1, 5), 0.012, 3.0)
        back = bench.tube("rod", "tank", rng.uniform(1, 5), 0.012, 3.0)
        cylinder = bench.cylinder(["cap"], ["rod"], bore, rod, force, friction, at="retracted")
        branches = bench.net.branches

        def balance(
            v: float, branches=branches, area=area, ring=ring, force=force, friction=friction, flow=flow, leak=leak,
            feed=feed, back=back,
        ) -> float:  # fmt: skip
            """Flow left over when the rod extends at v."""
            p_rod = drop(branches[back], ring * v)
            p = (force + friction + p_rod * ring) / area + drop(branches[feed], area * v)
            over = max(p - 180 * BAR, 0.0) / (0.4 * BAR / LPM)
            return float(flow - leak * p - over - area * v)

        state = solve(bench.net).states[0]
        assert state.verdict is Verdict.SOLVED
        if balance(0.0) <= 0.0:  # the pump cannot lift it: it stands, everything goes over the relief
            assert state.v[cylinder] == pytest.approx(0.0, abs=1e-9)
            assert state.q[relief] > 0.0
            continue
        v = brentq(balance, 0.0, flow / area, xtol=1e-16, rtol=1e-14)
        assert state.v[cylinder] == pytest.approx(v, rel=1e-6)
