"""What a conduit kind is: the hose, tube, pipe or plain bore that a line is made of."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Any, ClassVar, Generic, TypeVar

from pydantic import Field
from pydantic_core import PydanticCustomError

from ..circuit import Conduit, Rating
from ..fields import LengthOrZero, RatingField
from ..physics.line import UNCERTAIN
from ..standards import NONE, Choices, Listed, NotListed
from .base import Keys

LAW = (
    "`dp = f (L / d) rho v^2 / 2`, v = 4 Q / (pi d^2), f from laminar to turbulent by one formula (Churchill, Chemical "
    "Engineering 84 (1977), as cited in the documentation of the open library `fluids`). "
    f"{UNCERTAIN[0].upper()}{UNCERTAIN[1:]}. Fittings add `K rho v^2 / 2`; they act in the first "
    "run of a line from which others branch off. Viscosity and density are those of the oil at the state's "
    "temperature. Heights are left out."
)


class ConduitParams(Keys):
    """Keys that every conduit may have."""

    rating: RatingField | None = Field(None, description="Its own rated working pressure; wins over any table.")
    roughness: LengthOrZero | None = Field(None, description="Roughness of the bore; left out: usual for the material.")


C = TypeVar("C", bound=ConduitParams)


class ConduitKind(ABC, Generic[C]):
    """One kind of conduit. key: the key of a line that names it ("hose")."""

    key: ClassVar[str]
    summary: ClassVar[str]
    equations: ClassVar[str] = LAW
    example: ClassVar[str]  # YAML of one line; executed by the tests
    Params: ClassVar[type[ConduitParams]]

    @abstractmethod
    def resolve(self, params: C, choices: Choices = NONE) -> Conduit:
        """The conduit with bore, roughness and rating. choices: of tables that disagree. Raises PydanticCustomError
        (ctx text, hint) for what no table holds."""


def refuse(code: str, text: str, hint: str = "") -> PydanticCustomError:
    """An error in the writer's words, as `language` reads it."""
    return PydanticCustomError(code, "{text}", {"text": text, "hint": hint})


def not_listed(error: NotListed) -> PydanticCustomError:
    listed = ", ".join(error.choices[:12])
    return refuse("not-listed", error.message, f"listed: {listed}" if listed else "")


def rating_of(row: Any, given: Rating | None) -> Rating | None:
    """The writer's rating, else that of a row of `standards`; None if the row has none."""
    if given is not None:
        return given
    if row is None or row.rating is None:
        return None
    status = f"computed, {row.status}" if getattr(row, "computed", False) else row.status
    return Rating(row.rating, "working", row.title, status=status)


def notes_of(row: Listed) -> tuple[str, ...]:
    """What must stand beside a figure taken from a row."""
    said = list(row.notes)
    if row.conflict:
        said.append(f"Sources disagree: {row.conflict}.")
    if row.status != "seen":
        said.append(f"{row.title}: {row.status}.")
    return tuple(said)
