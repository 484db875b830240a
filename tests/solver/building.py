"""Small vocabulary for the tests: parts a reader can name, expanded into a network's primitives. One state, SI inside.

This is the tests' own expansion on purpose: the solver is checked without the component kinds.
"""

from __future__ import annotations

import math

import numpy as np
from builddoc.network import Actuator, Branch, Network, Pilot, Source, Tube

INF = float("inf")
LPM = 1.0 / 60000.0
BAR = 1e5
NU, RHO = 32e-6, 865.0  # invented oil


def one(value: float) -> np.ndarray:
    return np.array([float(value)])


def square(flow: float, drop: float) -> float:
    """b of dp = b q^2 from one rated point."""
    return drop / (flow * flow)


class Bench:
    """A network of one state under construction; nodes are named."""

    def __init__(self, nu: float = NU, rho: float = RHO) -> None:
        self.net = Network(states=["only"])
        self.number = {"tank": 0}
        self.nu, self.rho = nu, rho
        self.components = 0

    def node(self, name: str) -> int:
        if name not in self.number:
            self.number[name] = len(self.net.nodes)
            self.net.nodes.append(name)
        return self.number[name]

    def weights(self, items: list[tuple[str, float]]) -> dict[int, float]:
        out: dict[int, float] = {}
        for name, value in items:
            node = self.node(name)
            out[node] = out.get(node, 0.0) + value
        return out

    # ---- primitives
    def branch(
        self, i: str, j: str, *, a: float = 0.0, b: float = 0.0, c0: float = 0.0, lo: float = -INF, hi: float = INF,
        tube: Tube | None = None, leak: bool = False, part: str = "", role: str = "",
    ) -> int:  # fmt: skip
        self.net.branches.append(
            Branch(
                self.node(i), self.node(j), one(a), one(b), one(c0), one(lo), one(hi), tube, leak, part or role, role
            )
        )
        return len(self.net.branches) - 1

    def pilot(
        self, i: str, j: str, *, b: float, z: list[tuple[str, float]], z0: float, droop: float, part: str = ""
    ) -> int:
        self.net.pilots.append(
            Pilot(self.node(i), self.node(j), one(b), self.weights(z), one(z0), one(droop), part, "spool")
        )
        return len(self.net.pilots) - 1

    def actuator(
        self, k: list[tuple[str, float]], *, force: float = 0.0, friction: float = 0.0, damping: float = 0.0,
        lo: float = -INF, hi: float = INF, part: str = "",
    ) -> int:  # fmt: skip
        self.net.actuators.append(
            Actuator(self.weights(k), one(force), one(friction), one(damping), one(lo), one(hi), part, "rod")
        )
        return len(self.net.actuators) - 1

    # ---- parts
    def pump(self, inlet: str, outlet: str, flow: float, leak_per_pa: float = 0.0, part: str = "pump") -> None:
        self.components += 1
        self.net.sources.append(Source(self.node(outlet), one(flow), part, "outlet"))
        self.net.sources.append(Source(self.node(inlet), one(-flow), part, "inlet"))
        if leak_per_pa > 0.0:
            self.branch(outlet, inlet, a=1.0 / leak_per_pa, leak=True, part=part, role="leakage")

    def tube(self, i: str, j: str, length: float, bore: float, loss: float = 0.0, part: str = "tube") -> int:
        self.components += 1
        area = math.pi * bore * bore / 4.0
        tube = Tube(
            one(128.0 * self.nu * self.rho * length / (math.pi * bore**4)),
            one(4.0 / (math.pi * bore * self.nu)),
            one(1.5e-6 / bore),
        )
        return self.branch(i, j, b=loss * self.rho / (2.0 * area * area), tube=tube, part=part, role="tube")

    def orifice(self, i: str, j: str, flow: float, drop: float, part: str = "orifice") -> int:
        self.components += 1
        return self.branch(i, j, b=square(flow, drop), part=part, role="orifice")

    def check(self, i: str, j: str, crack: float, flow: float, drop: float, part: str = "check") -> int:
        self.components += 1
        return self.branch(i, j, c0=crack, b=square(flow, drop), lo=0.0, part=part, role="check")

    def relief(self, i: str, j: str, setting: float, rise_per_flow: float = 0.0, part: str = "relief") -> int:
        self.components += 1
        return self.branch(i, j, c0=setting, a=rise_per_flow, lo=0.0, part=part, role="relief")

    def flow_limiter(self, i: str, j: str, flow: float, drop: float) -> int:
        self.components += 1
        self.branch(j, i, c0=0.3 * BAR, b=square(flow, BAR), lo=0.0, role="return check")
        return self.branch(i, j, b=square(flow, drop), lo=0.0, hi=flow, role="limiter")

    def filter(self, i: str, j: str, flow: float, drop: float, bypass: float | None = None) -> int:
        self.components += 1
        element = self.branch(i, j, a=drop / flow, role="element")
        if bypass is not None:
            self.branch(i, j, c0=bypass, b=square(flow, 0.5 * BAR), lo=0.0, role="bypass")
        return element

    def cooler(self, i: str, j: str, flow: float, drop: float, bypass: float | None = None) -> int:
        self.components += 1
        core = self.branch(i, j, a=0.5 * drop / flow, b=0.5 * square(flow, drop), role="core")
        if bypass is not None:
            self.branch(i, j, c0=bypass, b=square(flow, 0.5 * BAR), lo=0.0, role="bypass")
        return core

    def cylinder(
        self, caps: list[str], rods: list[str], bore: float, rod: float, force: float, friction: float = 0.0,
        at: str = "mid", part: str = "cylinder",
    ) -> int:  # fmt: skip
        """One cylinder, or several on one rigid beam."""
        self.components += len(caps)
        area, ring = math.pi * bore**2 / 4.0, math.pi * (bore**2 - rod**2) / 4.0
        lo = 0.0 if at in ("retracted", "held") else -INF
        hi = 0.0 if at in ("extended", "held") else INF
        k = [(c, area) for c in caps] + [(r, -ring) for r in rods]
        return self.actuator(k, force=force, friction=friction, lo=lo, hi=hi, part=part)

    def motor(
        self, a: str, b: str, per_rev: float, torque: float, loss: float = 0.0, leak: float = 0.0, part: str = "motor"
    ) -> int:
        self.components += 1
        d = per_rev / (2.0 * math.pi)
        if leak > 0.0:
            self.branch(a, b, a=1.0 / leak, leak=True, role="motor leakage")
        return self.actuator([(a, d), (b, -d)], force=torque, friction=loss, part=part)

    def gear_divider(
        self, inlet: str, outlets: list[str], displacements: list[float], loss: float = 0.0, leak: float = 0.0,
        part: str = "divider",
    ) -> int:  # fmt: skip
        self.components += 1
        total = sum(displacements)
        for outlet in outlets:
            if leak > 0.0:
                self.branch(inlet, outlet, a=1.0 / leak, leak=True, role="divider leakage")
        k = [(inlet, total), *((o, -d) for o, d in zip(outlets, displacements, strict=True))]
        return self.actuator(k, friction=loss * total, part=part)

    def pilot_check(
        self, valve: str, load: str, pilot: str, ratio: float, crack: float, flow: float, drop: float
    ) -> int:
        self.components += 1
        b = square(flow, drop)
        self.branch(valve, load, c0=crack, b=b, lo=0.0, role="free flow")
        z = [(pilot, ratio), (valve, -(ratio - 1.0)), (load, -1.0)]
        return self.pilot(load, valve, b=b, z=z, z0=crack, droop=1.0 * BAR, part="pilot check")

    def counterbalance(
        self, valve: str, load: str, pilot: str, setting: float, ratio: float, flow: float, drop: float,
        droop: float = 10.0 * BAR,
    ) -> int:  # fmt: skip
        self.components += 1
        b = square(flow, drop)
        self.branch(valve, load, c0=0.5 * BAR, b=b, lo=0.0, role="free flow")
        z = [(load, 1.0), (pilot, ratio), (valve, -(1.0 + ratio))]
        return self.pilot(load, valve, b=b, z=z, z0=setting, droop=droop, part="counterbalance")

    def priority_divider(
        self, inlet: str, controlled: str, excess: str, setting: float, metering: float, excess_flow: float,
        excess_drop: float, droop: float = 0.1 * BAR,
    ) -> int:  # fmt: skip
        self.components += 1
        self.branch(inlet, controlled, b=square(setting, metering), lo=0.0, hi=setting, role="controlled")
        z = [(inlet, 1.0), (controlled, -1.0)]
        b = square(excess_flow, excess_drop)
        return self.pilot(inlet, excess, b=b, z=z, z0=metering - droop, droop=droop, part="priority")

    def spool_divider(
        self, inlet: str, outlets: tuple[str, str], share: float, flow: float, metering: float, throttle: float,
        droop: float = 0.02 * BAR,
    ) -> None:  # fmt: skip
        self.components += 1
        m1, m2 = f"m1 of {inlet}", f"m2 of {inlet}"
        q1, q2 = flow * share, flow * (1.0 - share)
        self.branch(inlet, m1, b=square(q1, metering), role="metering 1")
        self.branch(inlet, m2, b=square(q2, metering), role="metering 2")
        b1, b2 = square(q1, throttle), square(q2, throttle)
        self.pilot(m1, outlets[0], b=b1, z=[(m1, 1.0), (m2, -1.0)], z0=-droop, droop=droop, part="spool 1")
        self.pilot(m2, outlets[1], b=b2, z=[(m2, 1.0), (m1, -1.0)], z0=-droop, droop=droop, part="spool 2")
