"""Rule on plumbing-grade fittings in pressure lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from . import strength
from .base import Case, Finding, rule
from .ratings import no_pressure, read_where, unsolved
from .strength import Member, Seen
from .words import Units, capital, ratio

LIMIT = 20e5
"""Pa; a plumbing-grade fitting above this pressure is a finding whatever its class. Common practice, no source."""
DANGER = 3.0


@rule(
    id="rating-low-pressure-fitting",
    title="No plumbing-grade fitting in a pressure line",
    signal="WARNING",
    reason="A cast fitting breaks suddenly, without leaking first.",
    criterion="a plumbing-grade fitting sees at most 20 bar and at most its class rating in every state; DANGER above "
    "3 times the class rating",
    remedy="Replace it by a forged or bar-stock steel fitting with a stated working pressure; keep plumbing fittings "
    "for returns to the reservoir.",
    source="class ratings: ASME B16.3 as tabulated on a maker's submittal form (class 150: 300 psi to 150 degF). The "
    "20 bar limit and the factor 3: common practice, no source",
)
def rating_low_pressure_fitting(case: Case) -> Iterable[Finding]:
    id, found = "rating-low-pressure-fitting", False
    for name in case.circuit.lines:
        members = [m for m in strength.line_members(case, name) if m.fitting and m.fitting.low_pressure]
        if members:
            found = True
            seen = strength.seen(case, strength.line_nodes(case.network, name))
            for m in members:
                yield from _fitting(case, name, m, seen)
    if not found:
        yield Finding(id, "does not apply", "WARNING", "", "No plumbing-grade fitting in any line")
    else:
        yield from unsolved(case, id, "Plumbing-grade fittings")


def _fitting(case: Case, name: str, m: Member, seen: Seen | None) -> Iterator[Finding]:
    id, u = "rating-low-pressure-fitting", Units(case.circuit)
    if seen is None:
        yield no_pressure(id, name, f"{m.label} in {name}", m)
        return
    rating = m.rating.value if m.rating and m.rating.value else 0.0
    share = seen.value / rating if rating else 0.0
    figures = {"pressure": seen.value} | ({"rating": rating, "ratio": share} if rating else {})
    level = f"{seen.words}{u.both(seen.value, 'pressure')}"
    if seen.value > LIMIT or share > 1:
        rated = f", rated {u.both(rating, 'pressure')}: {ratio(share)} its class" if rating else ", its class unknown"
        yield Finding(
            id, "finding", "DANGER" if share > DANGER else "WARNING", name,
            f"{capital(m.label)} in {name} sees {level}{rated}",
            text="A plumbing fitting of cast iron breaks suddenly, without leaking first." + read_where(m),
            remedy="Replace it by a forged or bar-stock steel fitting with a stated working pressure.",
            state=seen.state, figures=figures, place=m.place,
        )  # fmt: skip
    elif m.missing and seen.value > 0:
        yield Finding(
            id, "not checked", "WARNING", name, f"{capital(m.label)} in {name}: no class rating for {level}",
            missing=m.missing, state=seen.state, figures=figures, place=m.place,
        )  # fmt: skip
    else:
        yield Finding(
            id, "ok", "WARNING", name, f"{capital(m.label)} in {name} sees {level} at most", state=seen.state,
            figures=figures, place=m.place,
        )  # fmt: skip
