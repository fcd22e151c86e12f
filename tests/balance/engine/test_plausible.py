"""Lengths of an engine in the wrong unit, or with the point in the wrong place."""

from __future__ import annotations

import invented
import pytest
from full_document import document, engine, faults, one_fault

from truethrow.balance.engine import declared, plausible


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            {"stroke": 3.622},
            "engine, stroke: 3.622 mm looks wrong beside a rod of 155 mm; allowed: 25.8 to 155 mm;",
        ),
        ({"rod_length": 6.1, "stroke": 3.622, "bore": 105.0}, "engine, bore: 105 mm looks wrong beside a stroke"),
        ({"rod_length": 1550.0}, "engine, stroke: 92 mm looks wrong beside a rod of 1550 mm"),
        ({"bore": 4.134}, "engine, bore: 4.134 mm looks wrong beside a stroke of 92 mm; allowed: 36.8 to 230 mm;"),
        ({"bore": 1050.0}, "engine, bore: 1050 mm"),
        ({"bore": None, "cylinder_spacing": 4.41}, "engine, cylinder_spacing: 4.41 mm looks wrong"),
        ({"cylinder_spacing": 1120.0}, 'allowed: 36.8 to 460 mm; if it is right: checked = ["cylinder_spacing"]'),
        ({"throw_positions": [0, 1.12, 2.24, 3.36], "bore": None}, "engine, throw_positions: 1.12 mm apart looks"),
        ({"top_speed": 560}, "engine, top_speed: 560 r/min looks wrong"),
        (
            {"top_speed": 49000},
            "engine, top_speed: 49000 r/min looks wrong beside a stroke of 92 mm; allowed: 978 to",
        ),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_length_or_a_speed_that_an_engine_hardly_has_is_told_with_what_it_is_held_against(changes, said):
    made = engine(**changes)
    made["engine"] = {name: value for name, value in made["engine"].items() if value is not None}
    assert any(said in line for line in faults(made)), faults(made)


def test_one_stroke_in_inches_is_one_fault_and_not_one_for_all_that_is_held_against_it():
    assert one_fault(engine(stroke=3.622)).startswith("engine, stroke: ")


@pytest.mark.parametrize(
    ("name", "value"), [("cylinder_spacing", 480.0), ("top_speed", 900), ("bore", 36.0), ("rod_length", 570.0)]
)
def test_who_looked_at_it_again_says_so(name, value):
    said = "stroke" if name == "rod_length" else name
    assert f"engine, {said}: " in one_fault(document(engine=invented.V8 | {name: value}))
    assert invented.build(document(engine=invented.V8 | {name: value, "checked": [said]}, trim={}, station={}))


def test_only_what_can_be_far_off_can_be_checked():
    assert "engine, checked" in one_fault(engine(checked=["rods"]))


@pytest.mark.parametrize(
    ("layout", "stroke", "rod", "bore", "spacing", "speed"),
    [
        ("v8-90-crossplane", 92.0, 155.0, 105.0, 112.0, 7000),
        ("inline-2", 30.0, 55.0, 32.0, 40.0, 12000),
        ("inline-4", 44.5, 102.0, 78.0, 84.0, 15000),
        ("inline-6", 300.0, 640.0, 240.0, 400.0, 900),
        ("v12-60", 52.4, 122.0, 74.0, 86.0, 9000),
    ],
)
def test_engines_from_small_to_large_are_taken_as_they_are(layout, stroke, rod, bore, spacing, speed):
    """Proportions of engines as they are built, from a model's to a ship's auxiliary:
    common practice, no source."""
    lengths = {"layout": layout, "stroke": stroke, "rod_length": rod, "bore": bore, "top_speed": speed}
    made = document(engine=lengths | ({"cylinder_spacing": spacing} if spacing else {}))
    assert not [line for line in faults_of(made) if "looks wrong" in line]


def faults_of(made):

    return [str(fault) for fault in plausible.strange(declared.EngineTable(**made["engine"]))]
