"""Figures and claims in prose, right and wrong.

After a change of wording: `BUILDDOC_UPDATE_GOLDEN=1 pytest tests/history/test_claims.py`, then read every change.
"""

from __future__ import annotations

import json
import logging
import os
from functools import cache
from pathlib import Path

import builddoc.fence
import markdown
import pytest
from builddoc.fence import Fence, fence
from builddoc.history.claims import Answer, answer, find_spans
from builddoc.history.facts import QUANTITIES, Facts, facts
from builddoc.history.journal import PageJournal, spoken
from builddoc.history.registry import Entry, Registry
from builddoc.language.reference import example, revision_example
from builddoc.pipeline import solve_text
from builddoc.sources import Source

GOLDEN = Path(__file__).parent.parent / "golden" / "claims"
CIRCUITS = f"```circuit\n{example()}\n```\n\n```circuit\n{revision_example()}\n```\n\n"


@cache
def solved(entry: Entry) -> Facts | None:
    case = solve_text(entry.text, entry.path, bases=REGISTRY).case
    return facts(case) if case is not None else None


REGISTRY = Registry.of([Source(example(), "a.md"), Source(revision_example(), "b.md")])
JOURNAL = PageJournal(REGISTRY, solved)


def say(kind: str, words: str) -> Answer:
    return answer(kind, words, JOURNAL)


def test_golden() -> None:
    """Every message with the line and column of its span."""
    text = (GOLDEN / "page.md").read_text("utf-8")
    found = [(span, message) for span, message in spoken(text, "page.md", JOURNAL)]
    said = "".join(f"{message}\n" for _, message in found if message)
    if os.environ.get("BUILDDOC_UPDATE_GOLDEN"):
        (GOLDEN / "page.said").write_text(said, "utf-8")
    assert said == (GOLDEN / "page.said").read_text("utf-8")
    lines = text.split("\n")
    for span, message in found:
        assert lines[span.line - 1][span.column - 1 :].startswith("`")
        assert (message is None) == (span.line < 13)


def test_figures_by_hand() -> None:
    """6 cc/rev at 3000 rpm is 18 L/min; less the slip of a pump 5 cc/rev gives 5/6 of it, near enough. The rod rises
    400 mm over a 50 mm bore: 19.63 cm2 x 40 cm = 785.4 cm3, at 16.5 L/min 2.85 s."""
    a, b = JOURNAL.facts("log lifter", "A"), JOURNAL.facts("log lifter", "B")
    lifting = a.states.index("lifting")
    flow = a.figures["feed.flow"].cells[lifting]
    time = a.figures["ram.time"].cells[lifting]
    assert flow and time and 16 / 60e3 < flow[0] < 18 / 60e3
    assert time[0] == pytest.approx(785.4e-6 / flow[0], rel=1e-3)
    other = b.figures["feed.flow"].cells[lifting]
    assert other and other[0] / flow[0] == pytest.approx(5 / 6, rel=0.01)
    assert say("figure", "A: feed.flow, lifting").text.endswith("gpm)"), "the page's units: metric, then US"


def test_facts_survive_json() -> None:
    found = JOURNAL.facts("log lifter", "A")
    again = Facts.from_data(json.loads(json.dumps(found.to_data())))
    assert again.figures.keys() == found.figures.keys()
    for name, figure in found.figures.items():
        for left, right in zip(figure.cells, again.figures[name].cells, strict=True):
            assert left == right or right == pytest.approx(left, rel=1e-8)


def test_every_listed_quantity_is_there() -> None:
    own = {name.rsplit(".", 1)[1] for name in JOURNAL.facts("log lifter", "A").figures}
    assert set(QUANTITIES) - own == {"warmed"}  # needs oil that is shut in: tests/content/test_mill_rebuilt.py


def test_a_range_is_no_figure() -> None:
    """Oil shut in has any pressure of a range: a claim inside the range has no answer, one outside it has."""
    data = JOURNAL.facts("log lifter", "A").to_data()
    data["figures"]["raise.pressure"] = ["pressure", [[3e5, 80e5]], ""]
    journal = PageJournal(REGISTRY, lambda entry: Facts.from_data(data))
    assert answer("claim", "A: raise.pressure < 90 bar, idling", journal).holds is True
    assert answer("claim", "A: raise.pressure < 50 bar, idling", journal).holds is None
    assert answer("claim", "A: raise.pressure < 2 bar, idling", journal).holds is False
    assert answer("figure", "A: raise.pressure, idling", journal).text.startswith("between 3 bar")


def test_a_state_without_figures_is_not_passed_over() -> None:
    data = JOURNAL.facts("log lifter", "A").to_data()
    cells = data["figures"]["feed.pressure"][1]
    data["figures"]["feed.pressure"][1] = [None, *cells[1:]]
    data["failed"] = {"idling": "no steady state"}
    journal = PageJournal(REGISTRY, lambda entry: Facts.from_data(data))
    said = answer("claim", "A: feed.pressure < 900 bar, any state", journal)
    assert said.holds is None and "no steady state" in said.detail


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("`claim: A: x.y < 1 bar`", ["claim"]),
        ("``figure: A: x.y``", ["figure"]),
        ("text `code` `claim : x` `aclaim: x`", []),
        ("    ~~~\n`claim: a`\n    ~~~", []),
    ],
)
def test_spans(written: str, kind: list[str]) -> None:
    assert [span.kind for span in find_spans(written)] == kind


# ---- on a page
def convert(text: str, own: Fence, *more: str) -> str:
    return markdown.markdown(
        text,
        extensions=["pymdownx.superfences", "builddoc.inline", "tables", "toc", "admonition", *more],
        extension_configs={
            "pymdownx.superfences": {"custom_fences": [fence(own)]},
            "builddoc.inline": {"fence": own},
        },
    )


def test_wherever_markdown_has_text(caplog: pytest.LogCaptureFixture) -> None:
    figure = "`figure: A: feed.pressure, lifting`"
    text = f"{CIRCUITS}# Head {figure}\n\n- item {figure}\n\n| a | b |\n|---|---|\n| {figure} | x |\n\n"
    text += f"!!! note\n    {figure}\n\n> {figure}\n\n**{figure}** `figure` `x`"
    with caplog.at_level(logging.WARNING, "builddoc"):
        html = convert(text, Fence())
    assert html.count('<span class="bd-value"') == 6
    assert html.count(">64.2 bar (931 psi)</span>") == 6
    assert "<code>figure</code>" in html
    assert not [r for r in caplog.records if "unclear" in r.message]


def test_false_and_unclear_are_said_on_the_page_and_in_the_log(caplog: pytest.LogCaptureFixture) -> None:
    text = f"{CIRCUITS}`claim: A: feed.pressure < 10 bar, lifting` `claim: A: fed.pressure < 10 bar, lifting`"
    with caplog.at_level(logging.WARNING, "builddoc"):
        html = convert(text, Fence())
    assert "FALSE: feed pressure of revision A &lt; 10 bar in 'lifting' – it is 64.2 bar (931 psi)" in html
    assert "NO ANSWER: claim: A: fed.pressure &lt; 10 bar, lifting" in html
    assert sum("claim-false" in r.message for r in caplog.records) == 1
    assert sum("claim-unclear" in r.message for r in caplog.records) == 1


def test_one_circuit_needs_no_name_and_a_change_makes_the_claim_false() -> None:
    page = "```circuit\n{}\n```\n\nSlow: `claim: ram.time > 2.5 s, lifting`, `figure: pump.displacement`"
    assert "✓" in convert(page.format(example()), Fence())
    html = convert(page.format(example().replace("6 cc/rev", "8 cc/rev")), Fence())
    assert "FALSE: ram time &gt; 2.5 s" in html and ">8 cc/rev" in html


def test_the_common_fence_is_used_by_name() -> None:
    html = markdown.markdown(
        f"{CIRCUITS}`figure: A: feed.flow, lifting`",
        extensions=["pymdownx.superfences", "builddoc.inline"],
        extension_configs={"pymdownx.superfences": {"custom_fences": [builddoc.fence.FENCE]}},
    )
    assert '<span class="bd-value"' in html


def test_circuit_with_errors() -> None:
    html = convert("```circuit\nmachine: x\n```\n\n`figure: feed.flow`", Fence())
    assert "has errors" in html
