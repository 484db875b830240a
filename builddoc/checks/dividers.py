"""Rules on flow dividers: what their outlets can be driven to, and how level they keep what they feed."""

from __future__ import annotations

from collections.abc import Iterable

from ..circuit import Part
from ..kinds.flow_divider import FlowDividerParams
from .base import Case, Finding, rule
from .outcomes import About
from .sections import members, of_kind, section, top_pressure
from .strength import weakest
from .words import Units, listed, ratio

GEARS, SPOOLS = "flow divider", "spool divider"


@rule(
    id="split-intensify",
    title="No outlet of a gear divider is driven above its ratings",
    signal="WARNING",
    reason="With one outlet relieved (a torn hose, a partner at its stop) the others see a multiple of the relief.",
    criterion="highest pressure that pumps make, times all sections over the one, less the turning loss, or the outlet "
    "relief's setting where that is lower, at most the weakest rating at the outlet; DANGER with three or four "
    "sections",
    remedy="A relief at every outlet, set below the weakest rating there, with a line of its own to the tank.",
    source="balance of torque on one shaft: elementary; trade articles on rotary dividers (seen as excerpts)",
)
def intensify(case: Case) -> Iterable[Finding]:
    id, u = "split-intensify", Units(case.circuit)
    dividers = of_kind(case, GEARS)
    for part in dividers:
        top = top_pressure(case, frozenset({case.network.port_nodes[part.name, "inlet"]}))
        params = part.params
        assert isinstance(params, FlowDividerParams)
        for letter, size in zip(params.letters(), params.sections, strict=True):
            about = About(id, f"{part.name}.{letter}", part.place)
            if top is None:
                yield about.unchecked(f"{about.subject}: what it can be driven to is open", "a pump with a relief")
                continue
            driven = max(top[0] - params.turning_loss, 0.0) * sum(params.sections) / size
            limit = params.outlet_reliefs.setting if params.outlet_reliefs else driven
            reached = min(driven, limit)
            found = members(case, section(case, case.network.port_nodes[part.name, letter]))
            weak = weakest(found)
            line = f"{about.subject} can be driven to {u.both(reached, 'pressure')}"
            if weak is None or not weak.value:
                yield about.unchecked(f"{line}: nothing there has a rating", "ratings of what it feeds")
                continue
            figures = {"pressure": reached, "rating": weak.value, "ratio": reached / weak.value}
            if reached <= weak.value:
                rated = f"{weak.label} is rated {u.both(weak.value, 'pressure')}"
                yield about.ok(f"{line}; {rated}", figures=figures)
                continue
            yield about.finding(
                f"{line}: {weak.label} is rated {u.both(weak.value, 'pressure')}, {ratio(reached / weak.value)} that",
                f"So it is when the other {'outlet is' if len(params.sections) == 2 else 'outlets are'} relieved while "
                f"{u.both(top[0], 'pressure')} stand at the inlet.",
                signal="DANGER" if len(params.sections) > 2 else None, figures=figures,
            )  # fmt: skip
    if not dividers:
        yield About(id).none("No gear divider in this circuit")


@rule(
    id="split-accuracy",
    title="A divider keeps its cylinders level enough",
    signal="CAUTION",
    reason="What they carry racks and jams, and the one that is behind still moves when the other has stopped.",
    criterion="stroke x (1 - (1 - e)/(1 + e)), e = accuracy of a share, at most the allowed difference",
    remedy="Bring both to their stop in every cycle, so that the divider's reliefs level them; let the frame give.",
    source="accuracy of dividers: trade articles (seen as excerpts); 5 % gear and 10 % spool where nobody states it",
)
def accuracy(case: Case) -> Iterable[Finding]:
    id, u = "split-accuracy", Units(case.circuit)
    dividers = of_kind(case, GEARS, SPOOLS)
    for part in dividers:
        about = About(id, part.name, part.place)
        strokes = {rod.name: rod.params.stroke for rod in _fed(case, part)}  # type: ignore[attr-defined]
        known = [float(s) for s in strokes.values() if s]
        if len(strokes) < 2:
            yield about.none(f"{part.name} keeps no cylinders level")
            continue
        if not known:
            yield about.unchecked(f"{part.name}: how far {listed(strokes)} can part is open", "their 'stroke'")
            continue
        e = float(part.params.accuracy)  # type: ignore[attr-defined]
        allowed = part.params.allowed_difference  # type: ignore[attr-defined]
        apart = max(known) * (1 - (1 - e) / (1 + e))
        line = f"{listed(strokes)} may be {u.both(apart, 'length')} apart after a stroke behind {part.name}"
        figures = {"apart": apart}
        if allowed is None:
            yield about.unchecked(line, "'allowed difference'", figures=figures)
        elif apart <= allowed:
            yield about.ok(line, figures=figures)
        else:
            yield about.finding(
                f"{line}; {u.both(float(allowed), 'length')} are allowed", "Each share may be off by its accuracy.",
                figures=figures,
            )  # fmt: skip
    if not dividers:
        yield About(id).none("No divider in this circuit")


def _fed(case: Case, divider: Part) -> list[Part]:
    """Cylinders that a divider's outlets reach through lines and open ways."""
    ports = case.network.port_nodes.items()
    outlets = [node for (part, port), node in ports if part == divider.name and port in "ABCD"]
    reached = {name for node in outlets for name in section(case, node).parts}
    return [p for p in of_kind(case, "cylinder", "single-acting cylinder") if p.name in reached]
