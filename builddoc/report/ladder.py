"""Ladder of pressures: what the work needs, what the reliefs are set to, what the weakest parts bear, in one order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..checks import strength, walk
from ..checks.base import Case
from ..checks.flows import MOSTLY, relief_share
from ..checks.sections import members, of_kind, section
from ..checks.settings import guarded
from ..checks.words import Units, quoted
from .cells import Scale, text_column, words
from .model import Table

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
    """Every rung, lowest first; one out of order is flagged `over` and says why. None without a relief."""
    u = Units(case.circuit)
    rungs = sorted([*_needs(case), *_settings(case), *_ratings(case)], key=lambda rung: rung.pressure)
    if not any(rung.sort == SETTING for rung in rungs):
        return None
    scale = Scale(u, "pressure", [rung.pressure for rung in rungs])
    rows = tuple(
        (
            words(rung.where, rung.note, subject=rung.subject),
            words(rung.sort),
            scale.cell(rung.pressure, subject=rung.subject, flag="over" if rung.wrong else ""),
            words(f"out of order: {rung.wrong}" if rung.wrong else "in order", flag="over" if rung.wrong else ""),
        )
        for rung in rungs
    )
    columns = (text_column("Place"), text_column("What it is"), scale.column("Pressure"), text_column("Order"))
    caption = "Lowest first: what the work needs, then the settings, then the weakest rating that each setting guards"
    return Table("ladder", "Ladder of pressures", caption, columns, rows)


def _needs(case: Case) -> list[Rung]:
    """The highest pressure of each pump at work, with its state: less than half of its flow goes over reliefs."""
    r, found = case.results, []
    works = np.array([bool(r.solved[s]) and relief_share(case, s).share < MOSTLY for s in range(r.size)])
    for pump, items in guarded(case):
        turning = works & (pump.flow > 0)
        worst = r.worst(np.where(turning, r.node_pressure(pump.outlet), np.nan))
        if worst is not None and worst.value > 0:
            lowest = min((i.setting for i in items), default=np.inf)
            wrong = "as high as a relief" if worst.value >= lowest else ""
            found.append(Rung(worst.value, NEED, pump.part, pump.part, f"in {quoted([worst.state])}", wrong))
    return found


def _settings(case: Case) -> list[Rung]:
    found = []
    needs = _needs(case)
    for item in walk.limiters(case.circuit, case.network):
        weak = _weakest(case, min(item.inlets(case.network)))
        wrong = ""
        if weak is not None and weak.value is not None and item.setting > weak.value:
            wrong = f"above what {weak.label} bears"
        elif any(n.wrong and n.pressure >= item.setting for n in needs):
            wrong = "below what the work needs"
        found.append(Rung(item.setting, SETTING, item.label, item.part, "relief", wrong))
    for part in of_kind(case, "counterbalance valve", "pressure reducing valve", "sequence valve"):
        setting = getattr(part.params, "setting", None)
        if setting is not None:
            found.append(Rung(float(setting), SETTING, part.name, part.name, part.kind))
    return found


def _weakest(case: Case, node: int) -> strength.Member | None:
    return strength.weakest(members(case, section(case, node)))


def _ratings(case: Case) -> list[Rung]:
    """The weakest member that each relief guards, named once, with the reliefs that are set above it."""
    found: dict[str, Rung] = {}
    for item in walk.limiters(case.circuit, case.network):
        weak = _weakest(case, min(item.inlets(case.network)))
        if weak is None or weak.value is None:
            continue
        label = weak.label if weak.port else f"{weak.owner}: {weak.label}"
        wrong = f"below the setting of {item.label}" if item.setting > weak.value else ""
        before = found.get(label)
        if before is None or (wrong and not before.wrong):
            found[label] = Rung(weak.value, RATING, label, weak.owner, f"guarded by {item.label}", wrong)
    return list(found.values())
