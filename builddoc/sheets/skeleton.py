"""A readings block with everything but the readings: what the first-start sheet asks for, ready to be typed in."""

from __future__ import annotations

from ..accepting import machine_print
from ..checks.base import Case
from ..report.model import Table
from .expected import gauges_table, strokes_table

HEAD = """```readings
machine: {machine}
revision: {revision}
seen: {seen}
date:
oil temperature:
{speed}readings:
"""
DRIVERS = ("engine", "electric motor", "DC motor")
NOTHING = "  # no gauge point and no moving cylinder on the circuit: name points as in prose, as feed.pressure\n"


def skeleton(case: Case) -> str:
    """Markdown: a `readings` block with a line for each gauge and each stroke, the prediction as a remark behind it."""
    circuit = case.circuit
    lines = [*_lines(gauges_table(case), "pressure", 2), *_lines(strokes_table(case), "time", 3)]
    driver = next((name for name, part in circuit.parts.items() if part.kind in DRIVERS), "")
    text = HEAD.format(
        machine=_quoted(circuit.machine), revision=_quoted(circuit.revision),
        seen=_quoted(machine_print(circuit)),
        speed=f"speed: {{{_quoted(driver)}: }}\n" if driver else "",
    )  # fmt: skip
    return f"{text}{''.join(lines) or NOTHING}```\n"


def _lines(table: Table | None, quantity: str, figure: int) -> list[str]:
    found = []
    for row in table.rows if table else ():
        unit = table.columns[figure].unit if table else ""
        point, state = f"{row[0].text}.{quantity}", row[1].text
        told = f"predicted {row[figure].text} {unit}"
        found.append(f"  - {{point: {_quoted(point)}, state: {_quoted(state)}, value: }}  # {told}\n")
    return found


def _quoted(text: str) -> str:
    """As YAML takes it inside braces."""
    return f'"{text}"' if set(text) & set(",:{}[]#\"'") or not text.strip() else text
