"""Every kind shows itself in a circuit of its own: it is read without a word, and every state has a proven answer."""

from __future__ import annotations

import numpy as np
import pytest
from builddoc import kinds
from builddoc.checks import heat
from builddoc.kinds.bench import bench
from builddoc.pipeline import solve_text
from builddoc.report.power import losses

KINDS = sorted(kinds.registry().values(), key=lambda kind: kind.name)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_bench_circuit(kind):
    solved = solve_text(bench(kind))
    assert not solved.messages and solved.case is not None
    assert any(part.kind == kind.name for part in solved.circuit.parts.values())
    for name, state in zip(solved.case.results.states, solved.case.solution.states, strict=True):
        assert state.certificate is not None and state.certificate.holds(), (name, state.verdict, state.reason)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_heat_part_by_part_is_all_the_heat(kind):
    """What the shafts take and the loads do not get arises somewhere: by part and line it adds up, but for what oil
    that is missing takes."""
    case = solve_text(bench(kind)).case
    total, found = heat.into_oil(case), sum(losses(case).values())
    whole = np.array([s.certificate is not None and s.certificate.void < 1e-6 for s in case.solution.states])
    known = np.isfinite(total) & np.isfinite(found) & whole
    assert found[known] == pytest.approx(total[known], rel=1e-6, abs=0.1)
