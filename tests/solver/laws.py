"""The laws of a network in plain Python, one number at a time, friction from the library `fluids`: a second opinion
that shares nothing with the solver or its certificate."""

from __future__ import annotations

from builddoc.network import Branch, Network
from builddoc.solution import StateSolution
from fluids.friction import Churchill_1977


def drop(b: Branch, q: float, s: int = 0) -> float:
    """Pressure drop of a branch at flow q without its cracking pressure, Pa."""
    total = b.a[s] * q + b.b[s] * q * abs(q)
    if b.tube is not None and q != 0.0:
        re = float(b.tube.re_per_q[s] * abs(q))
        factor = Churchill_1977(re, float(b.tube.rel_rough[s])) * re / 64.0 if re > 1.0 else 1.0  # it overflows near 0
        total += b.tube.laminar[s] * q * factor
    return float(total)


def node_balance(net: Network, state: StateSolution, s: int) -> list[float]:
    """Flow that leaves each node through elements minus what sources and voids bring, m3/s."""
    out = [0.0] * len(net.nodes)
    for b, q in zip(net.branches, state.q, strict=True):
        out[b.i] += q
        out[b.j] -= q
    for c, q in zip(net.pilots, state.pilot_q, strict=True):
        out[c.i] += q
        out[c.j] -= q
    for a, v in zip(net.actuators, state.v, strict=True):
        for node, k in a.k.items():
            out[node] += k * v
    for source, q in zip(net.sources, state.source_q, strict=True):
        out[source.node] -= q
    inlets = {source.node for source in net.sources if (source.q[s] < 0.0)}
    for node, void in state.void.items():
        if node not in inlets:
            out[node] -= void
    return out


def power_balance(net: Network, state: StateSolution, s: int = 0) -> tuple[float, float, float, float]:
    """(pump, heat, work, void) power, W."""
    p = state.p
    pump = sum(float(p[source.node] * q) for source, q in zip(net.sources, state.source_q, strict=True))
    heat = sum(float((p[b.i] - p[b.j]) * q) for b, q in zip(net.branches, state.q, strict=True))
    heat += sum(float((p[c.i] - p[c.j]) * q) for c, q in zip(net.pilots, state.pilot_q, strict=True))
    work = sum(
        float(v) * sum(k * float(p[n]) for n, k in a.k.items()) for a, v in zip(net.actuators, state.v, strict=True)
    )
    inlets = {source.node for source in net.sources if source.q[s] < 0.0}  # `source_q` lacks the void there already
    return pump, heat, work, sum(float(p[n]) * void for n, void in state.void.items() if n not in inlets)
