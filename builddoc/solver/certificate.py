"""Certificate of an answer against the unrounded laws. Shares no law and no scaling with the Newton code.

Inputs are the SI numbers of the network and p, q, pilot_q, x, v. Void and burst flows are not taken from the solver
either: they are what the mass balance lacks at nodes whose pressure stands at a bound.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..network import RESERVOIR, Array
from ..solution import Certificate
from .limits import FLOW_SCALE, P_BURST, P_CAV, RUNAWAY
from .tables import Tables

PRESSURE_UNIT = 1.0e7  # Pa: residuals of pressures are given relative to 100 bar
REST = 1e-6  # scaled speed below which a rod counts as standing, so that any friction may hold it


@dataclass(frozen=True, slots=True)
class Answer:
    """Answer of S states in SI, one row per state: p (S, N) Pa, q (S, M) m3/s, pilot_q, x (S, C), v (S, A)."""

    p: Array
    q: Array
    pilot_q: Array
    x: Array
    v: Array


@dataclass(frozen=True, slots=True)
class Residuals:
    """Arrays (S,) named as in solution.Certificate; void_flow, burst_flow (S, N) m3/s; largest flow of each state
    (S,) m3/s."""

    mass: Array
    law: Array
    complementarity: Array
    actuator: Array
    pilot: Array
    energy: Array
    pump: Array
    dissipation: Array
    work: Array
    void_flow: Array
    burst_flow: Array
    largest: Array
    worst_node: Array
    worst_branch: Array

    def of(self, s: int, method: str) -> Certificate:
        """Certificate of one state."""
        flow = self.largest[s]
        return Certificate(
            mass=float(self.mass[s]),
            law=float(self.law[s]),
            complementarity=float(self.complementarity[s]),
            actuator=float(self.actuator[s]),
            pilot=float(self.pilot[s]),
            energy=float(self.energy[s]),
            pump=float(self.pump[s]),
            dissipation=float(self.dissipation[s]),
            work=float(self.work[s]),
            void=float(self.void_flow[s].sum() / flow),
            burst=float(self.burst_flow[s].sum() / flow),
            worst_node=int(self.worst_node[s]),
            worst_branch=int(self.worst_branch[s]),
            method=method,
        )


def certify(t: Tables, answer: Answer) -> Residuals:
    """Residuals of every state. Where a number is not finite, every residual of that state is infinite."""
    with np.errstate(all="ignore"):
        return _certify(t, answer)


def _certify(t: Tables, answer: Answer) -> Residuals:
    p, q, x, v = answer.p, answer.q, answer.x, answer.v
    injected = t.injection()
    largest = np.max([_own_flow(t), *(np.abs(x).max(axis=1, initial=0.0) for x in (q, answer.pilot_q))], axis=0)
    unit = largest[:, None]

    # mass: what the balance lacks may only be void at the lower bound or burst at the upper bound
    missing = t.outflow(q, answer.pilot_q, v) - injected
    missing[:, RESERVOIR] = 0.0
    room = np.where(missing > 0.0, p - P_CAV, P_BURST - p) / PRESSURE_UNIT
    imbalance = np.minimum(np.abs(missing) / unit, np.abs(room))
    outside = np.maximum(np.maximum(P_CAV - p, p - P_BURST), 0.0) / PRESSURE_UNIT
    reservoir = np.abs(p[:, RESERVOIR]) / PRESSURE_UNIT
    mass = np.maximum(np.maximum(imbalance, outside).max(axis=1, initial=0.0), reservoir)
    at_bound = np.abs(missing) / unit > np.abs(room)
    void = np.where(at_bound & (missing > 0.0), missing, 0.0)
    burst = np.where(at_bound & (missing < 0.0), -missing, 0.0)

    # branches: natural residual of the law and its bounds
    drop = p[:, t.i] - p[:, t.j]
    excess = drop - t.c0 - passage_drop(t, q)
    free = np.isinf(t.lo) & np.isinf(t.hi)
    bounded = np.abs(q - np.clip(q + excess * unit / PRESSURE_UNIT, t.lo, t.hi)) / unit
    law_each = np.where(free, np.abs(excess) / PRESSURE_UNIT, 0.0)
    bound_each = np.where(free, 0.0, bounded)
    dissipation = (drop * q).sum(axis=1)

    actuator, work = _actuators(t, p, v, unit)
    pilot = np.zeros(t.size)
    if x.shape[1]:
        condition = (p @ t.z.T - t.z0 - t.droop * x) / PRESSURE_UNIT
        pilot_drop = p[:, t.pilot_i] - p[:, t.pilot_j]
        law = np.abs(x * x * pilot_drop - t.pilot_b * answer.pilot_q * np.abs(answer.pilot_q)) / PRESSURE_UNIT
        pilot = np.maximum(np.abs(x - np.clip(x + condition, 0.0, 1.0)), law).max(axis=1)
        dissipation += (pilot_drop * answer.pilot_q).sum(axis=1)

    pump = (p * injected).sum(axis=1)
    slack = (p * (burst - void)).sum(axis=1)
    least = 1e-4 * PRESSURE_UNIT * largest  # so that a circuit at rest does not divide by nothing
    turnover = np.maximum(np.maximum(np.abs(pump), np.abs(dissipation)), least)
    energy = np.abs(pump - dissipation - work - slack) / turnover
    worst_branch = np.maximum(law_each, bound_each).argmax(axis=1) if q.shape[1] else np.full(t.size, -1)
    return Residuals(
        mass=_finite(mass),
        law=_finite(law_each.max(axis=1, initial=0.0)),
        complementarity=_finite(bound_each.max(axis=1, initial=0.0)),
        actuator=_finite(actuator),
        pilot=_finite(pilot),
        energy=_finite(energy),
        pump=pump,
        dissipation=dissipation,
        work=work,
        void_flow=void,
        burst_flow=burst,
        largest=largest,
        worst_node=imbalance.argmax(axis=1),
        worst_branch=worst_branch,
    )


def passage_drop(t: Tables, q: Array) -> Array:
    """Drop of every branch at flow q (S, M), Pa, without its cracking pressure: a q + b q|q| + tube(q)."""
    drop = t.a * q + t.b * q * np.abs(q)
    if t.tube.size:
        flow = q[:, t.tube]
        drop[:, t.tube] += t.laminar * flow * _over_laminar(t.re_per_q * np.abs(flow), t.rough)
    return drop


def _over_laminar(re: Array, rough: Array) -> Array:
    """Churchill's friction factor over 64/Re (Chemical Engineering 84 (1977), as cited by the library `fluids`)."""
    r = np.maximum(re, 200.0)
    a = (2.457 * np.log(1.0 / ((7.0 / r) ** 0.9 + 0.27 * rough))) ** 16
    b = (37530.0 / r) ** 16
    factor = 8.0 * ((8.0 / r) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)
    return np.where(re < 200.0, 1.0, factor * r / 64.0)


def _actuators(t: Tables, p: Array, v: Array, unit: Array) -> tuple[Array, Array]:
    """Natural residual of force balance, friction and stops; and the work delivered, W."""
    if not v.shape[1]:
        return np.zeros(t.size), np.zeros(t.size)
    largest = np.abs(t.k).max(axis=1)
    k0 = np.where(largest > 0.0, largest, 1.0)
    force, speed = k0 * PRESSURE_UNIT, unit / k0
    pushed = p @ t.k.T
    excess = (pushed - t.force - t.damping * v) / force
    friction, scaled = t.friction / force, v / speed
    resting = np.maximum(np.abs(excess) - friction, 0.0) * np.sign(excess)
    drive = np.where(np.abs(scaled) < REST, resting, excess - np.sign(scaled) * friction)
    target = np.clip(scaled + drive, t.v_lo / speed, t.v_hi / speed)
    runs_away = np.abs(v) * k0 >= 0.99 * RUNAWAY * _own_flow(t)[:, None]
    residual = np.where(runs_away, 0.0, np.abs(scaled - target))
    return residual.max(axis=1), (pushed * v).sum(axis=1)


def _own_flow(t: Tables) -> Array:
    """Largest pump flow of each state; 12 L/min where no pump runs (its flows may be nothing but rounding)."""
    largest = np.abs(t.source).max(axis=1, initial=0.0)
    return np.where(largest > 0.0, largest, FLOW_SCALE)


def _finite(x: Array) -> Array:
    return np.where(np.isfinite(x), x, np.inf)

