"""Steel tube, by outside diameter and wall."""

from __future__ import annotations

import re

from pydantic import Field

from .. import quantities
from ..circuit import Conduit, Wall
from ..standards import NONE, Choices, NotListed, roughness, tube
from ..standards.tubes import STEEL_STRESS
from .conduit import ConduitKind, ConduitParams, not_listed, notes_of, rating_of, refuse

_FORM = re.compile(
    r"(?P<outside>.+?)\s*(?:\bx\b|×|(?<=\d)x(?=[\s\d]))\s*(?P<wall>[\d./-]+)\s*(?P<unit>mm|in|inch|inches|\")?"
    r"(?:\s*,?\s*(?P<material>[a-z][a-z ]*))?$",
    re.IGNORECASE,
)
STAINLESS = 137.9e6
"""Pa, allowable stress of annealed stainless tube (20 000 psi, ASTM A269), see `physics.strength.fitting_tube`."""
_EXAMPLE = "write '12 x 1.5 mm' or '1/2 x 0.065 in', with 'stainless' behind it if it is"


class TubeParams(ConduitParams):
    tube: str = Field(description="Outside diameter x wall, as `12 x 1.5 mm` or `1/2 x 0.065 in stainless`.")


class Tube(ConduitKind[TubeParams]):
    key = "tube"
    summary = "Drawn tube; bore from its size, rating from the tables, unless given."
    example = "{route: pump.outlet > bank.P, tube: 12 x 1.5 mm, length: 0.6 m}"
    Params = TubeParams

    def resolve(self, params: TubeParams, choices: Choices = NONE) -> Conduit:
        outside, wall, material = read_size(params.tube)
        if not 0 < 2 * wall < outside:
            raise refuse("quantity-range", f"'{params.tube}': such a wall leaves no bore", _EXAMPLE)
        rough = roughness("stainless tube" if material == "stainless" else "drawn tube").value
        if params.roughness is not None:
            rough = params.roughness
        steel = Wall(outside, wall, STAINLESS if material == "stainless" else STEEL_STRESS)
        label = f"tube, {' '.join(params.tube.split())}"
        try:
            row = tube(outside, wall, material, choices)
        except NotListed as error:
            if "is not listed" not in error.message or error.message.startswith("tube of"):
                raise not_listed(error) from None
            note = f"{error.message[:1].upper()}{error.message[1:]}: no rating from a table."
            return Conduit("tube", label, outside - 2 * wall, rough, params.rating, "given", (note,), steel)
        notes = notes_of(row) if params.rating is None else ()
        return Conduit("tube", label, row.bore, rough, rating_of(row, params.rating), "given", notes, steel)


def read_size(text: str) -> tuple[float, float, str]:
    """`12 x 1.5 mm stainless` -> (outside m, wall m, material). Raises PydanticCustomError or QuantityError."""
    found = _FORM.fullmatch(" ".join(text.split()))
    if not found:
        raise refuse("number-form", f"'{text}' is no size of a tube", _EXAMPLE)
    unit = found["unit"]
    if not unit:
        raise refuse("unit-missing", f"'{text}' has no unit", _EXAMPLE)
    outside = found["outside"]
    if re.fullmatch(r"[\d./\s-]+", outside):
        outside = f"{outside} {unit}"
    wall = f"{found['wall']} {unit}"
    material = (found["material"] or "steel").strip().lower()
    return quantities.parse(outside, "length"), quantities.parse(wall, "length"), material.replace(" steel", "")


CONDUIT = Tube()
