"""Circuits solved ahead by several processes: the same drafts as made here, and no harm when there are no processes."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
from builddoc import ahead, pipeline
from builddoc.ahead import Job, render_ahead
from builddoc.cache import Cache
from builddoc.history.registry import Registry
from builddoc.page.rendering import Options, draft, sheets
from builddoc.page.solving import solved_once
from builddoc.pipeline import solve_text
from builddoc.sources import Source

from .building import GOOD, TYPO, fenced, make_site

TEXTS = [GOOD.replace("10 cc", f"{n} cc") for n in range(10, 16)] + [TYPO, "machine: ["]
JOBS = [Job(f"k{n}", text, "a page.md") for n, text in enumerate(TEXTS)]


def test_the_same_as_made_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ahead, "_cores", lambda: 2)
    assert render_ahead(JOBS, tmp_path / "new" / "cache", Options()) == 2
    cache = Cache(tmp_path / "new" / "cache")
    for job in JOBS:
        assert cache.has(job.key)
        assert cache.get(job.key) == draft(job.text, job.path, Options())


def test_blocks_about_one_machine_go_to_one_process() -> None:
    def texts(count: int, own: list[tuple[str, str]]) -> list[list[str]]:
        jobs = [Job(f"k{n}", f"machine: {name}\nrevision: {revision}\n", "") for n, (name, revision) in enumerate(own)]
        return [[job.key for job in share] for share in ahead._shared_out(jobs, count)]

    assert texts(2, [("x", "A"), ("y", "A"), ("x", "B"), ("z", "A"), ("x", "A"), ("w", "A")]) == [
        ["k0", "k2", "k4"], ["k1", "k3", "k5"],
    ]  # fmt: skip
    # Too many of one machine: by revision.
    assert texts(2, [("x", "A"), ("x", "B"), ("x", "B"), ("x", "A")]) == [["k0", "k3"], ["k1", "k2"]]
    assert texts(2, [("", "A"), ("", "A")]) == [["k0"], ["k1"]]


def test_a_circuit_is_solved_once_for_the_blocks_about_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    registry = Registry.of([Source(GOOD, "a page.md", 7)])
    entries = registry.entries()
    sheet = "machine: test clamp\nsheet: hoses\n"
    bare = [draft(GOOD, "a page.md"), sheets(sheet, "a page.md", Options(), None, entries)]
    solved: list[str] = []

    def counted(text: str, *args: Any, **named: Any) -> Any:
        solved.append(text)
        return solve_text(text, *args, **named)

    monkeypatch.setattr(pipeline, "solve_text", counted)
    with solved_once():
        for _ in range(2):
            assert [draft(GOOD, "a page.md"), sheets(sheet, "a page.md", Options(), None, entries)] == bare
        assert solved == [GOOD]
        included = tmp_path / "clamp.yml"
        for content in (GOOD, GOOD.replace("10 cc", "11 cc")):
            included.write_text(content)
            draft("file: clamp.yml\n", str(tmp_path / "page.md"))
        assert len(solved) == 3, "another content of the same file is another circuit"
    draft(GOOD, "a page.md")
    assert len(solved) == 4


def test_few_circuits_or_one_core_are_left_to_the_build(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ahead, "_cores", lambda: 2)
    assert render_ahead(JOBS[:3], tmp_path, Options()) == 0
    monkeypatch.setattr(ahead, "_cores", lambda: 1)
    assert render_ahead(JOBS, tmp_path, Options()) == 0
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("trouble", ["cannot start", "dies"])
def test_a_build_goes_on_without_processes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, trouble: str) -> None:
    monkeypatch.setattr(ahead, "_cores", lambda: 2)
    start = subprocess.Popen

    def broken(command: list[str], **more: object) -> object:
        if trouble == "cannot start":
            raise OSError("no more processes")
        return start([command[0], "-c", "import sys; sys.exit(3)"], **more)  # type: ignore[call-overload]

    monkeypatch.setattr(ahead.subprocess, "Popen", broken)
    pages = {f"p{n}.md": f"# P\n\n{fenced(text)}" for n, text in enumerate(TEXTS[:6])}
    site = make_site(tmp_path, {"index.md": "# Home\n", **pages}, strict=True, fresh=True)
    assert site.warnings == [] and all('<figure class="bd"' in site.read(f"p{n}/index.html") for n in range(6))


def test_a_site_takes_what_was_solved_ahead(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ahead, "_cores", lambda: 2)
    from builddoc import fence

    def refuse(*args: object, **kwargs: object) -> object:
        raise AssertionError("solved again in the build")

    for word in ("circuit", "sheet"):
        monkeypatch.setitem(fence.MAKERS, word, refuse)
    pages = {f"p{n}.md": f"# P\n\n1. step\n\n{fenced(text, indent='    ')}" for n, text in enumerate(TEXTS[:6])}
    pages["sheets.md"] = "# S\n\n```sheet\nmachine: other\nsheet: hoses\n```\n"
    pages["other.md"] = f"# O\n\n{fenced(re.sub('machine: .*', 'machine: other', TEXTS[0], count=1))}"
    site = make_site(tmp_path, {"index.md": "# Home\n", **pages}, strict=True, fresh=True)
    assert site.warnings == [] and all('<figure class="bd"' in site.read(f"p{n}/index.html") for n in range(6))
