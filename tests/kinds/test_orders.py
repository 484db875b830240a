"""Orders of a state: what is read, and what the writer is told."""

from __future__ import annotations

import math

import pytest
from builddoc import kinds, language
from builddoc.checks.orders import value_words
from builddoc.kinds import orders, tie_controls
from builddoc.kinds.base import SpoolOrder
from builddoc.kinds.bench import bench
from builddoc.kinds.orders import ShaftLoad


@pytest.mark.parametrize(
    ("text", "newtons"),
    [
        ("26.5 kN compression", 26500), ("26.5 kN tension", -26500), ("6000 lbf  Compression", 26689.33),
        ("500 N in tension", -500), ("0 N", 0), ("none", 0),
    ],
)  # fmt: skip
def test_rod_load(text, newtons):
    assert orders.rod_load(text) == pytest.approx(newtons)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("26.5 kN", "26.5 kN compression"), ("-26.5 kN compression", "without a minus"),
        ("26.5 compression", "no unit"),
        ("26.5 bar tension", "pressure"), ("26.5 kN sideways", "kN sideways"), (["5 kN"], "one text"),
        (True, "one text"),
    ],
)  # fmt: skip
def test_rod_load_refused(text, said):
    with pytest.raises(ValueError, match=said):
        orders.rod_load(text)


@pytest.mark.parametrize(
    ("text", "load"),
    [
        ("90 N.m resisting", ShaftLoad(resisting=90.0)), ("90 N.m driving A to B", ShaftLoad(against=-90.0)),
        ("90 Nm driving b to a", ShaftLoad(against=90.0)), ("none", ShaftLoad()), ("0 N.m", ShaftLoad()),
    ],
)  # fmt: skip
def test_shaft_load(text, load):
    assert orders.shaft_load(text) == load


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("90 N.m", "resisting"), ("90 N.m driving", "which way"), ("-9 N.m resisting", "without a minus"),
        ("90 kN resisting", "force"),
    ],
)  # fmt: skip
def test_shaft_load_refused(text, said):
    with pytest.raises(ValueError, match=said):
        orders.shaft_load(text)


def test_spool_positions():
    read = orders.spool_position(has_float=True)
    assert read("A") == SpoolOrder("A") and read("b 40 %") == SpoolOrder("B", 0.4)
    assert read("centre") == read("center") == SpoolOrder() and read("float") == SpoolOrder("float")
    for text, said in [
        ("A 0 %", "centre"), ("A 140 %", "between"), ("A 40", "no unit"), ("centre 40 %", "in part"), ("C", "A or B"),
        ("", "A or B"),
    ]:  # fmt: skip
        with pytest.raises(ValueError, match=said):
            read(text)
    with pytest.raises(ValueError, match="float: yes"):
        orders.spool_position(has_float=False)("float")


def test_openings_and_the_rest():
    assert [orders.opening(t) for t in ("open", "shut", "closed", "40 %")] == [1, 0, 0, 0.4]
    assert [orders.coupling(t) for t in ("joined", "open", "apart")] == [True, False, False]
    assert [orders.clogging(t) for t in ("clean", "blocked", "80 % blocked")] == [0, 1, 0.8]
    assert orders.stop("Extended") == "extended" and orders.standing("held") == "held"
    assert orders.speed("1200 rpm") == pytest.approx(40 * math.pi)
    for read, text in [
        (orders.opening, "ajar"), (orders.opening, "140 %"), (orders.coupling, "shut"), (orders.clogging, "40 %"),
        (orders.stop, "middle"), (orders.standing, "extended"), (orders.speed, "-5 rpm"), (orders.speed, "5 bar"),
    ]:  # fmt: skip
        with pytest.raises(ValueError):
            read(text)


def test_a_tie_is_ordered_like_a_rod():
    assert {control.name for control in tie_controls()} == {"load", "stop"}


@pytest.mark.parametrize("kind", sorted(kinds.registry().values(), key=lambda kind: kind.name), ids=lambda k: k.name)
def test_an_order_is_said_as_it_could_be_written(kind):
    """What the page says that a state orders is read as the same order: `60 rpm left`, not a share of something."""
    circuit = language.read(bench(kind)).circuit
    for state in circuit.states.values():
        for (owner, name), value in state.orders.items():
            if owner not in circuit.parts or name in ("load", "stop", "speed"):
                continue
            part = circuit.parts[owner]
            (control,) = [c for c in kinds.registry()[part.kind].controls(part.params) if c.name == name]
            again = control.parse(value_words(control, value))
            assert again == (pytest.approx(value, rel=1e-2) if isinstance(value, float) else value)
