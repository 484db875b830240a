"""Symbols as SVG: marks of one style become one path."""

from __future__ import annotations

from collections.abc import Collection
from html import escape

from .symbols.pen import Mark, Word

U = 10.0
FIGURES = "figures"  # fact of a state that has any: what carries no oil is then faint


def n(u: float) -> str:
    """A coordinate in px, at most one decimal."""
    text = f"{u * U:.1f}"
    return text[:-2] if text.endswith(".0") else text


def _shown(when: str, facts: Collection[str]) -> bool:
    if not when:
        return True
    for term in when.split("&"):
        any_of = term.lstrip("!").split("|")
        if any(key in facts for key in any_of) is term.startswith("!"):
            return False
    return True


def marks_svg(
    marks: tuple[Mark, ...], facts: Collection[str], at: tuple[float, float] = (0.0, 0.0), words: tuple[Word, ...] = ()
) -> str:
    """Paths and words of a symbol whose box begins at `at` (u). facts: of the state."""
    dx, dy = at
    groups: dict[str, list[str]] = {}
    for mark in marks:
        if not _shown(mark.when, facts):
            continue
        style = f"bd-{mark.style}"
        if mark.on and FIGURES in facts:
            style += " bd-act" if any(key in facts for key in mark.on.split("|")) else " bd-off"
        groups.setdefault(style, []).append(_steps(mark, dx, dy))
    # Shaded positions lie under everything else.
    order = sorted(groups, key=lambda style: not style.startswith("bd-s"))
    out = [f'<path class="{style}" d="{"".join(groups[style])}"/>' for style in order]
    for word in words:
        if _shown(word.when, facts):
            size = f' style="font-size:{n(word.size)}px;font-weight:600"' if word.bold else ""
            anchor = f' text-anchor="{word.anchor}"' if word.anchor != "start" else ""
            place = f'x="{n(dx + word.x)}" y="{n(dy + word.y)}"'
            out.append(f'<text class="bd-port" {place}{anchor}{size}>{escape(word.text)}</text>')
    return "".join(out)


def _steps(mark: Mark, dx: float, dy: float) -> str:
    out = []
    at = ("", "")
    for step in mark.steps:
        if len(step) == 1:
            out.append("z")
            at = ("", "")  # back at the start
        elif len(step) == 3:
            x, y = n(dx + step[1]), n(dy + step[2])
            if step[0] == "L" and x == at[0]:
                out.append(f"V{y}")
            elif step[0] == "L" and y == at[1]:
                out.append(f"H{x}")
            else:
                out.append(f"{step[0]}{x} {y}")
            at = (x, y)
        else:
            _, r, large, sweep, *to = step
            at = (n(dx + to[0]), n(dy + to[1]))
            out.append(f"A{n(r)} {n(r)} 0 {large} {sweep} {at[0]} {at[1]}")
    return "".join(out)
