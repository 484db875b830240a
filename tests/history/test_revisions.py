"""Revisions written as changes: golden cases of wrong ones, and that they mean the same as when written whole.

After a change of wording: `BUILDDOC_UPDATE_GOLDEN=1 pytest tests/history/test_revisions.py`, then read every change.
"""

from __future__ import annotations

import copy
import dataclasses
import os
import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from builddoc.circuit import Circuit
from builddoc.history.registry import Registry, head_of
from builddoc.language import read
from builddoc.language.reference import example, revision_example
from builddoc.messages import Place
from builddoc.page.rendering import noted
from builddoc.pipeline import solve_text
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


@pytest.mark.parametrize("page", ["first.md", "second.md"])
def test_a_finding_in_the_text_of_the_earlier_revision_says_whose_it_is(page: str) -> None:
    """Also where both stand on one page: the line alone does not tell."""
    bases = Registry.of([Source(example(), "first.md", 3), Source(revision_example(), page, 60)])
    found = {n.rule: n for n in noted(solve_text(revision_example(), page, 60, 1, bases))}
    own, over = found["filt-rating"], found["gauge-points"]
    assert own.place is not None and own.place.path == page and own.place.line > 60 and own.taken_over == ""
    assert over.place is not None and over.place.path == "first.md" and over.place.line < 60
    assert "of revision B, which takes this line over from revision A" in str(over)


# ---- whole revision == changed revision, for random edits one after the other
BIG = example()
BIG_REGISTRY = Registry.of([Source(BIG, "first.md")])
Tree = dict[str, Any]


def leaves(tree: Any, path: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    """Paths of all texts below a tree of groups whose names can be written in a path."""
    if isinstance(tree, dict):
        return [leaf for key, inner in tree.items() if "." not in key for leaf in leaves(inner, (*path, key))]
    return [path] if isinstance(tree, str) else []


def at(tree: Tree, path: tuple[str, ...]) -> Any:
    for step in path:
        tree = tree[step]
    return tree


def edit_set(draw: Any, tree: Tree) -> Tree:
    """Another number in front of a unit, anywhere."""
    found = [p for p in leaves(tree) if len(p) > 1 and re.match(r"[0-9.]+ \S+$", at(tree, p))]
    path, number = draw(st.sampled_from(found)), draw(st.integers(1, 60))
    value = re.sub(r"^[0-9.]+", str(number), at(tree, path))
    at(tree, path[:-1])[path[-1]] = value
    return {"set": {".".join(path): value}}


def edit_new_key(draw: Any, tree: Tree) -> Tree:
    """A key that was not said before, some of them wrong for the part."""
    part = draw(st.sampled_from(sorted(tree["parts"])))
    key, value = draw(st.sampled_from([("note", "found in a barn"), ("rating", "190 bar"), ("leakage", "0.1 L/min")]))
    if key in tree["parts"][part]:
        return edit_set(draw, tree)
    tree["parts"][part][key] = value
    return {"set": {f"parts.{part}.{key}": value}}


def edit_remove(draw: Any, tree: Tree) -> Tree:
    """A part, line or state, or something below one."""
    section = draw(st.sampled_from(["parts", "lines", "states"]))
    names = [name for name in tree[section] if "." not in name]
    if len(names) < 2:
        return edit_set(draw, tree)
    name = draw(st.sampled_from(names))
    inner = [key for key in tree[section][name] if "." not in key] if isinstance(tree[section][name], dict) else []
    key = draw(st.sampled_from([None, *inner]))
    if key is None:
        del tree[section][name]
        return {"remove": [f"{section}.{name}"]}
    del tree[section][name][key]
    return {"remove": f"{section}.{name}.{key}"}


def edit_add(draw: Any, tree: Tree) -> Tree:
    number = draw(st.integers(1, 9))
    line = draw(st.sampled_from(sorted(tree["lines"])))
    part, tap = f"gauge {number}", f"tap {number}"
    if part in tree["parts"] or tap in tree["lines"]:
        return edit_set(draw, tree)
    new = {"parts": {part: {"kind": "gauge point"}},
           "lines": {tap: {"route": f"{line} at 0.{number} m > {part}", "direct": "yes"}}}  # fmt: skip
    for section, entries in new.items():
        tree[section].update(copy.deepcopy(entries))
    return {"add": new}


def edit_state(draw: Any, tree: Tree) -> Tree:
    name = f"state {draw(st.integers(1, 9))}"
    state = draw(st.sampled_from([{}, {"oil temperature": "5 °C"}, {"lifter": "A", "at stop": {"ram": "extended"}}]))
    verb = "replace" if name in tree["states"] else "add"
    tree["states"][name] = copy.deepcopy(state)
    return {verb: {"states": {name: state}}}


def edit_replace(draw: Any, tree: Tree) -> Tree:
    section = draw(st.sampled_from(["parts", "lines"]))
    name, other = (draw(st.sampled_from(sorted(tree[section]))) for _ in range(2))
    tree[section][name] = copy.deepcopy(tree[section][other])
    return {"replace": {section: {name: copy.deepcopy(tree[section][other])}}}


def edit_route(draw: Any, tree: Tree) -> Tree:
    line = draw(st.sampled_from([n for n in sorted(tree["lines"]) if "route" in tree["lines"][n]]))
    ends = tree["lines"][line]["route"].split(" > ")
    route = " > ".join(draw(st.sampled_from([ends[::-1], [ends[0], "tank"], ["pump.outlet", ends[-1]]])))
    tree["lines"][line]["route"] = route
    return {"re-route": {line: route}}


def edit_settings(draw: Any, tree: Tree) -> Tree:
    n = draw(st.integers(1, 30))
    if draw(st.booleans()):
        tree["ambient"] = f"{n} °C"
        return {"set": {"ambient": f"{n} °C"}}
    tree["oil"]["temperature"] = f"{n + 20} °C"
    return {"set": {"oil.temperature": f"{n + 20} °C"}}


EDITS = (edit_set, edit_set, edit_new_key, edit_remove, edit_add, edit_state, edit_replace, edit_route, edit_settings)


@settings(max_examples=120, deadline=None)
@given(st.data())
def test_whole_and_changed_are_the_same(data: st.DataObject) -> None:
    """Whatever is done, in whatever order, also to what an earlier change brought: both ways of writing give the same
    circuit, or both give none and the same things are said."""
    tree = yaml.load(BIG, Loader=yaml.BaseLoader)
    edits = data.draw(st.lists(st.sampled_from(EDITS), max_size=10))
    changes = [{**edit(data.draw, tree), "because": "we tried"} for edit in edits]
    head = {"machine": tree["machine"], "revision": "B", "from": "A", "changes": changes}
    changed = read(yaml.safe_dump(head, sort_keys=False, allow_unicode=True), "page.md", 1, 1, BIG_REGISTRY)
    for key in ("date", "title", "status"):
        tree.pop(key, None)
    whole = read(yaml.safe_dump({**tree, "revision": "B"}, sort_keys=False, allow_unicode=True), "page.md", 1, 1)
    assert (changed.circuit is None) == (whole.circuit is None), [str(m) for m in (*changed.messages, *whole.messages)]
    if whole.circuit is not None and changed.circuit is not None:
        assert same(changed.circuit) == same(whole.circuit)
    said = [{(m.code, m.text) for m in r.messages if m.code != "change-nothing"} for r in (changed, whole)]
    assert said[0] == said[1]
