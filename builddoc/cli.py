"""The terminal: check a journal, solve a circuit, print the schemas. Bad input is answered in words."""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from . import __version__
from .blocks import find_blocks
from .levels import LEVELS, counts
from .messages import Message
from .near import suggestion
from .sources import Source, find_pages, find_sources, journal_of

if TYPE_CHECKING:
    from .history.registry import Registry
    from .page.draft import Noted

_PATH = click.Path(path_type=Path)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="builddoc")
def main() -> None:
    """Build journals of home-made hydraulic machines.

    A circuit is written in YAML, in a Markdown page between ```circuit and ```, or in a file of its own. These commands
    read it, solve it and say what is wrong with it. Figures are predictions, not approval.

    \b
    builddoc check                 every circuit below this folder
    builddoc check content/mill.md one page
    builddoc solve content/mill.md its pressures, flows and ratings as text
    builddoc explain RULE          what the rule behind a finding looks for
    builddoc symbols symbols.html  the symbols of all kinds on one sheet
    """


@main.command()
@click.argument("paths", nargs=-1, type=_PATH)
@click.option(
    "--fail-on",
    type=click.Choice(LEVELS),
    default="error",
    show_default=True,
    help="End with exit code 1 from this signal word on. 'error' means: only if a circuit cannot be understood.",
)
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
@click.option("--accept", is_flag=True, help="Print below each finding the line that accepts it, for `accepted:`.")
def check(paths: tuple[Path, ...], fail_on: str, form: str, accept: bool) -> None:
    """Say what is wrong with circuits: errors in the writing, and dangers in the machine.

    PATHS are Markdown pages, circuit files (.yml) or folders; without any, this folder. Each line of the answer is
    file:line:column: what [short name], which editors turn into links.
    """
    from .history.claims import find_spans
    from .page.solving import solved_once

    paths = paths or (Path("."),)
    sources, troubles = find_sources(paths)
    rows = [_message_row(message) for message in troubles]
    registry = _known_to(paths, sources)
    prose = [(path, text) for path, text in find_pages(paths) if find_spans(text)]
    kept: dict[Source, Any] = {}
    for source in sources:
        rows += _check(source, registry, kept if prose else None)
    rows += _check_prose(prose, kept)
    with solved_once():
        rows += _check_naming(paths)
    rows = [row for n, row in enumerate(rows) if row not in rows[:n]]
    if form == "json":
        click.echo(json.dumps({"circuits": len(sources), "results": rows}, ensure_ascii=False, indent=2))
    else:
        for row in rows:
            click.echo(row["text"])
            if accept and row["fingerprint"] and not row["accepted"]:
                click.echo(_accepting_line(row))
        click.echo(_summary(rows, len(sources)), err=True)
    failed = [row for row in rows if row["level"] == "error" or _counts(row, fail_on)]
    sys.exit(1 if failed else 0)


@main.command()
@click.argument("file", type=_PATH)
@click.option("--state", help="Only this state.")
@click.option("--block", type=click.IntRange(min=1), help="Which circuit block of a page, counted from 1.")
@click.option("--json", "as_json", is_flag=True, help="All figures as JSON, SI units (see: builddoc schema solution).")
def solve(file: Path, state: str | None, block: int | None, as_json: bool) -> None:
    """Solve one circuit and print its figures.

    FILE is a Markdown page or a circuit file. A state without a trustworthy solution gets the reason, no figures.
    """
    source = _pick(file, block)
    solved = _guarded(source, _known_to((file,), find_sources((file,))[0]))
    _echo_messages(solved.messages)
    if not solved.ok:
        sys.exit(1)
    assert solved.circuit is not None and solved.report is not None and solved.case is not None
    if state is not None and state not in solved.circuit.states:
        _stop(f"there is no state '{state}'", "states: " + ", ".join(solved.circuit.states))
    if as_json:
        from .report.export import solution_json

        click.echo(_pretty(solution_json(solved.case), state))
    else:
        from .terminal import report_text

        click.echo(report_text(solved, state))


@main.command()
@click.argument("file", type=_PATH)
@click.option("--block", type=click.IntRange(min=1), help="Which circuit block of a page, counted from 1.")
def names(file: Path, block: int | None) -> None:
    """Print the names that figures and claims in prose may use, each with its figure in the states.

    FILE is a Markdown page or a circuit file. In prose: `figure: NAME, STATE` or `claim: NAME < 10 bar, any state`.
    """
    source = _pick(file, block)
    solved = _guarded(source, _known_to((file,), find_sources((file,))[0]))
    _echo_messages(solved.messages)
    if not solved.ok:
        sys.exit(1)
    from .history.claims import shown
    from .history.facts import facts

    found = facts(solved.case)
    click.echo("states: " + ", ".join(found.states))
    for name, figure in found.figures.items():
        click.echo(f"{name}: " + "; ".join(dict.fromkeys(shown(found, figure, cell) for cell in figure.cells)))


@main.group()
def readings() -> None:
    """What was measured."""


@readings.command(name="new")
@click.argument("machine")
@click.argument("paths", nargs=-1, type=_PATH)
@click.option("--revision", default="", help="Left out: the newest that was built.")
def new_readings(machine: str, paths: tuple[Path, ...], revision: str) -> None:
    """Print a readings block to fill in: a line for each gauge and each stroke of MACHINE, with its prediction.

    PATHS are the pages or folders to look for the machine in; without any, this folder.
    """
    from .history.registry import Registry
    from .messages import Place
    from .page.named import named_circuit
    from .sheets.skeleton import skeleton

    registry = Registry.of(find_sources(paths or (Path("."),))[0])
    entries = [entry for known in registry.revisions(machine) for entry in registry.find(machine, known)]
    if not entries:
        _stop(f"there is no machine '{machine}' here", "machines: " + (", ".join(registry.machines()) or "none"))
    solved, trouble = named_circuit(machine, revision, Place("", 1, 1), "", entries)
    if solved is None or solved.case is None:
        _stop(trouble.text if trouble else "it has errors", trouble.hint if trouble else "")
    else:
        click.echo(skeleton(solved.case), nl=False)


@main.command()
@click.argument("which", type=click.Choice(["circuit", "compare", "readings", "sheet", "photos", "solution"]))
def schema(which: str) -> None:
    """Print the JSON Schema of the circuit language, of a block that names circuits, or of `solve --json`.

    Editors with YAML support use the first for completion: save it and name it in the first line of a circuit file as
    "# yaml-language-server: $schema=circuit.schema.json".
    """
    if which == "circuit":
        from .language.schema import circuit_schema

        click.echo(json.dumps(circuit_schema(), ensure_ascii=False, indent=2))
    elif which != "solution":
        from .language.schema import block_schema

        click.echo(json.dumps(block_schema(which), ensure_ascii=False, indent=2))
    else:
        from .report.export import solution_schema

        click.echo(json.dumps(solution_schema(), ensure_ascii=False, indent=2))


@main.command()
def reference() -> None:
    """Print the reference of the circuit language as a Markdown page."""
    from .language.reference import reference_markdown

    click.echo(reference_markdown())


@main.command()
@click.argument("rule", required=False)
@click.option("--circuits", is_flag=True, help="Print the example circuits as well.")
@click.option("--cases", is_flag=True, help="List for every rule which of its four cases are tested.")
def explain(rule: str | None, circuits: bool, cases: bool) -> None:
    """Say what a rule looks for: harm, criterion, remedy, severity, source, and what it says of example circuits.

    RULE is the short name in [ ] behind a finding; without it all rules are listed.
    """
    from .rulebook import every_rule, explained, outcomes, tallied

    rules = every_rule()
    if cases:
        click.echo(tallied())
    elif rule is None:
        for one in rules.values():
            click.echo(f"{one.signal:7} {one.id}: {one.title}")
    elif rule not in rules:
        _stop(f"there is no rule '{rule}'", suggestion(rule, rules) or "`builddoc explain` lists all rules")
    else:
        click.echo(explained(rules[rule], outcomes(rule), circuits))


@main.command()
@click.argument("folder", type=_PATH)
def assets(folder: Path) -> None:
    """Write the figures' style sheet and script into FOLDER, for site generators without the plugin."""
    from .page.rendering import script, stylesheet

    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in {"builddoc.css": stylesheet(), "builddoc.js": script()}.items():
            (folder / name).write_text(text, "utf-8")
            click.echo(folder / name)
    except OSError as error:
        _stop(f"{folder} cannot be written: {error.strerror or error}")


@main.command()
@click.argument("folder", type=_PATH)
def new(folder: Path) -> None:
    """Write a journal to start from into FOLDER: a page, its circuit, the settings of the site.

    It builds as it is: mkdocs build --strict in FOLDER.
    """
    from .starting import write_journal

    try:
        for path in write_journal(folder):
            click.echo(path)
    except FileExistsError:
        _stop(f"'{folder}' holds files already", "name a new or empty folder")
    except OSError as error:
        _stop(f"{folder} cannot be written: {error.strerror or error}")
    click.echo(f"Next: cd {folder} && mkdocs serve", err=True)


@main.command()
@click.argument("file", type=_PATH)
def symbols(file: Path) -> None:
    """Write a contact sheet of all symbols into FILE, which ends in .html or .svg."""
    form = file.suffix.lower().lstrip(".")
    if form not in ("html", "svg"):
        _stop(f"'{file}' is neither .html nor .svg", "give the file one of these endings")
    from .draw.contact import contact_file

    try:
        file.write_text(contact_file(form), "utf-8")
    except OSError as error:
        _stop(f"{file} cannot be written: {error.strerror or error}")
    click.echo(file)


# ---- details
def _known_to(paths: Sequence[Path], sources: Sequence[Source]) -> Registry:
    """The circuits that those of `paths` may start from: their own, and those of the journal around them."""
    from .history.registry import Registry

    around = [journal_of(path) for path in paths if path.exists() and any("from" in s.text for s in sources)]
    return Registry.of(sources, outer=Registry.of(find_sources(dict.fromkeys(around))[0]) if around else None)


def _check(source: Source, registry: Registry, kept: dict[Source, Any] | None) -> list[dict[str, Any]]:
    """kept: gets its figures by name, for what is said of them in prose."""
    from .page.rendering import noted

    solved = _guarded(source, registry)
    if kept is not None:
        kept[replace(source, number=0)] = _facts(solved)
    rows = [_message_row(message) for message in solved.messages]
    return rows + [_finding_row(finding, source) for finding in (noted(solved) if solved.ok else ())]


def _finding_row(finding: Noted, source: Source) -> dict[str, Any]:
    place = finding.place
    where = f"{place}" if place else f"{source.path}:{source.line}:{source.column}"
    told = not finding.state or f"'{finding.state}'" in finding.headline
    by = f" (accepted {finding.accepted})" if finding.accepted else ""
    words = f"{finding.signal}{by}: {finding.headline}" + ("" if told else f", in '{finding.state}'")
    words += f" ({finding.taken_over})" if finding.taken_over else ""
    return {
        "path": place.path if place else source.path,
        "line": place.line if place else source.line,
        "column": place.column if place else source.column,
        "level": "finding",
        "signal": finding.signal,
        "code": finding.rule,
        "subject": finding.subject,
        "fingerprint": finding.fingerprint,
        "accepted": finding.accepted,
        "text": f"{where}: {words} [{finding.rule}]",
    }


def _facts(solved: Any) -> Any:
    from .history.facts import facts

    return facts(solved.case) if solved.case is not None else None


def _check_prose(pages: Sequence[tuple[str, str]], kept: dict[Source, Any]) -> list[dict[str, Any]]:
    """Figures and claims in prose that are false or cannot be answered. pages: path and text of those that have any.
    kept: figures of circuits solved before."""
    if not pages:
        return []
    from .history.journal import PageJournal, spoken
    from .history.registry import Entry, Registry

    around = Registry.of(find_sources(dict.fromkeys(journal_of(Path(path)) for path, _ in pages))[0])

    def facts_of(entry: Entry) -> Any:
        source = Source(entry.text, entry.path, entry.line, entry.column)
        if source not in kept:
            kept[source] = _facts(_guarded(source, around))
        return kept[source]

    rows = []
    for path, text in pages:
        own = Registry.of((s for s in find_sources((Path(path),))[0]), outer=around)
        for _, message in spoken(text, path, PageJournal(own, facts_of)):
            rows += [_message_row(message)] if message is not None else []
    return rows


def _check_naming(paths: Sequence[Path]) -> list[dict[str, Any]]:
    """Blocks that name circuits (before and after, readings, sheets) and cannot be made, or do not agree with them."""
    from .fence import Page, named, readings_on
    from .history.registry import Registry
    from .page.draft import to_page
    from .page.rendering import MAKERS, NAMING, Options

    found = [(path, text) for path, text in find_pages(paths) if any(find_blocks(text, word) for word in NAMING)]
    if not found:
        return []
    journals = dict.fromkeys(journal_of(Path(path)) for path, _ in found)
    taken = [entry for path, text in find_pages(journals) for entry in readings_on(Page(path, path, text))]
    around = Registry.of(find_sources(journals)[0], taken=taken)
    rows = []
    for path, text in found:
        for word, block in ((w, block) for w in NAMING for block in find_blocks(text, w)):
            entries, _ = named(block.text, Registry.of(find_sources((Path(path),))[0], outer=around), word)
            made = MAKERS[word](block.text, path, Options(), None, entries)
            for message in made.messages:
                place = to_page(message.place, path, block.line, block.column)
                rows.append(_message_row(replace(message, place=place)))
            here = Source(block.text, path, block.line, block.column)
            noted = [replace(n, place=to_page(n.place, path, block.line, block.column)) for n in made.findings]
            rows += [_finding_row(finding, here) for finding in noted]
    return rows


def _guarded(source: Source, registry: Registry) -> Any:
    """`solve_text`, with a fault of the program turned into a message: nobody wants a traceback in a terminal."""
    from .page.draft import to_page
    from .page.rendering import fault
    from .pipeline import Solved, solve_text

    try:
        return solve_text(source.text, source.path, source.line, source.column, registry)
    except Exception as error:
        message = fault(error)
        place = to_page(message.place, source.path, source.line, source.column)
        return Solved(source.text, [replace(message, place=place)])


def _message_row(message: Message) -> dict[str, Any]:
    place = message.place
    return {
        "path": place.path if place else "",
        "line": place.line if place else 0,
        "column": place.column if place else 0,
        "level": message.level,
        "signal": "",
        "code": message.code,
        "subject": "",
        "fingerprint": "",
        "accepted": "",
        "text": str(message),
    }


def _counts(row: dict[str, Any], fail_on: str) -> bool:
    return bool(row["signal"]) and not row["accepted"] and counts(row["signal"], fail_on)


def _accepting_line(row: dict[str, Any]) -> str:
    """A line to be copied into the circuit and filled in."""
    name = f"{row['code']} of {row['subject']}" if row["subject"] else row["code"]
    return f"    {name}: {{because: WHY, by: owner, on: YYYY-MM-DD, seen: {row['fingerprint']}}}"


def _summary(rows: Sequence[dict[str, Any]], circuits: int) -> str:
    tally = Counter("error" if row["level"] == "error" else row["signal"] for row in rows if not row["accepted"])
    words = [f"{tally['error']} {'error' if tally['error'] == 1 else 'errors'}"] if tally["error"] else []
    words += [f"{tally[s]} {s}" for s in ("DANGER", "WARNING", "CAUTION", "NOTICE", "NOT CHECKED") if tally[s]]
    accepted = sum(bool(row["accepted"]) for row in rows)
    words += [f"{accepted} accepted"] if accepted else []
    return f"{circuits} {'circuit' if circuits == 1 else 'circuits'}: {', '.join(words) or 'nothing to say'}"


def _pick(file: Path, block: int | None) -> Source:
    if file.is_dir():
        _stop(f"'{file}' is a folder", "name one page or circuit file; `builddoc check` takes folders")
    sources, troubles = find_sources((file,))
    _echo_messages(troubles)
    if not sources:
        sys.exit(1)
    if block is None:
        if len(sources) > 1:
            click.echo(f"{file} has {len(sources)} circuit blocks; this is the first (--block chooses)", err=True)
        return sources[0]
    chosen = [source for source in sources if source.number in (block, 0)]
    if not chosen:
        _stop(f"{file} has no circuit block {block}", f"it has {len(sources)}")
    return chosen[0]


def _echo_messages(messages: Any) -> None:
    for message in messages:
        click.echo(str(message), err=True)


def _pretty(text: str, state: str | None) -> str:
    """The JSON of a solution with one thing a line. state: only this one."""
    data = json.loads(text)
    if state is not None:
        data["states"] = [entry for entry in data["states"] if entry["name"] == state]
    return json.dumps(data, ensure_ascii=False, indent=1)


def _stop(text: str, hint: str = "") -> None:
    click.echo(f"{text} ({hint})" if hint else text, err=True)
    sys.exit(1)
