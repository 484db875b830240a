"""Where the pressure goes: from the pump's outlet down to the tank along the way that most of the oil takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from .. import kinds
from ..checks.base import Case
from ..checks.words import Units
from ..results import Results
from .model import PressurePath, Step

STILL = 1e-4  # share of the pump's flow below which nothing passes
SMALL = 0.02  # share of the first pressure below which a step is told together with others
LEAST = 0.1e5  # Pa at the outlet below which there is nothing to show


@dataclass(frozen=True, slots=True)
class _Way:
    """A passage that carries flow from one node to another. work: the pressure is spent on a load, not as heat."""

    start: int
    end: int
    flow: float
    owner: str
    work: bool = False


def pressure_paths(case: Case) -> tuple[PressurePath, ...]:
    """One for each solved state in which a pump delivers against pressure."""
    return tuple(path for s in range(case.results.size) if (path := _path(case, s)) is not None)


def _path(case: Case, s: int) -> PressurePath | None:
    r = case.results
    outlet = _strongest_source(r, s) if r.solved[s] else None
    if outlet is None or r.p[s, outlet] < LEAST:
        return None
    ways: dict[int, list[_Way]] = {}
    for way in _ways(r, s):
        ways.setdefault(way.start, []).append(way)
    top, node, seen = float(r.p[s, outlet]), outlet, {outlet}
    raw: list[tuple[str, bool, float, float]] = []
    while node != 0:
        onward = [way for way in ways.get(node, ()) if way.end not in seen]
        if not onward:
            return None  # the oil stays: a single-acting rod or an accumulator takes it
        way = max(onward, key=lambda way: way.flow)
        before, after = float(r.p[s, node]), float(r.p[s, way.end])
        if raw and raw[-1][0] == way.owner and raw[-1][1] == way.work:
            before = raw.pop()[2]
        raw.append((way.owner, way.work, before, after))
        node = way.end
        seen.add(node)
    return PressurePath(r.states[s], tuple(_steps(raw, top, Units(case.circuit))))


def _strongest_source(r: Results, s: int) -> int | None:
    """Node of the source that puts most power into the oil."""
    power = [(float(r.source_q[s, k] * r.p[s, source.node]), source.node) for k, source in enumerate(r.network.sources)]
    best = max((pair for pair in power if pair[0] > 0), default=None)
    return best[1] if best else None


def _ways(r: Results, s: int) -> Iterator[_Way]:
    net = r.network
    still = STILL * max((abs(float(q)) for q in r.source_q[s]), default=0.0)
    passages = [(b.i, b.j, float(r.q[s, k]), b.part) for k, b in enumerate(net.branches) if not b.leak]
    passages += [(c.i, c.j, float(r.pilot_q[s, k]), c.part) for k, c in enumerate(net.pilots)]
    for i, j, q, owner in passages:
        if abs(q) > still:
            yield _Way(i, j, q, owner) if q > 0 else _Way(j, i, -q, owner)
    inside = {name for name, part in r.circuit.parts.items() if not kinds.registry()[part.kind].moves}
    for k, actuator in enumerate(net.actuators):
        flows = {node: coefficient * float(r.v[s, k]) for node, coefficient in actuator.k.items()}
        for start, taken in flows.items():
            for end, given in flows.items():
                if taken > still and given < -still:
                    yield _Way(start, end, min(taken, -given), actuator.part, actuator.part not in inside)


def _steps(raw: list[tuple[str, bool, float, float]], top: float, u: Units) -> Iterator[Step]:
    """The steps in order; what loses little is kept as one step where it stands."""
    small: list[tuple[str, float, float]] = []
    for owner, work, before, after in raw:
        if abs(before - after) < SMALL * top and not work:
            small.append((owner, before, after))
            continue
        yield from _gathered(small, u)
        small = []
        yield Step(owner, owner, before, after, u.show(before, "pressure"), u.show(before - after, "pressure"), work)
    yield from _gathered(small, u)


def _gathered(small: list[tuple[str, float, float]], u: Units) -> Iterator[Step]:
    if not small:
        return
    before, after = small[0][1], small[-1][2]
    label = small[0][0] if len(small) == 1 else f"{small[0][0]} to {small[-1][0]}"
    subject = small[0][0] if len(small) == 1 else ""
    yield Step(label, subject, before, after, u.show(before, "pressure"), u.show(before - after, "pressure"))
