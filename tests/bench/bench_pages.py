"""What a page's circuit costs, from its text to its report. Run by hand: `python -m tests.bench.bench_pages [pages]
[first]`.

Random circuits of 10 to 60 parts with eight declared states and all faults tried, whole: read, solved, checked, pairs
and effects worked out, reported. Processor time, so that other work on the machine counts little; how fast the machine
itself is shows beside it (`yardstick`).
"""

from __future__ import annotations

import sys
import time
from collections import Counter

import numpy as np
from builddoc import pipeline
from builddoc import solver as solver_room

from tests.bench.yardstick import yardstick
from tests.solver.random_circuits import text

STATES = 8
LIMIT = 5.0  # s that no page may take


def main(pages: int, first: int) -> None:
    solving, verdicts = 0.0, Counter[str]()
    true_solve = solver_room.solve

    def timed(*args: object, **named: object) -> object:
        nonlocal solving
        began = time.process_time()
        found = true_solve(*args, **named)  # type: ignore[arg-type]
        solving += time.process_time() - began
        verdicts.update(state.verdict.value for state in found.states)
        return found

    solver_room.solve = timed
    pipeline.solve_text(text(1, 2))  # loads what is loaded late
    times, shares = [], []
    for seed in range(first, first + pages):
        written = text(seed, STATES, faults=True)
        solving, began = 0.0, time.process_time()
        solved = pipeline.solve_text(written)
        took = time.process_time() - began
        assert solved.report is not None, seed
        times.append(took)
        shares.append(solving / took)
        if took > LIMIT:
            print(f"  circuit {seed}: {took:.1f} s, of which the solver {solving:.1f} s", flush=True)
    over = sum(took > LIMIT for took in times)
    print(f"{pages} random pages, {STATES} states and all faults: median {np.median(times):.2f} s, p95", end=" ")
    print(f"{np.percentile(times, 95):.2f} s, max {max(times):.2f} s; {over} above {LIMIT:g} s; share of the", end=" ")
    print(
        f"solver {np.median(shares):.0%}; all states {dict(verdicts)}; yardstick {yardstick():.0f} ms", flush=True
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 54, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
