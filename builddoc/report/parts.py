"""What the machine is made of: its parts, its lines, and how much of each to buy."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, get_args, get_origin

from pydantic.fields import FieldInfo

from .. import kinds, quantities
from ..checks import strength
from ..checks.base import Case
from ..checks.words import Units, listed
from ..circuit import Line, Part
from ..fields import Pair, PairOf, Quantity
from ..kinds.base import Keys
from .cells import Scale, text_column, words
from .model import Cell, Table

GROUPS = ("energy", "conditioning", "valves", "actuators", "measuring", "lines")
Item = tuple[str, str, str]  # group, what it is, and its data
SHOPS = ("pump, drive, tank", "filters, coolers", "valves", "cylinders, motors", "gauges", "couplers, tees")
"""GROUPS in the words of who goes shopping."""
FITTINGS, CONDUITS = "fittings", "hoses, tubes, pipes"
LIFE = 6
"""Years after which a hose is renewed whatever it looks like; common practice, no source (5 to 10 are in use)."""
_YEAR = re.compile(r"(?P<year>(?:19|20)[0-9]{2})(?P<rest>.*)")
_TOLD_ELSEWHERE = {"rating", "salvaged", "note"}


def parts_table(case: Case) -> Table:
    """One row per part, grouped by what it is for: kind, data as the writer gave them, lowest rating of its ports and
    where it was read."""
    u = Units(case.circuit)
    parts = sorted(case.circuit.parts.values(), key=lambda part: _group(part))
    weak = {part.name: strength.weakest(strength.port_members(part)) for part in parts}
    rating = Scale(u, "pressure", [m.value for m in weak.values() if m and m.value])
    rows = [
        (
            words(part.name, part.params.note, subject=part.name),
            words(part.kind, "second-hand" if part.params.salvaged else ""),
            words(", ".join(data_words(part.params, u.first))),
            *_rating(rating, weak[part.name], strength.port_members(part)),
        )
        for part in parts
    ]
    columns = (
        text_column("Part"), text_column("Kind"), text_column("Data"), rating.column("Rated"),
        text_column("Where the rating was read"),
    )  # fmt: skip
    caption = "As written in the circuit; the lowest rating of its ports"
    return Table("parts", "Parts", caption, columns, tuple(rows))


def _group(part: Part) -> int:
    group = kinds.registry()[part.kind].group
    return GROUPS.index(group) if group in GROUPS else len(GROUPS)


def _rating(scale: Scale, weak: strength.Member | None, members: list[strength.Member]) -> tuple[Cell, Cell]:
    if not members:
        return words("", "carries no pressure"), words("")
    missing = [m for m in members if m.missing]
    basis = strength.basis(weak.rating) if weak else ""
    told = basis or ("as given" if weak else "nobody stated one")
    note = f"without one: {listed([m.port for m in missing], 4)}" if missing and weak else ""
    value = weak.value if weak and weak.value else float("nan")
    return scale.cell(value, flag="not-checked" if missing else ""), words(told, note)


def lines_schedule(case: Case) -> Table:
    """One row per line: conduit, length, ends, fittings in the order along the run, own rating and where it was
    read."""
    u = Units(case.circuit)
    lines = case.circuit.lines.values()
    length = Scale(u, "length", [line.length for line in lines if line.conduit])
    bore = Scale(u, "length", [line.conduit.bore for line in lines if line.conduit], by_smallest=True)
    rating = Scale(u, "pressure", [own.value for own in map(_own_rating, lines) if own and own.value])
    rows = []
    for line in lines:
        own = _own_rating(line)
        value = own.value if own and own.value else float("nan")
        rows.append(
            (
                words(line.name, str(line.details.get("note", "")), subject=line.name),
                words(line.conduit.label if line.conduit else "screwed together"),
                length.cell(line.length if line.conduit else float("nan")),
                bore.cell(line.conduit.bore if line.conduit else float("nan")),
                words(f"{line.start} → {line.end}"),
                words(", ".join(f"{f.count} × {f.label}" if f.count > 1 else f.label for f in line.fittings)),
                rating.cell(value, strength.caveat(own), flag="not-checked" if line.conduit and not own else ""),
                words(strength.basis(own) or ("as given" if own else "")),
                words(_dated(line)),
                words(due(hose_date(line))),
            )
        )
    columns = (
        text_column("Line"), text_column("Made of"), length.column("Length"), bore.column("Bore"),
        text_column("From and to"), text_column("Fittings, in order"), rating.column("Rated"),
        text_column("Where the rating was read"), text_column("Date on it"), text_column("Renew by"),
    )  # fmt: skip
    caption = "Ratings of the conduits themselves; the weakest member of each line stands in the table of lines"
    return Table("line-schedule", "Line schedule", caption, columns, tuple(rows))


def hose_date(line: Line) -> str:
    """As the writer gave it, "" if he did not."""
    return str(line.details.get("hose date", ""))


def _dated(line: Line) -> str:
    hose = line.conduit is not None and line.conduit.kind == "hose"
    return hose_date(line) or ("unknown" if hose else "")


def due(date: str) -> str:
    """`2019-05` -> `2025-05`; "" for a text without a year."""
    match = _YEAR.search(date)
    return f"{int(match['year']) + LIFE}{match['rest']}" if match else ""


def _own_rating(line: Line) -> Any:
    return line.conduit.rating if line.conduit else None


def quantities_table(case: Case) -> Table:
    """What to buy, alike things together: parts of one kind and data, metres of each conduit, fittings."""
    u = Units(case.circuit)
    counted: dict[Item, int] = {}
    used: dict[Item, list[str]] = {}
    second_hand: dict[Item, list[str]] = {}
    metres: dict[str, list[float]] = {}
    for part in sorted(case.circuit.parts.values(), key=_group):
        item = (_shop(part), part.kind, ", ".join(data_words(part.params, u.first)))
        _count(counted, used, item, 1, part.name)
        if part.params.salvaged:
            second_hand.setdefault(item, []).append(part.name)
    for line in case.circuit.lines.values():
        if line.conduit:
            metres.setdefault(line.conduit.label, []).append(line.length)
            used.setdefault((CONDUITS, line.conduit.label, ""), []).append(line.name)
        for fitting in line.fittings:
            _count(counted, used, (FITTINGS, fitting.label, ""), fitting.count, line.name)
    rows = [
        (
            words(item[1], item[0]), words(item[2]), words(str(number), _have(second_hand.get(item, []), number)),
            words(listed(used[item], 6)),
        )
        for item, number in counted.items()
    ]  # fmt: skip
    for label, lengths in metres.items():
        total = u.show(sum(lengths), "length")
        pieces = f"{len(lengths)} {'piece' if len(lengths) == 1 else 'pieces'}"
        rows.append((words(label, CONDUITS), words(pieces), words(total), words(listed(used[CONDUITS, label, ""], 6))))
    columns = (text_column("What"), text_column("Data"), text_column("Quantity"), text_column("For"))
    caption = "Alike things together. Lengths are those of the lines, without ends and waste"
    return Table("quantities", "Quantities", caption, columns, tuple(rows))


def _shop(part: Part) -> str:
    group = _group(part)
    return SHOPS[group] if group < len(SHOPS) else "other"


def _have(names: list[str], number: int) -> str:
    """What need not be bought: parts that are second-hand."""
    return f"{len(names)} of {number} second-hand: {listed(names)}" if names else ""


def _count(counted: dict[Item, int], used: dict[Item, list[str]], key: Item, n: int, where: str) -> None:
    counted[key] = counted.get(key, 0) + n
    used.setdefault(key, []).append(where)


def data_words(keys: Keys, system: str) -> Iterator[str]:
    """What the writer said of a part, key by key in display units: `displacement 10 cc/rev`."""
    for name, info in type(keys).model_fields.items():
        value = getattr(keys, name)
        if name in keys.model_fields_set and name not in _TOLD_ELSEWHERE and value is not None:
            text = _shown(value, info, system)
            if text:
                yield f"{info.alias or name} {text}"


def _shown(value: Any, info: FieldInfo | None, system: str) -> str:
    """A parameter's value as text; "" for what does not fit into a line of a table."""
    mark = next((m for m in _marks(info) if isinstance(m, (Quantity, PairOf))), None) if info else None
    if isinstance(mark, Quantity) and isinstance(value, (int, float)):
        return quantities.show(float(value), mark.dimension, system)
    if isinstance(mark, PairOf) and isinstance(value, Pair):
        first = quantities.show(value.value, mark.first, system)
        return first if value.at != value.at else f"{first} at {quantities.show(value.at, mark.second, system)}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Keys):
        return ", ".join(data_words(value, system))
    if isinstance(value, Mapping):
        return ", ".join(str(key) for key in value)
    if isinstance(value, (list, tuple)):
        return ", ".join(filter(None, (_shown(item, info, system) for item in value)))
    return str(value) if isinstance(value, (str, int, float)) else ""


def _marks(info: FieldInfo) -> Iterator[Any]:
    """Markers of a field, also inside `X | None`."""
    yield from info.metadata
    waiting = [info.annotation]
    while waiting:
        here = waiting.pop()
        if get_origin(here) is Annotated:
            yield from here.__metadata__  # type: ignore[union-attr]
        waiting += get_args(here)
