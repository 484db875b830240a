"""`parts`, `defaults`, `like`: names -> kinds with validated parameters."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import Any

from .. import kinds
from ..circuit import Part
from ..declarations import PartFacts
from ..fields import NamesPart
from ..kinds.base import Control, Kind, Parameters, Port
from ..messages import Place
from .describe import marker
from .model import PartText, StateText, keys_of
from .talk import Talk, suggestion
from .validate import check
from .yamltext import Group, Node, Text

_OWN = ("kind", "like", "declare")


@dataclass(slots=True)
class PartDraft:
    """A part as far as it could be read. params None: its errors were said; nothing more is said about its ports."""

    name: str
    place: Place
    group: Group
    kind: Kind[Any] | None = None
    params: Parameters | None = None
    ports: dict[str, Port] = field(default_factory=dict)
    controls: dict[str, Control] = field(default_factory=dict)
    declare: PartFacts | None = None

    @property
    def known(self) -> bool:
        return self.params is not None

    def same_node(self, port: str) -> frozenset[str]:
        """The port and those that are one node with it inside the part."""
        if self.kind is None or self.params is None:
            return frozenset((port,))
        groups = [set(g) for g in (*self.kind.joined(self.params), self.kind.at_reservoir(self.params)) if g]
        found = {port}
        grown = True
        while grown:
            grown = False
            for group in groups:
                if found & group and not group <= found:
                    found |= group
                    grown = True
        return frozenset(found)

    def takes_several(self, port: str) -> bool:
        if self.kind is None or self.params is None:
            return True
        return self.ports[port].several or port in self.kind.at_reservoir(self.params)

    def part(self) -> Part:
        assert self.kind is not None and self.params is not None
        return Part(self.name, self.kind.name, self.params, self.place, dict(self.group.keys), self.declare)


def bad_name(name: str, place: Place, what: str, talk: Talk) -> bool:
    """Say so if `name` may not name a part, line or tie."""
    wrong = next((sign for sign in ".>" if sign in name), None)
    if wrong:
        talk.say("name-form", f"the name of a {what} may not hold '{wrong}'", place, "it separates names in a route")
    return wrong is not None


def read_defaults(node: Node | None, conduits: dict[str, Any], talk: Talk) -> dict[str, Group]:
    """Kind or conduit key -> its defaults, unknown ones said and left out."""
    found: dict[str, Group] = {}
    if node is None:
        return found
    if not isinstance(node, Group):
        talk.say("value-form", "defaults: expected a group of 'key: value'", node.place, "as {hose: {rating: 210 bar}}")
        return found
    for name, values in node.values.items():
        kind = kinds.find(name)
        if kind is None and name not in conduits:
            known = [*kinds.registry(), *conduits]
            talk.say(
                "kind-unknown",
                f"there is no kind of part or conduit '{name}'",
                node.keys[name],
                suggestion(name, known),
            )
            continue
        if not isinstance(values, Group):
            talk.say("value-form", f"{name}: expected a group of 'key: value'", values.place)
            continue
        known_keys = list(keys_of(kind.Params)) if kind else [*keys_of(conduits[name].Params), "rating", "roughness"]
        for key in values.values:
            if key not in known_keys:
                talk.say(
                    "key-unknown", f"a {name} has no key '{key}'", values.keys[key], suggestion(key, known_keys, "keys")
                )
        found[kind.name if kind else name] = values.without(*(k for k in values.values if k not in known_keys))
    return found


def with_defaults(group: Group, base: Group | None, owner: str, assumed: list[str]) -> Group:
    """`group` filled up from defaults; each one used becomes a sentence for the page."""
    if base is None:
        return group
    used = [key for key in base.values if key not in group.values]
    for key in used:
        value = base.values[key]
        said = value.value if isinstance(value, Text) else "as given there"
        assumed.append(f"{owner}: {key} {said}, from the defaults of this page.")
    return group.over(Group({k: base.keys[k] for k in used}, {k: base.values[k] for k in used}, base.place))


def read_parts(node: Node | None, defaults: dict[str, Group], assumed: list[str], talk: Talk) -> dict[str, PartDraft]:
    """Every part that has a name, even if the rest of it is wrong."""
    drafts: dict[str, PartDraft] = {}
    if node is None:
        return drafts
    if not isinstance(node, Group) or not node.values:
        talk.say(
            "value-form", "parts: expected names, each with a kind", node.place,
            "as parts: {pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm}}",
        )  # fmt: skip
        return drafts
    reserved = set(keys_of(StateText))
    written: dict[str, Group] = {}
    for name, value in node.values.items():
        place = node.keys[name]
        bad_name(name, place, "part", talk)
        if name in reserved:
            talk.say(
                "name-form",
                f"a part may not be called '{name}'",
                place,
                "in a state that word has a meaning of its own",
            )
        group = value if isinstance(value, Group) else Group({}, {}, value.place)
        if not isinstance(value, Group):
            hint = (
                f"write {name}: {{kind: {value.value}}}" if isinstance(value, Text) and kinds.find(value.value) else ""
            )
            talk.say("value-form", f"part '{name}': expected a group of keys with its kind", value.place, hint)
        else:
            written[name] = group
        drafts[name] = PartDraft(name, place, group)
    for name, group in written.items():
        merged = _like(name, written, talk, ())
        if merged is not None:
            _read_part(drafts[name], group, merged, defaults, assumed, talk)
    _check_names(drafts, talk)
    return drafts


def _like(name: str, written: dict[str, Group], talk: Talk, seen: tuple[str, ...]) -> Group | None:
    """The part's group with what `like` brings in; None if that failed (said once, at the part that fails)."""
    group = written[name]
    if "like" not in group.values:
        return group
    other = group.values["like"]
    if not isinstance(other, Text) or other.nothing:
        talk.say("value-form", "like: expected the name of one part", other.place)
        return None
    target = " ".join(other.value.split())
    if target == name or target in seen:
        talk.say(
            "like-circle", f"like: '{target}' is itself like '{name}'", other.place, "give one of them its parameters"
        )
        return None
    if target not in written:
        talk.say(
            "part-unknown", f"like: there is no part '{target}'", other.place, suggestion(target, written, "parts")
        )
        return None
    base = _like(target, written, talk, (*seen, name))
    if base is None:
        return None
    own, its = group.values.get("kind"), base.values.get("kind")
    if isinstance(own, Text) and isinstance(its, Text) and kinds.find(own.value) is not kinds.find(its.value):
        talk.say(
            "like-kind",
            f"like: '{target}' is of kind '{its.value}', not '{own.value}'",
            other.place,
            "leave 'kind' out",
        )
        return None
    return group.over(base.without("like", "declare"))


def _read_part(
    draft: PartDraft, own: Group, merged: Group, defaults: dict[str, Group], assumed: list[str], talk: Talk
) -> None:
    name = draft.name
    word = merged.values.get("kind")
    known = list(kinds.registry())
    if word is None:
        talk.say(
            "value-missing", f"part '{name}' does not say its kind", draft.place, "add 'kind: …': " + ", ".join(known)
        )
        return
    if not isinstance(word, Text):
        talk.say("value-form", "kind: expected one word or name", word.place)
        return
    if word.nothing:
        talk.say("value-missing", "'kind' has no value", merged.keys["kind"], "one of: " + ", ".join(known))
        return
    draft.kind = kinds.find(" ".join(word.value.split()))
    if draft.kind is None:
        aliases = [a for k in kinds.registry().values() for a in k.aliases]
        hint = suggestion(word.value, [*known, *aliases]) or "one of: " + ", ".join(known)
        talk.say("kind-unknown", f"there is no kind '{word.value}'", word.place, hint)
        return
    filled = with_defaults(merged.without(*_OWN), defaults.get(draft.kind.name), name, assumed)
    draft.group = own.over(filled)
    draft.params = check(draft.kind.Params, filled, f"{_a(draft.kind.name)} ('{name}')", draft.place, talk,
                         ("declare",))  # fmt: skip
    if "declare" in own.values:
        said = own.without(*(k for k in own.values if k != "declare"))
        written = check(PartText, said, f"part '{name}'", draft.place, talk)
        draft.declare = written.declare if written else None
    if draft.params is not None:
        draft.ports = {p.name: p for p in draft.kind.ports(draft.params)}
        draft.controls = {c.name: c for c in draft.kind.controls(draft.params)}


def _a(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeio" else f"a {noun}"


def _check_names(drafts: dict[str, PartDraft], talk: Talk) -> None:
    """Parameters that name another part (`driven by: engine`)."""
    for draft in drafts.values():
        if draft.params is None:
            continue
        for key, field_name, mark in _naming(type(draft.params)):
            other = getattr(draft.params, field_name)
            if not other:
                continue
            place = draft.group.values[key].place if key in draft.group.values else draft.place
            drivers = [d.name for d in drafts.values() if _drives(d)]
            choices = drivers if mark.driver else [n for n in drafts if n != draft.name]
            if other not in drafts:
                talk.say(
                    "part-unknown", f"{key}: there is no part '{other}'", place, suggestion(other, choices, "there is")
                )
            elif mark.driver and drafts[other].known and other not in drivers:
                hint = "there is: " + ", ".join(drivers) if drivers else "add a part of kind engine or electric motor"
                talk.say("driver-wrong", f"{key}: '{other}' does not turn a shaft", place, hint)


@cache
def _naming(params: type[Parameters]) -> tuple[tuple[str, str, NamesPart], ...]:
    """(key, field, marker) of the parameters that name another part."""
    named = ((key, name, marker(params.model_fields[name], NamesPart)) for key, name in keys_of(params).items())
    return tuple((key, name, mark) for key, name, mark in named if mark is not None)


def _drives(draft: PartDraft) -> bool:
    return draft.kind is not None and draft.params is not None and draft.kind.nominal_speed(draft.params) is not None
