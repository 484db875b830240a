"""Speed of the solver. Run by hand: `python -m tests.bench.bench_solver [machines]`; prints times and ratios.

Every time includes certificate, feasibility and ranges of all nodes. One thread for the linear algebra is no
requirement: the systems are too small for more.
"""

from __future__ import annotations

import sys
import time
from collections import Counter

import numpy as np
from builddoc.network import Network
from builddoc.solution import Solution
from builddoc.solver import solve

from tests.solver.building import BAR, LPM, Bench
from tests.solver.random_machines import build, some_states, states


def timed(network: Network, repeats: int = 2) -> tuple[float, Solution]:
    """Best wall-clock time of a few runs, ms, and the solution."""
    best, solution = np.inf, None
    for _ in range(repeats):
        began = time.perf_counter()
        solution = solve(network)
        best = min(best, time.perf_counter() - began)
    assert solution is not None
    return best * 1e3, solution


def pages(machines: int, count: int, parts: tuple[int, int], one_by_one: bool) -> None:
    batch, alone = [], []
    verdicts: Counter[str] = Counter()
    methods: Counter[str] = Counter()
    for seed in range(machines):
        network = states(build(seed, parts), count, seed)
        ms, solution = timed(network)
        batch.append(ms)
        for state in solution.states:
            verdicts[state.verdict.value] += 1
            if state.certificate is not None:
                methods[state.certificate.method] += 1
        if one_by_one:
            alone.append(sum(timed(some_states(network, [s]))[0] for s in range(count)))
    line = f"{count:3d} states x {parts[0]}-{parts[1]} parts, {machines} machines: "
    line += f"median {np.median(batch):7.1f} ms, p95 {np.percentile(batch, 95):7.1f} ms, max {max(batch):7.1f} ms"
    if alone:
        ratio = np.array(alone) / np.array(batch)
        line += f"; one by one {np.median(alone):7.1f} ms, ratio: median {np.median(ratio):.1f}"
    print(line, dict(verdicts), dict(methods), flush=True)


def chain(elements: int) -> Network:
    """Pump, then tubes, orifices and checks in series, a relief beside them."""
    bench = Bench()
    bench.pump("tank", "n0", 20 * LPM)
    bench.relief("n0", "tank", 200 * BAR, 0.3 * BAR / LPM)
    for n in range(elements):
        i, j = f"n{n}", f"n{n + 1}" if n < elements - 1 else "tank"
        if n % 3 == 0:
            bench.tube(i, j, 0.5, 0.016, 1.0)
        elif n % 3 == 1:
            bench.orifice(i, j, 40 * LPM, 0.2 * BAR)
        else:
            bench.check(i, j, 0.01 * BAR, 40 * LPM, 0.1 * BAR)
    return bench.net


def main() -> None:
    machines = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    solve(chain(10))
    pages(machines, 8, (25, 35), one_by_one=True)
    pages(machines, 1, (25, 35), one_by_one=False)
    pages(max(machines // 2, 5), 48, (25, 35), one_by_one=False)
    pages(max(machines // 3, 5), 48, (55, 65), one_by_one=False)
    for elements in (100, 1000, 10000):
        ms, solution = timed(chain(elements), repeats=1)
        print(f"chain of {elements} elements: {ms:.0f} ms, {solution.states[0].verdict.value}", flush=True)


if __name__ == "__main__":
    main()
