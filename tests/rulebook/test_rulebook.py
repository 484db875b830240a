"""Rules explained: pages, terminal, and examples that are solved when they are shown."""

from __future__ import annotations

import pytest
import yaml
from builddoc.checks import examples as example_files
from builddoc.checks.base import RULES
from builddoc.checks.examples import Example
from builddoc.checks.examples import Set as ExampleSet
from builddoc.cli import main
from builddoc.page.draft import Site, rule_path
from builddoc.page.rendering import draft, figure
from builddoc.rulebook import cases, every_rule, explained, outcomes, rules_pages
from builddoc.rulebook.yaml_lines import LOADER, differing, entries, written
from click.testing import CliRunner

from ..cautions.circuits import changed
from ..own_site import reference

FAST = changed("{lines: {feed: {bore: 6 mm}}}")  # 8.84 m/s
SLOW = changed()  # 12 mm: 2.21 m/s
RULE = "ret-velocity"


@pytest.fixture
def with_examples(monkeypatch: pytest.MonkeyPatch) -> None:
    """A rule with a triggering and a passing circuit."""
    own = {
        "triggers": Example(RULE, "triggers", FAST, "finding", "feed"),
        "passes": Example(RULE, "passes", SLOW, "ok"),
    }
    monkeypatch.setattr(cases, "examples", lambda: {RULE: ExampleSet(own, {})})


@pytest.fixture(scope="module")
def every() -> dict[str, str]:
    """The pages of the reference."""
    return reference()


@pytest.fixture(scope="module")
def pages(every: dict[str, str]) -> dict[str, str]:
    """Those of the rules."""
    return {path: text for path, text in every.items() if path.startswith("rules/")}


def test_every_rule_has_a_page_in_the_index(pages: dict[str, str]) -> None:
    assert set(pages) == {"rules/index.md", *(rule_path(rule) for rule in every_rule())}
    for rule in every_rule().values():
        page = pages[rule_path(rule.id)]
        assert page.count("Invented; solved when this page was made.") == 2, rule.id
        assert f"## {cases.SHOWN['passes']}\n" in page
        assert page.startswith(f"# {rule.title}\n")
        for text in (rule.reason, rule.remedy, f"**{rule.signal}**"):
            assert text in page
        assert f"[{rule.id}]({rule.id}.md)" in pages["rules/index.md"]


def test_they_lie_beside_the_reference_and_are_linked_from_it(every: dict[str, str], pages: dict[str, str]) -> None:
    assert set(pages) < set(every)
    assert "](rules/index.md)" in every["index.md"]


@pytest.mark.usefixtures("with_examples")
def test_examples_are_solved_when_the_page_is_made() -> None:
    page = rules_pages()[rule_path(RULE)]
    # 2.5e-4 m3/s through pi/4 x (6 mm)2 = 28.27 mm2: 8.84 m/s
    assert "> NOTICE: feed: oil runs at 8.84 m/s" in page
    assert "> ok: " in page
    assert page.count("```yaml") == 2
    # The passing circuit differs by one line, and only that is printed.
    assert page.count("machine: Test bench") == 1
    assert "bore: 12 mm, length: 1 m, rating: 250 bar}\n```\n\n## Cases that are tested\n\n- triggers: yes\n" in page
    triggers, passes = outcomes(RULE)
    assert triggers.said.startswith("NOTICE: ") and passes.said.startswith("ok: ")
    text = explained(RULES[RULE], [triggers, passes])
    assert "A circuit that brings it about, solved now:" in text and "machine:" not in text
    assert "machine: Test bench" in explained(RULES[RULE], [triggers], circuits=True)


def test_an_example_that_does_not_do_what_it_says_stops_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    wrong = {"triggers": Example(RULE, "triggers", SLOW, "finding", "feed")}
    monkeypatch.setattr(cases, "examples", lambda: {RULE: ExampleSet(wrong, {})})
    with pytest.raises(ValueError, match=f"of {RULE}: expected 'finding', the rule says ok: feed"):
        outcomes(RULE)
    broken = {"triggers": Example(RULE, "triggers", "machine: x\n", "finding")}
    monkeypatch.setattr(cases, "examples", lambda: {RULE: ExampleSet(broken, {})})
    with pytest.raises(ValueError, match="needs 'parts'"):
        outcomes(RULE)


def test_a_circuit_with_an_entry_to_a_line_reads_back() -> None:
    for text in (FAST, *(one.text for own in example_files.examples().values() for one in own.examples.values())):
        lines = written(entries(text))
        assert yaml.load(lines, LOADER) == yaml.load(text, LOADER)


def test_what_differs() -> None:
    other = changed("{lines: {feed: {bore: 6 mm}}, states: {idling: '~'}}")
    found = differing(other, SLOW)
    assert found is not None
    assert list(found[0]) == [("lines", "feed")] and found[1] == ["idling"]
    assert differing(SLOW, "machine: another\nparts: {}\n") is None


def test_a_rule_that_never_has_a_finding_shows_what_leaves_it_open() -> None:
    assert [one.case for one in outcomes("fault-engine-speed")] == ["not checked", "passes"]
    said = outcomes("fault-engine-speed")[0].said
    assert said.endswith("idle and high idle. Missing: 'idle:' and 'high idle:' of engine.")


def test_rules_on_what_was_measured_show_the_readings(pages: dict[str, str]) -> None:
    page = pages[rule_path("record-change")]
    assert "Readings:\n\n```yaml\nmachine: Invented bale press" in page
    assert "Later revision:" in page and "> NOTICE: These were taken on revision A" in page


def test_the_index_says_what_cannot_be_computed_and_which_case_a_rule_cannot_have(pages: dict[str, str]) -> None:
    index = pages["rules/index.md"]
    assert "Every rule is computed; none is left as a promise." in index
    assert "| [gauge-points](gauge-points.md) | boundary | one is there or it is not |" in index


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, ["explain", *words])
    return result.exit_code, result.output


def test_explain() -> None:
    code, output = run("relief-none")
    assert code == 0
    for head in ("Harm: ", "Criterion: ", "Remedy: ", "Severity: DANGER, because it will kill", "Source: "):
        assert head in output
    code, output = run("relif-none")
    assert (code, output) == (1, "there is no rule 'relif-none' (did you mean 'relief-none'?)\n")
    assert run("q")[1] == "there is no rule 'q' (`builddoc explain` lists all rules)\n"
    code, output = run("--cases")
    assert code == 0 and output.endswith("rules, 0 cases lacking\n")
    assert "ret-velocity: triggers yes; passes yes; not checked yes; boundary yes\n" in output
    assert "gauge-points: triggers yes; passes yes; not checked - (" in output
    code, output = run()
    assert code == 0 and output.count("\n") == len(every_rule())


def test_findings_link_to_their_rule_where_the_site_has_pages() -> None:
    made = draft(FAST, "bench.md")
    linked = figure(made, "bd", None, Site(lambda rule: f"../rules/{rule}/?a&b"))
    assert f'Rule: <a href="../rules/{RULE}/?a&amp;b">{RULE}</a>' in linked
    bare = figure(made, "bd")
    assert f"Rule: {RULE}</p>" in bare and "rules/" not in bare
    for html in (linked, bare):
        assert "\ue004" not in html and "\ue002" not in html
