"""Constants of the solver: scales, and the box that gives every circuit an answer in the mathematics.

The two pressure bounds are chosen here, not taken from a standard: below `P_CAV` oil cannot pull any more (it leaves a
void), above `P_BURST` nothing on a home-built machine holds. A node at a bound is a finding, never a plain result.
"""

from __future__ import annotations

VERSION = "5"  # part of every data hash: change it when answers may change

P_SCALE = 1.0e7  # Pa, scale of pressures (100 bar)
P_CAV = -0.9e5  # Pa gauge, lowest node pressure
P_BURST = 1.0e8  # Pa gauge, highest node pressure (1000 bar)
FLOW_SCALE = 2.0e-4  # m3/s (12 L/min), scale of flows where no pump runs
RUNAWAY = 1.0e3  # scaled speed (in flow scales per displacement) at which an actuator counts as running away
SMALL = 1.0e-6  # share of the largest flow below which a void, a burst or a movement counts as none
INFINITE = 1.0e30  # stands for an infinite bound in the scaled equations (a real infinity would make nan)

FALLBACK_SECONDS = 1.0  # processor time per network for states that the first batch does not solve
LOOK_SECONDS = 0.3  # per network for the look for further answers, beside it
LARGE_SECONDS = 10.0  # processor time allowed for one state of a large circuit
DENSE_UNKNOWNS = 220  # systems above this size are solved one state at a time with sparse matrices
