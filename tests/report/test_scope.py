"""What a reader's machine must share: named from the circuit, nothing that the circuit does not have."""

from __future__ import annotations

from builddoc.pipeline import solve_text

from .test_parts import TEXT


def test_scope_names_oil_pump_reliefs_loads_and_lines():
    report = solve_text(TEXT.replace("oil: {grade: ISO VG 46, temperature: 45 °C}", "oil: {grade: ISO VG 46, temperature: 45 °C}\nstates: {warm: {}, cold: {oil temperature: 5 °C}}")).report  # noqa: E501
    assert report is not None
    text = "\n".join(report.scope)
    for words in (
        "ISO VG 46 between 41 °F and 113 °F", "Pump pump: displacement 0.61 in³/rev", "the relief in valve at 2176 psi",
        "left and right", "The 5 lines have", "the longest is out, 4.92 ft", "valve: second-hand",
    ):  # fmt: skip
        assert words in text, (words, text)


def test_scope_says_nothing_of_what_is_not_there():
    text = "\n".join(solve_text(TEXT.replace("salvaged: yes, ", "")).report.scope)
    assert "second-hand" not in text and "without figures" not in text and "it drives nothing else" not in text
