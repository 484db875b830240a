"""A rendered circuit that does not know yet on which page it will stand: what the cache keeps.

Marks (characters of Unicode's private area, which no host touches) stand for what only the page knows: the prefix of
the ids, the drawings (a host may put them in late), the addresses of the downloads, of pictures, of pages of rules and
of rows in other figures.
"""

from __future__ import annotations

import html as escaping
import re
from collections.abc import Callable
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from ..messages import Message, Place

PREFIX = "\ue000"
ABROAD = "\ue005"  # before the path of a place that lies on the block's page but not in the block
_OPEN_PANEL, _OPEN_FILE, _END = "\ue001", "\ue003", "\ue002"
_PANEL = re.compile(f"{_OPEN_PANEL}([0-9]{{1,4}}){_END}")
_OPEN_RULE = "\ue004"
_RULE = re.compile(f"{_OPEN_RULE}([^{_END}]*){_END}")
_FILE = re.compile(f"{_OPEN_FILE}([^{_END}]*){_END}")


_OPEN_IMAGE, _OPEN_ROW, _BETWEEN = "\ue006", "\ue007", "\ue008"
_IMAGE = re.compile(f"{_OPEN_IMAGE}([^{_END}]*){_END}")
_ROW = re.compile(f"{_OPEN_ROW}([^{_END}{_BETWEEN}]*){_BETWEEN}([0-9]+){_BETWEEN}([^{_END}]*){_END}")


@dataclass(frozen=True, slots=True)
class Site:
    """Addresses that only a whole site knows, "" = there is none. rule_page: of a rule's page, by its id. image: of a
    picture, by its path as written on the page. row: of a row in a circuit's figure, by page, number of the block on
    it, and anchor without prefix ("" = the figure itself)."""

    rule_page: Callable[[str], str] = lambda rule: ""
    image: Callable[[str], str] = lambda path: path
    row: Callable[[str, int, str], str] = lambda page, number, name: ""


NO_SITE = Site()


def panel_mark(index: int) -> str:
    return f"{_OPEN_PANEL}{index}{_END}"


def file_mark(name: str) -> str:
    return f"{_OPEN_FILE}{name}{_END}"


def image_mark(path: str) -> str:
    return f"{_OPEN_IMAGE}{path}{_END}"


def row_mark(page: str, number: int, name: str) -> str:
    """The address of a row in the figure of a circuit, on its page."""
    return f"{_OPEN_ROW}{page}{_BETWEEN}{number}{_BETWEEN}{name}{_END}"


def rule_path(rule: str) -> str:
    """Where the page of a rule lies, beside that of the language."""
    return f"rules/{rule}.md"


def rule_mark(rule: str) -> str:
    """The name of a rule, which is a link where the site has a page for it."""
    return f"{_OPEN_RULE}{rule}{_END}"


@dataclass(frozen=True, slots=True)
class Noted:
    """A finding as a terminal or a log needs it. signal: signal word, or "NOT CHECKED". subject, fingerprint: what an
    acceptance names. accepted: by whom, when and why, "" = it is not.
    taken_over: what to say where `place` lies in the text of an earlier revision, "" = it does not."""

    signal: str
    rule: str
    headline: str
    state: str = ""
    place: Place | None = None
    subject: str = ""
    fingerprint: str = ""
    accepted: str = ""
    taken_over: str = ""

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place else ""
        word = f"{self.signal} (accepted)" if self.accepted else self.signal
        over = f" ({self.taken_over})" if self.taken_over else ""
        return f"{where}{word}: {self.headline}{over} [{self.rule}]"


@dataclass(frozen=True, slots=True)
class Draft:
    """html: body with marks ("" when the circuit has errors). statement: the standing safety statement as HTML. digest:
    the same in a few plain paragraphs, for a search index. panels: one drawing with its words per state. files:
    download name -> text. ids: anchors without prefix. Places in `messages` and `findings` count from the block's own
    first line and have the path "" when they lie in the block. facts: figures by name and state, as
    `history.facts.to_data` gives them, for figures and claims in prose."""

    html: str = ""
    statement: str = ""
    digest: str = ""
    panels: tuple[str, ...] = ()
    files: dict[str, str] = field(default_factory=dict)
    ids: tuple[str, ...] = ()
    messages: tuple[Message, ...] = ()
    findings: tuple[Noted, ...] = ()
    text: str = ""
    facts: dict[str, Any] = field(default_factory=dict)

    def to_data(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_data(cls, data: dict[str, Any]) -> Draft:
        """Inverse of `to_data`. Raises TypeError, KeyError or ValueError for data of another shape."""
        draft = cls(
            html=data["html"],
            statement=data["statement"],
            digest=data["digest"],
            panels=tuple(data["panels"]),
            files=dict(data["files"]),
            ids=tuple(data["ids"]),
            messages=tuple(Message(**{**m, "place": _place(m["place"])}) for m in data["messages"]),
            findings=tuple(Noted(**{**f, "place": _place(f["place"])}) for f in data["findings"]),
            text=data["text"],
            facts=dict(data["facts"]),
        )
        texts = (draft.html, draft.statement, draft.digest, draft.text, *draft.panels, *draft.ids)
        texts += (*draft.files, *draft.files.values())
        if not all(isinstance(text, str) for text in texts):
            raise TypeError("not the data of a draft")
        return draft

    def fill(self, prefix: str, link: Callable[[str, str], str], site: Site = NO_SITE) -> str:
        """The body with drawings, ids, download addresses (link(name, text)) and what the site has to add."""

        def named(rule: str) -> str:
            page = site.rule_page(rule)
            return f'<a href="{escaping.escape(page)}">{rule}</a>' if page else rule

        files = self.files
        html = _PANEL.sub(lambda m: self.panels[int(m[1])] if int(m[1]) < len(self.panels) else "", self.html)
        html = _FILE.sub(lambda m: link(m[1], files[m[1]]) if m[1] in files else "", html)
        html = _IMAGE.sub(lambda m: escaping.escape(site.image(escaping.unescape(m[1]))), html)
        html = _ROW.sub(lambda m: escaping.escape(site.row(m[1], int(m[2]), m[3]) or f"#{prefix}"), html)
        return _RULE.sub(lambda m: named(m[1]), html).replace(PREFIX, prefix)


def _place(data: Any) -> Place | None:
    return None if data is None else Place(**data)


def to_block(place: Place | None, path: str) -> Place | None:
    """A place in the text of the block loses its path; a place in an included file keeps it."""
    if place is None:
        return None
    if place.path.startswith(ABROAD):
        return replace(place, path=place.path.removeprefix(ABROAD))
    return replace(place, path="") if place.path == path else place


def message_to_block(message: Message, path: str) -> Message:
    """A message with its place as `to_block` gives it."""
    place = to_block(message.place, path)
    return replace(message, place=place, text=message.text.replace(ABROAD, ""), hint=message.hint.replace(ABROAD, ""))


def to_page(place: Place | None, path: str, first_line: int, first_column: int) -> Place | None:
    """Inverse of `to_block`, for a block whose first character stands at (first_line, first_column) of `path`."""
    if place is None or place.path:
        return place
    shift = first_column - 1
    end = None if place.end_column is None else place.end_column + shift
    return Place(path, place.line + first_line - 1, place.column + shift, end)
