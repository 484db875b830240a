"""Where states start again, and that it is of use."""

from __future__ import annotations

import numpy as np
from builddoc import language
from builddoc.assemble import assemble
from builddoc.network import Network
from builddoc.solution import Verdict
from builddoc.solver import attempts, polytopes, solve
from builddoc.solver.equations import Equations
from builddoc.solver.polytopes import Polytope, extremes
from builddoc.solver.scaling import scale
from builddoc.solver.starts import NEAR_MU, NEAREST, neighbours
from builddoc.solver.tables import tabulate
from pytest import MonkeyPatch

from .random_circuits import text


def _network(seed: int) -> Network:
    read = language.read(text(seed, states=8)).circuit
    assert read is not None
    return assemble(read)


def test_neighbours_are_those_with_the_fewest_different_numbers() -> None:
    eq = Equations(scale(tabulate(_network(19))))
    states = np.arange(eq.data.shape[0])
    X = np.arange(states.size)[:, None] * np.ones((1, eq.width))
    differing = (eq.data != eq.data[0]).sum(axis=1)
    tried: dict[int, set[int]] = {}
    taken: list[int] = []
    for _ in range(NEAREST):  # one after the other
        found = neighbours(eq, states[:1], states[1:], X, tried)
        assert found is not None and not found.state.any() and tuple(found.mu) == NEAR_MU
        (near,) = {int(x) for x in found.X[:, 0]}
        taken.append(near)
    assert neighbours(eq, states[:1], states[1:], X, tried) is None  # enough
    assert len(set(taken)) == NEAREST and tried == {0: set(taken)}
    assert [differing[s] for s in taken] == sorted(differing[1:])[:NEAREST]


def test_states_that_a_cold_start_does_not_solve_start_from_their_neighbours() -> None:
    network = _network(19)
    together = solve(network).states
    assert all(state.verdict is Verdict.SOLVED for state in together)
    by_neighbour = [s for s, state in enumerate(together) if state.certificate and state.certificate.method != "path"]
    assert by_neighbour  # else this circuit says nothing any more: take another
    assert all(together[s].certificate.holds() for s in by_neighbour)  # type: ignore[union-attr]
    alone = [solve(network.only([s]), fallback_seconds=0.5).states[0] for s in by_neighbour]
    assert any(state.verdict is Verdict.NOT_CONVERGED for state in alone)


def test_programs_stacked_or_one_by_one_say_the_same(monkeypatch: MonkeyPatch) -> None:
    rng = np.random.default_rng(4)
    box = np.concatenate([np.eye(3), -np.eye(3)])
    many = [
        Polytope(
            np.concatenate([box, rng.normal(size=(4, 3))]),
            np.concatenate([np.ones(6), rng.uniform(-2.0, 0.5, 4)]),
            rng.normal(size=(2, 3)),
        )
        for _ in range(40)
    ]
    together = extremes(many)
    monkeypatch.setattr(polytopes, "STACKED", 3)
    assert None in together and any(found is not None for found in together)
    for one, other in zip(together, extremes(many), strict=True):
        assert (one is None) is (other is None)
        if one is not None and other is not None:
            np.testing.assert_allclose(one, other, atol=1e-7)


def test_few_spools_are_searched_before_what_takes_longer(monkeypatch: MonkeyPatch) -> None:
    """With up to three of them the search seldom fails, and the time for fallbacks is short: states with a plain answer
    were given up because neighbours and other paths had used it."""
    asked: list[str] = []
    network = _network(19)
    monkeypatch.setattr(attempts, "in_batches", lambda rows, eq: [])  # the first batch leaves every state
    for name in ("_search", "_from_neighbours"):
        monkeypatch.setattr(attempts, name, lambda *args, name=name: asked.append(name))
    monkeypatch.setattr(attempts, "FEW_PILOTS", len(network.pilots))
    attempts.attempt(tabulate(network), attempts.Budget(10.0, 0.0))
    assert asked[0] == "_search"
    asked.clear()
    monkeypatch.setattr(attempts, "FEW_PILOTS", -1)
    attempts.attempt(tabulate(network), attempts.Budget(10.0, 0.0))
    assert asked[0] == "_from_neighbours"
