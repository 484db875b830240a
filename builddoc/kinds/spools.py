"""What one spool of a directional valve is, and where it stands in each state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from pydantic import Field
from pydantic_core import PydanticCustomError

from ..fields import DropAtFlow, Pair
from ..network import Array, Bools
from . import limiting
from .base import Keys, SpoolOrder

RESERVED = ("P", "T", "PB", "load", "stop", "speed", "sleeve")
SINGLE = "position"
"""Name of the control, and of nothing else, where the valve has one spool without a name."""


class Spool(Keys):
    """One spool of the valve."""

    ports_in_centre: Literal["blocked", "to tank", "A to tank", "B to tank"] = Field(
        "blocked",
        description="Work ports with the lever in centre: `blocked`, both `to tank` (motor spool), or one of them, "
        "`A to tank` or `B to tank`.",
    )
    float: bool = Field(False, description="It has a fourth position that joins A and B to the tank.")
    regen: bool = Field(
        False, description="It has a position `regen` that joins P and B to A: oil that leaves B adds to the pump's."
    )
    port_reliefs: dict[Literal["A", "B"], limiting.ReliefField] = Field(
        default_factory=dict,
        description="Reliefs from work ports to T, as `{A: 180 bar, B: {setting: 120 bar, override: "
        "5 bar at 20 L/min}}`.",
    )
    make_up: bool = Field(
        False, description="A check valve from T to each work port lets oil follow a load that runs ahead "
        "(anti-cavitation)."
    )
    relief: limiting.ReliefField | None = Field(
        None, description="Relief of this section, from where the spool is fed to T. Only with series or tandem feed."
    )
    drop: DropAtFlow | None = Field(
        None, description="Pressure drop of each path, P to port and port to T, fully shifted. Left out: the body's."
    )


def read_spools(raw: Any) -> Any:
    """`[lifter, clamp]`, `[lifter, {clamp: {float: yes}}]` or `{lifter: {float: yes}}` -> name -> keys."""
    if isinstance(raw, str):
        raw = [raw]
    if isinstance(raw, (list, tuple)):
        named: dict[str, Any] = {}
        for item in raw:
            entries = item if isinstance(item, Mapping) else {item: None}
            for name, keys in entries.items():
                if name in named:
                    raise refusal("key-twice", f"two spools are named '{name}'", "every spool has a name of its own")
                named[name] = keys
        raw = named
    if not isinstance(raw, Mapping):
        return raw
    for name in raw:
        if not isinstance(name, str) or not name.strip() or set(name) & set(".>"):
            raise refusal("name-form", f"'{name}' cannot name a spool", "names may hold spaces, but no '.' and no '>'")
        if name in RESERVED:
            raise refusal("name-form", f"a spool cannot be named '{name}': that word has a meaning already", "")
    return {name: ({} if keys in (None, "") else keys) for name, keys in raw.items()}


def refusal(code: str, text: str, hint: str) -> PydanticCustomError:
    return PydanticCustomError(code, "{text}", {"text": text, "hint": hint})


@dataclass(frozen=True, slots=True)
class One:
    """A spool with its name ("" = the only one) and the drop that holds for it."""

    name: str
    keys: Spool
    drop: Pair

    def port(self, letter: str) -> str:
        return f"{self.name}.{letter}" if self.name else letter

    def role(self, way: str) -> str:
        return f"{self.name}: {way}" if self.name else way

    @property
    def control(self) -> str:
        return self.name or SINGLE


@dataclass(frozen=True, slots=True)
class Shift:
    """Where a spool stands, per state. a, b, centre, float, regen: bool. x: share of travel that shuts the open centre:
    towards A or B, 1 in regen, else 0."""

    a: Bools
    b: Bools
    float: Bools
    regen: Bools
    x: Array

    @classmethod
    def of(cls, given: list[SpoolOrder]) -> Shift:
        place = np.array([order.position for order in given])
        a, b = place == "A", place == "B"
        regen = place == "regen"
        x = np.where(a | b | regen, np.array([order.share for order in given]), 0.0)
        return cls(a, b, place == "float", regen, x)

    @property
    def centre(self) -> Bools:
        return ~(self.a | self.b | self.float | self.regen)

    def to_tank(self, keys: Spool, letter: str) -> Bools:
        """True where float or the centre joins a work port to T."""
        drained = keys.ports_in_centre in ("to tank", f"{letter} to tank")
        return self.float | (self.centre & drained)
