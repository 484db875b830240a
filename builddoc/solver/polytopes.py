"""How far a linear expression may go within linear limits, for many sets of limits at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..network import Array

EMPTY = 2e-6  # limits that can only be met with more slack than this are not met at all (scaled: 20 Pa)
STACKED = 120  # programs solved as one: fewer cost more calls, more take longer than in proportion
ZERO = 1e-9  # coefficient that counts as zero

Span = tuple[float, float]


@dataclass(slots=True)
class Polytope:
    """Points y (D,) with limits (R, D) @ y <= room (R,), bounded. directions (E, D): what is asked.
    met: it is known to hold a point, so that `EMPTY` is not asked of it."""

    limits: Array
    room: Array
    directions: Array
    met: bool = False


def extremes(polytopes: Sequence[Polytope]) -> list[list[Span] | None]:
    """Of each polytope: (lowest, highest) of every direction, None if it is empty. Those of more than one dimension go
    into stacked linear programs, after others that find which of them hold a point. (-inf, inf) where the
    programs fail: then nothing is known."""
    out: list[list[Span] | None] = [None] * len(polytopes)
    many: list[int] = []
    for n, one in enumerate(polytopes):
        if one.directions.shape[1] > 1:
            many.append(n)
        else:
            out[n] = _plain(one)
    if not many:
        return out
    asked = [polytopes[n] for n in many]
    slack = _least_slack([one for one in asked if not one.met])
    if slack is None:
        unknown = [[(-np.inf, np.inf)] * len(one.directions) for one in asked]
        for n, spans in zip(many, unknown, strict=True):
            out[n] = list(spans)
        return out
    given = iter(slack)
    slacks = [0.0 if one.met else next(given) for one in asked]
    alive = [(n, one, extra) for n, one, extra in zip(many, asked, slacks, strict=True) if extra <= EMPTY]
    programs = [
        (one.limits, one.room + max(extra, 0.0) * (1.0 + 1e-6) + (0.0 if one.met else ZERO), sign * direction)
        for _, one, extra in alive
        for direction in one.directions
        if _moves(direction)
        for sign in (1.0, -1.0)
    ]
    least = _minima(programs)
    values = iter(least if least is not None else [-np.inf] * len(programs))
    for n, one, _ in alive:
        out[n] = [(next(values), -next(values)) if _moves(direction) else (0.0, 0.0) for direction in one.directions]
    return out


def _moves(direction: Array) -> bool:
    return bool(np.abs(direction).max() > 1e-7)


def _plain(one: Polytope) -> list[Span] | None:
    """Closed form of no and one dimension."""
    slack = 0.0 if one.met else EMPTY
    if one.directions.shape[1] == 0:
        empty = bool((one.room < -slack).any()) and not one.met
        return None if empty else [(0.0, 0.0)] * len(one.directions)
    weight = one.limits[:, 0]
    up = float((one.room[weight > ZERO] / weight[weight > ZERO]).min(initial=np.inf))
    down = float((one.room[weight < -ZERO] / weight[weight < -ZERO]).max(initial=-np.inf))
    still = np.abs(weight) <= ZERO
    if not one.met and (bool((one.room[still] < -slack).any()) or down - up > slack):
        return None
    low, high = min(down, up), max(down, up)
    return [(min(b * low, b * high), max(b * low, b * high)) for b in one.directions[:, 0].tolist()]


def _least_slack(polytopes: Sequence[Polytope]) -> list[float] | None:
    """By how much all limits of each must be widened to hold a point; None if the program fails."""
    programs = []
    for one in polytopes:
        rows, columns = one.limits.shape
        limits = np.zeros((rows + 1, columns + 1))
        limits[:rows, :columns], limits[:, columns] = one.limits, -1.0
        programs.append((limits, np.append(one.room, 0.0), np.append(np.zeros(columns), 1.0)))
    return _minima(programs)


def _minima(programs: Sequence[tuple[Array, Array, Array]]) -> list[float] | None:
    """Least cost @ y with limits @ y <= room of every (limits, room, cost); None if that fails."""
    least: list[float] = []
    for first in range(0, len(programs), STACKED):
        found = _stacked(programs[first : first + STACKED])
        if found is None:
            return None
        least += found
    return least


def _stacked(programs: Sequence[tuple[Array, Array, Array]]) -> list[float] | None:
    """The same, all as one program."""
    from scipy.optimize import Bounds, LinearConstraint, milp  # no integers here: it reaches the program at less cost
    from scipy.sparse import csc_matrix

    values, rows, columns = [], [], []
    row = column = 0
    for limits, room, cost in programs:
        r, c = np.nonzero(limits)
        values.append(limits[r, c])
        rows.append(r + row)
        columns.append(c + column)
        row += room.size
        column += cost.size
    table = csc_matrix((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=(row, column))
    costs = np.concatenate([cost for _, _, cost in programs])
    room_of_all = np.concatenate([room for _, room, _ in programs])
    rows_of_all = LinearConstraint(table, -np.inf, room_of_all)
    solved = milp(costs, constraints=rows_of_all, bounds=Bounds(-np.inf, np.inf))
    if solved.status != 0:
        return None
    ends = np.cumsum([cost.size for _, _, cost in programs])[:-1]
    return [float(part.sum()) for part in np.split(costs * solved.x, ends)]
