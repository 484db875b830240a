"""Published figures against the functions of the package. Sources are named in published.yaml."""

from __future__ import annotations

import re
from typing import Any

import pytest

from . import summary, worked

ENTRIES = worked.data()["checks"]
STATED = 120  # entries that must hold in full


def differing(entry: dict[str, Any]) -> set[str]:
    return {figure["name"] for figure in entry["expected"] if "differs" in figure}


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry["id"])
def test_every_figure_is_met_or_its_difference_is_stated(entry: dict[str, Any]) -> None:
    for outcome, figure in zip(worked.outcomes(entry), entry["expected"], strict=True):
        if "differs" in figure:
            assert not outcome.holds, f"{outcome.name} is met now: remove the excuse"
            assert abs(outcome.deviation) <= figure["up_to"], f"{outcome.name}: {outcome.deviation:+.4%}"
        else:
            assert outcome.holds, (
                f"{outcome.name} = {outcome.by}: {outcome.computed:.7g} {outcome.unit}, "
                f"printed {outcome.published:.7g}, off by {outcome.deviation:+.4%}, allowed {outcome.rel_tol:.2%}"
            )


def test_count_of_published_entries() -> None:
    whole = [
        entry["id"]
        for entry in ENTRIES
        if not differing(entry) and all(outcome.holds for outcome in worked.outcomes(entry))
    ]
    assert len(whole) >= STATED
    assert len({entry["id"] for entry in ENTRIES}) == len(ENTRIES)


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry["id"])
def test_every_figure_names_a_function_of_ours(entry: dict[str, Any]) -> None:
    for figure in entry["expected"]:
        assert worked.calls(figure["by"]), figure["name"]
        for call in worked.calls(figure["by"]):
            module, function = call.split(".")
            assert callable(getattr(worked.LIBRARY[module], function))
    assert entry["source"] in worked.data()["sources"]
    assert entry["seen_as"] in summary.SEEN


def test_inputs_are_used() -> None:
    """An input that no expression uses would make the entry look harder than it is."""
    for entry in ENTRIES:
        used = " ".join([*entry.get("steps", ()), *(figure["by"] for figure in entry["expected"])])
        for name in entry["given"]:
            assert re.search(rf"\b{name}\b", used), f"{entry['id']}: {name}"


def test_a_wrong_law_would_be_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The table is able to fail: 1 % on the area of a cylinder breaks nine entries that need it."""
    from builddoc.physics import cylinder

    real = cylinder.cap_area
    monkeypatch.setattr(cylinder, "cap_area", lambda bore: 1.01 * real(bore))
    broken = [e["id"] for e in ENTRIES if any(not o.holds for o in worked.outcomes(e)) and not differing(e)]
    assert len(broken) >= 9


def test_summary_lists_every_figure() -> None:
    table = summary.rows()
    assert len(table) == sum(len(entry["expected"]) for entry in ENTRIES)
    text = summary.markdown()
    heads = text.count("\n| Check ")
    assert heads == text.count("\n### ") == len({row.source for row in table})
    assert text.count("\n| ") == len(table) + heads
    assert text.count("\n\\* ") == sum(1 for row in table if row.reason) and "withheld" not in text
