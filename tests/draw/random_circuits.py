"""Random circuits of 10-60 parts: pumps, stacks, consumers with all sorts of things in their lines. Data invented."""

from __future__ import annotations

import random
from typing import Any

from builddoc.circuit import Circuit, Conduit, Fitting

from . import sample

INLINE: list[tuple[dict[str, Any], str, str]] = [
    ({"kind": "quick coupler"}, "A", "B"),
    ({"kind": "shut-off valve"}, "A", "B"),
    ({"kind": "check valve"}, "inlet", "outlet"),
    ({"kind": "orifice", "diameter": "2 mm"}, "A", "B"),
    ({"kind": "throttle check valve", "drop": "20 bar at 15 L/min"}, "inlet", "outlet"),
    ({"kind": "velocity fuse", "trip flow": "40 L/min"}, "V", "load"),
    ({"kind": "flow control valve", "set flow": "12 L/min"}, "inlet", "outlet"),
]
DRAINED: list[dict[str, Any]] = [
    {"kind": "pressure reducing valve", "setting": "60 bar"},
    {"kind": "sequence valve", "setting": "90 bar"},
]
CYLINDER = {"kind": "cylinder", "bore": "63 mm", "rod": "35 mm", "stroke": "500 mm"}
MOTOR = {"kind": "hydraulic motor", "displacement": "160 cc/rev"}


class Plant:
    """A circuit under construction."""

    def __init__(self, seed: int):
        self.rng = random.Random(seed)
        self.parts: dict[str, dict[str, Any]] = {"tank": {"kind": "reservoir", "volume": "40 L"}}
        self.lines: list[tuple[str, str, str, Conduit | None, tuple[Fitting, ...]]] = []
        self.ties: dict[str, tuple[str, ...]] = {}
        self.count = 0

    def part(self, name: str, keys: dict[str, Any]) -> str:
        self.count += 1
        name = f"{name} {self.count}"
        self.parts[name] = keys
        return name

    def line(self, a: str, b: str) -> str:
        name = f"line {len(self.lines) + 1}"
        conduit = None if self.rng.random() < 0.25 else sample.HOSE
        self.lines.append((name, a, b, conduit, ()))
        return name

    def run(self, a: str, b: str, depth: int = 0) -> None:
        """From port a to port b with things in between: couplers, orifices, tees with a gauge or a relief."""
        r = self.rng.random()
        if depth > 2 or r < 0.45:
            name = self.line(a, b)
            if self.lines[-1][3] and self.rng.random() < 0.12:
                gauge = self.part("gauge", {"kind": "gauge point"})
                self.lines.append((f"tap {self.count}", f"{name} at 0.4", f"{gauge}.port", sample.HOSE, ()))
            return
        if r < 0.75:
            if r < 0.5:
                keys, inlet, outlet = self.rng.choice(DRAINED), "inlet", "outlet"
            else:
                keys, inlet, outlet = self.rng.choice(INLINE)
            name = self.part(str(keys["kind"]).split()[0], dict(keys))
            self.line(a, f"{name}.{inlet}")
            if keys in DRAINED:
                self.line(f"{name}.drain", "tank.oil")
            self.run(f"{name}.{outlet}", b, depth + 1)
            return
        tee = self.part("tee", {"kind": "tee"})
        self.line(a, f"{tee}.run a")
        self.run(f"{tee}.run b", b, depth + 1)
        r = self.rng.random()
        if r < 0.4:
            gauge = self.part("gauge", {"kind": "gauge point"})
            self.line(f"{tee}.branch", f"{gauge}.port")
        elif r < 0.55:
            store = self.part("accumulator", {"kind": "accumulator", "volume": "1 L", "precharge": "60 bar",
                                              "gas temperature": "45 °C"})  # fmt: skip
            self.line(f"{tee}.branch", f"{store}.oil")
        else:
            relief = self.part("relief", {"kind": "relief valve", "setting": "170 bar"})
            self.line(f"{tee}.branch", f"{relief}.inlet")
            self.line(f"{relief}.outlet", "tank.oil")

    def consumer(self, a: str, b: str, depth: int = 0) -> None:
        r = self.rng.random()
        if r < 0.08 and not depth:
            # One lever, two machines: a selector with six ports.
            chooser = self.part("selector", {"kind": "selector valve", "ports": "6", "neutral": "blocked"})
            self.line(a, f"{chooser}.C1")
            self.line(b, f"{chooser}.C2")
            self.consumer(f"{chooser}.A1", f"{chooser}.A2", 1)
            self.consumer(f"{chooser}.B1", f"{chooser}.B2", 1)
        elif r < 0.16:
            # Two cylinders that a gear divider keeps in step; their rods return together.
            divider = self.part("divider", {"kind": "flow divider", "sections": ["8 cc/rev", "8 cc/rev"]})
            self.line(a, f"{divider}.inlet")
            tee = self.part("tee", {"kind": "tee"})
            self.line(b, f"{tee}.run a")
            for port, end in (("A", "run b"), ("B", "branch")):
                ram = self.part("ram", dict(CYLINDER))
                self.run(f"{divider}.{port}", f"{ram}.cap", 2)
                self.line(f"{tee}.{end}", f"{ram}.rod")
        elif r < 0.24:
            limits = {"relief of A": "140 bar", "relief of B": "140 bar"}
            guard = self.part("guard", {"kind": "cross-port relief", **limits})
            motor = self.part("motor", dict(MOTOR))
            self.run(a, f"{guard}.A")
            self.run(b, f"{guard}.B")
            for port in "AB":
                self.line(f"{guard}.motor {port}", f"{motor}.{port}")
        elif r < 0.45:
            ram = self.part("ram", dict(CYLINDER))
            if self.rng.random() < 0.4:
                self.held(a, b, ram)
            else:
                self.run(a, f"{ram}.cap")
                self.run(b, f"{ram}.rod")
        elif r < 0.7:
            one, two = self.part("left", dict(CYLINDER)), self.part("right", dict(CYLINDER))
            self.ties[f"pair {self.count}"] = (one, two)
            for port, end in ((a, "cap"), (b, "rod")):
                tee = self.part("tee", {"kind": "tee"})
                self.run(port, f"{tee}.run a")
                self.line(f"{tee}.run b", f"{one}.{end}")
                self.line(f"{tee}.branch", f"{two}.{end}")
        else:
            drain = self.rng.random() < 0.5
            motor = self.part("motor", {**MOTOR, "case drain": "yes" if drain else "no"})
            self.run(a, f"{motor}.A")
            self.run(b, f"{motor}.B")
            if drain:
                self.line(f"{motor}.drain", "tank.oil")

    def held(self, a: str, b: str, ram: str) -> None:
        kind = self.rng.choice(["counterbalance valve", "pilot-operated check valve"])
        keys = {"kind": kind, "pilot ratio": "4:1", **({"setting": "200 bar"} if kind.startswith("counter") else {})}
        valve = self.part("holding", keys)
        tee = self.part("tee", {"kind": "tee"})
        self.line(a, f"{valve}.V")
        self.run(f"{valve}.load", f"{ram}.cap")
        self.line(b, f"{tee}.run a")
        self.line(f"{tee}.run b", f"{ram}.rod")
        self.line(f"{tee}.branch", f"{valve}.pilot")

    def bank(self, feed: str, spools: int) -> tuple[str, str | None]:
        names = [f"s{n}" for n in range(spools)]
        beyond = self.rng.random() < 0.3
        keys: dict[str, Any] = {
            "kind": "directional valve", "centre": "open", "power beyond": "yes" if beyond else "no",
            "spools": {n: self.spool() for n in names},
            "feed": self.rng.choice(["parallel", "series", "tandem"]),
        }  # fmt: skip
        if self.rng.random() < 0.5:
            keys["relief"] = "180 bar"
        bank = self.part("bank", keys)
        self.run(feed, f"{bank}.P")
        for n in names:
            self.consumer(f"{bank}.{n}.A", f"{bank}.{n}.B")
        return f"{bank}.T", f"{bank}.PB" if beyond else None

    def spool(self) -> dict[str, Any]:
        r = self.rng.random()
        if r < 0.2:
            return {"float": "yes"}
        if r < 0.3:
            return {"port reliefs": {"A": "180 bar", "B": "160 bar"}, "make up": "yes"}
        return {"port reliefs": {"B": "160 bar"}} if r < 0.4 else {}

    def pump(self, driver: dict[str, Any]) -> str:
        """A pump of one sort or another, its suction led to the reservoir; returns the port that delivers."""
        r = self.rng.random()
        name = "pump"
        if r < 0.5:
            two = {"kind": "two-stage pump", "large stage": "8 cc/rev", "small stage": "2 cc/rev",
                   "unloads at": "50 bar", "speed": "1450 rpm", "unload port": "yes" if r < 0.25 else "no"}  # fmt: skip
            name = self.part("pump", {**two, **driver})
            if r < 0.25:
                self.line(f"{name}.U", "tank.oil")
            outlet = f"{name}.outlet"
        else:
            pair = {"kind": "tandem pump", "sections": ["10 cc/rev", "4 cc/rev"], "speed": "2400 rpm"}
            name = self.part("pump", {**pair, **driver})
            self.back(f"{name}.B")
            outlet = f"{name}.A"
        self.line("tank.oil", f"{name}.inlet")
        return outlet

    def shared(self, feed: str) -> str:
        """Steering first, the rest goes on; returns the port that feeds what comes after."""
        if self.rng.random() < 0.5:
            unit = self.part("steering", {"kind": "steering unit", "displacement": "100 cc/rev", "centre": "open",
                                          "power beyond": "yes"})  # fmt: skip
            self.line(feed, f"{unit}.P")
            onward = f"{unit}.PB"
        else:
            split = self.part("priority", {"kind": "priority divider", "set flow": "15 L/min"})
            unit = self.part("steering", {"kind": "steering unit", "displacement": "100 cc/rev", "centre": "open"})
            self.line(feed, f"{split}.inlet")
            self.line(f"{split}.controlled", f"{unit}.P")
            onward = f"{split}.excess"
        ram = self.part("steering ram", dict(CYLINDER))
        self.line(f"{unit}.L", f"{ram}.cap")
        self.line(f"{unit}.R", f"{ram}.rod")
        self.line(f"{unit}.T", "tank.oil")
        return onward

    def back(self, port: str) -> None:
        """To the reservoir, perhaps through a cooler or a filter."""
        for kind in self.rng.sample(["cooler", "filter"], self.rng.randint(0, 2)):
            name = self.part(kind, {"kind": kind, **({"conductance": "100 W/K"} if kind == "cooler" else {})})
            self.line(port, f"{name}.inlet")
            port = f"{name}.outlet"
        self.line(port, "tank.oil")


def notes(seed: int) -> Plant:
    plant = Plant(seed)
    rng = plant.rng
    wanted = rng.randint(10, 58)
    while plant.count < wanted:
        pump_keys: dict[str, Any] = {"kind": "pump", "displacement": "10 cc/rev", "speed": "2400 rpm"}
        if rng.random() < 0.7:
            engine = plant.part("engine", {"kind": "engine", "power": "16 hp at 3600 rpm"})
            pump_keys["driven by"] = engine
        if rng.random() < 0.2:
            driver = {k: v for k, v in pump_keys.items() if k == "driven by"}
            supply(plant, plant.pump(driver), wanted)
            continue
        pump = plant.part("pump", pump_keys)
        if rng.random() < 0.4:
            strainer = plant.part("strainer", {"kind": "filter"})
            plant.line("tank.oil", f"{strainer}.inlet")
            plant.line(f"{strainer}.outlet", f"{pump}.inlet")
        elif rng.random() < 0.3:
            tee = plant.part("tee", {"kind": "tee"})
            other = plant.part("pump", dict(pump_keys))
            plant.line("tank.oil", f"{tee}.run a")
            plant.line(f"{tee}.run b", f"{pump}.inlet")
            plant.line(f"{tee}.branch", f"{other}.inlet")
            plant.back(f"{other}.outlet")
        else:
            plant.line("tank.oil", f"{pump}.inlet")
        supply(plant, f"{pump}.outlet", wanted)
    return plant


def supply(plant: Plant, feed: str | None, wanted: int) -> None:
    """Steering perhaps, then one valve after the other as long as there is power beyond."""
    if feed and plant.rng.random() < 0.15:
        feed = plant.shared(feed)
    while feed:
        here, feed = feed, None
        out, beyond = plant.bank(here, plant.rng.randint(1, 4))
        if beyond and plant.count < wanted:
            feed = beyond
            plant.back(out)
        else:
            if beyond:
                plant.back(beyond)
            plant.back(out)


def circuit(seed: int, shuffle: int = 0) -> Circuit:
    plant = notes(seed)
    states: dict[str, dict[tuple[str, str], Any]] = {"one": {}, "two": {}}
    return sample.circuit(plant.parts, plant.lines, states, plant.ties, shuffle)
