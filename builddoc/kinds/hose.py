"""Hose, by construction and size."""

from __future__ import annotations

import re

from pydantic import Field

from .. import quantities
from ..circuit import Conduit
from ..fields import Length
from ..standards import NONE, Choices, HoseRow, NotListed, constructions, hose, roughness
from .conduit import ConduitKind, ConduitParams, not_listed, notes_of, rating_of, refuse

INCH = 0.0254
UNKNOWN = "unknown"


class HoseParams(ConduitParams):
    hose: str = Field(
        description="Construction, as `two-wire`, `one-wire`, `suction` or a designation (`2SN`, `100R2AT`); "
        "`unknown` if it cannot be told."
    )
    size: str = Field("", description="Dash size, sixteenths of an inch, as `-8`; or the bore by name, as `1/2 in`.")
    bore: Length | None = Field(None, description="Inside diameter, if not that of the size, or instead of it.")


class Hose(ConduitKind[HoseParams]):
    key = "hose"
    summary = "Hydraulic hose; bore and rating from the tables by construction and size, unless given."
    example = "{route: pump.outlet > bank.P, hose: two-wire, size: -8, length: 0.8 m}"
    Params = HoseParams

    def resolve(self, params: HoseParams, choices: Choices = NONE) -> Conduit:
        dash = dash_size(params.size) if params.size else None
        if dash is None and params.bore is None:
            raise refuse("value-missing", "the hose has no size", "write 'size: -8', or 'bore: 12.7 mm'")
        row, missing = self._row(params, dash, choices)
        name = row.construction if row else params.hose.strip()
        bore, basis = self._bore(params, row, dash)
        size = f"-{dash}" if dash is not None else quantities.show(bore, "length")
        notes = notes_of(row) if row and params.rating is None else ()
        rough = params.roughness if params.roughness is not None else roughness("hose").value
        rating = rating_of(row, params.rating)
        return Conduit("hose", f"hose, {name} {size}", bore, rough, rating, basis, (*missing, *notes), None,
                       row.coldest if row else None, row.hottest if row else None)  # fmt: skip

    def _row(
        self, params: HoseParams, dash: int | None, choices: Choices
    ) -> tuple[HoseRow | None, tuple[str, ...]]:
        """The row of the tables, or none and why."""
        if params.hose.strip().lower() == UNKNOWN:
            return None, ()
        try:
            return hose(params.hose, dash, params.bore, choices), ()
        except NotListed as error:
            if dash is None and "bore of" in error.message:  # the construction is known, the bore is the writer's own
                return None, (f"{error.message[:1].upper()}{error.message[1:]}: no rating from a table.",)
            if error.message.startswith("no hose construction"):
                raise refuse(
                    "not-listed", error.message,
                    f"did you mean '{error.choices[0]}'? listed: {', '.join(constructions())}, {UNKNOWN}",
                ) from None  # fmt: skip
            raise not_listed(error) from None

    def _bore(self, params: HoseParams, row: HoseRow | None, dash: int | None) -> tuple[float, str]:
        if params.bore is not None:
            return params.bore, "given"
        if row is not None:
            return row.bore, row.title
        assert dash is not None
        return dash * INCH / 16, f"size -{dash}: {dash}/16 in"


def dash_size(text: str) -> int:
    """`-8` -> 8; `1/2 in` -> 8. Raises PydanticCustomError."""
    tidy = " ".join(text.split()).replace("−", "-").replace("–", "-")
    if re.fullmatch(r"-\s?\d{1,2}", tidy, re.ASCII):
        return int(tidy[1:])
    if re.fullmatch(r"\d{1,2}", tidy, re.ASCII):
        raise refuse("unit-missing", f"'{tidy}' may be a dash size or a length", f"write '-{tidy}' for {tidy}/16 in")
    length = quantities.parse(tidy, "length")
    dash = round(length / INCH * 16)
    if dash < 1 or abs(length - dash * INCH / 16) > 1e-5:
        raise refuse(
            "not-listed", f"'{tidy}' is no hose size", "write a dash size such as '-8', an inch size such as '1/2 in'"
        )
    return dash


CONDUIT = Hose()
