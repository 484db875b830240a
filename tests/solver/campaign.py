"""Many random circuits against an independent check. Run by hand: `python -m tests.solver.campaign kinds [circuits]
[first]` for circuits in the language, from every kind (`random_circuits`); `... machines ...` for networks that the
tests expand themselves (`random_machines`).

Every circuit has 10-60 parts and one state (levers, loads, stops, couplers, filters drawn at random). Per circuit: the
solver's answer with its certificate; then, sharing nothing with it, all balances and laws again in plain Python with
friction of the library `fluids` (`laws`); for circuits in the language what each kind promises at its ports
(`part_laws`); then, for every fourth, the scalar reference solver, from its own start. An
answer is *wrong* if a balance or law misses, or if the reference has a proven answer that differs although the answer
is said to be the only one. A circuit that needs more than `HANGING` s of processor time counts as hanging.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from dataclasses import dataclass, field

import numpy as np
from builddoc import language
from builddoc.assemble import assemble
from builddoc.network import Network
from builddoc.results import Results
from builddoc.solution import Solution, StateSolution, Verdict
from builddoc.solver import scalar, solve
from builddoc.solver.attempts import holds
from builddoc.solver.certificate import certify
from builddoc.solver.scaling import scale
from builddoc.solver.tables import tabulate

from .part_laws import misses
from .random_circuits import text
from .random_machines import build, states
from .test_random_machines import closes

HANGING = 5.0  # s of processor time for one circuit
REFERENCE = 4  # every which circuit is solved by the reference too, which takes as long as all the rest
ALIKE = 1e-4  # share of the largest flow up to which two answers are the same


@dataclass
class Count:
    """What came of the circuits. asked: how many were given to the reference, reference: how many of these it
    proved. seconds: of processor time."""

    circuits: int = 0
    parts: list[int] = field(default_factory=list)
    kinds: Counter[str] = field(default_factory=Counter)
    verdicts: Counter[str] = field(default_factory=Counter)
    notes: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    hanging: list[int] = field(default_factory=list)
    unsolved: list[int] = field(default_factory=list)
    asked: int = 0
    reference: int = 0
    seconds: list[float] = field(default_factory=list)

    def text(self) -> str:
        times = np.array(self.seconds) * 1e3
        lines = (
            f"{self.circuits} circuits of {min(self.parts)}-{max(self.parts)} parts",
            f"{sum(self.kinds.values())} parts of {len(self.kinds)} kinds",
            f"{dict(self.verdicts)}, notes {dict(self.notes)}",
            f"wrong {len(self.wrong)} {self.wrong[:5]}",
            f"hanging {len(self.hanging)} {self.hanging[:5]}",
            f"not converged {len(self.unsolved)} {self.unsolved[:20]}",
            f"compared with the reference {self.reference} of {self.asked}",
            f"processor time: median {np.median(times):.1f} ms, p95 {np.percentile(times, 95):.1f} ms, max "
            f"{times.max():.0f} ms",
        )
        return "; ".join(lines)


def machine(seed: int, count: Count, *, reference: bool = True) -> None:
    """One network that the tests expand. Every tenth has no relief."""
    drawn = build(seed, reliefs=seed % 10 != 9)
    count.parts.append(drawn.components)
    _examine(seed, states(drawn, 1, seed), count, reference)


def circuit(seed: int, count: Count, *, reference: bool = True) -> None:
    """One circuit in the language. Every tenth has no relief but those inside its parts."""
    read = language.read(text(seed, states=1, reliefs=seed % 10 != 9)).circuit
    assert read is not None, seed
    count.parts.append(len(read.parts))
    count.kinds.update(part.kind for part in read.parts.values())
    network = assemble(read)
    solution = _examine(seed, network, count, reference)
    if solution.states[0].verdict is Verdict.SOLVED:
        count.wrong += [f"{seed}: {said}" for said in misses(Results(read, network, solution), 0)]


def _examine(seed: int, network: Network, count: Count, reference: bool) -> Solution:
    """Solve one circuit and hold the answer against the independent checks."""
    count.circuits += 1
    began = time.process_time()
    solution = solve(network)
    state = solution.states[0]
    count.seconds.append(time.process_time() - began)
    if count.seconds[-1] > HANGING:
        count.hanging.append(seed)
    count.verdicts[state.verdict.value] += 1
    count.notes.update(state.notes)
    if state.verdict is Verdict.NOT_CONVERGED:
        count.unsolved.append(seed)
    if state.verdict is not Verdict.SOLVED:
        return solution
    if state.certificate is None or not state.certificate.holds():
        count.wrong.append(f"{seed}: no certificate")
    try:
        closes(network, state, 0)
    except AssertionError as error:
        count.wrong.append(f"{seed}: {str(error)[:80]}")
    if reference and not state.notes and not state.void:
        _compare(seed, network, state, count)
    return solution


def _compare(seed: int, network: Network, state: StateSolution, count: Count) -> None:
    """The scalar reference on the whole circuit: its flows must be the same, and the pressures that are fixed."""
    count.asked += 1
    t = tabulate(network)
    scaled = scale(t)
    other = scalar.solve_state(scaled, 0, deadline=time.thread_time() + HANGING)
    if other is None or not holds(certify(t, other))[0]:
        return
    count.reference += 1
    largest = max(float(np.abs(state.q).max(initial=0.0)), 1e-9)
    fixed = [n for n in range(len(network.nodes)) if n not in state.ranges]
    flows = float(np.abs(state.q - other.q[0]).max(initial=0.0)) / largest
    pressures = float(np.abs(state.p - other.p[0])[fixed].max(initial=0.0)) / max(float(state.p.max()), 1e5)
    if flows > ALIKE or pressures > ALIKE:
        count.wrong.append(f"{seed}: differs from the reference, flows {flows:.1e}, pressures {pressures:.1e}")


def main() -> None:
    examine = {"kinds": circuit, "machines": machine}[sys.argv[1] if len(sys.argv) > 1 else "kinds"]
    circuits = int(sys.argv[2]) if len(sys.argv) > 2 else 10_000
    first = int(sys.argv[3]) if len(sys.argv) > 3 else 100_000
    count = Count()
    for n in range(circuits):
        examine(first + n, count, reference=n % REFERENCE == 0)
        if n % 500 == 499:
            print(count.text(), flush=True)
    print(count.text())


if __name__ == "__main__":
    main()
