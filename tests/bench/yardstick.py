"""How fast the machine is, so that times of different machines can be compared."""

from __future__ import annotations

import time

import numpy as np


def yardstick() -> float:
    """ms of processor time for a fixed piece of the sort of work that the solver does: small stacked systems of
    equations, and many calls on small arrays."""
    rng = np.random.default_rng(1)
    matrix, right = rng.normal(size=(24, 60, 60)) + 60 * np.eye(60), np.ones((24, 60, 1))
    rows = rng.normal(size=(24, 120))
    best = np.inf
    for _ in range(5):
        began = time.process_time()
        for _ in range(20):
            np.linalg.solve(matrix, right)
            for _ in range(60):
                np.sqrt(rows * rows + 1.0)
        best = min(best, time.process_time() - began)
    return best * 1e3
