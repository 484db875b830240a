"""Tables of the joints whose forms the builder declared: what screws onto what, what seals it, and every adapter."""

from __future__ import annotations

from ..checks.base import Case
from ..checks.declared_joints import joints
from ..checks.strength import adapter_rating, basis, joint_rating
from ..checks.words import Units
from ..circuit import Rating
from ..declarations import AdapterFacts, Contact, Half, JointFacts
from ..standards import threads
from .cells import DASH, Scale, text_column, words
from .model import Cell, Column, Table


def joints_table(case: Case) -> Table:
    """One row per place where one half is screwed onto another, of joints of which a form is declared, in the order of
    the lines and from line to port; empty if none is."""
    rows = []
    choices = case.circuit.tables
    known = [r.value for *_, j in joints(case) if (r := joint_rating(j, choices)) and r.value]
    rating = Scale(Units(case.circuit), "pressure", known)
    for line, at, joint in joints(case):
        for n, contact in enumerate(joint.chain):
            one, other = contact.one, contact.other
            if one.form is None and other.form is None:
                continue
            rated = words(DASH, "see the adapters") if n else _rated(rating, joint_rating(joint, choices), _open(joint))
            rows.append(
                (
                    words(line.name, at, subject=line.name),
                    _half(one),
                    _half(other),
                    _verdict(contact),
                    words(joint.sealant or DASH),
                    rated,
                )
            )
    columns: tuple[Column, ...] = (
        text_column("Line"), text_column("One half"), text_column("Screwed onto"), text_column("Belong together"),
        text_column("Sealant"), rating.column("Rated"),
    )  # fmt: skip
    caption = "As declared; which forms belong together is from memory, threads from a public chart"
    return Table("joints", "Joints", caption, columns, tuple(rows))


def adapters_table(case: Case) -> Table:
    """One row per adapter, in the order of the lines and from line to port; empty if none is declared."""
    choices = case.circuit.tables
    found = [
        (line, at, joint, n, adapter)
        for line, at, joint in joints(case)
        for n, adapter in enumerate(joint.adapters or (), 1)
    ]
    known = [r.value for *_, adapter in found if (r := adapter_rating(adapter, choices)) and r.value]
    rating = Scale(Units(case.circuit), "pressure", known)
    rows = tuple(
        (
            words(line.name, at, subject=line.name),
            words(f"{n} of {len(joint.adapters or ())}"),
            _end(adapter, Half(adapter.from_, adapter.from_size)),
            _end(adapter, Half(adapter.to, adapter.to_size)),
            _adapter(rating, joint, adapter, adapter_rating(adapter, choices)),
        )
        for line, at, joint, n, adapter in found
    )
    columns = (
        text_column("Line"), text_column("Adapter"), text_column("From"), text_column("To"), rating.column("Rated"),
    )  # fmt: skip
    return Table("adapters", "Adapters", "In the order from the line to the port", columns, rows)


def _half(half: Half) -> Cell:
    notes = [f"of adapter {half.adapter}"] if half.adapter else []
    thread = threads.thread_said(half.form, half.size) if half.form else ""
    notes += [thread] if thread else []
    return words(half.words, " · ".join(notes))


def _end(adapter: AdapterFacts, half: Half) -> Cell:
    if half.form is None:
        return words(DASH, "not declared" if adapter.described else "not described", flag="not-checked")
    return words(half.words)


def _adapter(scale: Scale, joint: JointFacts, adapter: AdapterFacts, rating: Rating | None) -> Cell:
    if not adapter.described and joint.rating is not None and joint.rating.value:
        return words(DASH, "within the rating of the joint")
    return _rated(scale, rating, "not declared")


def _verdict(contact: Contact) -> Cell:
    """Whether the halves belong together, and what seals there, or why they are taken for one another."""
    one, other = contact.one, contact.other
    if one.form is None or other.form is None:
        return words("not checked", "one half is not declared", flag="not-checked")
    if threads.fits(one.form, one.size, other.form, other.size):
        return words("yes", threads.form(one.form).seal)
    if threads.mates(one.form, other.form):
        return words("no", "the sizes differ", flag="wrong")
    return words("no", threads.look_alike(one.form, other.form), flag="wrong")


def _open(joint: JointFacts) -> str:
    """Why a connector has no rating."""
    if joint.rating is None and any(_verdict(contact).flag == "wrong" for contact in joint.chain):
        return "no table holds where halves do not belong together"
    return "not stated: the line is judged without it"


def _rated(scale: Scale, rating: Rating | None, open_: str) -> Cell:
    """A rating with where it was read; without one it is not checked."""
    if rating is None or not rating.value:
        return words(DASH, open_, flag="not-checked")
    kind = "" if rating.kind == "working" else rating.kind
    return scale.cell(rating.value, " · ".join(w for w in (kind, basis(rating)) if w))
