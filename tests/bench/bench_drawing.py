"""Speed and tidiness of circuit drawings. Run by hand: `python -m tests.bench.bench_drawing [circuits]`.

Random circuits of 55 to 65 components with a warm engine, counted in two ways: what stands on the drawing (sections of
a stack one each, a reservoir as often as it is repeated), as the budget of 40 ms for 60 components counts; and parts
alone, in which a circuit of that size is larger. Times are processor time, the best of a few runs, so that other work
on the machine counts little; how fast the machine itself is shows in the share of Graphviz, whose work is nearly the
same for every circuit of that size: the ratio holds on any machine.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
from builddoc.circuit import Circuit
from builddoc.draw import circuit_layout, draw_circuit, engine, pen_svg, symbols

from tests.draw import measure, random_circuits, sample

RUNS = 4
COMPONENTS = range(55, 66)
SMALLEST = 35  # parts of a circuit that may come to so many components


def parts(made: Circuit) -> int:
    """Sections of a stack count one each."""
    return sum(max(len(getattr(part.params, "spools", ())), 1) for part in made.parts.values())


def drawn(made: Circuit) -> int:
    """The same, but every reservoir symbol that stands at a port in the place of the reservoir."""
    reservoirs = sum(part.kind == "reservoir" for part in made.parts.values())
    return parts(made) - reservoirs + len(circuit_layout(made, sample.results(made, {})).stubs)


def once(made: Circuit, spent: dict[str, float]) -> tuple[float, float, float, Any]:
    """ms of placing, of Graphviz within it, of writing one state; the sheet."""
    solved = sample.results(made, {})
    symbols.forget()  # nothing of this circuit is known from an earlier run
    pen_svg.n.cache_clear()
    spent["ms"] = 0.0
    began = time.process_time()
    sheet = circuit_layout(made, solved)
    placed = time.process_time()
    draw_circuit(sheet, 0)
    return (placed - began) * 1e3, spent["ms"], (time.process_time() - placed) * 1e3, sheet


def main(wanted: int) -> None:
    spent: dict[str, float] = {"ms": 0.0}
    true_run = engine.run

    def timed(source: str, **named: Any) -> str:
        began = time.process_time()
        try:
            return true_run(source, **named)
        finally:
            spent["ms"] += (time.process_time() - began) * 1e3

    engine.run = timed  # type: ignore[assignment]
    circuit_layout(random_circuits.circuit(0), sample.results(random_circuits.circuit(0), {}))
    for count in (drawn, parts):
        measured(wanted, count, spent)


def measured(wanted: int, count: Callable[[Circuit], int], spent: dict[str, float]) -> None:
    """Prints times and tidiness of so many circuits of the size. spent: where Graphviz's ms are summed up."""
    times: list[tuple[float, float, float]] = []
    crossed, bent, seed = [], [], 0
    while len(times) < wanted:
        seed += 1
        made = random_circuits.circuit(seed)
        if parts(made) < SMALLEST or count(made) not in COMPONENTS:
            continue
        runs = [once(made, spent) for _ in range(RUNS)]
        times.append(min(runs)[:3])
        sheet = runs[0][3]
        nets = len(sheet.made.nets) + len(sheet.made.stubs)
        crossed.append(measure.crossings(sheet) / (0.15 * nets + 1))
        bent.append(measure.bends(sheet) / (2 * nets))
    placing, graphviz, writing = np.array(times).T
    high = partial(np.percentile, q=95)
    of = f"{COMPONENTS[0]}-{COMPONENTS[-1]} components, counted as {count.__name__}"
    print(f"{wanted} circuits of {of}, ms of processor time, best of {RUNS}")
    print(f"  placed, routed, worded: median {np.median(placing):5.1f}, p95 {high(placing):5.1f}")
    print(f"  of which Graphviz:      median {np.median(graphviz):5.1f}, p95 {high(graphviz):5.1f}")
    print(f"  ratio to Graphviz:      median {np.median(placing / graphviz):5.2f}, p95 {high(placing / graphviz):5.2f}")
    print(f"  one state as SVG:       median {np.median(writing):5.1f}, p95 {high(writing):5.1f}")
    print(f"  both:                   median {np.median(placing + writing):5.1f}, p95 {high(placing + writing):5.1f}")
    print(f"  crossings, in 0.15 a net + 1: mean {np.mean(crossed):.2f}, over it {np.mean(np.array(crossed) > 1):.1%}")
    print(f"  bends, in 2 a net:            mean {np.mean(bent):.2f}, over it {np.mean(np.array(bent) > 1):.1%}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
