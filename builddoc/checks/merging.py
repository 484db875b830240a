"""One fault, one finding: outcomes of several rules that tell of the same thing become one that names the others."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from .base import ORDER, Case, Finding
from .declared import gathered
from .outcomes import together
from .sections import section
from .unsolved import explain
from .words import listed

BLOCKED = ("state-unsolved", "path-deadhead-coupler")
SAME_SUBJECT = {
    "rating-each-part": ("filt-rating", "cool-pressure", "steer-return-pressure"),
    "cyl-speed": ("cyl-end-energy", "load-single-acting-return"),
    "coup-pressure-connect": ("path-deadhead-coupler",),
    "ret-backpressure": ("relief-outlet-backpressure",),
}
SAME_STATE = {"path-dead-end": ("path-neutral-open", "flow-control-restrictive", "split-excess-deadhead")}
"""Rule -> those that tell of the same fault in more words, where both have the same subject, or the same state."""
BY_STATE = {"path-dead-end": "heat"}
"""Rules that look at each state -> the figure that says which state is worst."""
OVER = ("rating-each-part", "rating-line-weakest", "filt-rating", "cool-pressure")


def merged(case: Case, found: Iterable[Finding]) -> list[Finding]:
    """The same outcomes in the same order, without those that another one tells already."""
    return gathered(_states(_twice(case, _runaway(_starved(_plumbing(_unlimited(case, list(found))))))))


def unsolved_faults(whole: Case, found: list[Finding]) -> list[Finding]:
    """Fault states without an answer: one finding for each thing that goes wrong, however many states it is tried
    in. It takes a fault besides, so nothing here *will* kill: it could."""
    groups: dict[tuple[str, ...], list[Finding]] = {}
    for f in found:
        tried = whole.circuit.states[f.state].tried
        assert tried is not None
        key = (f.state,) if tried.sort == "two levers" else (tried.sort, *tried.about)
        groups.setdefault(key, []).append(f)
    result = []
    for group in groups.values():
        first = group[0]
        tried = whole.circuit.states[first.state].tried
        assert tried is not None
        label = first.state.removeprefix(f"{tried.state}, ")
        names = listed([f"'{f.state}'" for f in group], 6)
        result.append(
            replace(
                first, signal="WARNING" if first.signal == "DANGER" else first.signal,
                headline=f"With {label}: {first.headline.removeprefix('No figures: ')}",
                text=f"In {names}, tried without being asked. {first.text}",
            )
        )  # fmt: skip
    return result


def one_fault(whole: Case, found: list[Finding]) -> list[Finding]:
    """Ratings that only a tried fault exceeds: one finding for each thing that goes wrong, the part farthest over its
    rating first, a line for each. Those with no more than a remark stay by themselves."""
    groups: dict[tuple[str, ...], list[Finding]] = {}
    rest = []
    for f in found:
        tried = whole.circuit.states[f.state].tried if f.state in whole.circuit.states else None
        if tried is None or f.signal == "NOTICE" or not f.rule.startswith("rating-"):
            rest.append(f)
        else:
            groups.setdefault((tried.sort, *tried.about), []).append(f)
    for group in groups.values():
        ordered = sorted(group, key=lambda f: -f.figures.get("ratio", 0.0))
        more = len(group) - 1
        also = f"The same fault takes {more} more {'place' if more == 1 else 'places'} over what is rated there."
        rest.append(together(ordered, also) if more else ordered[0])
    return rest


def _states(found: list[Finding]) -> list[Finding]:
    """What a rule finds at one subject state by state is one finding with a line for each state."""
    groups: dict[tuple[str, str], list[Finding]] = {}
    for f in found:
        if f.rule in BY_STATE and f.outcome == "finding":
            groups.setdefault((f.rule, f.subject), []).append(f)
    one = {}
    for key, group in groups.items():
        figures = {id(f): f.figures.get(BY_STATE[f.rule], 0.0) for f in group}
        top = max(figures.values()) or 1.0
        # What differs by the arithmetic only is equal: the state that was written first tells it.
        ordered = sorted(group, key=lambda f: -round(figures[id(f)] / top, 6))
        one[key] = together(ordered, f"So it is in {len(group)} states.") if len(group) > 1 else group[0]
    told = {id(f) for group in groups.values() for f in group}
    return [*(f for f in found if id(f) not in told), *one.values()]


def _unlimited(case: Case, found: list[Finding]) -> list[Finding]:
    """Nothing limits a pump: the states without an answer and the couplers that are to blame go into that finding."""
    bare = {f.subject: f for f in found if f.rule == "relief-none" and f.outcome == "finding"}
    index = {state: s for s, state in enumerate(case.results.states)}
    taken: dict[str, list[Finding]] = {}
    for f in found:
        if f.rule in BLOCKED and f.outcome == "finding" and f.signal == "DANGER":
            pump = explain(case, index[f.state]).subject
            if pump in bare:
                taken.setdefault(pump, []).append(f)
    for pump, others in taken.items():
        couplers = [f"{f.headline} ('{f.state}')." for f in others if f.rule == "path-deadhead-coupler"]
        bare[pump] = _with(bare[pump], " ".join(couplers), others)
    gone = {id(f) for others in taken.values() for f in others}
    return [
        bare[f.subject] if f.rule == "relief-none" and f.subject in bare else f for f in found if id(f) not in gone
    ]


def _plumbing(found: list[Finding]) -> list[Finding]:
    """A plumbing-grade fitting that is the weakest member of its line is told once."""
    weakest = {
        (f.subject, f.place, f.figures.get("rating")): f
        for f in found
        if f.rule == "rating-line-weakest" and f.outcome == "finding"
    }
    result, gone = [], set()
    for f in found:
        key = (f.subject, f.place, f.figures.get("rating"))
        if f.rule == "rating-low-pressure-fitting" and f.outcome == "finding" and key in weakest:
            other = weakest[key]
            if id(other) not in gone:
                beside = other.text.partition(" Its ")
                text = f"The line is limited by it.{''.join(beside[1:]).partition(' (Rating')[0]}"
                f = _with(f, text, [other])
                gone.add(id(other))
        result.append(f)
    return [f for f in result if id(f) not in gone]


def _starved(found: list[Finding]) -> list[Finding]:
    """A pump that cannot fill is told at its inlet pressure, with the graver signal word of the two."""
    inlets = {f.subject: f for f in found if f.rule == "suct-vacuum" and f.outcome == "finding"}
    voids = {f.subject: f for f in found if f.rule == "suct-void" and f.outcome == "finding" and f.subject in inlets}
    result = []
    for f in found:
        if f.subject in voids and f.outcome == "finding" and f.rule in ("suct-vacuum", "suct-void"):
            if f.rule == "suct-void":
                continue
            f = _with(f, "", [voids[f.subject]])
        result.append(f)
    return result


def _runaway(found: list[Finding]) -> list[Finding]:
    """The void behind a rod that runs ahead of the pump is told at the rod."""
    voids = {
        (f.state, f.figures["missing flow"]): f for f in found if f.rule == "suct-void" and f.outcome == "finding"
    }
    result, gone = [], set()
    for f in found:
        void = voids.get((f.state, f.figures.get("missing flow", 0.0)))
        if f.rule == "load-overrunning" and f.outcome == "finding" and void is not None:
            gone.add(id(void))
            f = _with(f, "", [void])
        result.append(f)
    return [f for f in result if id(f) not in gone]


def _twice(case: Case, found: list[Finding]) -> list[Finding]:
    """A finding whose fault another rule tells in more words goes into that one."""
    real = [f for f in found if f.outcome == "finding"]
    into: dict[int, list[Finding]] = {}
    gone: set[int] = set()
    for f in real:
        other = next((o for o in real if o is not f and id(o) not in gone and _tells(case, o, f)), None)
        if other is not None:
            gone.add(id(f))
            into.setdefault(id(other), []).append(f)
    bare = {f.subject for f in found if f.rule == "rating-each-part" and f.outcome == "not checked"}
    gone |= {
        id(f) for f in found if f.rule == "rating-unknown-part" and f.outcome == "not checked" and f.subject in bare
    }
    return [_with(f, "", into[id(f)]) if id(f) in into else f for f in found if id(f) not in gone]


def _tells(case: Case, other: Finding, f: Finding) -> bool:
    """`other` tells the fault of `f`."""
    if other.rule in SAME_SUBJECT.get(f.rule, ()):
        return other.subject == f.subject
    if other.rule in SAME_STATE.get(f.rule, ()):
        return other.state == f.state
    if f.rule == "ret-velocity" and other.rule == "load-regen":
        return f.figures["velocity"] == other.figures.get("velocity")
    if f.rule == "path-return-shut":
        return other.rule == "relief-isolated" and f.subject in other.headline
    if f.rule == "rating-line-weakest" and other.rule in ("rating-steel-pipe", "rating-steel-tube"):
        conduit = case.circuit.lines[f.subject].conduit
        return other.subject == f.subject and conduit is not None and conduit.label in f.headline
    if f.rule == "relief-secondary-missing" and other.rule in OVER:
        valve, _, port = f.subject.partition(".")
        way = section(case, case.network.port_nodes[valve, port])
        return other.subject != valve and other.subject in (*way.parts, *way.lines)
    return False


def _with(f: Finding, text: str, others: list[Finding]) -> Finding:
    """A finding with the words of others, the gravest signal word of all, and the names of their rules."""
    signal = min((f.signal, *(o.signal for o in others)), key=ORDER.__getitem__)
    rules = ", ".join(dict.fromkeys(o.rule for o in others))
    words = " ".join(w for w in (f.text, text, f"(Told here too: {rules}.)") if w)
    return replace(f, signal=signal, text=words)
