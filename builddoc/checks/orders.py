"""What a state orders, in words."""

from __future__ import annotations

from typing import Any

from .. import kinds
from ..circuit import Circuit
from ..kinds.base import Control, SpoolOrder
from ..kinds.orders import ShaftLoad
from .walk import LEFT_TO_MOTION
from .words import Units, percent


def value_words(control: Control | None, value: Any) -> str:
    """A position as the state says it: `A`, `A 40 %`, `open`, `60 %`, `joined`, `40 rpm right`."""
    if control is not None and control.said is not None:
        return control.said(value)
    if isinstance(value, SpoolOrder):
        partly = "" if value.share >= 1 or value.position in ("centre", "float") else f" {percent(value.share)}"
        return f"{value.position}{partly}"
    if isinstance(value, bool):
        return "joined" if value else "apart"
    if isinstance(value, (int, float)):
        return {0.0: "shut", 1.0: "open"}.get(float(value), percent(float(value)))
    return str(value)


def position_words(circuit: Circuit, part: str, state: str) -> str:
    """Positions of a part's spools or valve in a state: `lifter A, clamp centre`; "" if it has none."""
    item = circuit.parts.get(part)
    if item is None:
        return ""
    said: list[str] = []
    if kinds.registry()[item.kind].coupling(item.params) is not None:
        mate = circuit.states[state].mate(part)
        return f"joined with {mate}" if mate else "apart"
    orders = circuit.states[state].orders
    for control in kinds.registry()[item.kind].controls(item.params):
        if control.name in LEFT_TO_MOTION:
            continue
        value = orders.get((part, control.name), control.default)
        words = value_words(control, value)
        said.append(words if control.name == "position" else f"{control.name} {words}")
    return ", ".join(said)


def state_words(circuit: Circuit, state: str) -> list[str]:
    """All that a state orders, one sentence part per order, in the order of writing."""
    u = Units(circuit)
    hook_up = circuit.states[state].hook_up
    said = [f"hook-up '{hook_up}'"] if hook_up else []
    for (part, control), value in circuit.states[state].orders.items():
        if control == "position":
            said.append(f"{part} {position_words(circuit, part, state)}")
            continue
        if control == "speed" and isinstance(value, (int, float)):
            said.append(f"{part} at {u.show(float(value), 'rotational speed')}")
        elif control == "load":
            said.append(f"{part} {_load_words(u, value)}")
        elif control == "stop":
            said.append(f"{part} {'held' if value == 'held' else f'at its {value} stop'}")
        else:
            said.append(f"{part} {control} {value_words(_control(circuit, part, control), value)}")
    return said


def _control(circuit: Circuit, owner: str, name: str) -> Control | None:
    """The control of a part; None for that of a tie."""
    part = circuit.parts.get(owner)
    found = kinds.registry()[part.kind].controls(part.params) if part is not None else ()
    return next((control for control in found if control.name == name), None)


def _load_words(u: Units, value: Any) -> str:
    if isinstance(value, ShaftLoad):
        if value.resisting:
            return f"loaded with {u.show(value.resisting, 'torque')} resisting"
        way = "A to B" if value.against < 0 else "B to A"
        return f"driven {way} by {u.show(abs(value.against), 'torque')}" if value.against else "without load"
    force = float(value)
    if force == 0:
        return "without load"
    return f"loaded with {u.show(abs(force), 'force')} {'compression' if force > 0 else 'tension'}"
