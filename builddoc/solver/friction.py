"""Friction in the Newton equations: Churchill's all-regime formula times the Reynolds number, with its slope.

S. W. Churchill, "Friction factor equation spans all fluid flow regimes", Chemical Engineering 84 (1977), as cited by
the library `fluids`. The certificate has its own copy of the formula on purpose.
"""

from __future__ import annotations

import numpy as np

from ..network import Array

LAMINAR_BELOW = 200.0  # below this the formula is 64/Re to the last digit that matters
LOG_7 = float(np.log(7.0))


def friction_times_re(re: Array, rough: Array) -> tuple[Array, Array]:
    """f Re (Darcy) and d(f Re)/dRe for Reynolds numbers re >= 0 and relative roughness, of a shape
    that spreads to that of re."""
    value, slope = np.full(re.shape, 64.0), np.zeros(re.shape)
    at = np.flatnonzero(re.ravel() >= LAMINAR_BELOW)
    if at.size:
        f_re, df_re = _churchill(re.ravel()[at], np.broadcast_to(rough, re.shape).ravel()[at])
        value.ravel()[at] = f_re
        slope.ravel()[at] = df_re
    return value, slope


def _churchill(r: Array, rough: Array) -> tuple[Array, Array]:
    """Powers are written as products and logarithms: several times faster than `**`."""
    inverse = 1.0 / r
    w = np.exp(0.9 * (LOG_7 - np.log(r)))
    u = 0.27 * rough + w
    log = -2.457 * np.log(u)
    a = _to_the_16(log)
    da = 16.0 * a / log * (2.457 * 0.9 * w * inverse / u)
    b = _to_the_16(37530.0 * inverse)
    s = a + b
    ds = da - 16.0 * b * inverse
    s15 = 1.0 / (s * np.sqrt(s))
    e3 = 8.0 * inverse
    e3 = e3 * e3 * e3
    e6 = e3 * e3
    e = e6 * e6
    x = e + s15
    f = 8.0 * np.exp(np.log(x) / 12.0)
    df = f / (12.0 * x) * (-12.0 * e * inverse - 1.5 * s15 / s * ds)
    return f * r, f + r * df


def _to_the_16(x: Array) -> Array:
    x = x * x
    x = x * x
    x = x * x
    return x * x
