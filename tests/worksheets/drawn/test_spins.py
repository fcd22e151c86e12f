"""The spins of a crank, and the tolerance, at one scale."""

from __future__ import annotations

import pytest
from drawings import SVG, centre_of, checked, parts, state_of, turned
from hypothesis import given
from hypothesis import strategies as st

from truethrow.worksheets.drawn import spins
from truethrow.worksheets.shown.display import Display

METRIC = Display("g", "mm", 0.1)


INCH = Display("oz", "in", 0.0035)


def texts_of(root):
    return [one.text for one in root.iter(f"{SVG}text")]


VECTORS = st.lists(st.tuples(st.floats(0.0, 5000.0), st.floats(0, 360)), max_size=12)


@given(VECTORS, st.floats(5.0, 2000.0))
def test_spins_and_the_tolerance_have_one_scale(polars, limit):
    vectors = [turned(*one) for one in polars]
    root = checked(spins.spins(state_of(*vectors, limit=limit), "front", METRIC))
    (circle,) = parts(root, "limit")
    scale = float(circle.get("r")) / limit
    x, y = centre_of(circle)
    unsure = parts(root, "unsure")
    for disc, vector in zip(unsure, vectors, strict=True):
        rounded = 0.01 + 0.001 * abs(vector) / limit  # a micrometre of the circle's radius
        assert centre_of(disc) == pytest.approx((x + vector.imag * scale, y - vector.real * scale), abs=rounded)
        assert float(disc.get("r")) == pytest.approx(30.0 * scale, abs=0.01 + 0.03 / limit)
    reach = max([1.0, *(abs(v) for v in vectors)])
    assert reach * scale <= spins.RADIUS_MM + 0.01 * reach / limit


def test_spins_at_one_angle_keep_their_numbers_apart():
    state = state_of(*(turned(600 - 5 * n, 203) for n in range(4)), turned(80, 203))
    root = checked(spins.spins(state, "rear", METRIC))
    said = [one.text for one in root.iter(f"{SVG}text")]
    assert {"1", "2", "3", "4", "5"} <= set(said)


def test_the_tolerance_is_never_told_as_more():
    for limit in (130.59, 99.96):
        for show in (METRIC, INCH):
            said = texts_of(checked(spins.spins(state_of(limit=limit), "front", show)))
            assert f"tolerance {show.limit(limit)} {show.unbalance_unit}" in said


def test_the_rim_is_what_the_longest_arrow_reaches():
    said = texts_of(checked(spins.spins(state_of(turned(1180, 203)), "front", METRIC)))
    assert "rim 1210 g·mm" in said


def test_no_spin_is_an_empty_picture():
    said = [one.text for one in checked(spins.spins(state_of(), "front", METRIC)).iter(f"{SVG}text")]
    assert "front plane: no spin yet" in said
