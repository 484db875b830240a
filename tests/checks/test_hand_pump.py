"""Force on a hand pump's lever: 101.86 bar x piston / ratio (20 kN on 50 mm)."""

from __future__ import annotations

import pytest
from builddoc.pipeline import solve_text

TEXT = """
machine: jack
oil: {grade: ISO VG 32, temperature: 20 °C}
parts:
  tank: {kind: reservoir, volume: 3 L}
  pump: {kind: hand pump, stroke volume: 25 cc, %s}
  ram: {kind: single-acting cylinder, bore: 50 mm, stroke: 150 mm}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  out: {route: pump.outlet > ram.cap, direct: yes}
states:
  pumping: {pump: 30 strokes/min, loads: {ram: 20 kN compression}}
"""


@pytest.mark.parametrize(
    ("keys", "outcome", "force"),
    [
        ("piston: 3 cm2, lever ratio: 15:1", "ok", 203.7),
        ("piston: 3 cm2, lever ratio: 10.19:1", "ok", 299.9),
        ("piston: 3 cm2, lever ratio: 10.18:1", "finding", 300.2),
        ("piston: 3 cm2", "not checked", None),
    ],
)
def test_lever(keys, outcome, force):
    (found,) = [f for f in solve_text(TEXT % keys).findings if f.rule == "hand-pump-force"]
    assert found.outcome == outcome
    assert force is None or found.figures["force"] == pytest.approx(force, abs=0.1)


def test_nobody_asks_for_an_engine():
    solved = solve_text(TEXT % "piston: 3 cm2, lever ratio: 15:1")
    (found,) = [f for f in solved.findings if f.rule == "power-engine"]
    assert found.outcome == "does not apply"
    assert any(k.label == "Power by hand" for k in solved.report.key_figures)
