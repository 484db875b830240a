"""Random circuits of 10-60 parts in the language itself, from every kind there is. Data invented.

`random_machines` checks the solver with an expansion of its own; here the kinds expand, so that reading, kinds, solver,
faults, findings and page are all tried. `text(seed)` gives the YAML of a circuit with several states.
"""

from __future__ import annotations

import math
from typing import Any

import yaml

from .yard import Orders, Yard


class Works(Yard):
    """A machine whose consumers and supplies are drawn at random."""

    # ---- consumers
    def cylinder(self, **keys: Any) -> tuple[str, float]:
        """Name, and the load that 120 bar would carry, N."""
        bore, rod = self.rng.choice(((40, 22), (50, 28), (63, 36), (80, 45)))
        friction = self.rng.choice(("0 N", "300 N", "1000 N"))
        keys |= {"bore": f"{bore} mm", "rod": f"{rod} mm", "stroke": "400 mm", "friction": friction}
        name = self.part("ram", "cylinder", **keys)
        return name, 12e6 * math.pi / 4 * (bore / 1e3) ** 2

    def held(self, a: str, b: str) -> tuple[str, str]:
        """Perhaps a valve that holds the load on side a; gives the ports to go on from."""
        kind = self.rng.choice((None, None, "counterbalance valve", "pilot-operated check valve", "velocity fuse",
                                "throttle check valve", "flow control valve"))  # fmt: skip
        if kind is None:
            return a, b
        if kind == "velocity fuse":
            a = self.through(a, kind, "V", "load", trip_flow=self.flow(30, 70))
            self.setting(a.rpartition(".")[0], ("open", "open", "open", "tripped"))
        elif kind == "throttle check valve":
            a = self.through(a, kind, "outlet", "inlet", drop="20 bar at 20 L/min")
            self.setting(a.rpartition(".")[0], ("open", "50 %", "20 %"))
        elif kind == "flow control valve":
            a = self.through(a, kind, "outlet", "inlet", set_flow=self.flow(8, 25))
        else:
            more = {"setting": self.bar(130, 200)} if kind == "counterbalance valve" else {}
            a = self.through(a, kind, "V", "load", pilot_ratio=self.rng.choice(("3:1", "4.5:1", "8:1")), **more)
            b, pilot = self.fork(b)
            self.line(pilot, f"{a.rpartition('.')[0]}.pilot", direct=0)
        return a, b

    def consumer(self, a: str, b: str) -> None:
        """What hangs on a pair of work ports."""
        a, b = self.inline(a), self.inline(b)
        self.rng.choice((self.one_rod, self.one_rod, self.pair, self.motors, self.selected, self.divided))(a, b)

    def one_rod(self, a: str, b: str) -> None:
        if self.chance(0.15):
            block = self.part("reliefs", "relief block", inlets={"a": self.limit(120, 180), "b": self.limit(90, 150)})
            (a, guard_a), (b, guard_b) = self.fork(a), self.fork(b)
            self.line(guard_a, f"{block}.a")
            self.line(guard_b, f"{block}.b")
            self.line(f"{block}.outlet", "tank")
        a, b = self.held(a, b)
        ram, force = self.cylinder()
        self.rod_load(ram, force)
        self.line(a, f"{ram}.cap", direct=0.5)
        self.line(b, f"{ram}.rod")

    def pair(self, a: str, b: str) -> None:
        """Two alike: on one beam, free, or in series with a rephasing master."""
        (one, force), (two, _) = self.cylinder(rephasing=self.rng.choice(("no", "no", "both"))), self.cylinder()
        self.parts[two] |= {key: self.parts[one][key] for key in ("bore", "rod", "friction")}
        if self.parts[one]["rephasing"] != "no":
            self.line(a, f"{one}.cap")
            self.line(f"{one}.rod", f"{two}.cap")
            self.line(f"{two}.rod", b)
            self.rod_load(one, force / 3)
            self.rod_load(two, force / 3)
            return
        for port, end in ((a, "cap"), (b, "rod")):
            for side, ram in zip(self.fork(port), (one, two), strict=True):
                self.line(side, f"{ram}.{end}")
        tie = f"tie {len(self.ties)}"
        rigid = self.chance(0.5)
        self.ties[tie] = {"parts": [one, two], "rigid": "yes" if rigid else "no"}
        for name in (tie,) if rigid else (one, two):
            self.rod_load(name, force)

    def motor(self) -> str:
        size = self.rng.uniform(50, 250)
        drained = self.yes(0.4)
        name = self.part("motor", "hydraulic motor", displacement=f"{size:.0f} cc/rev", case_drain=drained)
        if drained == "yes":
            self.line(f"{name}.drain", "tank")
        self.shaft_load(name, size * 1e-6 / math.tau * 15e6)
        return name

    def motors(self, a: str, b: str) -> None:
        if self.chance(0.4):
            guard = self.part("cross", "cross-port relief", relief_of_A=self.limit(100, 160), make_up=self.yes(0.5))
            if self.parts[guard]["make up"] == "yes":
                self.line(f"{guard}.T", "tank")
            self.line(a, f"{guard}.A")
            self.line(b, f"{guard}.B")
            a, b = f"{guard}.motor A", f"{guard}.motor B"
        first = self.motor()
        draw = self.rng.random()
        if draw < 0.5:
            self.line(a, f"{first}.A")
            self.line(f"{first}.B", b)
            return
        second = self.motor()
        if draw < 0.75:
            self.line(a, f"{first}.A")
            self.line(f"{first}.B", f"{second}.A")
            self.line(f"{second}.B", b)
            return
        for port, end in ((a, "A"), (b, "B")):
            for side, motor in zip(self.fork(port), (first, second), strict=True):
                self.line(side, f"{motor}.{end}")

    def selected(self, a: str, b: str) -> None:
        valve = self.part("selector", "selector valve", ports="6", neutral=self.rng.choice(("none", "blocked", "open")))
        self.setting(valve, ("A", "B") if self.parts[valve]["neutral"] == "none" else ("A", "B", "neutral"))
        self.line(a, f"{valve}.C1")
        self.line(b, f"{valve}.C2")
        self.one_rod(f"{valve}.A1", f"{valve}.A2")
        self.one_rod(f"{valve}.B1", f"{valve}.B2")

    def divided(self, a: str, b: str) -> None:
        """A divider before two cylinders of one function."""
        outs = self.divider(a, 2)
        for port, side in zip(outs, self.fork(b), strict=True):
            ram, force = self.cylinder()
            self.rod_load(ram, force)
            self.line(port, f"{ram}.cap")
            self.line(f"{ram}.rod", side)

    def divider(self, port: str, outlets: int) -> list[str]:
        if self.chance(0.3) and outlets == 2:
            name = self.part("spool divider", "spool divider", share_of_A=self.rng.choice(("50 %", "35 %")),
                             combines=self.yes(0.5))  # fmt: skip
            self.line(port, f"{name}.inlet")
            return [f"{name}.A", f"{name}.B"]
        sizes = [f"{self.rng.choice((6, 8, 8, 12))} cc/rev" for _ in range(outlets)]
        name = self.part("gear divider", "flow divider", sections=sizes, outlet_reliefs=self.limit(150, 200))
        self.line(port, f"{name}.inlet")
        self.line(f"{name}.T", "tank")
        return [f"{name}.{letter}" for letter in "ABCD"[:outlets]]

    def single(self, port: str) -> None:
        """What works with one line."""
        if self.chance(0.5):
            ram = self.part("lift", "single-acting cylinder", bore="50 mm", stroke="400 mm", spring="400 N")
        else:
            stages = [{"bore": f"{d} mm", "stroke": "400 mm"} for d in (80, 65, 50)]
            ram = self.part("hoist", "telescopic cylinder", stages=stages)
            self.setting(f"{ram}.stage", ("1", "2", "3"))
        self.rod_load(ram, 15e3, both=False)
        kind = self.rng.choice(("velocity fuse", "throttle check valve", ""))
        if kind == "velocity fuse":
            port = self.through(port, kind, "V", "load", trip_flow=self.flow(30, 70))
        elif kind:
            port = self.through(port, kind, "outlet", "inlet", drop="20 bar at 20 L/min")
        self.line(port, f"{ram}.cap")

    # ---- what takes a pump's flow
    def bank(self, port: str) -> str:
        """A directional valve; gives the port of its carry-over, "" where it has none."""
        beyond = self.chance(0.3)
        feed = self.rng.choice(("parallel", "parallel", "series", "tandem"))
        spools: dict[str, Any] = {}
        for _ in range(self.rng.randint(1, 3)):
            keys: dict[str, Any] = {}
            if self.chance(0.2):
                keys["float"] = "yes"
            if self.chance(0.15):
                keys["regen"] = "yes"
            if self.chance(0.2):
                keys["ports in centre"] = self.rng.choice(("to tank", "A to tank", "B to tank"))
            if self.chance(0.25):
                keys["port reliefs"] = {"A": self.limit(150, 210), "B": self.limit(120, 180)}
            if self.chance(0.2):
                keys["make up"] = "yes"
            if feed != "parallel" and self.chance(0.3):
                keys["relief"] = self.limit(100, 150)
            spools[f"s{len(self.parts)}x{len(spools)}"] = keys
        more = {"relief": self.limit(120, 170)} if self.chance(0.5) else {}
        valve = self.part("valve", "directional valve", centre="open", spools=spools, feed=feed,
                          power_beyond="yes" if beyond else "no", load_checks=self.yes(0.7), **more)  # fmt: skip
        self.line(port, f"{valve}.P")
        for name, keys in spools.items():
            self.consumer(f"{valve}.{name}.A", f"{valve}.{name}.B")
            places = ["centre", "A", "A", "B", "A 60 %", "B 30 %"]
            places += ["float"] * ("float" in keys) + ["regen"] * ("regen" in keys)
            self.setting(name, places)
        self.back(f"{valve}.T")
        return f"{valve}.PB" if beyond else ""

    def steering(self, port: str) -> str:
        beyond = self.chance(0.6)
        unit = self.part("steering", "steering unit", displacement="100 cc/rev", centre="open", make_up=self.yes(0.5),
                         power_beyond="yes" if beyond else "no", relief=self.limit(80, 120), port_reliefs="160 bar",
                         load_reaction=self.yes(0.3))  # fmt: skip
        self.setting(unit, ("held", "40 rpm left", "80 rpm right"))
        self.line(port, f"{unit}.P")
        ram, force = self.cylinder()
        self.line(f"{unit}.L", f"{ram}.cap")
        self.line(f"{unit}.R", f"{ram}.rod")
        self.rod_load(ram, force / 2)
        self.back(f"{unit}.T")
        return f"{unit}.PB" if beyond else ""

    def limited(self, port: str) -> str:
        """A motor behind a flow control; the rest goes on."""
        if self.chance(0.5):
            on, side = self.fork(port)
            out = self.through(side, "flow control valve", "inlet", "outlet", set_flow=self.flow(4, 12))
        else:
            valve = self.part("three-port", "three-port flow control", set_flow=self.flow(5, 15))
            self.setting(valve, ("open", "40 %"))
            self.line(port, f"{valve}.inlet")
            on, out = f"{valve}.excess", self.guarded(f"{valve}.regulated", 100, 150)
        motor = self.motor()
        self.line(out, f"{motor}.A")
        self.back(f"{motor}.B")
        return on

    def prior(self, port: str) -> str:
        name = self.part("priority", "priority divider", set_flow=self.flow(6, 15), relief=self.limit(90, 140))
        self.line(port, f"{name}.inlet")
        self.line(f"{name}.T", "tank")
        rest = self.steering(f"{name}.controlled") if self.chance(0.6) else self.bank(f"{name}.controlled")
        if rest:
            self.back(rest)
        return f"{name}.excess"

    def branched(self, port: str) -> str:
        """A function of its own beside the main way: reduced, in sequence, with a store, or by a diverter."""
        on, side = self.fork(port)
        kind = self.rng.choice(("pressure reducing valve", "sequence valve", "accumulator", "diverter"))
        if kind == "accumulator":
            store = self.part("store", kind, volume="1 L", precharge="60 bar")
            self.line(self.through(side, "check valve", "inlet", "outlet"), f"{store}.oil")
        elif kind == "diverter":
            valve = self.part("diverter", "selector valve", ports="3", neutral="blocked")
            self.setting(valve, ("A", "B", "neutral"))
            self.line(side, f"{valve}.C")
            for port in "AB":
                self.single(f"{valve}.{port}")
        else:
            out = self.through(side, kind, "inlet", "outlet", setting=self.bar(30, 90))
            self.line(f"{out.rpartition('.')[0]}.drain", "tank")
            self.single(out)
        return on

    def split(self, port: str) -> str:
        """A divider whose outlets are machines of their own."""
        outs = self.divider(port, self.rng.choice((2, 2, 3)))
        for out in outs[1:]:
            self.spend(self.guarded(out), 0)
        return self.guarded(outs[0])

    def spend(self, port: str, depth: int) -> None:
        """Whatever takes the flow of a port, down to the tank."""
        ways = (self.bank, self.limited, self.branched, self.branched, self.steering, self.prior, self.split)
        while port:
            port = self.inline(port) if self.chance(0.3) else port
            way = self.rng.choice(ways) if depth > 0 else self.bank
            port = way(port)
            depth -= 1
            if port and depth < 0:
                self.back(port)
                return

    # ---- where the oil comes from
    def driver(self) -> dict[str, str]:
        kind = self.rng.choice(("engine", "electric motor", "DC motor", ""))
        if not kind:
            return {}
        power = {"engine": "16 hp at 3600 rpm", "electric motor": "5.5 kW", "DC motor": "1.8 kW"}[kind]
        more = {"voltage": "12 V"} if kind == "DC motor" else {}
        name = self.part("drive", kind, power=power, speed="1450 rpm", **more)
        if kind == "engine":
            self.orders.append(lambda rng: {"speed": {name: rng.choice(("1450 rpm", "900 rpm", "1800 rpm"))}})
        return {"driven by": name}

    def suction(self, pump: str) -> None:
        if self.chance(0.2):
            self.line(self.through("tank", "filter", "inlet", "outlet", drop="0.05 bar at 60 L/min", bypass="0.2 bar"),
                      f"{pump}.inlet", direct=1)  # fmt: skip
        else:
            name = self.line("tank", f"{pump}.inlet", direct=1)
            hose = {"hose": "suction", "bore": "38 mm", "length": "0.6 m"}
            self.lines[name] = {"route": self.lines[name]["route"], **hose}

    def supply(self) -> None:
        """One source of oil and all that hangs on it."""
        kind = self.rng.choice(("pump",) * 4 + ("tandem pump", "two-stage pump", "unloaded", "hand pump"))
        if kind == "hand pump":
            name = self.part("hand", kind, stroke_volume="25 cc", piston="3 cm2", lever_ratio="15:1")
            self.setting(name, ("30 strokes/min", "rests"))
            self.suction(name)
            self.single(self.guarded(f"{name}.outlet"))
            return
        drive = self.driver()
        size = self.rng.uniform(6, 30)
        if kind == "pump":
            name = self.part("pump", kind, displacement=f"{size:.1f} cc/rev", speed="1450 rpm",
                             volumetric_efficiency=self.rng.choice(("90 %", "95 %")), **drive)  # fmt: skip
            outlets = [f"{name}.outlet"]
        elif kind == "tandem pump":
            name = self.part("tandem", kind, sections=[f"{size:.1f} cc/rev", "6 cc/rev"], speed="1450 rpm", **drive)
            outlets = [f"{name}.A", f"{name}.B"]
        elif kind == "two-stage pump":
            name = self.part("two-stage", kind, large_stage=f"{size:.1f} cc/rev", small_stage="3 cc/rev",
                             unloads_at=self.bar(30, 60), speed="1450 rpm", **drive)  # fmt: skip
            outlets = [f"{name}.outlet"]
        else:
            outlets = [self.unloaded(size, drive)]
            name = ""
        if name:
            self.suction(name)
        for outlet in outlets:
            self.spend(self.guarded(outlet, 150, 220), self.rng.randint(0, 3))

    def unloaded(self, size: float, drive: dict[str, str]) -> str:
        """Two pumps, the larger one unloaded by pressure; gives the port where both join."""
        pumps = []
        for displacement in (size, 3):
            name = self.part("pump", "pump", displacement=f"{displacement:.1f} cc/rev", speed="1450 rpm", **drive)
            self.suction(name)
            pumps.append(name)
        valve = self.part("unloader", "unloading valve", setting=self.bar(30, 60), check="yes")
        self.setting(f"{valve}.unloader", ("works",) * 9 + ("stuck shut",))
        self.line(f"{pumps[0]}.outlet", f"{valve}.P")
        self.line(f"{valve}.T", "tank")
        tee = self.part("tee", "tee")
        self.line(f"{valve}.A", f"{tee}.run a")
        self.line(f"{pumps[1]}.outlet", f"{tee}.run b")
        return f"{tee}.branch"

    def states(self, count: int) -> dict[str, Orders]:
        found = {}
        for s in range(count):
            state: Orders = {"hook-up": self.rng.choice(list(self.hook_ups))} if self.hook_ups else {}
            for order in self.orders:
                for key, value in order(self.rng).items():
                    if isinstance(value, dict):
                        state[key] = {**state.get(key, {}), **value}
                    else:
                        state[key] = [*state.get(key, []), *value] if isinstance(value, list) else value
            found[f"state {s}"] = state
        return found


def draw(seed: int, parts: tuple[int, int] = (10, 60), reliefs: bool = True) -> Works:
    """A machine with a number of parts within `parts` (the first of the seed's draws that fits)."""
    for attempt in range(1000):
        yard = Works(seed * 1000 + attempt, reliefs)
        yard.supply()
        while len(yard.parts) < parts[0] or yard.chance(0.15):
            yard.supply()
        if len(yard.parts) <= parts[1]:
            if yard.hook_ups:
                yard.hook_ups["parked"] = {}
            return yard
    raise AssertionError("no machine of that size")


def text(seed: int, states: int = 4, reliefs: bool = True, faults: bool = False) -> str:
    """YAML of a whole circuit."""
    yard = draw(seed, reliefs=reliefs)
    written = {
        "machine": f"random {seed}", "oil": {"grade": "ISO VG 46", "temperature": "45 °C"}, "parts": yard.parts,
        "lines": yard.lines, "ties": yard.ties, "hook-ups": yard.hook_ups, "states": yard.states(states),
        "faults": "yes" if faults else "no",
    }  # fmt: skip
    return yaml.safe_dump({k: v for k, v in written.items() if v}, sort_keys=False, allow_unicode=True, width=1000)
