"""External to internal balance and back: vectors as added by hand, and whether the crank has the room."""

import cmath
import math
import random

import cranks
import pytest
from engine_shop import DAMPER, FLEXPLATE, in_planes

from truethrow.balance.correction import TwoPlanes, changed_by, converted
from truethrow.balance.correction.planes import split

ALLOWED = (130.0, 130.0)


def polar(amount, degrees):
    return cmath.rect(amount, math.radians(degrees))


@pytest.mark.parametrize("seed", range(60))
@pytest.mark.parametrize("to", ["internal", "external"])
def test_the_vectors_are_those_added_by_hand(seed, to):
    """Moments about the other plane, by hand (engine_shop.in_planes), to 1e-9. Tools that can do nothing: only the
    vectors are asked here."""
    rng = random.Random(seed)
    vectors = {
        one["name"]: (polar(rng.uniform(0, 3e3), rng.uniform(0, 360)), one["at"]) for one in (DAMPER, FLEXPLATE)
    }
    brings = {name: split(vector, z_mm, cranks.PLANES_MM) for name, (vector, z_mm) in vectors.items()}
    now = TwoPlanes(
        polar(rng.uniform(0, 900), rng.uniform(0, 360)), polar(rng.uniform(0, 900), rng.uniform(0, 360))
    )
    tools = cranks.TOOLS._replace(drills=(), slugs=())
    found = converted(cranks.crank(), tools, now, brings, cranks.PLANES_MM, to=to, allowed_gmm=ALLOWED)
    by_hand = [0j, 0j]
    for vector, z_mm in vectors.values():
        by_hand = [one + other for one, other in zip(by_hand, in_planes(vector, z_mm), strict=True)]
    sign = -1 if to == "internal" else 1
    assert max(abs(one - other) for one, other in zip(found.whole, by_hand, strict=True)) < 1e-9
    for one, was, own in zip(found.unbalance, now, by_hand, strict=True):
        assert abs(one - (was + sign * own)) < 1e-9


def test_there_and_back_is_where_it_was():
    brings = {"damper": TwoPlanes(700 + 100j, -90j)}
    tools = cranks.TOOLS._replace(drills=(), slugs=())
    there = converted(
        cranks.crank(), tools, TwoPlanes(5j, 7), brings, cranks.PLANES_MM, to="internal", allowed_gmm=ALLOWED
    )
    back = converted(
        cranks.crank(), tools, there.unbalance, brings, cranks.PLANES_MM, to="external", allowed_gmm=ALLOWED
    )
    assert list(back.unbalance) == pytest.approx([5j, 7])


def test_what_drilling_can_bring_is_planned_and_what_is_left_is_inside():
    brings = {"damper": split(polar(900, 60), -80.0, cranks.PLANES_MM)}
    nothing = TwoPlanes(0j, 0j)
    found = converted(
        cranks.crank(), cranks.TOOLS, nothing, brings, cranks.PLANES_MM, to="internal", allowed_gmm=ALLOWED
    )
    assert found.has_room
    left = found.unbalance.plus(changed_by(found.plan.operations, cranks.PLANES_MM))
    assert max(map(abs, left)) <= 130.0


def test_a_crank_without_the_room_says_so():
    brings = {"flexplate": split(polar(40_000, 60), 410.0, cranks.PLANES_MM)}
    nothing = TwoPlanes(0j, 0j)
    found = converted(
        cranks.crank(), cranks.TOOLS, nothing, brings, cranks.PLANES_MM, to="internal", allowed_gmm=ALLOWED
    )
    assert not found.has_room
    assert found.plan.heavy_metal


def test_no_hole_of_it_goes_into_a_member():
    crank = cranks.crank(external=[DAMPER])
    brings = {"damper": split(polar(900, 60), -80.0, cranks.PLANES_MM)}
    found = converted(
        crank, cranks.TOOLS, TwoPlanes(0j, 0j), brings, cranks.PLANES_MM, to="external", allowed_gmm=ALLOWED
    )
    assert found.plan.operations
    assert "damper" not in {hole.member for hole in found.plan.operations}
