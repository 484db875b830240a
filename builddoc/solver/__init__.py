"""The solver: `solve(network) -> Solution`. Numbers in, numbers with a proof out; knows no parts, names, units.

The way of a network: `tables` (numbers stacked, states first) -> `split` (circuits that share only the reservoir) ->
`feasibility` (can the pump flow leave at all?) -> `attempts` (`scaling`, `equations`, `path`: all states in one batch;
then other `starts`, from neighbouring answers first, `spool_search`, `scalar`) -> `cavitation` (starved pumps) ->
`multiplicity` (further answers) -> `certificate` -> `ranges` (`pressure_laws`, `polytopes`), `uniqueness` -> `verdict`,
which says what may be said.

`threads` keeps the linear algebra on one thread meanwhile and says why.
"""

from __future__ import annotations

from .verdict import solve

__all__ = ["solve"]
