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

from tests.bench.yardstick import yardstick
from tests.solver.building import BAR, LPM, Bench
from tests.solver.random_machines import build, some_states, states

TELLING = 50  # machines, from which on a median says something


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


def with_faults(machines: int, parts: tuple[int, int], target: tuple[float, float]) -> None:
    """48 states, 8 declared and 40 faults, with certificate, way out and ranges: in one batch, and as a page asks for
    them, 8 and then 40. The wall clock counts a busy machine too, processor time does not: both, the better of two
    runs. target: ms, median and p95 of one batch."""
    for name, sizes in (("one batch", (48,)), ("8, then 40", (8, 40))):
        wall, own = [], []
        verdicts: Counter[str] = Counter()
        for seed in range(machines):
            network = states(build(20_000 + seed, parts), 48, seed)
            ends = np.cumsum(sizes)
            batches = [some_states(network, list(range(e - n, e))) for e, n in zip(ends, sizes, strict=True)]
            best = []
            for _ in range(2):
                began, used = time.perf_counter(), time.process_time()
                solutions = [solve(batch) for batch in batches]
                best.append(((time.perf_counter() - began) * 1e3, (time.process_time() - used) * 1e3))
            verdicts.update(state.verdict.value for solution in solutions for state in solution.states)
            wall.append(min(w for w, _ in best))
            own.append(min(o for _, o in best))
        print(f"48 states ({name}) x {parts[0]}-{parts[1]} parts, {machines} machines: {dict(verdicts)}")
        for clock, times in (("wall", wall), ("processor", own)):
            median, p95 = np.median(times), np.percentile(times, 95)
            met = "met" if median <= target[0] and p95 <= target[1] else "NOT met"
            met = met if machines >= TELLING else f"said of {TELLING} machines"
            figures = f"median {median:.0f} ms, p95 {p95:.0f} ms, max {max(times):.0f} ms"
            print(f"  {clock}: {figures}; target {target}: {met}")
        print(f"  slowest: machine {20_000 + int(np.argmax(own))}", flush=True)


def main() -> None:
    machines = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    solve(states(build(1, (25, 35)), 8, 1))  # loads what is loaded late
    print(f"yardstick {yardstick():.1f} ms of processor time (see `tests/bench/yardstick.py`)", flush=True)
    pages(machines, 8, (25, 35), one_by_one=True)
    pages(machines, 1, (25, 35), one_by_one=False)
    with_faults(machines if machines < 30 else 50, (25, 35), (150.0, 500.0))
    with_faults(machines if machines < 30 else 50, (55, 65), (400.0, np.inf))
    for elements in (100, 1000, 10000):
        ms, solution = timed(chain(elements), repeats=1)
        print(f"chain of {elements} elements: {ms:.0f} ms, {solution.states[0].verdict.value}", flush=True)


if __name__ == "__main__":
    main()
