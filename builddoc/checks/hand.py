"""What a person at a lever has to push."""

from __future__ import annotations

from collections.abc import Iterable
from typing import cast

from .. import kinds
from ..kinds.hand_pump import HandPump
from .base import Case, Finding, rule
from .sections import of_kind
from .words import Units

MOST = 300.0
"""N that a person can push again and again; common practice, no source."""
REMEDY = "A longer lever, a smaller piston, or a lower relief."


@rule(
    id="hand-pump-force",
    title="A hand pump can be worked",
    signal="NOTICE",
    reason="A lever that needs the whole weight of a person slips, and lets go all at once.",
    criterion="pressure x piston area / lever ratio at most 300 N in every state in which it is pumped",
    remedy=REMEDY,
    source="common practice, no source",
)
def hand_force(case: Case) -> Iterable[Finding]:
    id, u, r = "hand-pump-force", Units(case.circuit), case.results
    pumps = of_kind(case, "hand pump")
    for part in pumps:
        force = cast(HandPump, kinds.registry()[part.kind]).hand_force(part, r)
        worst = r.worst(force) if force is not None else None
        if force is None:
            yield Finding(id, "not checked", "NOTICE", part.name, f"{part.name}: force on its lever",
                          missing="'piston' and 'lever ratio'", place=part.place)  # fmt: skip
        elif worst is None:
            yield Finding(id, "not checked", "NOTICE", part.name, f"{part.name}: force on its lever",
                          missing="a state with figures", place=part.place)  # fmt: skip
        else:
            line = f"The lever of {part.name} needs {u.both(worst.value, 'force')}"
            heavy = worst.value > MOST
            yield Finding(
                id, "finding" if heavy else "ok", "NOTICE", part.name, line,
                text="More than a person can push again and again." if heavy else "", remedy=REMEDY if heavy else "",
                state=worst.state, figures={"force": worst.value}, place=part.place,
            )  # fmt: skip
    if not pumps:
        yield Finding(id, "does not apply", "NOTICE", "", "No hand pump in this circuit")
