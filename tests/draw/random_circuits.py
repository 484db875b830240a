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
            keys, inlet, outlet = self.rng.choice(INLINE)
            name = self.part(str(keys["kind"]).split()[0], dict(keys))
            self.line(a, f"{name}.{inlet}")
            self.run(f"{name}.{outlet}", b, depth + 1)
            return
        tee = self.part("tee", {"kind": "tee"})
        self.line(a, f"{tee}.run a")
        self.run(f"{tee}.run b", b, depth + 1)
        if self.rng.random() < 0.5:
            gauge = self.part("gauge", {"kind": "gauge point"})
            self.line(f"{tee}.branch", f"{gauge}.port")
        else:
            relief = self.part("relief", {"kind": "relief valve", "setting": "170 bar"})
            self.line(f"{tee}.branch", f"{relief}.inlet")
            self.line(f"{relief}.outlet", "tank.oil")

    def consumer(self, a: str, b: str) -> None:
        r = self.rng.random()
        if r < 0.45:
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
            "spools": {n: {"float": "yes"} if self.rng.random() < 0.2 else {} for n in names},
            "feed": self.rng.choice(["parallel", "series", "tandem"]),
        }  # fmt: skip
        if self.rng.random() < 0.5:
            keys["relief"] = "180 bar"
        bank = self.part("bank", keys)
        self.run(feed, f"{bank}.P")
        for n in names:
            self.consumer(f"{bank}.{n}.A", f"{bank}.{n}.B")
        return f"{bank}.T", f"{bank}.PB" if beyond else None

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
        feed: str | None = f"{pump}.outlet"
        while feed:
            here, feed = feed, None
            out, beyond = plant.bank(here, rng.randint(1, 4))
            if beyond and plant.count < wanted:
                feed = beyond
                plant.back(out)
            else:
                if beyond:
                    plant.back(beyond)
                plant.back(out)
    return plant


def circuit(seed: int, shuffle: int = 0) -> Circuit:
    plant = notes(seed)
    states: dict[str, dict[tuple[str, str], Any]] = {"one": {}, "two": {}}
    return sample.circuit(plant.parts, plant.lines, states, plant.ties, shuffle)
