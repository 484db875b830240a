"""The photos fence in a real site: picture and row are linked from where the page stands."""

from __future__ import annotations

import re
from pathlib import Path

from ..page.test_photos import BLOCK, SVG
from .building import GOOD, fenced, ids_of, make_site

PHOTOS = f"# Photos\n\n```photos\n{BLOCK}```\n"
CIRCUIT = f"# Clamp\n\n{fenced(GOOD)}\n"


def test_picture_and_rows_are_reached_from_another_folder(tmp_path: Path) -> None:
    pages = {"index.md": "# Home\n", "clamp.md": CIRCUIT, "log/day.md": PHOTOS, "log/photos/clamp.svg": SVG}
    site = make_site(tmp_path, pages, strict=True)
    assert not site.aborted and site.warnings == []
    html = site.read("log/day/index.html")
    assert 'src="../photos/clamp.svg"' in html and site.exists("log/photos/clamp.svg")
    rows = re.findall(r'class="bd-to" href="../../clamp/#([^"]+)"', html)
    # 'valve.T' and 'ram' lead to their parts' rows.
    assert len(rows) == 5 and set(rows) <= set(ids_of(site.read("clamp/index.html")))


def test_a_picture_that_the_site_does_not_have_stops_a_strict_build(tmp_path: Path) -> None:
    site = make_site(tmp_path, {"index.md": CIRCUIT + PHOTOS}, strict=True)
    assert site.aborted and any("image-missing" in text for text in site.warnings)


def test_a_picture_outside_the_docs_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "clamp.svg").write_text(SVG, "utf-8")
    outside = PHOTOS.replace("photos/clamp.svg", "../clamp.svg")
    site = make_site(tmp_path, {"index.md": CIRCUIT + outside})
    assert any("image-outside" in text for text in site.warnings)
