"""What must hold on a reader's machine for the figures of a page to apply to it."""

from __future__ import annotations

import numpy as np

from .. import kinds
from ..checks import heat, walk
from ..checks.base import Case
from ..checks.words import Units, listed
from .parts import data_words


def scope(case: Case) -> tuple[str, ...]:
    """Sentences, from what decides most to what decides least."""
    circuit, u, r = case.circuit, Units(case.circuit), case.results
    said = [_oil(case)]
    for pump in walk.pumps(case.network):
        part = circuit.parts[pump.part]
        told = ", ".join(data_words(part.params, u.first))
        said.append(f"Pump {pump.part}: {told}. Another pump, or another speed, moves every figure.")
    limits = [f"{item.label} at {u.both(item.setting, 'pressure')}" for item in walk.limiters(circuit, case.network)]
    if limits:
        said.append(f"Set as here: {listed(limits, 8)}.")
    drivers = [d.driver for d in heat.demands(case) if d.driver in circuit.parts]
    if drivers:
        said.append(f"{listed(drivers)} gives what its plate says at the speeds of the states; it drives nothing else.")
    moving = [p.name for p in circuit.parts.values() if kinds.registry()[p.kind].moves]
    if moving:
        loads = f"Loads of {listed(moving, 8)} are those of the states, friction in joints and linkages included."
        said.append(loads)
    lines = [line for line in circuit.lines.values() if line.conduit]
    if lines:
        longest = max(lines, key=lambda line: line.length)
        said.append(
            f"The {len(lines)} lines have the bores and lengths of the line schedule; the longest is {longest.name}, "
            f"{u.both(longest.length, 'length')}. A smaller bore costs pressure in the fourth power."
        )
    salvaged = [p.name for p in circuit.parts.values() if p.params.salvaged]
    if salvaged:
        said.append(f"{listed(salvaged, 8)}: second-hand here; another one of the same name may be worn differently.")
    if not np.all(r.solved):
        said.append("States without figures say nothing about any machine.")
    said.append("Nothing is between the parts that the circuit does not show: no valve, no screen, no coupler.")
    return tuple(said)


def _oil(case: Case) -> str:
    oil, u = case.circuit.oil, Units(case.circuit)
    lowest, highest = (u.show(float(f(case.results.temperature)), "temperature") for f in (np.min, np.max))
    between = f"at {lowest}" if lowest == highest else f"between {lowest} and {highest}, as the states say"
    return f"The oil is {oil.grade} {between}. Thicker oil costs pressure in lines and starves the pump; thinner leaks."
