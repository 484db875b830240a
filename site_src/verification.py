"""MkDocs hook of our own site: the Verification page, made from the outside checks of the tests at every build."""

from __future__ import annotations

import sys
from pathlib import Path

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files

PAGE = "reference/verification.md"
INTRO = """---
hide:
  - toc
---

# Verification

What this tool computes, beside what others have published. Every line below is worked anew by the functions of the
package when this site is built, and every line is also a test: a figure that leaves the stated tolerance stops the
build of the project.

**How to read it.** *Published* is the figure as printed in the source, *computed* is ours from the source's own input.
*Allowed* is the precision that the source itself can be held to. Below a table stands why a figure is not met, where it
is not; such a figure is not counted as a confirmation. In brackets: the place in the source, and how it was read (its
page was seen, it was seen in a companion of the book, it was quoted by another text, or it was recalled from memory).

**What it does not show.** That the formulas fit *your* machine. Most sources are textbooks, which agree with each other
because they use the same laws. What real hoses, worn pumps and hand-drilled manifolds do is settled by a gauge: put
readings on your page, and the page will put them beside its predictions.

Whole circuits are checked in three more ways, which have no place in a table: small circuits with an exact answer by
hand; random circuits solved again by nested root finding, which shares nothing with the solver but the data; and a
certificate in each state of each page that is recomputed from pressures and flows alone
([how the circuit is solved](../explanation/how-a-circuit-is-solved.md)).

## Published figures

"""


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add the page to the site."""
    root = str(Path(config.config_file_path).parent)
    if root not in sys.path:
        sys.path.insert(0, root)
    from tests.outside import summary

    files.append(File.generated(config, PAGE, content=INTRO + summary.markdown()))
    return files
