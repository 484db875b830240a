"""Revisions and claims over the pages of a real site."""

from __future__ import annotations

import re
from pathlib import Path

from builddoc.cli import main
from builddoc.history.machines import stem
from builddoc.history.registry import Registry
from builddoc.language.reference import example, revision_example
from builddoc.sources import find_sources
from click.testing import CliRunner

from ..own_site import ROOT
from .building import make_site

FIRST = f"# First\n\n```circuit\n{example()}\n```\n"
SECOND = (
    f"# Second\n\nLess: `claim: pump.flow < A: pump.flow, lifting`.\n\n```circuit\n{revision_example()}\n```\n\n"
    "At first `figure: log lifter A: feed.pressure, lifting`.\n"
)


def test_a_revision_starts_from_one_on_another_page(tmp_path: Path) -> None:
    site = make_site(tmp_path, {"index.md": FIRST, "a/second.md": SECOND}, strict=True)
    assert not site.aborted, site.warnings
    html = site.read("a/second/index.html")
    assert "64.2 bar (931 psi)" in html and "✓" in html


def test_a_changed_first_revision_changes_the_second_and_fails_strict(tmp_path: Path) -> None:
    make_site(tmp_path, {"index.md": FIRST, "a/second.md": SECOND})
    other = FIRST.replace("displacement: 6 cc/rev", "displacement: 4 cc/rev")
    site = make_site(tmp_path, {"index.md": other, "a/second.md": SECOND}, strict=True)
    assert site.aborted
    assert any("second.md:3:7: this claim is false" in text for text in site.warnings), site.warnings
    broken = FIRST.replace("pump.outlet > bank.P", "pump.outlet > bank.Q")
    site = make_site(tmp_path, {"index.md": broken, "a/second.md": SECOND}, strict=True)
    assert any("base-wrong" in text for text in site.warnings), "the cache knows that the first one changed"


def test_check_tells_the_line(tmp_path: Path) -> None:
    (tmp_path / "first.md").write_text(FIRST, "utf-8")
    (tmp_path / "second.md").write_text(SECOND.replace("<", ">"), "utf-8")
    result = CliRunner().invoke(main, ["check", str(tmp_path / "second.md")])
    assert result.exit_code == 1
    assert "second.md:3:7: this claim is false" in result.output
    (tmp_path / "second.md").write_text(SECOND, "utf-8")
    assert CliRunner().invoke(main, ["check", str(tmp_path / "second.md")]).exit_code == 0


def test_before_and_after_on_a_third_page(tmp_path: Path) -> None:
    block = "# Both\n\nText.\n\n```compare\nmachine: log lifter\nrevisions: [A, B]\n```\n"
    pages = {"index.md": FIRST, "a/second.md": SECOND, "third.md": block}
    site = make_site(tmp_path, pages, strict=True)
    assert not site.aborted, site.warnings
    html = site.read("third/index.html")
    assert "What was changed, and why" in html and "<!--builddoc" not in html
    pages["third.md"] = block.replace("[A, B]", "[A, D]")
    site = make_site(tmp_path, pages, strict=True)
    assert site.aborted and any("third.md:7:12: there is no revision 'D'" in text for text in site.warnings)
    result = CliRunner().invoke(main, ["check", str(tmp_path / "docs" / "third.md")])
    assert result.exit_code == 1 and "third.md:7:12: there is no revision 'D'" in result.output


def test_pages_of_machines(tmp_path: Path) -> None:
    block = "machine: log lifter\nrevision: A\ndate: 2025-06-01\nreadings:\n- {point: ram.drift, value: 4 mm}\n"
    pages = {"index.md": FIRST, "a/second.md": SECOND, "read.md": f"# Read\n\n```readings\n{block}```\n"}
    site = make_site(tmp_path, pages, strict=True, options={"machines": "all/machines.md"})
    assert not site.aborted, site.warnings
    index, page = site.read("all/machines/index.html"), site.read("all/machines/log-lifter/index.html")
    assert "2025-08-30" in index and "NOTICE" in index and 'href="log-lifter/"' in index
    order = [page.index(f"revision {name}: built") for name in "AB"]
    assert order[0] < page.index("readings taken on revision A") < order[1], "by date"
    reason = "<em>the engine stalled when the lever was held at the top</em>"
    assert f"{reason}: set pump.displacement: 6 cc/rev → 5 cc/rev;" in page
    assert page.count("NOT CHECKED") == 0 < page.index("Not checked is not safe"), "told apart from what was found"
    assert 'href="../../../a/second/"' in page
    assert 'href="../../../read/"' in page
    assert "105 %" not in page, "a finding of the first revision that the second one does not have"


def test_bench_circuits_of_the_reference_are_no_machines(built: Path) -> None:
    """They stay on their own pages and make no page of a machine."""
    assert "pump on the bench" in (built / "reference" / "kinds" / "pump" / "index.html").read_text("utf-8")
    written = {stem(name) for name in Registry.of(find_sources([ROOT / "content"])[0]).machines()}
    assert {path.name for path in (built / "machines").iterdir() if path.is_dir()} == written
    index = (built / "machines" / "index.html").read_text("utf-8")
    assert "shop press" in index and "bench" not in re.sub(r"(?s)<nav.*?</nav>", "", index)


def test_readings_that_disagree_are_findings(tmp_path: Path) -> None:
    block = "machine: log lifter\nrevision: B\nreadings:\n- {point: feed.flow, state: idling, value: 9 L/min}\n"
    pages = {"index.md": FIRST, "a/second.md": SECOND, "third.md": f"# Read\n\n```readings\n{block}```\n"}
    site = make_site(tmp_path, pages, strict=True)
    assert not site.aborted, site.warnings
    assert "✗ disagrees" in site.read("third/index.html")
    result = CliRunner().invoke(main, ["check", str(tmp_path / "docs" / "third.md")])
    assert "third.md:7:11: NOTICE: feed.flow was read as 9 L/min" in result.output


def test_what_a_revision_takes_over_is_told_where_it_was_written(tmp_path: Path) -> None:
    """Both blocks stand on one page: a finding of the second about the ram has the line of the first block."""
    text = f"{FIRST}\n```circuit\n{revision_example()}\n```\n"
    site = make_site(tmp_path, {"index.md": text}, options={"fail_on": "notice"})
    line = next(n for n, words in enumerate(text.split("\n"), 1) if words.startswith("  ram:"))
    told = [words for words in site.warnings if "ram can push" in words]
    assert len(told) == 2 and all(f"index.md:{line}:" in words and words.isprintable() for words in told), told
    broken = text.replace("pump.displacement: 5 cc/rev", "pump.displacment: 5 cc/rev")
    site = make_site(tmp_path, {"index.md": broken}, strict=True)
    line = next(n for n, words in enumerate(broken.split("\n"), 1) if "displacment" in words)
    assert any(f"index.md:{line}:11: " in words and "key-unknown" in words for words in site.warnings), site.warnings


def test_figures_in_headings_and_blog_excerpts(tmp_path: Path) -> None:
    figure = "`figure: feed.pressure, lifting`"
    post = f"---\ndate: 2025-05-18\n---\n# Lifted at {figure}\n\nIt took {figure}.\n\n<!-- more -->\n\n{FIRST[9:]}"
    site = make_site(
        tmp_path,
        {"index.md": "# Home\n", "blog/index.md": "# Journal\n", "blog/posts/one.md": post},
        strict=True,
        plugins=["blog", "builddoc"],
    )
    assert not site.aborted, site.warnings
    assert site.read("blog/index.html").count(">64.2 bar (931 psi)</span>") >= 2
    assert "NO ANSWER" not in site.read("blog/index.html")


def test_a_misspelt_machine_gets_a_near_miss(tmp_path: Path) -> None:
    block = "machine: log liftr\nrevision: B\nreadings:\n- {point: feed.flow, state: idling, value: 9 L/min}\n"
    pages = {
        "index.md": FIRST,
        "read.md": f"# Read\n\n```readings\n{block}```\n",
        "sheets.md": "# Sheets\n\n```sheet\nmachine: log liftr\nsheet: hoses\n```\n",
    }
    site = make_site(tmp_path, pages, strict=True)
    for page in ("read", "sheets"):
        told = [text for text in site.warnings if f"{page}.md" in text]
        assert len(told) == 1 and "(did you mean 'log lifter'?)" in told[0], site.warnings
