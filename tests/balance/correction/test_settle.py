"""From the ideal split to holes that can be drilled: nearer to it, walls kept, none that is not needed."""

import cranks
import pytest
from crank_walls import PLANES, TIGHT, assert_walls_kept, at

from truethrow.balance.correction import changed_by
from truethrow.balance.correction.room import places
from truethrow.balance.correction.settle import Settling
from truethrow.balance.correction.split import Split, ideal, stretches

CRANK = cranks.crank()
TOOLS = cranks.TOOLS
NONE = Split((), (), 0.0)


def settled(target, split=None, most_holes=8, aim=0.5):
    sites = places(CRANK, TOOLS)
    if split is None:
        split = ideal(stretches(sites, PLANES), [], target, TIGHT, PLANES, aim=aim, most_holes=most_holes)
    return Settling(sites, [], target, TIGHT, PLANES).settled(split, aim=aim, most_holes=most_holes)


@pytest.mark.parametrize("angle", [145, 250, 320])
def test_what_is_told_to_be_left_is_what_the_holes_leave(angle):
    """Where the counterweights have metal enough for both planes."""
    target = at(620, angle, 410, angle + 180)
    holes, worst = settled(target)
    left = [abs(wanted + taken) for wanted, taken in zip(target, changed_by(holes, PLANES), strict=True)]
    assert worst == pytest.approx(max(gmm / allowed for gmm, allowed in zip(left, TIGHT, strict=True)), abs=1e-6)
    assert worst <= 1.0
    assert_walls_kept(CRANK, holes)


def test_a_split_that_asks_for_nothing_gets_a_hole_only_where_one_is_worth_it():
    """Half of what may stay needs none; ten times as much gets holes although the split has none."""
    assert settled(at(30, 40, 0, 0), NONE) == ([], pytest.approx(0.5))
    holes, worst = settled(at(600, 40, 300, 40), NONE)
    assert holes
    assert worst < 10


def test_no_more_holes_than_may_be():
    target = at(620, 250, 410, 70)
    one, two = (settled(target, NONE, most_holes=most) for most in (1, 2))
    assert (len(one[0]), len(two[0])) == (1, 2)
    assert one[1] > two[1]
