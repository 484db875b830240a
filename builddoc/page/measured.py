"""Readings beside predictions as HTML: a table, and a small chart of measured against predicted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..accepting import machine_print
from ..checks.base import Finding
from ..circuit import Circuit
from ..history import records
from ..history.readings import Outcome, outcomes
from ..history.records import CHANGE, PREDICTION, Record, judged, words
from ..history.registry import Entry
from ..language.readings import Reading, Readings, read_readings
from ..messages import Message
from .draft import PREFIX, Draft, Noted, message_to_block, to_block
from .environment import fill
from .named import errors_of, named_entry

WIDE = 300  # of the chart, px
LABEL = 48  # letters of a row's label
SPAN = 0.5  # the chart reaches from 1 - SPAN to 1 + SPAN of the prediction


@dataclass(frozen=True, slots=True)
class Shape:
    """px. left: where the scale begins; row: height of a row; down: of a bar's middle in it. narrow: for small screens,
    where the name stands above its bar."""

    narrow: bool
    left: int
    row: int
    down: int


SHAPES = (Shape(False, 330, 22, 11), Shape(True, 20, 36, 26))


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
    others = [entry for entry in entries if entry.measured]
    entries = [entry for entry in entries if not entry.measured]
    if block is not None:
        circuit, trouble = _circuit(block, path, entries)
        messages += [trouble] if trouble is not None else []
    rows: list[Outcome] = []
    if block is not None and circuit is not None:
        withdrawn = _withdrawn(block, circuit)
        if withdrawn is not None:
            later = records.later(Record(block, circuit, (), [e.head for e in entries]))
            return _withdrawn_draft(block, withdrawn, later if later.outcome == "finding" else None, text, path)
        rows, wrong = outcomes(block, circuit, _readings_of(others))
        messages += wrong
    said = tuple(message_to_block(m, path) for m in messages)
    if block is None or circuit is None or any(m.level == "error" for m in said):
        return Draft(messages=said, text=text)
    record = Record(block, circuit, rows, [e.head for e in entries])
    found = [f for f in judged(record) if f.outcome == "finding"]
    values = {
        "title": _title(block),
        "withdrawn": "",
        "rows": [(row.reading.text, *words(row, circuit), row.word, row.why, row.trend) for row in rows],
        "later": next((f for f in found if f.rule == CHANGE), None),
        "wrong": any(f.rule == PREDICTION for f in found),
        "tally": _tally(rows),
        "charts": [(shape, _bars(rows, shape)) for shape in SHAPES],
        "wide": WIDE,
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


def _readings_of(entries: Sequence[Entry]) -> list[Reading]:
    """All readings of other blocks; a block that cannot be read says so where it stands."""
    blocks = (read_readings(entry.text)[0] for entry in entries)
    return [reading for block in blocks if block is not None for reading in block.readings]


def _withdrawn(block: Readings, circuit: Circuit) -> Message | None:
    """What to say where the circuit is not the one that was measured any more."""
    if not records.rewritten(block, circuit):
        return None
    now = machine_print(circuit)
    return Message(
        "readings-withdrawn",
        f"readings withdrawn: the circuit of revision {block.revision} was changed after they were taken",
        block.seen_place,
        f"measure again; if the machine is what it was and only its description was put right, write seen: {now}",
        "warning",
    )


def _withdrawn_draft(block: Readings, message: Message, later: Finding | None, text: str, path: str) -> Draft:
    """The readings as typed, compared with nothing."""
    rows = [(r.text, r.text.value, "–", "–", "withdrawn", "", "") for r in block.readings]
    why = f"Withdrawn: the circuit of revision {block.revision} was changed after these readings were taken. They are "
    why += "shown as they were written down and say nothing about the circuit as it is now."
    values = {"title": _title(block), "rows": rows, "withdrawn": why, "later": later, "tally": "", "charts": [],
              "p": PREFIX}  # fmt: skip
    html = fill("readings.html", **values)
    return Draft(html=html, digest=f"<p>{why}</p>", messages=(message_to_block(message, path),), text=text)


def _title(block: Readings) -> str:
    return block.title or f"{block.machine}, revision {block.revision}: readings"


def _circuit(block: Readings, path: str, entries: Sequence[Entry]) -> tuple[Circuit | None, Message | None]:
    from .. import language

    entry, trouble, registry = named_entry(block.machine, block.revision, block.place, path, entries)
    if entry is None:
        return None, trouble
    reading = language.read(entry.text, entry.path, entry.line, entry.column, registry)
    if reading.circuit is None:
        return None, errors_of(entry, reading.messages, block.place)
    return reading.circuit, None


def _tally(rows: Sequence[Outcome]) -> str:
    words = {"agrees": "agree", "disagrees": "disagree", "not comparable": "cannot be compared"}
    counts = [(sum(row.word == word for row in rows), said) for word, said in words.items()]
    return f"Of {len(rows)} readings " + ", ".join(f"{n} {said}" for n, said in counts if n) + "."


def _bars(rows: Sequence[Outcome], shape: Shape) -> list[Bar]:
    """Rows that have a prediction to be held against; a temperature has no ratio and is left out."""
    bars: list[Bar] = []
    for row in rows:
        if row.word == "not comparable" or not row.predicted or not row.predicted[0] or row.dimension == "temperature":
            continue
        wide = min(row.tolerance / abs(row.predicted[0]), SPAN)
        ratio = row.value / row.predicted[0]
        at = min(max(ratio, 1 - SPAN), 1 + SPAN)
        y = len(bars) * shape.row + shape.down
        low, high = _x(1 - wide, shape), _x(1 + wide, shape)
        bars.append(Bar(_label(row), y, low, high - low, _x(at, shape), row.word, at != ratio))
    return bars


def _label(row: Outcome) -> str:
    words = ", ".join(filter(None, (row.reading.text.point, row.reading.text.state)))
    return words if len(words) <= LABEL else f"{words[: LABEL - 1]}…"


def _x(ratio: float, shape: Shape) -> float:
    return round(shape.left + (ratio - 1 + SPAN) / (2 * SPAN) * WIDE, 1)
