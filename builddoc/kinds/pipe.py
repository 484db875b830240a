"""Steel pipe, by nominal size and schedule."""

from __future__ import annotations

import re
from dataclasses import replace

from pydantic import Field

from ..circuit import Conduit, Wall
from ..fields import Efficiency
from ..physics.strength import npt_depth
from ..standards import NONE, Choices, NotListed, pipe, pipe_rating, roughness
from ..standards.pipes import WELDED
from .conduit import ConduitKind, ConduitParams, not_listed, notes_of, rating_of, refuse

_FORM = re.compile(
    r"(?P<size>[\d./\s-]+?)\s*(?:in|inch|\")?\.?\s*,?\s*(?:schedule|sch\.?)\s*(?P<schedule>\w+)"
    r"(?:\s*,?\s*(?P<ends>[a-z][a-z ]*))?",
    re.IGNORECASE,
)
_EXAMPLE = "write '1/2 in schedule 80 threaded' (or 'welded')"
MILL = 0.125
"""Share by which a pipe's wall may be under its nominal size, ASME B36.10M (from memory)."""
_ENDS = {"threaded": True, "welded": False, "plain": False, "plain ends": False, "socket welded": False}


class PipeParams(ConduitParams):
    pipe: str = Field(
        description="Nominal size, schedule and ends, as `1/2 in schedule 80 threaded`; `welded` for plain "
        "ends. Threaded where it is not said."
    )
    joint_factor: Efficiency = Field(
        1.0, description="Strength of its lengthwise weld over that of the steel: 1 for seamless pipe, 0.85 for "
        "resistance-welded, 0.6 for furnace butt-welded (from memory)."
    )


class Pipe(ConduitKind[PipeParams]):
    key = "pipe"
    summary = "Steel pipe; bore and rating from the tables by size and schedule, unless given."
    example = "{route: valve.T > tank, pipe: 1/2 in schedule 80 threaded, length: 1.5 m}"
    Params = PipeParams

    def resolve(self, params: PipeParams, choices: Choices = NONE) -> Conduit:
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
        threaded, factor = _ENDS[ends], params.joint_factor
        wall = Wall(
            row.outside, row.wall, WELDED * factor, MILL, npt_depth(row.threads_per_inch) if threaded else 0.0,
            threaded, row.schedule == "40",
        )  # fmt: skip
        rating = rating_of(rated, params.rating)
        if params.rating is None and rating is not None and rating.value is not None and factor < 1:
            rating = replace(rating, value=rating.value * factor, status=f"computed, joint factor {factor:g}")
        return Conduit("pipe", label, row.bore, rough, rating, row.title, notes, wall)


CONDUIT = Pipe()
