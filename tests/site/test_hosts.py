"""The fence without MkDocs, and what a warm build may import."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import builddoc
import markdown
import pytest
from builddoc.fence import FENCE, Fence, Page, Spot, fence

from ..own_site import KEPT, ROOT
from .building import GOOD, TYPO, fenced


def convert(text: str, entry: dict[str, object] = FENCE) -> str:
    return markdown.markdown(
        text,
        extensions=["pymdownx.superfences"],
        extension_configs={"pymdownx.superfences": {"custom_fences": [entry]}},
    )


def test_three_lines_of_python() -> None:
    page = builddoc.render(GOOD)
    assert page.html.startswith("<div") and page.ok and page.ids and "circuit.yml" in page.files
    assert page.html.count('class="bd-drawing bd-whole"') == 2
    assert "http" not in re.sub(r"http(:|%3A)//www\.w3\.org", "", page.html)


def test_bad_text_never_raises() -> None:
    hostile = ["", "\0", "machine: [", "a\n\tb: c", TYPO, "💧", "- 1\n- 2", "file: /dev/null", "file: ../../.."]
    for text in (*hostile, "x: " * 5000):
        page = builddoc.render(text)
        assert not page.ok and "bd-errors" in page.html
        assert all(m.code != "fault" for m in page.messages), page.messages


def test_any_markdown_host() -> None:
    html = convert(f"# A\n\n{fenced()}\nend\n")
    assert '<figure class="bd"' in html and "data:text/yaml" in html and "<p>end</p>" in html
    assert "errors in this block" in convert(fenced(TYPO))


def test_errors_reach_a_log(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level("WARNING", "builddoc"):
        convert(fenced(TYPO), fence(Fence()))
    assert len(caplog.records) == 2 and "ccc" in caplog.text


def test_blocks_are_numbered_on_from_block_to_block() -> None:
    html = convert(f"{fenced()}\n\n{fenced()}\n", fence(Fence()))
    assert 'id="bd-page-1"' in html and 'id="bd-page-2"' in html


def test_prefixes_tell_pages_apart() -> None:
    names = ["a/b.md", "a-b.md", "a b.md", "A-b.md", "a/b/index.md", "ä.md", "ö.md", "a.b.md", "index.md", ""]
    prefixes = {Spot(Page(name), 1).prefix for name in names}
    assert len(prefixes) == len(names) - 1  # a/b.md and a/b/index.md are one address


def run(code: str, cwd: Path) -> str:
    env = {**os.environ, "PYTHONPATH": str(ROOT), "NO_MKDOCS_2_WARNING": "1"}
    done = subprocess.run([sys.executable, "-c", code], cwd=cwd, env=env, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_warm_build_imports_nothing_heavy(tmp_path: Path, built: Path) -> None:
    """With the reference too, which the build of our own site has left in the cache."""
    (tmp_path / "docs").mkdir()
    new = GOOD.replace("test clamp", tmp_path.as_posix())
    (tmp_path / "docs" / "index.md").write_text(f"# A\n\n{fenced(new)}", "utf-8")
    code = (
        "import sys; from mkdocs.__main__ import cli\n"
        "try: cli(['build', '-q', '--strict'])\n"
        "except SystemExit as e: assert not e.code\n"
        "print([m for m in ('numpy', 'scipy', 'pint', 'wasmtime', 'pydantic') if m in sys.modules])"
    )
    for more, heavy in (("", True), ("reference: words.md, ", False)):
        plugin = f"builddoc: {{{more}cache_dir: {KEPT}}}"
        (tmp_path / "mkdocs.yml").write_text(f"site_name: x\nplugins: [{{{plugin}}}]\n", "utf-8")
        assert ("numpy" in run(code, tmp_path)) if heavy else (run(code, tmp_path).strip() == "[]")
    assert '<figure class="bd"' in (tmp_path / "site" / "index.html").read_text("utf-8")


def test_import_is_cheap(tmp_path: Path) -> None:
    code = "import builddoc, sys; print([m for m in ('numpy', 'pint', 'jinja2', 'yaml') if m in sys.modules])"
    assert run(code, tmp_path).strip() == "[]"


def test_both_drawings_and_the_plain_one_alone() -> None:
    both = builddoc.render(GOOD + "\nshow: {view: both}\n").html
    assert "bd-circuit" in both and "Flow diagram of" in both and "The same as a plain flow diagram" in both
    ids = re.findall(r' id="([^"]+)"', both)
    assert len(ids) == len(set(ids))
    plain = builddoc.render(GOOD + "\nshow: {view: flow diagram}\n").html
    assert "Flow diagram of" in plain and "Circuit drawing of" not in plain
    assert "Flow diagram of" not in builddoc.render(GOOD).html
