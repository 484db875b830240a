"""Where the circuit blocks of a Markdown page stand: text as a Markdown host hands it over, line and column of it.

The fence formatter gets a block's text without its place (the host does not keep it), the terminal reads pages
without any host: both use this.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

# Same openers as pymdownx.superfences: any mix of blanks and quote marks, then the fence, then the language, bare or
# in braces.
_OPENER = re.compile(r"^(?P<lead>[ >]*)(?P<fence>`{3,}|~{3,})[ ]*(?P<info>[^`]*)$")
_LANGUAGE = re.compile(r"^(?:\{[ ]*)?\.?(?P<name>[\w#+.-]+)")
TAB = 4


@dataclass(frozen=True, slots=True)
class Block:
    """text: dedented, without the fences. line, column: place of its first character, from 1. number: which of the
    page's circuit blocks it is, from 1. closed: False when the closing fence is missing (then text is empty)."""

    text: str
    line: int
    column: int
    number: int
    closed: bool = True


def _language(info: str) -> str:
    match = _LANGUAGE.match(info.strip())
    return match["name"] if match else ""


def find_blocks(markdown: str, name: str = "circuit") -> list[Block]:
    """All fenced blocks whose language is `name`, in order. Blocks shown inside another fence are text, not blocks."""
    return list(_blocks(markdown, name))


@lru_cache(maxsize=512)  # a page is looked through once for each of its blocks
def _blocks(markdown: str, name: str) -> tuple[Block, ...]:
    lines = [line.expandtabs(TAB) for line in markdown.replace("\r\n", "\n").split("\n")]
    blocks: list[Block] = []
    i = 0
    while i < len(lines):
        opener = _OPENER.match(lines[i])
        if not opener:
            i += 1
            continue
        lead = len(opener["lead"])
        end = _closing(lines, i, opener["fence"])
        if _language(opener["info"]) == name:
            number = len(blocks) + 1
            if end is None:
                blocks.append(Block("", i + 1, lead + 1, number, closed=False))
            else:
                text = "\n".join(line[lead:] for line in lines[i + 1 : end])
                blocks.append(Block(text, i + 2, lead + 1, number))
        i = i + 1 if end is None else end + 1
    return tuple(blocks)


def _closing(lines: list[str], start: int, fence: str) -> int | None:
    for i in range(start + 1, len(lines)):
        if lines[i].lstrip(" >").rstrip() == fence:
            return i
    return None
