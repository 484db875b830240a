"""No text whatever ends in an exception, and a circuit that is returned can be relied on."""

from __future__ import annotations

import os
import random
import re

import pytest
from builddoc import kinds
from builddoc.language import Reading, read
from hypothesis import given, settings
from hypothesis import strategies as st

from .machines import MILL, SPLITTER

_WORDS = [
    "tank",
    "pump",
    "bank",
    "feed",
    "lifter",
    "lifter pair",
    "left lifter",
    "engine",
    "gauge",
    "up",
    "kind",
    "like",
    "route",
    "length",
    "hose",
    "two-wire",
    "size",
    "-8",
    "bore",
    "12 mm",
    "3,5 bar",
    "150 bar",
    "150",
    "yes",
    "no",
    "off",
    "{}",
    "[]",
    "",
    "[a, b]",
    "{a: b}",
    "> ",
    "tank > pump",
    "feed at 0.4 m > gauge",
    "A",
    "A 400 %",
    "centre",
    "float",
    "26 kN tension",
    "extended",
    "*x",
    "&x 1",
    "!!int 3",
    "'",
    '"',
    "1e999 m",
    "0 mm",
    "-1 m",
    "unknown",
    "tee",
    "reservoir",
    "\t",
    "|",
    ">",
    "file",
    "show",
    "states",
    "parts",
    "lines",
    "ties",
    "plugged",
    "defaults",
    "oil",
    "machine",
    "spools",
    "relief",
    "fittings",
    "elbow 90",
    "ISO VG 46",
    "ports",
    "4:1",
    "1/0 in",
    "½ in",
    "\x00",
    "🛢",
    "a.b",
    ".",
    "..",
    "a.",
    ".a",
    "loads",
    "stopped",
]


_BREAK = re.compile("\r\n|[\n\r\x85\u2028\u2029]")


def sound(reading: Reading, text: str) -> None:
    """Either a circuit whose ends and states exist, or errors inside the text."""
    errors = [m for m in reading.messages if m.level == "error"]
    assert (reading.circuit is None) == bool(errors)
    lines = _BREAK.split(text)
    for message in errors:
        assert message.text
        assert message.place is not None
        assert 1 <= message.place.line <= len(lines)
        assert message.place.column >= 1
    if (circuit := reading.circuit) is None:
        return
    ports = {
        (part.name, port.name)
        for part in circuit.parts.values()
        for port in kinds.registry()[part.kind].ports(part.params)
    }
    for line in circuit.lines.values():
        for end in (line.start, line.end):
            if end.line:
                assert 0 <= end.at <= circuit.lines[end.line].length
            else:
                assert (end.part, end.port) in ports
        assert line.conduit is None or line.conduit.bore > 0
    for state in circuit.states.values():
        assert {name for name, _ in state.orders} <= {*circuit.parts, *circuit.ties}
    assert not circuit.show.state or circuit.show.state in circuit.states


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_any_text(text: str) -> None:
    sound(read(text), text)


_TREE = st.recursive(
    st.sampled_from(_WORDS),
    lambda x: st.lists(x, max_size=3) | st.dictionaries(st.sampled_from(_WORDS), x, max_size=3),
)
_SECTIONS = st.sampled_from(
    ["parts", "lines", "states", "ties", "plugged", "show", "oil", "units", "defaults", "file", "ambient"]
)


@settings(max_examples=200, deadline=None)
@given(_TREE)
def test_any_tree_of_words(tree: object) -> None:
    text = "machine: x\nparts: " + str(tree).replace("'", "") + "\n"
    sound(read(text), text)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(_SECTIONS, _TREE, max_size=4))
def test_any_section_of_another_form(sections: dict[str, object]) -> None:
    text = SPLITTER + "".join(f"{key}: {value}\n" for key, value in sections.items()).replace("'", "")
    sound(read(text), text)


def _mutate(text: str, rng: random.Random) -> str:
    """A few changes as hands make them: a word for another, a line lost or doubled, a sign too many or too few."""
    for _ in range(rng.randint(1, 4)):
        lines = text.split("\n")
        n = rng.randrange(len(lines))
        match rng.randrange(6):
            case 0:
                del lines[n]
            case 1:
                lines.insert(n, rng.choice(lines))
            case 2 | 3:
                words = lines[n].split(" ")
                words[rng.randrange(len(words))] = rng.choice(_WORDS)
                lines[n] = " ".join(words)
            case 4:
                at = rng.randrange(len(lines[n]) + 1)
                lines[n] = lines[n][:at] + rng.choice("{}[],:>.' -\t#&*|x1°") + lines[n][at:]
            case _:
                at = rng.randrange(len(lines[n]) + 1)
                lines[n] = lines[n][:at] + lines[n][at + 1 :]
        text = "\n".join(lines) or "x"
    return text


@pytest.mark.parametrize("seed", range(8))
def test_mutated_circuits(seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(60):
        text = _mutate(rng.choice([MILL, SPLITTER]), rng)
        sound(read(text), text)


@pytest.mark.slow
def test_mutated_circuits_for_long() -> None:
    """BUILDDOC_FUZZ=20000 makes it longer."""
    rng = random.Random(2025)
    for _ in range(int(os.environ.get("BUILDDOC_FUZZ", "1500"))):
        text = _mutate(rng.choice([MILL, SPLITTER]), rng)
        sound(read(text), text)
