"""Circuits in MkDocs sites: good pages pass strict builds, bad ones fail them and harm no other page."""

from __future__ import annotations

import json
import posixpath
import re
from collections import Counter
from pathlib import Path

import pytest

from .building import GOOD, TYPO, Site, fenced, ids_of, links_of, make_site

PAGE = f"# Clamp\n\nIt holds.\n\n{fenced()}\nAfterwards.\n"
OTHER = "# Other\n\nNo circuit here, only `code` and a [link](clamp.md).\n\n```python\nx = 1\n```\n"


def test_good_page_passes_strict_and_has_everything(tmp_path: Path) -> None:
    site = make_site(tmp_path, {"index.md": "# Home\n", "clamp.md": PAGE}, strict=True)
    assert (site.aborted, site.warnings) == (False, [])
    html = site.read("clamp/index.html")
    assert html.count('<figure class="bd"') == 1 and html.count('class="bd-drawing bd-whole"') == 2
    assert "not a promise that anything is safe" in html
    assert "DANGER" in html or "WARNING" in html
    assert "<!--builddoc" not in html and not [c for c in html if "\ue000" <= c <= "\ue003"]
    assert [i for i, n in Counter(ids_of(html)).items() if n > 1] == []
    assert "bd-flow" not in site.read("index.html")


@pytest.mark.parametrize("directories", [True, False])
def test_files_that_the_page_names_are_there(tmp_path: Path, directories: bool) -> None:
    pages = {"index.md": f"# Home\n\n{fenced()}", "deep/er/clamp.md": PAGE}
    site = make_site(tmp_path, pages, strict=True, use_directory_urls=directories)
    for path in ("index.html", "deep/er/clamp/index.html" if directories else "deep/er/clamp.html"):
        html = site.read(path)
        links = (*links_of(html), *re.findall(r'src="([^"]*)"', html))
        named = [link for link in links if "circuit" in link or "builddoc" in link]
        endings = {posixpath.splitext(link)[1] for link in named}
        assert {".yml", ".json", ".svg", ".csv", ".css", ".js"} <= endings
        for link in named:
            assert site.exists(posixpath.normpath(posixpath.join(posixpath.dirname(path), link))), link
    assert site.read("deep/er/clamp/circuit-circuit.yml") == GOOD
    assert json.loads(site.read("deep/er/clamp/circuit-solution.json"))
    assert site.read("deep/er/clamp/circuit-drawing.svg").startswith("<svg")


def test_two_blocks_on_a_page_share_nothing(tmp_path: Path) -> None:
    page = f"# Two\n\n{fenced()}\n\n{fenced()}\n\n{fenced(GOOD.replace('10 cc', '12 cc'))}"
    site = make_site(tmp_path, {"index.md": page}, strict=True)
    html = site.read("index.html")
    assert html.count('<figure class="bd"') == 3
    assert [i for i, n in Counter(ids_of(html)).items() if n > 1] == []
    assert html.count("not a promise that anything is safe") == 1
    assert "12 cc" in site.read("index/circuit-3-circuit.yml")


def test_errors_of_all_pages_are_told_with_place_and_strict_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    nested = f"# N\n\n1. step\n\n{fenced(TYPO, indent='    ')}"
    pages = {"index.md": OTHER.replace("clamp", "bad"), "bad.md": f"# Bad\n\n{fenced(TYPO)}", "nested.md": nested}
    site = make_site(tmp_path, pages, strict=True)
    assert site.aborted
    bad = [w for w in site.warnings if "docs/bad.md:" in w]
    assert len(bad) == 2
    unit, port = sorted(bad, key=lambda w: int(w.split(":")[2]))
    line = next(n for n, text in enumerate(pages["bad.md"].split("\n"), 1) if "ccc/rev" in text)
    assert re.search(rf"docs/bad\.md:{line}:\d+: .*ccc.*\[[a-z-]+\]$", unit)
    assert f"docs/bad.md:{line + 6}:" in port
    columns = [int(w.split(":")[3]) for w in site.warnings if "ccc" in w]
    assert len(columns) == 2 and abs(columns[0] - columns[1]) == 4  # the nested block stands four further right
    html = site.read("bad/index.html")
    assert "2 errors in this block" in html and "ccc/rev" in html and '<figure class="bd"' not in html


def test_other_pages_are_unharmed_by_a_bad_one(tmp_path: Path) -> None:
    def article(site: Site) -> str:
        found = re.search(r"<article.*?</article>", site.read("other/index.html"), re.DOTALL)
        assert found
        return found[0]

    pages = {"index.md": "# Home\n", "other.md": OTHER, "clamp.md": PAGE}
    good = make_site(tmp_path / "good", pages)
    bad = make_site(tmp_path / "bad", {**pages, "clamp.md": f"# Clamp\n\n{fenced(TYPO)}"})
    assert not bad.aborted and article(good) == article(bad)
    assert good.warnings == [] and len(bad.warnings) == 2


def test_a_fault_of_ours_is_seen_by_strict(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An exception in a fence is swallowed by the host, which then shows plain code and passes."""
    from builddoc import pipeline

    def broken(*args: object, **kwargs: object) -> object:
        raise RuntimeError("kaboom")

    monkeypatch.setattr(pipeline, "solve_text", broken)
    site = make_site(tmp_path, {"index.md": PAGE}, strict=True, options={"cache": False})
    assert site.aborted and [w for w in site.warnings if "kaboom" in w and "[fault]" in w]
    assert "kaboom" in site.read("index.html")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (fenced().rstrip("`\n") + "\n", "fence-open"),
        (fenced(header="circuit ???"), "fence-form"),
        (fenced(header="circuit linenums"), "fence-option"),
    ],
)
def test_a_block_that_would_be_missed_is_told(tmp_path: Path, text: str, code: str) -> None:
    site = make_site(tmp_path, {"index.md": f"# Home\n\n{text}"}, strict=True)
    assert site.aborted and [w for w in site.warnings if f"[{code}]" in w], site.warnings


def test_findings_fail_the_build_only_when_asked(tmp_path: Path) -> None:
    pages = {"index.md": PAGE}
    assert not make_site(tmp_path / "a", pages, strict=True).aborted
    site = make_site(tmp_path / "b", pages, strict=True, options={"fail_on": "not-checked"})
    assert site.aborted and all(re.search(r"index\.md:\d+:\d+: [A-Z ]+: .*\[[a-z-]+\]$", w) for w in site.warnings)


def test_drawings_are_not_in_the_search_index_but_findings_are(tmp_path: Path) -> None:
    site = make_site(tmp_path, {"index.md": PAGE}, strict=True)
    index = site.read("search/search_index.json")
    assert "Flow diagram of" not in index and "tspan" not in index
    assert "NOT CHECKED" in index and "Pump flow" in index


def test_links_to_a_finding_pass_the_anchor_check(tmp_path: Path) -> None:
    checks = {"links": {"anchors": "warn"}}
    pages = {"index.md": "# Home\n\n[see](clamp.md#bd-clamp-1-findings)\n", "clamp.md": PAGE}
    assert make_site(tmp_path / "a", pages, strict=True, validation=checks).warnings == []
    pages["index.md"] = "# Home\n\n[see](clamp.md#bd-clamp-1-nowhere)\n"
    assert make_site(tmp_path / "b", pages, strict=True, validation=checks).aborted


def test_blog_excerpts_hold_whole_figures(tmp_path: Path) -> None:
    post = f"---\ndate: 2025-05-18\n---\n\n# Clamp\n\n{fenced()}\n\n{fenced(TYPO)}\n<!-- more -->\n\nRest.\n"
    pages = {"index.md": "# Home\n", "blog/index.md": "# Blog\n", "blog/posts/clamp.md": post}
    site = make_site(tmp_path, pages, plugins=["blog", "builddoc"])
    assert len(site.warnings) == 2  # each error once, though the block is rendered again and again
    seen = 0
    for file in (tmp_path / "site" / "blog").rglob("index.html"):
        html = file.read_text("utf-8")
        assert "<!--builddoc" not in html
        if '<figure class="bd"' in html:
            seen += 1
            assert "bd-flow" in html
            assert [i for i, n in Counter(ids_of(html)).items() if n > 1 and i.startswith("bd-")] == []
            for link in (x for x in links_of(html) if "/circuit-" in x):
                assert (file.parent / link).is_file(), link
    assert seen >= 3  # post, index, archive


def test_included_file(tmp_path: Path) -> None:
    docs = tmp_path / "docs" / "mill"
    (docs / "circuits").mkdir(parents=True)
    (docs / "circuits" / "clamp.yml").write_text(GOOD, "utf-8")
    pages = {"index.md": "# Home\n", "mill/page.md": f"# P\n\n{fenced('file: circuits/clamp.yml')}"}
    site = make_site(tmp_path, pages, strict=True)
    assert site.warnings == [] and "test clamp" in site.read("mill/page/index.html")
    (docs / "circuits" / "clamp.yml").write_text(GOOD.replace("test clamp", "other clamp"), "utf-8")
    assert "other clamp" in make_site(tmp_path, pages, strict=True).read("mill/page/index.html")
    (docs / "circuits" / "clamp.yml").write_text(TYPO, "utf-8")
    site = make_site(tmp_path, pages, strict=True)
    assert site.aborted and all("circuits/clamp.yml:" in w for w in site.warnings if "ccc" in w)
    (docs / "circuits" / "clamp.yml").unlink()
    site = make_site(tmp_path, pages, strict=True)
    assert site.aborted and any("page.md:4:" in w for w in site.warnings)


def test_second_build_takes_the_cache_and_gives_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pages = {"index.md": PAGE, "bad.md": fenced(TYPO)}
    first = make_site(tmp_path, pages, fresh=True)
    before = {p: first.read(p) for p in ("index.html", "bad/index.html", "index/circuit-lines.csv")}

    from builddoc import pipeline

    def refuse(*args: object, **kwargs: object) -> object:
        raise AssertionError("solved again")

    monkeypatch.setattr(pipeline, "solve_text", refuse)
    second = make_site(tmp_path, pages, fresh=True)
    assert second.warnings == first.warnings
    assert {p: second.read(p) for p in before} == before


@pytest.mark.parametrize("theme", ["mkdocs", "readthedocs"])
def test_other_themes(tmp_path: Path, theme: str) -> None:
    site = make_site(tmp_path, {"index.md": PAGE}, strict=True, theme={"name": theme})
    html = site.read("index.html")
    assert site.warnings == [] and html.count('class="bd-drawing bd-whole"') == 2 and "builddoc." in html


def test_reference_page(built: Path) -> None:
    html = (built / "reference" / "index.html").read_text("utf-8")
    assert "displacement" in html and "hydraulic motor" in html


def test_own_fences_of_the_user_stay(tmp_path: Path) -> None:
    from pymdownx.superfences import fence_div_format

    own = {"name": "mermaid", "class": "mermaid", "format": fence_div_format}
    site = make_site(
        tmp_path,
        {"index.md": PAGE + "\n```mermaid\na\n```\n"},
        strict=True,
        markdown_extensions=[{"pymdownx.superfences": {"custom_fences": [own]}}],
    )
    assert '<div class="mermaid">' in site.read("index.html") and '<figure class="bd"' in site.read("index.html")
