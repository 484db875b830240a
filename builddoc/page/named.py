"""The circuit that a block names by machine and revision, solved; or what is wrong with the names."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ..language.talk import suggestion
from ..messages import Message, Place
from .draft import ABROAD
from .solving import solved_block

if TYPE_CHECKING:
    from ..history.registry import Entry, Registry
    from ..pipeline import Solved


def named_circuit(
    machine: str, revision: str, place: Place, path: str, entries: Sequence[Entry]
) -> tuple[Solved | None, Message | None]:
    """revision: "" = the newest built one. place: of the names in the block. path: of the block. entries: all revisions
    of the machine. A circuit with errors gives a message, no circuit."""
    from ..history.registry import Registry
    from ..pipeline import solve_text

    entry, trouble, registry = named_entry(machine, revision, place, path, entries)
    if entry is None:
        return None, trouble
    text, own = (entry.block, entry.block_path) if entry.block else (entry.text, entry.path.removeprefix(ABROAD))
    solved = solved_block(text, own, Registry(entries).closure(text, own))
    if solved.ok:
        return solved, None
    # Once more for its messages, whose places count in the page.
    solved = solve_text(entry.text, entry.path, entry.line, entry.column, registry)
    return None, errors_of(entry, solved.messages, place)


def named_entry(
    machine: str, revision: str, place: Place, path: str, entries: Sequence[Entry]
) -> tuple[Entry | None, Message | None, Registry]:
    """What stands under these names, or what is wrong with them, and all that can be named. Arguments as for
    `named_circuit`."""
    from ..history.registry import Registry

    registry = Registry([replace(e, path=ABROAD + e.path) if e.path == path else e for e in entries])
    if not registry.revisions(machine):
        hint = suggestion(machine, registry.machines()) or "its block stands on this or another page"
        return None, Message("revision-unknown", f"there is no machine '{machine}'", place, hint), registry
    wanted = revision or newest(entries)
    found = registry.find(machine, wanted)
    if not found:
        hint = suggestion(wanted, registry.revisions(machine), "there is")
        named = f"revision '{wanted}' of '{machine}'" if wanted else f"machine '{machine}' with a built revision"
        return None, Message("revision-unknown", f"there is no {named}", place, hint), registry
    if len({e.text for e in found}) > 1:
        places = ", ".join(f"{e.path}:{e.line}" for e in found)
        what = f"there are {len(found)} circuits of '{machine}', revision {wanted}"
        return None, Message("revision-several", what, place, places), registry
    return found[0], None, registry


def errors_of(entry: Entry, messages: Iterable[Message], place: Place) -> Message:
    """What a block says that names a circuit with errors."""
    first = next(m for m in messages if m.level == "error")
    return Message("base-wrong", f"revision {entry.head.revision} has errors itself", place, f"first: {first}")


def newest(entries: Sequence[Entry]) -> str:
    """The newest revision that was built, by date, else the last one written; "" if none was built."""
    built = [e.head for e in entries if e.head.status == "built"]
    return max(enumerate(built), key=lambda pair: (pair[1].date, pair[0]))[1].revision if built else ""
