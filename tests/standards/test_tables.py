"""What every table must say about itself, and what must be true of the figures in it."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest
from builddoc import standards
from builddoc.standards import tables

CATALOGUE = standards.catalogue()


@pytest.mark.parametrize("entry", CATALOGUE, ids=lambda entry: entry.name)
def test_every_table_says_where_it_comes_from(entry: standards.Table) -> None:
    assert entry.status in tables.STATUSES
    assert entry.title and entry.source and entry.edition
    assert entry.rows
    for row in entry.rows:
        assert row.get("status", entry.status) in tables.STATUSES
    keys = [tuple(list(row.values())[:2]) for row in entry.rows]
    assert len({repr(key) for key in keys}) == len(keys), "a row stands twice"


def test_texts_are_for_readers() -> None:
    """No identifiers of working files, no file paths, no addresses."""
    for entry in CATALOGUE:
        text = " ".join([entry.title, entry.source, entry.edition, entry.agreement, entry.conflict, entry.notes])
        assert not re.search(r"-mem\b|-cat\b|-seen\b|/work|https?:|\.yaml", text), entry.name


HOSES = [name for name in standards.constructions() if tables.table("hoses", name).rows[0]["pressure"]]


@pytest.mark.parametrize("name", HOSES)
def test_hose_figures_are_in_order(name: str) -> None:
    rows = tables.table("hoses", name).rows
    pressures = [row["pressure"] for row in rows]
    assert pressures == sorted(pressures, reverse=True), "a bigger hose of one construction never holds more"
    assert [row["dash"] for row in rows] == sorted(row["dash"] for row in rows)
    for row in rows:
        if row["burst"]:
            assert row["burst"] == pytest.approx(4 * row["pressure"], rel=0.002)
    bends = [row["bend"] for row in rows if row["bend"]]
    assert bends == sorted(bends)


def test_two_wires_hold_more_than_one_and_new_more_than_old() -> None:
    for size in (4, 6, 8, 10, 12, 16, 20, 24, 32):
        one, two = standards.hose("one-wire", size), standards.hose("two-wire", size)
        assert one.rating and two.rating and one.rating < two.rating
        assert standards.hose("one-wire before 2006", size).rating < one.rating  # type: ignore[operator]
        assert standards.hose("two-wire before 2006", size).rating < two.rating  # type: ignore[operator]


def test_corrections_of_the_reference() -> None:
    """One-wire hose has the bend radii of two-wire; the smaller radii of an unreferenced file are not in the tables.
    Four-spiral keeps the lower of two figures."""
    for size in (4, 5, 6, 8, 10, 12, 16, 20, 24, 32):
        assert standards.hose("1SN", size).bend_radius == standards.hose("2SN", size).bend_radius
    assert standards.hose("1SN", 8).bend_radius == pytest.approx(0.180)
    catalogue = {4: 450, 6: 450, 8: 420, 10: 350, 12: 350, 16: 320, 20: 210, 24: 210, 32: 210}
    lower = {6: 445, 8: 415, 16: 280, 24: 185, 32: 165}
    for size, bar in catalogue.items():
        row = standards.hose("4SP", size)
        assert row.rating == pytest.approx(lower.get(size, bar) * 1e5)
        assert row.status == "from memory" and "lower" in row.conflict
    assert standards.hose("4SH", 24).rating == pytest.approx(290e5)
    assert standards.flange_rating(62, "1").rating == pytest.approx(414e5)


def test_reading_is_cheap_and_light() -> None:
    """Importing the tables draws in no unit library, no scipy and reads no file."""
    code = (
        "import sys, builddoc.standards.tables as t, builddoc.standards;"
        "heavy = sorted(m for m in ('pint', 'scipy', 'fluids', 'pandas') if m in sys.modules);"
        "print(heavy, t.tables.cache_info().misses)"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.strip() == "[] 0"
