"""Two builds of one site are the same, byte for byte: each in a process of its own, with nothing kept from the other
and with another order of Python's sets."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from builddoc import kinds
from builddoc.kinds.bench import bench

from .building import GOOD, fenced

KINDS = ("directional valve", "flow divider", "counterbalance valve")  # with a circuit each, of several states
SETTINGS = """site_name: T
theme: {name: material, font: false}
plugins: [search, {builddoc: {machines: machines.md}}]
markdown_extensions: [attr_list, admonition, tables]
"""


def test_two_builds_are_the_same(tmp_path: Path) -> None:
    builds = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        (folder / "docs").mkdir(parents=True)
        (folder / "mkdocs.yml").write_text(SETTINGS, "utf-8")
        (folder / "docs" / "index.md").write_text(f"# A\n\n{fenced(GOOD)}\n", "utf-8")
        for name in KINDS:
            text = f"# {name}\n\n{fenced(bench(kinds.registry()[name]))}\n"
            (folder / "docs" / f"{name.replace(' ', '-')}.md").write_text(text, "utf-8")
        # The day of the build stands in the map of the site.
        known = {**os.environ, "PYTHONHASHSEED": seed, "SOURCE_DATE_EPOCH": "1760000000", "NO_MKDOCS_2_WARNING": "1"}
        command = [sys.executable, "-m", "mkdocs", "build", "-q"]
        builds.append((folder, subprocess.Popen(command, cwd=folder, env=known, stderr=subprocess.DEVNULL)))
    assert [build.wait(240) for _, build in builds] == [0, 0]
    first, second = (_files(folder / "site") for folder, _ in builds)
    assert len(first) > 40 and b"bd-circuit" in first["flow-divider/index.html"]
    assert first.keys() == second.keys()
    assert [name for name in first if first[name] != second[name]] == []


def _files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}
