"""`lines`: routes, conduits, fittings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from pydantic import ValidationError
from pydantic_core import PydanticCustomError

from .. import kinds
from ..circuit import Conduit, Fitting, Line
from ..kinds.fitting import FittingKeys, read_fitting
from ..messages import Place
from ..quantities import QuantityError
from ..standards import NONE, Choices
from .model import LineText, keys_of
from .parts import bad_name, with_defaults
from .routes import EndDraft, Plumbing, check_tap
from .talk import Talk, name_list, nearest, suggestion
from .validate import check
from .yamltext import Group, Node, Sequence, Text


def conduits() -> Mapping[str, Any]:
    """Key of a line ("hose") -> what reads it."""
    return kinds.conduits()


@dataclass(slots=True)
class LineDraft:
    name: str
    place: Place
    group: Group
    ends: tuple[EndDraft, EndDraft] | None = None
    written: LineText | None = None
    conduit: Conduit | None = None
    fittings: tuple[Fitting, ...] = ()
    sound: bool = True  # False: an error was said, no length or conduit to be relied on

    def line(self) -> Line:
        assert self.written is not None and self.ends is not None
        start, end = self.ends[0].end, self.ends[1].end
        assert start is not None and end is not None
        details = {"note": self.written.note, "hose date": self.written.hose_date}
        return Line(
            self.name, start, end, self.conduit, self.written.length or 0.0, self.fittings, self.written.duty or "",
            self.place, dict(self.group.keys), {k: v for k, v in details.items() if v}, self.written.declare,
        )  # fmt: skip


def read_lines(
    node: Node | None, plumbing: Plumbing, defaults: dict[str, Group], assumed: list[str], talk: Talk,
    choices: Choices = NONE,
) -> dict[str, LineDraft]:
    """Every line that has a name. Ends whose port was left out are still open (see `connect`).
    choices: of tables that disagree."""
    drafts: dict[str, LineDraft] = {}
    if node is None:
        return drafts
    if not isinstance(node, Group):
        talk.say(
            "value-form", "lines: expected names, each with a route", node.place,
            "as lines: {feed: {route: pump.outlet > bank.P, hose: two-wire, size: -8, length: 0.8 m}}",
        )  # fmt: skip
        return drafts
    for name, value in node.values.items():
        place = node.keys[name]
        bad_name(name, place, "line", talk)
        if name in plumbing.parts:
            talk.say("name-twice", f"'{name}' is the name of a part too", place, "give the line another name")
        group = value if isinstance(value, Group) else Group({}, {}, value.place)
        draft = drafts[name] = LineDraft(name, place, group)
        if not isinstance(value, Group):
            hint = (
                f"write {name}: {{route: {value.value}, …}}" if isinstance(value, Text) and ">" in value.value else ""
            )
            talk.say("value-form", f"line '{name}': expected a group of keys with its route", value.place, hint)
            draft.sound = False
        plumbing.lines[name] = place
    for draft in drafts.values():
        if draft.sound:
            _read_line(draft, plumbing, defaults, assumed, talk, choices)
    return drafts


def _read_line(
    draft: LineDraft, plumbing: Plumbing, defaults: dict[str, Group], assumed: list[str], talk: Talk, choices: Choices
) -> None:
    before = len(talk.messages)
    key = _conduit_key(draft, draft.group, talk)
    reader = conduits().get(key or "")
    if reader is not None:
        draft.group = with_defaults(draft.group, defaults.get(reader.key), draft.name, assumed)
    group = draft.group
    route = group.values.get("route")
    if route is not None and not (isinstance(route, Text) and route.nothing):
        draft.ends = plumbing.route(route)
    own = set(keys_of(LineText))
    extra = set(keys_of(reader.Params)) if reader is not None else set()
    others = set() if key == "direct" else {*conduits(), *extra} - own
    if key is None:  # it is not known whose keys they are
        others |= {k for conduit in conduits().values() for k in keys_of(conduit.Params)} - own
    draft.written = check(LineText, group, f"line '{draft.name}'", draft.place, talk, others)
    if reader is not None:
        _read_conduit(draft, reader, own, extra, talk, choices)
    elif key == "direct":
        for odd in ("length", "fittings", "roughness"):
            if odd in group.values:
                talk.say(
                    "key-odd", f"{odd}: ports that are joined directly have none", group.keys[odd],
                    "for a short run give 'bore' and 'length' instead of 'direct'",
                )  # fmt: skip
    if "fittings" in group.values and key != "direct":
        draft.fittings = _fittings(group.values["fittings"], talk, choices)
    draft.sound = not any(m.level == "error" for m in talk.messages[before:])


def _read_conduit(
    draft: LineDraft, reader: Any, own: set[str], extra: set[str], talk: Talk, choices: Choices
) -> None:
    """The hose, tube or pipe. own: keys of any line; extra: keys of this conduit."""
    group, owner, key = draft.group, f"line '{draft.name}'", str(reader.key)
    for other in group.values:
        if other in conduits() and other not in own | extra:
            talk.say("key-unknown", f"{owner}: a {key} has no key '{other}'", group.keys[other])
    params = check(reader.Params, group.without(*(k for k in group.values if k not in extra)), owner, draft.place, talk)
    if params is not None:
        try:
            draft.conduit = reader.resolve(params, choices)
        except (ValueError, PydanticCustomError) as error:
            _say(error, key, group.values[key].place, talk)
    if draft.conduit is not None and draft.written is not None:
        draft.conduit = _own_figures(draft.conduit, draft.written, extra)
    if "length" not in group.values and all(nearest(k, own) != "length" for k in group.values if k not in own | extra):
        talk.say("value-missing", f"{owner} needs 'length'", draft.place, "along the run, as 'length: 0.8 m'")


def _conduit_key(draft: LineDraft, group: Group, talk: Talk) -> str | None:
    """Which one of the conduits, or "direct"; None after an error was said."""
    known = conduits()
    found = [k for k in group.values if k in known]
    direct = group.values.get("direct")
    if isinstance(direct, Text) and direct.value.lower() in ("yes", "true", "on"):
        found.append("direct")
    if len(found) > 1:  # `bore` says the bore of a hose too
        inner = {k for other in found if other in known for k in keys_of(known[other].Params) if k != other}
        found = [k for k in found if k not in inner] or found
    if len(found) == 1:
        return found[0]
    choices = ", ".join([f"'{k}: …'" for k in known] + ["'direct: yes'"])
    if not found:
        unknown = [k for k in group.values if k not in keys_of(LineText)]
        near = suggestion(unknown[0], known) if unknown else ""
        if not near:
            talk.say(
                "conduit-missing",
                f"line '{draft.name}' does not say what it is made of",
                draft.place,
                f"one of {choices}",
            )
        return None
    talk.say(
        "conduit-twice", f"line '{draft.name}' is made of two things: {name_list(found)}", group.keys[found[1]],
        "write a line for each, joined by a part",
    )  # fmt: skip
    return None


def _say(error: Exception, label: str, place: Place, talk: Talk) -> None:
    """An error of a look-up or a kind's own reader, at the place of the value."""
    if isinstance(error, QuantityError):
        talk.say(error.code, f"{label}: {error.text}", place, error.hint)
    elif isinstance(error, PydanticCustomError):
        context = error.context or {}
        talk.say(error.type, f"{label}: {context.get('text') or error.message()}", place, str(context.get("hint", "")))
    elif isinstance(error, ValidationError):
        for one in error.errors(include_url=False, include_input=False):
            context = one.get("ctx") or {}
            code = one["type"] if "-" in one["type"] else "value-wrong"
            inner = ", ".join([label, *(str(step) for step in one["loc"])])
            talk.say(code, f"{inner}: {context.get('text') or one['msg']}", place, str(context.get("hint", "")))
    else:
        choices = list(getattr(error, "choices", ()))
        hint = getattr(error, "hint", "") or ("listed: " + ", ".join(map(str, choices[:12])) if choices else "")
        talk.say(
            "not-listed" if choices else "value-wrong",
            f"{label}: {error.args[0] if error.args else error}",
            place,
            hint,
        )


def _own_figures(conduit: Conduit, written: LineText, params_keys: set[str]) -> Conduit:
    """The line's own rating and roughness win, unless the conduit's parameters took them already."""
    if written.rating is not None and "rating" not in params_keys:
        conduit = replace(conduit, rating=written.rating)
    if written.roughness is not None and "roughness" not in params_keys:
        conduit = replace(conduit, roughness=written.roughness)
    return conduit


def _fittings(node: Node, talk: Talk, choices: Choices) -> tuple[Fitting, ...]:
    if not isinstance(node, Sequence):
        return ()  # said by the model
    found = []
    for item in node.items:
        if isinstance(item, Text) and not item.value.strip():
            talk.say("value-missing", "fittings: nothing is written here", item.place)
            continue
        if isinstance(item, Group) and check(FittingKeys, item, "a fitting", item.place, talk) is None:
            continue
        if isinstance(item, Sequence):
            talk.say("value-form", "fittings: expected a text or a group of keys, not a list", item.place)
            continue
        try:
            known = (
                item.without(*(k for k in item.values if k not in keys_of(FittingKeys)))
                if isinstance(item, Group)
                else item
            )
            found.append(read_fitting(known.plain(), item.place, choices))
        except (ValueError, PydanticCustomError) as error:
            _say(error, "fittings", item.place, talk)
    return tuple(found)


def connect(drafts: dict[str, LineDraft], plumbing: Plumbing, talk: Talk, complete: bool = True) -> None:
    """Give every end its port: those written out first, then those left out; then see what stays open.

    complete: False if the lines may stand under a key that is not known.
    """
    for plug in plumbing.plugs:
        plumbing.take(plug, "plugged")
    ends = [(end, f"line '{d.name}'") for d in drafts.values() if d.ends for end in d.ends]
    for end, who in ends:
        plumbing.take(end, who)
    for end, who in ends:
        plumbing.settle(end, who)
    for plug in plumbing.plugs:
        plumbing.settle(plug, "plugged")
    lengths = {
        d.name: (d.written.length if not d.written.direct else None)
        for d in drafts.values()
        if d.written is not None and (d.written.direct or d.written.length is not None)
    }
    lost = any(not d.ends for d in drafts.values())
    for draft in drafts.values():
        for end in draft.ends or ():
            check_tap(end, draft.name, lengths, talk)
        if draft.ends and draft.ends[0].end is not None and draft.ends[0].end == draft.ends[1].end:
            talk.say("route-form", f"route: '{draft.name}' ends where it starts", draft.ends[1].place)
    _rings(drafts, talk)
    unknown = any(end.said and not end.part for end, _ in ends)
    if complete and not lost and not unknown:  # else the missing connections may be meant there
        plumbing.loose_ends()


def _rings(drafts: dict[str, LineDraft], talk: Talk) -> None:
    """Lines that end on each other in a ring end nowhere."""
    hosts = {
        d.name: [e.end.line for e in d.ends or () if e.end is not None and e.end.line and e.end.line != d.name]
        for d in drafts.values()
    }
    for draft in drafts.values():
        reached: set[str] = set()
        ahead = list(hosts[draft.name])
        while ahead:
            name = ahead.pop()
            if name not in reached:
                reached.add(name)
                ahead += hosts.get(name, [])
        if draft.name in reached:
            others = name_list(f"'{n}'" for n in sorted(reached - {draft.name}))
            talk.say("tap-form", f"'{draft.name}' and {others} start on each other", draft.place, "end one at a port")
