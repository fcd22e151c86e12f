"""The rod on two supports: statics."""

import numpy as np
import pytest

from truethrow.balance.job.levers import lever, pad_grams


@pytest.mark.parametrize("at_mm", [-48.0, 0.0, 60.0, 155.0, 182.0])
def test_support_reactions_of_a_beam(at_mm):
    """Statics, any text (such as Meriam & Kraige, Engineering Mechanics: Statics): a beam on two supports
    carries a weight so that forces and moments vanish. Solved here as that pair of equations."""
    length = 155.0
    big, small = np.linalg.solve(np.array([[1.0, 1.0], [0.0, length]]), np.array([1.0, at_mm]))
    assert lever(at_mm, length) == pytest.approx((big, small), abs=1e-12)


def test_two_pads_together():
    """Recomputed from the same equations: centre distance 155 mm, pads at −48 and 182 mm; to lower the big end
    by 3.0 and the small end by 1.2 take 2.5148 and 1.6852 g."""
    assert pad_grams(3.0, 1.2, -48, 182, 155) == pytest.approx((2.5148, 1.6852), abs=5e-5)


def test_a_pad_beyond_the_small_end_raises_the_big_end_reading():
    big, small = lever(182, 155)
    assert big < 0 < small
    assert big + small == pytest.approx(1)
