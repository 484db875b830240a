"""text -> HTML with everything a circuit shows: the whole job from plain Python, without a host."""

from __future__ import annotations

import logging
import urllib.parse
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from importlib.resources import files as package_files
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from ..messages import Message, Place
from .draft import (
    NO_SITE,
    PREFIX,
    Draft,
    Noted,
    Site,
    message_to_block,
    panel_mark,
    to_block,
    to_page,
)

if TYPE_CHECKING:
    from ..checks.base import Finding
    from ..draw.details import Detail
    from ..draw.engine import EngineName
    from ..draw.svg import Drawing
    from ..history.registry import Entry
    from ..pipeline import Solved

log = logging.getLogger("builddoc")
Link = Callable[[str, str], str]
LATE_END = "<!--/builddoc-->"


@dataclass(frozen=True, slots=True)
class Options:
    """engine: "internal" = Graphviz inside the process, "system" = the machine's program `dot`."""

    engine: EngineName = "internal"


@dataclass(frozen=True, slots=True)
class Rendered:
    """html: one block-level element. messages: what is to be said about the text, with places in the page. ids: all
    anchors that may be linked to. files: download name -> text. findings: what the checks found, worst first."""

    html: str
    messages: tuple[Message, ...] = ()
    ids: tuple[str, ...] = ()
    files: dict[str, str] = field(default_factory=dict)
    findings: tuple[Noted, ...] = ()

    @property
    def ok(self) -> bool:
        return not any(message.level == "error" for message in self.messages)


def render(
    text: str,
    path: str = "",
    first_line: int = 1,
    first_column: int = 1,
    *,
    prefix: str = "bd",
    statement: bool = True,
    link: Link | None = None,
    options: Options | None = None,
) -> Rendered:
    """Solve a circuit and write its figure. Bad input gives an error box and `messages`, never an exception.

    path, first_line, first_column: where the text stands (for messages and for a `file:` beside it). prefix: start of
    all ids, to be unique on the site. statement: put the standing safety statement above the figure. link: (name,
    text) -> address of a download; without it the downloads are carried in the page as `data:` addresses.
    """
    return finish(
        draft(text, path, options), path, first_line, first_column, prefix=prefix, statement=statement, link=link
    )


def draft(
    text: str,
    path: str = "",
    options: Options | None = None,
    engine_cache: Path | None = None,
    bases: Sequence[Entry] = (),
) -> Draft:
    """The costly part: everything but the place on the page. engine_cache: folder that keeps the compiled drawing
    engine (half a second less in a new process). bases: earlier revisions that the text may start from."""
    from .solving import solved_block

    try:
        solved = solved_block(text, path, bases)
        messages = tuple(message_to_block(m, path) for m in solved.messages)
        if not solved.ok:
            return Draft(statement=_statement(), messages=messages, text=text)
        return _draw_up(solved, path, messages, options or Options(), engine_cache)
    except Exception as error:
        # A fault of ours must not take the page down, nor pass unseen: the host would swallow the exception.
        log.debug("fault while rendering a circuit", exc_info=True)
        return Draft(messages=(fault(error),), text=text)


def comparison(
    text: str, path: str, options: Options, engine_cache: Path | None, entries: Sequence[Entry]
) -> Draft:
    """A before-and-after block, as `draft` makes a circuit."""
    from .comparing import comparison_draft

    try:
        return comparison_draft(text, path, options, engine_cache, entries)
    except Exception as error:
        log.debug("fault while comparing", exc_info=True)
        return Draft(messages=(fault(error),), text=text)


def readings(text: str, path: str, options: Options, engine_cache: Path | None, entries: Sequence[Entry]) -> Draft:
    """A readings block, as `comparison` makes its own."""
    from .measured import readings_draft

    try:
        return readings_draft(text, path, entries)
    except Exception as error:
        log.debug("fault in readings", exc_info=True)
        return Draft(messages=(fault(error),), text=text)


def sheets(text: str, path: str, options: Options, engine_cache: Path | None, entries: Sequence[Entry]) -> Draft:
    """A sheet block, as `comparison` makes its own."""
    from .sheet import sheet_draft

    try:
        return sheet_draft(text, path, entries)
    except Exception as error:
        log.debug("fault in a sheet", exc_info=True)
        return Draft(messages=(fault(error),), text=text)


def photos(text: str, path: str, options: Options, engine_cache: Path | None, entries: Sequence[Entry]) -> Draft:
    """A photos block, as `comparison` makes its own."""
    from .photos import photos_draft

    try:
        return photos_draft(text, path, entries)
    except Exception as error:
        log.debug("fault in photos", exc_info=True)
        return Draft(messages=(fault(error),), text=text)


MAKERS: dict[str, Callable[[str, str, Options, Path | None, Sequence[Entry]], Draft]] = {
    "circuit": draft, "compare": comparison, "readings": readings, "sheet": sheets, "photos": photos,
}  # fmt: skip
"""Word of a fence -> what makes the drafts of its blocks. All take text, path, options, the folder that keeps the
compiled drawing engine, and circuits: those that the text starts from, or all revisions of the machine it names."""
NAMING = tuple(word for word in MAKERS if word != "circuit")
"""Fences whose blocks name circuits."""


def load_all() -> None:
    """Import what `draft` needs, for who has time now and none later."""
    from .. import checks, language, pipeline, report, solver  # noqa: F401
    from ..draw import sheet  # noqa: F401
    from . import downloads, figure  # noqa: F401


def fault(error: Exception) -> Message:
    """What to say when the program itself failed."""
    return Message(
        "fault",
        f"builddoc itself failed on this circuit ({type(error).__name__}: {error}); nothing was computed",
        Place("", 1, 1),
        "this is a fault of the program, not of the circuit: please report it with the circuit's text",
    )


def _statement() -> str:
    from ..report import STATEMENT
    from .figure import statement_html

    return statement_html(STATEMENT)


def _draw_up(
    solved: Solved, path: str, messages: tuple[Message, ...], options: Options, engine_cache: Path | None
) -> Draft:
    from ..history.facts import facts
    from . import downloads
    from .figure import Anchors, digest_html, figure_html, panel_html
    from .rows import merged_report

    assert solved.report is not None
    report = merged_report(solved.report)
    drawings, plain, details, key, trouble = _drawings(solved, options, engine_cache)
    messages = (*messages, *trouble)
    panels = tuple(
        panel_html(report, state, drawing, other, small)
        for state, drawing, other, small in zip(report.states, drawings, plain, details, strict=True)
    )
    shown = report.states.index(report.shown_state) if report.shown_state in report.states else 0
    first = drawings[shown] if drawings else None
    files = downloads.files(solved, first.svg if first else "")
    anchors = Anchors(PREFIX, report)
    faults = {state.name for state in solved.circuit.states.values() if state.fault} if solved.circuit else set()
    lines = solved.circuit.lines.values() if solved.circuit else ()
    ends = {line.name: [end.part or end.line for end in (line.start, line.end)] for line in lines}
    marks = [panel_mark(i) for i in range(len(panels))]
    html = figure_html(report, anchors, marks, files, messages, faults, key, ends, any(details))
    return Draft(
        html=html,
        statement=_statement(),
        digest=digest_html(report, solved.circuit) if solved.circuit else "",
        panels=panels,
        files=files,
        ids=anchors.all(),
        messages=messages,
        findings=tuple(replace(n, place=to_block(n.place, path)) for n in noted(solved)),
        text=solved.text,
        facts=facts(solved.case).to_data() if solved.case else {},
    )


class _Drawings(NamedTuple):
    """One drawing per state, all in the same places; a second, plain one where both are asked for; a detail for small
    screens where it is worth its place. key: to them, as HTML."""

    circuit: list[Drawing | None]
    plain: list[Drawing | None]
    details: list[Detail | None]
    key: str = ""
    messages: tuple[Message, ...] = ()


def _drawings(solved: Solved, options: Options, engine_cache: Path | None) -> _Drawings:
    """The figures of a page do not depend on the drawing: without one the page says why and goes on."""
    from ..draw import circuit_layout, circuit_legend, detail, draw_circuit, draw_state, layout, legend
    from ..draw.engine import DrawingError

    assert solved.circuit is not None and solved.case is not None and solved.report is not None
    circuit, results = solved.circuit, solved.case.results
    findings = () if "findings" in solved.report.hidden else solved.report.findings  # numbers lead nowhere without them
    count = len(solved.report.states)
    none: list[Drawing | None] = [None] * count
    bare: list[Detail | None] = [None] * count
    engine, view = options.engine, circuit.show.view
    try:
        plain, key = none, ""
        if view != "circuit":
            placed = layout(
                circuit, results, units=circuit.units, findings=findings, engine=engine, cache_dir=engine_cache
            )
            plain, key = [draw_state(placed, index, f"{PREFIX}-plain") for index in range(count)], legend(placed)
        if view == "flow diagram":
            return _Drawings(plain, none, bare, key)
        sheet = circuit_layout(
            circuit, results, units=circuit.units, findings=findings, engine=engine, cache_dir=engine_cache
        )
        unmet = tuple(
            Message("hint-unmet", f"a hint is left: {why}", circuit.show.hints[name].place, level="warning")
            for name, why in sheet.grid.unmet.items()
        )
        drawn = [draw_circuit(sheet, index, PREFIX) for index in range(count)]
        small = [
            detail(sheet, index, f"{PREFIX}-detail", engine=engine, cache_dir=engine_cache) for index in range(count)
        ]
        return _Drawings([*drawn], plain, small, circuit_legend(sheet), unmet)
    except DrawingError as error:
        return _Drawings(none, none, bare, "", tuple(replace(m, level="warning") for m in error.messages))


def accepted_words(f: Finding) -> str:
    """`by the owner, 2025-05-18: reason`; "" for a finding that counts."""
    a = f.accepted
    return f"by the {a.by}, {a.on}: {a.because}" if a is not None else ""


def noted(solved: Solved) -> list[Noted]:
    """Findings and NOT CHECKED of a solved circuit, for logs and terminals. What concerns the whole circuit stands at
    its beginning."""
    whole = solved.circuit.place if solved.circuit else None
    return [
        Noted(
            "NOT CHECKED" if f.outcome == "not checked" else f.signal,
            f.rule,
            f.headline,
            f.state,
            f.place or whole,
            f.subject,
            f.fingerprint,
            accepted_words(f),
            _taken_over(solved, f.place),
        )
        for f in solved.findings
        if f.outcome in ("finding", "not checked")
    ]


def _taken_over(solved: Solved, place: Place | None) -> str:
    """What to say of a place that lies in the text of an earlier revision, where the reader would look in vain for this
    one."""
    from ..history.registry import head_of

    circuit = solved.circuit
    if circuit is None or not circuit.base or place is None or circuit.place is None:
        return ""
    last = circuit.place.line + solved.text.count("\n")
    inside = place.path == circuit.place.path
    if inside and not head_of(solved.text).file:  # the earlier revision may stand on the same page
        inside = circuit.place.line <= place.line <= last
    return "" if inside else f"of revision {circuit.revision}, which takes this line over from revision {circuit.base}"


def finish(
    made: Draft,
    path: str = "",
    first_line: int = 1,
    first_column: int = 1,
    *,
    prefix: str = "bd",
    statement: bool = True,
    link: Link | None = None,
    late: str = "",
) -> Rendered:
    """Set a draft into its page. late: mark of a host that puts the figure in when the page is done, so that nothing
    else has to read through it; until then the digest stands for it."""
    messages = tuple(replace(m, place=to_page(m.place, path, first_line, first_column)) for m in made.messages)
    findings = tuple(replace(f, place=to_page(f.place, path, first_line, first_column)) for f in made.findings)
    head = made.statement if statement else ""
    if not made.html:
        from .errors import error_box

        body = error_box(messages, made.text, path, first_line, first_column, prefix)
        ids: tuple[str, ...] = (prefix,)
    else:
        body = f"{late}{made.digest}{LATE_END}" if late else figure(made, prefix, link)
        ids = (prefix, *(f"{prefix}-{name}" for name in made.ids))
    return Rendered(f'<div class="bd-block">{head}{body}</div>', messages, ids, dict(made.files), findings)


def figure(made: Draft, prefix: str, link: Link | None = None, site: Site = NO_SITE) -> str:
    """The figure of a draft that has one."""
    return made.fill(prefix, link or data_link, site)


def data_link(name: str, text: str) -> str:
    """A download that is carried in the page itself."""
    kinds = {"csv": "text/csv", "json": "application/json", "svg": "image/svg+xml", "yml": "text/yaml"}
    kind = kinds.get(name.rpartition(".")[2], "text/plain")
    return f"data:{kind};charset=utf-8,{urllib.parse.quote(text)}"


def stylesheet() -> str:
    """The style sheet that the figures need, for hosts that do not install it themselves."""
    assets = package_files(__package__) / "assets"
    return drawing_style() + "".join((assets / name).read_text("utf-8") for name in ("builddoc.css", "paper.css"))


@lru_cache(maxsize=1)
def drawing_style() -> str:
    """The part of the style sheet that the drawings need. Named as a file: importing `draw` would load the solver."""
    return (package_files("builddoc") / "draw" / "drawing.css").read_text("utf-8")


def script() -> str:
    """The script of the figures. All is legible without it; it adds pointing at parts, the enlarged view, sorted tables
    and open details on paper."""
    assets = package_files(__package__) / "assets"
    return "".join((assets / name).read_text("utf-8") for name in ("builddoc.js", "tables.js"))
