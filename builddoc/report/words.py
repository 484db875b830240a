"""What a report says in sentences: assumptions, proofs, notes, the standing statement."""

from __future__ import annotations

import math

import numpy as np

from .. import kinds
from ..checks import heat, strength, walk
from ..checks.base import Case
from ..checks.duty import flow_of
from ..checks.states import range_words
from ..checks.words import Units, listed, quoted
from ..circuit import Conduit, Fitting
from ..physics import line as line_laws
from ..solution import Certificate, Verdict
from .model import StateProof
from .overview import VERDICTS

STATEMENT = (
    "This page describes one amateur-built machine. It is not a design to copy, not engineering approval and not "
    "a promise that anything is safe. Figures are predictions for this one machine unless they are marked "
    "measured; what is marked not checked or not measured is exactly that. Local law, safety codes and permits, "
    "the instructions and ratings of each component's maker, and work or review by people licensed or trained for"
    " it come before anything written here; where they differ, follow them. If you are unsure: stop, lower it, "
    "switch it off, ask."
)
SHORT_STATEMENT = (
    "Prediction for one home-built machine, not approval. Component makers' instructions, local codes and "
    "licensed practice come first."
)
ALWAYS = (
    "Every state is steady: nothing here tells of pressure peaks, of starting or of stopping.",
    "Heights are left out: oil that stands higher or lower changes pressures by about 0.09 bar per metre.",
    "The oil has one temperature everywhere in a state, and holds no air.",
    "Lines run straight; their bends count only where a fitting is written.",
)
ADDED = {
    "may hunt": "A valve stands half open there: a steady point exists, but it may hunt around it.",
    "several solutions": "More than one steady answer exists there; its history decides which one the machine takes.",
    "wide ranges": "So many valves touch oil shut in there that its pressures are given as bounds: the true range is "
    "no wider.",
    "pump starved": "A pump cannot fill there: its flow is reduced to what reaches it.",
}


def assumptions(case: Case) -> tuple[str, ...]:
    """Every default that was filled in, and what is left out always."""
    circuit = case.circuit
    said = [*circuit.assumed, *circuit.oil.assumed]
    for part in circuit.parts.values():
        said += kinds.registry()[part.kind].assumptions(part)
    for line in circuit.lines.values():
        if line.conduit is not None and line.conduit.bore_basis not in ("", "given"):
            said.append(f"{line.name}: bore of {line.conduit.label} from {line.conduit.bore_basis}")
        said += [
            f"{line.name}: loss of {fitting.label} from {fitting.loss_basis}"
            for fitting in line.fittings
            if fitting.loss_basis not in ("", "given")
        ]
    said += heat.sink(circuit).basis
    return tuple(dict.fromkeys((*said, *ALWAYS)))


# ---------------------------------------------------------------- proof
def power_of_ten(value: float) -> str:
    """`3·10⁻¹¹`; 0 for zero."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else "no figure"
    exponent = math.floor(math.log10(abs(value)))
    digit = round(abs(value) / 10.0**exponent)
    if digit == 10:
        digit, exponent = 1, exponent + 1
    raised = str(exponent).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{digit}·10{raised}"


def proofs(case: Case) -> tuple[StateProof, ...]:
    """One line per state: how well it closes, or that there is nothing to prove."""
    found = []
    for s, name in enumerate(case.results.states):
        state = case.solution.states[s]
        if state.verdict is not Verdict.SOLVED:
            found.append(StateProof(name, False, f"No figures are printed: {VERDICTS[state.verdict]}."))
        elif state.certificate is None:
            found.append(StateProof(name, False, "No certificate came with this answer."))
        else:
            found.append(StateProof(name, state.certificate.holds(), _proof(case, state.certificate, s)))
    return tuple(found)


def _proof(case: Case, c: Certificate, s: int) -> str:
    u = Units(case.circuit)
    laws = max(c.law, c.complementarity, c.actuator, c.pilot)
    text = (
        f"Flows balance to {power_of_ten(c.mass)} of the largest flow, every part obeys its law to "
        f"{power_of_ten(laws)} (checks, reliefs and stops among them), energy closes to {power_of_ten(c.energy)}: "
        f"{u.power(c.pump)} from the pumps, {u.power(c.dissipation)} into heat, {u.power(c.work)} into motion."
    )
    if not c.holds():
        text += " That is not good enough: do not rely on these figures."
    if c.void > 1e-6:
        text += " Oil is missing somewhere; see the findings."
    if c.method != "path":
        text += " The direct way did not arrive; another start did."
    return text + "".join(f" {ADDED[note]}" for note in case.solution.states[s].notes if note in ADDED)


# ---------------------------------------------------------------- notes
def notes(case: Case) -> tuple[str, ...]:
    """What must stand beside figures: the uncertain zone of friction, tables from memory, pressures left open."""
    return (*_open_pressures(case), *_transition(case), *_tables(case))


def _open_pressures(case: Case) -> list[str]:
    groups: dict[tuple[str, str], list[int]] = {}
    for s, state in enumerate(case.solution.states):
        if case.results.solved[s]:
            for node in state.ranges:
                key = (range_words(case, s, node), case.results.states[s])
                groups.setdefault(key, []).append(node)
    merged: dict[tuple[str, str], list[str]] = {}
    for (span, state_name), nodes in groups.items():
        places = walk.places_at(case.network, nodes) or [case.network.nodes[n] for n in nodes]
        merged.setdefault((listed(places, 8), span), []).append(state_name)
    return [
        f"In {quoted(states)} oil is shut in at {places}; its pressure: {span}."
        for (places, span), states in merged.items()
    ]


def _transition(case: Case) -> list[str]:
    r, found = case.results, []
    for name, line in case.circuit.lines.items():
        if line.conduit is None or line.length <= 0:
            continue
        re = flow_of(name, case.network, r.q) * line_laws.reynolds_per_flow(line.conduit.bore, r.nu)
        inside = [s for s in range(r.size) if np.isfinite(re[s]) and line_laws.in_transition(re[s])]
        if inside:
            figures = listed([f"{re[s]:.0f}" for s in inside], 3)
            states = quoted([r.states[s] for s in inside])
            found.append(
                f"{name}: in {states} its friction rests on a Reynolds number of {figures}, in the uncertain zone."
            )
    return [*found, f"Of these lines: {line_laws.UNCERTAIN}."] if found else []


def _tables(case: Case) -> list[str]:
    by_note: dict[str, list[str]] = {}
    for name, line in case.circuit.lines.items():
        items: list[Conduit | Fitting] = [*line.fittings]
        if line.conduit is not None:
            items.insert(0, line.conduit)
        items += [m.fitting for m in strength.joint_members(case, line) if m.fitting]
        for item in items:
            for note in (n for n in item.notes if not strength.is_bend_note(n)):
                by_note.setdefault(note, []).append(name)
            if item.rating is not None and item.rating.status not in ("", "seen"):
                by_note.setdefault(f"Rating of {item.label}: {strength.basis(item.rating)}.", []).append(name)
    return [f"{listed(lines, 4)}: {note}" for note, lines in by_note.items()]
