"""Circuits as YAML with one part, line or state to a line, and what differs between two of them."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import yaml

LOADER = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
DUMPER = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
"""Those of the C library where it is there: hundreds of circuits are read and written for the pages of the rules."""
SECTIONS = ("parts", "lines", "ties", "hook-ups", "states")
Entries = dict[tuple[str, str], str]
"""(section, name) -> its line; keys that are no section stand under ("", key)."""


@lru_cache(maxsize=512)
def entries(text: str) -> Entries:
    """The lines of a circuit, in order."""
    found: Entries = {}
    for key, value in yaml.load(text, LOADER).items():
        if key in SECTIONS and isinstance(value, dict):
            found |= {(key, name): _line(name, own) for name, own in value.items()}
        else:
            found["", key] = _line(key, value)
    return found


def _line(name: str, value: Any) -> str:
    text: str = yaml.dump(
        {name: value}, Dumper=DUMPER, default_flow_style=True, sort_keys=False, allow_unicode=True, width=10**6
    )
    return text.strip()[1:-1]


def written(lines: Entries) -> str:
    """Entries as YAML; reads back to the same tree."""
    out, section = [], ""
    for (own, _), line in lines.items():
        if own and own != section:
            out.append(f"{own}:")
        out.append(f"  {line}" if own else line)
        section = own
    return "\n".join(out)


def differing(text: str, base: str) -> tuple[Entries, list[str]] | None:
    """Entries of `text` that `base` has not or has otherwise, and names of those that only `base` has. None where they
    are different circuits altogether, and nothing is gained by telling them so."""
    new, old = entries(text), entries(base)
    other = {key: line for key, line in new.items() if old.get(key) != line}
    gone = [name for section, name in old if (section, name) not in new]
    return None if 2 * (len(other) + len(gone)) > len(new) else (other, gone)
