"""The fence alone under the successor generator: builds a small site with it and looks for the drawing.

Run by .ci/run in an environment of its own, where that generator and this package are installed.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
CONFIG = """\
site_name: Fence alone
docs_dir: docs
site_dir: site
markdown_extensions:
  - pymdownx.superfences:
      custom_fences:
        - name: circuit
          class: bd-block
          format: !!python/name:builddoc.fence.formatter
          validator: !!python/name:builddoc.fence.validator
"""
sys.path.insert(0, str(HERE.parents[1]))
from tests.site.pieces import fenced  # noqa: E402


def main() -> int:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "docs").mkdir()
        (folder / "docs" / "index.md").write_text(f"# Clamp\n\n1. a step\n\n{fenced(indent='    ')}\nEnd.\n", "utf-8")
        (folder / "mkdocs.yml").write_text(CONFIG, "utf-8")
        done = subprocess.run([Path(sys.executable).parent / "zensical", "build"], cwd=folder, timeout=120)
        html = (folder / "site" / "index.html").read_text("utf-8")
        drawings = html.count('class="bd-drawing bd-whole"')
        print(f"exit code {done.returncode}, {drawings} drawings")
        return 0 if done.returncode == 0 and drawings == 2 else 1


if __name__ == "__main__":
    sys.exit(main())
