"""How far parts may be off a crank's target before drilling alone no longer does: by hand, and by the planner."""

import cmath
import math

import pytest
from cranks import IN_LINE, THROWS, TOOLS, crank, scattered

from truethrow.balance.correction import against_target
from truethrow.balance.correction.arriving import off_by
from truethrow.balance.correction.ordering import FINE_G, FINE_PART, DrillingRange, drilling_range
from truethrow.balance.engine.layout import Throw

PLANES = 0.0, 336.0


def throws(places=THROWS):
    return tuple(Throw(str(n), angle, z) for n, (z, angle) in enumerate(places, start=1))


def test_what_every_throw_has_over_is_felt_by_moments():
    """A cross-plane crank: the sum of its throws is nothing, their couple is not. By hand, about the rear."""
    _, found = off_by([10.0] * 4, 0.0, 46.0, throws(), PLANES)
    front = sum(460 * cmath.exp(1j * math.radians(angle)) * (336 - z) / 336 for z, angle in THROWS)
    assert found.front == pytest.approx(front)
    assert found.rear == pytest.approx(-front)
    for one in off_by([10.0] * 4, 0.0, 46.0, throws(IN_LINE), PLANES)[1]:
        assert abs(one) < 1e-9, "an in-line four does not mind what all throws carry"


def test_the_ends_of_the_range_are_the_planners(as_many):
    """On random cranks the station's own plan, heavy metal left out, does what is inside the range and not what is
    beyond it."""
    seeds = [seed for seed in range(200) if seed % 3 == 0]  # the cross-plane ones: the others take any
    for seed in seeds[: as_many(50, 2)]:
        made, _, allowed = scattered(seed)
        found = drilling_range(made, TOOLS, 46.0, throws(), PLANES, allowed)
        for way, end in ((-1, found.lighter_g), (1, found.heavier_g)):
            beyond = end + 2 * max(FINE_G, FINE_PART * end)
            for over, does in ((0.5 * end, True), (end, True), (beyond, False)):
                planned = against_target(
                    [1800.0 + way * over] * 4, 1800.0, 46.0, throws(), made, TOOLS, PLANES, allowed_gmm=allowed
                )
                assert planned.heavy_metal is not does, (seed, way, over, found)


def test_a_crank_that_does_not_mind_takes_any():
    found = drilling_range(crank(), TOOLS, 46.0, throws(IN_LINE), PLANES, (100.0, 100.0))
    assert found == DrillingRange(math.inf, math.inf, 0, 0)
    assert found.covers(-1e9, 1e9)


def test_a_range_is_covered_as_a_whole():
    taken = DrillingRange(100.0, 7.0, 8, 6)
    assert taken.covers(-100.0, 7.0)
    assert not taken.covers(-100.1, 7.0)
    assert not taken.covers(-100.0, 7.1)


def test_it_tells_how_far_it_is():
    told = []
    drilling_range(crank(), TOOLS, 46.0, throws(IN_LINE), PLANES, (100.0, 100.0), progress=told.append)
    assert told == sorted(told)
    assert told
