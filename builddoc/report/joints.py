"""Table of the joints whose forms the builder declared: what screws onto what, and what seals it."""

from __future__ import annotations

from ..checks.base import Case
from ..checks.declared_joints import joints
from ..standards import threads
from .cells import DASH, text_column, words
from .model import Column, Table


def joints_table(case: Case) -> Table:
    """One row per joint of which a form is declared, in the order of the lines; empty if none is."""
    rows = []
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
                verdict,
            )
        )
    columns: tuple[Column, ...] = (
        text_column("Line"), text_column("Its end"), text_column("Screwed onto"), text_column("Sealed by"),
        text_column("Sealant"), text_column("Adapters"), text_column("Belong together"),
    )  # fmt: skip
    caption = "As the builder declared them; which forms belong together is from memory, threads from a public chart"
    return Table("joints", "Joints", caption, columns, tuple(rows))
