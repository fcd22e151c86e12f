"""Drawings in text: what must be seen is there, at its place."""

import cmath
import math

import pytest

from truethrow.balance.layout import GENERIC, generic_layout
from truethrow.worksheets import drawings


def find(lines, text):
    return next((line.index(text), y) for y, line in enumerate(lines) if text in line)


def test_end_view_has_throws_where_they_are():
    lines = drawings.end_view(generic_layout("v8-90-crossplane"))
    at = {name: find(lines, name) for name in "1234"}
    assert at["1"][1] < at["2"][1] < at["4"][1]
    assert at["3"][0] < at["1"][0] == at["4"][0] < at["2"][0]
    assert at["2"][1] == at["3"][1]


@pytest.mark.parametrize("name", sorted(GENERIC))
def test_every_layout_is_drawn_whole(name):
    layout = generic_layout(name, 100.0)
    end, side = drawings.end_view(layout), drawings.side_view(layout)
    for throw in layout.throws:
        assert any(throw.name in line for line in end)
        assert any(f"({throw.name})" in line for line in side)
    carried = "".join(side[-1].split()).split(",")
    assert sum(len(layout.cylinders_on(throw)) for throw in layout.throws) == len(layout.places)
    assert carried
    assert max(map(len, side)) <= 120


def test_side_view_goes_from_the_front_to_the_rear():
    side = drawings.side_view(generic_layout("inline-6", 100.0))
    places = [find(side, f"({n})")[0] for n in range(1, 7)]
    assert places == sorted(places)
    assert find(side, "(1)")[1] < find(side, "(2)")[1]


def test_polar_puts_up_up_and_right_where_angles_grow():
    up, right = drawings.polar([10 + 0j]), drawings.polar([10j])
    assert find(up, "o") == (19, 1)
    assert find(right, "o") == (37, 10)


def test_polar_of_nothing_is_an_empty_ring():
    assert not any("o" in line for line in drawings.polar([0j, 0j]))


def test_polar_of_a_circle_is_round():
    lines = drawings.polar([cmath.exp(1j * math.radians(a)) for a in range(360)])
    marks = [(x, y) for y, line in enumerate(lines) for x, c in enumerate(line) if c == "o"]
    assert all(math.hypot((x - 19) / 2, y - 10) == pytest.approx(9, abs=0.8) for x, y in marks)


def test_beside_keeps_tops_level():
    assert drawings.beside(["a", "bb"], ["c"], gap=1) == ["a  c", "bb"]
