"""The four outcomes of a rule about one subject, without writing its id, signal word and place each time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ..circuit import Part
from ..messages import Place
from .base import RULES, Finding, Signal
from .words import listed

NO_FIGURES: Mapping[str, float] = {}


@dataclass(frozen=True, slots=True)
class About:
    """rule: id of a registered rule. subject: part, line or state. place: where it was written."""

    rule: str
    subject: str = ""
    place: Place | None = None

    @property
    def signal(self) -> Signal:
        return RULES[self.rule].signal

    def finding(
        self, headline: str, text: str, *, state: str = "", signal: Signal | None = None, remedy: str = "",
        figures: Mapping[str, float] = NO_FIGURES,
    ) -> Finding:  # fmt: skip
        """signal, remedy: those of the rule where none is given."""
        return Finding(
            self.rule, "finding", signal or self.signal, self.subject, headline, text, remedy or
            RULES[self.rule].remedy, state, figures, place=self.place,
        )  # fmt: skip

    def ok(self, headline: str, *, state: str = "", figures: Mapping[str, float] = NO_FIGURES) -> Finding:
        return Finding(self.rule, "ok", self.signal, self.subject, headline, state=state, figures=figures,
                       place=self.place)  # fmt: skip

    def unchecked(self, headline: str, missing: str, *, figures: Mapping[str, float] = NO_FIGURES) -> Finding:
        return Finding(self.rule, "not checked", self.signal, self.subject, headline, figures=figures, missing=missing,
                       place=self.place)  # fmt: skip

    @classmethod
    def unstated(cls, rule: str, parts: Sequence[Part], what: str, missing: str) -> Finding:
        """NOT CHECKED once for all parts about which nobody stated something; `what` follows their names."""
        one = parts[0]
        about = cls(rule, one.name if len(parts) == 1 else "", one.place)
        return about.unchecked(f"{listed([p.name for p in parts], 6)}: {what}", missing)

    def none(self, headline: str) -> Finding:
        """Does not apply."""
        return Finding(self.rule, "does not apply", self.signal, self.subject, headline)


def together(found: Sequence[Finding], also: str) -> Finding:
    """Findings that tell of one thing at several places as one: the first of them, which must be the worst, with a line
    for each and the figures of all. also: a sentence about the others."""
    worst, *others = found
    figures = {**worst.figures, **{f"{f.subject} in {f.state}, {n}": v for f in others for n, v in f.figures.items()}}
    lines = tuple(f"{f.headline}, in '{f.state}'." if f.state else f"{f.headline}." for f in found)
    return replace(worst, text=f"{worst.text} {also}".strip(), figures=figures, points=lines)
