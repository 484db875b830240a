"""Scaled numbers of one circuit: pressures by 100 bar, flows by the largest pump flow of each state, speeds by it too.

Each state has its own flow scale (12 L/min where no pump runs), so its answer depends on nothing but its own numbers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..network import Array
from .limits import FLOW_SCALE, INFINITE, P_SCALE, RUNAWAY
from .tables import Tables

STEEP_FLOOR = 1e-6  # least slope dp/dq on the path (10 Pa at the flow scale): no passage is an exact short circuit
FINE_FLOOR = 1e-10  # what the polish lowers it to
PILOT_FLOOR = 1e-8  # least square-law coefficient of a pilot-moved passage (0.1 Pa at the flow scale)
ROUNDING = 1e-5  # flow below which a square law is made straight


@dataclass(frozen=True, slots=True)
class Scaled:
    """flow (S,), displacement (A,). All other arrays as in Tables, scaled, without the reservoir's node column."""

    tables: Tables
    flow: Array
    displacement: Array
    linear: Array
    square: Array
    crack: Array
    lo: Array
    hi: Array
    laminar: Array
    re_per_q: Array
    rough: Array
    pilot_square: Array
    z0: Array
    droop: Array
    force: Array
    friction: Array
    damping: Array
    v_lo: Array
    v_hi: Array
    injection: Array
    k: Array
    z: Array

    def floors(self, least: float) -> tuple[Array, Array, Array]:
        """Slope floor `least` built into the laws: (linear, t2, pilot_t2) of dp = linear q + square q sqrt(q^2 + t2).

        The floor sits in the transition flow where there is a square law (costs t^2/2q^2 of the drop) and is a series
        resistance only where there is no other slope at all."""
        t = np.full_like(self.square, ROUNDING)
        slope = self.linear.copy()
        slope[:, self.tables.tube] += 64.0 * self.laminar
        flat = slope < least
        t = np.where(flat, np.maximum(t, np.minimum(least / np.maximum(self.square, 1e-30), 0.02)), t)
        linear = np.where(flat, np.maximum(self.linear, least - self.square * t), self.linear)
        pilot_t = np.maximum(ROUNDING, least / self.pilot_square)
        return linear, t * t, pilot_t * pilot_t

    def speeds(self) -> Array:
        """Scale of each actuator's speed in each state, (S, A)."""
        return self.flow[:, None] / self.displacement


def flow_scale(t: Tables) -> Array:
    """Largest pump flow of each state, (S,); 12 L/min where no pump runs."""
    largest = np.abs(t.source).max(axis=1, initial=0.0)
    return np.where(largest > 0.0, largest, FLOW_SCALE)


def scale(t: Tables) -> Scaled:
    flow = flow_scale(t)
    q0 = flow[:, None]
    resistance = P_SCALE / q0
    largest = np.abs(t.k).max(axis=1, initial=0.0)
    k0 = np.where(largest > 0.0, largest, 1.0)
    force, speed = k0 * P_SCALE, q0 / k0
    return Scaled(
        tables=t,
        flow=flow,
        displacement=k0,
        linear=t.a / resistance,
        square=t.b * q0 * q0 / P_SCALE,
        crack=t.c0 / P_SCALE,
        lo=np.maximum(t.lo / q0, -INFINITE),
        hi=np.minimum(t.hi / q0, INFINITE),
        laminar=t.laminar / resistance / 64.0,
        re_per_q=t.re_per_q * q0,
        rough=t.rough,
        pilot_square=np.maximum(t.pilot_b * q0 * q0 / P_SCALE, PILOT_FLOOR),
        z0=t.z0 / P_SCALE,
        droop=t.droop / P_SCALE,
        force=t.force / force,
        friction=t.friction / force,
        damping=t.damping * speed / force,
        v_lo=np.maximum(t.v_lo / speed, -RUNAWAY),
        v_hi=np.minimum(t.v_hi / speed, RUNAWAY),
        injection=(t.injection() / q0)[:, 1:],
        k=(t.k / k0[:, None])[:, 1:],
        z=t.z[:, 1:],
    )
