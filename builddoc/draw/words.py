"""The drawing said in words, for readers who do not see it and for search."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..circuit import End
from .figures import AT_LEAST

if TYPE_CHECKING:
    from .frame import FlowLayout
    from .sheet import Sheet


def words(layout: FlowLayout | Sheet, s: int) -> list[tuple[str, str]]:
    """(what it is about, sentence): the state (about nothing), each line in the order of the drawing, each part that
    has something to say."""
    circuit, figures = layout.circuit, layout.figures
    state = layout.results.states[s]
    out = [("", f"State ‘{state}’: {len(circuit.parts)} parts, {len(circuit.lines)} lines.")]
    if figures.failures[s]:
        out.append(("", f"No figures: {figures.failures[s]}."))
    out += [(driver, f"{driver} drives {pump}.") for driver, pump in layout.picture.shafts]
    seen = dict.fromkeys(run.line for run in layout.picture.runs)
    out += [(name, _line(layout, name, s)) for name in seen]
    for box in layout.parts:
        rows = figures.parts[box.name][s]
        if rows:
            kind = f" ({box.kind})" if box.kind else ""
            out.append((box.name, f"{box.name}{kind}: {', '.join(rows)}."))
    return out


def _line(layout: FlowLayout | Sheet, name: str, s: int) -> str:
    line, figures = layout.circuit.lines[name], layout.figures.lines[name]
    ends = layout.ends.get(name)
    if ends is None:
        ends = layout.ends[name] = (_end(layout, line.start), _end(layout, line.end))
    start, end = ends
    sense = figures.sense[s][0]
    if sense < 0:
        start, end = end, start
    if figures.direct:
        verb = "directly feeds" if sense in (1, -1) else "is joined directly to"
        return f"{start} {verb} {end} (‘{name}’)."
    rows = figures.rows[s][0]
    note = figures.note[s]
    if layout.figures.failures[s]:
        tail = f": {note}" if note else ""
        return f"{start} is joined to {end} through ‘{name}’{tail}."
    flow, level, *more = rows
    if level.startswith(AT_LEAST):
        level = f"{level.removeprefix(AT_LEAST)} or more"
        note = note.replace(f", {level}", "")  # said once
    level = {"not fixed": "at a pressure that is not fixed", "starved": "starved"}.get(level, f"at {level}")
    tail = "; ".join([*(m for m in more if "rating" not in m), *([note] if note else [])])
    verb = "feeds" if sense in (1, -1) else "is joined to"
    return f"{start} {verb} {end} through ‘{name}’, {flow} {level}{f' ({tail})' if tail else ''}."


def _end(layout: FlowLayout | Sheet, end: End) -> str:
    """`pump outlet`, `bank port P`; only the part's name where it does not matter which of its ports is meant."""
    if end.line:
        return f"line ‘{end.line}’"
    ports = layout.picture.fitted[end.part]
    port = next((p for p in ports if p.name == end.port), None)
    if port is None or port.alike or port.several or len(ports) == 1:
        return end.part
    return f"{end.part} {'' if len(end.port) > 2 and '.' not in end.port else 'port '}{end.port.replace('.', ' ')}"
