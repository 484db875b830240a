"""Random circuits in the making: parts, lines, things in a line, and what states order. Data invented."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import Any

Orders = dict[str, Any]
DRIVERS = ("engine", "electric motor", "DC motor", "reservoir")
SIZES = ("-6", "-8", "-10", "-12")


class Yard:
    """A machine under construction: parts, lines, and what a state may order."""

    def __init__(self, seed: int, reliefs: bool = True) -> None:
        self.rng = random.Random(seed)
        self.reliefs = reliefs
        self.parts: dict[str, dict[str, Any]] = {}
        self.lines: dict[str, dict[str, Any]] = {}
        self.ties: dict[str, dict[str, Any]] = {}
        self.hook_ups: dict[str, dict[str, str]] = {}
        self.orders: list[Callable[[random.Random], Orders]] = []
        self.part("tank", "reservoir", volume="60 L", cooling_area="1 m2")

    def part(self, name: str, kind: str, **keys: Any) -> str:
        name = name if name == "tank" else f"{name} {len(self.parts)}"
        written = {key.replace("_", " "): value for key, value in keys.items()}
        self.parts[name] = {"kind": kind, **written, **({} if kind in DRIVERS else {"rating": "280 bar"})}
        return name

    def line(self, start: str, end: str, direct: float = 0.3) -> str:
        name = f"l{len(self.lines)}"
        keys: dict[str, Any] = {"route": f"{start} > {end}"}
        if self.rng.random() < direct:
            keys["direct"] = "yes"
        else:
            keys |= {
                "hose": "two-wire", "size": self.rng.choice(SIZES), "length": f"{self.rng.uniform(0.3, 4):.2f} m",
            }  # fmt: skip
            if self.rng.random() < 0.3:
                keys["fittings"] = ["elbow 90"]
        self.lines[name] = keys
        return name

    def bar(self, low: float, high: float) -> str:
        return f"{self.rng.uniform(low, high):.0f} bar"

    def flow(self, low: float, high: float) -> str:
        return f"{self.rng.uniform(low, high):.1f} L/min"

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def yes(self, share: float) -> str:
        return "yes" if self.chance(share) else "no"

    def limit(self, low: float, high: float) -> dict[str, str]:
        return {"setting": self.bar(low, high), "override": f"{self.rng.uniform(0, 15):.0f} bar at 40 L/min"}

    # ---- things in a line
    def fork(self, port: str) -> tuple[str, str]:
        """Two free ports on a tee or a manifold at `port`."""
        if self.chance(0.7):
            tee = self.part("tee", "tee")
            self.line(port, f"{tee}.run a")
            return f"{tee}.run b", f"{tee}.branch"
        block = self.part("block", "manifold block", ports=["in", "one", "two", "gauge"])
        self.line(port, f"{block}.in")
        self.line(f"{block}.gauge", f"{self.part('gauge', 'gauge point')}.port", direct=1)
        return f"{block}.one", f"{block}.two"

    def guarded(self, port: str, low: float = 140, high: float = 200) -> str:
        """A relief to the tank beside `port`; gives the port to go on from."""
        if not self.reliefs:
            return port
        on, side = self.fork(port)
        relief = self.part("relief", "relief valve", **self.limit(low, high))
        self.line(side, f"{relief}.inlet", direct=1)
        self.line(f"{relief}.outlet", "tank", direct=0.6)
        return on

    def through(self, port: str, kind: str, inlet: str, outlet: str, **keys: Any) -> str:
        part = self.part(kind.split()[0], kind, **keys)
        self.line(port, f"{part}.{inlet}")
        return f"{part}.{outlet}"

    def inline(self, port: str) -> str:
        """Perhaps a coupler, valve, joined halves or strainer in the way; gives the port to go on from."""
        draw = self.rng.random()
        if draw < 0.06:
            out = self.through(port, "quick coupler", "A", "B")
            self.setting(out.rpartition(".")[0], ("joined",) * 9 + ("open",))
        elif draw < 0.10:
            out = self.through(port, "shut-off valve", "A", "B")
            self.setting(out.rpartition(".")[0], ("open",) * 8 + ("40 %", "shut"))
        elif draw < 0.15:
            one, two = (self.part("half", "coupler half", valved=self.yes(0.8)) for _ in "ab")
            self.line(port, one)
            self.hook_ups.setdefault("tool on", {})[one] = two
            out = f"{two}.line"
        elif draw < 0.18:
            out = self.through(port, "orifice", "A", "B", diameter=f"{self.rng.uniform(1.5, 5):.1f} mm")
        else:
            return port
        return out

    def back(self, port: str) -> None:
        """To the tank, perhaps through a filter and a cooler."""
        if self.chance(0.3):
            drop = self.bar(0.5, 1) + " at 60 L/min"
            port = self.through(port, "filter", "inlet", "outlet", drop=drop, bypass="2 bar")
            self.setting(port.rpartition(".")[0], ("clean", "clean", "80 % blocked", "blocked"))
        if self.chance(0.2):
            port = self.through(port, "cooler", "inlet", "outlet", drop="1.2 bar at 60 L/min", bypass="3 bar",
                                conductance="60 W/K")  # fmt: skip
        self.line(port, "tank", direct=0.1)

    # ---- what states order
    def setting(self, key: str, choices: Sequence[str]) -> None:
        self.orders.append(lambda rng: {key: rng.choice(choices)})

    def load(self, name: str, text: Callable[[random.Random], str], stops: Sequence[str] = ()) -> None:
        """A load in most states, sometimes an end stop, sometimes held."""

        def order(rng: random.Random) -> Orders:
            found: Orders = {"loads": {name: text(rng)}} if rng.random() < 0.8 else {}
            draw = rng.random()
            if stops and draw < 0.2:
                found["at stop"] = {name: rng.choice(stops)}
            elif draw > 0.95:
                found["stopped"] = [name]
            return found

        self.orders.append(order)

    def rod_load(self, name: str, newtons: float, both: bool = True) -> None:
        def text(rng: random.Random) -> str:
            force = newtons * rng.uniform(0.2, 1.2)
            return f"{force:.0f} N {'tension' if both and rng.random() < 0.25 else 'compression'}"

        self.load(name, text, ("extended", "retracted"))

    def shaft_load(self, name: str, most: float) -> None:
        def text(rng: random.Random) -> str:
            way = rng.choice(("resisting",) * 5 + ("driving A to B", "driving B to A"))
            return f"{rng.uniform(0.05, 1) * most:.0f} N.m {way}"

        self.load(name, text)
