"""What a kind shows besides its first circuit: each is read without a word, and every state has a proven answer."""

from __future__ import annotations

import pytest
from builddoc import kinds
from builddoc.kinds.bench import benches
from builddoc.pipeline import solve_text

FURTHER = {
    f"{name}, {title}": (name, text)
    for name, kind in sorted(kinds.registry().items())
    for title, text in benches(kind).items()
    if title
}


@pytest.mark.parametrize("which", FURTHER)
def test_further_bench_circuit(which):
    name, text = FURTHER[which]
    solved = solve_text(text)
    assert not solved.messages and solved.case is not None
    assert any(part.kind == name for part in solved.circuit.parts.values())
    for state, answer in zip(solved.case.results.states, solved.case.solution.states, strict=True):
        assert answer.certificate is not None and answer.certificate.holds(), (state, answer.verdict, answer.reason)


def test_the_directional_valve_shows_every_feed_and_position():
    """By hand: 18.05 L/min on 50/28 mm: 153 mm/s; what comes back, 12.4 L/min, drives the second at 105 mm/s; in
    `regen` it goes into the cap side, so the rod's own 24.6 cm2 counts."""
    made = benches(kinds.find("directional valve"))
    written = " ".join(made.values())
    assert all(word in written for word in ("feed: tandem", "feed: series", "feed: parallel", "power beyond: yes",
                                            "regen: yes", "float: yes", "port reliefs", "make up: yes",
                                            "ports in centre: to tank", "centre: closed", " 92 %"))  # fmt: skip

    def speeds(title: str, state: str) -> list[float]:
        case = solve_text(made[title]).case
        s = case.results.states.index(state)
        return [round(1e3 * float(v)) for v in case.results.v[s]]

    assert speeds("series feed", "both, pressures add up") == [153, 105]
    assert speeds("series feed", "both, too much") == [0, 0]
    assert speeds("tandem feed, power beyond", "both, the first has it all") == [153, 0]
    assert speeds("regenerative position", "out, fast and weak") == [round(18.05e6 / 60 / (56**2 * 3.14159 / 4))]
