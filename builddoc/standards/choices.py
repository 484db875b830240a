"""Published tables that disagree: which of them a machine is reckoned with.

Every such table has a name to choose by, the one that is used where nobody chooses, and the others. What the writer
chose (`Choices`: name -> chosen one) goes into every look-up that can differ by it.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from .tables import NotListed, Table, catalogue, nearest, plain_name

Choices = Mapping[str, str]
NONE: Choices = MappingProxyType({})


@cache
def disputed() -> Mapping[str, Table]:
    """Name to choose by -> the table."""
    return {entry.choice: entry for entry in catalogue() if entry.choice}


def options(entry: Table) -> tuple[str, ...]:
    """What can be chosen, the one that is used by itself first."""
    return (entry.used, *(other.name for other in entry.others))


def choose(name: str, option: str) -> tuple[str, str]:
    """Both as the tables write them. Raises NotListed: no disagreement of that name, or no such table in it."""
    known = {plain_name(key): key for key in disputed()}
    if plain_name(name) not in known:
        raise NotListed(f"no tables that disagree are listed as '{name}'", nearest(name, disputed()))
    key = known[plain_name(name)]
    held = {plain_name(text): text for text in options(disputed()[key])}
    if plain_name(option) not in held:
        raise NotListed(f"{key}: there is no '{option}' among the tables that disagree", tuple(held.values()))
    return key, held[plain_name(option)]


def said(choices: Choices) -> tuple[str, ...]:
    """One sentence for each choice, as a page prints it under its assumptions."""
    found = []
    for key, option in choices.items():
        entry = disputed()[key]
        rest = [o for o in options(entry) if o != option]
        where = next((o.where for o in entry.others if o.name == option), entry.source)
        found.append(
            f"Published tables disagree on {key}; the writer chose '{option}' ({' '.join(where.split())}), "
            f"not {' or '.join(repr(o) for o in rest)}: {' '.join(entry.conflict.split()).rstrip('.')}."
        )
    return tuple(found)
