"""Figures and claims in prose: `figure: feed.pressure, lifting` and `claim: return.pressure < 10 bar, any state`.

Words -> what is asked -> an answer from the facts of one or two circuits. Nothing is solved here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from .. import quantities
from ..near import name_list, suggestion
from .facts import Cell, Facts, Figure

ANY = "any state"
SOUND = "any state without fault"
EVERY = {ANY: ANY, "every state": ANY, "all states": ANY, SOUND: SOUND}
ENDS = ("highest", "lowest")
_SIGNS = {"<": "<", ">": ">", "<=": "≤", ">=": "≥", "≤": "≤", "≥": "≥", "=": "=", "below": "<", "above": ">",
          "at most": "≤", "at least": "≥"}  # fmt: skip
_SIGN = re.compile(r"\s(<=|>=|≤|≥|<|>|=|(?:is )?(?:below|above|at most|at least))\s")
_TIMES = re.compile(r"(?P<times>\d+(?:\.\d+)?)\s*(?:x|×|times)\s+|(?P<share>\d+(?:\.\d+)?)\s*%\s+of\s+")
_TOLERANCE = re.compile(r"\s*(?:±|\+/-|\+-)\s*")


class Journal(Protocol):
    """Where facts come from: the page's own circuit ("" for both), or one of the site by machine and revision."""

    def facts(self, machine: str, revision: str) -> Facts:
        """Raises Unclear with a reason in words."""
        ...

    def split(self, prefix: str) -> tuple[str, str]:
        """`bandsaw mill A` or `A` -> machine and revision. Raises Unclear."""
        ...


class Unclear(ValueError):
    """What was asked cannot be answered. text: why; hint: what to write instead."""

    def __init__(self, text: str, hint: str = ""):
        self.text, self.hint = text, hint
        super().__init__(f"{text} ({hint})" if hint else text)


@dataclass(frozen=True, slots=True)
class Side:
    """One figure that is asked for. select: a state, a key of EVERY, one of ENDS, "" = unsaid."""

    facts: Facts
    name: str
    figure: Figure
    select: str = ""
    named: bool = False  # the machine or revision was named

    @property
    def words(self) -> str:
        """`feed pressure`, with the revision where it was named."""
        name = " ".join(self.name.rsplit(".", 1)) if self.name.count(".") == 1 else self.name.replace(".", " ")
        return f"{name} of revision {self.facts.revision}" if self.named else name


@dataclass(frozen=True, slots=True)
class Answer:
    """kind: "figure" or "claim". holds: True, False, or None = it cannot be answered. text: what stands on the page.
    detail: the figure behind a claim, or why there is no answer. hint: what to write instead."""

    kind: str
    holds: bool | None
    text: str
    detail: str = ""
    hint: str = ""


def answer(kind: str, words: str, journal: Journal) -> Answer:
    """The answer to a span's words. Never raises for bad input."""
    words = " ".join(words.split())
    try:
        return _figure(words, journal) if kind == "figure" else _claim(words, journal)
    except Unclear as trouble:
        return Answer(kind, None, words, trouble.text, trouble.hint)


# ---- figures
def _figure(words: str, journal: Journal) -> Answer:
    if _SIGN.search(f" {words} "):
        raise Unclear("a figure compares nothing", f"write claim: {words}")
    side = _side(words, journal)
    low, high, state = _pick(side)
    shown = _shown(side, low, high)
    note = f"{side.words}, predicted" + (f" in '{state}'" if state else "") + f", revision {side.facts.revision}"
    return Answer("figure", True, shown, note)


def _side(words: str, journal: Journal, select: str = "") -> Side:
    """`[machine revision:] name.quantity[, state]`."""
    prefix, colon, rest = words.partition(":")
    named = bool(colon)
    machine, revision = journal.split(prefix.strip()) if named else ("", "")
    facts = journal.facts(machine, revision)
    name, comma, chosen = (rest if named else words).strip().partition(", ")
    name = name.strip()
    if name not in facts.figures:
        raise _unknown(name, facts)
    select = " ".join(chosen.split()) if comma else select
    return Side(facts, name, facts.figures[name], _selected(select, facts), named)


def _selected(select: str, facts: Facts) -> str:
    if not select or select in facts.states or select in EVERY or select in ENDS:
        return select
    choices = [*facts.states, *EVERY, *ENDS]
    raise Unclear(f"there is no state '{select}' in revision {facts.revision}", suggestion(select, choices, "states"))


def _unknown(name: str, facts: Facts) -> Unclear:
    owner, dot, quantity = name.rpartition(".")
    own = [n.removeprefix(f"{owner}.") for n in facts.figures if n.startswith(f"{owner}.")] if dot else []
    if own:
        return Unclear(f"'{owner}' has no figure '{quantity}'", suggestion(quantity, own, "it has"))
    owners = list(dict.fromkeys(n.rpartition(".")[0] for n in facts.figures))
    if not dot:
        return Unclear(f"'{name}' names no figure", f"write NAME.QUANTITY, as {next(iter(facts.figures), '')}")
    return Unclear(f"there is nothing named '{owner}' in revision {facts.revision}", suggestion(owner, owners, "names"))


def _states(side: Side) -> list[int]:
    """Indices of the states that a side speaks of."""
    every = EVERY.get(side.select)
    if every or side.select in ENDS:
        return [n for n, s in enumerate(side.facts.states) if every != SOUND or s not in side.facts.faults]
    if side.select:
        return [side.facts.states.index(side.select)]
    cells = side.figure.cells
    if len(cells) == 1 or (cells[0] and all(cell == cells[0] for cell in cells)):
        return [0]
    raise Unclear(f"in which state is '{side.name}' meant?", f"add ', STATE': {name_list(side.facts.states)}")


def _cell(side: Side, index: int) -> tuple[float, float] | None:
    """(low, high) in a state, None where it does not apply. Raises Unclear where it is not known."""
    cell, state = side.figure.cells[index], side.facts.states[index]
    if cell is None:
        if state in side.facts.failed:
            raise Unclear(f"'{state}' has no figures: {side.facts.failed[state]}")
        raise Unclear(f"'{side.name}' has no figure in '{state}'", side.figure.missing)
    return (cell[0], cell[1]) if cell else None


def _pick(side: Side) -> tuple[float, float, str]:
    """The one figure of a side: low, high, and the state that it is from ("" where all states have the same)."""
    if side.select in EVERY:
        raise Unclear("a figure is of one state", "write highest or lowest instead")
    found = [(n, cell) for n in _states(side) if (cell := _cell(side, n)) is not None]
    if not found:
        where = f" in '{side.select}'" if side.select not in ("", *ENDS) else ""
        raise Unclear(f"'{side.name}' does not apply{where}: it stands there")
    if side.select == "lowest":
        index, cell = min(found, key=lambda item: item[1][0])
    else:
        index, cell = max(found, key=lambda item: item[1][1])
    return cell[0], cell[1], side.facts.states[index] if side.select else ""


def _print(value: float, dimension: str, facts: Facts) -> str:
    first, *others = facts.units or ("metric",)
    text = quantities.show(value, dimension, first)
    second = quantities.show(value, dimension, others[0]) if others else text
    return text if second == text else f"{text} ({second})"


def _shown(side: Side, low: float, high: float) -> str:
    """As printed; a range where the steady state leaves the figure open."""
    dimension = side.figure.dimension
    if math.isclose(low, high, rel_tol=1e-9, abs_tol=1e-12):
        return _print(low, dimension, side.facts)
    if dimension == "pressure" and low <= 0:
        return "not fixed" if math.isinf(high) else f"anything up to {_print(high, dimension, side.facts)}"
    if math.isinf(high):
        return f"at least {_print(low, dimension, side.facts)}"
    return f"between {_print(low, dimension, side.facts)} and {_print(high, dimension, side.facts)}"


def shown(facts: Facts, figure: Figure, cell: Cell) -> str:
    """One cell as printed; a dash where there is no figure."""
    return _shown(Side(facts, "", figure), cell[0], cell[1]) if cell else "–"


# ---- claims
@dataclass(frozen=True, slots=True)
class Limit:
    """What a figure is held against: low and high of it (SI), and as printed. within: half the width of an `=`."""

    low: float
    high: float
    words: str
    within: float = 0.0


def _claim(words: str, journal: Journal) -> Answer:
    found = list(_SIGN.finditer(words))
    if len(found) != 1:
        raise Unclear(
            "a claim compares two things" if not found else "a claim has one sign of comparison",
            "as claim: return.pressure < 10 bar, any state",
        )
    sign = _SIGNS[found[0][1].removeprefix("is ")]
    left_words, right_words = words[: found[0].start()].strip(), words[found[0].end() :].strip()
    right_words, comma, select = right_words.rpartition(", ") if ", " in right_words else (right_words, "", "")
    left = _side(left_words, journal, " ".join(select.split()))
    right = _right(right_words, select if comma else left.select, left, journal)
    indices = _states(left)
    worst: tuple[float, int, tuple[float, float], Limit] | None = None
    for index in indices:
        cell = _cell(left, index)
        limit = right(left.facts.states[index])
        if cell is None or limit is None:
            continue
        margin = _margin(cell, sign, limit)
        if worst is None or margin < worst[0]:
            worst = (margin, index, cell, limit)
    if worst is None:
        raise Unclear(f"'{left.name}' does not apply there: it stands")
    margin, index, cell, limit = worst
    state = left.facts.states[index]
    where = f" in '{state}'" if len(left.facts.states) > 1 and left.select else ""
    value = _shown(left, *cell)
    said = f"{left.words} {sign} {limit.words}" + _scope(left)
    if margin < 0 and _open(cell, sign, limit):
        raise Unclear(f"'{left.name}' is not fixed{where}: {value}")
    extreme = {"<": " at most", "≤": " at most", ">": " at least", "≥": " at least"}.get(sign, "")
    detail = f"{value}{extreme if len(indices) > 1 and margin >= 0 else ''}{where}"
    return Answer("claim", margin >= 0, said, detail)


def _scope(side: Side) -> str:
    if side.select in EVERY:
        return f" in {side.select}"
    return f" in '{side.select}'" if side.select else ""


def _margin(cell: tuple[float, float], sign: str, limit: Limit) -> float:
    """How far the claim is from false, in the figure's unit; negative = it does not hold for certain."""
    if sign == "=":
        return limit.within - max(abs(cell[1] - limit.low), abs(cell[0] - limit.high))
    gap = limit.low - cell[1] if sign in "<≤" else cell[0] - limit.high
    # A strict sign excludes the limit itself.
    return gap if gap != 0 or sign in "≤≥" else -math.ulp(1.0)


def _open(cell: tuple[float, float], sign: str, limit: Limit) -> bool:
    """Whether a part of a figure's range would fulfil a claim that the whole does not."""
    if cell[0] == cell[1] and limit.low == limit.high:
        return False
    if sign == "=":
        return cell[0] - limit.within <= limit.high and cell[1] + limit.within >= limit.low
    return cell[0] < limit.high if sign in "<≤" else cell[1] > limit.low


def _right(words: str, select: str, left: Side, journal: Journal) -> Callable[[str], Limit | None]:
    """What stands on the right of the sign, for each state of the left side."""
    times = _TIMES.match(words)
    factor = (float(times["times"]) if times["times"] else float(times["share"]) / 100) if times else 1.0
    rest = words[times.end() :] if times else words
    if times is None and re.match(r"[-+−]?[\d.]", words):
        limit = _quantity(words, left)
        return lambda state: limit
    chosen = "" if select in EVERY or select in ENDS else select
    side = _side(rest, journal, chosen)
    if side.figure.dimension != left.figure.dimension:
        raise Unclear(
            f"'{left.name}' is {quantities.DIMENSIONS[left.figure.dimension].noun}, '{side.name}' is "
            f"{quantities.DIMENSIONS[side.figure.dimension].noun}"
        )

    def limit_in(state: str) -> Limit | None:
        here = side if side.select else replace(side, select=state if state in side.facts.states else "")
        if side.select in ENDS:
            low, high, _ = _pick(side)
            cell: tuple[float, float] | None = (low, high)
        else:
            cell = _cell(here, _states(here)[0])
        if cell is None:
            return None
        low, high = cell[0] * factor, cell[1] * factor
        before = f"{times[0].strip()} " if times else ""
        return Limit(low, high, f"{before}{side.words} ({_shown(side, *cell)})")

    return limit_in


def _quantity(words: str, left: Side) -> Limit:
    """A quantity as typed, with its tolerance: written (`± 5 bar`, `± 3 %`), else half of the last digit."""
    text, *rest = _TOLERANCE.split(words, maxsplit=1)
    dimension = left.figure.dimension
    value = _parsed(text, dimension)
    if rest and rest[0].endswith("%") and dimension != "share":
        within = abs(value) * _parsed(rest[0], "share")
    elif rest:
        zero = _parsed(re.sub(r"^[-+−]?[\d./-]+", "0", text), dimension)
        difference = "temperature difference" if dimension == "temperature" else dimension
        within = abs(_parsed(rest[0], difference) - (zero if dimension == "pressure" else 0.0))
    else:
        within = _last_digit(text, dimension, value)
    return Limit(value, value, words, within)


def _parsed(text: str, dimension: str) -> float:
    try:
        return quantities.parse(text, dimension)
    except quantities.QuantityError as error:
        raise Unclear(error.text, error.hint) from None


def _last_digit(text: str, dimension: str, value: float) -> float:
    match = re.match(r"[-+−]?\d+(?:\.(\d+))?(?P<unit>.*)$", text)
    if match is None:
        return 0.0
    step = 10.0 ** -len(match[1] or "")
    more = float(match[0][: -len(match["unit"])].replace("−", "-")) + step
    return abs(_parsed(f"{more:.6f}{match['unit']}", dimension) - value) / 2 * (1 + 1e-9)


# ---- where they stand in a text
KINDS = ("figure", "claim")
SPAN = re.compile(
    r"(?<![\\`])(?P<ticks>`+)[ ]?(?P<kind>figure|claim):[ ]*"
    r"(?P<words>(?:[^`\n]|\n(?![ >]*\n))+?)[ ]?(?P=ticks)(?!`)"
)


@dataclass(frozen=True, slots=True)
class Span:
    """An inline figure or claim and where its opening backtick stands, from 1."""

    kind: str
    words: str
    line: int
    column: int


def find_spans(markdown: str) -> Sequence[Span]:
    """All figures and claims of a page, in order; those inside fenced blocks and remarks are text."""
    text, found = _prose(markdown), []
    for match in SPAN.finditer(text):
        start = text.rfind("\n", 0, match.start())
        found.append(
            Span(match["kind"], tidy(match["words"]), text.count("\n", 0, match.start()) + 1, match.start() - start)
        )
    return found


def tidy(words: str) -> str:
    """A span's words on one line, without the marks of quotation that its further lines begin with."""
    return " ".join(re.sub(r"\n[ >]*", " ", words).split())


_FENCE = re.compile(r"^[ >]*(?P<fence>`{3,}|~{3,})(?P<info>[^`]*)$")


def _prose(markdown: str) -> str:
    """The text with everything blanked that is not prose."""
    text = re.sub(r"<!--.*?-->", lambda m: re.sub(r"[^\n]", " ", m[0]), markdown.replace("\r\n", "\n"), flags=re.DOTALL)
    lines, inside = [], ""
    for line in text.split("\n"):
        match = _FENCE.match(line)
        if inside:
            inside = "" if line.strip(" >") == inside else inside
            lines.append("")
        elif match:
            inside = match["fence"]
            lines.append("")
        else:
            lines.append(line)
    return "\n".join(lines)
