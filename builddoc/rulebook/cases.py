"""The example circuits of a rule, solved here and now, and what the rule says about them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..checks.base import Case, Finding
from ..checks.examples import Example, examples

SHOWN: Mapping[str, str] = {"triggers": "A circuit that brings it about", "passes": "A circuit that passes"}
"""Case of an example -> its heading."""
OF_FAULTS = ("fault-load-falls",)
"""Rules that look only at the faults that are tried without being asked."""
_WORST = {"finding": 0, "not checked": 1, "ok": 2, "does not apply": 3}


@dataclass(frozen=True, slots=True)
class Outcome:
    """case: a key of SHOWN. text: the circuit as YAML. said: what the rule says of it, as `WARNING: feed is …`."""

    case: str
    text: str
    said: str


def outcomes(rule: str) -> list[Outcome]:
    """The examples of a rule with what it says about each; none for a rule without examples. An example that the rule
    does not answer as it should raises ValueError: a page must not show it."""
    return [_tried(rule, example) for example in _examples(rule)]


def _examples(rule: str) -> list[Example]:
    of_rule = examples().get(rule)
    return [of_rule.examples[case] for case in SHOWN if case in of_rule.examples] if of_rule is not None else []


def _tried(rule: str, example: Example) -> Outcome:
    """Only the one rule is asked: a page of a rule has no need of the other hundred, nor of a drawing."""
    found = [f for f in judged(rule, example.text) if example.subject in ("", f.subject)]
    found.sort(key=lambda f: _WORST[f.outcome])
    fitting = [f for f in found if f.outcome == example.outcome]
    if not fitting:
        said = "; ".join(f"{f.outcome}: {f.headline}" for f in found) or "nothing"
        raise ValueError(f"example '{example.case}' of {rule}: expected '{example.outcome}', the rule says {said}")
    f = fitting[0]
    word = f.signal if f.outcome == "finding" else f.outcome
    return Outcome(example.case, example.text, f"{word}: {f.headline}")


def judged(rule: str, text: str) -> list[Finding]:
    """What one rule says about a circuit's text. Raises ValueError where the text has errors."""
    from .. import checks, faults, language, solver
    from ..assemble import assemble
    from ..results import Results

    reading = language.read(text)
    if reading.circuit is None:
        raise ValueError("; ".join(str(message) for message in reading.messages))
    circuit = reading.circuit
    network = assemble(circuit)
    solution = solver.solve(network)
    case = Case(circuit, network, solution, Results(circuit, network, solution))
    if rule in OF_FAULTS:
        case = faults.solve_with(case).case
    return list(checks.rules()[rule].check(case))
