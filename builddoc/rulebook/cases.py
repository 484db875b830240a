"""The example circuits of a rule, solved here and now, and what the rule says about them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from .. import checks
from ..checks.base import Case, Finding, RuleText
from ..checks.examples import Example, Set, examples
from ..history import records

SHOWN: Mapping[str, str] = {
    "triggers": "A circuit that brings it about", "not checked": "A circuit that leaves it open", "passes": "A circuit "
    "that passes",
}  # fmt: skip
"""Case of an example -> its heading. One that leaves it open is shown where nothing brings it about."""
OF_FAULTS = ("fault-load-falls",)
"""Rules that look only at the faults that are tried without being asked."""
_WORST = {"finding": 0, "not checked": 1, "ok": 2, "does not apply": 3}


@dataclass(frozen=True, slots=True)
class Outcome:
    """case: a key of SHOWN. text: the circuit as YAML. said: what the rule says of it, as `WARNING: feed is …`.
    beside: other blocks that belong to it, by what they are."""

    case: str
    text: str
    said: str
    beside: Mapping[str, str]


def every_rule() -> Mapping[str, RuleText]:
    """All rules by id: those on circuits, and those on what was measured."""
    return {**checks.rules(), **records.RULES}


def cases_of(rule: str) -> Set:
    """The examples of a rule, and the cases that it cannot have."""
    return examples().get(rule, Set({}, {}))


def outcomes(rule: str) -> list[Outcome]:
    """The examples of a rule with what it says about each; none for a rule without examples. An example that the rule
    does not answer as it should raises ValueError: a page must not show it."""
    own = cases_of(rule).examples
    skipped = "not checked" if "triggers" in own else ""
    return [_tried(own[case]) for case in SHOWN if case in own and case != skipped]


def _tried(example: Example) -> Outcome:
    """Only the one rule is asked: a page of a rule has no need of the other hundred, nor of a drawing."""
    found = [f for f in judged(example) if example.subject in ("", f.subject)]
    found.sort(key=lambda f: _WORST[f.outcome])
    fitting = [f for f in found if f.outcome == example.outcome]
    if not fitting:
        said = "; ".join(f"{f.outcome}: {f.headline}" for f in found) or "nothing"
        raise ValueError(
            f"example '{example.case}' of {example.rule}: expected '{example.outcome}', the rule says {said}"
        )
    f = fitting[0]
    word = f.signal if f.outcome == "finding" else f.outcome
    missing = f". Missing: {f.missing}." if f.missing else ""
    return Outcome(example.case, example.text, f"{word}: {f.headline}{missing}", example.beside)


def judged(example: Example) -> list[Finding]:
    """What its rule says about an example. Raises ValueError where its text has errors."""
    if example.rule in records.RULES:
        return list(records.RULES[example.rule].check(_record(example)))
    return list(checks.rules()[example.rule].check(solved(example.text, example.rule in OF_FAULTS)))


@lru_cache(maxsize=512)
def solved(text: str, with_faults: bool = False) -> Case:
    """A circuit and what was found. Many examples of different rules are one and the same circuit: it is solved once.
    Raises ValueError where the text has errors."""
    from .. import faults, language, solver
    from ..assemble import assemble
    from ..results import Results

    reading = language.read(text)
    if reading.circuit is None:
        raise ValueError("; ".join(str(message) for message in reading.messages))
    circuit = reading.circuit
    network = assemble(circuit)
    solution = solver.solve(network)
    case = Case(circuit, network, solution, Results(circuit, network, solution))
    return faults.solve_with(case).case if with_faults else case


def _record(example: Example) -> records.Record:
    """The circuit of an example with its readings, and every revision that there is of it."""
    from .. import language
    from ..history.readings import outcomes as held_against
    from ..history.registry import head_of
    from ..language.readings import read_readings

    circuit = language.read(example.text).circuit
    block, messages = read_readings(example.beside["readings"])
    if circuit is None or block is None:
        raise ValueError(f"example '{example.case}' of {example.rule}: {'; '.join(map(str, messages))}")
    rows, wrong = held_against(block, circuit)
    if wrong:
        raise ValueError(f"example '{example.case}' of {example.rule}: {'; '.join(map(str, wrong))}")
    later = [example.beside[key] for key in ("later revision",) if key in example.beside]
    return records.Record(block, circuit, rows, [head_of(text) for text in (example.text, *later)])
