"""Every kind shows itself in circuits of its own: it is read without a word, and every state has a proven answer."""

from __future__ import annotations

import pytest
from builddoc import kinds
from builddoc.kinds.bench import benches
from builddoc.pipeline import solve_text

CIRCUITS = {
    f"{name} {title}".strip(): (name, text)
    for name, kind in sorted(kinds.registry().items())
    for title, text in benches(kind).items()
}


@pytest.mark.parametrize("which", CIRCUITS)
def test_bench_circuit(which):
    name, text = CIRCUITS[which]
    solved = solve_text(text)
    assert not solved.messages and solved.case is not None
    assert any(part.kind == name for part in solved.circuit.parts.values())
    for state, answer in zip(solved.case.results.states, solved.case.solution.states, strict=True):
        assert answer.certificate is not None and answer.certificate.holds(), (state, answer.verdict, answer.reason)
