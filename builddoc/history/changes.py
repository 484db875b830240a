"""A revision written as changes to an earlier one: tree of the base and list of changes -> tree of the whole.

Both trees know where each value was written, so what is wrong with the whole points to the change that brought it.
The changes work on the text: what the base copies with `like` or takes from `defaults` follows a change there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from ..circuit import Change
from ..language.talk import Talk, name_list, suggestion
from ..language.yamltext import Group, Node, Sequence, Text
from ..messages import Message, Place
from .trees import NAMED, Path, drop, get, new_leaves, paths, put

VERBS = ("remove", "add", "replace", "set", "re-route")
SECTIONS = (*NAMED, "plugged", "defaults")
OWN = ("machine", "revision", "date", "title", "status", "units", "faults", "accepted", "show")
"""Keys that are said beside `from`. Of these a revision does not take over what was accepted in the earlier one."""
SINGLE = ("oil", "ambient", "declare")  # may be set where the base leaves them out


@dataclass(frozen=True, slots=True)
class Step:
    """The tree after one more change. place: where the change was written."""

    tree: Group
    change: Change


def apply(base: Group, changes: Node, talk: Talk) -> list[Step]:
    """The base after each change, in order of writing; empty if there is none. What is wrong with the changes
    themselves goes to `talk`.

    changes: a list of groups, each with `because` and one or more of VERBS.
    """
    if not isinstance(changes, Sequence):
        talk.say("change-form", "changes: expected a list", changes.place, _FORM)
        return []
    steps: list[Step] = []
    for entry in changes.items:
        if not isinstance(entry, Group):
            talk.say("change-form", "changes: each entry is a group of keys", entry.place, _FORM)
            continue
        because = _because(entry, talk)
        verbs = [key for key in entry.values if key in VERBS]
        for key in entry.values:
            if key not in VERBS and key != "because":
                talk.say(
                    "key-unknown", f"a change has no key '{key}'", entry.keys[key],
                    suggestion(key, (*VERBS, "because"), "keys"),
                )  # fmt: skip
        if not verbs and all(key in ("because",) for key in entry.values):
            talk.say("change-form", "this entry changes nothing", entry.place, "one of: " + ", ".join(VERBS))
        for verb in verbs:
            for one in _singles(verb, entry.values[verb], entry.keys[verb], talk):
                tree = steps[-1].tree if steps else base
                done = _apply(tree, one, talk)
                if done is not None:
                    steps.append(Step(done[0], Change(verb, done[1], because, one.place, done[2], done[3])))
    return steps


def blame(
    messages: Iterable[Message],
    steps: list[Step],
    read: Callable[[Group], list[Message]],
    own: Callable[[Place | None], bool],
    base: str,
) -> list[Message]:
    """Messages about the whole, each at the change that brought it. What stands in a change's own text stays there.

    read: messages about a tree. own: whether a place lies in the changes. base: what the base is called.
    """
    messages = list(messages)
    if all(own(m.place) for m in messages) or not steps:
        return messages
    after = [{(m.code, m.text) for m in read(step.tree)} for step in steps[:-1]]
    moved = []
    for message in messages:
        if own(message.place):
            moved.append(message)
            continue
        # The first change from which on it is there to stay.
        first = len(steps) - 1
        while first > 0 and (message.code, message.text) in after[first - 1]:
            first -= 1
        where = f"it is in {base}: {message.place}" if message.place else ""
        hint = "; ".join(text for text in (message.hint, where) if text)
        moved.append(replace(message, place=steps[first].change.place, hint=hint))
    return moved


# ---- one entry
_FORM = "as - {set: {pump.displacement: 8 cc/rev}, because: the engine stalled}"


_EXAMPLES = {
    "add": "{lines: {drain: …}}",
    "replace": "{parts: {pump: …}}",
    "set": "{pump.displacement: 8 cc/rev}",
    "re-route": "{feed: pump.outlet > filter.inlet}",
}


@dataclass(frozen=True, slots=True)
class _Single:
    """One thing to do. words: the path as written. value: None for `remove`."""

    verb: str
    words: str
    place: Place
    value: Node | None = None
    section: str = ""


def _because(entry: Group, talk: Talk) -> str:
    node = entry.values.get("because")
    if node is None:
        talk.say("change-because", "a change needs its reason", entry.place, "add because: …")
        return ""
    if not isinstance(node, Text) or not node.value.strip():
        talk.say("change-because", "because: expected a sentence", entry.keys["because"], "say why it was changed")
        return ""
    return " ".join(node.value.split())


def _singles(verb: str, node: Node, key_place: Place, talk: Talk) -> list[_Single]:
    if verb == "remove":
        items = node.items if isinstance(node, Sequence) else (node,)
        wrong = [item for item in items if not isinstance(item, Text) or not item.value.strip()]
        if wrong:
            talk.say("change-form", "remove: expected names", wrong[0].place, "as remove: [old hose, gauge]")
        names = [item for item in items if isinstance(item, Text) and item not in wrong]
        return [_Single(verb, " ".join(name.value.split()), name.place) for name in names]
    if not isinstance(node, Group) or not node.values:
        talk.say("change-form", f"{verb}: expected a group of keys", key_place, f"as {verb}: {_EXAMPLES[verb]}")
        return []
    found = []
    for key, value in node.values.items():
        place = node.keys[key]
        if verb not in ("add", "replace"):
            found.append(_Single(verb, key, place, value))
        elif key in SECTIONS and isinstance(value, Group):
            found += [_Single(verb, name, value.keys[name], inner, key) for name, inner in value.values.items()]
        elif verb == "add" and key == "plugged" and isinstance(value, Sequence):
            found += [_Single(verb, "", item.place, item, key) for item in value.items]
        elif verb == "add":
            talk.say("change-form", f"add: '{key}' is no section of named entries", place,
                     suggestion(key, SECTIONS, "sections"))  # fmt: skip
        else:
            found.append(_Single(verb, key, place, value))
    return found


def _apply(tree: Group, one: _Single, talk: Talk) -> tuple[Group, Path, str, str] | None:
    """The changed tree, the path that was touched, and its value before and after in words; None after an error."""
    if one.verb == "add":
        return _add(tree, one, talk)
    words = f"{one.section}.{one.words}" if one.section else one.words
    if one.verb == "re-route":
        words = f"lines.{words}"
    if words.split(".")[0] in OWN:
        talk.say("change-own", f"'{words.split('.')[0]}' is not changed here", one.place, "write it beside 'from'")
        return None
    path = _find(tree, words, one, talk)
    if path is None:
        return None
    before = _words(tree, path)
    if one.verb == "remove":
        changed = drop(tree, path)
        assert isinstance(changed, Group)
        return changed, path, before, ""
    assert one.value is not None
    if one.verb == "re-route":
        path = (*path, "route")
        before = _words(tree, path)
    elif one.verb == "replace" and len(path) != 2:
        talk.say("change-form", f"replace: '{words}' is no named entry", one.place, f"write set: {{{words}: …}}")
        return None
    changed = put(tree, path, one.value, one.place)
    assert isinstance(changed, Group)
    if changed.plain() == tree.plain():
        talk.say("change-nothing", f"{one.verb}: '{words}' is this already", one.place, level="note")
    return changed, path, before, _words(changed, path)


def _add(tree: Group, one: _Single, talk: Talk) -> tuple[Group, Path, str, str] | None:
    assert one.value is not None
    if one.section == "plugged":
        held = tree.values.get("plugged")
        items = held.items if isinstance(held, Sequence) else ()
        changed: Node = put(tree, ("plugged",), Sequence((*items, one.value), one.place), one.place)
        assert isinstance(changed, Group) and isinstance(one.value, Text | Group | Sequence)
        return changed, ("plugged",), "", one.value.value if isinstance(one.value, Text) else ""
    section = tree.values.get(one.section)
    if isinstance(section, Group) and one.words in section.values:
        talk.say(
            "change-twice", f"add: there is '{one.words}' among the {one.section} already", one.place,
            f"to write it anew: replace: {{{one.section}: {{{one.words}: …}}}}",
        )  # fmt: skip
        return None
    path = (one.section, one.words)
    changed = put(tree, path, one.value, one.place)
    assert isinstance(changed, Group)
    return changed, path, "", _words(changed, path)


def _find(tree: Group, words: str, one: _Single, talk: Talk) -> Path | None:
    """The one path that `words` can mean; a section's name may be left out."""
    full = [f"{name}.{words}" for name in NAMED]
    found = [*paths(tree, words)] or [path for text in full for path in paths(tree, text)]
    if not found and one.verb == "set":
        found = [(words,)] if words in SINGLE else []
        found = found or [*new_leaves(tree, words)] or [path for text in full for path in new_leaves(tree, text)]
        found = [path for path in found if len(path) > 2 or path[0] not in NAMED]
        if not found and "." in words and words.split(".")[0] in SINGLE and words.split(".")[0] not in tree.values:
            found = [tuple(words.split(".", 1))]
    if len(found) == 1 or (found and one.section):
        if one.verb == "remove" and len(found[0]) == 1:
            talk.say("change-form", f"remove: '{words}' is a whole section", one.place, "name what is in it")
            return None
        return found[0]
    if found:
        listed = " or ".join(".".join(str(step) for step in path) for path in found)
        talk.say("change-several", f"{one.verb}: '{words}' may mean several things", one.place, f"write {listed}")
        return None
    cut = "lines." if one.verb == "re-route" else ""
    said = f"{one.verb}: there is no '{words.removeprefix(cut)}' in the earlier revision"
    talk.say("change-unknown", said, one.place, _near(tree, words, one))
    return None


def _near(tree: Group, words: str, one: _Single) -> str:
    names = {}
    for section in ("lines",) if one.verb == "re-route" else NAMED:
        inner = tree.values.get(section)
        names.update(inner.values if isinstance(inner, Group) else {})
    for start, node in {**names, **tree.values}.items():
        if words.startswith(f"{start}.") and isinstance(node, Group):
            return suggestion(words[len(start) + 1 :], node.values, "keys")
    head, _, rest = words.removeprefix("lines.").partition(".")
    return suggestion(head if rest else words.removeprefix("lines."), names, "names")


def _words(tree: Group, path: Path) -> str:
    """A value as a reader may see it: a text as written, a group by its keys."""
    if not _there(tree, path):
        return ""
    return _said(get(tree, path))


def _there(node: Node, path: Path) -> bool:
    for step in path:
        if isinstance(node, Group) and step in node.values:
            node = node.values[str(step)]
        elif isinstance(node, Sequence) and isinstance(step, int) and step < len(node.items):
            node = node.items[step]
        else:
            return False
    return True


def _said(node: Node) -> str:
    if isinstance(node, Text):
        return node.value
    if isinstance(node, Sequence):
        return name_list(_said(item) for item in node.items)
    return ", ".join(f"{key}: {_said(value)}" for key, value in node.values.items())
