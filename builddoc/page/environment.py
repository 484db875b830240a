"""The template engine: every text of the writer is escaped, undefined names are errors."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from .draft import rule_mark


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
    return made


def fill(template: str, **values: Any) -> str:
    """A filled template without the blank lines that its tags leave."""
    text = environment().get_template(template).render(**values)
    return "\n".join(line for line in text.split("\n") if line.strip())


def share(value: float) -> str:
    """0.46 -> 46 %, 7.3 -> 7.3×: above the rating the multiple says more than the per cent."""
    if value < 1.0:
        return f"{value * 100:.0f} %" if value < 0.995 else f"{value * 100:.1f} %"
    return f"{value:.2f}×" if value < 2 else f"{value:.1f}×"


def step(value: float) -> str:
    """Class of a share of a rating, the same as in the drawing: u0 (a quarter at most) ... u4 (nearly all), over."""
    return "over" if value > 1.0 else f"u{sum(value > border for border in (0.25, 0.5, 0.75, 0.9))}"
