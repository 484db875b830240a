"""Nearest matches and lists of names, as messages print them."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def nearest(word: str, choices: Iterable[str]) -> str | None:
    """The choice most like `word` (letter case and underscores aside), None if none is alike."""
    plain: dict[str, str] = {}
    for choice in choices:
        plain.setdefault(_plain(choice), choice)
    tidy = _plain(word)
    found = difflib.get_close_matches(tidy, plain, 1, 0.7)
    if not found and len(tidy) > 2:  # cut short: `out` for `outlet`
        found = [choice for choice in plain if choice.startswith(tidy)]
        found = found if len(found) == 1 else []
    return plain[found[0]] if found else None


def _plain(word: str) -> str:
    return " ".join(word.lower().replace("_", " ").split())


def suggestion(word: str, choices: Iterable[str], lead: str = "", most: int = 24) -> str:
    """Hint for an unknown name: the nearest match; with `lead`, the list too where there is no match or it is short."""
    choices = list(choices)
    near = nearest(word, choices)
    parts = [f"did you mean '{near}'?"] if near else []
    if choices and lead and (not near or len(choices) <= 6):
        listed = ", ".join(choices[:most]) + (", …" if len(choices) > most else "")
        parts.append(f"{lead}: {listed}")
    return " ".join(parts)


def name_list(names: Iterable[str]) -> str:
    """`a, b and c`."""
    listed = list(names)
    if len(listed) < 2:
        return "".join(listed)
    return ", ".join(listed[:-1]) + " and " + listed[-1]
