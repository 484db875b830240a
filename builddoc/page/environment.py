"""The template engine: every text of the writer is escaped, undefined names are errors."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from .draft import rule_mark

if TYPE_CHECKING:
    from ..report.model import Column

TOLD = range(4, 13)  # columns of a table whose rows are told in lines on a phone; the style sheet counts as far
_PLAIN = re.compile(r"[^\w .,/()·°-]", re.ASCII)


@lru_cache(maxsize=1)
def environment() -> Environment:
    made = Environment(
        loader=PackageLoader("builddoc.page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["rule_mark"] = rule_mark
    made.globals.update(told=told, heads=heads)
    return made


def fill(template: str, **values: Any) -> str:
    """A filled template without the blank lines that its tags leave."""
    text = environment().get_template(template).render(**values)
    return "\n".join(line for line in text.split("\n") if line.strip())


def heads(columns: Sequence[Column]) -> list[str]:
    return [f"{column.label}, {column.unit}" if column.unit else column.label for column in columns]


def told(labels: Sequence[str]) -> Markup:
    """Class and style of a table with these column heads. On a phone its rows are told in lines, each figure after the
    head of its column: the style sheet takes the heads from the table's style, so that no cell has to repeat them."""
    if len(labels) not in TOLD:
        return Markup('class="bd-table"')
    style = ";".join(f"--bd-c{n}:'{_in_style(head)}'" for n, head in enumerate(labels[1:], 2) if head)
    return Markup(f'class="bd-table bd-stack bd-told" style="{escape(style)}"')


def _in_style(text: str) -> str:
    return _PLAIN.sub(lambda found: f"\\{ord(found[0]):x} ", text)


def share(value: float) -> str:
    """0.46 -> 46 %, 7.3 -> 7.3×: above the rating the multiple says more than the per cent."""
    if value < 1.0:
        return f"{value * 100:.0f} %" if value < 0.995 else f"{value * 100:.1f} %"
    return f"{value:.2f}×" if value < 2 else f"{value:.1f}×"


def step(value: float) -> str:
    """Class of a share of a rating, the same as in the drawing: u0 (a quarter at most) ... u4 (nearly all), over."""
    return "over" if value > 1.0 else f"u{sum(value > border for border in (0.25, 0.5, 0.75, 0.9))}"
