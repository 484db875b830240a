"""The sheet fence: which machine, which sheets, and what it says to a slip of the pen."""

from __future__ import annotations

import logging

import markdown
import pytest
from builddoc.fence import Fence, NamingFence, fence

from .test_sheets import TEXT

CIRCUIT = f"```circuit\n{TEXT.strip()}\n```\n\n"
BLOCK = "```sheet\nmachine: splitter\nsheet: [first start, hoses]\n```\n"
REBUILT = """```circuit
machine: splitter
revision: B
date: 2026-05-01
from: A
changes:
  - set: {pump.speed: 2000 rpm}
    because: it was too fast
```

"""


def convert(text: str) -> str:
    own = Fence()
    fences = [fence(own), fence(NamingFence("sheet", own), "sheet")]
    return markdown.markdown(
        text, extensions=["pymdownx.superfences"], extension_configs={"pymdownx.superfences": {"custom_fences": fences}}
    )


def test_sheets_of_a_machine_on_the_page() -> None:
    html = convert(CIRCUIT + BLOCK)
    assert html.count('class="bd bd-sheet"') == 2
    assert "First start and pressure setting" in html and "Hose schedule" in html
    ids = [part.split('"')[0] for part in html.split(' id="')[1:]]
    assert len(ids) == len(set(ids))


def test_one_sheet_may_stand_without_a_list() -> None:
    html = convert(CIRCUIT + BLOCK.replace("[first start, hoses]", "maintenance"))
    assert html.count('class="bd bd-sheet"') == 1 and "Inspection and maintenance" in html


@pytest.mark.parametrize(("status", "revision"), [("", "B"), ("status: planned\n", "A")])
def test_the_newest_built_revision_is_meant(status: str, revision: str) -> None:
    html = convert(CIRCUIT + REBUILT.replace("from: A", f"{status}from: A") + BLOCK)
    assert f"splitter, revision {revision}" in html[html.index("bd-sheet") :]


@pytest.mark.parametrize(
    ("block", "code", "line", "words"),
    [
        (BLOCK.replace("hoses]", "hose]"), "sheet-unknown", 2, "did you mean 'hoses'?"),
        (BLOCK.replace("splitter", "spliter"), "revision-unknown", 1, "there is no"),
        (BLOCK.replace("machine: splitter", "machine: splitter\nrevision: C"), "revision-unknown", 1, "there is: A"),
        (BLOCK.replace("sheet: [", "shet: ["), "key-unknown", 2, "did you mean 'sheet'?"),
        (BLOCK.replace("sheet: [first start, hoses]", "title: x"), "key-unknown", 2, "title"),
    ],
)
def test_wrong_blocks(block: str, code: str, line: int, words: str, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING, "builddoc"):
        html = convert(CIRCUIT + block)
    said = [r.message for r in caplog.records if f"[{code}]" in r.message]
    assert said and f":{line}:" in said[0] and words in said[0], [r.message for r in caplog.records]
    assert "bd-sheet" not in html and code in html
