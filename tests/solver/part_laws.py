"""What every kind promises at its ports, in plain Python from the part's parameters alone: a second opinion on the
kinds, as `laws` is one on the solver. Each law gets a `Seen` and yields a sentence for what it does not keep."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from builddoc.circuit import Part
from builddoc.results import Results

BAR = 1e5
NEAR = 2e3  # Pa, and share of the largest flow of the state times 1e-6: what counts as met


@dataclass
class Seen:
    """A part in one solved state. port: name -> Pa. into: name -> m3/s that go into it there."""

    r: Results
    part: Part
    s: int
    port: dict[str, float]
    into: dict[str, float]
    flow: float

    @property
    def keys(self) -> Any:
        return self.part.params

    @property
    def nothing(self) -> float:
        return 2e-6 * self.flow

    def order(self, control: str) -> Any:
        return self.r.orders(self.part.name, control)[self.s]

    def ratio(self) -> float:
        """Speed of its driver as a share of the nominal one."""
        return float(self.r.speed_ratio(self.keys.driven_by)[self.s])


def misses(r: Results, s: int) -> list[str]:
    """Every promise that a part of a solved state does not keep."""
    net, found = r.network, []
    flow = max(max((abs(float(q)) for q in r.q[s]), default=0.0), 1e-9)
    into: dict[tuple[str, int], float] = {}

    def take(name: str, node: int, q: float) -> None:
        into[name, node] = into.get((name, node), 0.0) + q

    for b, q in zip(net.branches, r.q[s], strict=True):
        take(b.part, b.i, q)
        take(b.part, b.j, -q)
    for c, q in zip(net.pilots, r.pilot_q[s], strict=True):
        take(c.part, c.i, q)
        take(c.part, c.j, -q)
    for a, v in zip(net.actuators, r.v[s], strict=True):
        for rod in [t for t in net.tied if a.part in r.circuit.ties and t.part in r.circuit.ties[a.part].parts] or [a]:
            for node, k in rod.k.items():
                take(rod.part, node, k * v)
    for source, q in zip(net.sources, r.source_q[s], strict=True):
        take(source.part, source.node, -q)
    for name, part in r.circuit.parts.items():
        nodes = {port: node for (owner, port), node in net.port_nodes.items() if owner == name}
        if len(set(nodes.values())) < len(nodes) and part.kind not in ("tee", "manifold block"):
            continue  # two of its ports are one node: its own flows cannot be told apart
        ports = {port: float(r.p[s, node]) for port, node in nodes.items()}
        seen = Seen(r, part, s, ports, {port: into.get((name, node), 0.0) for port, node in nodes.items()}, flow)
        if part.kind in LAWS and not set(nodes.values()) & r.solution.states[s].void.keys():
            found += [f"{name} ({part.kind}): {said}" for said in LAWS[part.kind](seen)]
    return found


def _meets(value: float, wanted: float, slack: float) -> bool:
    return abs(value - wanted) <= slack + 2e-4 * abs(wanted)


def _square(pair: Any, q: float) -> float:
    return float(pair.value) * (q / pair.at) ** 2


def _relief(at: Seen, inlet: str, outlet: str, limit: Any, q: float) -> Iterator[str]:
    dp = at.port[inlet] - at.port[outlet]
    opening = limit.setting + limit.slope() * max(q, 0.0)
    if q < -at.nothing or dp > opening + NEAR + 2e-4 * opening or (q > at.nothing and not _meets(dp, opening, NEAR)):
        yield f"relief of {inlet}: {dp / BAR:.2f} bar at {q * 6e4:.3f} L/min, not {opening / BAR:.2f}"


def relief_valve(at: Seen) -> Iterator[str]:
    yield from _relief(at, "inlet", "outlet", at.keys, at.into["inlet"])


def relief_block(at: Seen) -> Iterator[str]:
    for name, limit in at.keys.inlets.items():
        yield from _relief(at, name, "outlet", limit, at.into[name])


def check_valve(at: Seen) -> Iterator[str]:
    q, dp = at.into["inlet"], at.port["inlet"] - at.port["outlet"]
    wanted = at.keys.cracking + _square(at.keys.drop, q)
    if q < -at.nothing or (q > at.nothing and not _meets(dp, wanted, NEAR)) or (q <= at.nothing and dp > wanted + NEAR):
        yield f"{dp / BAR:.3f} bar at {q * 6e4:.3f} L/min"


def _rod(at: Seen, push: float, sweep: float, friction: float, load: float) -> Iterator[str]:
    """push: N of the oil; sweep: m3/s into the side that extends it."""
    stop, slack = at.order("stop"), 3.0 + 3e-4 * abs(load) + NEAR * 5e-3
    if any(at.part.name in tie.parts for tie in at.r.circuit.ties.values()):
        return
    excess = push - load
    held = stop == "held" or (stop == "extended" and excess > 0) or (stop == "retracted" and excess < 0)
    if abs(sweep) > 1e3 * at.nothing and not _meets(excess, math.copysign(friction, sweep), slack):
        yield f"moves under {excess:.0f} N of excess force, friction {friction:.0f} N"
    elif abs(sweep) <= at.nothing and not held and abs(excess) > friction + slack:
        yield f"stands under {excess:.0f} N of excess force, friction {friction:.0f} N"


def cylinder(at: Seen) -> Iterator[str]:
    cap = math.pi / 4 * at.keys.bore**2
    ring = cap - math.pi / 4 * at.keys.rod**2
    if at.keys.rephasing == "no" and not _meets(-at.into["rod"], at.into["cap"] * ring / cap, 2 * at.nothing):
        yield "its flows are not as its areas"
    push = cap * at.port["cap"] - ring * at.port["rod"]
    if at.order("stop") is None or at.keys.rephasing == "no":
        yield from _rod(at, push, at.into["cap"], at.keys.friction, at.order("load"))


def single_acting(at: Seen) -> Iterator[str]:
    push = math.pi / 4 * at.keys.bore**2 * at.port["cap"] - at.keys.spring
    yield from _rod(at, push, at.into["cap"], at.keys.friction, at.order("load"))


def telescopic(at: Seen) -> Iterator[str]:
    stage = at.keys.stages[at.order("stage") - 1]
    if at.order("stop") is None:
        push = math.pi / 4 * stage.bore**2 * at.port["cap"]
        yield from _rod(at, push, at.into["cap"], at.keys.friction, at.order("load"))


def motor(at: Seen) -> Iterator[str]:
    load, size = at.order("load"), at.keys.displacement
    push, out = size * (at.port["A"] - at.port["B"]) - load.against, at.into.get("drain", 0.0)
    if abs(at.into["A"] + at.into["B"] + out) > at.nothing:
        yield "its flows do not add up"
    rub = load.resisting + (1 / at.keys.mechanical_efficiency - 1) * (load.resisting + abs(load.against))
    rub += at.keys.idle_torque
    if at.order("stop") != "held" and abs(push) > rub + 0.01 + NEAR * size + 3e-4 * rub:
        yield f"{push:.2f} N m of excess torque, losses and load {rub:.2f}"


def flow_control(at: Seen) -> Iterator[str]:
    if at.into["inlet"] > at.keys.set_flow * (1 + 1e-5) + at.nothing:
        yield "passes more than its set flow"
    short = at.into["inlet"] < at.keys.set_flow * (1 - 1e-5) - at.nothing
    if short and at.port["inlet"] - at.port["outlet"] > at.keys.least_drop + NEAR:
        yield "holds back oil although it has its least drop"


def _metering(at: Seen, port: str, most: float) -> Iterator[str]:
    got, rest = -at.into[port], -at.into["excess"]
    own = got - max(0.0, at.into.get("T", 0.0) * -1)
    if own > most * (1 + 1e-5) + at.nothing:
        yield f"{port} gets more than its set flow"
    if rest > 100 * at.nothing and at.port["inlet"] - at.port[port] < at.keys.metering_drop - NEAR:
        yield f"passes oil on before {port} has its flow"


def priority(at: Seen) -> Iterator[str]:
    yield from _metering(at, "controlled", at.keys.set_flow)


def three_port(at: Seen) -> Iterator[str]:
    yield from _metering(at, "regulated", at.keys.set_flow * at.order("position"))


def gear_divider(at: Seen) -> Iterator[str]:
    """All sections turn at one speed, and the torques balance while they turn."""
    letters = "ABCD"[: len(at.keys.sections)]
    total, torque, turns = sum(at.keys.sections), 0.0, []
    for letter, size in zip(letters, at.keys.sections, strict=True):
        dp = at.port["inlet"] - at.port[letter]
        torque += dp * size
        over = at.keys.outlet_reliefs
        spilled = 0.0
        if over is not None:
            spilled = max(0.0, (at.port[letter] - at.port["T"] - over.setting) / max(over.slope(), 1e-30))
        if over is None or over.slope() > 1e6:
            turns.append((-at.into[letter] + spilled - at.keys.leakage * dp) / size)
    if turns and max(turns) - min(turns) > 1e-4 * max(map(abs, turns)) + at.nothing / min(at.keys.sections):
        yield f"its sections turn at {turns} rad/s"
    if abs(torque) > at.keys.turning_loss * total * (1 + 1e-4) + NEAR * total:
        yield "more torque than its friction"


def spool_divider(at: Seen) -> Iterator[str]:
    """The side that takes more than its share is throttled, unless the other is wide open already."""
    share = {"A": at.keys.share_of_A, "B": 1 - at.keys.share_of_A}
    flow, at_flow = {x: -at.into[x] for x in "AB"}, at.keys.metering_drop.at
    if min(flow.values()) < 0 or sum(flow.values()) < 0.1 * at_flow:
        return
    need = {x: at.keys.metering_drop.value * (flow[x] / (share[x] * at_flow)) ** 2 for x in "AB"}
    least = min("AB", key=lambda x: need[x])
    wide = _square(at.keys.drop, flow[least])
    if max(need.values()) - min(need.values()) > at.keys.droop + NEAR and not _meets(
        at.port["inlet"] - at.port[least], need[least] + wide, NEAR
    ):
        yield f"{least} gets less than its share although it is not wide open"


def steering(at: Seen) -> Iterator[str]:
    hand = at.order("position")
    if not isinstance(hand, float) or abs(hand) < 0.01 or (at.keys.port_reliefs and at.keys.make_up):
        return
    side = "R" if hand > 0 else "L"
    most = at.keys.displacement * abs(hand) * at.keys.volumetric_efficiency
    if -at.into[side] > most * (1 + 1e-5) + at.nothing:
        yield "meters more than hand speed times displacement"


def reducing(at: Seen) -> Iterator[str]:
    if at.into["inlet"] > 10 * at.nothing and at.port["outlet"] - at.port["drain"] > at.keys.setting + NEAR:
        yield "lets oil through above its setting"


def sequence(at: Seen) -> Iterator[str]:
    if at.into["inlet"] > 10 * at.nothing and at.port["inlet"] - at.port["drain"] < at.keys.setting - NEAR:
        yield "opens below its setting"


def counterbalance(at: Seen) -> Iterator[str]:
    drained = at.port["V"]
    balance = at.port["load"] - drained + at.keys.pilot_ratio * (at.port["pilot"] - drained)
    if at.into["load"] > 10 * at.nothing and balance < at.keys.setting - NEAR:
        yield "lowers without pilot pressure"
    pushed = at.port["load"] > drained + NEAR
    if abs(at.into["load"]) < at.nothing and pushed and balance > at.keys.setting + NEAR:
        yield "is shut although its balance is over the setting"


def pilot_check(at: Seen) -> Iterator[str]:
    opening = at.keys.pilot_ratio * (at.port["pilot"] - at.port["V"]) - (at.port["load"] - at.port["V"])
    if at.into["load"] > 10 * at.nothing and opening < at.keys.cracking - NEAR:
        yield "lets the load go without pilot pressure"


def throttle_check(at: Seen) -> Iterator[str]:
    q, dp, x = at.into["inlet"], at.port["inlet"] - at.port["outlet"], at.order("position")
    if q > at.nothing and x > 0 and not _meets(dp, _square(at.keys.drop, q) / x**2, NEAR):
        yield f"{dp / BAR:.3f} bar at {q * 6e4:.3f} L/min, opened {x}"


def pump(at: Seen) -> Iterator[str]:
    wanted = at.keys.displacement * at.keys.speed * at.ratio() * at.keys.volumetric_efficiency
    if at.keys.efficiency_pressure is None and not _meets(-at.into["outlet"], wanted, at.nothing):
        yield f"delivers {-at.into['outlet'] * 6e4:.3f} L/min, not {wanted * 6e4:.3f}"


def tandem_pump(at: Seen) -> Iterator[str]:
    for letter, size in zip("ABC", at.keys.sections, strict=False):
        wanted = size * at.keys.speed * at.ratio() * at.keys.volumetric_efficiency
        if not _meets(-at.into[letter], wanted, at.nothing):
            yield f"{letter} delivers {-at.into[letter] * 6e4:.3f} L/min, not {wanted * 6e4:.3f}"


def two_stage(at: Seen) -> Iterator[str]:
    if at.order("unloader") != "works":
        return
    small, large = (x * at.keys.speed * at.ratio() * at.keys.volumetric_efficiency
                    for x in (at.keys.small_stage, at.keys.large_stage))  # fmt: skip
    level, got = at.port["outlet"] - at.port["inlet"], -at.into["outlet"]
    if level < at.keys.unloads_at - NEAR and not _meets(got, small + large, at.nothing):
        yield f"delivers {got * 6e4:.3f} L/min below the change"
    if level > at.keys.unloads_at + at.keys.droop + 10 * BAR and not _meets(got, small, 10 * at.nothing):
        yield f"delivers {got * 6e4:.3f} L/min above the change"


def unloading(at: Seen) -> Iterator[str]:
    behind = at.port["A" if at.keys.check else "pilot"] - at.port["T"]
    if -at.into["T"] > 10 * at.nothing and behind < at.keys.setting - NEAR:
        yield "unloads below its setting"


def hand_pump(at: Seen) -> Iterator[str]:
    wanted = at.keys.stroke_volume * at.order("position") * at.keys.volumetric_efficiency
    if not _meets(-at.into["outlet"], wanted, at.nothing):
        yield f"delivers {-at.into['outlet'] * 6e4:.4f} L/min, not {wanted * 6e4:.4f}"


def one_pressure(at: Seen) -> Iterator[str]:
    if len(set(at.port.values())) > 1:
        yield "its ports differ"


def fuse(at: Seen) -> Iterator[str]:
    if at.order("position") == "tripped" and at.into["load"] > at.nothing:
        yield "lets oil out although it tripped"


LAWS: dict[str, Callable[[Seen], Iterator[str]]] = {
    "relief valve": relief_valve, "relief block": relief_block, "check valve": check_valve, "cylinder": cylinder,
    "single-acting cylinder": single_acting, "telescopic cylinder": telescopic, "hydraulic motor": motor,
    "flow control valve": flow_control, "priority divider": priority, "three-port flow control": three_port,
    "flow divider": gear_divider, "spool divider": spool_divider, "steering unit": steering,
    "pressure reducing valve": reducing, "sequence valve": sequence, "counterbalance valve": counterbalance,
    "pilot-operated check valve": pilot_check, "throttle check valve": throttle_check, "pump": pump,
    "tandem pump": tandem_pump, "two-stage pump": two_stage, "unloading valve": unloading, "hand pump": hand_pump,
    "tee": one_pressure, "manifold block": one_pressure, "velocity fuse": fuse,
}  # fmt: skip
