"""Symbols: every kind has one, ports lie on the grid, and turning keeps them where lines can reach them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml
from builddoc import kinds
from builddoc.circuit import Part
from builddoc.cli import main
from builddoc.draw.contact import symbols
from builddoc.draw.pen_svg import marks_svg
from builddoc.draw.symbols import MAKERS, Symbol, box_symbol, symbol_of
from builddoc.draw.symbols.base import Given
from builddoc.kinds.base import Port
from click.testing import CliRunner

from ..kinds.bench import part


@pytest.mark.parametrize("name", sorted(kinds.registry()))
def test_every_port_is_drawn_on_an_edge_of_the_box(name: str) -> None:
    symbol = symbols()[name]
    for shape in (symbol, symbol.mirrored(), symbol.turned()):
        for pin in shape.pins.values():
            assert pin.side in "NS" and 0 <= pin.x <= shape.w
            assert pin.y == (0 if pin.side == "N" else shape.h)
        places = [(p.x, p.side) for p in shape.pins.values()]
        assert len(set(places)) == len(places)


@pytest.mark.parametrize("name", sorted(kinds.registry()))
def test_a_line_meets_ink_at_every_port(name: str) -> None:
    """Some stroke of the symbol touches each connection point."""
    symbol = symbols()[name]
    ends = {tuple(round(float(v), 3) for v in step[-2:]) for m in symbol.marks for step in m.steps if len(step) > 1}
    for port, pin in symbol.pins.items():
        assert any(abs(x - pin.x) < 0.01 and abs(y - pin.y) < 0.01 for x, y in ends) or _on_circle(symbol, pin), port


def _on_circle(symbol: object, pin: object) -> bool:
    """The port of a pump lies on the rim of its circle."""
    for mark in symbol.marks:  # type: ignore[attr-defined]
        arcs = [s for s in mark.steps if s[0] == "A"]
        if len(arcs) == 2:
            (_, r, _, _, x, y), _ = arcs
            if abs((pin.x - (x - r)) ** 2 + (pin.y - y) ** 2 - r * r) < 0.01:  # type: ignore[attr-defined]
                return True
    return False


def test_every_kind_of_today_has_a_symbol_of_its_own() -> None:
    for name, kind in kinds.registry().items():
        assert kind.symbol in MAKERS, f"{name}: no symbol '{kind.symbol}'; a labelled box is drawn"


def test_every_symbol_is_one_of_a_kind_of_today() -> None:
    assert set(MAKERS) == {kind.symbol for kind in kinds.registry().values()}


VARIANTS = yaml.safe_load((Path(__file__).parents[1] / "kinds" / "variants.yml").read_text("utf-8"))["variants"]
WRITTEN = [v["written"] for v in VARIANTS if "written" in v]


@pytest.mark.parametrize("written", [*WRITTEN, *(kind.example for kind in kinds.registry().values())])
def test_no_variant_falls_back_to_a_labelled_box(written: str) -> None:
    made = part("it", written)
    kind = kinds.registry()[made.kind]
    box = box_symbol(Given("it", kind.ports(made.params), made.params), kind.name)
    assert symbol_of(made).marks != box.marks


@pytest.mark.parametrize(
    ("plain", "more"),
    [
        ("{kind: cooler}", "bypass: 2 bar"),
        ("{kind: filter}", "bypass: 2 bar"),
        ("{kind: filter}", "indicator: 1 bar"),
        ("{kind: filter, bypass: 2 bar}", "indicator: 1 bar"),
        ("{kind: quick coupler}", "valves: none"),
        ("{kind: quick coupler}", "valves: A"),
        ("{kind: quick coupler}", "valves: B"),
        ("{kind: coupler half}", "valved: no"),
        ("{kind: single-acting cylinder, bore: 50 mm}", "spring: 400 N"),
        ("{kind: cylinder, bore: 50 mm, rod: 20 mm}", "rephasing: extended"),
        ("{kind: unloading valve, setting: 50 bar}", "check: yes"),
        ("{kind: priority divider, set flow: 15 L/min}", "relief: 100 bar"),
        ("{kind: flow divider, sections: [8 cc/rev, 8 cc/rev]}", "outlet reliefs: 175 bar"),
        ("{kind: steering unit, centre: open, displacement: 100 cc/rev}", "relief: 100 bar"),
        ("{kind: steering unit, centre: open, displacement: 100 cc/rev}", "port reliefs: 160 bar"),
        ("{kind: steering unit, centre: open, displacement: 100 cc/rev}", "make up: yes"),
        ("{kind: directional valve, centre: open}", "relief: 100 bar"),
        ("{kind: directional valve, centre: open}", "load checks: no"),
        ("{kind: directional valve, centre: open}", "power beyond: yes"),
        ("{kind: orifice, diameter: 1 mm}", "adjustable: yes"),
    ],
)
def test_what_a_part_has_beside_is_drawn(plain: str, more: str) -> None:
    assert symbol_of(part("it", plain)).marks != symbol_of(part("it", f"{plain[:-1]}, {more}}}")).marks


def test_a_telescopic_cylinder_shows_its_stages() -> None:
    def rods(stages: str) -> int:
        made = symbol_of(part("it", f"{{kind: telescopic cylinder, stages: [{stages}]}}"))
        return sum(len(mark.steps) == 4 and mark.steps[-1][0] == "L" for mark in made.marks)

    two = "{bore: 90 mm, stroke: 1 m}, {bore: 70 mm, stroke: 1 m}"
    assert rods(two) == 2 and rods(f"{two}, {{bore: 50 mm, stroke: 1 m}}") == 3


def test_unknown_symbol_becomes_a_box_with_all_ports() -> None:
    ports = (Port("inlet", "pressure"), Port("one"), Port("two"), Port("drain", "drain"))
    symbol = box_symbol(Given("x", ports, None), "some new valve")
    assert set(symbol.pins) == {"inlet", "one", "two", "drain"}
    assert {w.text for w in symbol.words} >= {"inlet", "one", "two", "drain"}


def test_stack_grows_with_its_spools() -> None:
    kind = kinds.registry()["directional valve"]
    sizes = []
    for spools in (["a"], ["a", "b"], ["a", "b", "c", "d"]):
        params = kind.Params(centre="open", spools=spools, relief="150 bar")
        symbol = symbol_of(Part("bank", kind.name, params))
        assert set(symbol.pins) == {"P", "T", *(f"{s}.{p}" for s in spools for p in "AB")}
        sizes.append(symbol.w)
    assert sizes == sorted(sizes) and sizes[2] - sizes[1] == 2 * 17


def stack(**keys: object) -> Symbol:
    kind = kinds.registry()["directional valve"]
    return symbol_of(Part("bank", kind.name, kind.Params(centre="open", **keys)))


def shaded(svg: str) -> float:
    """Left edge of the shaded position, px."""
    found = re.search(r'class="bd-s" d="M([\d.]+) ', svg)
    assert found
    return float(found[1])


def test_the_position_of_the_state_stands_at_the_ports() -> None:
    """Whichever position it is: its box reaches from 0.5u left of A to 0.5u right of B."""
    symbol = stack(spools={"lift": {"float": "yes"}, "clamp": {}})
    a, b = symbol.pins["lift.A"].x, symbol.pins["lift.B"].x
    for position in ("A", "B", "float"):
        svg = marks_svg(symbol.marks, {f"at lift {position}"})
        assert shaded(svg) == pytest.approx(10 * a - 5) and b == a + 2
    assert "bd-s" not in marks_svg(symbol.marks, set())


@pytest.mark.parametrize("facts", [{"A lift relief"}, {"B lift make-up"}, {"lift section"}])
def test_guards_in_a_stack_are_drawn_and_stand_out_when_oil_passes(facts: set[str]) -> None:
    guarded = {"port reliefs": {"A": "180 bar"}, "make up": "yes", "relief": "120 bar"}
    symbol = stack(spools={"lift": guarded, "clamp": {}}, feed="tandem")
    plain = stack(spools=["lift", "clamp"], feed="tandem")
    assert symbol.h > plain.h and len(symbol.marks) > len(plain.marks) + 20
    quiet, busy = marks_svg(symbol.marks, {"figures"}), marks_svg(symbol.marks, {"figures", *facts})
    assert "bd-act" not in quiet and "bd-off" in quiet and "bd-act" in busy
    assert "bd-off" not in marks_svg(symbol.marks, facts)  # no figures: nothing stands out or back


def test_contact_sheet_from_the_terminal(tmp_path: object) -> None:
    for ending in ("html", "svg"):
        target = tmp_path / f"symbols.{ending}"  # type: ignore[operator]
        result = CliRunner().invoke(main, ["symbols", str(target)])
        assert result.exit_code == 0, result.output
        text = target.read_text("utf-8")
        assert all(f'data-bd-symbol="{name}"' in text for name in kinds.registry())
    assert CliRunner().invoke(main, ["symbols", str(tmp_path / "x.png")]).exit_code == 1  # type: ignore[operator]
