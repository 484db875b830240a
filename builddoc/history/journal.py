"""Which circuit a sentence on a page speaks of, and what is to be said about the sentence."""

from __future__ import annotations

from collections.abc import Callable

from ..messages import Message, Place
from .claims import Answer, Span, Unclear, answer, find_spans
from .facts import Facts
from .registry import Entry, Registry


class PageJournal:
    """The circuits of a page and of its site. registry: the page's own, with those of the site as its outer ones.
    facts_of: the facts of an entry, None where its circuit has errors."""

    def __init__(self, registry: Registry, facts_of: Callable[[Entry], Facts | None]):
        self._registry, self._facts_of = registry, facts_of

    def facts(self, machine: str, revision: str) -> Facts:
        """Facts of a machine's revision; of the page's only circuit where neither is named. Raises Unclear."""
        entry = self._entry(machine, revision)
        found = self._facts_of(entry)
        if found is None:
            raise Unclear(f"the circuit of '{entry.head.machine}', revision {entry.head.revision} has errors")
        return found

    def split(self, prefix: str) -> tuple[str, str]:
        """`bandsaw mill A`, `bandsaw mill` or `A` -> machine and revision ("" = its only one). Raises Unclear."""
        for machine in sorted(self._registry.machines(), key=len, reverse=True):
            if prefix.lower() == machine.lower():
                return machine, ""
            if prefix.lower().startswith(f"{machine.lower()} "):
                return machine, prefix[len(machine) + 1 :].strip().removeprefix("revision ").strip()
        own = list(dict.fromkeys(entry.head.machine for entry in self._registry.entries()))
        revision = prefix.removeprefix("revision ").strip()
        if len(own) == 1:
            if self._registry.find(own[0], revision):
                return own[0], revision
            known = ", ".join(self._registry.revisions(own[0]))
            raise Unclear(f"'{prefix}' is neither a machine nor a revision of '{own[0]}'", f"revisions: {known}")
        machines = ", ".join(self._registry.machines()) or "none"
        raise Unclear(f"'{prefix}' names no machine", f"write MACHINE REVISION: …; machines: {machines}")

    def _entry(self, machine: str, revision: str) -> Entry:
        if not machine:
            own = self._registry.entries()
            if len(own) == 1:
                return own[0]
            if not own:
                raise Unclear("there is no circuit on this page", "name machine and revision, as bandsaw mill A: …")
            names = ", ".join(entry.head.revision for entry in own)
            raise Unclear(f"this page has {len(own)} circuits", f"name the revision, as A: …; there are {names}")
        if not revision:
            known = self._registry.revisions(machine)
            if len(known) != 1:
                raise Unclear(f"'{machine}' has {len(known)} revisions", f"name one: {', '.join(known)}")
            revision = known[0]
        found = self._registry.find(machine, revision)
        if not found:
            known = self._registry.revisions(machine)
            raise Unclear(f"'{machine}' has no revision '{revision}'", f"revisions: {', '.join(known)}")
        if len({entry.text for entry in found}) > 1:
            places = ", ".join(f"{entry.path}:{entry.line}" for entry in found)
            raise Unclear(f"there are {len(found)} circuits of '{machine}', revision {revision}", places)
        return found[0]


def complaint(span: Span, said: Answer, path: str) -> Message | None:
    """The message about a span that does not hold or cannot be answered; None if all is well."""
    if said.holds:
        return None
    place = Place(path, span.line, span.column) if span.line else None
    if said.holds is False:
        return Message("claim-false", f"this claim is false: {said.text}; it is {said.detail}", place)
    return Message(f"{said.kind}-unclear", f"{said.kind}: {said.detail}", place, said.hint)


def spoken(markdown: str, path: str, journal: PageJournal) -> list[tuple[Span, Message | None]]:
    """Every figure and claim of a page with what is to be said about it."""
    return [(s, complaint(s, answer(s.kind, s.words, journal), path)) for s in find_spans(markdown)]
