"""What the sources of fault states share."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ..circuit import State, Tried

if TYPE_CHECKING:
    from ..checks.base import Case

STILL = 1e-6  # share of the state's largest flow (or speed, as flow) below which nothing passes; ours


def fault(case: Case, s: int, label: str, sort: str, about: tuple[str, ...], **changes: Any) -> State:
    """Declared state number `s` made faulty: `closing, hose 'feed' burst`."""
    state = list(case.circuit.states.values())[s]
    tried = Tried(state.name, sort, about, label)
    return replace(state, name=f"{state.name}, {label}", fault=True, place=None, tried=tried, **changes)


def still(case: Case, s: int) -> float:
    """m3/s below which nothing flows in a state."""
    flows = np.abs(np.nan_to_num(np.append(case.results.q[s], case.results.source_q[s])))
    return STILL * max(float(flows.max(initial=0.0)), 1e-9)
