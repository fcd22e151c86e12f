"""What a tolerance is worked out from, the oil and the stroke, held against the parts that were weighed."""

from __future__ import annotations

import invented
import pytest
from full_document import document, faults, one_fault

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job import job

GRADE = {"crank_mass": "24.3 kg", "grade": 16.0}


def with_station(**changes):
    return document(station={"front_plane": -40.0, "rear_plane": 380.0} | changes)


@pytest.mark.parametrize(
    ("station", "said"),
    [
        (
            {"crank_mass": "24300 kg"},
            "station, crank_mass: 24300 kg looks wrong beside parts of 10.9 kg; allowed: 2.18 to 109 kg;",
        ),
        ({"crank_mass": "243 kg"}, "station, crank_mass: 243 kg"),
        ({"crank_mass": "24.3 lb"} | {"crank_mass": "0.243 kg"}, "station, crank_mass: 0.243 kg"),
        ({"limit": "10 oz in"}, "station, limit: 7200"),
        ({"grade": 630.0}, "station, grade: 630 mm/s looks wrong beside the grades of cranks, G 16 to G 40"),
    ],
    ids=str,
)
def test_a_tolerance_that_would_sign_any_crank_is_told(station, said):
    own = {"limit": station["limit"]} if "limit" in station else GRADE | station
    assert said in one_fault(with_station(**own))


@pytest.mark.parametrize("name", ["crank_mass", "grade"])
def test_who_looked_at_it_again_says_so(name):
    far = {"crank_mass": "243 kg"} if name == "crank_mass" else {"grade": 250.0}
    assert faults(with_station(**GRADE | far))
    assert invented.build(with_station(**GRADE | far, checked=[name]))


def test_oil_of_400_grams_is_told_and_may_be_checked():
    assert one_fault(document(bobweight={"oil": 400})).startswith(
        "bobweight, oil: 400 g looks wrong beside parts of 2728 g a throw; allowed: 0 to 136 g;"
    )
    assert one_fault(document(bobweight={"oil": [4, 4, 400, 4]})).startswith("bobweight, oil: 400 g")
    assert invented.build(document(bobweight={"oil": 400, "checked": ["oil"]})).oil_g == (400.0,) * 4


def test_an_engine_whose_lengths_are_all_in_inches_is_told_by_what_its_parts_weigh():
    inches = {"stroke": 3.622, "rod_length": 6.102, "bore": 4.134, "cylinder_spacing": 4.409}
    bare = {name: one for name, one in invented.V8.items() if name != "top_speed"}
    made = invented.document(engine=bare | inches)
    assert one_fault(made).startswith("engine, stroke: 3.622 mm looks wrong beside parts of 1364 g a cylinder")


def test_masses_in_kilograms_are_told_by_the_stroke():
    parts = [
        {kind: one if kind == "number" else one / 1000 for kind, one in own.items()}
        for own in invented.cylinders()
    ]
    made = invented.document(parts, scale={"resolution": 0.0001}, bobweight={"share": 0.5})
    assert any("engine, stroke: 92 mm looks wrong" in line for line in faults(made))


@pytest.mark.parametrize("scale", [1 / 3, 1.0, 3.0])
def test_the_parts_of_an_engine_three_times_as_large_weigh_27_times_as_much(scale):
    """By similarity (any text on dimensional analysis): masses go with the cube of the lengths."""
    lengths = ("stroke", "rod_length", "bore", "cylinder_spacing")
    engine = {key: one * scale if key in lengths else one for key, one in invented.V8.items()}
    engine["top_speed"] = round(invented.V8["top_speed"] / scale)
    parts = [
        {kind: one if kind == "number" else round(one * scale**3, 1) for kind, one in own.items()}
        for own in invented.cylinders()
    ]
    made = invented.document(parts, engine=engine, scale={"resolution": 0.1}, bobweight={"share": 0.5})
    assert invented.build(made)


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        (
            {"station": {"crank_mass": "24300 kg", "grade": 16.0}},
            "24300 kg looks wrong beside bobweights of 7.38 kg",
        ),
        (
            {"station": {"limit": "10 oz in"}},
            "beside bobweights of 1846 g on a throw of 46 mm; allowed: 0 to 1698 g",
        ),
        ({"bobweight": {"hang": "1846 lb"}}, "bobweight, hang"),
        (
            {"bobweight": {"hang": "18.46 g"}},
            "engine, stroke: 92 mm looks wrong beside bobweights of 9.23 g a cylinder",
        ),
    ],
    ids=str,
)
def test_without_parts_the_given_bobweights_stand_for_them(tables, said):
    """By hand: four of 1846 g are 7.384 kg; a fiftieth of 1846 g at 46 mm is 1698 g·mm."""
    data = invented.document([], bobweight={"hang": 1846.0}) | tables
    with pytest.raises(BadInput) as caught:
        job.build(invented.text(data), given=True)
    (fault,) = map(str, caught.value.faults)
    assert said in fault


def swapped(one, other):
    """Every cylinder's readings of two kinds in each other's column."""
    return [own | {one: own[other], other: own[one]} for own in invented.cylinders()]


def test_pistons_and_pins_in_each_others_column_are_told_once():
    assert one_fault(invented.document(swapped("piston", "pin"))) == (
        "every cylinder, pin: 538.4 g looks wrong beside the piston of 112.1 g; allowed: 8.97 to 78.5 g; "
        'if it is right: checked = ["parts"] in [engine]'
    )


@pytest.mark.parametrize(("one", "other"), [("pin", "locks"), ("rings", "piston"), ("locks", "rings")])
def test_any_two_columns_far_apart_are_told_when_swapped(one, other):
    assert "looks wrong beside" in one_fault(invented.document(swapped(one, other)))


def test_who_looked_at_the_parts_again_says_so():
    engine = dict(invented.V8) | {"checked": ["parts"]}
    assert invented.build(invented.document(swapped("piston", "pin"), engine=engine))


def test_ends_that_are_all_swapped_are_left_to_the_slip_that_says_so():
    assert invented.build(invented.document(swapped("big_end", "small_end")))
