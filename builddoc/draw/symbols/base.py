"""What a maker of symbols gets, and how it finds the ports it draws."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from ...kinds.base import Port
from .pen import Symbol


class Unfit(Exception):
    """A symbol has no place for a port of this part; a labelled box is drawn instead."""


@dataclass(frozen=True, slots=True)
class Given:
    """ports: of the part, in the kind's order. params: its parameters. alike: how many parts stand side by side."""

    name: str
    ports: tuple[Port, ...]
    params: Any

    def port(self, *names: str) -> str:
        """Name of the port that has one of these names or aliases. Raises Unfit."""
        found = self.maybe(*names)
        if found is None:
            raise Unfit(names[0])
        return found

    def maybe(self, *names: str) -> str | None:
        for wanted in names:
            for port in self.ports:
                if wanted == port.name or wanted in port.aliases:
                    return port.name
        return None

    def two(self, first: str, second: str) -> tuple[str, str]:
        """A part with two ports: those names if it has them, else the two in order."""
        a, b = self.maybe(first), self.maybe(second)
        if a and b:
            return a, b
        if len(self.ports) == 2:
            return self.ports[0].name, self.ports[1].name
        raise Unfit(first)


Maker = Callable[[Given], Symbol]
