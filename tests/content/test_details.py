"""Detail pictures of our machines: nothing that carries oil is lost in them, and nothing is said twice or otherwise."""

from __future__ import annotations

from functools import cache

import pytest
from builddoc.draw import Sheet, circuit_layout, detail
from builddoc.draw.details import FITS, LEAKAGE

from .conftest import solve_page

PAGES = ("bandsaw-mill-as-first-built.md", "bandsaw-mill/rebuilt.md", "shop-press/rebuilt.md")


@cache
def placed(page: str) -> Sheet:
    solved = solve_page(page)
    assert solved.circuit is not None and solved.case is not None and solved.report is not None
    return circuit_layout(solved.circuit, solved.case.results, findings=solved.report.findings)


@pytest.fixture(params=PAGES, scope="module")
def seen(request: pytest.FixtureRequest) -> list[tuple[int, Sheet, Sheet]]:
    """(state, whole, detail) of a page."""
    whole = placed(request.param)
    found = [(s, detail(whole, s, "t")) for s in range(whole.results.size)]
    assert sum(made is not None for _, made in found) > 6
    return [(s, whole, made.sheet) for s, made in found if made]


def drawn(sheet: Sheet) -> set[str]:
    """Lines that have a stroke of their own."""
    strokes = {stretch.line for trace in sheet.traces.values() for stretch in trace.stretches}
    return strokes | {net.pieces[0].line for net, _, _ in sheet.stubs}


def test_every_line_with_oil_and_figures_has_a_stroke_of_its_own(seen: list[tuple[int, Sheet, Sheet]]) -> None:
    for s, whole, small in seen:
        results = whole.results
        most = abs(results.q[s]).max()
        carries = {
            name for name, line in whole.figures.lines.items()
            if not line.direct and abs(results.line_flow(name)[s]) > LEAKAGE * most
        }  # fmt: skip
        assert carries and carries <= drawn(small), (results.states[s], carries - drawn(small))


def test_every_pump_that_delivers_and_what_limits_it_is_there(seen: list[tuple[int, Sheet, Sheet]]) -> None:
    for _, whole, small in seen:
        assert "pump" in small.picture.parts and set(small.picture.parts) < set(whole.picture.parts)
        limits = {"main relief", "valve"} & set(whole.picture.parts)  # the press has its relief in the valve
        assert limits <= set(small.picture.parts)


def test_what_is_said_is_what_the_whole_drawing_says(seen: list[tuple[int, Sheet, Sheet]]) -> None:
    for s, whole, small in seen:
        for name, text in small.labels.items():
            assert text.rows[s] == whole.labels[name].rows[s] and text.role == whole.labels[name].role
            assert not any(row for t, row in enumerate(text.rows) if t != s)
        for name in {*small.picture.parts, *drawn(small)}:
            assert small.marks.get(name) == whole.marks.get(name)


def test_most_of_them_fit_a_phone(seen: list[tuple[int, Sheet, Sheet]]) -> None:
    assert sum(small.width <= FITS for _, _, small in seen) >= len(seen) / 2


def test_no_sections_but_those_at_work() -> None:
    """First build, `clamp at its stop`: of the bank's three sections the clamp's; the deck valve is not reached."""
    sheet = placed(PAGES[0])
    found = detail(sheet, list(sheet.results.states).index("clamp at its stop"), "t")
    assert found and "lifter, head of bank" in found.sections
    assert ">clamp</text>" in found.drawing.svg and ">lifter</text>" not in found.drawing.svg
