"""Every table is on a page of the reference, with its source, edition and status."""

from __future__ import annotations

from pathlib import Path

import markdown
import pytest
from builddoc import standards
from builddoc.standards import pages
from builddoc.standards.tables import FILES, STATUSES, table

PAGES = pages.standards_pages()


def test_every_file_of_tables_has_a_page() -> None:
    stored = {path.stem for path in (Path(standards.__file__).parent / "data").glob("*.yaml")}
    assert stored == set(FILES) == set(pages.GROUPS)
    assert set(PAGES) == {"standards/index.md", *(f"standards/{file}.md" for file in FILES)}
    for file in FILES:
        assert f"({file}.md)" in PAGES["standards/index.md"]


@pytest.mark.parametrize("file", FILES)
def test_a_page_shows_all_rows_with_their_source(file: str) -> None:
    text = PAGES[f"standards/{file}.md"]
    html = markdown.markdown(text, extensions=["tables"])
    held = [t for t in standards.catalogue() if table_is_of(t.name, file)]
    assert html.count("<table>") == len(held)
    assert html.count("<tr>") == sum(1 + len(t.rows) for t in held)
    assert text.count("**Source:**") == text.count("**Edition:**") == len(held)
    for entry in held:
        assert entry.status in STATUSES and f"**Status:** {entry.status}." in text
        assert " ".join(entry.source.split()).rstrip(".") in text


def table_is_of(name: str, file: str) -> bool:
    try:
        return table(file, name) in standards.catalogue()
    except KeyError:
        return False


def test_what_was_not_found_is_said_and_not_filled_in() -> None:
    """No public table rates these by size: the reference notes name them as never seen."""
    text = PAGES["standards/fittings.md"]
    assert "| BSPP and metric O-ring | not found |" in text
    assert "| 20 | not found |" in text  # a face seal between two sizes that are in print
    for form, size in (("24 cone", "12"), ("BSPP", "1/2"), ("metric O-ring", "M18x1.5"), ("face seal", "-20")):
        assert standards.connector_rating(form, size) is None
    for size in ("1/4", "1/2", "1"):
        for form in ("37 flare", "O-ring boss", "face seal"):
            assert standards.fitting_rating("steel", form, size).rating is None


def test_misprints_on_the_unsafe_side_are_not_taken_over() -> None:
    """Barlow: 2 x 55 000 psi x 0.083 / 0.375 / 4 = 6087 psi, printed 7300; the row's neighbours fit to rounding."""
    rows = table("tubes", "steel-annealed").rows
    for row in rows:
        assert row["pressure"] == pytest.approx(2 * 55_000 * row["wall"] / row["outside"] / 4, abs=6)
    assert "7300" in PAGES["standards/tubes.md"] and "misprint" in PAGES["standards/tubes.md"]
    assert "240" not in "".join(str(row["face seal, distributor"]) for row in table("assembly", "make-up").rows)


def test_gauges() -> None:
    guide = standards.gauge_guide()
    assert (guide.low, guide.high, guide.status) == (0.25, 0.75, "from memory")
    scales = {row["item"]: row["values"] for row in table("guides", "gauge-scales").rows}
    steps = [b / a for a, b in zip(scales["range"], scales["range"][1:], strict=False)]
    assert all(1.45 < step < 1.7 for step in steps)  # the series 1, 1.6, 2.5, 4, 6 of each decade


def test_an_elbow_by_its_length_and_by_its_coefficient() -> None:
    """K = f Le/D. Smooth pipe at Re 10 000, Blasius: 0.316/10 = 0.0316; 30 diameters: 0.95 beside 0.9."""
    (elbow,) = [row for row in table("flow", "equivalent-length").rows if row["form"] == "elbow 90"]
    assert 0.316 / 10_000**0.25 * elbow["low"] == pytest.approx(standards.loss("elbow 90").K, rel=0.06)
