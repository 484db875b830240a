"""The YAML reader: values and places against ruamel.yaml, the traps of YAML, no exception for any text."""

from __future__ import annotations

from io import StringIO
from typing import Any

import pytest
from builddoc.language.yamltext import DEEPEST, Group, Node, Sequence, Text, read_yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

_WORD = st.text("abcdefgh °½²çÄ", min_size=1, max_size=8).map(lambda s: " ".join(s.split())).filter(bool)
_SCALAR = st.one_of(
    _WORD,
    st.sampled_from(
        ["off", "no", "4:1", "010", "1e3", "-8", "2025-05-18", "~", "null", "16 cc/rev", "12 x 1.5 mm", "a > b", "85 %"]
    ),
)
_TREE = st.recursive(
    _SCALAR,
    lambda inner: st.lists(inner, min_size=1, max_size=3) | st.dictionaries(_WORD, inner, min_size=1, max_size=4),
    max_leaves=14,
)


def _flow(tree: Any) -> str:
    if isinstance(tree, dict):
        return "{" + ", ".join(f"{k}: {_flow(v)}" for k, v in tree.items()) + "}"
    if isinstance(tree, list):
        return "[" + ", ".join(_flow(v) for v in tree) + "]"
    return str(tree)


def _block(tree: dict[str, Any], indent: int, flow_below: int) -> str:
    lines = []
    for key, value in tree.items():
        pad = " " * indent
        if isinstance(value, dict) and indent < flow_below:
            lines.append(f"{pad}{key}:\n{_block(value, indent + 2, flow_below)}")
        elif isinstance(value, list) and indent < flow_below:
            entries = "\n".join(f"{pad}  - {_flow(v)}" for v in value)
            lines.append(f"{pad}{key}:\n{entries}")
        else:
            lines.append(f"{pad}{key}: {_flow(value)}")
    return "\n".join(lines)


def _compare(node: Node, other: Any) -> None:
    """Every key, entry and value stands where ruamel.yaml says it does (it counts from 0)."""
    if isinstance(node, Group):
        assert isinstance(other, CommentedMap)
        assert list(node.values) == list(other)
        for key, value in node.values.items():
            line, column = other.lc.key(key)
            assert (node.keys[key].line, node.keys[key].column) == (line + 1, column + 1)
            if isinstance(value, Text):
                line, column = other.lc.value(key)
                assert (value.place.line, value.place.column) == (line + 1, column + 1)
            _compare(value, other[key])
    elif isinstance(node, Sequence):
        assert isinstance(other, CommentedSeq)
        assert len(node.items) == len(other)
        for n, item in enumerate(node.items):
            line, column = other.lc.item(n)
            assert (item.place.line, item.place.column) == (line + 1, column + 1)
            _compare(item, other[n])
    else:
        assert node.value == other


@settings(max_examples=150)
@given(st.dictionaries(_WORD, _TREE, min_size=1, max_size=5), st.sampled_from([0, 2, 4]))
def test_places_and_values_are_those_of_another_reader(tree: dict[str, Any], flow_below: int) -> None:
    text = _block(tree, 0, flow_below)
    group, messages = read_yaml(text)
    assert not messages
    assert group is not None
    assert group.plain() == tree
    _compare(group, _texts(text))


def _texts(text: str) -> Any:
    """What ruamel.yaml reads, with every scalar left as text."""
    reader = YAML(typ="rt")
    reader.resolver.versioned_resolver.clear()
    return reader.load(StringIO(text))


@pytest.mark.parametrize(
    "value", ["off", "no", "yes", "4:1", "010", "1e3", "0x1F", "-8", "2025-05-18", "~", "null", "1_000", ".5"]
)
def test_values_stay_what_was_typed(value: str) -> None:
    for text in (f"a: {value}\n", f"a: {{b: [{value}]}}\n"):
        group, messages = read_yaml(text)
        assert group is not None
        assert not messages
        assert value in str(group.plain())
        assert not isinstance(group.plain()["a"], (bool, int, float))


def test_nothing_and_empty_text_differ() -> None:
    group, _ = read_yaml("a:\nb: ''\nc: {d: , e: \"\"}\n")
    assert group is not None
    nothing = [v.nothing for v in (group.values["a"], group.values["b"]) if isinstance(v, Text)]
    inner = group.values["c"]
    assert isinstance(inner, Group)
    assert nothing + [v.nothing for v in inner.values.values() if isinstance(v, Text)] == [True, False, True, False]


def test_places_count_from_where_the_block_stands() -> None:
    group, _ = read_yaml("a: {b: c}\n", "page.md", 40, 5)
    assert group is not None
    inner = group.values["a"]
    assert isinstance(inner, Group)
    assert str(group.keys["a"]) == "page.md:40:5"
    assert str(inner.values["b"].place) == "page.md:40:12"
    assert inner.values["b"].place.end_column == 13


def test_windows_line_ends_and_byte_order_mark() -> None:
    group, messages = read_yaml("\ufeffa: 1\r\nb: 2\r\n")
    assert group is not None
    assert not messages
    assert group.plain() == {"a": "1", "b": "2"}
    assert (group.keys["b"].line, group.keys["b"].column) == (2, 1)


def test_depth_is_bounded() -> None:
    deep = DEEPEST - 1
    assert read_yaml("a: " + "[" * deep + "x" + "]" * deep)[0] is not None
    group, messages = read_yaml("a: " + "[" * 5000 + "]" * 5000)
    assert group is None
    assert messages[0].code == "yaml-deep"


@settings(max_examples=300)
@given(st.text(max_size=80))
def test_any_text(text: str) -> None:
    group, messages = read_yaml(text, "x.md", 3, 2)
    assert group is not None or messages
    for message in messages:
        assert message.place is not None
        assert message.place.line >= 3
        assert message.place.column >= 1


_SIGNS = [
    *"abc:{}[],-?&*!|>'\"%@`#~ \n\t\\",
    ": ",
    "- ",
    "\n  ",
    "---\n",
    "...\n",
    "<<: ",
    "? ",
    "\x00",
    "\x85",
    "\ud800",
]


@settings(max_examples=300)
@given(st.lists(st.sampled_from(_SIGNS), max_size=25))
def test_any_signs_of_yaml(signs: list[str]) -> None:
    group, messages = read_yaml("".join(signs))
    assert group is not None or messages
