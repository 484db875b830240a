"""Hose, tube, pipe, bore and fittings: sizes and ratings from the tables, errors in the writer's words.

Bores are checked against their definitions (dash size = sixteenths of an inch; ASME B36.10M: 0.840 in outside, 0.147 in
wall for 1/2 in schedule 80) and, for pipe, the open library `fluids`."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from builddoc import kinds
from builddoc.kinds import fitting
from builddoc.kinds.fitting import read_fitting
from pydantic import ValidationError
from pydantic_core import PydanticCustomError

INCH, BAR, PSI = 0.0254, 1e5, 6894.757


def conduit(**keys: str) -> Any:
    reader = next(r for key, r in kinds.conduits().items() if key in keys and (key != "bore" or len(keys) == 1))
    return reader.resolve(reader.Params.model_validate(keys))


def test_what_there_is():
    assert set(kinds.conduits()) == {"hose", "tube", "pipe", "bore"}
    for key, reader in kinds.conduits().items():
        assert reader.key == key and reader.summary and reader.equations
        keys = yaml.load(reader.example, Loader=yaml.BaseLoader)
        own = {k: v for k, v in keys.items() if k in reader.Params.model_fields}
        found = reader.resolve(reader.Params.model_validate(own))
        assert found.bore > 0 and found.kind == key and found.label
        assert all(field.description for field in reader.Params.model_fields.values())
    for item in yaml.load(fitting.example, Loader=yaml.BaseLoader):
        assert read_fitting(item).loss > 0


def test_hose_by_size():
    for size in ("-8", "1/2 in", "- 8", "−8"):
        hose = conduit(hose="two-wire", size=size)
        assert hose.bore == pytest.approx(0.5 * INCH) and hose.label == "hose, two-wire -8"
    assert hose.rating.value == 275 * BAR and "EN 853 2SN" in hose.rating.basis
    assert conduit(hose="2SN", size="-8").rating == hose.rating


def test_own_figures_of_a_hose_win():
    hose = conduit(hose="two-wire", size="-8", bore="12 mm", rating="200 bar", roughness="0.01 mm")
    assert (hose.bore, hose.bore_basis, hose.rating.value, hose.roughness) == (0.012, "given", 200 * BAR, 1e-5)
    assert not hose.notes
    # No table for this bore: the hose stands, without a rating, and says so.
    odd = conduit(hose="suction", bore="22 mm")
    assert odd.rating is None and odd.bore == 0.022 and "no rating" in odd.notes[0]
    assert conduit(hose="unknown", size="-8").rating is None
    assert conduit(hose="suction", bore="22 mm", rating="7 bar").rating.value == 7 * BAR


def test_tube_and_pipe_and_bore():
    tube = conduit(tube="12 x 1.5 mm")
    assert tube.bore == pytest.approx(0.009) and tube.rating.status == "computed, from memory" and tube.notes
    assert conduit(tube="12x1.5mm").bore == tube.bore
    assert conduit(tube="1/2 x 0.065 in").bore == pytest.approx(0.37 * INCH)
    assert conduit(tube="1/2 in x 0.065 in stainless").label == "tube, 1/2 in x 0.065 in stainless"
    pipe = conduit(pipe="1/2 in schedule 80, threaded")
    assert pipe.bore == pytest.approx((0.840 - 2 * 0.147) * INCH)
    assert pipe.rating.value == pytest.approx(2925 * PSI)
    assert conduit(pipe="1/2 in sch 80 welded").rating.value > pipe.rating.value
    assert "threaded" in conduit(pipe="1-1/4 in schedule 40").notes[0]
    bore = conduit(bore="19 mm")
    assert bore.bore == 0.019 and bore.rating is None and bore.roughness == 0


def test_pipe_against_fluids():
    piping = pytest.importorskip("fluids.piping")
    for size, schedule in [("1/2", "80"), ("3/4", "40"), ("1", "160"), ("1-1/4", "40"), ("2", "80")]:
        whole, _, rest = size.partition("-")
        inches = sum(float(a) / float(b or 1) for a, _, b in (t.partition("/") for t in (whole, rest) if t))
        _, inside, _, _ = piping.nearest_pipe(NPS=inches, schedule=schedule)
        assert conduit(pipe=f"{size} in schedule {schedule}").bore == pytest.approx(inside, abs=0.07e-3)


@pytest.mark.parametrize(
    ("keys", "code", "said"),
    [
        ({"hose": "two wires", "size": "-8"}, "not-listed", "two-wire"),
        ({"hose": "two-wire"}, "value-missing", "size: -8"),
        ({"hose": "two-wire", "size": "8"}, "unit-missing", "'-8'"),
        ({"hose": "two-wire", "size": "-7"}, "not-listed", "-6"),
        ({"hose": "two-wire", "size": "13 mm"}, "not-listed", "-8"),
        ({"tube": "12 x 1.5"}, "unit-missing", "12 x 1.5 mm"),
        ({"tube": "12 mm"}, "number-form", "12 x 1.5 mm"),
        ({"tube": "12 x 7 mm"}, "quantity-range", "12 x 1.5 mm"),
        ({"tube": "12 x 1.5 mm brass"}, "not-listed", "steel"),
        ({"pipe": "1/2 in"}, "number-form", "schedule"),
        ({"pipe": "1/2 in schedule 90"}, "not-listed", "80"),
        ({"pipe": "9 in schedule 40"}, "not-listed", "2"),
        ({"pipe": "1/2 in schedule 80 glued"}, "choice", "threaded"),
    ],
)
def test_refused(keys, code, said):
    with pytest.raises(PydanticCustomError) as caught:
        conduit(**keys)
    assert caught.value.type == code
    assert said in (caught.value.context or {})["hint"]


@pytest.mark.parametrize(
    ("text", "loss", "rating", "count", "weak"),
    [
        ("malleable iron tee 1/2 in class 150", 0.9, 300 * PSI, 1, True),
        ("elbow 90", 0.9, None, 1, False),
        ("2 x elbow 90 1/2 in", 0.9, None, 2, False),
        ("malleable iron street elbow 3/4 in class 300", 0.9, 600 * PSI, 1, True),
        ("brass elbow 45 1/4 in", 0.42, None, 1, True),
        ("steel flange code 61 1 in", 0.08, 345 * BAR, 1, False),
        ({"fitting": "elbow 90", "loss": "1.2", "rating": "210 bar", "count": "3"}, 1.2, 210 * BAR, 3, False),
        ({"fitting": "home-made block", "loss": "1.5"}, 1.5, None, 1, False),
    ],
)
def test_fittings(text, loss, rating, count, weak):
    found = read_fitting(text)
    assert (found.loss, found.count, found.low_pressure) == (loss, count, weak)
    if rating is None:
        assert found.rating is None
    else:
        assert found.rating.value == pytest.approx(rating, rel=1e-6)


def test_forged_class_is_no_pressure():
    found = read_fitting("forged steel elbow 1/2 in class 3000")
    assert found.rating.value != pytest.approx(3000 * PSI, rel=0.2)
    assert any("not a pressure" in note for note in found.notes)


@pytest.mark.parametrize(
    "text", ["brass wobble", "", "class 150", "malleable iron tee 1/2 in class 700", {"fitting": "elbow", "loss": "-1"},
             {"loss": "1"}, {"fitting": "elbow", "colour": "red"}, {"fitting": "elbow", "count": "0"}, ["elbow"]],
)  # fmt: skip
def test_fittings_refused(text):
    with pytest.raises((PydanticCustomError, ValidationError)):
        read_fitting(text)


def test_rating_of_a_plumbing_fitting_falls_with_the_oil_temperature():
    """Class 150 malleable: 300 psi to 150 F, 265 psi to 200 F (ASME B16.3 as tabulated on a maker's submittal form)."""
    tee = read_fitting("malleable iron tee 1/2 in class 150")
    assert fitting.rated_at(tee, 273.15 + 65).rating.value == pytest.approx(300 * PSI)
    hot = fitting.rated_at(tee, 273.15 + 82)
    assert hot.rating.value == pytest.approx(265 * PSI) and "82 °C (cold: 20.7 bar)" in hot.rating.document
    assert fitting.rated_at(tee, 273.15 + 200).rating.value is None
    own = read_fitting({"fitting": "malleable iron tee 1/2 in class 150", "rating": "10 bar"})
    assert fitting.rated_at(own, 273.15 + 82) == own
