"""The solution as JSON (SI floats, layout fixed by `solution_schema`) and tables as CSV."""

from __future__ import annotations

import csv
import io
import json
import math
from functools import lru_cache
from typing import Any

from .. import kinds
from ..checks.base import Case
from ..checks.unsolved import explain
from ..circuit import Circuit
from ..network import Network
from ..results import Results
from ..solution import Certificate, Solution, Verdict
from .model import Cell, Table

LAYOUT = "builddoc-solution-1"
_PLAIN = str.maketrans({"−": "-", "\u00a0": None, "\u2009": None, "\u202f": None})
_FORMULA = ("=", "+", "-", "@")


# ---------------------------------------------------------------- tables
def table_csv(table: Table) -> str:
    """A table as CSV (RFC 4180, "\\n" ends): unit in the heading, plain decimal points, second lines of cells in
    columns of their own. Text that a spreadsheet would take for a formula gets an apostrophe before it."""
    noted = [any(row[i].note for row in table.rows) for i in range(len(table.columns))]
    head: list[str] = []
    for column, has_note in zip(table.columns, noted, strict=True):
        head.append(guarded(f"{column.label} ({column.unit})" if column.unit else column.label))
        if has_note:
            head.append(guarded(f"{column.label}: note"))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    for row in table.rows:
        line: list[str] = []
        for cell, column, has_note in zip(row, table.columns, noted, strict=True):
            line.append(_figure(cell) if column.numeric else guarded(cell.text))
            if has_note:
                line.append(guarded(cell.note))
        writer.writerow(line)
    return out.getvalue()


def _figure(cell: Cell) -> str:
    """A number as a spreadsheet reads it; a cell without a figure keeps its word."""
    if cell.value is None:
        return guarded(cell.text)
    return cell.text.translate(_PLAIN)


@lru_cache(maxsize=4096)  # a table of all states says the same words hundreds of times
def guarded(text: str) -> str:
    """Text as one line that no spreadsheet takes for a formula (tabs and line ends inside a cell can start one too)."""
    text = " ".join(text.split())
    return f"'{text}" if text.startswith(_FORMULA) else text


# ---------------------------------------------------------------- solution
def solution_json(case: Case) -> str:
    """The solution of a circuit as JSON text, as `solution_data` lays it out."""
    data = solution_data(case.circuit, case.network, case.solution, case.results)
    for entry, state in zip(data["states"], range(case.network.size), strict=True):
        if not case.results.solved[state]:
            reason = explain(case, state)
            entry["reason"] = f"{reason.headline}. {reason.text}"
    # On one line: with an indent Python writes JSON ten times slower, and a page carries this for download.
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def solution_data(
    circuit: Circuit, network: Network, solution: Solution, results: Results | None = None
) -> dict[str, Any]:
    """The solution as plain data, SI: Pa gauge, m3/s, m/s, rad/s, N, N m, W, K. A state without a solution has no
    figures at all; a pressure that the state does not fix is null and stands under `ranges`."""
    r = results or Results(circuit, network, solution)
    return {
        "layout": LAYOUT,
        "units": "SI: Pa gauge, m3/s, m/s, rad/s, N, N m, W, K",
        "machine": circuit.machine,
        "revision": circuit.revision,
        "date": circuit.date,
        "predicted": True,
        "solver": solution.solver_version,
        "data": solution.data_hash,
        "states": [_state(circuit, r, s) for s in range(r.size)],
    }


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _state(circuit: Circuit, r: Results, s: int) -> dict[str, Any]:
    state, network = r.solution.states[s], r.network
    entry: dict[str, Any] = {
        "name": r.states[s],
        "verdict": state.verdict.value,
        "fault": circuit.states[r.states[s]].fault,
        "oil_temperature": float(r.temperature[s]),
        "notes": list(state.notes),
    }
    if state.verdict is not Verdict.SOLVED:
        return entry
    passages: list[dict[str, Any]] = [
        {"part": b.part, "role": b.role, "flow": float(r.q[s, k])}
        for k, b in enumerate(network.branches)
        if b.part not in circuit.lines
    ]
    passages += [
        {"part": c.part, "role": c.role, "flow": float(r.pilot_q[s, k]), "opening": float(state.pilot_x[k])}
        for k, c in enumerate(network.pilots)
    ]
    entry |= {
        "pressures": [
            {"part": part, "port": port, "pressure": _pressure(r, s, node)}
            for (part, port), node in network.port_nodes.items()
        ],
        "lines": [
            {
                "line": name,
                "flow": _number(r.line_flow(name)[s]),
                "start": _pressure(r, s, network.line_nodes[name][0]),
                "end": _pressure(r, s, network.line_nodes[name][1]),
            }
            for name in circuit.lines
        ],
        "passages": passages,
        "sources": [
            {"part": source.part, "role": source.role, "flow": float(r.source_q[s, k])}
            for k, source in enumerate(network.sources)
        ],
        "motions": _motions(circuit, r, s),
        "ranges": [
            {"place": network.nodes[node], "low": float(low), "high": float(high)}
            for node, (low, high) in state.ranges.items()
        ],
        "voids": [{"place": network.nodes[node], "missing": float(flow)} for node, flow in state.void.items()],
        "certificate": _certificate(state.certificate),
    }
    return entry


def _pressure(r: Results, s: int, node: int) -> float | None:
    return _number(r.node_pressure(node)[s])


def _motions(circuit: Circuit, r: Results, s: int) -> list[dict[str, Any]]:
    return [
        {
            "part": part.name,
            "kind": motion.kind,
            "speed": _number(motion.speed[s]),
            "effort": _number(motion.effort[s]),
            "output": _number(motion.output[s]) if motion.output is not None else None,
        }
        for part in circuit.parts.values()
        for motion in kinds.registry()[part.kind].motions(part, r).values()
    ]


CERTIFICATE = (
    "mass", "law", "complementarity", "actuator", "pilot", "energy", "pump", "dissipation", "work", "void", "burst",
)  # fmt: skip


def _certificate(c: Certificate | None) -> dict[str, Any] | None:
    if c is None:
        return None
    return {**{name: float(getattr(c, name)) for name in CERTIFICATE}, "method": c.method, "holds": c.holds()}


# ---------------------------------------------------------------- schema
def solution_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of `solution_json`."""
    figure, open_figure = {"type": "number"}, {"type": ["number", "null"]}
    text, flag = {"type": "string"}, {"type": "boolean"}

    def record(optional: tuple[str, ...] = (), **keys: Any) -> dict[str, Any]:
        required = [key for key in keys if key not in optional]
        return {"type": "object", "properties": keys, "required": required, "additionalProperties": False}

    def many(item: dict[str, Any]) -> dict[str, Any]:
        return {"type": "array", "items": item}

    certificate = record((), **dict.fromkeys(CERTIFICATE, figure), method=text, holds=flag)
    figures = {
        "pressures": many(record(part=text, port=text, pressure=open_figure)),
        "lines": many(record(line=text, flow=open_figure, start=open_figure, end=open_figure)),
        "passages": many(record(("opening",), part=text, role=text, flow=figure, opening=figure)),
        "sources": many(record(part=text, role=text, flow=figure)),
        "motions": many(
            record(
                part=text, kind={"enum": ["rod", "shaft"]}, speed=open_figure, effort=open_figure, output=open_figure
            )
        ),
        "ranges": many(record(place=text, low=figure, high=figure)),
        "voids": many(record(place=text, missing=figure)),
        "certificate": {"anyOf": [certificate, {"type": "null"}]},
    }
    state = record(
        ("reason", *figures),
        name=text,
        verdict={"enum": [v.value for v in Verdict]},
        fault=flag,
        oil_temperature=figure,
        notes=many(text),
        reason=text,
        **figures,
    )
    # Figures stand in a solved state and in no other.
    state["if"] = {"properties": {"verdict": {"const": Verdict.SOLVED.value}}}
    state["then"] = {"required": list(figures), "not": {"required": ["reason"]}}
    state["else"] = {"not": {"anyOf": [{"required": [name]} for name in figures]}}
    schema = record(
        layout={"const": LAYOUT},
        units=text,
        machine=text,
        revision=text,
        date=text,
        predicted={"const": True, "description": "Computed, not measured."},
        solver=text,
        data={"type": "string", "description": "Hash of the numbers that were solved."},
        states=many(state),
    )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Solution of a hydraulic circuit",
        "description": "SI floats: Pa gauge, m3/s, m/s, rad/s, N, N m, W, K. null = not fixed by the steady state.",
        **schema,
    }
