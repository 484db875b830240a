"""A circuit that is written as changes to an earlier revision -> the tree of the whole."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import yaml

from ..messages import Message, Place
from .model import CircuitText, HeadText, keys_of
from .talk import Talk, name_list, suggestion
from .yamltext import Group, Text, read_yaml

if TYPE_CHECKING:
    from ..history.changes import Step


class BaseEntry(Protocol):
    """An earlier revision's text and the place of its first character."""

    text: str
    path: str
    line: int
    column: int


class Bases(Protocol):
    """Where earlier revisions are found; `history.registry.Registry` is one."""

    def find(self, machine: str, revision: str) -> Sequence[Any]: ...
    def revisions(self, machine: str) -> list[str]: ...
    def machines(self) -> list[str]: ...


@dataclass(frozen=True, slots=True)
class Whole:
    """tree: as if it had been written whole. base: the tree it started from, and its name for messages. steps: the
    tree after each change."""

    tree: Group
    base: Group
    name: str
    revision: str
    steps: list[Step] = field(default_factory=list)


def is_changed(group: Group) -> bool:
    return "from" in group.values or "changes" in group.values


def whole(
    group: Group, path: str, talk: Talk, bases: Bases | None, load: Callable[[str, Place, str, Talk], str | None],
    chain: tuple[tuple[str, str], ...] = (),
) -> Whole | None:  # fmt: skip
    """The tree of a circuit with `from` and `changes`; None after its errors were said.

    load: (name of a file, place, path of the text that names it, talk) -> its text. chain: revisions being worked out.
    """
    from ..history.changes import OWN, apply

    heads = keys_of(HeadText)
    for key in group.values:
        if key in OWN or key in ("from", "changes"):
            continue
        if key in keys_of(CircuitText):
            talk.say("from-alone", f"beside 'from' no '{key}' may stand here", group.keys[key], "write it as a change")
        else:
            known = [*(k for k in heads if k in OWN), "from", "changes", "show"]
            talk.say("key-unknown", f"a circuit has no key '{key}'", group.keys[key], suggestion(key, known, "keys"))
    if "from" not in group.values:
        talk.say("from-missing", "'changes' need the revision they start from", group.keys["changes"], "add from: A")
        return None
    machine, revision = _text(group, "machine"), _text(group, "revision")
    if not machine:
        talk.say("value-missing", "the circuit needs 'machine'", group.place, "the name that the earlier revision has")
    if not revision:
        talk.say("value-missing", "a changed revision needs its own 'revision'", group.place, "as revision: B")
    if not machine or not revision:
        return None
    found = _base(group, machine, revision, path, talk, bases, load, chain)
    if found is None:
        return None
    base, name, base_revision = found
    kept = base.without("machine", "revision", "date", "title", "status", "accepted", "from", "changes")
    steps = apply(kept, group.values["changes"], talk) if "changes" in group.values else []
    own, below = group.without("from", "changes"), steps[-1].tree if steps else kept
    tree = Group({**own.keys, **below.keys, **own.keys}, {**own.values, **below.values, **own.values}, group.place)
    return Whole(tree, kept, name, base_revision, steps)


def as_text(tree: Group) -> str:
    """A tree as YAML, for who downloads the whole. Reads back to the same tree."""
    return yaml.safe_dump(tree.plain(), sort_keys=False, allow_unicode=True, width=110)


def _text(group: Group, key: str) -> str:
    node = group.values.get(key)
    return " ".join(node.value.split()) if isinstance(node, Text) else ""


def _base(
    group: Group, machine: str, revision: str, path: str, talk: Talk, bases: Bases | None,
    load: Callable[[str, Place, str, Talk], str | None], chain: tuple[tuple[str, str], ...],
) -> tuple[Group, str, str] | None:  # fmt: skip
    """The base's whole tree, its name for messages, and its revision."""
    node = group.values["from"]
    wanted, file = (_text(group, "from"), "") if isinstance(node, Text) else ("", "")
    if isinstance(node, Group):
        for key in node.values:
            if key not in ("revision", "file"):
                hint = suggestion(key, ("revision", "file"), "keys")
                talk.say("key-unknown", f"'from' has no key '{key}'", node.keys[key], hint)
        wanted, file = _text(node, "revision"), _text(node, "file")
    if not wanted and not file:
        talk.say("value-form", "from: expected a revision or a file", node.place, "as from: A")
        return None
    if file:
        text = load(file, node.values["file"].place if isinstance(node, Group) else node.place, path, talk)
        if text is None:
            return None
        where, line, column = (Path(path).parent / file).as_posix(), 1, 1
    else:
        if wanted == revision:
            talk.say("from-self", f"revision '{revision}' cannot start from itself", node.place, "name an earlier one")
            return None
        entry = _entry(machine, wanted, node.place, talk, bases)
        if entry is None:
            return None
        text, where, line, column = entry.text, entry.path, entry.line, entry.column
    name = f"revision {wanted}" if wanted else f"'{file}'"
    tree, said = read_yaml(text, where, line, column)
    if tree is None or said:
        talk.say("base-wrong", f"{name} has errors itself", node.place, f"first: {said[0]}" if said else "")
        return None
    other, own = _text(tree, "machine"), _text(tree, "revision") or "A"
    if _plain(other) != _plain(machine):
        talk.say("from-machine", f"{name} is of the machine '{other}', not '{machine}'", node.place)
        return None
    if wanted and own != wanted:
        talk.say("from-revision", f"'{file}' is revision '{own}', not '{wanted}'", node.place)
        return None
    if own == revision:
        talk.say("from-self", f"revision '{revision}' cannot start from itself", node.place, "name an earlier one")
        return None
    if not is_changed(tree):
        return tree, f"revision {own}", own
    if (where, own) in chain:
        names = name_list(f"'{r}'" for _, r in (*chain, (where, own)))
        talk.say("from-circle", f"revisions {names} start from one another", node.place, "write one of them whole")
        return None
    inner = Talk()
    below = whole(tree, where, inner, bases, load, (*chain, (where, own)))
    if below is None or inner.failed:
        circle = next((m for m in inner.messages if m.code == "from-circle"), None)
        first = next((m for m in inner.messages if m.level == "error"), None)
        hint = circle.text if circle else f"first: {first}" if first else ""
        talk.say("base-wrong", f"{name} has errors itself", node.place, hint)
        return None
    return below.tree, f"revision {own}", own


def _plain(name: str) -> str:
    return " ".join(name.lower().split())


def _entry(machine: str, revision: str, place: Place, talk: Talk, bases: Bases | None) -> Any:
    found = list(bases.find(machine, revision)) if bases is not None else []
    if len({entry.text for entry in found}) > 1:
        places = name_list(f"{entry.path}:{entry.line}" for entry in found)
        talk.say("from-several", f"there are {len(found)} circuits of '{machine}', revision {revision}", place, places)
        return None
    if not found:
        known = bases.revisions(machine) if bases is not None else []
        hint = suggestion(revision, [r for r in known if r != revision], "revisions")
        if not known and bases is not None:
            hint = suggestion(machine, bases.machines())
        hint = hint or "its block stands on this page or on another page of the site; or write from: {file: …}"
        talk.say("from-unknown", f"there is no revision '{revision}' of '{machine}'", place, hint)
        return None
    return found[0]


def in_text(text: str, path: str, first_line: int) -> Callable[[Place | None], bool]:
    """Whether a place lies in a text."""
    count = text.count("\n") + 1

    def own(place: Place | None) -> bool:
        return place is None or (place.path == path and first_line <= place.line < first_line + count)

    return own


def errors(messages: Sequence[Message]) -> list[Message]:
    return [m for m in messages if m.level == "error"]
