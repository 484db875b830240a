"""Text of a circuit -> `Reading`: the circuit, or everything that is wrong with the text, in one run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePosixPath

from ..circuit import Circuit, Line, Oil, Show, State
from ..kinds.fitting import rated_at
from ..messages import Message, Place
from ..standards.choices import said
from .accepting import read_accepted
from .faults import read_faults
from .hints import read_hints
from .hookups import read_hook_ups
from .lines import conduits, connect, read_lines
from .model import CircuitText, HeadText, ShowText, keys_of
from .oil import read_oil
from .parts import PartDraft, read_defaults, read_parts
from .revisions import Bases, as_text, errors, in_text, is_changed, whole
from .routes import Plumbing
from .states import Levers, read_states
from .tables import read_tables
from .talk import Talk, nearest, suggestion
from .ties import read_ties
from .validate import check
from .yamltext import Group, Node, Text, read_yaml


@dataclass(frozen=True, slots=True)
class Reading:
    """circuit: None if there is an error among the messages."""

    circuit: Circuit | None
    messages: list[Message] = field(default_factory=list)


def read(
    text: str, path: str = "", first_line: int = 1, first_column: int = 1, bases: Bases | None = None
) -> Reading:
    """Read a circuit block or file. Never raises for bad input.

    path: of the file the text stands in, as the user would type it; a `file:` key is looked up beside it. first_line,
    first_column: place of the text's first character in that file. bases: where `from: A` is looked up.
    """
    group, messages = read_yaml(text, path, first_line, first_column)
    talk = Talk()
    talk.messages.extend(messages)
    if group is None:
        return Reading(None, talk.in_order())
    if "file" in group.values:
        return _from_file(group, path, text, talk, bases)
    if is_changed(group):
        return _changed(group, text, path, first_line, talk, bases)
    return _circuit(group, text, path, talk)


def _changed(
    group: Group, text: str, path: str, first_line: int, talk: Talk, bases: Bases | None, outer: Group | None = None
) -> Reading:
    """A circuit that is written as changes to an earlier revision."""
    from ..history.changes import blame

    found = whole(group, path, talk, bases, _load_beside)
    if found is None or talk.failed:
        return Reading(None, talk.in_order())
    reading = _circuit(found.tree, as_text(found.tree), path, Talk(), outer)
    own = in_text(text, path, first_line)
    wrong = errors(reading.messages)
    head = group.without("from", "changes")

    def messages_of(tree: Group) -> list[Message]:
        return errors(_circuit(head.over(tree), "", path, Talk(), outer).messages)

    if wrong and (before := [m for m in messages_of(found.base) if not own(m.place)]):
        talk.say("base-wrong", f"{found.name} has errors itself", group.values["from"].place, f"first: {before[0]}")
        wrong = [m for m in wrong if own(m.place)]
    remarks = [m for m in reading.messages if m.level != "error"]
    talk.messages += [*blame(wrong, found.steps, messages_of, own, found.name), *remarks]
    if reading.circuit is None:
        return Reading(None, talk.in_order())
    circuit = replace(reading.circuit, base=found.revision, changes=tuple(step.change for step in found.steps))
    return Reading(circuit, talk.in_order())


def _circuit(group: Group, text: str, path: str, talk: Talk, outer: Group | None = None) -> Reading:
    """outer: `show` and `units` of the block that named this file."""
    known = keys_of(CircuitText)
    for key in group.values:
        if key not in known:
            hint = suggestion(key, [k for k in known if k != "file"], "keys")
            talk.say("key-unknown", f"a circuit has no key '{key}'", group.keys[key], hint)
    if outer is not None:
        group = outer.over(group)
    head = check(HeadText, group, "the circuit", group.place, talk, group.values)
    assumed: list[str] = []
    for key in ("parts", "lines", "states", "ties", "plugged", "defaults", "show", "oil", "faults", "hook-ups",
                "accepted", "tables"):  # fmt: skip
        value = group.values.get(key)
        if isinstance(value, Text) and value.nothing:
            if key == "parts":
                talk.say(
                    "value-missing", "'parts' has no value", group.keys[key], "name the parts of the machine below it"
                )
            group = group.without(key) if key != "parts" else group

    def section(name: str) -> Node | None:
        value = group.values.get(name)
        return None if isinstance(value, Text) and value.nothing else value

    oil = read_oil(section("oil"), talk)
    if "ambient" not in group.values:
        assumed.append("The air round the machine is taken as 20 °C: the page does not say.")
    defaults = read_defaults(section("defaults"), dict(conduits()), talk)
    if "parts" not in group.values:
        talk.say(
            "value-missing", "the circuit needs 'parts'", group.place, "name the parts of the machine under 'parts:'"
        )
    parts = read_parts(section("parts"), defaults, assumed, talk)
    plumbing = Plumbing(parts, {}, talk)
    tables = read_tables(section("tables"), talk)
    lines = read_lines(section("lines"), plumbing, defaults, assumed, talk, tables)
    plumbing.read_plugged(section("plugged"))
    connect(lines, plumbing, talk, "lines" in group.values or all(k in known for k in group.values))
    ties, pairs = read_ties(section("ties"), parts, plumbing.lines, talk)
    hook_ups = read_hook_ups(section("hook-ups"), section("hook-up"), parts, talk)
    states = read_states(section("states"), Levers.of(parts, ties, pairs), hook_ups, talk)
    faults, excluded = read_faults(section("faults"), [*parts, *lines, *ties, *states], talk)
    accepted = read_accepted(section("accepted"), talk)
    show = _show(section("show"), states, parts, talk)
    if talk.failed or head is None or oil is None or show is None:
        return Reading(None, talk.in_order())
    plugged = tuple(p.end for p in plumbing.plugs if p.end is not None)
    circuit = Circuit(
        machine=head.machine,
        revision=head.revision,
        date=head.date,
        title=head.title,
        ambient=head.ambient,
        units=tuple(part.strip() for part in head.units.split(", then")),
        oil=oil,
        parts={name: draft.part() for name, draft in parts.items()},
        lines=_rated_hot({name: draft.line() for name, draft in lines.items()}, oil, states, tables),
        states=states,
        ties=ties,
        plugged=plugged,
        show=show,
        assumed=(*oil.assumed, *assumed, *said(tables)),
        text=text,
        source=path,
        place=group.place,
        faults=faults,
        no_faults=excluded,
        accepted=accepted,
        tables=tables,
        pairs=pairs,
        status=head.status,
        declare=head.declare,
    )
    return Reading(circuit, talk.in_order())


def _rated_hot(
    lines: dict[str, Line], oil: Oil, states: dict[str, State], tables: Mapping[str, str]
) -> dict[str, Line]:
    """Ratings of fittings from tables fall with temperature: taken at the hottest oil that is written anywhere, the
    limit included."""
    hottest = max(oil.limit, oil.temperature, *(s.oil_temperature or 0.0 for s in states.values()))
    return {
        name: replace(line, fittings=tuple(rated_at(fitting, hottest, tables) for fitting in line.fittings))
        for name, line in lines.items()
    }


def _show(
    node: Node | None, states: dict[str, State], parts: dict[str, PartDraft], talk: Talk
) -> Show | None:
    if node is None:
        return Show()
    if not isinstance(node, Group):
        talk.say("value-form", "show: expected a group of keys", node.place, "as {state: lifting, hide: [proof]}")
        return None
    written = check(ShowText, node, "show", node.place, talk)
    if written is None:
        return None
    if written.state and written.state not in states:
        place = node.values["state"].place
        talk.say(
            "state-unknown",
            f"show: there is no state '{written.state}'",
            place,
            suggestion(written.state, states, "states"),
        )
        return None
    hints = read_hints(node.values.get("hints"), written.hints, parts, talk)
    return Show(written.state, tuple(written.hide), written.view, hints)


def _from_file(group: Group, path: str, text: str, talk: Talk, bases: Bases | None) -> Reading:
    node = group.values["file"]
    known = keys_of(CircuitText)
    for key in group.values:
        if key not in ("file", "show", "units"):
            if key in known:
                talk.say(
                    "file-alone", f"beside 'file' no '{key}' may stand here", group.keys[key], "write it in the file"
                )
            else:
                hint = suggestion(key, ("file", "show", "units"), "keys")
                talk.say("key-unknown", f"a circuit has no key '{key}'", group.keys[key], hint)
    if not isinstance(node, Text) or not node.value.strip():
        talk.say("value-form", "file: expected the path of one file", node.place, "as file: circuits/mill.yml")
        return Reading(None, talk.in_order())
    name = node.value.strip()
    inner_text = _load_beside(name, node.place, path, talk)
    if inner_text is None:
        return Reading(None, talk.in_order())
    target = Path(path).parent / name
    inner, messages = read_yaml(inner_text, target.as_posix())
    talk.messages.extend(messages)
    if inner is None:
        return Reading(None, talk.in_order())
    if "file" in inner.values:
        talk.say("file-alone", "file: a circuit file may not name another one", inner.keys["file"])
        return Reading(None, talk.in_order())
    outer = group.without(*(k for k in group.values if k not in ("show", "units")))
    if is_changed(inner):
        reading = _changed(inner, inner_text, target.as_posix(), 1, talk, bases, outer)
    else:
        reading = _circuit(inner, inner_text, target.as_posix(), talk, outer)
    return (
        reading if reading.circuit is None else Reading(replace(reading.circuit, place=group.place), reading.messages)
    )


def _load_beside(name: str, place: Place, path: str, talk: Talk) -> str | None:
    """Text of a file that is named relative to the text at `path`; None after saying why there is none."""
    if PurePosixPath(name).is_absolute() or "\\" in name or ":" in name or "\0" in name:
        talk.say("file-name", f"file: '{name}' is not a path beside the page", place, "relative to the page, with '/'")
        return None
    return _load(Path(path).parent / name, name, place, talk)


def _load(target: Path, name: str, place: Place, talk: Talk) -> str | None:
    try:
        if target.stat().st_size > 1_000_000:
            talk.say("file-read", f"file: '{name}' is too large for a circuit", place)
            return None
        return target.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        talk.say("file-read", f"file: '{name}' is not UTF-8 text", place, "save it as UTF-8")
    except (FileNotFoundError, NotADirectoryError):
        beside = sorted(p.name for p in target.parent.glob("*.y*ml")) if target.parent.is_dir() else []
        near = nearest(target.name, beside)
        talk.say("file-missing", f"file: there is no file '{name}'", place, f"did you mean '{near}'?" if near else "")
    except (OSError, ValueError) as error:
        talk.say("file-read", f"file: '{name}' cannot be read", place, str(getattr(error, "strerror", "") or ""))
    return None
