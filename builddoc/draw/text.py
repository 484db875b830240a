"""Room that text needs, without a font: the layout engine has none, and the reader's font is the theme's own."""

from __future__ import annotations

import re
from functools import lru_cache

# Advance widths in thousandths of the font size, a little less than those of a wide sans serif (the boxes' own margins
# take the rest; a narrower font leaves air). Approximate; a browser test checks that text stays inside its room.
_NARROW = dict.fromkeys("ijl.,:;'|!·()[]ftrI/ ", 370)
_WIDE = dict.fromkeys("mwMW%@—", 900)
_CAPITALS = dict.fromkeys("ABCDEFGHJKLNOPQRSTUVXYZ≥≤±×°−+=<>", 680)
_ADVANCE = {**_CAPITALS, **_WIDE, **_NARROW}
_BREAK = re.compile(r"(?<=[-/])(?=\w)")


@lru_cache(maxsize=4096)
def width(text: str, size: float, bold: bool = False) -> float:
    """Width of a line of text in px at `size` px, on the safe side."""
    total = sum([_ADVANCE.get(c, 590) for c in text])
    return total * size / 1000.0 * (1.09 if bold else 1.0)


def wrap(text: str, most: int, rows: int = 3) -> tuple[str, ...]:
    """Text in rows of about `most` characters, broken at spaces and after hyphens and slashes.

    A single longer word stays whole, and what exceeds `rows` is joined to the last: nothing is cut off.
    """
    out: list[str] = []
    for word in text.split():
        for n, piece in enumerate(_BREAK.split(word)):
            glue = "" if n else " "
            if out and (len(out[-1]) + len(glue) + len(piece) <= most or len(out) == rows):
                out[-1] += glue + piece
            else:
                out.append(piece)
    return tuple(out) or ("",)
