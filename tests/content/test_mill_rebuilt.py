"""The mill's journal: revision B by hand, and what happens to the pages when one number of the machine changes.

1. Lifting. Rod sides of 63/32: 23.13 cm2 each; 13.25 kN: 57.3 bar above what the cap side holds against it. The divider
   turns at half the pump's flow each, so both move at 22.32 L/min / (2 x 23.13 cm2) = 80.4 mm/s.
2. Divider. 2 p_in = p_A + p_B + 2 x 5 bar.
3. Clamp at its stop: the reducing valve holds 60 bar; 60 bar x 19.63 cm2 = 11.8 kN.
"""

# ruff: noqa: E501
from __future__ import annotations

import math
import re
import shutil
from pathlib import Path

import pytest
from builddoc.cli import main
from builddoc.history.facts import facts
from builddoc.pipeline import solve_text
from click.testing import CliRunner

from ..site.building import make_site
from .conftest import CONTENT, LPM, Figures, bases, block, page_path, page_text, solve_page

PAGE = "bandsaw-mill/rebuilt.md"
ROD = math.pi / 4 * (0.063**2 - 0.032**2)
MILL = ["bandsaw-mill-as-first-built.md", *(f"bandsaw-mill/{n}.md" for n in ("measured", "rebuilt", "before-and-after", "sheets"))]


@pytest.fixture(scope="module")
def mill() -> Figures:
    return Figures(solve_page(PAGE))


def test_lifting(mill):
    for side in ("left", "right"):
        rod, cap = (mill.pressure(f"{side} lifter", port, "lifting") for port in ("rod", "cap"))
        assert rod == pytest.approx(13250 / ROD / 1e5 + cap * math.pi / 4 * 0.063**2 / ROD, rel=1e-6)
        assert abs(mill.speed(f"{side} lifter", "rod", "lifting")) == pytest.approx(22.32 * LPM / (2 * ROD), rel=5e-3)


def test_divider_multiplies(mill):
    for state in ("lifting", "log lies to the left"):
        outlets = [mill.pressure("divider", x, state) for x in "AB"]
        assert 2 * mill.pressure("divider", "inlet", state) == pytest.approx(sum(outlets) + 10, rel=1e-6)
    assert mill.pressure("divider", "A", "log lies to the left") > mill.pressure("divider", "inlet", "log lies to the left")


def test_clamp(mill):
    assert mill.least("clamp ram", "cap", "clamp at its stop") == pytest.approx(60, abs=0.1)
    assert round(60e5 * math.pi / 4 * 0.05**2 / 1e3, 1) == 11.8


def test_oil_shut_in_at_the_head_thirty_kelvin_warmer(mill):
    """6.28 kN on 12.57 cm2 keep 49.97 bar, 48.57 with the cap side at its -0.9 bar (x 1.5625). The cap side is shut by
    the bank's spool: where it leaks, the head creeps up and the load's 49.97 bar stay. Where it is tight, 30 K x
    0.0007/K x 1.6 GPa = 336 bar in stiff walls, and the cap side presses on it with 19.63/12.57 = 1.5625 of the same:
    525 bar on top of the 48.57."""
    (cell,) = [c for c in facts(mill.case).figures["head ram.warmed"].cells if c]
    low = mill.least("head ram", "rod", "head held")
    assert low == pytest.approx(6280 / (math.pi / 4 * (0.05**2 - 0.03**2)) / 1e5 - 0.9 * 1.5625, rel=1e-3)
    assert cell[0] / 1e5 == pytest.approx(6280 / (math.pi / 4 * (0.05**2 - 0.03**2)) / 1e5, rel=1e-3)
    assert cell[1] / 1e5 == pytest.approx(low + 525, abs=0.5)
    assert (cell[1] / 1e5 - low) / 30 == pytest.approx(18, abs=0.6)  # as the page says, per kelvin


def test_the_envelope_tells_what_warming_makes_of_shut_in_oil(mill):
    """The load's 49.97 bar, or 48.57 and 525 more, as above; behind the reducing valve 60 bar and as much as 30 K make in stiff walls,
    30 x 0.0007 x 1.6 GPa = 336. The pump's side stays what the relief makes it."""
    (table,) = [t for t in mill.solved.report.tables if t.key == "envelope"]
    rows = {row[0].text: row for row in table.rows}
    tube = rows["head tube"]
    assert tube[1].value / 1e5 == pytest.approx(48.57 + 525, abs=0.5) and tube[1].text == "50 to 574"
    assert tube[2].text == "oil shut in and warmed, on top of load on head ram"
    assert "main relief, open" in tube[2].note and "head held, 30 K warmer" in tube[1].note
    assert rows["clamp ram.cap"][1].value / 1e5 == pytest.approx(60 + 336, abs=0.5)
    assert rows["clamp ram.cap"][2].text == "oil shut in and warmed, on top of setting of clamp reducer"
    assert rows["feed"][2].text == "main relief, open" and "warmer" in table.caption


def test_gone_and_new(mill):
    rules = {f.rule for f in mill.solved.findings if f.outcome == "finding"}
    assert not rules & {"rating-low-pressure-fitting", "path-tank-port-pressurised", "path-series-sum", "motor-series-drain"}
    assert {"trapped-thermal", "suct-vacuum", "path-deadhead-coupler"} <= rules
    assert not [f for f in mill.solved.findings if f.outcome == "finding" and f.signal == "DANGER"]


@pytest.fixture(scope="module")
def smaller_pump(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The mill's pages with a pump of 8 instead of 10 cc/rev: one number."""
    folder = tmp_path_factory.mktemp("journal") / "docs"
    for name in MILL:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(CONTENT / name, folder / name)
    first = folder / MILL[0]
    text = first.read_text("utf-8")
    assert text.count("displacement: 10 cc/rev") == 1
    first.write_text(text.replace("displacement: 10 cc/rev", "displacement: 8 cc/rev"), "utf-8")
    return folder


def test_a_stale_claim_turns_false_with_its_line(smaller_pump, monkeypatch):
    monkeypatch.chdir(smaller_pump.parent)
    result = CliRunner().invoke(main, ["check", "docs"])
    assert result.exit_code == 1
    line = next(n for n, t in enumerate((smaller_pump / PAGE).read_text("utf-8").splitlines(), 1) if "80 mm/s ± 4" in t)
    (false,) = [t for t in result.stdout.splitlines() if "[claim-false]" in t]
    assert false.startswith(f"docs/{PAGE}:{line}:") and "63.7 mm/s" in false
    measured = (smaller_pump / "bandsaw-mill/measured.md").read_text("utf-8").splitlines()
    lines = [n for n, t in enumerate(measured, 1) if t.startswith("seen: ")]
    gone = [t.split(" ", 1)[0] for t in result.stdout.splitlines() if "[readings-withdrawn]" in t]
    assert len(lines) == 3 and gone == [f"docs/bandsaw-mill/measured.md:{line}:7:" for line in lines]
    assert "was read as" not in result.stdout, "what is withdrawn is compared with nothing"


def page_of(site: Path, name: str) -> str:
    return (site / name / "index.html").read_text("utf-8")


def figures_in_prose(site: Path, name: str) -> dict[str, str]:
    return dict(re.findall(r'bd-value" title="([^"]*)">([^<]*)<', page_of(site, name)))


def test_figures_follow_and_the_strict_build_fails(smaller_pump, built, tmp_path):
    pages = {name: (smaller_pump / name).read_text("utf-8") for name in MILL if "sheets" not in name}
    changed = make_site(tmp_path, {"index.md": "# Home\n", **pages}, strict=True)
    assert changed.aborted
    for code in ("claim-false", "readings-withdrawn"):
        assert any(f"[{code}]" in text for text in changed.warnings), code
    now, before = (figures_in_prose(site, "bandsaw-mill/rebuilt") for site in (tmp_path / "site", built))
    assert now.keys() == before.keys() and len(before) >= 8
    # All of them follow but those that no pump sets: the clamp has its reducing valve, the carriage its flow control, and
    # the oil under the held head its load and the sun.
    assert {title.split(",")[0] for title in now if now[title] == before[title]} == {
        "clamp ram cap pressure", "carriage motor speed", "head tube pressure", "head ram warmed",
    }  # fmt: skip
    shown = changed.read("bandsaw-mill/measured/index.html")
    assert shown.count("Withdrawn: the circuit of revision") == 3 and "✓ agrees" not in shown


def test_the_comparison_says_what_was_bought_and_brought(built):
    page = page_of(built, "bandsaw-mill/before-and-after")
    assert "nothing but a spool held the saw head" in page
    assert "Gone (" in page and "New (" in page
    bought, brought = page[page.index("bd-glance") : page.index("bd-sides")].split("bd-brought")
    assert "DANGER" in bought and "Malleable iron tee" in bought
    assert "DANGER" not in brought and "the oil shut in at head ram and head tube" in brought
    later = page_of(built, "bandsaw-mill/measured")
    assert "has been at revision B since" in later and "+100 % since 2026-04-11" in later


def test_without_the_outlet_reliefs_the_divider_is_a_finding():
    """The brief: up to 300 bar less the rotation loss. p_A = 2 p_inlet - 2 x 5 bar where p_B is nothing, with 150 bar, the
    override 3 x 22.3 / 40 and the relief's own return, 0.4 bar, at the inlet: 294 bar, and the lifters are rated 210."""
    place = block(PAGE)
    text = re.sub(r",\s*outlet reliefs: \{[^}]*\}", "", place.text)
    text = re.sub(r"\n\s*divider drain: \{[^\n]*", "", text)
    assert "outlet reliefs" not in text and "divider drain" not in text
    found = solve_text(text, page_path(PAGE), place.line, place.column, bases()).findings
    hits = [f for f in found if f.rule == "split-intensify" and f.outcome == "finding"]
    assert [f.subject for f in hits] == ["divider.A", "divider.B"] and {f.signal for f in hits} == {"WARNING"}
    assert hits[0].figures["pressure"] / 1e5 == pytest.approx(2 * 152.07 - 10, rel=1e-3)
    assert "294 bar" in page_text(PAGE)
