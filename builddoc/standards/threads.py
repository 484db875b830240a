"""Forms of joints: how they seal, what they mate with, what they are taken for."""

from __future__ import annotations

from dataclasses import dataclass

from .tables import Listed, NotListed, nearest, table


@dataclass(frozen=True, slots=True, kw_only=True)
class FormRow(Listed):
    """form: plain name. standard, seal: as printed. taper: it seals in the thread. mates: forms of the other half."""

    form: str
    standard: str
    seal: str
    taper: bool
    mates: tuple[str, ...]


def forms() -> tuple[str, ...]:
    """Plain names of the forms that are listed."""
    return tuple(row["form"] for row in table("threads", "forms").rows)


def form(name: str) -> FormRow:
    """The form of that name. Raises NotListed with the nearest names."""
    entry = table("threads", "forms")
    for row in entry.rows:
        if row["form"] == name:
            return FormRow(
                form=name, standard=row["standard"], seal=row["seal"], taper=row["taper"], mates=tuple(row["mates"]),
                **entry.origin(row),
            )  # fmt: skip
    raise NotListed(f"no form of joint '{name}' is listed", nearest(name, forms()))


def mates(male: str, female: str) -> bool:
    """Whether the half that is screwed in seals in the other one."""
    return female in form(male).mates


def look_alike(one: str, other: str) -> str:
    """Why the two are taken for one another although they do not seal; "" if nothing is listed."""
    for row in table("threads", "look-alikes").rows:
        if {row["one"], row["other"]} == {one, other}:
            return str(row["why"])
    return ""


def thread(name: str, size: str) -> str:
    """Thread of a form by dash size, as `7/16-20`, or of a pipe thread by nominal size, as `1/2-14`; "" where none is
    listed."""
    words = size.strip().removesuffix(" in").lstrip("-")
    family = {"NPTF": "NPT", "BSPT": "BSPP"}.get(name, name)
    dashes, pipes = table("threads", "inch-threads").rows, table("threads", "pipe-threads").rows
    found = [str(r["thread"]) for r in dashes if r["form"] == name and str(r["dash"]) == words]
    found += [f"{words}-{r['per inch']}" for r in pipes if r["form"] == family and r["size"] == words]
    return found[0] if found else ""
