"""Ladder of pressures: what the work needs, what the reliefs are set to, what the weakest parts bear, in one order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..checks import strength, walk
from ..checks.base import Case
from ..checks.flows import MOSTLY, relief_share
from ..checks.reliefs import guard_at, home
from ..checks.rod_duty import lowest_setting, pressure_for, rods
from ..checks.sections import Section, members, of_kind, section
from ..checks.strength import Member
from ..checks.walk import Limiter
from ..checks.words import Units, quoted
from .cells import Scale, text_column, words
from .model import Table

REDUCER = "pressure reducing valve"
NEED, SETTING, RATING = "working need", "setting", "weakest rating"


@dataclass(frozen=True, slots=True)
class Rung:
    """pressure: Pa. sort: one of the three above. subject: part or line. wrong: why it is out of order, "" if not."""

    pressure: float
    sort: str
    where: str
    subject: str
    note: str = ""
    wrong: str = ""


def ladder_table(case: Case) -> Table | None:
    """Every rung, lowest first; one out of order is flagged `wrong` and says why. None without a relief."""
    u = Units(case.circuit)
    reliefs = walk.limiters(case.circuit, case.network)
    if not reliefs:
        return None
    ratings = {item: _behind(case, item, reliefs) for item in reliefs}
    rungs = [*_needs(case), *_forces(case), *_settings(case, ratings), *_ratings(ratings)]
    rungs.sort(key=lambda rung: rung.pressure)
    scale = Scale(u, "pressure", [rung.pressure for rung in rungs])
    rows = tuple(
        (
            words(rung.where, rung.note, subject=rung.subject),
            words(rung.sort),
            scale.cell(rung.pressure, subject=rung.subject),
            words("out of order", rung.wrong, flag="wrong") if rung.wrong else words("in order"),
        )
        for rung in rungs
    )
    columns = (text_column("Place"), text_column("What it is"), scale.column("Pressure"), text_column("Order"))
    caption = (
        "Lowest first: what the work needs, the settings, and of all that a relief guards in some state the weakest "
        "rating, or every one below its setting"
    )
    return Table("ladder", "Ladder of pressures", caption, columns, rows)


def _working(case: Case) -> np.ndarray:
    """States at work: solved, and less than half of the flow goes over reliefs."""
    return np.array([bool(case.results.solved[s]) and relief_share(case, s).share < MOSTLY
                     for s in range(case.results.size)])  # fmt: skip


def _reached(case: Case) -> dict[Limiter, bool]:
    """Reliefs at which a state at work stands as high as their setting, of those that its pump's oil comes to."""
    works, found = _working(case), {}
    for pump in walk.pumps(case.network):
        guard = guard_at(case, pump.part, pump.outlet)
        for s in np.flatnonzero(works & (pump.flow > 0)):
            for item in guard.limiting(int(s)):
                if item.pressure(case.results)[s] >= item.setting:
                    found[item] = True
    return found


def _needs(case: Case) -> list[Rung]:
    """The highest pressure of each pump at work, with its state."""
    r, works, reached, found = case.results, _working(case), _reached(case), []
    for pump in walk.pumps(case.network):
        worst = r.worst(np.where(works & (pump.flow > 0), r.node_pressure(pump.outlet), np.nan))
        if worst is not None and worst.value > 0:
            met = [i for i in guard_at(case, pump.part, pump.outlet).limiting(worst.index) if i in reached]
            wrong = f"as high as {met[0].label}" if met else ""
            found.append(Rung(worst.value, NEED, pump.part, pump.part, f"in {quoted([worst.state])}", wrong))
    return found


def _forces(case: Case) -> list[Rung]:
    """What a cylinder takes for the force that the writer says it needs."""
    u, found = Units(case.circuit), []
    for rod in rods(case):
        params = rod.part.params
        friction = float(getattr(params, "friction", 0.0))
        for word, need, area, sign in (
            ("push", getattr(params, "needed_push", None), rod.pushes, 1),
            ("pull", getattr(params, "needed_pull", None), rod.pulls, -1),
        ):
            if need is None or area <= 0:
                continue
            pressure, top = pressure_for(need, area, friction), lowest_setting(case, rod.part.name, sign)
            wrong = "more than its relief allows" if top is not None and pressure > top else ""
            note = f"for a {word} of {u.show(need, 'force')}"
            found.append(Rung(pressure, NEED, rod.part.name, rod.part.name, note, wrong))
    return found


def _settings(case: Case, ratings: Mapping[Limiter, Sequence[Member]]) -> list[Rung]:
    found, reached = [], _reached(case)
    for item, members_ in ratings.items():
        weak = strength.weakest(members_)
        wrong = ""
        if weak is not None and weak.value is not None and item.setting > weak.value:
            wrong = f"above what {_name(weak)} bears"
        elif item in reached:
            wrong = "below what the work needs"
        found.append(Rung(item.setting, SETTING, item.label, item.part, "relief", wrong))
    for part in of_kind(case, "counterbalance valve", REDUCER, "sequence valve"):
        setting = getattr(part.params, "setting", None)
        if setting is not None:
            found.append(Rung(float(setting), SETTING, part.name, part.name, part.kind))
    return found


def _behind(case: Case, item: Limiter, reliefs: Sequence[Limiter]) -> list[Member]:
    """All with a rating that the relief guards: what its own place reaches, in any state, through whatever is open
    then. Not what is on the way home to the reservoir, nor what stands behind a reducing valve or beside a relief that
    is set lower."""
    network, at_home = case.network, home(case)
    start = set(section(case, min(item.inlets(network))).nodes)
    barred = {(r.part, r.role) for r in reliefs}
    barred |= {(b.part, b.role) for b in network.branches if b.i in at_home or b.j in at_home}
    reducers = {part.name for part in of_kind(case, REDUCER)}

    def open_way(part: str, role: str) -> bool:
        return (part, role) not in barred and part not in reducers

    turning = [a for a in network.actuators if a.role not in ("rod", "shaft")]
    behind = any(k < 0 and n in start for a in turning for n, k in a.k.items())  # at an outlet of a divider: not before
    nodes = set(start)
    for s in range(network.size):
        nodes |= walk.reach(network, start - at_home, s, open_way, pilots=False, rotors=not behind)
    lower = [r for r in reliefs if r.setting < item.setting]
    nodes -= {n for r in lower for n in section(case, min(r.inlets(network))).nodes} - start
    nodes -= at_home
    lines = tuple(name for name, ends in network.line_nodes.items() if set(ends) <= nodes)
    return [m for m in members(case, Section(frozenset(nodes), (), lines)) if m.value]


def _name(member: Member) -> str:
    return member.label if member.port else f"{member.owner}: {member.label}"


def _ratings(ratings: Mapping[Limiter, Sequence[Member]]) -> list[Rung]:
    """Every member that is rated below a relief which guards it, else the weakest; each named once."""
    found: dict[str, Rung] = {}
    for item, held in ratings.items():
        weak = strength.weakest(held)
        below = [m for m in held if m.value and m.value < item.setting]
        for m in below or ([weak] if weak else []):
            wrong = f"below the setting of {item.label}" if below else ""
            before = found.get(_name(m))
            if m.value and (before is None or (wrong and not before.wrong)):
                found[_name(m)] = Rung(m.value, RATING, _name(m), m.owner, f"guarded by {item.label}", wrong)
    return list(found.values())
