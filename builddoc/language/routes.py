"""Where lines end: the words of a route -> ports or points on lines; which ports stay open or are taken twice."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from ..circuit import End
from ..messages import Place
from ..quantities import QuantityError, parse, show
from .parts import PartDraft
from .talk import Talk, inside, name_list, suggestion
from .yamltext import Node, Sequence, Text


@dataclass(slots=True)
class EndDraft:
    """One end as written. end None: still open (the port was left out) or wrong (`said`)."""

    text: str
    place: Place
    part: str = ""
    end: End | None = None
    said: bool = False


@dataclass(slots=True)
class Plumbing:
    """All ends of a circuit while they are sorted out. taken: (part, port) -> who ends there."""

    parts: dict[str, PartDraft]
    lines: dict[str, Place]
    talk: Talk
    taken: dict[tuple[str, str], str] = field(default_factory=dict)
    plugs: list[EndDraft] = field(default_factory=list)
    unclear: set[str] = field(default_factory=set)  # parts of which an end could not be read: no further complaints

    # ---- words
    def route(self, node: Node) -> tuple[EndDraft, EndDraft] | None:
        """Both ends of a route; None if it is no route."""
        if not isinstance(node, Text):
            self.talk.say("route-form", "route: expected a text", node.place, "write 'pump.outlet > bank.P'")
            return None
        text = node.value
        pieces = re.split(r">", text)
        arrow = next((sign for sign in ("->", "→", "=>", "<") if sign in text), "")
        if len(pieces) != 2 or arrow:
            hint = "write 'pump.outlet > bank.P'"
            if len(pieces) > 2 and not arrow:
                hint = "a line goes from one port to one port: write a line for each leg"
            elif arrow:
                hint = f"write '>' between the ends, not '{arrow}'"
            self.talk.say("route-form", f"route: '{text}' does not go from one port to another", node.place, hint)
            return None
        ends, start = [], 0
        for piece in pieces:
            words = " ".join(piece.split())
            lead = len(piece) - len(piece.lstrip())
            place = inside(node, start + lead, start + lead + len(piece.strip()))
            if not words:
                self.talk.say(
                    "route-form", "route: an end is missing beside '>'", node.place, "write 'pump.outlet > bank.P'"
                )
                return None
            ends.append(self.end(words, place))
            start += len(piece) + 1
        return ends[0], ends[1]

    def end(self, words: str, place: Place) -> EndDraft:
        """`pump.outlet`, `tank`, `feed at 0.4 m` -> an end; what is wrong with it is said."""
        draft = EndDraft(words, place)
        if words in self.parts:
            draft.part = words
            return draft
        head, dot, tail = words.partition(".")
        head, tail = head.strip(), tail.strip()
        if dot and head in self.parts:
            draft.part = head
            self._port(draft, head, tail)
            return draft
        line, at, length = words.rpartition(" at ")
        if at and (line in self.lines or re.match(r"[\d.,½¼¾-]", length)):
            self._tap(draft, line, length)
            return draft
        draft.said = True
        if words in self.lines:
            self.talk.say(
                "tap-form", f"'{words}' is a line: say where on it", place, f"write '{words} at 0.4 m', from its start"
            )
            return draft
        unknown = head if dot else words
        known = list(self.parts) if dot else [*self.parts, *self.lines]
        self.talk.say(
            "part-unknown", f"there is no part '{unknown}'", place, suggestion(unknown, known, "there is", 12)
        )
        return draft

    def _port(self, draft: EndDraft, part: str, word: str) -> None:
        known = self.parts[part]
        if not known.known:
            draft.said = True
            return
        for port in known.ports.values():
            if word == port.name or word in port.aliases:
                draft.end = End(part, port.name)
                return
        draft.said = True
        self.unclear.add(part)
        names = list(known.ports)
        hint = suggestion(word, names, "its ports") if word else "its ports: " + ", ".join(names)
        self.talk.say("port-unknown", f"'{part}' has no port '{word}'", draft.place, hint)

    def _tap(self, draft: EndDraft, line: str, length: str) -> None:
        if line not in self.lines:
            draft.said = True
            self.talk.say(
                "line-unknown", f"there is no line '{line}'", draft.place, suggestion(line, self.lines, "there is", 12)
            )
            return
        try:
            at = parse(length, "length")
        except QuantityError as error:
            draft.said = True
            self.talk.say(error.code, f"point on '{line}': {error.text}", draft.place, error.hint)
            return
        draft.end = End(line=line, at=at)

    # ---- ports
    def take(self, draft: EndDraft, who: str) -> None:
        """A line or plug ends at this port; a second one is an error."""
        if draft.end is None or draft.end.line:
            return
        key = draft.end.part, draft.end.port
        other = self.taken.get(key)
        if other is None:
            self.taken[key] = who
            return
        if self.parts[key[0]].takes_several(key[1]):
            return
        if who == other:  # a line from a port to itself, or a port listed twice: said elsewhere, or harmless
            return
        if other == "plugged":
            self.talk.say(
                "port-taken", f"'{key[0]}.{key[1]}' is listed as plugged, and {who} ends there", draft.place,
                "take it off the list of plugged ports, or take the line away",
            )  # fmt: skip
            return
        hint = "a port takes one line: put a tee in and end both lines at it"
        self.talk.say("port-taken", f"'{key[0]}.{key[1]}' is taken already by {other}", draft.place, hint)

    def settle(self, draft: EndDraft, who: str) -> None:
        """Find the port of an end that names its part alone."""
        if draft.end is not None or draft.said:
            return
        part = self.parts[draft.part]
        if not part.known:
            draft.said = True
            return
        free = [p for p in part.ports if (part.name, p) not in self.taken or part.takes_several(p)]
        needed = [p for p in free if not part.ports[p].optional] or free
        alike = all(part.ports[p].alike for p in needed)
        if needed and (alike or all(p in part.same_node(needed[0]) for p in needed)):
            draft.end = End(part.name, needed[0])
            self.take(draft, who)
            return
        draft.said = True
        self.unclear.add(part.name)
        if not needed:
            self.talk.say(
                "port-taken", f"'{part.name}' has no free port left", draft.place, "a port takes one line: put a tee in"
            )
            return
        self.talk.say(
            "port-which", f"which port of '{part.name}'?", draft.place,
            "write " + " or ".join(f"'{part.name}.{p}'" for p in needed),
        )  # fmt: skip

    def read_plugged(self, node: Node | None) -> None:
        """The list of ports closed on purpose."""
        if node is None:
            return
        if not isinstance(node, Sequence):
            self.talk.say("value-form", "plugged: expected a list of ports", node.place, "write [bank.lifter.B]")
            return
        for item in node.items:
            if not isinstance(item, Text) or not item.value.strip():
                self.talk.say("value-form", "plugged: expected a port", item.place, "write [bank.lifter.B]")
                continue
            draft = self.end(" ".join(item.value.split()), item.place)
            if draft.end is not None and draft.end.line:
                self.talk.say("value-form", "plugged: a line cannot be plugged, only a port", item.place)
                continue
            self.plugs.append(draft)

    def loose_ends(self) -> None:
        """Say which ports are neither connected nor plugged."""
        for part in self.parts.values():
            if not part.known or part.name in self.unclear:
                continue
            loose = []
            for port in part.ports.values():
                used = (part.name, port.name) in self.taken
                if part.takes_several(port.name):
                    used = any((part.name, p) in self.taken for p in part.same_node(port.name))
                if not used and not port.optional:
                    loose.append(port.name)
            if loose and all(part.takes_several(p) for p in loose):
                self.talk.say("port-open", f"no line ends at '{part.name}'", part.place, "add a line to it")
            elif loose:
                names = name_list(f"'{part.name}.{p}'" for p in loose)
                are = "is" if len(loose) == 1 else "are"
                self.talk.say(
                    "port-open", f"{names} {are} not connected", part.place,
                    "add a line, or name it under 'plugged:' if it is closed on purpose",
                )  # fmt: skip


def check_tap(end: EndDraft, name: str, lengths: dict[str, float | None], talk: Talk) -> None:
    """A point on a line must lie on it. lengths: line -> m; None = joined directly; missing = not known."""
    if end.end is None or not end.end.line:
        return
    line, at = end.end.line, end.end.at
    if line == name:
        talk.say("tap-form", f"line '{name}' starts on itself", end.place)
    elif line in lengths and lengths[line] is None:
        talk.say("tap-form", f"'{line}' has no length: nothing can start on it", end.place, "use a tee")
    elif line in lengths and not 0 <= at <= (lengths[line] or 0.0):
        length = show(lengths[line] or 0.0, "length")
        talk.say("tap-form", f"'{line}' is {length} long: {show(at, 'length')} is not on it", end.place)
