"""Table of the joints whose forms the builder declared: what screws onto what, and what seals it."""

from __future__ import annotations

from ..checks.base import Case
from ..checks.declared_joints import joints
from ..checks.strength import basis, joint_rating
from ..checks.words import Units
from ..declarations import JointFacts
from ..standards import threads
from .cells import DASH, Scale, text_column, words
from .model import Cell, Column, Table


def joints_table(case: Case) -> Table:
    """One row per joint of which a form is declared, in the order of the lines; empty if none is."""
    rows = []
    known = [r.value for *_, j in joints(case) if (r := joint_rating(j, case.circuit.tables)) and r.value]
    rating = Scale(Units(case.circuit), "pressure", known)
    for line, at, joint in joints(case):
        if joint.form is None and joint.onto is None:
            continue
        own, other = joint.form, joint.onto
        if own and other:
            fits = threads.mates(own, other) and not (
                joint.size and joint.onto_size and joint.size.strip() != joint.onto_size.strip()
            )
            verdict = words("yes") if fits else words("no", threads.look_alike(own, other), flag="over")
        else:
            verdict = words("not checked", "one half is not declared", flag="not-checked")
        thread = threads.thread(own, joint.size) if own else ""
        sealing = threads.form(own).seal if own else DASH
        rows.append(
            (
                words(line.name, at, subject=line.name),
                words(f"{own or '?'} {joint.size}".strip(), f"thread {thread}" if thread else ""),
                words(f"{other or '?'} {joint.onto_size}".strip()),
                words(sealing),
                words(joint.sealant or DASH),
                words(DASH if joint.adapters is None else str(joint.adapters)),
                _rated(case, rating, joint),
                verdict,
            )
        )
    columns: tuple[Column, ...] = (
        text_column("Line"), text_column("Its end"), text_column("Screwed onto"), text_column("Sealed by"),
        text_column("Sealant"), text_column("Adapters"), rating.column("Rated"), text_column("Belong together"),
    )  # fmt: skip
    caption = "As the builder declared them; which forms belong together is from memory, threads from a public chart"
    return Table("joints", "Joints", caption, columns, tuple(rows))


def _rated(case: Case, scale: Scale, joint: JointFacts) -> Cell:
    """Rating of the connector with where it was read; without one it is not checked."""
    rating = joint_rating(joint, case.circuit.tables)
    if rating is None or not rating.value:
        return words(DASH, "not stated: the line is judged without it", flag="not-checked")
    kind = "" if rating.kind == "working" else rating.kind
    return scale.cell(rating.value, " · ".join(w for w in (kind, basis(rating)) if w))
