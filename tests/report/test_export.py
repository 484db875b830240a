"""JSON and CSV that leave the page."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

import jsonschema
import pytest
from builddoc import checks, report
from builddoc.report.export import guarded, solution_data, solution_json, solution_schema, table_csv
from builddoc.report.model import Cell, Column, Table

from tests.checks.machines import Machine, mill


def blocked() -> Machine:
    machine = mill()
    del machine.parts["bank"]["relief"]
    return machine


def solved(machine: Machine) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(solution_json(machine.case()))
    return data


def test_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(solution_schema())


@pytest.mark.parametrize("machine", [mill(), blocked()], ids=["solved", "blocked"])
def test_solution_obeys_its_schema(machine: Machine) -> None:
    jsonschema.validate(solved(machine), solution_schema())


def test_solution_is_si_and_names_the_ports() -> None:
    data = solved(mill())
    stop = next(s for s in data["states"] if s["name"] == "clamp at its stop")
    pressure = {(p["part"], p["port"]): p["pressure"] for p in stop["pressures"]}
    assert pressure["bank", "P"] == pytest.approx(151e5, rel=1e-3)
    flow = {entry["line"]: entry["flow"] for entry in stop["lines"]}
    assert flow["feed"] == pytest.approx(22.3 / 6e4, rel=1e-3)
    assert stop["certificate"]["holds"] is True
    relief = next(p for p in stop["passages"] if p["part"] == "bank" and p["role"] == "relief")
    assert relief["flow"] == pytest.approx(flow["feed"])


def test_pressure_that_is_not_fixed_is_null_with_a_range() -> None:
    data = solved(mill())
    idling = data["states"][0]
    pressure = {(p["part"], p["port"]): p["pressure"] for p in idling["pressures"]}
    assert pressure["ram", "cap"] is None
    assert any(r["low"] < r["high"] for r in idling["ranges"])
    assert next(m for m in idling["motions"] if m["part"] == "ram")["effort"] is None


def test_state_without_an_answer_has_a_reason_and_no_figure() -> None:
    state = solved(blocked())["states"][2]
    assert state["verdict"] == "unbounded" and "no way out" in state["reason"]
    assert set(state) == {"name", "verdict", "fault", "oil_temperature", "notes", "reason"}
    smuggled = {**state, "lines": []}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**solved(mill()), "states": [smuggled]}, solution_schema())


def test_solved_state_must_have_its_certificate() -> None:
    data = solved(mill())
    del data["states"][0]["certificate"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, solution_schema())


def test_data_from_plain_arguments() -> None:
    case = mill().case()
    data = solution_data(case.circuit, case.network, case.solution)
    assert data["data"] == case.solution.data_hash and len(data["states"]) == 3


# ---------------------------------------------------------------- CSV
def read(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text)))


def test_csv_has_units_in_its_heading_and_plain_numbers() -> None:
    case = mill().case()
    r = report.build(case, checks.run(case))
    lines = read(table_csv(next(t for t in r.tables if t.key == "lines")))
    head = lines[0]
    assert "Flow (L/min)" in head and "Highest pressure (bar): note" not in head and "Highest pressure: note" in head
    suction = dict(zip(head, lines[1], strict=True))
    assert float(suction["Highest pressure (bar)"]) < 0
    assert float(suction["Velocity (m/s)"]) == 0.73
    by_state = read(table_csv(next(t for t in r.tables if t.key == "lines-by-state")))
    assert any(row[2] == "-15.3" for row in by_state)  # a plain minus, no apostrophe: it is a number


@pytest.mark.parametrize("text", ["=1+1", "+cmd", "-2", "@SUM(A1)", "\t=1", "\r\n=1"])
def test_text_that_looks_like_a_formula_is_guarded(text: str) -> None:
    t = Table("t", "T", "", (Column(text, numeric=False), Column("b")), ((Cell(text, note=text), Cell("−1", -1.0)),))
    (head, row) = read(table_csv(t))
    assert head[0] == guarded(text) == f"'{text.strip()}"
    assert row[:2] == [f"'{text.strip()}"] * 2 and row[2] == "-1"


def test_word_in_a_column_of_numbers_stays_a_word() -> None:
    t = Table("t", "T", "", (Column("a"),), ((Cell("≥ 151", 151e5),), (Cell("open"),), (Cell("=x"),)))
    assert [row[0] for row in read(table_csv(t))] == ["a", "≥ 151", "open", "'=x"]
