"""What a sheet is made of."""

from __future__ import annotations

from dataclasses import dataclass

from ..cautions import Caution
from ..report.cells import words
from ..report.model import Cell, Table

STATEMENT = (
    "Predictions for one home-built machine from what its builder wrote down; no approval. The instructions and "
    "ratings of the makers of its parts, local law and codes, and people licensed or trained for the work come first."
)


@dataclass(frozen=True, slots=True)
class Section:
    """steps: done in this order, each with a box to tick. table: figures, with blank cells to fill in. note: below."""

    title: str
    steps: tuple[str, ...] = ()
    table: Table | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """name: as a page asks for it. identity: machine, revision, date of the revision. blanks: what to write at the
    head. cautions: stand above the first section."""

    name: str
    title: str
    identity: str
    sections: tuple[Section, ...]
    blanks: tuple[str, ...] = ("Date", "By (role)", "Oil temperature", "Engine speed")
    statement: str = STATEMENT
    cautions: tuple[Caution, ...] = ()


def blank() -> Cell:
    """A cell to be filled in by hand."""
    return Cell("")


def text(value: str, note: str = "", subject: str = "") -> Cell:
    return words(value, note, subject=subject)
