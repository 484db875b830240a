"""Readings beside predictions as HTML: a table, and a small chart of measured against predicted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..circuit import Circuit
from ..history.readings import Outcome, outcomes
from ..history.records import CHANGE, PREDICTION, Record, judged, words
from ..history.registry import Entry
from ..language.readings import Readings, read_readings
from ..language.talk import suggestion
from ..messages import Message
from .draft import ABROAD, PREFIX, Draft, Noted, message_to_block, to_block
from .environment import fill

ROW, LEFT, WIDE = 22, 190, 300  # of the chart, px
SPAN = 0.5  # the chart reaches from 1 - SPAN to 1 + SPAN of the prediction


@dataclass(frozen=True, slots=True)
class Bar:
    """A row of the chart, px: the tolerance as a bar, the reading as a dot; beyond: it lies outside the chart."""

    label: str
    y: float
    start: float
    width: float
    dot: float
    word: str
    beyond: bool


def readings_draft(text: str, path: str, entries: Sequence[Entry]) -> Draft:
    """The block as a draft, as `rendering.draft` gives one. entries: all revisions of its machine."""
    block, messages = read_readings(text, path)
    circuit = None
    if block is not None:
        circuit, trouble = _circuit(block, path, entries)
        messages += [trouble] if trouble is not None else []
    rows: list[Outcome] = []
    if block is not None and circuit is not None:
        rows, wrong = outcomes(block, circuit)
        messages += wrong
    said = tuple(message_to_block(m, path) for m in messages)
    if block is None or circuit is None or any(m.level == "error" for m in said):
        return Draft(messages=said, text=text)
    record = Record(block, circuit, rows, [e.head for e in entries])
    found = [f for f in judged(record) if f.outcome == "finding"]
    values = {
        "title": block.title or f"{block.machine}, revision {block.revision}: readings",
        "rows": [(row.reading.text, *words(row, circuit), row.word, row.why, row.trend) for row in rows],
        "later": next((f for f in found if f.rule == CHANGE), None),
        "wrong": any(f.rule == PREDICTION for f in found),
        "tally": _tally(rows),
        "bars": _bars(rows),
        "chart": (LEFT, WIDE, ROW),
        "p": PREFIX,
    }
    return Draft(
        html=fill("readings.html", **values),
        digest=f"<p>{_tally(rows)}</p>",
        messages=said,
        findings=tuple(
            Noted(f.signal, f.rule, f.headline, f.state, to_block(f.place, path), f.subject) for f in found
        ),
        text=text,
    )


def _circuit(block: Readings, path: str, entries: Sequence[Entry]) -> tuple[Circuit | None, Message | None]:
    from .. import language
    from ..history.registry import Registry

    registry = Registry([replace(e, path=ABROAD + e.path) if e.path == path else e for e in entries])
    found = registry.find(block.machine, block.revision)
    if not found:
        known = registry.revisions(block.machine)
        hint = suggestion(block.revision, known, "there is") if known else "its block stands on this or another page"
        what = f"there is no revision '{block.revision}' of '{block.machine}'"
        return None, Message("revision-unknown", what, block.place, hint)
    entry = found[0]
    reading = language.read(entry.text, entry.path, entry.line, entry.column, registry)
    if reading.circuit is None:
        first = next(m for m in reading.messages if m.level == "error")
        what = f"revision {block.revision} has errors itself"
        return None, Message("base-wrong", what, block.place, f"first: {first}")
    return reading.circuit, None


def _tally(rows: Sequence[Outcome]) -> str:
    words = {"agrees": "agree", "disagrees": "disagree", "not comparable": "cannot be compared"}
    counts = [(sum(row.word == word for row in rows), said) for word, said in words.items()]
    return f"Of {len(rows)} readings " + ", ".join(f"{n} {said}" for n, said in counts if n) + "."


def _bars(rows: Sequence[Outcome]) -> list[Bar]:
    """Rows that have a prediction to be held against; a temperature has no ratio and is left out."""
    bars: list[Bar] = []
    for row in rows:
        if row.word == "not comparable" or not row.predicted or not row.predicted[0] or row.dimension == "temperature":
            continue
        wide = min(row.tolerance / abs(row.predicted[0]), SPAN)
        ratio = row.value / row.predicted[0]
        at = min(max(ratio, 1 - SPAN), 1 + SPAN)
        y = len(bars) * ROW + ROW / 2
        bars.append(
            Bar(
                row.reading.text.point, y, _x(1 - wide), _x(1 + wide) - _x(1 - wide), _x(at), row.word,
                at != ratio,
            )
        )  # fmt: skip
    return bars


def _x(ratio: float) -> float:
    return round(LEFT + (ratio - 1 + SPAN) / (2 * SPAN) * WIDE, 1)
