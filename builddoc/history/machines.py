"""Pages about machines, as Markdown: the index of a site's machines, and each one with its revisions over time."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..page.draft import Noted
from .registry import Entry, Registry

_OPEN = "NOT CHECKED"
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
        "| machine | open findings | now | since | revisions |", "|---|---|---|---|---|",
    ]  # fmt: skip
    for name, revisions in machines:
        now = current(revisions)
        target = f"{posixpath.splitext(posixpath.basename(here))[0]}/{stem(name)}.md"
        which, since = (now.entry.head.revision, now.entry.head.date or "–") if now else ("not built", "–")
        cells = (f"[{_plain(name)}]({target})", _tally(now), _plain(which), since, str(len(revisions)))
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


def machine_markdown(name: str, revisions: Sequence[Revised], here: str) -> str:
    """A machine's page. here: its own path below the docs folder, for links."""
    lines = [f"# {_plain(name)}", "", "Made from the circuits of this journal. Predictions for this one machine, not "
             "approval.", "", *_time_line(revisions, here)]  # fmt: skip
    for revised in revisions:
        head = revised.entry.head
        if head.base or head.base_file:
            lines += [f"## What revision {_plain(head.revision)} changed", "",
                      f"Written as changes to {_plain(head.base or head.base_file)}:", "",
                      *_by_reason(revised.changes), ""]  # fmt: skip
    return "\n".join([*lines, *_open_findings(current(revisions), here)]) + "\n"


def _time_line(revisions: Sequence[Revised], here: str) -> list[str]:
    rows = []
    for revised in revisions:
        head = revised.entry.head
        name, status = _plain(head.revision), _STATUS.get(head.status, head.status)
        rows.append((head.date, f"revision {name}: {status}", revised.entry.page))
        rows += [(date, f"readings taken on revision {name}", page) for date, page in revised.readings]
    rows.sort(key=lambda row: row[0] or "9999")
    told = (f"| {date or 'no date'} | {what} | [page]({_link(page, here)}) |" for date, what, page in rows)
    return ["## Time line", "", "| date | what | where |", "|---|---|---|", *told, ""]


def _by_reason(changes: Sequence[tuple[str, str]]) -> list[str]:
    """One entry for each reason, in the order of writing, with what was changed for it."""
    reasons: dict[str, list[str]] = {}
    for what, because in changes:
        reasons.setdefault(because, []).append(_plain(what))
    return [f"- *{_plain(because)}*: {'; '.join(done)}." for because, done in reasons.items()]


def _open_findings(now: Revised | None, here: str) -> list[str]:
    if now is None:
        return ["## Open findings", "", "No revision was built yet."]
    name = _plain(now.entry.head.revision)
    if now.findings is None:
        return ["## Open findings", "", f"Revision {name} has errors: nothing could be worked out."]
    where = f"[page of revision {name}]({_link(now.entry.page, here)})"
    which = f"Of revision {name}, the newest that was built; figures and remedies on the {where}."
    lines = ["## Open findings", "", which, ""]
    said = [(f"{f.signal} (accepted)" if f.accepted else f.signal, f) for f in now.findings]
    lines += [f"- **{word}** {_told(f)}" for word, f in said if f.signal != _OPEN] or ["None."]
    unchecked = [f for f in now.findings if f.signal == _OPEN]
    if unchecked:
        lines += ["", "## Not checked", "", "Not checked is not safe.", "", *(f"- {_told(f)}" for f in unchecked)]
    return lines


def _told(finding: Noted) -> str:
    return _plain(finding.headline) + (f", in ‘{_plain(finding.state)}’" if finding.state else "")


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
