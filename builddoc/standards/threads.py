"""Forms of joints: how they seal, what they mate with, what they are taken for."""

from __future__ import annotations

from dataclasses import dataclass

from .tables import Listed, NotListed, inches, nearest, table

PIPE = ("NPT", "NPTF", "BSPT", "BSPP")
FLANGES = ("flange 61", "flange 62")


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


def dash(form: str, size: str) -> int | None:
    """Size in sixteenths of an inch: `-6` and `3/8` are 6, and so is `6`, but for pipe threads and flanges, where a
    number without a dash is inches. None: it is no such size (a metric one, or none is given)."""
    words = size.strip().lower()
    plain = words.removesuffix("in").strip()
    if words.startswith("-") or (plain.isdigit() and form not in (*PIPE, *FLANGES)):
        number = words.removeprefix("-").strip()
        return int(number) if number.isascii() and number.isdigit() else None
    try:
        sixteenths = inches(plain) * 16
    except (ValueError, ZeroDivisionError):
        return None
    return round(sixteenths) if abs(sixteenths - round(sixteenths)) < 1e-9 else None


def plain_dash(form: str, size: str) -> int | None:
    """The size where it is written as a dash size. A fraction says nothing for sure of a straight thread: it may be
    that of the tube or that of the thread."""
    return None if "/" in size and form not in PIPE else dash(form, size)


def sizes_differ(one: str, size: str, other: str, other_size: str) -> bool:
    """Whether two halves of the forms `one` and `other` are of different sizes; not where one of them is not given."""
    texts = [" ".join(text.split()).lower() for text in (size, other_size)]
    if not all(texts) or texts[0] == texts[1]:
        return False
    first, second = dash(one, size), dash(other, other_size)
    return first is None or second is None or first != second


def fits(one: str, size: str, other: str, other_size: str) -> bool:
    """Whether the half `one` of that size, screwed onto the half `other`, seals there."""
    return mates(one, other) and not sizes_differ(one, size, other, other_size)


def look_alike(one: str, other: str) -> str:
    """Why the two are taken for one another although they do not seal; "" if nothing is listed."""
    for row in table("threads", "look-alikes").rows:
        if {row["one"], row["other"]} == {one, other}:
            return str(row["why"])
    return ""


def thread(name: str, size: str) -> str:
    """Thread of a form by dash size, as `7/16-20`, or of a pipe thread by nominal size, as `1/2-14`; "" where none is
    listed."""
    return _thread(name, size)[0]


def thread_said(name: str, size: str) -> str:
    """The same as it stands on a page: `thread 7/16-20`, with its status where nobody read it in print."""
    text, status = _thread(name, size)
    return f"thread {text}{'' if status == 'seen' else f', {status}'}" if text else ""


def _thread(name: str, size: str) -> tuple[str, str]:
    words = size.strip().removesuffix(" in").lstrip("-")
    family = {"NPTF": "NPT", "BSPT": "BSPP"}.get(name, name)
    pipes = table("threads", "pipe-threads")
    for row in table("threads", "inch-threads").rows:
        if row["form"] == name and row["dash"] == plain_dash(name, size):
            return str(row["thread"]), str(row["status"])
    for row in pipes.rows:
        if row["form"] == family and row["size"] == words:
            return f"{words}-{row['per inch']}", pipes.status
    return "", ""
