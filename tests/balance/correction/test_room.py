"""Where a tool still fits."""

import math

import cranks
from crank_walls import (
    PLANES,
    TIGHT,
    assert_walls_kept,
    shops,
    unbalances,
)
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.correction import apply, plan, still_fits
from truethrow.balance.correction.room import wall_left_mm
from truethrow.balance.crank.crank import to_depth
from truethrow.balance.crank.holes import Hole


def test_a_plate_that_may_be_drilled_all_round_has_no_ends():
    """As much metal beside a hole at 0 degrees as at 77; an arc of one degree less than all round has its ends."""
    plate = {"name": "plate", "at": 400.0, "radius": 110.0, "thickness": 10.0}
    arc = {"arc": [{"from": 0, "to": 359}]}
    whole, open_ring = (cranks.crank([], external=[one]) for one in (plate, plate | arc))
    for angle, clear in ((0.0, False), (1.0, False), (77.0, True), (358.0, False)):
        hole = Hole("plate", "axial", angle, 110.0, 400.0, 8.0, 10.0, 500.0, 4.0)
        assert wall_left_mm(apply(whole, [hole]), hole) == math.inf
        assert (wall_left_mm(apply(open_ring, [hole]), hole) >= 3.0) == clear


@given(shops(), unbalances, st.floats(0, 8), st.randoms(use_true_random=False))
@examples(25)
def test_what_still_fits_keeps_every_wall_point_by_point(shop, measured, more, rng):
    crank, tools = shop
    made = plan(crank, tools, measured, PLANES, allowed_gmm=TIGHT).operations
    radial = [hole for hole in made if hole.kind == "radial"]
    if not radial:
        return
    done = rng.choice(radial)
    member = crank.member(done.member)
    most = member.outer_mm - member.inner_mm - (done.tip_mm - done.depth_mm)
    done, rest = to_depth(member, done, min(most, done.depth_mm + more)), [h for h in made if h != done]
    really = apply(crank, [done])
    fits = still_fits(really, rest)
    assert all(fits) or more > 0
    assert_walls_kept(really, [hole for hole, keeps in zip(rest, fits, strict=True) if keeps])
