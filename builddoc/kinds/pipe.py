"""Steel pipe, by nominal size and schedule."""

from __future__ import annotations

import re

from pydantic import Field

from ..circuit import Conduit
from ..standards import NotListed, pipe, pipe_rating, roughness
from .conduit import ConduitKind, ConduitParams, not_listed, notes_of, rating_of, refuse

_FORM = re.compile(
    r"(?P<size>[\d./\s-]+?)\s*(?:in|inch|\")?\.?\s*,?\s*(?:schedule|sch\.?)\s*(?P<schedule>\w+)"
    r"(?:\s*,?\s*(?P<ends>[a-z][a-z ]*))?",
    re.IGNORECASE,
)
_EXAMPLE = "write '1/2 in schedule 80 threaded' (or 'welded')"
_ENDS = {"threaded": True, "welded": False, "plain": False, "plain ends": False, "socket welded": False}


class PipeParams(ConduitParams):
    pipe: str = Field(
        description="Nominal size, schedule and ends, as `1/2 in schedule 80 threaded`; `welded` for plain "
        "ends. Threaded where it is not said."
    )


class Pipe(ConduitKind[PipeParams]):
    key = "pipe"
    summary = "Steel pipe; bore and rating from the tables by size and schedule, unless given."
    example = "{route: valve.T > tank, pipe: 1/2 in schedule 80 threaded, length: 1.5 m}"
    Params = PipeParams

    def resolve(self, params: PipeParams) -> Conduit:
        found = _FORM.fullmatch(" ".join(params.pipe.split()))
        if not found:
            raise refuse("number-form", f"'{params.pipe}' is no size of a pipe", _EXAMPLE)
        ends = (found["ends"] or "threaded").strip().lower()
        if ends not in _ENDS:
            raise refuse("choice", f"'{ends}' are no ends of a pipe", _EXAMPLE)
        try:
            row = pipe(found["size"].strip(), found["schedule"])
            rated = pipe_rating(row.nps, row.schedule, threaded=_ENDS[ends])
        except NotListed as error:
            raise not_listed(error) from None
        notes: tuple[str, ...] = notes_of(row)
        if params.rating is None:
            notes = (*notes, *notes_of(rated))
            if not found["ends"]:
                notes = ("Ends not stated: taken as threaded, the weaker.", *notes)
        rough = params.roughness if params.roughness is not None else roughness("steel pipe").value
        label = f"pipe, {row.nps} in schedule {row.schedule}, {ends}"
        return Conduit("pipe", label, row.bore, rough, rating_of(rated, params.rating), row.title, notes)


CONDUIT = Pipe()
