"""An engine out of its table: built, or told why it cannot be."""

from __future__ import annotations

import math

import invented
import pytest
from full_document import PLACES, document, engine, faults

from truethrow.balance.base.errors import BadInput
from truethrow.balance.engine.engine import peak_piston_acceleration_m_s2, top_acceleration_m_s2
from truethrow.balance.engine.lengths import NotDeclared


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"stroke": 310.0}, "engine, stroke: 310 mm with a rod of 155 mm cannot turn"),
        ({"throw_positions": [0, 100, 100, 300]}, "throws 2 and 3 are at one place, 100 mm"),
        ({"throw_positions": [0, 100]}, "2 positions for 4 throws"),
        ({"throw_angles": [[0, 360], [90, 120], [270, 300], [180, 210]]}, "throw 1 has two pins at one angle"),
        ({"throw_angles": [[0, 30], 90, 270, 180]}, "split pins do not match the banks"),
        (
            {"cylinders": PLACES | {"2": PLACES["1"]}},
            "engine: cylinders 1 and 2 of the axis at 45° are at one place",
        ),
        ({"cylinders": PLACES | {"01": PLACES["1"]}}, "engine, cylinders, 01: is no cylinder number"),
        ({"cylinders": PLACES | {"1" * 5000: PLACES["1"]}}, "is no cylinder number"),
        ({"cylinders": PLACES | {"8": {"throw": 5}}}, "engine, cylinders, 8, throw: '5' is no throw"),
        ({"cylinders": PLACES | {"8": {"throw": 4, "bank": "up"}}}, "'up' is no bank; allowed: left, right"),
        ({"cylinders": {"1": PLACES["1"]}}, "no cylinder on throw 4"),
        ({"layout": "v8-90-crosplane"}, "did you mean v8-90-crossplane?"),
        ({"layout": ""}, "engine, layout: blank"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_an_engine_that_cannot_be_built_says_why(changes, said):
    assert any(said in line for line in faults(engine(**changes)))


def test_a_length_that_is_not_declared_is_asked_for_by_what_rests_on_it_alone():
    bare = {"layout": "v8-90-crossplane"}
    made = invented.build(invented.document(engine=bare)).engine
    assert made.not_placed == ("stroke", "cylinder_spacing")
    with pytest.raises(NotDeclared, match=r"engine: stroke missing; to see .*, fill in stroke in "):
        made.throw_radius_mm  # noqa: B018
    with pytest.raises(NotDeclared, match=r"fill in cylinder_spacing \(or throw_positions\)"):
        made.layout.throws[1].z_mm  # noqa: B018
    with pytest.raises(NotDeclared, match=r"stroke, cylinder_spacing and rod_length missing; .* of my.toml"):
        made.must_be_whole("my.toml")
    invented.build(invented.document()).engine.must_be_whole("my.toml")
    assert [throw.z_mm for throw in made.spaced.throws] == [0.0, 1.0, 2.0, 3.0]
    assert invented.build(invented.document()).engine.spaced == invented.build(invented.document()).engine.layout


def test_a_length_that_is_left_blank_is_one_that_is_not_declared():
    blank = {"layout": "inline-1", "stroke": "", "rod_length": "", "bore": "", "cylinder_spacing": ""}
    assert invented.build(invented.document(invented.cylinders(1), engine=blank)).engine.not_placed == ("stroke",)


@pytest.mark.parametrize(
    ("changes", "on_throw_1", "bank_of_1"),
    [
        ({}, (1, 2), "left"),
        ({"numbering": "alternating", "first_bank": "right"}, (1, 2), "right"),
        ({"numbering": "by-bank"}, (1, 5), "left"),
        ({"numbering": "by-bank", "first_bank": "right"}, (1, 5), "right"),
        ({"cylinders": PLACES | {"1": PLACES["8"], "8": PLACES["1"]}}, (2, 8), "right"),
    ],
)
def test_cylinders_are_numbered_by_the_scheme_that_the_job_names(changes, on_throw_1, bank_of_1):
    layout = invented.build(engine(**changes)).layout
    assert layout.cylinders_on(layout.throws[0]) == on_throw_1
    assert layout.places[0].bank == bank_of_1


def test_split_pins_are_two_throws_at_one_place_with_a_bank_each():
    split = invented.V8 | {"layout": "v6-90-shared", "throw_angles": [[0, 30], [120, 150], [240, 270]]}
    layout = invented.build(document(parts=invented.cylinders(6), engine=split)).layout
    assert [(throw.name, throw.angle_deg, throw.z_mm) for throw in layout.throws] == [
        *(("1a", 0, 0), ("1b", 30, 0), ("2a", 120, 112), ("2b", 150, 112), ("3a", 240, 224), ("3b", 270, 224)),
    ]
    assert [layout.cylinders_on(throw) for throw in layout.throws] == [(1,), (2,), (3,), (4,), (5,), (6,)]


def test_a_bad_stroke_hides_no_fault_of_the_throws():
    engine = dict(invented.V8, stroke=-3, throw_positions=[0, 0, 1, 2])
    with pytest.raises(BadInput) as caught:
        invented.build(invented.document(engine=engine))
    assert [fault.where for fault in caught.value.faults] == ["engine, stroke", "engine, throw_positions"]


@pytest.mark.parametrize(
    "change",
    [
        {"throw_angles": [[0.0, 180.0]], "cylinders": {"1": {"throw": "1a"}, "2": {"throw": "1b"}}},
        {"throw_angles": [0.0, 180.0], "throw_positions": [0, 0.001], "bore": 105.0},
    ],
)
def test_two_cylinders_of_one_axis_need_room(change):
    engine = {"stroke": 92.0, "rod_length": 155.0, "cylinder_spacing": 112.0} | change
    with pytest.raises(BadInput, match=r"engine: cylinders 1 and 2 of the axis at 0° are"):
        invented.build(invented.document(invented.cylinders(2), engine=engine))


@pytest.mark.parametrize(
    ("stroke", "rod", "desaxe"), [(306, 155, 0), (184, 104, 0), (92, 155, -40), (92, 100, 40)]
)
def test_accelerations_of_odd_engines_against_differences(stroke, rod, desaxe):
    """Second differences of the position: the largest of the turn, and where the piston is highest."""
    r, omega, h = stroke / 2, 5600 * 2 * math.pi / 60, 1e-4

    def slider(phi):
        return r * math.cos(phi) + math.sqrt(rod**2 - (r * math.sin(phi) - desaxe) ** 2)

    turn = [2 * math.pi * k / 3600 for k in range(3600)]
    second = [(slider(a + h) - 2 * slider(a) + slider(a - h)) / h**2 * omega**2 / 1000 for a in turn]
    top = max(range(3600), key=lambda k: slider(turn[k]))
    assert peak_piston_acceleration_m_s2(stroke, rod, 5600, desaxe) == pytest.approx(
        max(map(abs, second)), rel=1e-4
    )
    assert top_acceleration_m_s2(stroke, rod, 5600, desaxe) == pytest.approx(-second[top], rel=2e-3)
