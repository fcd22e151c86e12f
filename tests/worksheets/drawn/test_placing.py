"""Labels find room: apart, in their order, where they are wanted."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.worksheets.drawn import placing


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0.5, 9)), max_size=10))
def test_labels_in_a_row_are_apart_and_keep_their_order(labels):
    wanted, widths = [x for x, _ in labels], [width for _, width in labels]
    placed = placing.apart(wanted, widths, 0.0, 100.0)
    order = sorted(range(len(labels)), key=lambda i: wanted[i])
    for one, other in itertools.pairwise(order):
        assert placed[other] - placed[one] >= (widths[one] + widths[other]) / 2 - 1e-6
    for x, width in zip(placed, widths, strict=True):
        assert width / 2 - 1e-6 <= x <= 100 - width / 2 + 1e-6


def test_a_label_with_room_stays_where_it_is_wanted():
    assert placing.apart([10.0, 50.0, 52.0], [4.0, 6.0, 6.0], 0.0, 100.0) == pytest.approx([10.0, 48.0, 54.0])


@given(st.lists(st.floats(0, 360), max_size=20), st.floats(1, 18))
def test_labels_in_a_circle_are_apart(wanted, width):
    placed = sorted(angle % 360 for angle in placing.around(wanted, width))
    gaps = [(after - before) % 360 for before, after in itertools.pairwise([*placed, *placed[:1]])]
    if len(placed) > 1:
        assert all(min(gap, 360 - gap) >= width - 1e-6 for gap in gaps)
