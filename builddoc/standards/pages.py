"""The tables as pages of a site's reference: every row with where it comes from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any

from .tables import FILES, STATUSES, Table, tables

FOLDER = "standards"
GROUPS = {
    "hoses": ("Hoses", "Constructions by dash size: bore, working pressure, bend radius, temperature."),
    "assembly": ("Hose assemblies and joints", "Rules for assemblies, and how far a joint is turned."),
    "pipes": ("Steel pipe", "Sizes, threads, and pressures as printed and as computed."),
    "tubes": ("Tube", "Steel and stainless tube by outside diameter and wall."),
    "fittings": ("Fittings, flanges and couplers", "Ratings by class, size and temperature."),
    "threads": ("Threads and joint forms", "Which halves belong together, and threads that look alike."),
    "flow": ("Losses", "Loss coefficients of fittings and roughness of lines."),
    "oils": ("Oil", "Viscosity grades and properties."),
    "guides": ("Guides of the trade", "Velocities, pump inlets, tanks, filters, gauges."),
}
"""File of `data/` -> title and what is in it."""
UNITS = {"hoses": "pressure and burst in bar, bend (least radius, inside of the bend) and outside in mm"}
"""Units of a file whose tables do not state their own."""
MEANING = {
    "seen": "printed in a source that was read",
    "from memory": "recalled, not checked against a document; a page that rests on it says so at the figure",
    "common practice": "what the trade does; no document states it",
}


def standards_pages() -> dict[str, str]:
    """Pages by path: `standards/index.md` and one for each file of tables."""
    return {f"{FOLDER}/index.md": _index(), **{f"{FOLDER}/{file}.md": _page(file) for file in FILES}}


def _index() -> str:
    lines = [
        "# Tables of sizes, ratings and guides", "",
        "What builddoc knows by name: each table with its source, edition and status. A rating that the writer states "
        "wins over any of them, and the sheet of the part's maker over both. Where two published tables disagree, both "
        "are kept and the writer chooses, by two names or under `tables:` of a circuit, which then says so. Where "
        "nobody chooses, the one that stands first counts, the better documented one, which is not always the lower; "
        "the page tells of the disagreement beside the figure. What was not found is left empty: then a page says NOT "
        "CHECKED.", "",
        *(f"- *{status}*: {MEANING[status]}." for status in STATUSES), "",
        "| page | what | tables | status |", "|---|---|---|---|",
    ]  # fmt: skip
    for file in FILES:
        title, what = GROUPS[file]
        held = list(tables(file).values())
        tally = Counter(entry.status for entry in held)
        status = ", ".join(f"{tally[s]} {s}" for s in STATUSES if tally[s])
        lines.append(f"| [{title}]({file}.md) | {what} | {len(held)} | {status} |")
    return "\n".join([*lines, ""])


def _page(file: str) -> str:
    title, what = GROUPS[file]
    lines = [f"# {title}", "", f"{what} One of [the tables](index.md); `builddoc` looks its figures up by name.", ""]
    for entry in tables(file).values():
        lines += _table(file, entry)
    return "\n".join(lines)


def _table(file: str, entry: Table) -> Iterable[str]:
    title = entry.title[:1].upper() + entry.title[1:]
    lines = [f"## {title}", "", f"**Source:** {_sentence(entry.source)} **Edition:** {_sentence(entry.edition)} "
             f"**Status:** {entry.status}."]  # fmt: skip
    for label, text in (("Agreement", entry.agreement), ("Disagreement", entry.conflict), ("Note", entry.notes)):
        if text:
            lines += ["", f"**{label}:** {_sentence(text)}"]
    if "designations" in entry.more:
        low, high = entry.more["temperature"]
        lines += ["", f"Named `{entry.name}`, or {_value(entry.more['designations'])}; oil from {low} to {high} °C."]
    units = entry.units or UNITS.get(file, "")
    lines += ["", f"Units: {units}."] if units else []
    lines += _others(entry)
    columns = list(entry.rows[0])
    lines += ["", "| " + " | ".join(columns) + " |", "|" + "---|" * len(columns)]
    lines += ["| " + " | ".join(_value(row[c]) for c in columns) + " |" for row in entry.rows]
    return [*lines, ""]


def _others(entry: Table) -> Iterable[str]:
    """What the writer can choose instead, and every figure in which it differs."""
    if not entry.choice:
        return
    yield from ("", f"**Choose:** `tables: {{{entry.choice}: …}}` in a circuit takes one of these; left out: "
                f"`{entry.used}`.", "", f"- `{entry.used}`: the figures below.")  # fmt: skip
    for other in entry.others:
        first = next(iter(entry.rows[0]))
        differs = []
        for row in entry.rows:
            own = [f"{name} {_value(new)}, not {_value(row[name])}" for name, new in other.figures(row).items()]
            differs += [f"{row[first]}: {', '.join(own)}"] if own else []
        for row in other.rows:
            own = [f"{name} {_value(row[name])}" for name in entry.rows[0] if row[name] is not None]
            differs.append(f"besides: {', '.join(own)}")
        differs += [f"{name} {key}: {_value(v)}" for name, by_key in other.more.items() for key, v in by_key.items()]
        yield f"- `{other.name}` ({other.where}; {other.status})" + (f": {'; '.join(differs)}." if differs else ".")


def _value(value: Any) -> str:
    if value is None:
        return "not found"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(_value(item) for item in value)
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return text.replace("|", "\\|")


def _sentence(text: str) -> str:
    text = " ".join(text.split())
    return text if text.endswith(".") else f"{text}."
