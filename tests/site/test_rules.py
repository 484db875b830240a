"""Rules on a whole site: their pages, the links of findings, and acceptances in strict builds."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import urljoin

from builddoc.pipeline import solve_text

from ..cautions.circuits import changed
from .building import make_site

TEXT = changed("{lines: {feed: {bore: 6 mm}}}")
PAGE = f"# Bench\n\n```circuit\n{TEXT}```\n"
LINK = re.compile(r'Rule: <a href="([^"]*)">([a-z0-9-]+)</a>')


def test_findings_link_to_pages_that_are_there(tmp_path: Path) -> None:
    """In a light theme: the pages of the reference are many, and only their addresses count."""
    reference = {"reference": "words/all.md"}
    site = make_site(tmp_path, {"machines/bench.md": PAGE}, strict=True, options=reference, theme={"name": "mkdocs"})
    assert site.warnings == []
    found = LINK.findall(site.read("machines/bench/index.html"))
    assert "ret-velocity" in [rule for _, rule in found]
    for address, rule in found:
        target = urljoin("/machines/bench/", address).lstrip("/")
        assert target == f"words/rules/{rule}/"
        assert f"Rule <code>{rule}</code>" in site.read(f"{target}index.html")


def test_without_a_reference_there_are_no_links(tmp_path: Path) -> None:
    site = make_site(tmp_path, {"bench.md": PAGE}, strict=True)
    html = site.read("bench/index.html")
    assert "Rule: ret-velocity" in html and not LINK.search(html)


def test_accepted_findings_do_not_stop_a_strict_build(tmp_path: Path) -> None:
    found = [f for f in solve_text(TEXT).findings if f.outcome == "finding"]
    named = {f"{f.rule} of {f.subject}" if f.subject else f.rule: f.fingerprint for f in found}
    reason = "because: a test, by: owner, on: 2025"
    own = "".join(f'  "{name}": {{{reason}, seen: {seen}}}\n' for name, seen in named.items())
    options = {"fail_on": "notice"}
    accepted = PAGE.replace(TEXT, f"{TEXT}accepted:\n{own}")
    assert make_site(tmp_path / "open", {"bench.md": PAGE}, strict=True, options=options).aborted
    site = make_site(tmp_path / "accepted", {"bench.md": accepted}, strict=True, options=options)
    assert not site.aborted and site.warnings == []
    changed_since = accepted.replace("bore: 6 mm", "bore: 6.1 mm")
    site = make_site(tmp_path / "changed", {"bench.md": changed_since}, strict=True, options=options)
    assert site.aborted and any("counts again" in warning for warning in site.warnings)
