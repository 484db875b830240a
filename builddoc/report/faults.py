"""Table of the faults tried without being asked: what each does, and which were not tried and why."""

from __future__ import annotations

from collections import Counter

import numpy as np

from .. import kinds
from ..assemble import OPEN_ENDS
from ..checks import strength
from ..checks.base import Case
from ..checks.tried import falls
from ..checks.unsolved import explain
from ..checks.words import Units, listed
from ..circuit import FAULTS
from ..faults import Trial
from ..faults.tripping import tripped
from .cells import DASH, Scale, text_column, words
from .effect import effect
from .model import Cell, Table
from .overview import top_cell

_STILL = 1e-6  # share of the largest flow below which nothing moves; ours


def faults_table(trial: Trial) -> Table:
    """One row per fault state, in the order of the sorts of fault; excluded ones behind them, with their reason."""
    case, u = trial.case, Units(trial.case.circuit)
    r = case.results
    sorts = list(FAULTS)
    tried = sorted(trial.extra.states, key=lambda state: sorts.index(state.tried.sort if state.tried else ""))
    index = {name: s for s, name in enumerate(r.states)}
    tops = {state.name: strength.highest(case, index[state.name]) for state in tried}
    level = Scale(u, "pressure", [top.value for top in tops.values() if top])
    rows: list[tuple[Cell, ...]] = []
    for state in tried:
        s = index[state.name]
        falling = listed([fall.words(u) for fall in falls(case, s)]) or "nothing"
        name = words(state.name, state.tried.sort if state.tried else "")
        top = tops[state.name]
        if top:
            why = words(effect(case, top.node, s))
            rows.append((name, top_cell(case, level, top), why, words(falling), words(_outcome(case, s))))
        else:
            reason = explain(case, s)
            text = reason.headline.removeprefix("No figures: ")
            blank = words(DASH, flag="failed")
            driven = words(DASH if falling == "nothing" else falling)
            rows.append((name, blank, blank, driven, words(text, flag="failed")))
    reasons = case.circuit.no_faults
    for key, names in trial.extra.excluded.items():
        which = f"not tried in {len(names)} states" if names else "nothing to try"
        rows.append((words(key, which), *[words(DASH)] * 3, words(f"excluded: {reasons[key]}")))
    columns = (
        text_column("Fault"), level.column("Highest pressure"), text_column("What makes it"),
        text_column("What its load drives"),
        text_column("Outcome"),
    )  # fmt: skip
    return Table("faults", "Faults tried", _caption(trial), columns, tuple(rows))


def _outcome(case: Case, s: int) -> str:
    """What an answered state does that a reader must know: oil that is lost, oil that is missing."""
    u, r = Units(case.circuit), case.results
    said = []
    lost = sum(max(float(r.q[s, k]), 0.0) for k, b in enumerate(case.network.branches) if b.role in OPEN_ENDS)
    if lost > _STILL * float(np.nanmax(np.abs(r.q[s]), initial=0.0)):
        said.append(f"loses {u.flow(lost)} of oil")
    said += [f"{name} trips" for name in tripped(case, s)]
    said += _motions(case, s)
    if case.solution.states[s].void:
        said.append("oil is missing somewhere")
    return "; ".join(said) or "runs"


def _motions(case: Case, s: int) -> list[str]:
    """What moves the other way than in the declared state, or no longer."""
    tried, r = list(case.circuit.states.values())[s].tried, case.results
    if tried is None:
        return []
    before = r.states.index(tried.state)
    still = _STILL * max(float(np.nanmax(np.abs(table[[s, before]]), initial=0.0)) for table in (r.q, r.source_q))
    found: dict[str, list[str]] = {"moves the other way": [], "stands still": []}
    for k, a in enumerate(case.network.actuators):
        part = case.circuit.parts.get(a.part)
        if part is not None and not kinds.registry()[part.kind].moves:
            continue  # what turns inside a divider
        size = max(map(abs, a.k.values()))
        was, now = float(r.v[before, k]), float(r.v[s, k])
        if abs(was) * size > still:
            if abs(now) * size <= still:
                found["stands still"].append(a.part)
            elif was * now < 0:
                found["moves the other way"].append(a.part)
    return [f"{listed(parts)}: {what}" for what, parts in found.items() if parts]


def _caption(trial: Trial) -> str:
    extra = trial.extra
    text = "Nobody asked for these: each declared state is made faulty in one thing at a time"
    rest = (
        ("Left out here, in the findings and in the envelope, for they make no more pressure than what is shown of the "
         "same fault", extra.left_out),
        ("Tried, and not settled", extra.unsettled),
        (f"Not looked at, for want of room ({len(extra.states)} are shown)", extra.no_room),
    )  # fmt: skip
    for why, states in rest:
        faults = Counter(state.tried.fault for state in states if state.tried)
        if faults:
            named = [f"{fault} in {n} state{'s' * (n > 1)}" for fault, n in faults.items()]
            text += f". {why}: {listed(named)}"
    return text
