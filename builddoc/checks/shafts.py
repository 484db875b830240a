"""Rules on shafts: torque at every speed, a pump's range of speed, and the sense in which it turns."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from .. import kinds
from .base import Case, Finding, rule
from .heat import demands
from .outcomes import About
from .words import Units, listed, percent

FAR_OVER = 1.2


@rule(
    id="power-torque",
    title="The driver has the torque at every speed",
    signal="NOTICE",
    reason="A pump's torque does not fall with speed: an engine at idle dies when a lever is pulled.",
    criterion="shaft torque that the pumps ask of their driver in every state at most its stated `torque`",
    remedy="Raise the idle while working, unload at the start, or lower the relief.",
    source="T = P / speed, solved; the torque is that of the driver's own curve",
)
def torque(case: Case) -> Iterable[Finding]:
    id, u, r = "power-torque", Units(case.circuit), case.results
    asked = [d for d in demands(case) if d.driver in case.circuit.parts]
    for d in asked:
        part = case.circuit.parts[d.driver]
        say = About(id, d.driver, part.place)
        nominal = kinds.registry()[part.kind].nominal_speed(part.params) or 0.0
        speed = nominal * np.asarray(r.speed_ratio(d.driver), dtype=float)
        most = r.worst(np.where(speed > 0, d.power / np.where(speed > 0, speed, 1.0), np.nan))
        gives = getattr(part.params, "torque", None)
        if most is None:
            yield say.unchecked(f"{d.driver}: no state gives the torque that it must bring", "a state with figures")
            continue
        figures = {"torque": most.value}
        line = f"{listed(d.pumps)} {'ask' if len(d.pumps) > 1 else 'asks'} {u.both(most.value, 'torque')} of {d.driver}"
        if gives is None:
            yield say.unchecked(f"{line}: what it gives at low speed is open", "its torque", figures=figures)
        elif most.value <= gives:
            yield say.ok(f"{line}; it gives {u.show(gives, 'torque')}", state=most.state, figures=figures)
        else:
            yield say.finding(f"{line}, it gives {u.both(gives, 'torque')}", "It slows, and dies at low speed.",
                              state=most.state, figures=figures | {"ratio": most.value / gives})  # fmt: skip
    if not asked:
        yield About(id).none("No pump with a driver in this circuit")


@rule(
    id="power-pump-speed",
    title="A pump runs within its range of speed",
    signal="NOTICE",
    reason="Too fast it cavitates, seizes or bursts; too slow it makes no pressure.",
    criterion="speed in every state between `lowest speed` and `highest speed`; WARNING above 1.2 times the highest",
    remedy="Another belt ratio; look at the inlet pressure again at the new speed.",
    source="pump makers' sheets give both, falling with displacement (one seen as an excerpt). 1.2: common practice",
)
def pump_speed(case: Case) -> Iterable[Finding]:
    id, u, r = "power-pump-speed", Units(case.circuit), case.results
    pumps = [p for p in case.circuit.parts.values() if hasattr(p.params, "highest_speed") and hasattr(p.params, "speed")
             and hasattr(p.params, "driven_by")]  # fmt: skip
    for part in pumps:
        params, say = part.params, About(id, part.name, part.place)
        high, low = params.highest_speed, params.lowest_speed  # type: ignore[attr-defined]
        if high is None and low is None:
            yield say.unchecked(f"{part.name}: what speed it may have is open", "its highest and lowest speed")
            continue
        driver, speed = str(params.driven_by), float(params.speed)  # type: ignore[attr-defined]
        n = speed * r.speed_ratio(driver)
        fast = r.worst(n)
        slow = r.worst(np.where(n > 0, n, np.nan), lowest=True)
        if fast is None or slow is None:
            yield say.none(f"{part.name} stands in every state")
            continue
        figures = {"speed": fast.value, "lowest": slow.value}
        if high is not None and fast.value > high:
            yield say.finding(
                f"{part.name} turns at {u.both(fast.value, 'rotational speed')}, at most "
                f"{u.show(high, 'rotational speed')} are allowed",
                f"That is {percent(fast.value / high)} of it.", state=fast.state,
                signal="WARNING" if fast.value > FAR_OVER * high else None,
                figures=figures | {"ratio": fast.value / high},
            )  # fmt: skip
        elif low is not None and slow.value < low:
            yield say.finding(
                f"{part.name} turns at {u.both(slow.value, 'rotational speed')}, at least "
                f"{u.show(low, 'rotational speed')} are needed",
                "It leaks as much as it delivers, and may not fill.", state=slow.state, figures=figures,
            )  # fmt: skip
        else:
            yield say.ok(f"{part.name} turns at {u.show(fast.value, 'rotational speed')}, within its range",
                         state=fast.state, figures=figures)  # fmt: skip
    if not pumps:
        yield About(id).none("No pump in this circuit")


@rule(
    id="power-pump-rotation",
    title="A pump turns the way it is built for",
    signal="CAUTION",
    reason="Turned the wrong way it presses on its inlet: the shaft seal blows and oil sprays at the first start.",
    criterion="`rotation` of the pump is `turned`, the sense of its drive, both seen on the same shaft end",
    remedy="Turn it by hand with the outlet in a bottle first; another drive, or a pump of the other sense.",
    source="common practice, no source",
)
def rotation(case: Case) -> Iterable[Finding]:
    id = "power-pump-rotation"
    pumps = [p for p in case.circuit.parts.values() if hasattr(p.params, "rotation") and hasattr(p.params, "turned")]
    for part in pumps:
        say = About(id, part.name, part.place)
        built, turned = part.params.rotation, part.params.turned  # type: ignore[attr-defined]
        if not built or not turned:
            yield say.unchecked(f"{part.name}: the sense in which it turns is open",
                                "its rotation" if turned else "the sense in which it is turned")  # fmt: skip
        elif built == turned:
            yield say.ok(f"{part.name} is turned {turned}, as it is built")
        else:
            yield say.finding(f"{part.name} is built to turn {built} and is turned {turned}",
                              "Inlet and outlet change places.")  # fmt: skip
    if not pumps:
        yield About(id).none("No pump in this circuit")
