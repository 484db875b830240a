"""Random machines in working order: open-centre banks, cylinders, motors, dividers, pilot-moved valves, 10-60 parts.

Everything is drawn from one seed. Data invented. `machine(seed)` gives one state; `states(seed, n)` gives n states of
one topology (loads, stops, lever positions, coupled or not, worn parts differ).
"""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
from builddoc.network import Network

from .building import BAR, LPM, Bench, square

Q_BANK = 40.0 * LPM


class Machine(Bench):
    """A machine under construction, with what its states may change."""

    def __init__(self, seed: int, pilots: bool = True, reliefs: bool = True) -> None:
        super().__init__()
        self.rng = random.Random(seed)
        self.pilots, self.reliefs = pilots, reliefs
        self.spools: list[dict[str, list[int]]] = []  # branches of each lever position
        self.loads: list[tuple[int, float]] = []
        self.couplers: list[int] = []
        self.filters: list[int] = []

    # ---- building blocks
    def line(self, i: str, j: str, bore: float = 0.0125) -> None:
        rng = self.rng
        bore *= rng.choice((0.8, 1.0, 1.0, 1.3))
        if rng.random() < 0.2:
            middle = f"{i}>{j}"
            self.tube(i, middle, rng.uniform(0.3, 3.0), bore, rng.uniform(0.0, 4.0))
            self.tube(middle, j, rng.uniform(0.3, 3.0), bore, rng.uniform(0.0, 4.0))
        else:
            self.tube(i, j, rng.uniform(0.3, 4.0), bore, rng.uniform(0.0, 6.0))

    def guard(self, i: str, j: str, setting: float, rise: float) -> None:
        if self.reliefs:
            self.relief(i, j, setting, rise)

    def coupler(self, i: str, j: str) -> None:
        self.components += 1
        self.couplers.append(self.branch(i, j, b=square(40 * LPM, self.rng.uniform(1, 4) * BAR), role="coupler"))

    def section(self, up: str, source: str, down: str, back: str, a: str, b: str) -> None:
        """One lever: branches of every position are there; a state opens some of them."""
        self.components += 1
        kk, centre = square(Q_BANK, 5 * BAR), square(Q_BANK, 3 * BAR)
        at: dict[str, list[int]] = {"N": [], "A": [], "B": [], "F": []}
        at["N"].append(self.branch(up, down, b=centre, role="centre"))
        at["A"].append(self.branch(source, a, b=kk, c0=0.4 * BAR, lo=0.0, role="P-A"))
        at["A"].append(self.branch(b, back, b=kk, role="B-T"))
        at["B"].append(self.branch(source, b, b=kk, c0=0.4 * BAR, lo=0.0, role="P-B"))
        at["B"].append(self.branch(a, back, b=kk, role="A-T"))
        at["F"].append(self.branch(a, back, b=kk, role="float A"))
        at["F"].append(self.branch(b, back, b=kk, role="float B"))
        at["F"].append(at["N"][0])
        self.spools.append(at)

    def consumer(self, a: str, b: str) -> None:
        """What hangs on a pair of work ports."""
        rng = self.rng
        far_a, far_b = a + "'", b + "'"
        self.line(a, far_a)
        self.line(b, far_b)
        if rng.random() < 0.3:
            self.coupler(far_a, far_a + "q")
            far_a += "q"
        kind = rng.random()
        if kind < 0.6:
            self._cylinders(far_a, far_b)
        elif kind < 0.85:
            loss = rng.uniform(0, 15)
            leak = rng.uniform(0.001, 0.02) * LPM / BAR if rng.random() < 0.7 else 0.0
            torque = rng.uniform(-30, 150)
            self.loads.append((self.motor(far_a, far_b, rng.uniform(50, 250) * 1e-6, torque, loss, leak), torque))
        elif kind < 0.93:
            self.orifice(far_a, far_b, 30 * LPM, rng.uniform(5, 60) * BAR)
        else:
            outs = [f"{a}g1", f"{a}g2"]
            self.gear_divider(far_a, outs, [10e-6, rng.choice((10e-6, 15e-6))], 5 * BAR, 0.01 * LPM / BAR)
            for n, out in enumerate(outs):
                self.guard(out, "tank", 190 * BAR, 10 * BAR / (20 * LPM))
                force = rng.uniform(-5e3, 20e3)
                self.loads.append((self.cylinder([out], [far_b], 0.05, 0.028, force, 500.0, part=f"{a} {n}"), force))

    def _cylinders(self, a: str, b: str) -> None:
        rng = self.rng
        bore = rng.choice((0.04, 0.05, 0.063, 0.08))
        rod = bore * rng.uniform(0.4, 0.7)
        area = math.pi * bore**2 / 4
        force = rng.uniform(-60, 140) * BAR * area
        friction = rng.choice((0.0, 2.0, 5.0)) * BAR * area
        cap, rod_side = a, b
        if self.pilots and rng.random() < 0.35:
            if rng.random() < 0.5:
                ratio = rng.choice((3.0, 4.5, 8.0))
                self.counterbalance(a, a + "h", b, rng.uniform(120, 220) * BAR, ratio, Q_BANK, 6 * BAR)
            else:
                self.pilot_check(a, a + "h", b, rng.uniform(2.5, 5), 0.5 * BAR, Q_BANK, 4 * BAR)
            cap = a + "h"
        count = 1 if rng.random() < 0.7 else 2
        if count == 2 and rng.random() < 0.5:
            beam = self.cylinder([cap, cap], [rod_side, rod_side], bore, rod, 2 * force, friction)
            self.loads.append((beam, 2 * force))
            return
        for n in range(count):
            tail = f"{cap}#{n}"
            self.line(cap, tail, 0.01)
            own = force * rng.uniform(0.8, 1.2)
            self.loads.append((self.cylinder([tail], [rod_side], bore, rod, own, friction, part=f"{cap} {n}"), own))

    def bank(self, p: str, t: str, beyond: str, sections: int) -> None:
        """Open-centre bank from p; centre passage ends at `beyond`."""
        rng = self.rng
        self.components += 1
        self.guard(p, t, rng.uniform(140, 210) * BAR, rng.choice((0.0, 0.3, 0.6)) * BAR / LPM)
        parallel = rng.random() < 0.7
        up = p
        for n in range(sections):
            down = beyond if n == sections - 1 else f"{p}c{n}"
            a, b = f"{p}A{n}", f"{p}B{n}"
            self.section(up, p if parallel else up, down, t, a, b)
            if rng.random() < 0.4:
                self.guard(a, t, rng.uniform(180, 250) * BAR, 10 * BAR / Q_BANK)
                self.guard(b, t, rng.uniform(180, 250) * BAR, 10 * BAR / Q_BANK)
            if rng.random() < 0.2:
                self.check(t, a, 0.1 * BAR, Q_BANK, BAR)
            self.consumer(a, b)
            up = down


def build(seed: int, parts: tuple[int, int] = (10, 60), pilots: bool = True, reliefs: bool = True) -> Machine:
    """A machine with a number of parts within `parts` (the first of the seed's draws that fits)."""
    for draw in range(1000):
        m = _draw(seed * 1000 + draw, pilots, reliefs)
        if parts[0] <= m.components <= parts[1]:
            return m
    raise AssertionError("no machine of that size")


def _draw(seed: int, pilots: bool, reliefs: bool) -> Machine:
    m = Machine(seed, pilots, reliefs)
    rng = m.rng
    flow = rng.uniform(15, 60) * LPM
    m.tube("tank", "suction", rng.uniform(0.3, 1.0), 0.038, rng.uniform(0, 3))
    leak = rng.uniform(0.02, 0.12) * flow / (200 * BAR)
    m.pump("suction", "delivery", flow, leak)
    m.guard("delivery", "return", rng.uniform(170, 230) * BAR, 15 * BAR / flow)
    feed = "delivery"
    m.line("delivery", "feed", 0.016)
    feed = "feed"
    choice = rng.random()
    if choice < 0.2:
        m.priority_divider("feed", "steer", "rest", 12 * LPM, 7 * BAR, flow, 3 * BAR)
        m.guard("steer", "return", 150 * BAR, 5 * BAR / (12 * LPM))
        m.section("steer", "steer", "return", "return", "steerA", "steerB")
        m.consumer("steerA", "steerB")
        feed = "rest"
    elif choice < 0.3 and pilots:
        m.spool_divider("feed", ("half1", "half2"), rng.uniform(0.3, 0.7), flow, 5 * BAR, 1 * BAR)
        m.guard("half2", "return", 180 * BAR, 10 * BAR / flow)
        m.section("half2", "half2", "return", "return", "halfA", "halfB")
        m.consumer("halfA", "halfB")
        feed = "half1"
    if rng.random() < 0.15:
        m.flow_limiter(feed, "aux", rng.uniform(5, 15) * LPM, 6 * BAR)
        m.motor("aux", "return", 100e-6, rng.uniform(5, 60), 2.0, 0.005 * LPM / BAR, part="fan")
    banks = rng.choice((1, 1, 2))
    for n in range(banks):
        beyond = "return" if n == banks - 1 else f"beyond{n}"
        m.bank(feed, "return", beyond, rng.randint(1, 4))
        feed = beyond
    after = "return"
    if rng.random() < 0.5:
        m.cooler("return", "cooled", flow, rng.uniform(0.3, 2) * BAR, 3 * BAR)
        after = "cooled"
    m.filter(after, "tank", flow, rng.uniform(0.2, 1.0) * BAR, 1.7 * BAR)
    m.filters.append(len(m.net.branches) - 2)
    if rng.random() < 0.2:  # an auxiliary circuit that shares nothing but the reservoir
        m.pump("tank", "second", 12 * LPM, part="second pump")
        m.guard("second", "tank", 100 * BAR, 0.2 * BAR / LPM)
        m.motor("second", "second return", 80e-6, rng.uniform(10, 60), 3.0, part="second motor")
        m.filter("second return", "tank", 12 * LPM, 0.5 * BAR)
    return m


def states(machine: Machine, count: int, seed: int = 0) -> Network:
    """`count` states of one machine: levers, loads, end stops, open couplers, clogged filters, worn pump."""
    rng = random.Random(seed * 7919 + 17)
    net = machine.net
    branches = [{f: np.repeat(getattr(b, f), count) for f in ("a", "b", "c0", "lo", "hi")} for b in net.branches]
    rods = [{f: np.repeat(getattr(a, f), count) for f in ("force", "lo", "hi")} for a in net.actuators]
    sources = [np.repeat(s.q, count) for s in net.sources]
    for s in range(count):
        for at in machine.spools:
            position = rng.choice("NNAAABBBF")
            share = rng.choice((1.0, 1.0, rng.uniform(0.1, 0.9)))
            for name, members in at.items():
                for e in members:
                    if name != position and not (e in at["N"] and (position == "F" or (position != "N" and share < 1))):
                        if e in at["N"] and position == "N":
                            continue
                        branches[e]["lo"][s] = branches[e]["hi"][s] = 0.0
            if position in "AB" and share < 1.0:
                for e in at[position]:
                    branches[e]["b"][s] /= share**2
                branches[at["N"][0]]["b"][s] /= (1.0 - share) ** 2
        for rod, load in machine.loads:
            rods[rod]["force"][s] = load * rng.uniform(0.5, 1.3) if rng.random() < 0.8 else 0.0
            stop = rng.random()
            if stop < 0.15:
                rods[rod]["lo"][s] = 0.0
            elif stop < 0.3:
                rods[rod]["hi"][s] = 0.0
        for e in machine.couplers:
            if rng.random() < 0.08:
                branches[e]["lo"][s] = branches[e]["hi"][s] = 0.0
        for e in machine.filters:
            if rng.random() < 0.2:
                branches[e]["a"][s] *= rng.uniform(2, 20)
        wear = rng.choice((1.0, 1.0, 1.0, 0.8, 0.6))
        for q in sources:
            q[s] *= wear
    spread = Network([f"state {s}" for s in range(count)], list(net.nodes))
    for b, new in zip(net.branches, branches, strict=True):
        tube = b.tube and replace(
            b.tube, **{f: np.repeat(getattr(b.tube, f), count) for f in ("laminar", "re_per_q", "rel_rough")}
        )
        spread.branches.append(replace(b, tube=tube, **new))
    for p in net.pilots:
        spread.pilots.append(replace(p, **{f: np.repeat(getattr(p, f), count) for f in ("b", "z0", "droop")}))
    for a, new in zip(net.actuators, rods, strict=True):
        extra = {f: np.repeat(getattr(a, f), count) for f in ("friction", "damping")}
        spread.actuators.append(replace(a, **extra, **new))
    for source, q in zip(net.sources, sources, strict=True):
        spread.sources.append(replace(source, q=q))
    return spread


def some_states(net: Network, rows: list[int]) -> Network:
    """The same network in some of its states only."""
    index = np.array(rows)

    def cut(item: object, names: tuple[str, ...]) -> dict[str, np.ndarray]:
        return {name: getattr(item, name)[index] for name in names}

    out = Network([net.states[r] for r in rows], list(net.nodes))
    for b in net.branches:
        tube = b.tube and replace(b.tube, **cut(b.tube, ("laminar", "re_per_q", "rel_rough")))
        out.branches.append(replace(b, tube=tube, **cut(b, ("a", "b", "c0", "lo", "hi"))))
    out.pilots = [replace(p, **cut(p, ("b", "z0", "droop"))) for p in net.pilots]
    out.actuators = [replace(a, **cut(a, ("force", "friction", "damping", "lo", "hi"))) for a in net.actuators]
    out.sources = [replace(s, **cut(s, ("q",))) for s in net.sources]
    return out
