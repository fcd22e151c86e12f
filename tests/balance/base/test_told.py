"""An object in one line, and as a table."""

import doctest

from truethrow.balance.base import told


def test_the_example():
    assert doctest.testmod(told).failed == 0


def test_a_half_goes_away_from_zero_and_zero_has_no_sign():
    assert [told.rounded(n, 1) for n in (0.25, -0.25, 2.675, -0.01)] == ["0.3", "-0.3", "2.7", "0.0"]


def test_a_label_is_no_markup():
    made = told.table("<b>", ["a & b"], [["<script>", None]])
    assert "<script>" not in made
    assert "<caption>&lt;b&gt;</caption>" in made
    assert "<td>&lt;script&gt;</td><td></td>" in made
