"""Revisions written as changes: golden cases of wrong ones, and that they mean the same as when written whole.

After a change of wording: `BUILDDOC_UPDATE_GOLDEN=1 pytest tests/history/test_revisions.py`, then read every change.
"""

from __future__ import annotations

import dataclasses
import os
from pathlib import Path
from typing import Any

import pytest
import yaml
from builddoc.circuit import Circuit
from builddoc.history.registry import Registry, head_of
from builddoc.language import read
from builddoc.language.reference import example, revision_example
from builddoc.messages import Place
from builddoc.sources import Source
from hypothesis import given, settings
from hypothesis import strategies as st

GOLDEN = Path(__file__).parent.parent / "golden" / "revisions"
CASES = sorted(GOLDEN.glob("*.case"))
MARK = "=== messages ===\n"
BASE = (GOLDEN / "base.yml").read_text("utf-8")
REGISTRY = Registry.of([Source(BASE, "first.md", 31, 1)])
HEAD = "machine: log splitter\nrevision: B\nfrom: A\n"


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.stem)
def test_wrong_changes(case: Path) -> None:
    """Every message stands in the text of the changes, also where the trouble shows in the earlier revision."""
    text, mark, wanted = case.read_text("utf-8").partition(MARK)
    assert mark
    reading = read(text, "page.md", 11, 3, REGISTRY)
    said = "".join(f"{message}\n" for message in reading.messages)
    if os.environ.get("BUILDDOC_UPDATE_GOLDEN"):
        case.write_text(text + MARK + said, encoding="utf-8")
    assert reading.circuit is None
    assert said == wanted
    for message in reading.messages:
        assert message.place is not None and message.place.path == "page.md"
        assert 11 <= message.place.line < 11 + text.count("\n")


def same(value: Any) -> Any:
    """Without what tells how it was written."""
    if isinstance(value, Circuit):
        value = dataclasses.replace(value, base="", changes=(), text="", source="", date="", revision="")
    if isinstance(value, Place):
        return None
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: same(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {key: same(inner) for key, inner in value.items() if key != "places"}
    if isinstance(value, tuple | list):
        return [same(inner) for inner in value]
    if hasattr(value, "model_dump"):
        return same(value.model_dump())
    return value


def circuit(text: str, registry: Registry | None = None) -> Circuit:
    reading = read(text, "page.md", 1, 1, registry)
    assert reading.circuit is not None, [str(m) for m in reading.messages]
    return reading.circuit


def test_example_of_the_reference_page() -> None:
    found = circuit(revision_example(), Registry.of([Source(example(), "first.md")]))
    # 5 cc/rev and 125 bar by hand: 5e-6 m3 / (2 pi rad) = 7.9577e-7 m3/rad
    assert found.parts["pump"].params.displacement == pytest.approx(7.9577e-7, rel=1e-4)
    assert str(found.lines["return"].end) == "can.inlet"
    assert found.base == "A" and found.revision == "B" and found.date == "2025-08-30"
    assert [c.verb for c in found.changes] == ["set", "set", "replace", "add", "add"]
    assert same(circuit(found.text)) == same(found), "the download is the whole circuit"


def test_title_and_date_are_not_taken_over() -> None:
    first = "title: As first built\ndate: 2024-01-01\nstatus: withdrawn\n" + BASE
    found = circuit(HEAD + "changes:\n- {set: {relief.setting: 90 bar}, because: x}\n", registry(first))
    assert (found.title, found.date, found.status) == ("", "", "built")


def registry(*texts: str) -> Registry:
    return Registry.of(Source(text, f"{n}.md") for n, text in enumerate(texts))


def test_changes_of_changes() -> None:
    second = HEAD + "changes:\n- {set: {relief.setting: 90 bar}, because: softer}\n"
    third = second.replace("revision: B", "revision: C").replace("from: A", "from: B").replace("90", "80")
    third += "- {remove: feed.fittings.elbow 90, because: straight}\n"
    found = circuit(third, registry(BASE, second))
    assert found.parts["relief"].params.setting == pytest.approx(80e5)
    assert found.lines["feed"].fittings == ()
    assert found.changes[0].before == "90 bar"


def test_circle() -> None:
    second = HEAD.replace("from: A", "from: C") + "changes:\n- {set: {relief.setting: 90 bar}, because: x}\n"
    third = second.replace("revision: B", "revision: C").replace("from: C", "from: B")
    said = read(second, "page.md", 1, 1, registry(second, third)).messages
    assert [m.code for m in said] == ["base-wrong"] and "start from one another" in said[0].hint


def test_two_circuits_of_one_name() -> None:
    said = read(HEAD, "page.md", 1, 1, registry(BASE, BASE + "ambient: 3 °C\n")).messages
    assert [m.code for m in said] == ["from-several"]
    assert read(HEAD, "page.md", 1, 1, registry(BASE, BASE)).circuit is not None


def test_base_with_errors_is_told_at_from() -> None:
    said = read(HEAD, "page.md", 1, 1, registry(BASE.replace("pump.inlet", "pump.inlt"))).messages
    assert [(m.code, m.place.line if m.place else 0) for m in said] == [("base-wrong", 3)]
    assert "0.md:7:" in said[0].hint


def test_from_a_file(tmp_path: Path) -> None:
    (tmp_path / "first.yml").write_text(BASE, "utf-8")
    text = HEAD.replace("from: A", "from: {file: first.yml}") + "changes:\n- {remove: states.relief, because: x}\n"
    found = read(text, str(tmp_path / "page.md"))
    assert found.circuit is not None and list(found.circuit.states) == ["idling"]


@pytest.mark.parametrize(
    ("text", "machine", "revision", "base", "file"),
    [
        ("machine: mill # the old one\nrevision: 'B'\nfrom: A\n", "mill", "B", "A", ""),
        ('machine: "mill"\nparts:\n  revision: {}\n', "mill", "A", "", ""),
        ("machine: mill\nfrom: {revision: A, file: a.yml}\n", "mill", "A", "A", "a.yml"),
        ("machine: mill\nfrom:\n  file: a.yml\nrevision: C\n", "mill", "C", "", "a.yml"),
    ],
)
def test_head(text: str, machine: str, revision: str, base: str, file: str) -> None:
    head = head_of(text)
    assert (head.machine, head.revision, head.base, head.base_file) == (machine, revision, base, file)


def feed(n: int) -> dict[str, str]:
    return {"route": "pump.outlet > relief.inlet", "bore": f"{n} mm", "length": "2 m"}


# ---- whole revision == changed revision, for random edits
EDITS: dict[str, tuple[Any, Any]] = {
    # name -> what it does to the whole as plain data, and the change that says the same
    "set": (lambda d, n: d["parts"]["pump"].update(displacement=f"{n} cc/rev"),
            lambda n: {"set": {"pump.displacement": f"{n} cc/rev"}}),
    "set-new": (lambda d, n: d["parts"]["pump"].update({"volumetric efficiency": f"{80 + n} %"}),
                lambda n: {"set": {"parts.pump.volumetric efficiency": f"{80 + n} %"}}),
    "ambient": (lambda d, n: d.update(ambient=f"{n} °C"), lambda n: {"set": {"ambient": f"{n} °C"}}),
    "replace": (lambda d, n: d["lines"].update(feed=feed(n)),
                lambda n: {"replace": {"lines": {"feed": feed(n)}}}),
    "add": (lambda d, n: (d["parts"].update({f"gauge {n}": {"kind": "gauge point"}}),
                          d["lines"].update({f"tap {n}": {"route": f"feed at 0.{n} m > gauge {n}", "direct": "yes"}})),
            lambda n: {"add": {"parts": {f"gauge {n}": {"kind": "gauge point"}},
                               "lines": {f"tap {n}": {"route": f"feed at 0.{n} m > gauge {n}", "direct": "yes"}}}}),
    "remove": (lambda d, n: d["lines"]["feed"].pop("fittings", None), lambda n: {"remove": "feed.fittings"}),
    "state": (lambda d, n: d["states"].update(idling={"oil temperature": f"-{n} °C"}),
              lambda n: {"set": {"states.idling.oil temperature": f"-{n} °C"}}),
    "re-route": (lambda d, n: d["lines"]["back"].update(route="relief.outlet > tank.oil"),
                 lambda n: {"re-route": {"back": "relief.outlet > tank.oil"}}),
}  # fmt: skip

@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(sorted(EDITS)), st.integers(1, 9)), max_size=8, unique_by=lambda e: e[0]))
def test_whole_and_changed_are_the_same(edits: list[tuple[str, int]]) -> None:
    names = [name for name, _ in edits]
    if "replace" in names and "remove" in names:  # nothing to remove in the new line
        edits = [edit for edit in edits if edit[0] != "remove"]
    whole = yaml.load(BASE, Loader=yaml.BaseLoader)
    whole["states"]["idling"] = {}
    changes = []
    for name, n in edits:
        EDITS[name][0](whole, n)
        changes.append({**EDITS[name][1](n), "because": "we tried"})
    text = yaml.safe_dump({"machine": "log splitter", "revision": "B", "from": "A", "changes": changes},
                          sort_keys=False, allow_unicode=True)  # fmt: skip
    written = yaml.safe_dump({**whole, "revision": "B"}, sort_keys=False, allow_unicode=True)
    assert same(circuit(text, REGISTRY)) == same(circuit(written))
