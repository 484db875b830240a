"""Rules on pressure ratings of parts and of lines with all their members."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from . import strength
from .base import Case, Finding, Signal, rule
from .strength import NO_ROOM, PROOF, Member, Seen
from .words import Units, listed, quoted, ratio

BURSTS = "It can burst: whipping hose, oil injected into flesh, a dropped load."


def unsolved(case: Case, id: str, what: str) -> Iterator[Finding]:
    """States without figures leave a rule half done: one NOT CHECKED says so for all subjects."""
    lost = [state for state, ok in zip(case.results.states, case.results.solved, strict=True) if not ok]
    if lost:
        yield Finding(
            id, "not checked", "WARNING", "", f"{what} in {quoted(lost)}: there are no pressures to check with",
            missing=f"a solution of {quoted(lost)}",
        )  # fmt: skip


def no_pressure(id: str, subject: str, what: str, member: Member | None) -> Finding:
    return Finding(
        id, "not checked", "WARNING", subject, f"{what}: no state fixes a pressure there",
        missing="a state in which the pressure there is fixed", place=member.place if member else None,
    )  # fmt: skip


def read_where(member: Member) -> str:
    words = strength.basis(member.rating)
    return f" (Rating: {words}.)" if words else ""


def signal(share: float) -> Signal:
    return "DANGER" if share >= PROOF else "WARNING"


@rule(
    id="rating-each-part",
    title="Every part is rated at or above the highest pressure it sees",
    signal="WARNING",
    reason="A part above its rating can burst: whipping hose, oil injected into flesh, a dropped load.",
    criterion="highest pressure at the port over all states <= rated working pressure of that port; DANGER from 1.5 "
    "times the rating; a remark above 91 % of it",
    remedy="Lower the relief that guards it, fit a stronger part, or give this branch a relief of its own.",
    source="29 CFR 1926.956(d): rated operating pressures may not be exceeded (scope: electric power work; quoted as a "
    "clear statement of the principle). Proof at 1.5 times rated: common practice, no source",
)
def rating_each_part(case: Case) -> Iterable[Finding]:
    for part, members in strength.each_port(case):
        yield from _part(case, part.name, members)
    yield from unsolved(case, "rating-each-part", "Ratings of all parts")


def _part(case: Case, name: str, members: list[Member]) -> Iterator[Finding]:
    """A part is one subject: its worst port speaks for those over their rating, one line tells of all without one."""
    id = "rating-each-part"
    over: list[tuple[float, Member, Seen]] = []
    fine: list[tuple[float, Member, Seen]] = []
    unrated: list[tuple[Member, Seen | None]] = []
    blank: list[Member] = []
    calm = 0
    for m in members:
        nodes = {case.network.port_nodes[name, m.port]}
        seen = strength.seen(case, nodes)
        stated = m.rating.value if m.rating else None
        if seen is not None and seen.value <= 0 and not strength.trapped_states(case, nodes):
            calm += 1
        elif seen is not None and stated and seen.value > stated:
            over.append((seen.value / stated, m, seen))
        elif m.missing:
            unrated.append((m, seen))
        elif seen is None:
            blank.append(m)
        else:
            fine.append((seen.value / (m.value or 1.0), m, seen))
    if over:
        yield _part_over(case, name, sorted(over, key=lambda item: -item[0]))
    if unrated:
        yield _part_unrated(case, name, unrated)
    if blank and not over:
        yield no_pressure(id, name, listed(m.label for m in blank), blank[0])
    if fine and not over:
        share, m, seen = max(fine, key=lambda item: item[0])
        yield within(case, id, name, m.label, m, seen, share)
    if calm == len(members):
        yield Finding(id, "does not apply", "WARNING", name, f"{name} sees no pressure above the reservoir's")


def _part_over(case: Case, name: str, over: list[tuple[float, Member, Seen]]) -> Finding:
    u = Units(case.circuit)
    share, m, seen = over[0]
    rating = m.rating.value if m.rating and m.rating.value else 0.0
    others = [n.label for _, n, _ in over[1:]]
    return Finding(
        "rating-each-part", "finding", signal(share), name,
        f"{m.label} sees {seen.words}{u.both(seen.value, 'pressure')}, rated {u.both(rating, 'pressure')}: "
        f"{ratio(share)} its rating",
        text=BURSTS + read_where(m) + (f" Over their rating too: {listed(others)}." if others else ""),
        remedy="Lower the relief that guards it, fit a stronger part, or give this branch a relief of its own.",
        state=seen.state, figures={"pressure": seen.value, "rating": rating, "ratio": share}, place=m.place,
    )  # fmt: skip


def _part_unrated(case: Case, name: str, unrated: list[tuple[Member, Seen | None]]) -> Finding:
    u = Units(case.circuit)
    worst = max((s for _, s in unrated if s is not None), key=lambda s: s.value, default=None)
    sees = ""
    if worst and worst.value > 0:
        sees = f"; up to {u.pressure(worst.value)} there, in '{worst.state}'"
    ports = listed((m.port for m, _ in unrated), 6)
    second_hand = ", second-hand" if unrated[0][0].salvaged else ""
    return Finding(
        "rating-each-part", "not checked", "WARNING", name,
        f"{name}{second_hand}: no rating for {'port' if len(unrated) == 1 else 'ports'} {ports}{sees}",
        missing=listed(dict.fromkeys(m.missing for m, _ in unrated)),
        remedy="Read it from the plate or the maker's document; not checked is not safe.",
        figures={"pressure": worst.value} if worst else {}, place=unrated[0][0].place,
    )  # fmt: skip


def within(case: Case, id: str, subject: str, label: str, m: Member, seen: Seen, share: float) -> Finding:
    """Below its rating: ok, or a remark where there is no room left."""
    u = Units(case.circuit)
    line = f"{label} sees {seen.words}{u.pressure(seen.value)} of its rated {u.pressure(m.value or 0.0)}"
    figures = {"pressure": seen.value, "rating": m.value or 0.0, "ratio": share}
    if share * NO_ROOM > 1:
        return Finding(
            id, "finding", "NOTICE", subject, f"{line}: no room left",
            text="Less than 10 % is left for the error of a gauge and for a relief that opens late." + read_where(m),
            remedy="Set the guarding relief lower, or fit the next stronger part.",
            state=seen.state, figures=figures, place=m.place,
        )  # fmt: skip
    nodes = {case.network.port_nodes[m.owner, m.port]} if m.port else strength.line_nodes(case.network, subject)
    trapped = strength.trapped_states(case, nodes)
    shut_in = f"Oil is shut in there in {quoted(trapped)}: what pressure it keeps is not counted." if trapped else ""
    return Finding(
        id, "ok", "WARNING", subject, f"{line}, in '{seen.state}'", text=f"{shut_in}{read_where(m)}".strip(),
        state=seen.state, figures=figures, place=m.place,
    )  # fmt: skip


@rule(
    id="rating-line-weakest",
    title="A line is only as strong as its weakest member",
    signal="WARNING",
    reason="A builder trusts the rating of the hose while an elbow in the same run is far weaker.",
    criterion="highest pressure in the line over all states <= lowest rating of conduit, fittings, the ports at "
    "both ends, of connectors whose rating is declared or listed by form and size, and of every declared adapter; a "
    "member without a rating leaves the line not checked",
    remedy="Replace the limiting member first.",
    source="SAE J517: an assembly counts by the lower rating of hose and connectors (seen as an excerpt); proof at 1.5 "
    "times rated: common practice, no source",
)
def rating_line_weakest(case: Case) -> Iterable[Finding]:
    bare: dict[str, list[Member]] = {}
    for name in case.circuit.lines:
        yield from _line(case, name, bare)
    if bare:
        ports = listed((m.label for members in bare.values() for m in members), 6)
        word = "line ends" if len(bare) == 1 else "lines end"
        yield Finding(
            "rating-line-weakest", "not checked", "WARNING", "",
            f"{len(bare)} {word} at ports without a rating: {listed(bare, 6)}; conduits and fittings hold",
            missing=f"rating of {ports}", place=next(iter(bare.values()))[0].place,
        )  # fmt: skip
    yield from unsolved(case, "rating-line-weakest", "Weakest members of all lines")


def _line(case: Case, name: str, bare: dict[str, list[Member]]) -> Iterator[Finding]:
    """bare: takes the lines that lack nothing but the rating of a port at their ends; the parts tell of those."""
    id, u = "rating-line-weakest", Units(case.circuit)
    members = strength.line_members(case, name)
    seen = strength.seen(case, strength.line_nodes(case.network, name))
    unrated = [m for m in members if m.missing]
    if not members:
        yield Finding(id, "does not apply", "WARNING", name, f"{name}: a joint without members of its own")
    elif seen is None:
        yield no_pressure(id, name, name, members[0])
    elif seen.value <= 0:
        yield Finding(id, "does not apply", "WARNING", name, f"{name} sees no pressure above the reservoir's")
    else:
        over = _over(members, seen)
        if over:
            yield _line_over(case, name, over, seen)
        if unrated and all(m.port for m in unrated) and not over:
            bare[name] = unrated
        elif unrated:
            names = listed((m.label for m in unrated), 4)
            level = f"{seen.words or 'up to '}{u.pressure(seen.value)}"
            yield Finding(
                id, "not checked", "WARNING", name,
                f"{name}: {names} without a rating; it sees {level}, in '{seen.state}'",
                missing=f"rating of {names}", figures={"pressure": seen.value},
                remedy="State the rating of every member; the line is as strong as the weakest.",
                place=unrated[0].place,
            )  # fmt: skip
        elif not over:
            yield _line_within(case, name, members, seen)


def _over(members: list[Member], seen: Seen) -> Member | None:
    """The weakest conduit or fitting below the pressure (a peak or burst figure counts too: it is exceeded all the
    more). Ports are judged by themselves."""
    over = [m for m in members if not m.port and m.rating and m.rating.value and seen.value > m.rating.value]
    return min(over, key=lambda m: (m.rating.value if m.rating else None) or 0.0, default=None)


def _line_over(case: Case, name: str, limit: Member, seen: Seen) -> Finding:
    u, conduit = Units(case.circuit), case.circuit.lines[name].conduit
    rating = limit.rating.value if limit.rating and limit.rating.value else 1.0
    share = seen.value / rating
    beside = ""
    if limit.fitting and conduit and conduit.rating and conduit.rating.value:
        beside = f" Its {conduit.kind} is rated {u.pressure(conduit.rating.value)}; that does not help."
    return Finding(
        "rating-line-weakest", "finding", signal(share), name,
        f"{name} is limited by its {limit.label}: rated {u.both(rating, 'pressure')}, sees {seen.words}"
        f"{u.both(seen.value, 'pressure')}, {ratio(share)} the rating",
        text=f"A line is as strong as its weakest member.{beside}{read_where(limit)}",
        remedy="Replace the limiting member first.",
        state=seen.state, figures={"pressure": seen.value, "rating": rating, "ratio": share}, place=limit.place,
    )  # fmt: skip


def _line_within(case: Case, name: str, members: list[Member], seen: Seen) -> Finding:
    u, weak = Units(case.circuit), strength.weakest(members)
    assert weak is not None and weak.value
    share = seen.value / weak.value
    if weak.port and share * NO_ROOM > 1:  # said once, at the part
        return Finding(
            "rating-line-weakest", "ok", "WARNING", name,
            f"{name}: conduit and fittings hold {u.pressure(seen.value)}; the line is limited by {weak.label}, which "
            "is judged by itself",
            state=seen.state, figures={"pressure": seen.value, "rating": weak.value, "ratio": share},
        )  # fmt: skip
    return within(case, "rating-line-weakest", name, f"{name}, limited by its {weak.label},", weak, seen, share)
