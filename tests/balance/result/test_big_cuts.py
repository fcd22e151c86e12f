"""What is to be weighed a second time before so much comes off. A part of 1 %: common practice, no source."""

import invented
import pytest
from trims import PADS

from truethrow.balance.result.big_cuts import BIG_CUT
from truethrow.balance.result.work import work

PLENTY = PADS | {"piston": 20.0}


def once_more(pistons, limits=None):
    parts = invented.cylinders(piston=pistons)
    return work(invented.build(invented.document(parts, limits=limits or {"piston": 1.0}, trim=PLENTY)))


@pytest.mark.parametrize(("grams", "asked"), [(543.0, ()), (546.5, ((3, "piston"),))])
def test_a_part_that_would_lose_more_than_its_hundredth_is_weighed_twice(grams, asked):
    """Down to 539.2 of a piston of 543.0 are 3.8 g, less than 5.43; of 546.5 they are 7.3 g, more than 5.47. The
    others are scattered below it, so that none is taken for a slip and they are no two sets."""
    scattered = {n: [round(538.4 + part * (grams - 538.4), 1)] * 2 for n, part in ((4, 0.7), (5, 0.5), (6, 0.3))}
    result = once_more(scattered | {3: grams})
    assert BIG_CUT == 0.01
    assert result.doubts == ()
    assert result.once_more == asked
    assert (result.trim.parts == ()) == bool(asked)


def test_the_one_that_all_would_be_cut_down_to_is_weighed_twice_too():
    """Seven pistons of 540 to 546 g, each weighed twice, would come down to one of 532.5 g that was weighed once:
    nothing of the plan is worth more than that reading."""
    scattered = {n: [540.0 + 2 * (n % 4)] * 2 for n in range(2, 9)}
    result = once_more(scattered | {1: 532.5}, {"piston": 2.0})
    assert result.doubts == ()
    assert result.once_more == ((1, "piston"),)
    again = once_more(scattered | {1: [532.5] * 2}, {"piston": 2.0})
    assert again.once_more == ()
    assert again.trim.parts
