"""Readings beside predictions: solved again at the temperature and speed that were measured, with a tolerance."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from .. import quantities
from ..circuit import Circuit, State
from ..language.readings import Reading, Readings
from ..language.talk import suggestion
from ..messages import Message
from ..tolerances import careful
from .facts import Cell, Facts, facts

Point = tuple[str, str, tuple[tuple[str, str], ...]]
"""What was read, in which state, with which speeds."""
LATEST = "9999"  # later than any date
RECORDED = {"drift": "length", "leak-down": "length", "droop": "share"}  # no prediction: kept for the trend


@dataclass(frozen=True, slots=True)
class Outcome:
    """word: "agrees", "disagrees" or "not comparable". value, tolerance: SI. predicted: a cell. dimension: of them.
    why: of "not comparable", else how the tolerance came about. trend: against the first reading of the same point in
    the same state, "" = it is the first."""

    reading: Reading
    word: str
    dimension: str
    value: float
    predicted: Cell = None
    tolerance: float = math.nan
    why: str = ""
    trend: str = ""


def outcomes(
    block: Readings, circuit: Circuit, others: Sequence[Reading] = ()
) -> tuple[list[Outcome], list[Message]]:
    """Each reading against the prediction at its own conditions, and what is wrong with the readings. others: further
    readings of the same revision, for the trend."""
    said: list[Message] = []
    variants: dict[str, State] = {}
    labels: list[str] = []
    for reading in block.readings:
        state = _state(reading, circuit, said)
        label = f"{len(variants)}" if state is not None else ""
        if state is not None:
            same = next((name for name, other in variants.items() if other == replace(state, name=other.name)), "")
            label = same or label
            variants.setdefault(label, replace(state, name=label))
        labels.append(label)
    if said:
        return [], said
    found = solved_in(circuit, variants) if variants else None
    rows = []
    for reading, label in zip(block.readings, labels, strict=True):
        row = _outcome(reading, label, found, circuit, said)
        if row is not None:
            rows.append(row)
    return _trends(rows, others), said


def solved_in(circuit: Circuit, states: dict[str, State]) -> Facts:
    """The circuit's figures in other states than its own."""
    from .. import solver
    from ..assemble import assemble
    from ..checks.base import Case
    from ..results import Results

    other = replace(circuit, states=states)
    network = assemble(other)
    solution = solver.solve(network)
    return facts(Case(other, network, solution, Results(other, network, solution)))


def _state(reading: Reading, circuit: Circuit, said: list[Message]) -> State | None:
    """The circuit's state with the oil temperature and the speeds that were measured."""
    text = reading.text
    if text.point.rpartition(".")[2] in RECORDED:
        return None
    states = circuit.states
    name = text.state or (next(iter(states)) if len(states) == 1 else "")
    if name not in states:
        what = f"there is no state '{name}' in revision {circuit.revision}" if name else "in which state was it read?"
        said.append(Message("reading-state", what, reading.place("state"), suggestion(name, states, "states")))
        return None
    state = states[name]
    orders = dict(state.orders)
    for part, written in text.speed.items():
        if not _drives(circuit, part):
            drivers = [other for other in circuit.parts if _drives(circuit, other)]
            what = f"'{part}' is no engine or motor of the circuit"
            said.append(Message("reading-speed", what, reading.place("speed"), suggestion(part, drivers, "there is")))
            return None
        value = _parsed(written, "rotational speed", reading, "speed", said)
        if value is None:
            return None
        orders[part, "speed"] = value
    return replace(state, orders=orders, oil_temperature=text.oil_temperature or state.oil_temperature)


def _drives(circuit: Circuit, name: str) -> bool:
    from .. import kinds

    part = circuit.parts.get(name)
    return part is not None and any(c.name == "speed" for c in kinds.registry()[part.kind].controls(part.params))


def _parsed(text: str, dimension: str, reading: Reading, key: str, said: list[Message]) -> float | None:
    try:
        return quantities.parse(text, dimension)
    except quantities.QuantityError as error:
        said.append(Message(error.code, f"{key}: {error.text}", reading.place(key), error.hint))
        return None


def _outcome(
    reading: Reading, label: str, found: Facts | None, circuit: Circuit, said: list[Message]
) -> Outcome | None:
    text = reading.text
    quantity = text.point.rpartition(".")[2]
    if quantity in RECORDED:
        value = _parsed(text.value, RECORDED[quantity], reading, "value", said)
        why = "nothing predicts it; kept for its trend"
        return None if value is None else Outcome(reading, "not comparable", RECORDED[quantity], value, why=why)
    assert found is not None
    if text.point not in found.figures:
        hint = suggestion(text.point, found.figures)
        what = f"there is no figure '{text.point}' in revision {circuit.revision}"
        said.append(Message("reading-point", what, reading.place("point"), hint or "as feed.pressure"))
        return None
    figure = found.figures[text.point]
    value = _parsed(text.value, figure.dimension, reading, "value", said)
    tolerance = None if value is None else _instrument(reading, figure.dimension, value, said)
    if value is None or tolerance is None:
        return None
    row = Outcome(reading, "not comparable", figure.dimension, value)
    cell = figure.cells[found.states.index(label)]
    if text.point.rpartition(".")[0] in text.speed and quantity == "speed":
        return replace(row, why="the computation takes this speed as given")
    if not cell:
        why = found.failed.get(label) or figure.missing or "no figure is predicted there"
        return replace(row, why=why)
    if cell[0] != cell[1]:
        return replace(row, predicted=cell, why="the prediction is a range")
    allowed = tolerance + careful(figure.dimension, cell[0])
    word = "agrees" if abs(value - cell[0]) <= allowed else "disagrees"
    missing = [] if text.oil_temperature is not None else ["oil temperature not read: the circuit's is taken"]
    missing += [] if tolerance or text.accuracy else ["instrument's class not stated"]
    return replace(row, word=word, predicted=cell, tolerance=allowed, why="; ".join(missing))


def _instrument(reading: Reading, dimension: str, value: float, said: list[Message]) -> float | None:
    """What the instrument may be off, SI; 0 = not stated; None after an error."""
    text = reading.text
    if text.accuracy:
        if text.accuracy.rstrip().endswith("%") and dimension != "share":
            part = _parsed(text.accuracy, "share", reading, "accuracy", said)
            return None if part is None else part * abs(value)
        wanted = {"temperature": "temperature difference", "pressure": "pressure difference"}.get(dimension, dimension)
        off = _parsed(text.accuracy, wanted, reading, "accuracy", said)
        return None if off is None else abs(off)
    if not text.class_ and not text.scale:
        return 0.0
    if not text.class_ or not text.scale:
        what = "a gauge's class says nothing without its scale, nor the scale without the class"
        said.append(Message("reading-class", what, reading.place("class" if text.class_ else "scale")))
        return None
    try:
        grade = float(text.class_.rstrip(" %"))
    except ValueError:
        said.append(Message("reading-class", f"class: '{text.class_}' is no number", reading.place("class"), "as 1.6"))
        return None
    end = _parsed(text.scale, dimension, reading, "scale", said)
    return None if end is None else abs(grade / 100.0 * end)


def _trends(rows: Sequence[Outcome], others: Sequence[Reading]) -> list[Outcome]:
    """Repeated readings of one point in one state at one speed against the first of them, by date. A reading without
    a date counts as later than those with one; in another block it counts for nothing."""
    first: dict[Point, tuple[str, float]] = {}
    for row in rows:
        _keep(first, row.reading, row.value)
    for row in rows:
        for other in others:
            if _same(other, row.reading) and other.text.date:
                with contextlib.suppress(quantities.QuantityError):  # its own block says what is wrong with it
                    _keep(first, other, quantities.parse(other.text.value, row.dimension))
    told = []
    for row in rows:
        date, value = first[_point(row.reading)]
        here = (row.reading.text.date or LATEST, row.value) == (date, value)
        since = "the first" if date == LATEST else date
        told.append(row if here else replace(row, trend=f"{_gap(row, value)} since {since}"))
    return told


def _point(reading: Reading) -> Point:
    return reading.text.point, reading.text.state, tuple(sorted(reading.text.speed.items()))


def _same(one: Reading, other: Reading) -> bool:
    return _point(one) == _point(other)


def _keep(first: dict[Point, tuple[str, float]], reading: Reading, value: float) -> None:
    date, key = reading.text.date or LATEST, _point(reading)
    if key not in first or date < first[key][0]:
        first[key] = (date, value)


def _gap(row: Outcome, before: float) -> str:
    gap = row.value - before
    if row.dimension != "temperature" and before:
        return f"{gap / abs(before) * 100:+.0f} %".replace("-", "−")
    wanted = "temperature difference" if row.dimension == "temperature" else row.dimension
    return quantities.show(gap, wanted)
