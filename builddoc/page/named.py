"""The circuit that a block names by machine and revision, solved; or what is wrong with the names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ..language.talk import suggestion
from ..messages import Message, Place
from .draft import ABROAD

if TYPE_CHECKING:
    from ..history.registry import Entry
    from ..pipeline import Solved


def named_circuit(
    machine: str, revision: str, place: Place, path: str, entries: Sequence[Entry]
) -> tuple[Solved | None, Message | None]:
    """revision: "" = the newest built one. place: of the names in the block. path: of the block. entries: all revisions
    of the machine. A circuit with errors gives a message, no circuit."""
    from ..history.registry import Registry
    from ..pipeline import solve_text

    registry = Registry([replace(e, path=ABROAD + e.path) if e.path == path else e for e in entries])
    wanted = revision or newest(entries)
    found = registry.find(machine, wanted)
    if not found:
        known = registry.revisions(machine) or registry.machines()
        hint = suggestion(wanted, known, "there is") if known else "its block stands on this or another page"
        named = f"revision '{wanted}' of '{machine}'" if wanted else f"machine '{machine}' with a built revision"
        return None, Message("revision-unknown", f"there is no {named}", place, hint)
    if len({e.text for e in found}) > 1:
        places = ", ".join(f"{e.path}:{e.line}" for e in found)
        what = f"there are {len(found)} circuits of '{machine}', revision {wanted}"
        return None, Message("revision-several", what, place, places)
    entry = found[0]
    solved = solve_text(entry.text, entry.path, entry.line, entry.column, registry)
    if solved.ok:
        return solved, None
    first = next(m for m in solved.messages if m.level == "error")
    return None, Message("base-wrong", f"revision {wanted} has errors itself", place, f"first: {first}")


def newest(entries: Sequence[Entry]) -> str:
    """The newest revision that was built, by date, else the last one written; "" if none was built."""
    built = [e.head for e in entries if e.head.status == "built"]
    return max(enumerate(built), key=lambda pair: (pair[1].date, pair[0]))[1].revision if built else ""
