"""YAML text -> a tree in which every scalar is text and knows its place. YAML decides nothing about values:
`off`, `no`, `4:1`, `010`, `1e3` and dates stay what the writer typed.

Refused with a sentence: syntax errors, keys written twice, tabs that indent, anchors, aliases, tags, merge keys,
several documents, keys that are no text, very deep nesting.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

import yaml

from ..messages import Message, Place

DEEPEST = 20
_BREAK = re.compile("\r\n|[\n\r\x85\u2028\u2029]")  # what YAML takes for the end of a line
_LOADER: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


@dataclass(frozen=True, slots=True)
class Text:
    """A scalar as typed. `nothing`: no value was written at all (`key:`)."""

    value: str
    place: Place
    nothing: bool = False

    def plain(self) -> Any:
        return self.value


@dataclass(frozen=True, slots=True)
class Sequence:
    items: tuple[Node, ...]
    place: Place

    def plain(self) -> Any:
        return [item.plain() for item in self.items]


@dataclass(frozen=True, slots=True)
class Group:
    """A mapping. keys: the place of each key; values: what stands behind it; both in the order of writing."""

    keys: dict[str, Place]
    values: dict[str, Node]
    place: Place

    def plain(self) -> Any:
        return {key: value.plain() for key, value in self.values.items()}

    def without(self, *names: str) -> Group:
        kept = [k for k in self.values if k not in names]
        return Group({k: self.keys[k] for k in kept}, {k: self.values[k] for k in kept}, self.place)

    def over(self, base: Group) -> Group:
        """This group with what it does not say taken from `base`."""
        return Group({**base.keys, **self.keys}, {**base.values, **self.values}, self.place)


Node = Text | Sequence | Group


@dataclass(slots=True)
class _Reader:
    path: str
    first_line: int
    first_column: int
    lines: list[str]
    messages: list[Message] = field(default_factory=list)

    def place(self, start: Any, end: Any = None) -> Place:
        if start.line >= len(self.lines):  # the end of the text, after its last line break
            last = self.lines[-1]
            return Place(self.path, self.first_line + len(self.lines) - 1, self.first_column + len(last))
        column = self.first_column + start.column
        stop = self.first_column + end.column if end is not None and end.line == start.line else None
        return Place(self.path, self.first_line + start.line, column, stop if stop != column else None)

    def say(self, code: str, text: str, place: Place | None, hint: str = "") -> None:
        self.messages.append(Message(code, text, place, hint))

    # ---- events -> tree
    def node(self, event: Any, events: Any, depth: int) -> Node:
        place = self.place(event.start_mark, event.end_mark)
        if depth > DEEPEST:
            self.say("yaml-deep", f"lists and groups stand more than {DEEPEST} deep in one another", place)
            raise _Stop
        self._refuse(event, place)
        if isinstance(event, yaml.ScalarEvent):
            nothing = event.value == "" and event.style in (None, "")
            return Text(event.value, place, nothing)
        if isinstance(event, yaml.SequenceStartEvent):
            items = []
            while not isinstance(inner := next(events), yaml.SequenceEndEvent):
                items.append(self.node(inner, events, depth + 1))
            return Sequence(tuple(items), place)
        if isinstance(event, yaml.MappingStartEvent):
            return self._group(event, events, place, depth)
        raise _Stop  # an alias, already refused: what it would stand for is not known

    def _refuse(self, event: Any, place: Place) -> None:
        if isinstance(event, yaml.AliasEvent):
            self.say(
                "yaml-anchor", f"'*{event.anchor}' (a YAML alias) is not used here", place,
                "a text that begins with * needs quotes; to copy a part's parameters write 'like: NAME'",
            )  # fmt: skip
        elif event.anchor is not None:
            self.say(
                "yaml-anchor", f"'&{event.anchor}' (a YAML anchor) is not used here", place,
                "a text that begins with & needs quotes; to copy a part's parameters write 'like: NAME'",
            )  # fmt: skip
        if getattr(event, "tag", None) is not None:
            tag = str(event.tag).replace("tag:yaml.org,2002:", "!!")
            self.say(
                "yaml-tag", f"'{tag}' (a YAML tag) is not used here", place, "a text that begins with ! needs quotes"
            )

    def _group(self, event: Any, events: Any, place: Place, depth: int) -> Group:
        keys: dict[str, Place] = {}
        values: dict[str, Node] = {}
        while not isinstance(inner := next(events), yaml.MappingEndEvent):
            key = self.node(inner, events, depth + 1)
            behind = next(events)
            value = self.node(behind, events, depth + 1)
            if not isinstance(key, Text):
                self.say("yaml-key", "a key must be a text, not a list or a group", key.place, "write 'name: value'")
                continue
            name = " ".join(key.value.split())
            if name == "<<":
                self.say("yaml-anchor", "'<<' (a YAML merge) is not used here", key.place, "write 'like: NAME'")
            elif name == "":
                self.say("yaml-key", "a value stands here without a name before the colon", key.place)
            elif isinstance(value, Text) and value.nothing and not self._colon(inner.end_mark, behind.start_mark):
                self._lonely(name, key, values)
            elif name in keys:
                self.say("key-twice", f"'{name}' is written twice", key.place, f"first in line {keys[name].line}")
            else:
                keys[name] = key.place
                values[name] = value
        return Group(keys, values, place)

    def _colon(self, start: Any, end: Any) -> bool:
        """Whether a ':' stands between two marks."""
        if start.line == end.line:
            return ":" in self.lines[start.line][start.column : end.column]
        between = [self.lines[start.line][start.column :], *self.lines[start.line + 1 : end.line]]
        return any(":" in line for line in between)

    def _lonely(self, name: str, key: Text, values: dict[str, Node]) -> None:
        """In `{a: 3,5 bar}` or `{hose: two-wire, -8}` the comma made a key without a value."""
        last = next(reversed(values), None)
        previous = values[last] if last else None
        if last and isinstance(previous, Text) and re.match(r"\d", name) and re.search(r"\d$", previous.value):
            whole = f"{previous.value}.{name}"
            values[last] = Text(whole, previous.place)  # as it was meant, so that nothing follows from it
            self.say(
                "number-comma", f"a comma inside {{ }} ends the value: this reads as '{last}: {previous.value}' and "
                f"a key '{name}'", key.place, f"write {last}: {whole}",
            )  # fmt: skip
            return
        wanted = f"size: {name}" if re.fullmatch(r"-\d+", name) else f"{name}: …"
        self.say(
            "key-no-value", f"'{name}' has no value", key.place,
            f"inside {{ }} a comma begins a new key: write '{wanted}', or quote a text that holds a comma",
        )  # fmt: skip


class _Stop(Exception):
    """The rest of the text cannot be understood; it was said why."""


def read_yaml(
    text: str, path: str = "", first_line: int = 1, first_column: int = 1
) -> tuple[Group | None, list[Message]]:
    """The tree of a text whose top is a mapping, or None; and what is wrong with it. Never raises.

    first_line, first_column: where the text's first character stands in the file (a fence that is indented).
    """
    reader = _Reader(path, first_line, first_column, _BREAK.split(text))
    if not _no_tabs(reader):
        return None, reader.messages
    try:
        events = iter(list(yaml.parse(text, Loader=_LOADER)))
        next(events)  # stream start
        start = next(events)
        if isinstance(start, yaml.StreamEndEvent):
            reader.say(
                "empty", "there is no circuit here", Place(path, first_line, first_column), "begin with 'machine: …'"
            )
            return None, reader.messages
        top = reader.node(next(events), events, 0)
        next(events)  # document end
        after = next(events)
        if isinstance(after, yaml.DocumentStartEvent):
            reader.say(
                "yaml-document", "a second document begins here; one block holds one circuit",
                reader.place(after.start_mark), "remove the line '---'",
            )  # fmt: skip
    except yaml.reader.ReaderError as error:
        reader.messages.append(_control_character(error, text, reader))
        return None, reader.messages
    except yaml.MarkedYAMLError as error:
        reader.messages.append(_syntax(error, reader))
        return None, reader.messages
    except (yaml.YAMLError, UnicodeEncodeError):
        place = Place(path, first_line, first_column)
        reader.say("yaml-character", "the text holds a character that no text may hold", place)
        return None, reader.messages
    except _Stop:
        return None, reader.messages
    if not isinstance(top, Group):
        if isinstance(top, Text) and top.nothing:
            reader.say("empty", "there is no circuit here", top.place, "begin with 'machine: …'")
        else:
            what = "a list" if isinstance(top, Sequence) else "a text"
            reader.say("top-level", f"a circuit is written as 'key: value' lines, this is {what}", top.place,
                       "begin with 'machine: …' and 'parts:'")  # fmt: skip
        return None, reader.messages
    return top, reader.messages


def _no_tabs(reader: _Reader) -> bool:
    """Report every line that is indented by a tab; True if there is none. (YAML's own words for it help nobody.)"""
    clean = True
    for n, line in enumerate(reader.lines):
        indent = line[: len(line) - len(line.lstrip())]
        if "\t" in indent and line.strip() and not line.lstrip().startswith("#"):
            column = reader.first_column + indent.index("\t")
            place = Place(reader.path, reader.first_line + n, column)
            reader.say("yaml-tab", "a tab stands before the text of this line", place, "indent with spaces")
            clean = False
    return clean


def _control_character(error: Any, text: str, reader: _Reader) -> Message:
    position = error.position if isinstance(error.position, int) and error.position >= 0 else 0
    # libyaml counts bytes here, the pure-Python reader counts characters
    head = (
        text.encode("utf-8", "replace")[:position].decode("utf-8", "ignore") if _LOADER is not yaml.BaseLoader else text
    )
    line = head[:position].count("\n")
    column = len(head[:position].rsplit("\n", 1)[-1])
    place = Place(reader.path, reader.first_line + line, reader.first_column + column)
    return Message("yaml-character", "here stands a control character that no text may hold", place, "delete it")


_SYNTAX: tuple[tuple[str, str, str, str], ...] = (
    # pattern in YAML's problem, pattern in its context, our sentence, our hint
    ("block sequence entries are not allowed", "", "a list entry '- ' may not begin here", "begin it on its own line"),
    ("expected comment or line break", "block scalar", "a text may not begin with '>' or '|'", "put it in quotes"),
    ("expected ',' or '}'", "", "a group opened with '{' is not closed with '}'", "it was opened in line {context}"),
    ("expected ',' or ']'", "", "a list opened with '[' is not closed with ']'", "it was opened in line {context}"),
    ("unexpected end of stream", "quoted", "a quote is opened and not closed", "it was opened in line {context}"),
    ("unknown escape character", "", "a backslash inside \" \" has a meaning of its own", "use ' ' as quotes"),
    ("expected ':'", "", "a key stands here without its value", "write 'key: value', with a space after the colon"),
    ("expected key", "", "this line does not fit in with those above it", "lines of one group share one indent"),
    ("expected '-' indicator", "", "this line does not fit in with the list above it", "begin each entry with '- '"),
    ("document start", "", "this line does not fit in with those above it", "lines of one group share one indent"),
    ("expected node content", "", "a value is missing before this sign", "write a value, or quote the sign"),
    ("undefined tag handle", "", "a text may not begin with '!'", "put it in quotes"),
    ("alphabetic or numeric", "", "a text may not begin with '*' or '&'", "put it in quotes"),
    ("directive", "directive", "a line may not begin with '%'", "put the text in quotes"),
)  # fmt: skip


def _syntax(error: Any, reader: _Reader) -> Message:
    problem, context = str(error.problem or ""), str(error.context or "")
    mark = error.problem_mark or error.context_mark
    place = reader.place(mark) if mark else Place(reader.path, reader.first_line, reader.first_column)
    opened = error.context_mark.line + reader.first_line if error.context_mark else place.line
    if "cannot start any token" in problem and mark:
        line = reader.lines[mark.line] if mark.line < len(reader.lines) else ""
        sign = line[mark.column : mark.column + 1]
        if sign == "\t":
            return Message("yaml-tab", "a tab stands before the text of this line", place, "indent with spaces")
        return Message("yaml-syntax", f"a text may not begin with '{sign}'", place, "put it in quotes")
    if "nesting depth" in problem:
        return Message("yaml-deep", f"lists and groups stand more than {DEEPEST} deep in one another", place)
    if "mapping values are not allowed" in problem and mark:
        return _unexpected_colon(reader.lines, mark, reader)
    for pattern, around, sentence, hint in _SYNTAX:
        if pattern in problem and around in context:
            if "without its value" in sentence and error.context_mark:
                place = reader.place(error.context_mark)
            if "quote is opened" in sentence or "is not closed" in sentence:
                place = reader.place(error.context_mark) if error.context_mark else place
                hint = (
                    f"the text ends, or goes on with something else, in line {mark.line + reader.first_line}"
                    if mark
                    else ""
                )
            return Message("yaml-syntax", sentence, place, hint.format(context=opened))
    return Message("yaml-syntax", f"this is not well-formed YAML: {problem or 'it cannot be read'}", place)


def _unexpected_colon(lines: list[str], mark: Any, reader: _Reader) -> Message:
    """A ':' where no key can be: twice in a line, after a line that has none, or in a line indented too far."""
    head = lines[mark.line][: mark.column] if mark.line < len(lines) else ""
    if re.search(r":\s", head):
        hint = "quote a text that holds ': '"
        return Message("yaml-syntax", "a second ': ' stands in this line", reader.place(mark), hint)
    n = next((n for n in range(mark.line - 1, -1, -1) if lines[n].strip()), mark.line)
    before = lines[n]
    if n < mark.line and ":" not in before and not before.lstrip().startswith(("-", "#")):
        column = reader.first_column + len(before) - len(before.lstrip())
        place = Place(reader.path, reader.first_line + n, column, reader.first_column + len(before.rstrip()))
        return Message("yaml-syntax", "this line is no 'key: value'", place, "write a colon and a space after the key")
    column = reader.first_column + len(head) - len(head.lstrip())
    place = Place(reader.path, reader.first_line + mark.line, column)
    hint = "lines of one group share one indent"
    return Message("yaml-syntax", "this line is indented more than the one above it, which has a value", place, hint)
