"""The drawing said in words, for readers who do not see it and for search."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..circuit import End

if TYPE_CHECKING:
    from .placing import FlowLayout


def words(layout: FlowLayout, s: int) -> list[str]:
    """Sentences: the state, each line in the order of the drawing, each part that has something to say."""
    circuit, figures = layout.circuit, layout.figures
    state = layout.results.states[s]
    out = [f"State ‘{state}’: {len(circuit.parts)} parts, {len(circuit.lines)} lines."]
    if figures.failures[s]:
        out.append(f"No figures: {figures.failures[s]}.")
    out += [f"{driver} drives {pump}." for driver, pump in layout.picture.shafts]
    seen = dict.fromkeys(run.line for run in layout.picture.runs)
    out += [_line(layout, name, s) for name in seen]
    for box in layout.parts:
        rows = figures.parts[box.name][s]
        if rows:
            kind = f" ({box.kind})" if box.kind else ""
            out.append(f"{box.name}{kind}: {', '.join(rows)}.")
    return out


def _line(layout: FlowLayout, name: str, s: int) -> str:
    line, figures = layout.circuit.lines[name], layout.figures.lines[name]
    start, end = _end(line.start), _end(line.end)
    if figures.direct:
        return f"{start} and {end} are joined directly (‘{name}’)."
    sense = figures.sense[s][0]
    if sense < 0:
        start, end = end, start
    rows = figures.rows[s][0]
    note = figures.note[s]
    if layout.figures.failures[s]:
        tail = f": {note}" if note else ""
        return f"{start} is joined to {end} through ‘{name}’{tail}."
    flow, level, *more = rows
    level = {"not fixed": "at a pressure that is not fixed", "starved": "starved"}.get(level, f"at {level}")
    tail = "; ".join([*(m for m in more if "rating" not in m), *([note] if note else [])])
    verb = "feeds" if sense else "is joined to"
    return f"{start} {verb} {end} through ‘{name}’, {flow} {level}{f' ({tail})' if tail else ''}."


def _end(end: End) -> str:
    if end.line:
        return f"line ‘{end.line}’"
    return f"{end.part} port {end.port.replace('.', ' ')}"
