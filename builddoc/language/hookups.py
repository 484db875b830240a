"""`hook-ups`: which coupler halves are joined with which, by name; a state says which one holds."""

from __future__ import annotations

from ..messages import Place
from .parts import PartDraft
from .talk import Talk, suggestion
from .yamltext import Group, Node, Text

Pairs = tuple[tuple[str, str], ...]
_FORM = "as {attachment on: {mill feed: arm feed, mill return: arm return}, parked: {}}"


class HookUps:
    """The hook-ups of a circuit. usual: name of the one that holds where a state names none, "" = there is none."""

    def __init__(self, pairs: dict[str, Pairs], usual: str):
        self.pairs = pairs
        self.usual = usual

    def of(self, name: str, state: str, place: Place | None, talk: Talk) -> tuple[str, Pairs]:
        """The hook-up that a state names, or the usual one."""
        name = name or self.usual
        if name and name not in self.pairs:
            hint = suggestion(name, self.pairs, "there is") or "name them under 'hook-ups:'"
            talk.say("hook-up-unknown", f"state '{state}': there is no hook-up '{name}'", place, hint)
        elif not name and self.pairs:
            listed = ", ".join(self.pairs)
            talk.say(
                "hook-up-which", f"state '{state}' does not say which hook-up holds", place,
                f"write 'hook-up:' in it, or beside 'hook-ups:' for all states; there is: {listed}",
            )  # fmt: skip
        return name, self.pairs.get(name, ())


def read_hook_ups(node: Node | None, usual: Node | None, parts: dict[str, PartDraft], talk: Talk) -> HookUps:
    """Every hook-up with its pairs. One alone is the usual one without a word."""
    found: dict[str, Pairs] = {}
    if isinstance(node, Group):
        for name, value in node.values.items():
            if isinstance(value, Text) and value.nothing:
                found[name] = ()
            elif isinstance(value, Group):
                found[name] = _pairs(name, value, parts, talk)
            else:
                found[name] = ()
                talk.say("value-form", f"hook-up '{name}': expected pairs of coupler halves", value.place, _FORM)
    elif node is not None:
        talk.say("value-form", "hook-ups: expected names, each with its pairs", node.place, _FORM)
    if not isinstance(usual, Text):
        return HookUps(found, next(iter(found)) if len(found) == 1 else "")
    name = " ".join(usual.value.split())
    if name not in found:
        hint = suggestion(name, found, "there is") or "name them under 'hook-ups:'"
        talk.say("hook-up-unknown", f"hook-up: there is no hook-up '{name}'", usual.place, hint)
        return HookUps(found, next(iter(found), ""))
    return HookUps(found, name)


def _pairs(name: str, group: Group, parts: dict[str, PartDraft], talk: Talk) -> Pairs:
    halves = [p.name for p in parts.values() if p.kind is not None and p.params is not None
              and p.kind.coupling(p.params) is not None]  # fmt: skip
    taken: dict[str, Place] = {}
    found = []
    for one, value in group.values.items():
        if not isinstance(value, Text) or value.nothing:
            talk.say("value-form", f"hook-up '{name}', {one}: expected one coupler half", value.place, _FORM)
            continue
        two = " ".join(value.value.split())
        good = True
        for half, place in ((one, group.keys[one]), (two, value.place)):
            if half in parts and not parts[half].known:
                good = False
            elif half not in halves:
                good = False
                said = "is no coupler half" if half in parts else "there is no part of that name"
                text = f"hook-up '{name}': '{half}' {said}" if half in parts else f"hook-up '{name}': {said}: '{half}'"
                hint = suggestion(half, halves, "coupler halves") or "give it 'kind: coupler half'"
                talk.say("hook-up-half", text, place, hint)
            elif half in taken:
                good = False
                talk.say(
                    "hook-up-half", f"hook-up '{name}': '{half}' is in two pairs", place,
                    f"first in line {taken[half].line}; a half takes one other half",
                )  # fmt: skip
            taken.setdefault(half, place)
        if good:
            found.append((one, two))
    return tuple(found)
