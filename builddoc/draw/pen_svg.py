"""Symbols as SVG: marks of one style become one path."""

from __future__ import annotations

from collections.abc import Set
from functools import lru_cache
from html import escape

from .symbols.pen import Mark, Step, Word

U = 10.0
FIGURES = "figures"  # fact of a state that has any: what carries no oil is then faint


@lru_cache(maxsize=1 << 14)  # a drawing has the same few hundred coordinates in many places
def n(u: float) -> str:
    """A coordinate in px, at most one decimal."""
    return f"{u * U + 0.0:.1f}".removesuffix(".0")  # no -0, which is the same key as 0


@lru_cache(maxsize=1 << 10)
def _terms(when: str) -> tuple[tuple[bool, frozenset[str]], ...]:
    """(whether none of them may hold, facts) for each term."""
    return tuple((term.startswith("!"), frozenset(term.lstrip("!").split("|"))) for term in when.split("&"))


def _shown(when: str, facts: Set[str]) -> bool:
    return not when or all(facts.isdisjoint(any_of) is forbidden for forbidden, any_of in _terms(when))


def marks_svg(
    marks: tuple[Mark, ...], facts: Set[str], at: tuple[float, float] = (0.0, 0.0), words: tuple[Word, ...] = ()
) -> str:
    """Paths and words of a symbol whose box begins at `at` (u). facts: of the state."""
    dx, dy = at
    groups: dict[str, list[str]] = {}
    told = FIGURES in facts
    shown: dict[str, bool] = {}
    for style, steps, when, on in marks:
        if when:
            if when not in shown:
                shown[when] = _shown(when, facts)
            if not shown[when]:
                continue
        if on and told:
            style += " bd-off" if facts.isdisjoint(on.split("|")) else " bd-act"
        _draw(steps, dx, dy, groups.setdefault(style, []))
    # Shaded positions lie under everything else.
    order = sorted(groups, key=lambda style: not style.startswith("s"))
    out = [f'<path class="bd-{style}" d="{"".join(groups[style])}"/>' for style in order]
    for word in words:
        if _shown(word.when, facts):
            size = f' style="font-size:{n(word.size)}px;font-weight:600"' if word.bold else ""
            anchor = f' text-anchor="{word.anchor}"' if word.anchor != "start" else ""
            place = f'x="{n(dx + word.x)}" y="{n(dy + word.y)}"'
            out.append(f'<text class="bd-port" {place}{anchor}{size}>{escape(word.text)}</text>')
    return "".join(out)


def _draw(steps: tuple[Step, ...], dx: float, dy: float, out: list[str]) -> None:
    """Add the steps of a mark as the text of a path."""
    if len(steps) == 2 and steps[1][0] == "L":  # a straight line, as most marks are
        (_, x, y), (_, to_x, to_y) = steps  # type: ignore[misc]
        x0, y0, x1, y1 = n(dx + x), n(dy + y), n(dx + to_x), n(dy + to_y)
        out.append(f"M{x0} {y0}V{y1}" if x1 == x0 else f"M{x0} {y0}H{x1}" if y1 == y0 else f"M{x0} {y0}L{x1} {y1}")
        return
    x0 = y0 = ""
    for step in steps:
        kind = step[0]
        if kind == "Z":
            out.append("z")
            x0 = y0 = ""  # back at the start
        elif kind == "A":
            _, r, large, sweep, x, y = step  # type: ignore[misc]
            x0, y0 = n(dx + x), n(dy + y)
            out.append(f"A{n(r)} {n(r)} 0 {large} {sweep} {x0} {y0}")
        else:
            _, x, y = step  # type: ignore[misc]
            to_x, to_y = n(dx + x), n(dy + y)
            if kind == "L" and to_x == x0:
                out.append(f"V{to_y}")
            elif kind == "L" and to_y == y0:
                out.append(f"H{to_x}")
            else:
                out.append(f"{kind}{to_x} {to_y}")
            x0, y0 = to_x, to_y
