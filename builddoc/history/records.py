"""The two rules on what was measured: does it agree with what is predicted, and is it of the machine as it stands.

They are decided here and not beside the other rules: readings are a block of their own, on any page, and which revision
is the newest is known to the registry alone. A circuit's findings need none of that, and nothing reaches back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from .. import quantities
from ..accepting import machine_print
from ..checks.base import Finding, RuleText
from ..circuit import Circuit
from ..language.readings import Readings
from .claims import shown
from .facts import Facts, Figure
from .readings import RECORDED, Outcome
from .registry import Head

PREDICTION, CHANGE = "record-prediction", "record-change"


@dataclass(frozen=True, slots=True)
class Record:
    """A readings block, the circuit of the revision it was taken on, its readings beside their predictions, and the
    heads of all revisions of the machine."""

    block: Readings
    circuit: Circuit
    rows: Sequence[Outcome]
    heads: Sequence[Head]


@dataclass(frozen=True, slots=True)
class RecordRule(RuleText):
    """check: Record -> findings of all its readings, or of the block."""

    check: Callable[[Record], Iterable[Finding]]


def words(row: Outcome, circuit: Circuit) -> tuple[str, str, str]:
    """Measured, predicted and tolerance, in the circuit's display units."""
    units = Facts("", "", circuit.units, ())
    figure = Figure(row.dimension, ())
    measured = shown(units, figure, (row.value, row.value))
    wanted = {"temperature": "temperature difference", "pressure": "pressure difference"}.get(
        row.dimension, row.dimension
    )
    allowed = "–" if row.tolerance != row.tolerance else f"± {quantities.show(row.tolerance, wanted, circuit.units[0])}"
    return measured, shown(units, figure, row.predicted), allowed


def _prediction(record: Record) -> Iterable[Finding]:
    rule = RULES[PREDICTION]
    for row in record.rows:
        text, place = row.reading.text, row.reading.place("point")
        measured, predicted, allowed = words(row, record.circuit)
        line = f"{text.point} was read as {measured}"
        if row.word == "not comparable" and text.point.rpartition(".")[2] in RECORDED:
            yield Finding(rule.id, "does not apply", rule.signal, text.point, f"{line}: kept for its trend",
                          state=text.state, place=place)  # fmt: skip
            continue
        if row.word == "not comparable":
            yield Finding(rule.id, "not checked", rule.signal, text.point, line, state=text.state, missing=row.why,
                          place=place)  # fmt: skip
            continue
        assert row.predicted is not None
        figures = {"measured": row.value, "predicted": row.predicted[0], "tolerance": row.tolerance}
        line = f"{line}, predicted {predicted} {allowed}"
        wrong = row.word == "disagrees"
        yield Finding(
            rule.id, "finding" if wrong else "ok", rule.signal, text.point, line,
            text="The figure on the page, the instrument or the machine is not what it is taken for." if wrong else "",
            remedy=rule.remedy if wrong else "", state=text.state, figures=figures, place=place,
        )  # fmt: skip


def rewritten(block: Readings, circuit: Circuit) -> bool:
    """The circuit of the revision that was measured is not what it was then: the print that the block kept differs."""
    return bool(block.seen) and block.seen != machine_print(circuit)


def _change(record: Record) -> Iterable[Finding]:
    rule, block = RULES[CHANGE], record.block
    if rewritten(block, record.circuit):
        yield Finding(
            rule.id, "finding", rule.signal, block.machine,
            f"The circuit of revision {block.revision} was changed after its readings were taken",
            text="They are shown as they were written down, and are held against nothing.", remedy=rule.remedy,
            place=block.place,
        )  # fmt: skip
    else:
        yield later(record)


def later(record: Record) -> Finding:
    """Whether a revision was built after the one that was measured."""
    rule, block = RULES[CHANGE], record.block
    own = next((h for h in record.heads if h.revision == block.revision), None)
    built = [h for h in record.heads if h.status == "built" and h.date]
    others = [h.revision for h in record.heads if h.status == "built" and not h.date and h.revision != block.revision]
    newest = max(built, key=lambda head: head.date, default=None)
    where = f"The readings of revision {block.revision}"
    if own is not None and len(record.heads) == 1:
        return Finding(rule.id, "ok", rule.signal, block.machine, f"{where} are those of the only one there is")
    if own is None or not own.date or newest is None or others:
        lacking = "this revision" if own is None or not own.date else f"revision {', '.join(others)}"
        return Finding(rule.id, "not checked", rule.signal, block.machine, f"{where}: whether it still stands is open",
                       missing=f"the 'date' of {lacking}", place=block.place)  # fmt: skip
    if newest.date <= own.date:
        return Finding(rule.id, "ok", rule.signal, block.machine, f"{where} are those of the machine as it stands")
    return Finding(
        rule.id, "finding", rule.signal, block.machine,
        f"These were taken on revision {block.revision}. The machine has been at revision {newest.revision} since "
        f"{newest.date}: they say nothing about it",
        text="What is predicted is worked out anew for every revision, and so is every finding; what was read is not.",
        remedy=rule.remedy, place=block.place,
    )  # fmt: skip


RULES: Mapping[str, RecordRule] = {
    rule.id: rule
    for rule in (
        RecordRule(
            id=PREDICTION,
            title="What was measured agrees with what is predicted",
            signal="NOTICE",
            reason="Who reads the page trusts a figure that nobody measured, or that the machine has refuted.",
            criterion="|measured - predicted|, at the oil temperature and speed that were read, at most the tolerance "
            "of the instrument and of a careful reading: pressure and flow 5 %, times and forces 10 %, temperature 8 "
            "K, suction 0.05 bar",
            remedy="Measure again, look at the instrument, then at the data of the circuit; write down what explains "
            "it.",
            source="tolerances: common practice, no source, unless the instrument's class is stated",
            check=_prediction,
        ),
        RecordRule(
            id=CHANGE,
            title="What was measured was measured on the machine as it stands",
            signal="NOTICE",
            reason="The machine was rebuilt since: yesterday's reading seems to confirm today's figure.",
            criterion="no revision that was built has a later date than the one the readings name, and its circuit is "
            "still that of the print under `seen`, where the block keeps one. Findings and figures need no such check: "
            "they are worked out anew for every revision whenever the site is built, an acceptance falls when its "
            "finding changes, and `compare` lists what is new, gone, worse and the same",
            remedy="Measure again on the new revision, and keep the old readings beside theirs.",
            source="common practice, no source",
            check=_change,
        ),
    )
}


def judged(record: Record) -> list[Finding]:
    """Outcomes of both rules for a readings block."""
    return [finding for rule in RULES.values() for finding in rule.check(record)]
