"""What a state may order, read from the writer's text. Every function raises ValueError with a sentence for him."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from .. import quantities
from ..network import Array
from .base import Control, Fault, SpoolOrder

STOPS = ("extended", "retracted", "held")
SHUT, OPEN = 0.0, 1.0


@dataclass(frozen=True, slots=True)
class ShaftLoad:
    """resisting: N m against whatever direction the shaft turns, held at rest like dry friction. against: N m that
    pushes the shaft from B to A, whatever it does (negative: from A to B)."""

    resisting: float = 0.0
    against: float = 0.0


def words(raw: Any, what: str) -> str:
    """The text of an order with single spaces."""
    if isinstance(raw, bool) or not isinstance(raw, (str, int, float)):
        raise ValueError(f"{what} is written as one text")
    return " ".join(str(raw).split())


def rod_load(raw: Any) -> float:
    """`26.5 kN compression` -> +26500 N (resists extending), `tension` -> negative."""
    text = words(raw, "a load")
    if text.lower() == "none":
        return 0.0
    head, _, kind = text.rpartition(" ")
    sign = {"compression": 1.0, "tension": -1.0}.get(kind.lower())
    if sign is None:
        force = quantities.parse(text, "force")
        if force == 0.0:
            return 0.0
        raise ValueError(
            f"'{text}' does not say how the rod feels the load: write '{text} compression' if it pushes the rod in, "
            f"'{text} tension' if it pulls the rod out"
        )
    force = quantities.parse(head.removesuffix(" in"), "force")
    if force < 0:
        raise ValueError(f"'{text}': the word says the direction, so the force is written without a minus")
    return sign * force


def shaft_load(raw: Any) -> ShaftLoad:
    """`90 N.m resisting`, or `90 N.m driving A to B` (the load turns the shaft that way), or `... driving B to A`."""
    text = words(raw, "a load")
    if text.lower() == "none":
        return ShaftLoad()
    lower = text.lower()
    for ending, sign in ((" driving a to b", -1.0), (" driving b to a", 1.0), (" resisting", 0.0)):
        if lower.endswith(ending):
            torque = quantities.parse(text[: -len(ending)], "torque")
            if torque < 0:
                raise ValueError(f"'{text}': the word says the direction, so the torque is written without a minus")
            return ShaftLoad(against=sign * torque) if sign else ShaftLoad(resisting=torque)
    if lower.endswith(" driving"):
        raise ValueError(
            f"'{text}' does not say which way: write '{text} A to B' or '{text} B to A' (the way the oil goes)"
        )
    if quantities.parse(text, "torque") == 0.0:
        return ShaftLoad()
    raise ValueError(
        f"'{text}' does not say what the load does: write '{text} resisting' if it opposes the turning, or "
        f"'{text} driving A to B' if it turns the shaft"
    )


def stop(raw: Any) -> str:
    """`extended`, `retracted`: the rod stands against that end; `held`: it stands and may not move."""
    text = words(raw, "a stop").lower()
    if text not in STOPS:
        raise ValueError(f"'{text}' is no stop: write extended, retracted or held")
    return text


def standing(raw: Any) -> str:
    """For a shaft, which has no ends: only `held`."""
    text = words(raw, "a stop").lower()
    if text != "held":
        raise ValueError(f"a shaft has no stop '{text}': list it under 'stopped' if it stands")
    return text


def speed(raw: Any) -> float:
    """rad/s, not negative."""
    value = quantities.parse(words(raw, "a speed"), "rotational speed")
    if value < 0:
        raise ValueError("a speed cannot be negative")
    return value


def opening(raw: Any) -> float:
    """`open` -> 1, `shut` -> 0, `40 %` -> 0.4 of the full area."""
    text = words(raw, "a position").lower()
    known = {"open": OPEN, "shut": SHUT, "closed": SHUT}
    if text in known:
        return known[text]
    if "%" not in text:
        raise ValueError(f"'{text}' is no position: write open, shut or how far it is open, such as 40 %")
    return share(text)


def setting(raw: Any) -> float:
    """As `opening`, but it cannot be shut."""
    value = opening(raw)
    if value < 0.01:
        raise ValueError(f"'{words(raw, 'a position')}': the least setting that can be worked out is 1 %")
    return value


def share(text: str) -> float:
    """`40 %` -> 0.4; from 0 to 100 %."""
    value = quantities.parse(text, "share")
    if not 0.0 <= value <= 1.0:
        raise ValueError(f"'{text}' must lie between 0 % and 100 %")
    return value


def coupling(raw: Any) -> bool:
    """`joined` -> True; `open` (apart) -> False."""
    text = words(raw, "a position").lower()
    if text in ("joined", "connected"):
        return True
    if text in ("open", "apart"):
        return False
    raise ValueError(f"'{text}' is no state of a quick coupler: write joined, or open (apart)")


def sleeve(raw: Any) -> str:
    """`fitted`; `missing`: the power-beyond port and the tank port are one."""
    text = words(raw, "the sleeve").lower()
    if text not in ("fitted", "missing"):
        raise ValueError(f"'{text}' is no state of a power-beyond sleeve: write fitted or missing")
    return text


def clogging(raw: Any) -> float:
    """Share of a filter element that is blocked: `clean`, `blocked`, `80 % blocked`."""
    text = words(raw, "the state of a filter").lower()
    if text in ("clean", "blocked"):
        return 0.0 if text == "clean" else 1.0
    if text.endswith(" blocked"):
        return share(text.removesuffix(" blocked"))
    raise ValueError(f"'{text}' is no state of a filter: write clean, blocked, or a share such as '80 % blocked'")


def clogging_words(blocked: float) -> str:
    """State of a filter element: `clean`, `80 % blocked`."""
    return {0.0: "clean", 1.0: "blocked"}.get(blocked, f"{quantities.show(blocked, 'share')} blocked")


def spool_position(has_float: bool, has_regen: bool = False) -> Callable[[Any], SpoolOrder]:
    """Reader of `A`, `B`, `centre`, `A 40 %`, and `float` and `regen` where the spool has these positions."""

    def read(raw: Any) -> SpoolOrder:
        text = words(raw, "a lever position")
        place, _, rest = text.partition(" ")
        known = {"A": "A", "B": "B", "CENTRE": "centre", "CENTER": "centre", "FLOAT": "float", "REGEN": "regen"}
        key = known.get(place.upper())
        if key is None:
            raise ValueError(
                f"'{text}' is no lever position: write A or B (the port that gets pressure), centre or float"
            )
        if key == "float" and not has_float:
            raise ValueError("this spool has no float position: give it 'float: yes' if it has")
        if key == "regen" and not has_regen:
            raise ValueError("this spool has no regenerative position: give it 'regen: yes' if it has")
        if not rest:
            return SpoolOrder(key)
        if key in ("centre", "float", "regen"):
            raise ValueError(f"'{text}': only A and B can be shifted in part")
        part = share(rest)
        if part == 0.0:
            raise ValueError(f"'{text}': a spool that is not shifted is written centre")
        return SpoolOrder(key, part)

    return read


def choice(places: tuple[str, ...], what: str) -> Callable[[Any], str]:
    """Reader of one of these words."""
    known = {place.lower(): place for place in places}

    def read(raw: Any) -> str:
        text = words(raw, "a position")
        if text.lower() not in known:
            raise ValueError(f"'{text}' is no position of a {what}: write {', '.join(places[:-1])} or {places[-1]}")
        return known[text.lower()]

    return read


LET_GO = "let go"


def wheel(may_let_go: bool) -> Callable[[Any], float | str]:
    """Reader for a steering wheel: `40 rpm right` -> positive rad/s, `left` -> negative; `held` -> 0; `let go`."""

    def read(raw: Any) -> float | str:
        text = words(raw, "a hand speed")
        if text.lower() == "held":
            return 0.0
        if text.lower() == LET_GO:
            if not may_let_go:
                raise ValueError("only a unit with 'load reaction: yes' differs when the wheel is let go: write held")
            return LET_GO
        head, _, way = text.rpartition(" ")
        sign = {"right": 1.0, "left": -1.0}.get(way.lower())
        if sign is None:
            raise ValueError(f"'{text}' does not say which way it turns: write '40 rpm right', '40 rpm left' or held")
        return sign * speed(head)

    return read


def wheel_words(order: float | str) -> str:
    """`40 rpm right`, `held` or `let go`."""
    if isinstance(order, str) or order == 0.0:
        return LET_GO if order == LET_GO else "held"
    return f"{quantities.show(abs(order), 'rotational speed')} {'right' if order > 0 else 'left'}"


def rod_limits(stops: list[str | None]) -> tuple[Array, Array]:
    """Lowest and highest speed per state: at a stop the rod can only leave it, held it cannot move."""
    low = np.array([0.0 if stop in ("retracted", "held") else -np.inf for stop in stops])
    high = np.array([0.0 if stop in ("extended", "held") else np.inf for stop in stops])
    return low, high


LOAD = Control("load", rod_load, 0.0, "load on the rod, as `26.5 kN compression` or `4 kN tension`")
STOP = Control(
    "stop", stop, None, "`extended`, `retracted` (at that stop) or `held`",
    faults=(
        Fault("against its extended stop", "extended", "stops", 1),
        Fault("against its retracted stop", "retracted", "stops", -1),
    ),
)  # fmt: skip
ROD = (LOAD, STOP)
SHAFT = (
    Control("load", shaft_load, ShaftLoad(), "load on the shaft, as `90 N.m resisting` or `90 N.m driving A to B`"),
    Control("stop", standing, None, "`held`: the shaft stands"),
)
