"""Fittings in a line: what they lose and what they hold, from the text that names them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from pydantic import Field

from .. import quantities
from ..circuit import Fitting, Rating
from ..fields import RatingField
from ..messages import Place
from ..standards import NONE, Choices, Listed, NotListed, fitting_material, fitting_rating, forms, loss
from ..standards.fittings import LOW_PRESSURE
from .base import Keys
from .conduit import not_listed, notes_of, rating_of, refuse

summary = "Elbows, tees, adapters of a line, in the order along the run."
equations = (
    "Each adds `K rho v^2 / 2` at the bore of its line. K from the tables by form, unless `loss` is given; the "
    "rating from the tables by material, form, size and class, unless `rating` is given."
)
example = "[malleable iron tee 1/2 in class 150, {fitting: elbow 90, loss: 0.9, rating: 210 bar, count: 2}]"

_COUNT = re.compile(r"(\d{1,2})\s*[x×]\s+", re.IGNORECASE)
_CLASS = re.compile(r"\bclass\s+(\w+)", re.IGNORECASE)
_SIZE = re.compile(r"(?<![\d/.])((?:\d[- ])?\d{1,2}/\d{1,2}|\d(?:\.\d+)?)\s*(?:inch|in\b|\")", re.IGNORECASE)


class FittingKeys(Keys):
    """A fitting with figures of its own."""

    fitting: str = Field(
        description="Its name: material, form, size, class, as `forged steel elbow 1/2 in class 3000`."
    )
    loss: float | None = Field(
        None, ge=0.0, allow_inf_nan=False, description="Loss coefficient K; left out: that of its form."
    )
    rating: RatingField | None = Field(None, description="Rated working pressure; wins over any table.")
    count: int = Field(1, ge=1, le=99, description="How many of them.")


@dataclass(frozen=True, slots=True)
class _Words:
    """What the name of a fitting says; "" = nothing."""

    material: str
    form: str
    size: str
    class_: str
    count: int


def read_fitting(raw: Any, place: Place | None = None, choices: Choices = NONE) -> Fitting:
    """A fitting from its name, or from a group of keys (`FittingKeys`). choices: of tables that disagree.

    Raises PydanticCustomError (ctx text, hint), or pydantic's ValidationError for a group that is wrong.
    """
    keys = FittingKeys.model_validate(dict(raw) if isinstance(raw, Mapping) else {"fitting": raw})
    words = _words(keys.fitting)
    notes: list[str] = []
    coefficient, basis = _loss(keys, words, notes, choices)
    rating = keys.rating
    if rating is None and words.material:
        rating = _table_rating(words, notes, choices)
    return Fitting(
        label=" ".join(keys.fitting.split()),
        loss=coefficient,
        count=keys.count * words.count,
        rating=rating,
        loss_basis=basis,
        low_pressure=words.material in LOW_PRESSURE,
        place=place,
        notes=tuple(notes),
    )


def rated_at(fitting: Fitting, temperature: float, choices: Choices = NONE) -> Fitting:
    """The fitting with the rating that its table gives for oil at `temperature` (K); the writer's own rating stands.
    Where the table goes no hotter the rating is unknown."""
    if fitting.rating is None or not fitting.rating.status:
        return fitting
    words = _words(fitting.label)
    row = fitting_rating(words.material, words.form, words.size, words.class_ or None, temperature, choices)
    if row.rating == fitting.rating.value:
        return fitting
    cold = quantities.show(fitting.rating.value or 0.0, "pressure")
    at = f"at {quantities.show(temperature, 'temperature')} (cold: {cold})"
    hot = rating_of(row, None) or Rating(None, basis=row.title, status=row.status)
    return replace(fitting, rating=replace(hot, document=at))


def _words(text: str) -> _Words:
    rest = " ".join(text.split())
    count, class_, size = 1, "", ""
    if found := _COUNT.match(rest):
        count, rest = int(found[1]), rest[found.end() :]
        if count < 1:
            raise refuse("quantity-range", f"'{text}': there is no fitting in it", "")
    if found := _CLASS.search(rest):
        class_, rest = found[1], rest[: found.start()] + rest[found.end() :]
    if found := _SIZE.search(rest):
        size, rest = found[1].replace(" ", "-"), rest[: found.start()] + rest[found.end() :]
    rest = " ".join(rest.replace(",", " ").split())
    material, rest = _material(rest.split())
    if not rest:
        raise refuse("value-missing", f"'{text}' does not say what form of fitting it is", f"such as {forms()[0]}")
    return _Words(material, rest, size, class_, count)


def _material(words: list[str]) -> tuple[str, str]:
    """Material that the first words name ("" = none), and what is left."""
    for count in (2, 1):
        try:
            return fitting_material(" ".join(words[:count])), " ".join(words[count:])
        except NotListed:
            continue
    return "", " ".join(words)


def _loss(keys: FittingKeys, words: _Words, notes: list[str], choices: Choices) -> tuple[float, str]:
    """K and where it is from."""
    if keys.loss is not None:
        return keys.loss, "given"
    form = words.form.lower().removeprefix("street ").removeprefix("socket weld ")
    if form.startswith("flange"):
        form = "union"
        notes.append("Loss of the flange taken as that of a union.")
    try:
        row = loss(form, choices)
    except NotListed as error:
        raise refuse(
            "not-listed", error.message,
            f"listed: {', '.join(error.choices[:8])}, …; or give its loss: {{fitting: {words.form}, loss: 0.5}}",
        ) from None  # fmt: skip
    notes += _new(notes_of(row), notes)
    return row.K, f"{row.title} ({row.status})"


def _table_rating(words: _Words, notes: list[str], choices: Choices) -> Any:
    if not words.size:
        notes.append("No size is given, so no table of ratings applies.")
        return None
    try:
        row: Listed = fitting_rating(words.material, words.form, words.size, words.class_ or None, choices=choices)
    except NotListed as error:
        raise not_listed(error) from None
    notes += _new(notes_of(row), notes)
    return rating_of(row, None)


def _new(said: tuple[str, ...], notes: list[str]) -> list[str]:
    return [note for note in said if note not in notes]
