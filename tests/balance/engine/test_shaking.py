"""Shaking: laws that hold for every crank."""

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.engine import shaking
from truethrow.balance.engine.layout import GENERIC, generic_layout


def equal(name, spacing=112.0, desaxe=0.0):
    layout = generic_layout(name, spacing)
    return layout, shaking.assembly(layout, [700.0] * len(layout.places), 46.0, 155.0, desaxe)


@given(st.sampled_from(sorted(GENERIC)), st.floats(-500, 500), st.floats(100, 9000))
@examples(60)
def test_moving_the_reference_adds_force_times_distance(name, about, speed):
    _, parts = equal(name)
    here = shaking.curve(parts, speed, 0.0, 360)
    there = shaking.curve(parts, speed, about, 360)
    largest = abs(here.couple_nm).max() + abs(here.force_n).max() + 1e-9
    assert there.couple_nm == pytest.approx(here.couple_nm - here.force_n * about / 1000, abs=1e-9 * largest)


@given(st.sampled_from(sorted(GENERIC)), st.floats(1.1, 5))
@examples(40)
def test_force_grows_with_the_square_of_the_speed(name, times):
    _, parts = equal(name)
    slow, fast = shaking.curve(parts, 1000, 0.0, 90), shaking.curve(parts, 1000 * times, 0.0, 90)
    assert fast.force_n == pytest.approx(slow.force_n * times**2, rel=1e-9, abs=1e-6)


def test_cylinders_add_up():
    _, parts = equal("v8-90-crossplane")
    one = [parts._replace(reciprocating_g=np.where(np.arange(8) == i, 700.0, 0.0)) for i in range(8)]
    summed = sum(shaking.curve(p, 5600, 168.0, 90).force_n for p in one)
    assert summed == pytest.approx(shaking.curve(parts, 5600, 168.0, 90).force_n, abs=1e-8)


def test_a_desaxe_offset_brings_odd_orders():
    _, parts = equal("inline-1", desaxe=5.0)
    third = shaking.orders(shaking.curve(parts, 5600, 0.0), 3)[2]
    assert abs(third.force_forward) > 1
    straight = shaking.orders(shaking.curve(equal("inline-1")[1], 5600, 0.0), 3)[2]
    assert abs(straight.force_forward) < 1e-8


@pytest.mark.parametrize(("rod", "desaxe"), [(46.0, 0.0), (40.0, 0.0), (50.0, 5.0)])
def test_a_crank_that_cannot_turn_is_refused(rod, desaxe):
    with pytest.raises(ValueError, match="cannot turn"):
        shaking.assembly(generic_layout("inline-1"), [700.0], 46.0, rod, desaxe)
