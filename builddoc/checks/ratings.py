"""Rules on pressure ratings: parts, lines with all their members, plumbing-grade fittings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from . import strength
from .base import Case, Finding, Signal, rule
from .duty import duties
from .strength import NO_ROOM, PROOF, Member
from .words import Units, capital, listed, quoted, ratio

if TYPE_CHECKING:
    from ..results import Worst

PLUMBING_LIMIT = 20e5
"""Pa; a plumbing-grade fitting above this pressure is a finding whatever its class. Common practice, no source."""
PLUMBING_DANGER = 3.0
STRENGTH_SOURCE = (
    "29 CFR 1926.956(d): rated operating pressures may not be exceeded (scope: electric power work; quoted as a clear "
    "statement of the principle). Proof at 1.5 times rated: common practice, no source"
)


def _unsolved(case: Case, id: str, what: str) -> Iterator[Finding]:
    """States without figures leave a rule half done: one NOT CHECKED says so for all subjects."""
    open_states = [state for state, ok in zip(case.results.states, case.results.solved, strict=True) if not ok]
    if open_states:
        yield Finding(
            id, "not checked", "WARNING", "", f"{what} in {quoted(open_states)}: there are no pressures to check with",
            missing=f"a solution of {quoted(open_states)}", state=open_states[0],
        )  # fmt: skip


def _signal(share: float) -> Signal:
    return "DANGER" if share >= PROOF else "WARNING"


def _read(member: Member) -> str:
    words = strength.basis(member.rating)
    return f" (rating: {words})" if words else ""


@rule(
    id="rating-each-part",
    title="Every part is rated at or above the highest pressure it sees",
    signal="WARNING",
    reason="A part above its rating can burst: whipping hose, oil injected into flesh, a dropped load.",
    criterion="highest pressure at the port over all states <= rated working pressure of that port; DANGER from 1.5 "
    "times the rating; a remark above 91 % of it",
    remedy="Lower the relief that guards it, fit a stronger part, or give this branch a relief of its own.",
    source=STRENGTH_SOURCE,
)
def rating_each_part(case: Case) -> Iterable[Finding]:
    for part, members in strength.each_port(case):
        yield from _part(case, part.name, members)
    yield from _unsolved(case, "rating-each-part", "Ratings of all parts")


def _part(case: Case, name: str, members: list[Member]) -> Iterator[Finding]:
    id, u, r = "rating-each-part", Units(case.circuit), case.results
    over: list[tuple[float, Member, Worst]] = []
    fine: list[tuple[float, Member, Worst]] = []
    unrated: list[tuple[Member, Worst | None]] = []
    open_ports: list[Member] = []
    calm = 0
    for m in members:
        nodes = {case.network.port_nodes[name, m.port]}
        worst = r.worst(r.node_pressure(next(iter(nodes))))
        figure = m.rating.value if m.rating else None
        if worst is not None and worst.value <= 0 and not strength.trapped_states(case, nodes):
            calm += 1
        elif worst is not None and figure and worst.value > figure:
            over.append((worst.value / figure, m, worst))
        elif m.missing:
            unrated.append((m, worst))
        elif worst is None:
            open_ports.append(m)
        else:
            fine.append((worst.value / (m.value or 1.0), m, worst))
    if over:
        share, m, worst = max(over, key=lambda item: item[0])
        rating = m.rating.value if m.rating and m.rating.value else 0.0
        others = [n.label for _, n, _ in over if n is not m]
        yield Finding(
            id, "finding", _signal(share), name,
            f"{capital(m.label)} sees {u.both(worst.value, 'pressure')}, rated {u.both(rating, 'pressure')}: "
            f"{ratio(share)} its rating",
            text="It can burst: whipping hose, oil injected into flesh, a dropped load."
            + _read(m) + (f" Over their rating too: {listed(others)}." if others else ""),
            remedy="Lower the relief that guards it, fit a stronger part, or give this branch a relief of its own.",
            state=worst.state, figures={"pressure": worst.value, "rating": rating, "ratio": share}, place=m.place,
        )  # fmt: skip
    if unrated:
        seen = [w for _, w in unrated if w is not None]
        worst = max(seen, key=lambda w: w.value, default=None)
        sees = f", and up to {u.pressure(worst.value)} there in '{worst.state}'" if worst and worst.value > 0 else ""
        ports = listed((m.port for m, _ in unrated), 6)
        word = "port" if len(unrated) == 1 else "ports"
        second_hand = " (second-hand)" if unrated[0][0].salvaged else ""
        reasons = listed(dict.fromkeys(m.missing for m, _ in unrated))
        yield Finding(
            id, "not checked", "WARNING", name,
            f"{capital(name)}{second_hand}, {word} {ports}: no rating to check with{sees}",
            missing=reasons, state=worst.state if worst else "",
            remedy="Read it from the plate or the maker's document; not checked is not safe.",
            figures={"pressure": worst.value} if worst else {}, place=unrated[0][0].place,
        )  # fmt: skip
    if open_ports and not over:
        yield Finding(
            id, "not checked", "WARNING", name,
            f"{capital(listed(m.label for m in open_ports))}: no state fixes a pressure there",
            missing="a state in which the pressure there is fixed", place=open_ports[0].place,
        )  # fmt: skip
    if fine and not over:
        share, m, worst = max(fine, key=lambda item: item[0])
        yield _fits(case, id, name, m, worst, share)
    if calm == len(members):
        yield Finding(
            id, "does not apply", "WARNING", name, f"{capital(name)}: sees no pressure above the reservoir's"
        )


def _fits(case: Case, id: str, subject: str, m: Member, worst: Worst, share: float) -> Finding:
    """Below its rating: ok, or a remark where there is no room left."""
    u = Units(case.circuit)
    label = m.label if m.port else f"{subject}: {m.label}"
    seen, rated = u.pressure(worst.value), u.pressure(m.value or 0.0)
    line = f"{capital(label)} sees {seen} of its rated {rated}"
    figures = {"pressure": worst.value, "rating": m.value or 0.0, "ratio": share}
    if share * NO_ROOM > 1:
        return Finding(
            id, "finding", "NOTICE", subject, f"{line}: no room left",
            text="Less than 10 % is left for the error of a gauge and for a relief that opens late." + _read(m),
            remedy="Set the guarding relief lower, or fit the next stronger part.",
            state=worst.state, figures=figures, place=m.place,
        )  # fmt: skip
    nodes = (
        {case.network.port_nodes[m.owner, m.port]} if m.port else strength.line_nodes(case.network, subject)
    )
    trapped = strength.trapped_states(case, nodes)
    note = f"Trapped pressure in {quoted(trapped)} is not counted." if trapped else ""
    return Finding(
        id, "ok", "WARNING", subject, f"{line}, in '{worst.state}'", text=note, state=worst.state, figures=figures,
        place=m.place,
    )  # fmt: skip


@rule(
    id="rating-line-weakest",
    title="A line is only as strong as its weakest member",
    signal="WARNING",
    reason="A builder trusts the rating of the hose while an elbow in the same run is far weaker.",
    criterion="highest pressure in the line over all states <= lowest rating of conduit, fittings and the ports at "
    "both ends; a member without a rating leaves the line not checked",
    remedy="Replace the limiting member first.",
    source="SAE J517: an assembly counts by the lower rating of hose and connectors (seen as an excerpt); "
    "proof at 1.5 times rated: common practice, no source",
)
def rating_line_weakest(case: Case) -> Iterable[Finding]:
    id, u, r = "rating-line-weakest", Units(case.circuit), case.results
    for name in case.circuit.lines:
        members = strength.line_members(case, name)
        worst = r.worst(strength.highest(r, strength.line_nodes(case.network, name)))
        own = [m for m in members if not m.port]
        unrated = [m for m in members if m.missing]
        weak = strength.weakest(members)
        weak_own = strength.weakest(own)
        if worst is not None and worst.value <= 0:
            yield Finding(
                id, "does not apply", "WARNING", name, f"{capital(name)}: sees no pressure above the reservoir's"
            )
            continue
        if worst is None:
            yield Finding(
                id, "not checked", "WARNING", name, f"{capital(name)}: no state fixes a pressure in it",
                missing="a state in which the pressure there is fixed", place=case.circuit.lines[name].place,
            )  # fmt: skip
            continue
        burst = _weaker_than_stated(own, worst)
        limit = weak_own if weak_own and worst.value > (weak_own.value or 0.0) else burst
        if limit and limit.rating and limit.rating.value:
            yield _line_over(case, name, limit, worst, members)
        if unrated:
            yield Finding(
                id, "not checked", "WARNING", name,
                f"{capital(name)}: {listed((m.label for m in unrated), 4)} without a rating, at up to "
                f"{u.pressure(worst.value)} in '{worst.state}'",
                missing=f"rating of {listed((m.label for m in unrated), 4)}", state=worst.state,
                remedy="State the rating of every member; the line is as strong as the weakest.",
                figures={"pressure": worst.value}, place=unrated[0].place,
            )  # fmt: skip
        elif weak is not None and limit is None:
            share = worst.value / (weak.value or 1.0)
            if weak.port and share * NO_ROOM > 1:  # said once, at the part
                yield Finding(
                    id, "ok", "WARNING", name,
                    f"{capital(name)}: conduit and fittings hold {u.pressure(worst.value)}; limited by {weak.label}, "
                    "which is judged by itself",
                    state=worst.state, figures={"pressure": worst.value, "rating": weak.value or 0.0, "ratio": share},
                )  # fmt: skip
            else:
                yield _fits(case, id, name, weak, worst, share)
        elif weak is None and not members:
            yield Finding(
                id, "does not apply", "WARNING", name, f"{capital(name)}: a joint without members of its own"
            )
    yield from _unsolved(case, id, "Weakest members of all lines")


def _weaker_than_stated(members: list[Member], worst: Worst) -> Member | None:
    """A member above even its peak, proof or burst pressure."""
    over = [
        m for m in members if m.rating and m.rating.value and m.value is None and worst.value > m.rating.value
    ]
    return over[0] if over else None


def _line_over(case: Case, name: str, limit: Member, worst: Worst, members: list[Member]) -> Finding:
    u = Units(case.circuit)
    rating = limit.rating.value if limit.rating and limit.rating.value else 1.0
    share = worst.value / rating
    conduit = case.circuit.lines[name].conduit
    hose = next((m for m in members if conduit and m.label == conduit.label and not m.port), None)
    beside = ""
    if hose and hose is not limit and hose.value:
        beside = f" Its {conduit.kind if conduit else 'conduit'} is rated {u.pressure(hose.value)}; that does not help."
    return Finding(
        "rating-line-weakest", "finding", _signal(share), name,
        f"{capital(name)} is limited by its {limit.label}: rated {u.both(rating, 'pressure')}, sees "
        f"{u.both(worst.value, 'pressure')}, {ratio(share)} the rating",
        text=f"A line is as strong as its weakest member.{beside}{_read(limit)}",
        remedy="Replace the limiting member first.",
        state=worst.state, figures={"pressure": worst.value, "rating": rating, "ratio": share}, place=limit.place,
    )  # fmt: skip


@rule(
    id="rating-low-pressure-fitting",
    title="No plumbing-grade fitting in a pressure line",
    signal="WARNING",
    reason="A cast fitting breaks suddenly, without leaking first.",
    criterion="a plumbing-grade fitting sees at most 20 bar and at most its class rating in every state; DANGER above "
    "3 times the class rating",
    remedy="Replace it by a forged or bar-stock steel fitting with a stated working pressure; keep plumbing fittings "
    "for returns to the reservoir.",
    source="class ratings: ASME B16.3 as tabulated on a maker's submittal form (class 150: 300 psi to 150 degF). The "
    "20 bar limit and the factor 3: common practice, no source",
)
def rating_low_pressure_fitting(case: Case) -> Iterable[Finding]:
    id, u, r = "rating-low-pressure-fitting", Units(case.circuit), case.results
    duty = duties(case.circuit, case.network)
    seen = False
    for name in case.circuit.lines:
        plumbing = [m for m in strength.line_members(case, name) if m.fitting and m.fitting.low_pressure]
        if not plumbing:
            continue
        seen = True
        worst = r.worst(strength.highest(r, strength.line_nodes(case.network, name)))
        for m in plumbing:
            figures = {"pressure": worst.value} if worst else {}
            share = 0.0
            if worst and m.rating and m.rating.value:
                share = worst.value / m.rating.value
                figures |= {"rating": m.rating.value, "ratio": share}
            if worst is None:
                yield Finding(
                    id, "not checked", "WARNING", name,
                    f"{capital(m.label)} in {name}: no state fixes a pressure there",
                    missing="a state in which the pressure there is fixed", place=m.place,
                )  # fmt: skip
            elif worst.value > PLUMBING_LIMIT or share > 1:
                rated = ""
                if share:
                    rated = f", rated {u.both(figures['rating'], 'pressure')}: {ratio(share)}"
                yield Finding(
                    id, "finding", "DANGER" if share > PLUMBING_DANGER else "WARNING", name,
                    f"{capital(m.label)} in {name} sees {u.both(worst.value, 'pressure')}{rated}",
                    text="A plumbing fitting of cast iron breaks suddenly, without leaking first." + _read(m),
                    remedy="Replace it by a forged or bar-stock steel fitting with a stated working pressure.",
                    state=worst.state, figures=figures, place=m.place,
                )  # fmt: skip
            elif m.missing and worst.value > 0:
                yield Finding(
                    id, "not checked", "WARNING", name,
                    f"{capital(m.label)} in {name}: no class rating to check {u.pressure(worst.value)} with",
                    missing=m.missing, state=worst.state, figures=figures, place=m.place,
                )  # fmt: skip
            else:
                yield Finding(
                    id, "ok", "WARNING", name,
                    f"{capital(m.label)} in {name} ({duty[name]}) sees {u.pressure(worst.value)} at most",
                    state=worst.state, figures=figures, place=m.place,
                )  # fmt: skip
    if not seen:
        yield Finding(id, "does not apply", "WARNING", "", "No plumbing-grade fitting in any line")
    else:
        yield from _unsolved(case, id, "Plumbing-grade fittings")
