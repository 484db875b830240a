"""The four outcomes of a rule about one subject, without writing its id, signal word and place each time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..messages import Place
from .base import RULES, Finding, Signal

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

    def none(self, headline: str) -> Finding:
        """Does not apply."""
        return Finding(self.rule, "does not apply", self.signal, self.subject, headline)
