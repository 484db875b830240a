"""Every kind shows itself in a circuit of its own: it is read without a word, and every state has a proven answer."""

from __future__ import annotations

import pytest
from builddoc import kinds
from builddoc.kinds.bench import bench
from builddoc.pipeline import solve_text

KINDS = sorted(kinds.registry().values(), key=lambda kind: kind.name)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_bench_circuit(kind):
    solved = solve_text(bench(kind))
    assert not solved.messages and solved.case is not None
    assert any(part.kind == kind.name for part in solved.circuit.parts.values())
    for name, state in zip(solved.case.results.states, solved.case.solution.states, strict=True):
        assert state.certificate is not None and state.certificate.holds(), (name, state.verdict, state.reason)
