"""Figures and names as a finding prints them: in the circuit's display units, with the builder's own names."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from .. import quantities
from ..circuit import Circuit


class Units:
    """Prints SI figures in the systems a circuit asks for; the first one leads."""

    def __init__(self, circuit: Circuit):
        systems = circuit.units or ("metric",)
        self.first = systems[0]
        self.second = systems[1] if len(systems) > 1 else ""

    def show(self, value: float, dimension: str) -> str:
        """`151 bar`, in the leading system."""
        return quantities.show(value, dimension, self.first)

    def both(self, value: float, dimension: str) -> str:
        """`151 bar (2190 psi)`; the bracket only where two systems are asked for and differ."""
        text = self.show(value, dimension)
        other = self.other(value, dimension)
        return f"{text} ({other})" if other else text

    def other(self, value: float, dimension: str) -> str:
        """The figure in the second system, "" if there is none, it reads the same, or it is nothing in either."""
        if not self.second or not value:
            return ""
        text = quantities.show(value, dimension, self.second)
        return "" if text == self.show(value, dimension) else text

    def pressure(self, value: float) -> str:
        return self.show(value, "pressure")

    def flow(self, value: float) -> str:
        return self.show(value, "flow")

    def velocity(self, value: float) -> str:
        return self.show(value, "velocity")

    def power(self, value: float) -> str:
        return self.show(value, "power")


def ratio(value: float) -> str:
    """How many times: `7.3 times`; `1.02 times` where it is just over, whole from 100 on."""
    if 0.995 < value < 1.095:
        return f"{value:.2f} times"
    return f"{value:.1f} times" if value < 99.95 else f"{value:.0f} times"


def percent(share: float) -> str:
    """`46 %`, one decimal below 1 %."""
    return f"{share * 100:.1f} %" if 0 < abs(share) < 0.01 else f"{share * 100:.0f} %"


def minutes(seconds: float) -> str:
    """`18 min`, `7.6 min`, `40 s`, `3.2 h`: rounded down, because it is printed as a limit."""
    if seconds < 100:
        return f"{int(seconds)} s"
    if seconds < 600:
        return f"{int(seconds / 6 + 1e-9) / 10:g} min"
    if seconds < 7200:
        return f"{int(seconds / 60 + 1e-9)} min"
    return f"{int(seconds / 360) / 10:g} h"


def listed(names: Iterable[str], limit: int = 0) -> str:
    """`a, b and c`; with a limit the rest is counted: `a, b and 4 more`."""
    items = list(dict.fromkeys(names))
    if limit and len(items) > limit:
        items = [*items[:limit], f"{len(items) - limit} more"]
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def quoted(states: Sequence[str]) -> str:
    """State names as the text prints them: `'lifting'`, `'lifting' and 'idling'`."""
    return listed([f"'{name}'" for name in states], 4)


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]
