"""What differs between two revisions of a machine: parts, lines and settings with reasons, figures, findings,
ratings."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from ..checks.base import ORDER, Finding
from ..language.talk import name_list
from ..language.yamltext import read_yaml
from ..messages import Place

if TYPE_CHECKING:
    from ..circuit import Circuit
    from .facts import Cell, Facts

What = Literal["added", "removed", "changed"]
SECTIONS = ("parts", "lines", "ties", "states")
SMALL = 0.01  # a share of the larger figure; what differs less is the same
NEAR = 0.75  # of a rating: from here on it is worth a line


@dataclass(frozen=True, slots=True)
class Difference:
    """section: one of SECTIONS or "settings". before, after: as written, "" = not there."""

    section: str
    name: str
    what: What
    before: str = ""
    after: str = ""
    because: str = ""


def differences(a: Circuit, b: Circuit) -> list[Difference]:
    """What was added, removed and changed from `a` to `b`, in the order of the sections. What only reads differently
    (63 mm, 6.3 cm) is no difference. Reasons come from `b` where it was written as changes to `a`."""
    before, after = _text(a), _text(b)
    found: list[Difference] = []
    for section in SECTIONS:
        old, new = getattr(a, section), getattr(b, section)
        for name in dict.fromkeys([*old, *new]):
            said = before.get(section, {}).get(name), after.get(section, {}).get(name)
            because = _because(b, section, name)
            if name not in new:
                found.append(Difference(section, name, "removed", _said(said[0]), "", because))
            elif name not in old:
                found.append(Difference(section, name, "added", "", _said(said[1]), because))
            elif _bare(old[name]) != _bare(new[name]):
                was, is_now = _unlike(*said)
                found.append(Difference(section, name, "changed", was, is_now, because))
    return [*found, *_settings(a, b, before, after)]


def _settings(a: Circuit, b: Circuit, before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[Difference]:
    for key, field in {"oil": "oil", "ambient": "ambient", "plugged": "plugged"}.items():
        if _bare(getattr(a, field)) != _bare(getattr(b, field)):
            was, is_now = _unlike(before.get(key), after.get(key))
            yield Difference("settings", key, "changed", was, is_now, _because(b, key, ""))


def _text(circuit: Circuit) -> dict[str, Any]:
    """The circuit as written, as plain data."""
    tree, _ = read_yaml(circuit.text)
    plain: dict[str, Any] = tree.plain() if tree is not None else {}
    return {key: value if isinstance(value, dict) or key not in SECTIONS else {} for key, value in plain.items()}


def _because(b: Circuit, section: str, name: str) -> str:
    hits = [c for c in b.changes if c.path[0] == section and (not name or c.path[1:2] == (name,))]
    return "; ".join(dict.fromkeys(c.because for c in hits))


def _bare(value: Any) -> Any:
    """A value without the places where it was written."""
    if isinstance(value, Place):
        return None
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = (f.name for f in dataclasses.fields(value) if f.name not in ("place", "places", "assumed"))
        return {name: _bare(getattr(value, name)) for name in fields}
    if hasattr(value, "model_dump"):
        return _bare(value.model_dump())
    if isinstance(value, Mapping):
        return {key: _bare(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [_bare(inner) for inner in value]
    return value


def _said(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key} {_said(inner)}" if key != "kind" else _said(inner) for key, inner in value.items())
    if isinstance(value, list):
        return name_list(_said(inner) for inner in value)
    return "" if value is None else str(value)


def _unlike(was: Any, is_now: Any) -> tuple[str, str]:
    """Only the keys that differ; where the text is the same, the difference comes from `like` or `defaults`."""
    if was == is_now:
        return "", "follows a change elsewhere (like, defaults)"
    if isinstance(was, dict) and isinstance(is_now, dict):
        keys = [key for key in dict.fromkeys([*was, *is_now]) if was.get(key) != is_now.get(key)]
        return _said({k: was[k] for k in keys if k in was}), _said({k: is_now[k] for k in keys if k in is_now})
    return _said(was), _said(is_now)


# ---- figures
@dataclass(frozen=True, slots=True)
class Shift:
    """A figure that differs. before, after: cells (see `facts`). weight: how much it matters. states, also: all states
    and the other names that have the very same figures (one row tells them all)."""

    name: str
    states: tuple[str, ...]
    dimension: str
    before: Cell
    after: Cell
    weight: float
    also: tuple[str, ...] = ()


# quantity -> how much a change of it tells a reader
_WEIGHTS = {
    "speed": 4.0, "force": 3.0, "torque": 2.0, "time": 3.5, "heat": 3.0, "temperature": 3.0, "power": 2.0,
    "pressure": 2.0, "flow": 1.5, "velocity": 1.0,
}  # fmt: skip
_OWNERS = {"heat": ("machine",), "temperature": ("machine",)}


def shifts(a: Facts, b: Facts) -> list[Shift]:
    """Figures that differ by more than SMALL in states that both have, those that matter first: what moves and what
    heats before what flows, large before small."""
    found = []
    common = [s for s in a.states if s in b.states]
    for name in (n for n in a.figures if n in b.figures and _worth(n)):
        old, new = a.figures[name], b.figures[name]
        if old.dimension != new.dimension:
            continue
        largest = max((abs(v) for f in (old, new) for c in f.cells if c for v in c), default=0.0)
        for state in common:
            x, y = old.cells[a.states.index(state)], new.cells[b.states.index(state)]
            share = _change(x, y, largest, old.dimension)
            if share > SMALL:
                weight = _WEIGHTS[name.rpartition(".")[2]] * share
                found.append(Shift(name, (state,), old.dimension, x, y, weight))
    return _merged(sorted(found, key=lambda shift: -shift.weight))


def _merged(found: list[Shift]) -> list[Shift]:
    """Equal figures in one row: first the names of one state, then the states of the same names."""
    by_figure: dict[Any, Shift] = {}
    for shift in found:
        key = (shift.name.rpartition(".")[2], shift.states, _key(shift.before), _key(shift.after))
        held = by_figure.get(key)
        by_figure[key] = dataclasses.replace(held, also=(*held.also, shift.name)) if held else shift
    by_names: dict[Any, Shift] = {}
    for shift in by_figure.values():
        key = (shift.name, shift.also, _key(shift.before), _key(shift.after))
        held = by_names.get(key)
        by_names[key] = dataclasses.replace(held, states=(*held.states, *shift.states)) if held else shift
    return list(by_names.values())


def _key(cell: Cell) -> Any:
    return cell and tuple(float(f"{v:.6g}") for v in cell)


def _worth(name: str) -> bool:
    owner, _, quantity = name.rpartition(".")
    return quantity in _WEIGHTS and "." not in owner and owner in _OWNERS.get(quantity, (owner,))


def _change(x: Cell, y: Cell, largest: float, dimension: str) -> float:
    """Difference as a share of the larger figure; small figures beside the largest of their name count for less."""
    if not x or not y:
        return 1.0 if bool(x) != bool(y) else 0.0
    if (x[1] == float("inf")) != (y[1] == float("inf")):
        return 1.0
    x, y = (tuple(v for v in cell if v != float("inf")) for cell in (x, y))
    gap = max(abs(u - v) for u, v in zip(x, y, strict=True))
    if dimension == "temperature":  # kelvin have no zero that means anything to a builder
        return min(gap / 50.0, 1.0)
    return gap / max(*(abs(v) for v in (*x, *y)), largest * 0.2, 1e-12)


# ---- findings
@dataclass(frozen=True, slots=True)
class Turn:
    """What became of a finding. how: "came", "went", "worse", "better", "stayed". before, after: None = not there."""

    how: str
    before: Finding | None
    after: Finding | None


def turns(a: Sequence[Finding], b: Sequence[Finding]) -> list[Turn]:
    """Findings of two revisions side by side: what came first, then worse, gone, better, and what stayed."""
    old, new = _by_subject(a), _by_subject(b)
    found = []
    for key in dict.fromkeys([*new, *old]):
        was, is_now = old.get(key), new.get(key)
        found.append(Turn(_how(was, is_now), was, is_now))
    order = ("came", "worse", "went", "better", "stayed")
    return sorted(found, key=lambda t: (order.index(t.how), ORDER[(t.after or t.before).signal]))  # type: ignore[union-attr]


def _by_subject(findings: Iterable[Finding]) -> dict[tuple[str, str], Finding]:
    """The worst finding of each rule about each subject."""
    found: dict[tuple[str, str], Finding] = {}
    for finding in findings:
        if finding.outcome == "finding":
            key = (finding.rule, finding.subject)
            if key not in found or ORDER[finding.signal] < ORDER[found[key].signal]:
                found[key] = finding
    return found


def _how(was: Finding | None, is_now: Finding | None) -> str:
    if was is None or is_now is None:
        return "came" if was is None else "went"
    step = ORDER[is_now.signal] - ORDER[was.signal]
    return "stayed" if step == 0 else "worse" if step < 0 else "better"


# ---- ratings
@dataclass(frozen=True, slots=True)
class Limit:
    """Highest share of a rating over all states, before and after; None = not there, not rated or not known."""

    name: str
    before: float | None
    after: float | None
    word: str


def limits(a: Facts, b: Facts) -> list[Limit]:
    """Places that use much of their rating in one of the revisions, most used first, and the one that limits each."""
    old, new = _shares(a), _shares(b)
    top = [max(found, key=found.__getitem__) for found in (old, new) if found]
    rows = []
    for name in dict.fromkeys([*new, *old]):
        was, is_now = old.get(name), new.get(name)
        if max(was or 0.0, is_now or 0.0) >= NEAR or name in top:
            rows.append(Limit(name, was, is_now, _limit_word(was, is_now, name in top[1:])))
    return sorted(rows, key=lambda row: -max(row.after or 0.0, (row.before or 0.0) * 1e-3))


def _shares(facts: Facts) -> dict[str, float]:
    found = {}
    for name, figure in facts.figures.items():
        owner, _, quantity = name.rpartition(".")
        known = [cell[0] for cell in figure.cells if cell]  # of a range what is reached for certain
        if quantity == "share" and "." not in owner and known:
            found[owner] = max(known)
    return found


def _limit_word(was: float | None, is_now: float | None, limiting: bool) -> str:
    over = (was is not None and was > 1.0, is_now is not None and is_now > 1.0)
    if over[1] and not over[0]:
        return "over its rating now"
    if over[0] and not over[1]:
        return "within its rating now" if is_now is not None else "no longer there"
    return "limits the machine now" if limiting else ""
