"""Friction in the Newton equations: Churchill's all-regime formula times the Reynolds number, with its slope.

S. W. Churchill, "Friction factor equation spans all fluid flow regimes", Chemical Engineering 84 (1977), as cited by
the library `fluids`. The certificate has its own copy of the formula on purpose.
"""

from __future__ import annotations

import numpy as np

from ..network import Array

LAMINAR_BELOW = 200.0  # below this the formula is 64/Re to the last digit that matters


def friction_times_re(re: Array, rough: Array) -> tuple[Array, Array]:
    """f Re (Darcy) and d(f Re)/dRe for Reynolds numbers re >= 0 and relative roughness, any common shape."""
    laminar = re < LAMINAR_BELOW
    r = np.where(laminar, LAMINAR_BELOW, re)
    w = (7.0 / r) ** 0.9
    u = w + 0.27 * rough
    log = -2.457 * np.log(u)
    log2 = log * log
    log4 = log2 * log2
    log8 = log4 * log4
    a = log8 * log8
    da = 16.0 * a / log * (2.457 * 0.9 * w / (r * u))
    b = (37530.0 / r) ** 16
    s = a + b
    ds = da - 16.0 * b / r
    e = (8.0 / r) ** 12
    s15 = 1.0 / (s * np.sqrt(s))
    x = e + s15
    f = 8.0 * x ** (1.0 / 12.0)
    df = f / (12.0 * x) * (-12.0 * e / r - 1.5 * s15 / s * ds)
    return np.where(laminar, 64.0, f * r), np.where(laminar, 0.0, f + r * df)
