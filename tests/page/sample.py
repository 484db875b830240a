"""A report made by hand: every section a page can have, invented figures. For tests of the page's own work."""

from __future__ import annotations

from dataclasses import dataclass, replace

from builddoc.checks.base import Finding
from builddoc.report.model import Cell, Column, Failure, KeyFigure, Report, StateProof, Table


@dataclass(frozen=True)
class FakeDrawing:
    svg: str = (
        '<svg class="bd-svg" viewBox="0 0 600 150" width="600" height="150" role="img" aria-label="drawing">'
        '<path d="M40 120H560M300 120V40" fill="none" stroke="currentColor"/><text x="60" y="110">feed</text></svg>'
    )
    words: tuple[str, ...] = ("pump outlet feeds bank P",)
    subjects: tuple[str, ...] = ("feed",)
    width: float = 600
    height: float = 150


def finding(outcome: str, signal: str, subject: str, headline: str, **more: str) -> Finding:
    return Finding("sample-rule", outcome, signal, subject, headline, **more)  # type: ignore[arg-type]


LINES = Table(
    "lines",
    "Lines",
    "Worst over all states; the state is named under the figure",
    (
        Column("Line", numeric=False),
        Column("Flow", "L/min"),
        Column("Speed", "m/s"),
        Column("Highest", "bar"),
        Column("Rated", "bar"),
        Column("Share of rating"),
        Column("Limited by", numeric=False),
    ),
    (
        (
            Cell("feed", subject="feed"),
            Cell("22.3", 3.7e-4),
            Cell("2.9", 2.9),
            Cell("151", 151e5, note="clamp at its stop"),
            Cell("20.7", 20.7e5),
            Cell("7.3×", 7.3, share=7.3, flag="over"),
            Cell("tee, class 150"),
        ),
        (
            Cell("clamp close", subject="clamp close"),
            Cell("8.4", 1.4e-4),
            Cell("2.0", 2.0),
            Cell("151", 151e5, note="clamp at its stop"),
            Cell("330", 330e5),
            Cell("46 %", 0.46, share=0.46),
            Cell("hose, two-wire −6"),
        ),
        (
            Cell("return", subject="return"),
            Cell("32.5", 5.4e-4),
            Cell("1.9", 1.9),
            Cell("4.1", 4.1e5, note="cold start"),
            Cell("NOT CHECKED", flag="not-checked"),
            Cell("–"),
            Cell("no rating stated"),
        ),
        (
            Cell("suction", subject="suction"),
            Cell("22.3", 3.7e-4),
            Cell("1.3", 1.3),
            Cell("−0.5", -0.5e5, note="cold start"),
            Cell("–"),
            Cell("–"),
            Cell("–"),
        ),
    ),
)

REPORT = Report(
    machine="bandsaw mill",
    revision="A",
    date="2025-05-18",
    title="Bandsaw mill",
    states=("clamp at its stop", "idling", "lifting", "coupler open", "cold start, −10 °C"),
    shown_state="clamp at its stop",
    key_figures=(
        KeyFigure("Pump flow", "22.3", "L/min", "at 2400 rpm", "5.9 gpm"),
        KeyFigure("Highest pressure", "151", "bar", "feed, clamp at its stop", "2190 psi"),
        KeyFigure("Engine load", "6.7", "kW", "56 % of 11.9 kW"),
        KeyFigure("Heat into the oil", "5.6", "kW", "82 °C after 9 min"),
    ),
    failures=(
        Failure(
            "coupler open",
            "The pump flow has no way out",
            "With the coupler apart the feed line ends at a shut half, and no relief is between it and the pump.",
            "Put a relief between the pump and the coupler.",
        ),
    ),
    findings=(
        finding(
            "finding",
            "DANGER",
            "feed",
            "Water-pipe tee in the feed line sees 151 bar, rated 20.7 bar",
            text="7.3 times its class 150 rating; it can break without leaking first.",
            remedy="Replace it by a forged or bar-stock fitting with a stated working pressure.",
            state="clamp at its stop",
        ),
        finding(
            "finding",
            "WARNING",
            "bank",
            "Tank port of the valve carries up to 165 bar at a port with no stated rating",
            remedy="Run a separate line from T to the tank.",
        ),
        finding("finding", "CAUTION", "tank", "Oil passes 82 °C after 9 min in this state", state="clamp at its stop"),
        finding("finding", "NOTICE", "return", "Oil runs at 3.4 m/s in the return"),
    ),
    not_checked=(
        finding("not checked", "WARNING", "head ram", "Rating of the head ram's ports", missing="rating of the part"),
        finding("not checked", "NOTICE", "hoses", "Age of three hoses", missing="hose date"),
    ),
    passed=(finding("ok", "WARNING", "clamp close", "clamp close: 151 bar of 330 bar"),),
    tables=(LINES,),
    assumptions=("Friction of the clamp ram is taken as 0 N.", "The oil stands at 45 °C, if a state is silent."),
    proofs=(
        StateProof("clamp at its stop", True, "mass balance closes to 3·10⁻¹¹ of the largest flow, energy to 2·10⁻⁸"),
        StateProof("idling", True, "mass balance closes to 1·10⁻¹² of the largest flow, energy to 4·10⁻⁹"),
    ),
    notes=("The hose ratings are from a table quoted from memory.",),
)

EVIL = "<img src=x onerror=alert(1)>\"'&amp;`{{7*7}}"
HOSTILE = replace(
    REPORT,
    machine=EVIL,
    title=EVIL,
    revision=EVIL,
    date=EVIL,
    states=(EVIL, "<b>"),
    shown_state=EVIL,
    key_figures=(KeyFigure(EVIL, EVIL, EVIL, EVIL, EVIL),),
    failures=(Failure(EVIL, EVIL, EVIL, EVIL),),
    findings=(finding("finding", "DANGER", EVIL, EVIL, text=EVIL, remedy=EVIL, state=EVIL),),
    not_checked=(finding("not checked", "NOTICE", EVIL, EVIL, missing=EVIL),),
    passed=(finding("ok", "NOTICE", EVIL, EVIL),),
    tables=(
        Table(
            "lines",
            EVIL,
            EVIL,
            (Column(EVIL), Column(EVIL, EVIL)),
            ((Cell(EVIL, subject=EVIL), Cell(EVIL, note=EVIL)),),
        ),
    ),
    assumptions=(EVIL,),
    proofs=(StateProof(EVIL, False, EVIL),),
    notes=(EVIL,),
    statement=EVIL,
)
