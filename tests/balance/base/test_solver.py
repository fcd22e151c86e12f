"""Programmes put together, solved and asked."""

import random

import numpy as np
import pytest

from truethrow.balance.base.solver import UNBOUNDED, Programme


def prototype():
    """Hillier and Lieberman, Introduction to Operations Research, the prototype example of linear programming,
    from memory: the most of 3x + 5y with x ≤ 4, 2y ≤ 12, 3x + 2y ≤ 18."""
    programme = Programme()
    x, y = programme.column(-3.0), programme.column(-5.0)
    for most, terms in ((4.0, {x: 1.0}), (12.0, {y: 2.0}), (18.0, {x: 3.0, y: 2.0})):
        programme.row(-UNBOUNDED, most, terms)
    return programme


def test_the_textbooks_example_has_the_textbooks_answer_and_prices():
    """36 at (2, 6); one more of each row is worth 0, 3/2 and 1."""
    programme = prototype()
    programme.run()
    assert programme.is_best
    assert programme.total == pytest.approx(-36)
    assert programme.values == pytest.approx([2, 6])
    assert programme.prices == pytest.approx([0, -1.5, -1])


def test_what_is_held_otherwise_and_costs_otherwise_is_solved_anew():
    programme = prototype()
    programme.hold_column(0, 0.0, 1.0)
    programme.hold_row(1, 0.0, 8.0)
    programme.run()
    assert programme.values == pytest.approx([1, 4])
    programme.cost({1: 1.0})  # only y costs now, and the less the better
    programme.run()
    assert programme.total == pytest.approx(0)


def test_whole_numbers_are_whole():
    """Two pieces of 5 and 4 in a room of 8: parts of both fill it, whole ones leave 3 or nothing."""
    programme = Programme()
    five, four = (programme.column(-mass, 2.0, whole=True) for mass in (5.0, 4.0))
    programme.row(0.0, 8.0, {five: 5.0, four: 4.0})
    programme.run()
    assert programme.values == pytest.approx([0, 2])


def test_a_column_may_join_rows_that_are_there():
    programme = Programme()
    row = programme.row(6.0, UNBOUNDED)
    programme.column(2.0, entries={row: 3.0})
    programme.run()
    assert programme.values == pytest.approx([2])


def test_what_cannot_be_is_said_to():
    programme = prototype()
    programme.row(20.0, UNBOUNDED, {0: 1.0, 1: 1.0})
    programme.run()
    assert programme.is_impossible
    assert not programme.is_best
    assert not programme.is_feasible


def test_many_whole_columns_at_once_take_every_row_once():
    """A set partitioning: of {1}, {2}, {1, 2}, {3}, {2, 3} at 2, 2, 3, 2 and 3 the cheapest that take 1, 2 and 3
    once each; by hand, {1, 2} and {3} or {1} and {2, 3}, 5."""
    programme = Programme()
    for _ in range(3):
        programme.row(1.0, 1.0)
    sets = np.array([[1, 0, 0], [0, 1, 0], [1, 1, 0], [0, 0, 1], [0, 1, 1]])
    programme.many_columns(np.array([2.0, 2.0, 3.0, 2.0, 3.0]), sets, 1, whole=True)
    programme.run()
    assert programme.is_best
    assert programme.total == pytest.approx(5)
    assert (np.array(programme.values) @ sets == 1).all()
    assert programme.nodes >= 0


def test_a_long_search_for_whole_numbers_is_watched():
    """Four sums of odd masses that have to be met at once: nothing that the first look settles."""
    looks = []
    draw = random.Random(4)
    programme = Programme(mip_max_nodes=20, time_limit=10.0)
    programme.watch = lambda: looks.append(None)
    columns = [programme.column(1.0, 5.0, whole=True) for _ in range(30)]
    for _ in range(4):
        masses = {column: float(draw.randint(101, 999)) for column in columns}
        wanted = sum(masses.values()) + draw.randint(1, 99)
        programme.row(wanted - 1, wanted + 1, masses)
    programme.run()
    assert looks
