"""What faults that were tried without being asked do: loads that fall, speeds that nobody gave."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..network import Actuator
from ..solution import Verdict
from .base import Case, Finding, Signal, rule
from .words import Units, listed

FASTER = 1.05  # times its speed in the declared state from which a load counts as falling; ours
STILL = 1e-6  # share of the largest flow of the state below which nothing moves; ours

HOLD = (
    "Screw a velocity fuse or a load-holding valve straight into the port of the cylinder or motor, with no hose "
    "between, and prop the load before anyone goes under it."
)


@dataclass(frozen=True, slots=True)
class Fall:
    """A load that drives its actuator. speed: m/s or rad/s, nan = without limit. role: "rod" or "shaft"."""

    part: str
    speed: float
    role: str

    def words(self, u: Units) -> str:
        if self.speed != self.speed:
            return f"{self.part}, with nothing to limit its speed"
        return f"{self.part} at {u.show(self.speed, 'velocity' if self.role == 'rod' else 'rotational speed')}"


def falls(case: Case, s: int) -> list[Fall]:
    """Loads that fall in a fault state and did not, or slower, in the declared state it was derived from."""
    tried, state, r = list(case.circuit.states.values())[s].tried, case.solution.states[s], case.results
    if state.verdict is Verdict.RUNAWAY:
        return [Fall(case.network.actuators[k].part, float("nan"), case.network.actuators[k].role)
                for k in state.runaway]  # fmt: skip
    if not r.solved[s] or tried is None:
        return []
    before = r.states.index(tried.state)
    flow = float(abs(state.q).max(initial=0.0))
    found = []
    for k, a in enumerate(case.network.actuators):
        if not _burden(case, a, s):
            continue
        speed, driven = float(r.v[s, k]), float(r.v[before, k]) * float(a.force[s]) < 0
        usual = abs(float(r.v[before, k])) if driven else 0.0
        moves = abs(speed) * max(map(abs, a.k.values())) > STILL * flow
        if speed * a.force[s] < 0 and moves and abs(speed) > FASTER * usual:
            found.append(Fall(a.part, abs(speed), a.role))
    return found


def _burden(case: Case, a: Actuator, s: int) -> bool:
    """A load acts on it, not its own return spring alone (a brake that comes on, a clamp that opens)."""
    part = case.circuit.parts.get(a.part)
    spring = float(getattr(part.params, "spring", 0.0)) if part else 0.0
    return abs(float(a.force[s]) - spring) > 1e-9 * spring


@rule(
    id="fault-load-falls",
    title="No load falls when a hose bursts",
    signal="WARNING",
    reason="Whoever stands under the load, or has a hand in the machine, is struck before anyone can reach a lever.",
    criterion="with any one hose torn that carries a load, no actuator moves the way its load pushes it",
    remedy=HOLD,
    source="common practice, no source; the speed follows from the equations",
)
def load_falls(case: Case) -> Iterable[Finding]:
    u = Units(case.circuit)
    torn = [s for s, state in enumerate(case.circuit.states.values()) if state.cut]
    worst: dict[str, tuple[Fall, int]] = {}
    hoses: dict[str, list[str]] = {}
    for s in torn:
        for fall in falls(case, s):
            hoses.setdefault(fall.part, []).extend(list(case.circuit.states.values())[s].cut)
            if fall.part not in worst or not fall.speed <= worst[fall.part][0].speed:
                worst[fall.part] = (fall, s)
    for part, (fall, s) in worst.items():
        item = case.circuit.parts.get(part) or case.circuit.ties.get(part)
        signal: Signal = "WARNING" if _pushes_back(case, part) else "CAUTION"
        doubt = "" if signal == "WARNING" else (
            "No state shows whether the load is a weight, which follows, or the resistance of a workpiece, which does "
            "not: this holds for a weight. "
        )  # fmt: skip
        yield Finding(
            "fault-load-falls", "finding", signal, part,
            f"If a hose bursts, the load drives {fall.words(u)}",
            text=f"{doubt}So for {listed(hoses[part], 8)}, one at a time. The speed is what half the torn hose "
            "and the way of the oil to it allow; how long the load takes to reach it is left out.",
            remedy=HOLD,
            state=case.results.states[s], figures={} if fall.speed != fall.speed else {"speed": fall.speed},
            place=item.place if item else None,
        )  # fmt: skip
    if torn and not worst:
        yield Finding("fault-load-falls", "ok", "WARNING", "", "No load falls in any hose burst that was tried")
    elif not torn and not _tried(case):
        yield Finding("fault-load-falls", "not checked", "WARNING", "", "No hose burst was tried",
                      missing="'burst hoses' among the faults that are tried")  # fmt: skip
    elif not torn:
        yield Finding("fault-load-falls", "does not apply", "WARNING", "", "No hose that carries a load was torn")


def _tried(case: Case) -> bool:
    """Hose bursts are tried, or nothing here could fall in one."""
    loaded = any(control == "load" and value for state in case.circuit.states.values()
                 for (_, control), value in state.orders.items())  # fmt: skip
    hoses = any(line.conduit is not None and line.conduit.kind == "hose" for line in case.circuit.lines.values())
    return not (loaded and hoses) or (case.circuit.faults and "burst hoses" not in case.circuit.no_faults)


def _pushes_back(case: Case, part: str) -> bool:
    """Whether a declared state shows that the load stays when the actuator stands or gives way, as a weight does."""
    r = case.results
    for k, a in enumerate(case.network.actuators):
        for s, state in enumerate(case.circuit.states.values()):
            if a.part == part and state.tried is None and r.solved[s] and a.force[s] != 0:
                flow = float(abs(case.solution.states[s].q).max(initial=0.0))
                against = r.v[s, k] * a.force[s] > 0 and abs(r.v[s, k]) * max(map(abs, a.k.values())) > STILL * flow
                if not against:
                    return True
    return False


@rule(
    id="fault-engine-speed",
    title="The machine is tried at the engine's idle and at its high idle",
    signal="NOTICE",
    reason="At idle a pump may not feed all it should; at high idle flows and pressure drops are at their most.",
    criterion="idle speed and high idle of every engine are stated, so that both are tried",
    remedy="State `idle:` and `high idle:` at the engine.",
    source="common practice, no source",
)
def engine_speeds(case: Case) -> Iterable[Finding]:
    id, circuit, engines = "fault-engine-speed", case.circuit, 0
    for part in circuit.parts.values():
        fields = type(part.params).model_fields
        speeds = {key: getattr(part.params, field) for key, field in (("idle", "idle"), ("high idle", "high_idle"))
                  if field in fields}  # fmt: skip
        if not speeds:
            continue
        engines += 1
        missing = [key for key, value in speeds.items() if value is None]
        if not circuit.faults or {"engine speeds", part.name} & circuit.no_faults.keys():
            yield Finding(
                id, "not checked", "NOTICE", part.name, f"{part.name} was not tried at {listed(speeds)}",
                missing="'engine speeds' among the faults that are tried", place=part.place,
            )  # fmt: skip
        elif missing:
            yield Finding(
                id, "not checked", "NOTICE", part.name, f"{part.name} was not tried at {listed(missing)}",
                missing=" and ".join(f"'{key}:'" for key in missing) + f" of {part.name}", place=part.place,
            )  # fmt: skip
        else:
            yield Finding(id, "ok", "NOTICE", part.name, f"{part.name} states idle and high idle")
    if not engines:
        yield Finding(id, "does not apply", "NOTICE", "", "No engine whose idle could be tried")
