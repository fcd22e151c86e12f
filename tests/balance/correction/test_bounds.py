"""What no holes can beat: no real holes ever do."""

import random

import cranks
import numpy as np
import pytest
from crank_walls import PLANES, TIGHT, assert_walls_kept, at

from truethrow.balance.correction.bounds import Bounds, Goal
from truethrow.balance.correction.room import places
from truethrow.balance.correction.split import stretches

AIM = 0.5


def asked(seed):
    """A crank's stretches, its places, and a target over what is allowed."""
    rng = random.Random(seed)
    sites = places(cranks.crank(cranks.v8_weights(rng.choice([6, 8]), rng.uniform(60, 150))), cranks.TOOLS)
    target = at(rng.uniform(0, 900), rng.uniform(0, 360), rng.uniform(0, 900), rng.uniform(0, 360))
    return rng, sites, stretches(sites, PLANES), Goal(target.front / 60, target.rear / 60, 1e9)


def some_holes(rng, sites, several):
    """Up to four real holes anywhere, how many of them lie on each stretch, and what they take of both planes."""
    choice, front, rear, mass_g = np.zeros(len(several), dtype=int), 0j, 0j, 0.0
    for _ in range(rng.randint(1, 4)):
        place = rng.choice(sites)
        angle, depth = (int(rng.choice(both)) for both in np.nonzero(place.free))
        if not place.free[angle, depth]:
            continue
        hole = place.hole(angle, depth)
        choice[[one.member for one in several].index(hole.member)] += 1
        share = (hole.z_mm - PLANES[0]) / (PLANES[1] - PLANES[0])
        front, rear = front - (1 - share) * hole.change_gmm, rear - share * hole.change_gmm
        mass_g += hole.mass_g
    return choice, front / 60, rear / 60, mass_g


@pytest.mark.simulation(whole=40, sample=8)
def test_no_real_holes_leave_less_or_take_less_metal_than_the_prices_say(seed):
    """Source: weak duality; any prices bound, the programme's as much as any others."""
    rng, sites, several, goal = asked(seed)
    bounds = Bounds(several, TIGHT, AIM, (1 + 0j, 1 + 0j))
    for _ in range(60):
        choice, front, rear, mass_g = some_holes(rng, sites, several)
        if any(n > one.holes for n, one in zip(choice, several, strict=True)):
            continue
        own = bounds.nearest([int(n) for n in choice], goal).prices
        any_prices = bounds.at(*(complex(rng.gauss(0, 1), rng.gauss(0, 1)) for _ in "fr"), rng.uniform(0, 1e-3))
        near = Goal(front + 0.2, rear - 0.2j, goal.most_gmm)
        for prices in (own, any_prices):
            left = max(abs(goal.front - front), abs(goal.rear - rear))
            assert bounds.least_worst(prices, choice[None], [goal])[0, 0] <= left + 1e-9
            assert bounds.least_metal_g(prices, choice[None], [near])[0, 0] <= mass_g + 1e-9


@pytest.mark.simulation(whole=40, sample=8)
def test_the_programme_reaches_what_its_prices_prove(seed):
    """The vectors of the answer leave what it says, and its prices say that no holes leave less: within what its
    polygons are off, half a percent of the circle. More holes leave no more."""
    rng, _, several, goal = asked(seed)
    bounds = Bounds(several, TIGHT, AIM, (1 + 0j, 1 + 0j))
    choice = np.array([rng.choice([0, 0, 1, 2]) for _ in several])
    answer = bounds.nearest([int(n) for n in choice], goal)
    front, rear = goal.front, goal.rear
    for vector, one in zip(answer.vectors, several, strict=True):
        front, rear = front - one.shares[0] / 60 * vector, rear - one.shares[1] / 60 * vector
    assert max(abs(front), abs(rear)) == pytest.approx(answer.worst, rel=0.006, abs=1e-6)
    proved = float(bounds.least_worst(answer.prices, choice[None], [goal])[0, 0])
    assert proved == pytest.approx(answer.worst, rel=0.02, abs=1e-3)
    assert bounds.nearest([int(n) + 1 for n in choice], goal).worst <= answer.worst + 1e-6


def test_the_least_metal_comes_inside_the_aim_and_not_where_none_does():
    _, _, several, _ = asked(1)
    bounds = Bounds(several, TIGHT, AIM, (1 + 0j, 1 + 0j))
    first = next(s for s, one in enumerate(several) if one.member == "1a")
    choice = [int(s == first) for s in range(len(several))]
    middle = several[first].angle_deg[len(several[first].angle_deg) // 2]
    goal = Goal(*(at(400, middle, 0, 0).front / 60, 0j), 1e9)
    lightest = bounds.lightest(choice, goal)
    assert lightest is not None
    # The front plane takes 336 + 22 of 336 of it, and 30 g·mm may stay.
    assert abs(lightest.vectors[first]) == pytest.approx((400 - 30) / (358 / 336), rel=0.01)
    assert bounds.lightest([0] * len(several), goal) is None
    assert bounds.lightest(choice, goal._replace(most_gmm=100.0)) is None


def test_an_answer_that_the_solver_loses_is_asked_for_again_and_otherwise_proves_nothing(monkeypatch):
    """Going on from the answer before, it now and then ends with none (seen on one crank in two hundred)."""
    _, _, several, goal = asked(1)
    bounds = Bounds(several, TIGHT, AIM, (1 + 0j, 1 + 0j))
    one = [1] * len(several)
    rightly = bounds.nearest(one, goal)
    kind = type(bounds._programme)
    said = iter([False, True])
    with monkeypatch.context() as patch:
        patch.setattr(kind, "is_best", property(lambda _: next(said)))
        assert bounds.nearest(one, goal).worst == pytest.approx(rightly.worst)
    assert next(said, None) is None
    with monkeypatch.context() as patch:
        patch.setattr(kind, "is_best", property(lambda _: False))
        nothing = bounds.nearest(one, goal)
        assert bounds.lightest(one, goal) is None
    assert bounds.least_worst(nothing.prices, np.array([one]), [goal])[0, 0] <= 0


def test_holes_side_by_side_take_no_more_than_fits():
    """An arc of 14 degrees has room for one hole, and for two only where next to nothing fits."""
    weights = [cranks.weight("1", 0.0, 0.0, 14.0), cranks.weight("2", 336.0, 180.0)]
    narrow, wide = stretches(places(cranks.crank(weights), cranks.TOOLS), PLANES)
    assert narrow.together_gmm[1:] == (max(narrow.most_gmm),) * narrow.holes
    assert wide.holes > 6
    assert wide.together_gmm[:2] == (0.0, pytest.approx(max(wide.most_gmm)))
    assert all(b > a for a, b in zip(wide.together_gmm[:6], wide.together_gmm[1:], strict=False))


def test_the_walls_of_two_holes_bound_what_they_take():
    """No two real holes of one counterweight, walls kept, take more than two side by side are told to."""
    crank = cranks.crank(cranks.v8_weights(span_deg=40.0))
    sites = [one for one in places(crank, cranks.TOOLS) if one.member.name == "1a"]
    (own,) = stretches(sites, PLANES)
    rng, most = random.Random(2), 0.0
    for _ in range(300):
        holes = []
        for place in rng.sample(sites, 2):
            angle, depth = rng.choice(np.argwhere(place.free))
            holes.append((place, int(angle), int(depth)))
        (place, angle, depth), (other, at_angle, at_depth) = holes
        first = place.hole(angle, depth)
        if other.clear_of([first])[at_angle, at_depth]:
            both = [first, other.hole(at_angle, at_depth)]
            assert_walls_kept(crank, both)
            most = max(most, abs(sum(hole.change_gmm for hole in both)))
    assert 0 < most <= own.together_gmm[2]
