"""The oil of a circuit: its grade's viscosity where the writer gives none."""

from __future__ import annotations

import itertools
import math
import re

from .. import standards
from ..circuit import Oil
from ..messages import Place
from ..quantities import show
from .model import DEFAULT_GRADE, OilText
from .talk import Talk
from .validate import check
from .yamltext import Group, Node, Text

_GRADE = re.compile(r"(?:ISO[ -]*VG|VG|HLP|HM|AW|HVLP|HV)[ -]*(\d+)", re.IGNORECASE | re.ASCII)


def read_oil(node: Node | None, talk: Talk) -> Oil | None:
    """The oil, or None after its errors were said. A missing `oil` is ISO VG 46 at 45 °C, by assumption."""
    place, group = None, Group({}, {}, Place("", 1, 1))
    if isinstance(node, Text) and not node.nothing:
        group = Group({"grade": node.place}, {"grade": node}, node.place)
    elif isinstance(node, Group):
        group = node
    elif node is not None:
        talk.say("value-form", "oil: expected a grade or a group of keys", node.place, "write oil: {grade: ISO VG 46}")
        return None
    place = node.place if node else None
    written = check(OilText, group, "the oil", group.place, talk)
    if written is None:
        return None
    assumed: list[str] = []
    if "grade" not in group.values:
        assumed.append(f"The oil is taken as {DEFAULT_GRADE}: the page names no grade.")
    if "temperature" not in group.values:
        assumed.append(
            f"The oil is taken to work at {show(written.temperature, 'temperature')}: the page does not say."
        )
    viscosity = _viscosity(written, group, assumed, talk)
    if viscosity is None:
        return None
    for key, value, dimension, listed in (
        ("density", written.density, "density", "density"),
        ("specific heat", written.specific_heat, "specific heat", "specific heat"),
        ("limit", written.limit, "temperature", "highest temperature"),
    ):
        if key not in group.values:
            row = standards.oil_property(listed)
            basis = row.source if row.status == "seen" else f"{row.status}; {row.source}"
            name = "density at 15 °C" if key == "density" else listed
            assumed.append(f"Oil, {name}: {show(value, dimension)} ({basis}).")
    if written.coldest_start is not None and written.coldest_start >= written.temperature:
        talk.say(
            "value-wrong", "coldest start: it is not colder than the oil at work", group.values["coldest start"].place
        )
        return None
    return Oil(
        written.grade, *viscosity, written.density, written.temperature, written.coldest_start, written.limit,
        written.specific_heat, tuple(assumed), place,
    )  # fmt: skip


def _viscosity(oil: OilText, group: Group, assumed: list[str], talk: Talk) -> tuple[float, float] | None:
    """(at 40, at 100 degC) in m2/s."""
    at_40, at_100 = oil.viscosity_at_40, oil.viscosity_at_100
    grade = _GRADE.fullmatch(oil.grade.strip())
    try:
        row = standards.iso_vg(grade[1]) if grade else None
    except standards.NotListed:
        row = None
    if at_40 is None:
        if row is None:
            where = group.values["grade"].place if "grade" in group.values else group.place
            grades = ", ".join(name.removeprefix("ISO VG ") for name in standards.grades())
            talk.say(
                "oil-grade", f"grade: the viscosity of '{oil.grade}' is not known", where,
                f"write an ISO VG grade ({grades}), or 'viscosity at 40' and 'viscosity at 100' from the data sheet",
            )  # fmt: skip
            return None
        at_40 = row.nu40
        assumed.append(
            f"Oil, viscosity at 40 °C: {show(at_40, 'kinematic viscosity')}, the middle of {row.grade}; "
            "the grade allows 10 % more or less (ISO 3448)."
        )
    if at_100 is None:
        at_100 = typical_at_100(at_40)
        if at_100 is None:
            where = group.values.get("viscosity at 40", group).place
            talk.say(
                "oil-grade", "viscosity at 40: no typical viscosity at 100 °C is known for it", where,
                "give 'viscosity at 100' too",
            )  # fmt: skip
            return None
        assumed.append(
            f"Oil, viscosity at 100 °C: {show(at_100, 'kinematic viscosity')}, that of an oil of viscosity index 100 "
            "(ASTM D2270), as plain mineral hydraulic oils are about (common practice, no source)."
        )
    if at_100 >= at_40:
        key = "viscosity at 100" if "viscosity at 100" in group.values else "viscosity at 40"
        talk.say("value-wrong", f"{key}: an oil is thinner at 100 °C than at 40 °C", group.values[key].place)
        return None
    return at_40, at_100


def typical_at_100(at_40: float) -> float | None:
    """Viscosity at 100 degC of an oil of viscosity index 100, m2/s; interpolated between grades in the logarithms.

    at_40: m2/s. None outside the listed grades.
    """
    rows = [standards.iso_vg(name) for name in standards.grades()]
    for low, high in itertools.pairwise(rows):
        if low.nu40 * (1 - 1e-9) <= at_40 <= high.nu40 * (1 + 1e-9):
            share = math.log(at_40 / low.nu40) / math.log(high.nu40 / low.nu40)
            return low.nu100 * (high.nu100 / low.nu100) ** share
    return None
