"""What makes a pressure, in the builder's words."""

from __future__ import annotations

from .. import kinds
from ..checks.base import Case, once
from ..checks.words import listed
from ..effects import VAPOUR, Effects, Share
from ..network import RESERVOIR

_COUNTS = 0.2  # share of a pressure from which an effect is named beside the largest; ours
_MORE = 1.05  # gain from which a pressure counts as intensified; ours
_WHOLE = 0.95  # share of a little more oil below which a relief is not the only one that lets it go; ours
_NO_PRESSURE = 100.0  # Pa; below this nothing needs a cause; ours


@once
def _effects(case: Case) -> Effects:
    return Effects(case.results)


@once
def effect(case: Case, node: int, s: int) -> str:
    """Which relief, load or loss makes the pressure of a node in state `s`; where the state leaves it open, the lowest
    it can be. "" if there is none."""
    low, _ = case.solution.states[s].ranges.get(node, (float(case.results.p[s, node]), 0.0))
    if node == RESERVOIR or abs(low) < _NO_PRESSURE:
        return "the reservoir"
    trapped = node in case.solution.states[s].ranges
    if node in case.solution.states[s].void:
        return "the vapour limit: oil is missing"
    if trapped and low <= VAPOUR:
        return "oil shut in"
    shares = _effects(case).shares(node, s)
    if not shares:
        return "oil shut in" if trapped else "not worked out"
    if low < 0:
        return "oil shut in" if trapped else _drawn(shares)
    return _pushed(case, shares, low)


def _drawn(shares: list[Share]) -> str:
    """Below the reservoir's pressure."""
    least = min(shares, key=lambda share: share.value, default=None)
    if least is None or least.value >= 0:
        return "not worked out"
    return f"load on {least.name}, which draws oil" if least.sort == "load" else f"suction through {least.name}"


def _pushed(case: Case, shares: list[Share], p: float) -> str:
    named = [share for share in shares if share.value >= _COUNTS * p and share.sort != "loss"]
    losses = [share for share in shares if share.sort == "loss" and share.value > 0]
    lost = sum(share.value for share in losses)
    said = [_said(case, share) for share in named[:3]]
    if losses and lost >= _COUNTS * p:
        said.append(f"losses in {listed([share.name for share in losses if share.value >= _COUNTS * lost][:3])}")
    text = ", plus ".join(said) or "many small losses"
    if len(named) < 2:
        return text
    reliefs = [share for share in named if share.sort == "relief"]
    beside = len(reliefs) > 1 and max(share.gain for share in reliefs) < _WHOLE
    return f"side by side: {text.replace(', plus ', ', and ')}" if beside else f"in series: {text}"


def _said(case: Case, share: Share) -> str:
    if share.sort == "load":
        return f"load on {share.name}"
    if share.sort == "slip":
        return f"{share.name} stalled against its own leakage"
    kind = kinds.registry()[case.circuit.parts[share.name].kind]
    if share.sort == "setting":
        # At its stop a rephasing cylinder keeps what its load needs; the rest goes past the piston.
        text = f"load on {share.name}" if kind.moves == "rod" else f"setting of {share.name}"
    else:
        text = f"{share.name}, open" if "relief" in kind.name else f"relief of {share.name}, open"
    if abs(share.gain) >= _MORE and share.through:
        text += f", times {abs(share.gain):.2f} by intensification in {share.through}"
    return text
