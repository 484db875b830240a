"""Rules that read declarations: their examples, the one line for each group that is not checked, joints as data."""

from __future__ import annotations

from functools import cache

import pytest
from builddoc import checks, language, report
from builddoc.assemble import assemble
from builddoc.checks import strength
from builddoc.checks.base import Case
from builddoc.checks.declared import GROUPS
from builddoc.checks.examples import Example, examples
from builddoc.results import Results
from builddoc.solver import solve
from builddoc.standards import threads

from ..cautions.circuits import BASE, changed

PSI = 0.06894757293168
"""bar"""
RULES = [rule for group in GROUPS.values() for rule in group]
ALL = [example for rule in RULES for example in examples()[rule].examples.values()]


@cache
def solved(text: str) -> Case:
    reading = language.read(text)
    assert reading.circuit is not None, [f"{m.text} ({m.hint})" for m in reading.messages]
    network = assemble(reading.circuit)
    solution = solve(network)
    return Case(reading.circuit, network, solution, Results(reading.circuit, network, solution))


@pytest.mark.parametrize("example", ALL, ids=lambda e: f"{e.rule}: {e.case}")
def test_an_example_has_the_outcome_it_claims(example: Example) -> None:
    found = list(checks.rules()[example.rule].check(solved(example.text)))
    meant = [f for f in found if not example.subject or f.subject == example.subject]
    outcomes = [f"{f.outcome} {f.subject}: {f.headline}" for f in found]
    hits = [f for f in meant if f.outcome == example.outcome]
    assert hits, outcomes
    if example.outcome != "finding":
        assert not [f for f in meant if f.outcome == "finding"], outcomes
    for f in hits:
        assert bool(f.missing) == (f.outcome == "not checked")
        if f.outcome == "finding":
            assert f.remedy and f.text


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_has_its_cases(rule: str) -> None:
    group = examples()[rule]
    assert {"triggers", "passes", "not checked", "boundary"} <= {*group.examples, *group.without}


def test_what_is_not_declared_is_one_line_for_each_group() -> None:
    found = checks.run(solved(examples()["person-under"].examples["not checked"].text))
    open_ = [f for f in found if f.outcome == "not checked" and f.rule in RULES]
    told = {group for f in open_ for group, rules in GROUPS.items() if f.rule in rules}
    assert len(open_) == len(told) == len(GROUPS) - 2  # no motor and no steering in this circuit
    people = next(f for f in open_ if "people" in f.headline)
    assert people.headline == "6 checks on people and guards need declarations"
    assert people.rule == "person-under"
    assert "'release sequence'" in people.missing


def test_what_is_not_declared_comes_after_what_else_is_open() -> None:
    text = examples()["person-under"].examples["not checked"].text
    found = checks.run(solved(text.replace("    rating: 10 bar\n", "")))
    open_ = [f.rule in RULES for f in found if f.outcome == "not checked"]
    assert open_ == sorted(open_) and not open_[0]


def test_a_valve_with_one_nameless_spool_shuts_its_motor_in() -> None:
    text = examples()["motor-inertia-stop"].examples["triggers"].text
    text = text.replace("    spools:\n    - press\n", "")
    text = text.replace("bank.press.", "bank.").replace("bank.press:", "bank:")
    case = solved(text)
    assert "press:" not in text and not case.circuit.parts["bank"].params.spools  # type: ignore[attr-defined]
    assert "bank.A" in next(iter(checks.rules()["motor-inertia-stop"].check(case))).headline


def test_a_finding_of_a_group_stays_beside_its_line() -> None:
    found = checks.run(solved(examples()["person-under"].examples["triggers"].text))
    assert [f.outcome for f in found if f.rule == "person-under"] == ["finding"]
    assert any(f.headline == "5 checks on people and guards need declarations" for f in found)


def test_declarations_are_read_with_their_places() -> None:
    text = examples()["person-under"].examples["triggers"].text
    wrong = language.read(text.replace("work beneath", "work benath"))
    assert wrong.circuit is None
    (message,) = wrong.messages
    assert "work beneath" in message.hint and message.place is not None
    assert "work benath" in text.replace("work beneath", "work benath").splitlines()[message.place.line - 1]


def test_declarations_belong_to_one_part_only() -> None:
    text = examples()["person-under"].examples["triggers"].text
    circuit = solved(text).circuit
    assert circuit.parts["ram"].declare is not None and circuit.parts["pump"].declare is None
    more = text.replace("  filter:\n", "  second:\n    like: ram\n  filter:\n", 1)
    reading = language.read(more.replace("states:", "plugged: [second.cap, second.rod]\nstates:"))
    assert reading.circuit is not None, reading.messages
    assert reading.circuit.parts["second"].declare is None


def test_every_form_mates_with_itself_and_knows_its_look_alikes() -> None:
    for name in threads.forms():
        assert threads.mates(name, name)
    assert threads.mates("BSPT", "BSPP") and not threads.mates("BSPP", "BSPT")  # taper into parallel only
    assert not threads.mates("NPT", "BSPT") and threads.look_alike("BSPT", "NPT")
    assert not threads.mates("37 flare", "45 flare")


def test_declared_joints_stand_in_a_table() -> None:
    case = solved(examples()["thread-mismatch"].examples["triggers"].text)
    table = next(t for t in report.build(case, []).tables if t.key == "joints")
    first, second = [[cell.text for cell in row] for row in table.rows]
    assert first[:4] == ["push", "37 flare", "O-ring boss", "no"]
    assert first[-1] == "—"  # halves that do not belong together have no rating
    assert second[3] == "yes"
    quiet = solved(examples()["thread-mismatch"].examples["not checked"].text)
    assert not [t for t in report.build(quiet, []).tables if t.key == "joints"]


CONNECTOR = "{{lines: {{push: {{declare: {{end: {{{0}}}}}}}}}}}"
FLARE = "form: 37 flare, size: -6"
ADAPTER = "adapters: [{{from: 37 flare, from size: -6, to: {0}}}]"


@pytest.mark.parametrize(
    ("joint", "ratings", "outcome"),
    [
        (f"{FLARE}, rating: 100 bar", [100.0], "finding"),  # it sees 150 bar
        (f"{FLARE}, rating: 230 bar", [230.0], "ok"),
        ("rating: 100 bar", [100.0], "finding"),
        ("rating: unknown", [None], "not checked"),
        # ISO 6162-1 by a maker's table: 2 in 207 bar, 3 in 138 bar; -32 is 2 in
        ("form: flange 61, size: 3", [138.0], "finding"),
        ("form: flange 61, size: -32", [207.0], "ok"),
        ("form: flange 62, size: -24, onto: flange 61, onto size: -24", [], "ok"),  # they do not belong together
        # SAE J514 by a supplier's page: swivel in -6 4000 psi, boss in -10 adjustable 3000 psi; the lower counts
        (FLARE, [4000 * PSI], "ok"),
        ("form: O-ring boss, size: -10, onto: O-ring boss", [3000 * PSI], "ok"),
        ("form: NPTF, size: 1-1/2", [1000 * PSI], "finding"),
        ("form: 45 flare, size: -6", [], "ok"),  # no table by size is public: judged without it
        (f"{FLARE}, onto: 45 flare", [], "ok"),  # halves that do not seal have no rating
        ("form: NPT, size: 1/2", [], "ok"),  # may be a cast fitting: the table of steel adapters is not taken
        (f"{FLARE}, adapters: 1", [4000 * PSI, None], "not checked"),
        (f"{FLARE}, adapters: 1, rating: 230 bar", [230.0], "ok"),  # of both halves and what is only numbered
        # each listed adapter by itself: boss in -20 adjustable 2000 psi, in -32 1125 psi, NPT in no table
        (f"{FLARE}, {ADAPTER.format('O-ring boss, to size: -20')}", [4000 * PSI, 2000 * PSI], "finding"),
        (f"{FLARE}, {ADAPTER.format('NPT, to size: 1/2')}", [4000 * PSI, None], "not checked"),
        (f"{FLARE}, {ADAPTER.format('NPT, to size: 1/2, rating: 200 bar')}", [4000 * PSI, 200.0], "ok"),
    ],
)
def test_a_connector_is_a_member_of_its_line(joint: str, ratings: list[float | None], outcome: str) -> None:
    case = solved(changed(CONNECTOR.format(joint), BASE))
    members = [m for m in strength.line_members(case, "push") if m.label.startswith(("connector at", "adapter"))]
    assert [m.value and m.value / 1e5 for m in members] == [r and pytest.approx(r) for r in ratings]
    (found,) = [f for f in checks.rules()["rating-line-weakest"].check(case) if f.subject == "push"]
    assert found.outcome == outcome
    if outcome == "finding":
        assert f"push is limited by its {members[-1].label}" in found.headline
        assert "at ram.cap" in found.headline


STACK = (
    "{lines: {push: {declare: {end: {form: 37 flare, size: -6, onto: O-ring boss, onto size: -8, cast: yes, "
    "sealant: paste, adapters: [{from: 45 flare, from size: -6, to: NPT, to size: 1/4}, "
    "{from: NPTF, from size: 1/4, to: O-ring boss, to size: -6, rating: 300 bar}]}}}}}"
)


def test_every_adapter_of_a_joint_is_told_and_checked() -> None:
    """From the hose: 37 onto 45 degrees does not seal; NPT onto NPTF does; O-ring boss -6 onto -8 is another size. Not
    the port is tapered but a joint between the adapters: paste belongs there, and nothing splits."""
    case = solved(changed(STACK, BASE))
    found = checks.rules()["thread-mismatch"].check(case)
    told = [(f.outcome, f.headline) for f in found if f.subject == "push" and "ram.cap" in f.headline]
    assert [outcome for outcome, _ in told] == ["finding", "ok", "finding"]
    assert "push at ram.cap, onto adapter 1: 37 flare -6 onto 45 flare -6" in told[0][1]
    assert "adapter 1 onto adapter 2: NPT 1/4 onto NPTF 1/4" in told[1][1]
    assert "adapter 2 onto the port: O-ring boss -6 onto O-ring boss -8" in told[2][1]
    for rule in ("thread-taper-split", "thread-sealant"):
        outcomes = [f.outcome for f in checks.rules()[rule].check(case) if "ram.cap" in f.headline]
        assert outcomes == ["ok"], rule
    tables = {t.key: t for t in report.build(case, []).tables}
    rows = [[(cell.text, cell.note) for cell in row] for row in tables["adapters"].rows]
    assert [[text for text, _ in row] for row in rows] == [
        ["push", "1 of 2", "45 flare -6", "NPT 1/4", "—"],
        ["push", "2 of 2", "NPTF 1/4", "O-ring boss -6", "300"],
    ]
    assert rows[0][-1][1] == "not declared"
    assert [row[3].text for row in tables["joints"].rows] == ["no", "yes", "no"]


@pytest.mark.parametrize(
    ("adapters", "hint"),
    [
        ("-1", "or a list of them"), ("a few", "or a list of them"), ("100", "up to 20"),
        ("[{from: 38 flare}]", "37 flare"), ("[{form: 37 flare}]", "from"),
    ],
)  # fmt: skip
def test_what_is_no_adapter_is_refused_at_its_place(adapters: str, hint: str) -> None:
    text = changed(CONNECTOR.format(f"{FLARE}, adapters: {adapters}"), BASE)
    reading = language.read(text)
    assert reading.circuit is None
    (message,) = reading.messages
    assert hint in f"{message.text} {message.hint}" and message.place is not None
    line = text.splitlines()[message.place.line - 1]
    assert "adapters" in line or "from" in line or "form" in line


@pytest.mark.parametrize(
    ("one", "other", "fits"),
    [
        (("37 flare", "-6"), ("37 flare", "3/8"), True),  # 3/8 in tube is -6
        (("37 flare", "-6"), ("37 flare", "6"), True),
        (("37 flare", "-06"), ("37 flare", "-6"), True),
        (("37 flare", "-6"), ("37 flare", "-8"), False),
        (("NPT", "1"), ("NPTF", "-16"), True),
        (("NPT", "1/2"), ("NPTF", "-6"), False),
        (("metric O-ring", "M18x1.5"), ("metric O-ring", "M18X1.5"), True),
        (("metric O-ring", "M18x1.5"), ("metric O-ring", "M22x1.5"), False),
        (("37 flare", ""), ("37 flare", "-8"), True),  # nobody said: not a mismatch
    ],
)
def test_sizes_are_compared_as_sizes(one: tuple[str, str], other: tuple[str, str], fits: bool) -> None:
    assert threads.fits(*one, *other) is fits


def test_look_alike_threads_are_alike() -> None:
    """SAE J514 and J1926 by a public thread chart: 37 degree flare and O-ring boss share every thread, the face seal
    has its own."""
    for dash in ("-4", "-6", "-8", "-10", "-12", "-16"):
        assert threads.thread("37 flare", dash) == threads.thread("O-ring boss", dash) != ""
        assert threads.thread("face seal", dash) not in ("", threads.thread("37 flare", dash))
    assert threads.thread("37 flare", "-8") == "3/4-16"
    assert threads.thread("face seal", "-8") == "13/16-16"
    assert threads.thread("NPT", "-8") == ""
    # what nobody read in print says so on the page
    assert threads.thread_said("37 flare", "-8") == "thread 3/4-16"
    assert threads.thread_said("37 flare", "-5") == "thread 1/2-20, from memory"


def test_pipe_threads_that_start_on_each_other() -> None:
    """ASME B1.20.1 and ISO 228-1 by public tables: 14 threads per inch in 1/2 and 3/4 of both; 18 against 19 in 1/4."""
    for size in ("1/2", "3/4"):
        assert threads.thread("NPT", size) == threads.thread("BSPT", f"{size} in") == f"{size}-14"
    assert (threads.thread("NPTF", "1/4"), threads.thread("BSPP", "1/4")) == ("1/4-18", "1/4-19")
