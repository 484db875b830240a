"""The page of everything that is taken where the writer says nothing: read from the model, the kinds and the tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from .. import kinds, standards
from ..circuit import Part
from ..kinds.base import Parameters, basis
from ..kinds.limiting import DIRECT, PILOTED, PRACTICE, ReliefSetting
from ..quantities import show
from ..standards.choices import disputed, options
from .describe import cell, inner_model, plain_default
from .model import DEFAULT_GRADE, HeadText, OilText
from .oil import typical_at_100

PATH = "assumptions.md"
_MATERIALS = ("hose", "steel pipe", "drawn tube", "stainless tube")
_OVERRIDE = "override"  # of a relief: its guess rests on two other keys

_INTRO = """# What is assumed

Everything that builddoc takes where you say nothing: the value, where it comes from, and the key that puts your own in
its place. Each page prints those that were used on it, under *Assumptions*. A value from the sheet of the part itself
is better than any of these; a reading is better still. This page is generated from the code that fills them in.

What is **never** assumed: a working rating, a bore, a length, a setting, a load, or that something was
tested. Where one of them is missing the page says NOT CHECKED, or says what to write.
"""


def assumptions_page() -> str:
    """Markdown."""
    from ..report.words import ALWAYS

    return "\n\n".join(
        [
            _INTRO.strip(),
            "## The oil and the air round the machine",
            _table(("key", "taken as", "from", "what it is"), _surroundings()),
            "## Lines",
            "Bores, wall thicknesses, losses and ratings that you name by size or by standard are looked up in the "
            "[tables](standards/index.md); the page names the table beside the figure. What a line itself leaves out:",
            _table(("key", "taken as", "from", "of"), _roughness()),
            "## Parts: guesses",
            "Guesses about a part whose sheet is not at hand. Figures that rest on them are no better than they are.",
            _table(("kind", "key", "taken as", "from", "what it is"), _guesses()),
            f"A relief of which you give no `{_OVERRIDE}` is taken to rise by {show(DIRECT, 'share')} of its setting "
            f"at its `rated flow`, a pilot-operated one by {show(PILOTED, 'share')} ({PRACTICE}).",
            "## Parts: what a key that is left out means",
            "No guesses: the plain build of the part, which a key changes.",
            _table(("kind", "key", "left out", "what it is"), _plain()),
            "## Where published tables disagree",
            "Both are kept. The first is taken unless you choose under `tables:` of the circuit.",
            _table(("name to choose by", "taken", "others", "where they differ"), _choices()),
            "## Always",
            "No key changes these.",
            "\n".join(f"- {text}" for text in (*ALWAYS, *_of_kinds())),
        ]
    ) + "\n"  # fmt: skip


def _table(head: Sequence[str], rows: Iterator[Sequence[str]]) -> str:
    lines = [f"| {' | '.join(head)} |", "|---" * len(head) + "|"]
    return "\n".join([*lines, *(f"| {' | '.join(cell(text) for text in row)} |" for row in rows)])


def _surroundings() -> Iterator[tuple[str, str, str, str]]:
    grade = standards.iso_vg(DEFAULT_GRADE)
    at_100 = typical_at_100(grade.nu40)
    assert at_100 is not None
    fields = OilText.model_fields
    listed = {"density": "density", "specific heat": "specific heat", "limit": "highest temperature"}
    yield "`oil: grade`", DEFAULT_GRADE, PRACTICE, fields["grade"].description or ""
    yield (
        "`oil: viscosity at 40`", f"that of the grade; {DEFAULT_GRADE}: {show(grade.nu40, 'kinematic viscosity')}",
        "ISO 3448: the middle of the grade, which allows 10 % more or less",
        fields["viscosity_at_40"].description or "",
    )  # fmt: skip
    yield (
        "`oil: viscosity at 100`", f"viscosity index 100; {DEFAULT_GRADE}: {show(at_100, 'kinematic viscosity')}",
        f"ASTM D2270 for the index; that the oil has it: {PRACTICE}", fields["viscosity_at_100"].description or "",
    )  # fmt: skip
    for name, info in fields.items():
        key = info.alias or name
        if key == "temperature":
            yield f"`oil: {key}`", plain_default(info), PRACTICE, info.description or ""
        elif key in listed:
            row = standards.oil_property(listed[key])
            source = row.source if row.status == "seen" else f"{row.status}; {row.source}"
            yield f"`oil: {key}`", plain_default(info), source, info.description or ""
    air = HeadText.model_fields["ambient"]
    yield "`ambient`", plain_default(air), PRACTICE, air.description or ""


def _roughness() -> Iterator[tuple[str, str, str, str]]:
    for name in _MATERIALS:
        row = standards.roughness(name)
        yield "`roughness`", show(row.value, "length"), row.source, name


def _guesses() -> Iterator[tuple[str, str, str, str, str]]:
    for kind, key, info in _keys():
        if basis(info):
            yield kind, f"`{key}`", plain_default(info), basis(info), info.description or ""


def _plain() -> Iterator[tuple[str, str, str, str]]:
    for kind, key, info in _keys():
        if plain_default(info) and not basis(info):
            yield kind, f"`{key}`", plain_default(info), info.description or ""


def _keys() -> Iterator[tuple[str, str, FieldInfo]]:
    """(link to the kind, key with the groups round it, field) of every key of every kind but those common to all; those
    of reliefs only once."""
    common = {info.alias or name for name, info in Parameters.model_fields.items()}
    for name, info in ReliefSetting.model_fields.items():
        yield "any relief", info.alias or name, info
    for kind in kinds.registry().values():
        link = f"[{kind.name}](kinds/{kind.name.replace(' ', '-')}.md)"
        for key, info in _walk(kind.Params):
            if key.split(": ")[0] not in common:
                yield link, key, info


def _walk(model: type[BaseModel], above: str = "") -> Iterator[tuple[str, FieldInfo]]:
    if issubclass(model, ReliefSetting) and above:
        return
    relief: dict[str, Any] = ReliefSetting.model_fields if issubclass(model, ReliefSetting) else {}
    for name, info in model.model_fields.items():
        if name in relief:
            continue
        key = f"{above}{info.alias or name}"
        yield key, info
        inner = inner_model(info.annotation)
        if inner is not None:
            yield from _walk(inner, f"{key}: ")


def _of_kinds() -> Iterator[str]:
    """What a kind always takes for granted: its sentences that no key belongs to."""
    from .reference import example_params

    for kind in kinds.registry().values():
        params = example_params(kind)
        assert params is not None
        for text in kind.assumptions(Part("", kind.name, params)):
            if not text.endswith(")"):
                yield f"A {kind.name}: {text.removeprefix(': ')}."


def _choices() -> Iterator[tuple[str, str, str, str]]:
    for name, entry in disputed().items():
        first, *others = options(entry)
        yield f"`{name}`", first, ", ".join(others), entry.conflict
