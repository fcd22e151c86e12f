"""From the ideal split to holes that can be drilled: inside the aim, walls kept, none that is not needed."""

import cranks
import pytest
from crank_walls import PLANES, TIGHT, assert_walls_kept, at, vector

from truethrow.balance.correction import changed_by
from truethrow.balance.correction.fewest import Fewest
from truethrow.balance.correction.room import places, slug_places
from truethrow.balance.correction.settle import Settling
from truethrow.balance.correction.split import Split, Wanted, slug_spots, stretches

CRANK = cranks.crank()
TOOLS = cranks.TOOLS
SITES = places(CRANK, TOOLS)
STRETCHES = stretches(SITES, PLANES)
NONE = Split((), (), 0.0)


def settling(target, slugs=(), aim=0.5):
    return Settling(SITES, slugs, target, TIGHT, PLANES, aim=aim)


def ideal(target):
    return next(Fewest(STRETCHES, [], target, TIGHT, PLANES, aim=0.5, most_holes=8).inside())


@pytest.mark.parametrize("angle", [145, 250, 320])
def test_what_is_told_to_be_left_is_what_the_holes_leave(angle):
    """Where the counterweights have metal enough for both planes."""
    target = at(620, angle, 410, angle + 180)
    settled = settling(target).settled(ideal(target))
    left = [abs(one + taken) for one, taken in zip(target, changed_by(settled.holes, PLANES), strict=True)]
    assert settled.worst == pytest.approx(max(gmm / 60 for gmm in left), abs=1e-6)
    assert settled.worst <= 0.5
    assert len(settled.holes) == ideal(target).holes
    assert_walls_kept(CRANK, settled.holes)


def test_a_split_that_asks_for_nothing_gets_a_hole_only_where_one_is_worth_it():
    """Half of what may stay needs none; ten times as much gets holes although the split has none."""
    few = settling(at(30, 40, 0, 0))
    assert few.with_more(few.settled(NONE), 8).holes == []
    many = settling(at(600, 40, 300, 40))
    settled = many.with_more(many.settled(NONE), 8)
    assert settled.holes
    assert settled.worst < 10


def test_no_more_holes_than_may_be():
    several = settling(at(620, 250, 410, 70))
    one, two = (several.with_more(several.settled(NONE), most) for most in (1, 2))
    assert (len(one.holes), len(two.holes)) == (1, 2)
    assert one.worst > two.worst


def test_a_hole_that_is_not_needed_goes():
    """One hole of 400 g·mm does; the split asks for a second one at the other end of the crank."""
    target = at(400, 180, 0, 0)
    (first,) = ideal(target).wanted
    far = next(one for one in STRETCHES if one.member == "4b")
    enough = first._replace(vector_gmm=vector(375, 180))
    settled = settling(target).settled(Split((enough, Wanted(far, vector(5, 0), 1)), (), 0.0))
    assert [hole.member for hole in settled.holes] == [first.stretch.member]


@pytest.mark.parametrize("aim", [0.3, 2.0])
@pytest.mark.parametrize(("amount", "angle"), [(600, 180), (900, 171), (2500, 180), (3100, 188)])
def test_two_holes_on_one_counterweight_stand_side_by_side(amount, angle, aim):
    """Both as near to what is wanted as the wall between them lets them be."""
    target = at(amount, angle, 0, 0)
    there = next(one for one in STRETCHES if one.member == "1a")
    split = Split((Wanted(there, vector(amount, angle), 2), Wanted(there, vector(40, angle), 1)), (), 0.0)
    both = settling(target, aim=aim).settled(split)
    assert {hole.member for hole in both.holes} == {"1a"}
    assert_walls_kept(CRANK, both.holes)


def test_the_slug_that_the_split_names_is_set():
    """Of three slugs the middle one at 130 degrees, nothing else to do: it is set just there, not the smallest
    or the first, and where another is nearer to what is to go, that one is taken."""
    crank = cranks.crank(cranks.v8_weights(bore="front"))
    slugs = slug_places(crank, TOOLS)
    spot = next(
        (place, at)
        for place, at in slug_spots(slugs)
        if place.depths.diameter_mm == 16.0 and place.member.name == "3b"
    )
    place, angle = spot
    exact = place.hole(angle, 0)
    front, rear = (-change for change in changed_by([exact], PLANES))
    settled = settling(at(0, 0, 0, 0).plus(changed_by([], PLANES)), slugs).settled(NONE)
    assert settled.holes == []
    set_there = Settling([], slugs, (front, rear), TIGHT, PLANES, aim=0.5).settled(Split((), (spot,), 0.0))
    assert set_there.holes == [exact]
    assert set_there.worst == pytest.approx(0, abs=1e-9)
