"""The solver: `solve(network) -> Solution`. Numbers in, numbers with a proof out; knows no parts, names, units.

The way of a network: `tables` (numbers stacked, states first) -> `split` (circuits that share only the reservoir) ->
`feasibility` (can the pump flow leave at all?) -> `attempts` (`scaling`, `equations`, `path`: all states in one batch;
then other starts, `spool_search`, `scalar`; `multiplicity` looks for further answers) -> `cavitation` (starved pumps)
-> `certificate` -> `ranges`, `uniqueness` -> `verdict`, which says what may be said.

Threads of the linear algebra library are left as they are: one or two made no measurable difference (stacked systems
of this size are solved on one thread anyway), and a setting made after numpy is imported would come too late.
"""

from __future__ import annotations

from .verdict import solve

__all__ = ["solve"]
