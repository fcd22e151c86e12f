"""The public formulas: their examples, and what none of them takes. What they work out is held against the sources
where it is worked out, and in tests/published."""

import doctest
import math

import numpy as np
import pint
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.errors import BadInput
from truethrow.balance.library import formulas

Q = pint.UnitRegistry().Quantity
LENGTHS = {"stroke": 90, "rod_length": 150, "cylinder_spacing": 100}
# Each formula with what it takes; every argument of it is then tried with what nobody can mean.
CALLS = {
    "bobweight": {"rotating": [500, 500], "reciprocating": [700, 700], "share": 0.5, "oil": 4},
    "curve": {"layout": "inline-4", "reciprocating": [500] * 4, "speed": 3000, "hung": [0] * 4} | LENGTHS,
    "permissible_unbalance": {"mass": "20 kg", "grade": 6.3, "speed": 3000},
    "plane_share": {"z": 10, "front": 0, "rear": 100},
    "centrifugal_force": {"mass": 10, "radius": 40, "speed": 3000},
    "drilled_hole": {"rim": 90, "diameter": 12, "depth": 20, "point": 118, "density": 7.85},
    "piston_speed": {"stroke": 90, "speed": 3000},
}
LISTS = ("rotating", "reciprocating", "hung")
WRONG = (math.nan, math.inf, "no figure", None, [1, 2, 3], {}, -math.inf)


def test_the_examples():
    tried = doctest.testmod(formulas)
    assert (tried.failed, tried.attempted >= 11) == (0, True)


@pytest.mark.parametrize("name", CALLS)
def test_each_answers(name):
    assert getattr(formulas, name)(**CALLS[name])


@pytest.mark.parametrize(
    ("name", "argument"), [(name, argument) for name, own in CALLS.items() for argument in own]
)
@pytest.mark.parametrize("wrong", WRONG, ids=repr)
def test_no_figure_comes_of_what_nobody_can_mean(name, argument, wrong):
    if (argument, wrong) == ("hung", None):
        return  # nothing is hung
    if argument in LISTS and wrong == [1, 2, 3]:
        wrong = [1, 2, 3, 4, 5]
    with pytest.raises(BadInput) as caught:
        getattr(formulas, name)(**CALLS[name] | {argument: wrong})
    assert all(str(fault) and "\n" not in str(fault) for fault in caught.value.faults)


@pytest.mark.parametrize("argument", LISTS[1:])
def test_three_masses_for_four_cylinders_are_told_in_words(argument):
    with pytest.raises(BadInput, match="3 masses for 4"):
        formulas.curve(**CALLS["curve"] | {argument: [500, 500, 500]})


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("curve", {"rod_length": 40}),
        ("curve", {"stroke": 0}),
        ("curve", {"layout": "v8-90-crosplane"}),
        ("curve", {"steps": 0}),
        ("curve", {"cylinder_spacing": 0}),
        ("curve", {"cylinder_spacing": "-4 in"}),
        ("curve", {"reciprocating": [500, 500, -500, 500]}),
        ("curve", {"hung": [0, 0, 0, -1]}),
        ("plane_share", {"rear": 0}),
        ("permissible_unbalance", {"mass": 0}),
        ("permissible_unbalance", {"grade": 0}),
        ("permissible_unbalance", {"grade": True}),
        ("centrifugal_force", {"mass": -1}),
        ("drilled_hole", {"depth": 95}),
        ("drilled_hole", {"depth": 0}),
        ("drilled_hole", {"point": 181}),
        ("drilled_hole", {"density": 0}),
        ("piston_speed", {"stroke": -90}),
        ("bobweight", {"share": 1.01}),
        ("bobweight", {"oil": -1}),
        ("bobweight", {"rotating": [500, -500]}),
        ("bobweight", {"rotating": [], "reciprocating": []}),
    ],
)
def test_what_cannot_be_is_refused(name, changes):
    with pytest.raises(BadInput):
        getattr(formulas, name)(**CALLS[name] | changes)


def test_what_is_refused_for_what_it_is_is_not_refused_again_for_being_none():
    with pytest.raises(BadInput) as caught:
        formulas.piston_speed("no figure", 3000)
    assert [fault.where for fault in caught.value.faults] == ["stroke"]


@pytest.mark.parametrize(
    ("name", "given", "said"),
    [
        ("permissible_unbalance", {"mass": -2}, "mass: -2 g; allowed: above 0 and at most 1000000 kg"),
        ("permissible_unbalance", {"grade": 0}, "grade: 0; allowed: above 0 and at most 100000"),
        (
            "plane_share",
            {"front": 10, "rear": "1 cm"},
            "rear: 10 mm, where the front plane is; allowed: another place",
        ),
        ("centrifugal_force", {"radius": "-4 in"}, "radius: -4 in; allowed: above 0 and at most 787.4 in"),
        ("centrifugal_force", {"mass": "-1 oz"}, "mass: -1 oz; allowed: 0 to 35270000 oz"),
        ("drilled_hole", {"point": 10}, "point: 10 degrees; allowed: 90 to 180 degrees"),
        ("drilled_hole", {"density": 0}, "density: 0; allowed: above 0 and at most 25"),
        (
            "curve",
            {"rod_length": 40},
            "rod_length: 40 mm cannot turn on a throw of 45 mm; allowed: more than half the stroke",
        ),
        ("curve", {"steps": 7.5}, "steps: 7.5; allowed: a whole number, 4 to 100000"),
        ("bobweight", {"rotating": [1e12]}, "rotating 1: 1000000000000.0 g; allowed: 0 to 1000000 kg"),
    ],
)
def test_what_cannot_be_is_told_in_the_words_and_the_unit_of_whoever_asked(name, given, said):
    with pytest.raises(BadInput) as caught:
        getattr(formulas, name)(**CALLS[name] | given)
    assert said in str(caught.value)
    assert "_" not in str(caught.value).replace("rod_length", "")


ODD = st.one_of(
    *(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.complex_numbers(),
        st.text(max_size=8),
        st.binary(max_size=4),
    ),
    st.lists(st.one_of(st.floats(), st.text(max_size=3), st.none()), max_size=5),
    st.dictionaries(st.text(max_size=2), st.integers(), max_size=2),
    st.builds(Q, st.floats(), st.sampled_from(["g", "mm", "s", "rpm", "degC", ""])),
    st.builds(
        "{} {}".format,
        st.one_of(st.floats(), st.integers()),
        st.sampled_from(["g", "oz", "in", "rpm", "mile", "%"]),
    ),
    st.sampled_from([set(), range(2), np.array([1.0, np.nan]), np.array([]), np.float32("inf"), np.bool_(True)]),
)


@given(st.data())
@examples(400)
def test_anything_in_any_place_is_a_figure_or_words(data):
    """Whatever Python has: a figure that is finite, and not below zero where none can be, told in one line; or
    what is wrong in words, each fault in a line."""
    name = data.draw(st.sampled_from(sorted(CALLS)))
    argument = data.draw(st.sampled_from(sorted(CALLS[name])))
    try:
        found = getattr(formulas, name)(**CALLS[name] | {argument: data.draw(ODD)})
    except BadInput as error:
        assert error.faults
        assert all(str(fault).strip() and "\n" not in str(fault) for fault in error.faults)
    else:
        assert "\n" not in repr(found)
        assert len(repr(found)) < 120
        if name == "curve":
            found = tuple(map(float, (abs(found.force_n).max(), abs(found.couple_nm).max())))
        figures = found if isinstance(found, tuple) else [found]
        assert all(math.isfinite(figure) for figure in figures)
        assert name == "plane_share" or min(figures) >= 0


def test_pint_goes_in_everywhere():
    metric = formulas.curve(**CALLS["curve"])
    inch = formulas.curve(
        "inline-4",
        [Q(0.5, "kg")] * 4,
        stroke=Q(90 / 25.4, "inch"),
        rod_length=Q(15, "cm"),
        cylinder_spacing=Q(0.1, "m"),
        speed=Q(50, "turn/s"),
        hung=Q([0, 0, 0, 0], "g"),
    )
    assert abs(inch.force_n).max() == pytest.approx(abs(metric.force_n).max(), rel=1e-12)
