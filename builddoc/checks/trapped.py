"""Rule on oil that is shut in and warmed."""

from __future__ import annotations

import math
from collections.abc import Iterable

from .base import Case, Finding, rule
from .closed import WARMING, Closed, closed, warming
from .outcomes import together
from .words import Units, capital, listed, quoted, ratio

_REMEDY = "A small (thermal) relief on the shut volume, set below the weakest rating, or bleed it before parking."


@rule(
    id="trapped-thermal",
    title="Oil that is shut in and warmed stays below the ratings",
    signal="WARNING",
    reason="The sun on a parked machine raises the pressure of shut-in oil by about 10 bar per kelvin, engine off: a "
    "gland or a hose bursts, or a loosened fitting sprays.",
    criterion=f"pressure kept plus the rise over {WARMING:.0f} K (in stiff walls, and with hoses giving way), limited "
    "by what the state lets out, at most the lowest rating of what is shut in; a volume shut by a spool passes, "
    "because it leaks, and so does the least figure of a volume whose rod can give way into one; not checked where a "
    "rating is missing",
    remedy=_REMEDY,
    source="dp = expansion x bulk modulus x warming: Fluid Power Engineering, McGraw-Hill, 2009, p. 37 (expansion); "
    "a trade page prints 11 bar/K; give of hoses and 1.4 GPa: from memory; spools leak: common practice, no source",
)
def trapped_thermal(case: Case) -> Iterable[Finding]:
    judged = [_judged(case, one) for one in closed(case)]
    yield from _together([f for f in judged if f.outcome == "finding"])
    yield from (f for f in judged if f.outcome != "finding")
    if not judged:
        yield Finding("trapped-thermal", "does not apply", "WARNING", "", "No state shuts oil in")


def _together(found: list[Finding]) -> list[Finding]:
    """Volumes that get too high are one finding: that of the one farthest over its rating, with a line for each."""
    if len(found) < 2:
        return found
    more = len(found) - 1
    also = f"So it is at {more} more {'place' if more == 1 else 'places'}."
    return [together(sorted(found, key=lambda f: -f.figures["ratio"]), also)]


def _judged(case: Case, one: Closed) -> Finding:
    id, u = "trapped-thermal", Units(case.circuit)
    where = f"the oil shut in at {listed((*one.rods, *one.lines), 4)}"
    if not one.rises:
        if one.store:
            why = f"{one.store} takes up what warming adds to {where}"
        elif one.fixed:
            why = f"Warming moves the rod, it does not raise the pressure of {where}"
        else:
            why = f"{capital(where)} is shut by the spool of {one.spool}: a slow rise leaks away"
        return Finding(id, "ok", "WARNING", one.subject, why, state=one.state)
    span = rise(u, one)
    line = f"{warming(u)} warmer, {where} stands at {span}"
    figures = {"pressure before": one.low, "least": one.least, "most": one.most}
    place = (case.circuit.parts.get(one.subject) or case.circuit.lines[one.subject]).place
    text = f"It is shut in in {quoted((one.state, *one.others))}. {assumed(u, one)}"
    weakest = one.weakest
    if weakest is None or weakest.value is None:
        return Finding(id, "not checked", "WARNING", one.subject, line, text=text, state=one.state, figures=figures,
                       missing="a rated working pressure of what is shut in", place=place)  # fmt: skip
    figures["rating"] = weakest.value
    against = f"{weakest.label} is rated {u.both(weakest.value, 'pressure')}"
    if one.most > weakest.value:
        figures["ratio"] = one.most / weakest.value
        sure = "" if one.least > weakest.value else "can be too much: "
        return Finding(
            id, "finding", "WARNING", one.subject, f"{line}: {sure}{against}, up to {ratio(one.most / weakest.value)}",
            text=text, remedy=_REMEDY, state=one.state, figures=figures, place=place,
        )  # fmt: skip
    if one.unrated:
        return Finding(id, "not checked", "WARNING", one.subject, f"{line}; {against}", text=text, state=one.state,
                       figures=figures, missing=f"a rated working pressure of {listed(one.unrated, 4)}",
                       place=place)  # fmt: skip
    return Finding(id, "ok", "WARNING", one.subject, f"{line}; {against}", text=text, state=one.state, figures=figures)


def rise(u: Units, one: Closed) -> str:
    """`147 bar to 336 bar`, one figure where a relief makes them one."""
    least, most = u.pressure(one.least), u.both(one.most, "pressure")
    return u.both(one.least, "pressure") if least == u.pressure(one.most) else f"{least} to {most}"


def assumed(u: Units, one: Closed) -> str:
    """What the range rests on and what bounds it."""
    bound = ""
    if one.guards:
        bound = f" {listed(one.guards)} guards it." if one.most >= one.limit else f" {listed(one.guards)} stands at it."
    elif math.isfinite(one.limit):
        bound = f" Above {u.pressure(one.limit)} a rod leaves its stop or a valve opens."
    before = f"from {u.pressure(one.low)}" if one.low > 0 else "from no pressure"
    lowest = f"with oil that holds a little air{' and hoses giving way' if one.hoses > 0 else ''}"
    if one.creeps:
        lowest = "where the spool on the other side of the rod leaks and the rod gives way"
    squeezed = ", both sides of the cylinder tight, by the ratio of its areas" if one.squeezed else ""
    return (
        f"Worked out {before}; lowest {lowest}, highest in stiff walls{squeezed}; what else was shut in comes on "
        f"top.{bound}"
    )
