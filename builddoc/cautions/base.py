"""What a caution is: a hazard of this machine, shown while its condition holds in the circuit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from ..checks.base import Case, Finding, Signal
from ..checks.words import Units
from ..circuit import Part

NO_SOURCE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution as a page shows it. lead: the hazard as a sentence. text: what happens and what avoids it, with the
    figures of this machine. figures: name -> SI value (for tests and JSON). source: what it rests on."""

    id: str
    signal: Signal
    lead: str
    text: str
    figures: Mapping[str, float] = field(default_factory=dict)
    source: str = NO_SOURCE


@dataclass(frozen=True, slots=True)
class Said:
    """What a condition answers when it holds: lead, text and figures of a `Caution`."""

    lead: str
    text: str
    figures: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Scene:
    """What a condition may look at. findings: all four outcomes of the rules."""

    case: Case
    findings: tuple[Finding, ...] = ()

    @cached_property
    def u(self) -> Units:
        return Units(self.case.circuit)

    def found(self, *rules: str) -> list[Finding]:
        """Findings of these rules, worst first. An accepted one is still there: what it tells of has not gone away."""
        return [f for f in self.findings if f.rule in rules and f.outcome == "finding"]

    def parts(self, *names: str) -> list[Part]:
        """Parts of these kinds, in the order of the circuit."""
        return [p for p in self.case.circuit.parts.values() if p.kind in names]


@dataclass(frozen=True, slots=True)
class Entry:
    """condition: when it is shown, in words. tell: None = the condition does not hold."""

    id: str
    signal: Signal
    condition: str
    source: str
    tell: Callable[[Scene], Said | None]

    def shown(self, scene: Scene) -> Caution | None:
        said = self.tell(scene)
        return Caution(self.id, self.signal, said.lead, said.text, said.figures, self.source) if said else None


CAUTIONS: dict[str, Entry] = {}


def caution(
    *, id: str, signal: Signal, condition: str, source: str = NO_SOURCE
) -> Callable[[Callable[[Scene], Said | None]], Callable[[Scene], Said | None]]:
    """Register a caution. Every module of `builddoc.cautions` is imported by `cautions.shown`."""

    def register(tell: Callable[[Scene], Said | None]) -> Callable[[Scene], Said | None]:
        if id in CAUTIONS:
            raise RuntimeError(f"two cautions are named '{id}'")
        CAUTIONS[id] = Entry(id, signal, condition, source, tell)
        return tell

    return register
