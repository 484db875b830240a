"""Pages about machines, as Markdown: the index of a site's machines, and each one with its revisions over time."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..page.draft import Noted
from .registry import Entry, Registry

_STATUS = {"built": "built", "planned": "planned, not built", "withdrawn": "withdrawn, not to be followed"}


@dataclass(frozen=True, slots=True)
class Revised:
    """A revision as its machine's page shows it. changes: (what, because). findings: None = its circuit has errors.
    readings: (date, page) of what was measured on it."""

    entry: Entry
    changes: Sequence[tuple[str, str]] = ()
    findings: Sequence[Noted] | None = None
    readings: Sequence[tuple[str, str]] = ()


def revisions_in_order(registry: Registry, machine: str) -> list[Entry]:
    """One entry for each revision that stands on a page, by date; without a date in the order of the pages, last."""
    found = [registry.find(machine, revision)[0] for revision in registry.revisions(machine)]
    return sorted(found, key=lambda entry: entry.head.date or "9999")


def stem(machine: str) -> str:
    """Name of a machine's page, without `.md`."""
    return re.sub(r"[^a-z0-9]+", "-", machine.lower()).strip("-") or "machine"


def current(revisions: Sequence[Revised]) -> Revised | None:
    """The newest that was built."""
    built = [r for r in revisions if r.entry.head.status == "built"]
    return built[-1] if built else None


def index_markdown(machines: Iterable[tuple[str, Sequence[Revised]]], here: str) -> str:
    """The index. machines: name and revisions of each. here: path of the index below the docs folder."""
    lines = [
        "# Machines", "", "Every machine of this journal with its newest built revision. Figures and findings are "
        "predictions for these machines alone, not approval.", "",
        "| machine | revisions | now | since | open findings |", "|---|---|---|---|---|",
    ]  # fmt: skip
    for name, revisions in machines:
        now = current(revisions)
        target = f"{posixpath.splitext(posixpath.basename(here))[0]}/{stem(name)}.md"
        which, since = (now.entry.head.revision, now.entry.head.date or "–") if now else ("not built", "–")
        cells = (f"[{_plain(name)}]({target})", str(len(revisions)), _plain(which), since, _tally(now))
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


def machine_markdown(name: str, revisions: Sequence[Revised], here: str) -> str:
    """A machine's page. here: its own path below the docs folder, for links."""
    lines = [f"# {_plain(name)}", "", "Made from the circuits of this journal. Predictions for this one machine, not "
             "approval.", "", "## Revisions", ""]  # fmt: skip
    for revised in revisions:
        head = revised.entry.head
        status = _STATUS.get(head.status, head.status)
        page = f", on [its page]({_link(revised.entry.page, here)})"
        lines += [f"### Revision {_plain(head.revision)}", "", f"{head.date or 'No date'}; {status}{page}.", ""]
        if head.base or head.base_file:
            lines += [f"Written as changes to {_plain(head.base or head.base_file)}:", ""]
            lines += [f"- {_plain(what)}: {_plain(because)}" for what, because in revised.changes]
            lines.append("")
        if revised.readings:
            taken = (f"[{date or 'without a date'}]({_link(on, here)})" for date, on in revised.readings)
            lines += [f"Readings taken on it: {', '.join(taken)}.", ""]
    now = current(revisions)
    lines += ["## Open findings", ""]
    if now is None:
        lines.append("No revision was built yet.")
    elif now.findings is None:
        lines.append(f"Revision {_plain(now.entry.head.revision)} has errors: nothing could be worked out.")
    else:
        lines += [f"Of revision {_plain(now.entry.head.revision)}, the newest that was built:", ""]
        said = [(f"{f.signal} (accepted)" if f.accepted else f.signal, f.headline) for f in now.findings]
        lines += [f"- **{word}** {_plain(headline)}" for word, headline in said] or ["None."]
    return "\n".join(lines) + "\n"


def _link(page: str, here: str) -> str:
    return posixpath.relpath(page, posixpath.dirname(here) or ".")


def _tally(now: Revised | None) -> str:
    if now is None:
        return "–"
    if now.findings is None:
        return "has errors"
    found = [f.signal for f in now.findings if not f.accepted]
    return ", ".join(f"{found.count(word)} {word}" for word in dict.fromkeys(found)) or "none"


def _plain(text: str) -> str:
    """Text that Markdown shows as it is."""
    return re.sub(r"([\\`*_{}\[\]<>|#])", r"\\\1", " ".join(text.split()))
