"""Two revisions side by side as HTML: drawings, what was changed and why, figures, findings, ratings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from ..checks.base import ORDER, Finding
from ..history.claims import shown
from ..history.compare import Difference, Limit, Shift, Turn, differences, limits, shifts, turns
from ..history.facts import Facts, Figure, facts
from ..language.comparing import Comparison, read_comparison
from ..language.talk import name_list, suggestion
from ..messages import Message
from .draft import PREFIX, Draft, message_to_block, panel_mark
from .environment import fill, share
from .figure import left_out
from .named import named_circuit

if TYPE_CHECKING:
    from ..draw.details import Detail
    from ..draw.sheet import Sheet
    from ..draw.svg import Drawing
    from ..history.registry import Entry
    from ..pipeline import Solved
    from .rendering import Options

AT_A_GLANCE = 4  # rows of each sort in the summary, so that it fits one screen
DRAWN = ("parts", "lines", "ties")
FIRST = 14  # rows of figures that stand open; the rest is folded
SIGNS = {"added": "+", "removed": "−", "changed": "~"}  # told apart without colour
PLURAL = {"parts": "part", "lines": "line", "ties": "tie", "states": "state", "settings": "setting"}


@dataclass(frozen=True, slots=True)
class Marked:
    """A drawing whose badges name the rows of the table of changes, and its detail where that is worth its place."""

    title: str
    drawing: Drawing | None
    detail: Detail | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """A row of the table of changes. badge: sign and number in the drawings, "" = it is not in them."""

    badge: str
    difference: Difference


Reasons = list[tuple[str, list[Change]]]
"""Changes by the reason that the writer gave."""


def comparison_draft(
    text: str, path: str, options: Options, engine_cache: Path | None, entries: Sequence[Entry]
) -> Draft:
    """The block as a draft, as `rendering.draft` gives one. entries: the revisions that are named, and those that they
    start from."""
    wanted, messages = read_comparison(text, path)
    if wanted is None:
        return Draft(messages=tuple(message_to_block(m, path) for m in messages), text=text)
    before, trouble_before = named_circuit(wanted.machine, wanted.before, wanted.place, path, entries)
    after, trouble_after = named_circuit(wanted.machine, wanted.after, wanted.place, path, entries)
    said = [*messages, *(m for m in (trouble_before, trouble_after) if m is not None)]
    if before is not None and after is not None:
        state, trouble = _state(wanted, before, after)
        if trouble is None:
            return _draw_up(wanted, before, after, state, text, path, said, options, engine_cache)
        said.append(trouble)
    return Draft(messages=tuple(message_to_block(m, path) for m in said), text=text)


def _state(wanted: Comparison, before: Solved, after: Solved) -> tuple[str, Message | None]:
    assert before.circuit is not None and after.circuit is not None
    common = [s for s in before.circuit.states if s in after.circuit.states]
    if wanted.state and wanted.state not in common:
        what = f"not both revisions have a state '{wanted.state}'"
        return "", Message("state-unknown", what, wanted.state_place, suggestion(wanted.state, common, "both have"))
    if not common:
        what = "the two revisions have no state in common"
        return "", Message("state-unknown", what, wanted.place, "give states that mean the same the same name")
    liked = after.circuit.show.state
    return wanted.state or (liked if liked in common else common[0]), None


def _draw_up(
    wanted: Comparison, before: Solved, after: Solved, state: str, text: str, path: str, messages: list[Message],
    options: Options, engine_cache: Path | None,
) -> Draft:  # fmt: skip
    assert before.circuit and after.circuit and before.case and after.case
    changed = differences(before.circuit, after.circuit)
    old, new = facts(before.case), facts(after.case)
    moved = shifts(old, new)
    findings = turns(before.findings, after.findings)
    reasons = _by_reason(changed)
    placed: list[Sheet] = []
    sides = [
        _marked(solved, state, reasons, drop, f"{PREFIX}-{letter}", options, engine_cache, messages, placed)
        for solved, drop, letter in ((before, "added", "a"), (after, "removed", "b"))
    ]
    limiting = [_limit_row(limit) for limit in limits(old, new)]
    rows = [_figure_row(shift, old, new) for shift in moved]
    values = {
        "title": wanted.title or f"{after.circuit.machine}: revision {wanted.before} and {wanted.after}",
        "wanted": wanted,
        "status": (before.circuit, after.circuit),
        "state": state,
        "only": [
            [s for s in before.circuit.states if s not in after.circuit.states],
            [s for s in after.circuit.states if s not in before.circuit.states],
        ],
        "changed": changed,
        "reasons": reasons,
        "glance": _glance(findings),
        "glance_rows": rows[:AT_A_GLANCE],
        "singular": PLURAL,
        "first_rows": rows[:FIRST],
        "more_rows": rows[FIRST:],
        "groups": [(how, title, [t for t in findings if t.how == how]) for how, title in _TURNS],
        "limits": limiting,
        "limiting": next((row for row in limiting if row[3].startswith("limits")), None),
        "summary": _summary(changed, findings, wanted),
        "p": PREFIX,
        "details": any(side.detail for side in sides),
    }
    panels = tuple(
        fill("compare_panel.html", side=side, left_out=left_out(side.detail) if side.detail else "") for side in sides
    )
    html = fill("compare.html", panels=[panel_mark(0), panel_mark(1)], **values)
    said = tuple(message_to_block(m, path) for m in messages)
    digest = fill("compare_digest.html", **values)
    return Draft(html=html, digest=digest, panels=panels, ids=(), messages=said, text=text)


_TURNS = (
    ("came", "New"), ("worse", "Worse"), ("went", "Gone"), ("better", "Milder"), ("stayed", "Stayed"),
)  # fmt: skip


def _summary(changed: list[Difference], found: list[Turn], wanted: Comparison) -> str:
    ways = (("came", "new"), ("worse", "worse"), ("went", "gone"), ("better", "milder"), ("stayed", "as before"))
    counts = [(sum(t.how == how for t in found), word) for how, word in ways]
    told = ", ".join(f"{count} {word}" for count, word in counts if count) or "none"
    return f"From {wanted.before} to {wanted.after}: {len(changed)} changes; findings: {told}."


@dataclass(frozen=True, slots=True)
class Glance:
    """Findings of one direction: how many of which signal word, the gravest headlines, how many more there are."""

    title: str
    tally: str
    first: Sequence[tuple[str, str]]
    more: int


def _glance(found: list[Turn]) -> list[Glance]:
    """What the change bought and what it brought."""
    sides = (("Bought", "gone or milder", ("went", "better")), ("Brought", "new or worse", ("came", "worse")))
    glances = []
    for title, word, ways in sides:
        own = sorted((_turned(t) for t in found if t.how in ways), key=lambda told: ORDER[told[0]])
        words = [signal for signal, _ in own]
        tally = ", ".join(f"{words.count(signal)} {signal}" for signal in dict.fromkeys(words))
        said = f"{len(own)} {'finding' if len(own) == 1 else 'findings'} {word}" if own else f"No finding {word}"
        first = own[:AT_A_GLANCE]
        glances.append(Glance(title, f"{said}: {tally}" if own else said, first, len(own) - len(first)))
    return glances


def _turned(turn: Turn) -> tuple[str, str]:
    """Signal word and headline of the graver side of a turn, and what it is on the other side if it is still there."""
    was, now = turn.before, turn.after
    if turn.how == "worse" and was and now:
        return now.signal, f"{now.headline} (before: {was.signal})"
    if turn.how == "better" and was and now:
        return was.signal, f"{was.headline} (still there as {now.signal})"
    told = was or now
    assert told is not None, "a turn has a side"
    return told.signal, told.headline


def _by_reason(changed: list[Difference]) -> Reasons:
    """What belongs together stands together; what has no reason of its own comes last. Numbers run through both
    drawings, so that a thing bears the same one in each."""
    found: dict[str, list[Difference]] = {}
    for difference in sorted(changed, key=lambda d: not d.because):
        found.setdefault(difference.because, []).append(difference)
    number, reasons = 0, []
    for because, differences_ in found.items():
        rows = []
        for d in differences_:
            drawn = d.section in DRAWN
            number += drawn
            rows.append(Change(f"{SIGNS[d.what]}{number}" if drawn else "", d))
        reasons.append((because, rows))
    return reasons


def _marked(
    solved: Solved, state: str, reasons: Reasons, drop: str, prefix: str, options: Options,
    engine_cache: Path | None, messages: list[Message], placed: list[Sheet],
) -> Marked:  # fmt: skip
    """A revision's drawing in which what differs bears its badge, and a detail of it for small screens. drop: what is
    not to be seen in this one. placed: drawings laid out so far; what is placed here keeps their order and joins
    them."""
    from ..draw import circuit_layout, detail, draw_circuit
    from ..draw.engine import DrawingError

    assert solved.circuit is not None and solved.case is not None
    rows = [row for _, rows in reasons for row in rows if row.badge and row.difference.what != drop]
    marks = [
        Finding("change", "finding", "NOTICE", d.name, f"{d.name} {d.what}", state=state)
        for d in (row.difference for row in rows)
    ]
    title = f"Revision {solved.circuit.revision}"
    title += f", {solved.circuit.status}" if solved.circuit.status != "built" else ""
    title += f", {solved.circuit.date}" if solved.circuit.date else ""
    units, index = solved.circuit.units, list(solved.circuit.states).index(state)
    try:
        sheet = circuit_layout(
            solved.circuit, solved.case.results, units=units, findings=marks, engine=options.engine,
            badges=[row.badge for row in rows], cache_dir=engine_cache, like=placed[0] if placed else None,
        )  # fmt: skip
        small = detail(sheet, index, f"{prefix}-detail", engine=options.engine, cache_dir=engine_cache)
    except DrawingError as error:
        messages += [replace(m, level="warning") for m in error.messages]
        return Marked(title, None)
    placed.append(sheet)
    return Marked(title, draw_circuit(sheet, index, prefix), small)


def _figure_row(shift: Shift, a: Facts, b: Facts) -> tuple[str, str, str, str, str]:
    """Name, state, before, after, change in words."""
    figure = Figure(shift.dimension, ())
    name, _, quantity = shift.name.rpartition(".")
    before, after = (shown(b, figure, cell) for cell in (shift.before, shift.after))
    others = [other.rpartition(".")[0] for other in shift.also]
    also = f" (also {name_list(others)})" if others else ""
    return f"{name}: {quantity}{also}", name_list(shift.states), before, after, _change(shift)


def _change(shift: Shift) -> str:
    x, y = shift.before, shift.after
    if not x or not y or x[0] != x[1] or y[0] != y[1] or shift.dimension == "temperature":
        return ""
    if x[0] == 0 or y[0] == 0 or (x[0] < 0) != (y[0] < 0):
        return ""
    ratio = y[0] / x[0]
    return f"{ratio:.1f} times" if ratio >= 2 else f"{(ratio - 1) * 100:+.0f} %".replace("-", "−")


def _limit_row(limit: Limit) -> tuple[str, str, str, str]:
    return (
        limit.name,
        "–" if limit.before is None else share(limit.before),
        "–" if limit.after is None else share(limit.after),
        limit.word,
    )
