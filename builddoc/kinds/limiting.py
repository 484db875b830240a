"""The law of a relief valve: what the relief valve and every part with a relief inside share."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BeforeValidator, Field

from .. import quantities
from ..fields import DropAtFlow, Flow, PositivePressure
from .base import PRACTICE, Keys, assumed, assumptions_of

if TYPE_CHECKING:
    from ..assemble import Builder

DIRECT, PILOTED = 0.15, 0.04

LAW = (
    "Shut below `setting`; above it `p_inlet - p_outlet = setting + slope × Q` with the slope from `override` "
    "(pressure rise above the setting at a flow). Without `override` the rise at `rated flow` is taken as "
    f"{DIRECT:.0%} of the setting for a direct-operated, {PILOTED:.0%} for a pilot-operated valve: common "
    f"practice, no "
    "source. `setting` is the pressure at which it starts to open; a valve that was set at full flow opens "
    "earlier by its override. Closing below the opening pressure (hysteresis) is left out."
)


class ReliefSetting(Keys):
    """Keys of a pressure limiter."""

    setting: PositivePressure = Field(description="Pressure above its outlet at which it starts to open.")
    override: DropAtFlow | None = Field(
        None,
        description="Rise above the setting at a flow, as `3 bar at 40 L/min`. Left out: assumed from the "
        "setting, see `pilot operated` and `rated flow`.",
    )
    pilot_operated: bool = Field(False, description="Pilot operated (flat curve) instead of direct operated.")
    rated_flow: Flow = assumed(40 / 6e4, "Flow at which the assumed override is reached; not used beside `override`.")

    def slope(self) -> float:
        """Pa per m3/s above the setting."""
        if self.override is not None:
            return self.override.value / self.override.at
        return self.assumed_rise() / self.rated_flow

    def assumed_rise(self) -> float:
        """Override at rated flow, Pa, where the writer gives none."""
        return (PILOTED if self.pilot_operated else DIRECT) * self.setting

    def assumed(self, owner: str) -> tuple[str, ...]:
        """The assumption on the override, if it was needed."""
        if self.override is not None:
            return ()
        rise = quantities.show(self.assumed_rise(), "pressure difference")
        flow = quantities.show(self.rated_flow, "flow")
        how = "pilot-operated" if self.pilot_operated else "direct-operated"
        return (f"{owner}: override {rise} at {flow}, as of a {how} relief ({PRACTICE})",)

    @classmethod
    def from_text(cls, raw: Any) -> Any:
        """`150 bar` for `{setting: 150 bar}`."""
        return {"setting": raw} if isinstance(raw, (str, int, float)) and not isinstance(raw, bool) else raw


ReliefField = Annotated[
    ReliefSetting, BeforeValidator(ReliefSetting.from_text, json_schema_input_type=str | ReliefSetting)
]
"""A relief inside a part: its setting, or a group of keys."""


def add(b: Builder, role: str, i: int, j: int, limit: ReliefSetting) -> None:
    """A relief from node i to node j."""
    b.branch(role, i, j, c0=limit.setting, a=limit.slope(), lo=0.0)


def other_assumptions(owner: str, keys: Keys) -> tuple[str, ...]:
    """`assumptions_of` without the rated flow, which the sentence on the override tells."""
    return tuple(text for text in assumptions_of(owner, keys) if not text.startswith(f"{owner}: rated flow "))
