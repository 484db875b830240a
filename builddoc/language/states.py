"""`states`: what the levers, loads, stops and speeds are in each state."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from .. import kinds
from ..circuit import State, Tie
from ..kinds.base import Control
from ..messages import Place
from ..quantities import QuantityError
from .hookups import HookUps
from .model import PLUMBED, StateText, keys_of
from .parts import PartDraft
from .talk import Talk, name_list, suggestion
from .validate import check
from .yamltext import Group, Node, Sequence, Text

_SECTIONS = {"loads": "load", "at stop": "stop", "stopped": "stop", "speed": "speed"}


@dataclass(slots=True)
class Levers:
    """What a state may order. by_key: key of a state -> (part, control). loose: keys that mean several things."""

    controls: dict[tuple[str, str], Control] = field(default_factory=dict)
    by_key: dict[str, tuple[str, str]] = field(default_factory=dict)
    loose: dict[str, list[str]] = field(default_factory=dict)
    owners: dict[str, dict[str, Control]] = field(default_factory=dict)
    unread: set[str] = field(default_factory=set)  # parts whose own errors were said
    apart: dict[str, tuple[str, ...]] = field(default_factory=dict)  # pairs that nothing links

    @staticmethod
    def of(parts: dict[str, PartDraft], ties: dict[str, Tie], pairs: dict[str, Tie]) -> Levers:
        levers = Levers(unread={p.name for p in parts.values() if not p.known})
        levers.apart = {pair.name: pair.parts for pair in pairs.values()}
        short: dict[str, list[tuple[str, str]]] = {}
        for part in parts.values():
            levers.owners[part.name] = part.controls
            for control in part.controls.values():
                key = part.name, control.name
                levers.controls[key] = control
                if control.name in _SECTIONS.values():
                    continue
                levers.by_key[f"{part.name}.{control.name}"] = key
                if control.name == "position":
                    levers.by_key[part.name] = key
                else:
                    short.setdefault(control.name, []).append(key)
        for name, keys in short.items():
            if name in keys_of(StateText):
                continue
            own = levers.by_key.pop(name, None)  # a part that can be set and bears the name of a spool
            meant = [*([own] if own else []), *keys]
            if len(meant) == 1:
                levers.by_key[name] = meant[0]
            else:
                levers.loose[name] = [f"{part}.{control}" for part, control in meant]
        for tie in ties.values():
            model = parts.get(tie.parts[0]) if tie.parts else None
            if model is not None and not model.known:
                levers.unread.add(tie.name)
            levers.owners[tie.name] = {c.name: c for c in kinds.tie_controls()}
            for control_name, control in levers.owners[tie.name].items():
                levers.controls[tie.name, control_name] = control
        return levers


def read_states(node: Node | None, levers: Levers, hook_ups: HookUps, talk: Talk) -> dict[str, State]:
    """States in order; without any, the one state "as plumbed"."""
    if node is None or (isinstance(node, Group) and not node.values):
        name, joined = hook_ups.of("", PLUMBED, None, talk)
        return {PLUMBED: State(PLUMBED, hook_up=name, joined=joined)}
    if not isinstance(node, Group):
        talk.say(
            "value-form", "states: expected names, each with what is set in it", node.place, "as {lifting: {lifter: A}}"
        )
        return {}
    found: dict[str, State] = {}
    for name, value in node.values.items():
        place = node.keys[name]
        if isinstance(value, Text) and value.nothing:
            hook_up, joined = hook_ups.of("", name, place, talk)
            found[name] = State(name, place=place, hook_up=hook_up, joined=joined)
        elif not isinstance(value, Group):
            talk.say(
                "value-form", f"state '{name}': expected a group of keys", value.place, "write {} if nothing is set"
            )
        else:
            found[name] = _read_state(name, place, value, levers, hook_ups, talk)
    return found


def _read_state(
    name: str, place: Place, group: Group, levers: Levers, hook_ups: HookUps, talk: Talk
) -> State:
    own = keys_of(StateText)
    orders: dict[tuple[str, str], Any] = {}
    where: dict[tuple[str, str], Place] = {}

    def order(key: tuple[str, str], value: Any, value_place: Place, label: str) -> None:
        if key in where:
            talk.say(
                "order-twice",
                f"{label}: state '{name}' says this twice",
                value_place,
                f"first in line {where[key].line}",
            )
            return
        where[key] = value_place
        try:
            orders[key] = levers.controls[key].parse(value)
        except QuantityError as error:
            talk.say(error.code, f"{label}: {error.text}", value_place, error.hint)
        except ValueError as error:
            hint = str(getattr(error, "hint", ""))
            talk.say("order-wrong", f"{label}: {error.args[0] if error.args else error}", value_place, hint)

    levers_set = [k for k in group.values if k not in own]
    for key in levers_set:
        _lever(key, group, levers, order, name, talk)
    written = check(StateText, group, f"state '{name}'", place, talk, levers_set)
    for section, control in _SECTIONS.items():
        value = group.values.get(section)
        if isinstance(value, Sequence) and section == "stopped":
            for item in value.items:
                target = " ".join(item.value.split()) if isinstance(item, Text) else ""
                if target and _target(target, item.place, section, control, levers, talk):
                    order((target, control), "held", item.place, f"stopped, {target}")
        elif isinstance(value, Group) and section != "stopped":
            for target, said in value.values.items():
                if isinstance(said, Text) and said.nothing:
                    known = levers.controls.get((target, control))
                    hint = _hint(known.doc) if known else ""
                    talk.say("value-missing", f"{section}: '{target}' has no value", value.keys[target], hint)
                elif _target(target, value.keys[target], section, control, levers, talk):
                    order((target, control), said.plain(), said.place, f"{section}, {target}")
    if written is None:
        return State(name, orders, place=place)
    at = group.values["hook-up"].place if "hook-up" in group.values else place
    hook_up, joined = hook_ups.of(" ".join(written.hook_up.split()), name, at, talk)
    return State(name, orders, written.oil_temperature, written.fault, place, hook_up, joined)


def _lever(key: str, group: Group, levers: Levers, order: Callable[..., None], state: str, talk: Talk) -> None:
    value, place = group.values[key], group.keys[key]
    target = levers.by_key.get(key)
    if target is not None:
        if isinstance(value, Text) and value.nothing:
            doc = levers.controls[target].doc
            talk.say("value-missing", f"'{key}' has no value", place, _hint(doc))
        else:
            order(target, value.plain(), value.place, key)
        return
    if key in levers.loose:
        listed = name_list(f"'{k}'" for k in levers.loose[key])
        talk.say("lever-which", f"'{key}' may mean several things", place, f"write one of {listed}")
        return
    if levers.unread:  # it may belong to a part that could not be read
        return
    if key in levers.owners:
        able = _able(levers.owners[key])
        text = (
            f"'{key}' cannot be set by its name alone in state '{state}'"
            if able
            else f"'{key}' has nothing that a state could set"
        )
        talk.say("lever-unknown", text, place, able)
        return
    known = [*levers.by_key, *keys_of(StateText)]
    short = [k for k in known if not (k.count(".") and k.partition(".")[2] in levers.by_key)]
    talk.say("lever-unknown", f"state '{state}' has no lever '{key}'", place, suggestion(key, short, "it may set"))


def _hint(doc: str) -> str:
    """A control's description (Markdown) as a hint."""
    return doc.rstrip(".").replace("`", "'")


def _able(controls: dict[str, Control]) -> str:
    """What of a part a state may set, as a hint."""
    words = {
        "load": "its load is given under 'loads:'",
        "stop": "a stop under 'at stop:' or 'stopped:'",
        "speed": "its speed under 'speed:'",
    }
    said = [words[n] for n in controls if n in words]
    spools = [n for n in controls if n not in words and n != "position"]
    if spools:
        said.append("write the name of a spool: " + ", ".join(spools))
    return "; ".join(said)


def _target(target: str, place: Place, section: str, control: str, levers: Levers, talk: Talk) -> bool:
    """Whether `section` may name `target`; else it was said why not."""
    if (target, control) in levers.controls:
        return True
    if target in levers.unread:
        return False
    able = [n for n, controls in levers.owners.items() if control in controls]
    if target in levers.apart:
        each = ", ".join(levers.apart[target])
        talk.say("order-part", f"{section}: nothing links the parts of '{target}'", place, f"say it of each: {each}")
    elif target in levers.owners:
        listed = "there is: " + ", ".join(able) if able else ""
        talk.say("order-part", f"{section}: '{target}' takes no {control}", place, listed)
    else:
        talk.say(
            "part-unknown",
            f"{section}: there is no part or tie '{target}'",
            place,
            suggestion(target, able, "there is"),
        )
    return False
