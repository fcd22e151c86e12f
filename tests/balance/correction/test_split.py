"""The ideal split: the stretches of metal, how many holes fit, and the programme, each worked out another way; the
search for it ends by what it did."""

import cmath
import itertools
import math
import random

import cranks
import numpy as np
import pytest
from crank_walls import PLANES, vector
from scipy.optimize import Bounds, LinearConstraint, milp

from truethrow.balance.correction import split
from truethrow.balance.correction.room import places, slug_places

TOOLS = cranks.TOOLS


def test_the_search_ends_by_what_it_did_and_not_by_the_clock():
    solver = split._Programme(0.5).highs
    assert solver.getOptionValue("time_limit")[1] == math.inf
    assert solver.getOptionValue("mip_max_nodes")[1] < 1000


@pytest.mark.parametrize("seed", range(6))
def test_so_many_holes_together_take_what_the_best_choice_of_their_angles_takes(seed):
    """Every choice of angles a pitch apart, of eleven at odd distances."""
    draw = random.Random(seed)
    after = np.cumsum([draw.choice((1.0, 1.0, 2.0, 3.0)) for _ in range(11)]) - 1.0
    most, pitch = [draw.uniform(10, 100) for _ in after], draw.choice((2.5, 4.0, 6.0))
    best = [0.0]
    for many in range(1, 12):
        fit = [
            sum(most[at] for at in chosen)
            for chosen in itertools.combinations(range(11), many)
            if all(after[two] - after[one] >= pitch for one, two in itertools.pairwise(chosen))
        ]
        if not fit:
            break
        best.append(max(best[-1], *fit))
    assert split._together_gmm(after, np.array(most), pitch) == pytest.approx(best)


def test_neighbouring_angles_are_a_stretch_up_to_170_degrees():
    """A gap of two degrees parts them; a whole turn is cut where more than 170 would be in one."""
    angles = np.array([0.0, 1.0, 2.0, 4.0, 5.0, 359.0])
    assert split._runs(angles, np.array([1.0, 1.0, 0.0, 1.0, 1.0, 1.0])) == [[0, 1], [3, 4], [5]]
    turn = np.arange(360.0)
    runs = split._runs(turn, np.ones(360))
    assert [len(run) for run in runs] == [171, 171, 18]
    assert list(itertools.chain(*runs)) == list(range(360))


@pytest.mark.parametrize("seed", range(3))
def test_a_stretch_has_the_most_that_any_tool_takes_at_each_angle(seed):
    """Angle by angle, depth by depth; the planes' parts by levers; a hole beside another a wall away on the rim;
    the least metal for what is taken."""
    crank = cranks.scattered(seed).crank
    sites = places(crank, TOOLS)
    found = split.stretches(sites, PLANES)
    assert {one.member for one in found} == {site.member.name for site in sites}
    for one in found:
        own = [site for site in sites if site.member.name == one.member]
        for angle, most in zip(one.angle_deg, one.most_gmm, strict=True):
            takes = [
                float(site.depths.removes_gmm[depth])
                for site in own
                for at, depth in np.argwhere(site.free).tolist()
                if site.angle_deg[at] == angle
            ]
            assert most == pytest.approx(max(takes))
        z = own[0].member.z_mm
        assert one.shares == pytest.approx(((336.0 - z) / 336.0, z / 336.0))
        each = [
            mass / takes
            for site in own
            for mass, takes in zip(site.depths.mass_g, site.depths.removes_gmm, strict=True)
        ]
        assert one.gram_per_gmm == pytest.approx(min(each))
        # The nearest two that fit: the chord between their axes is a drill and a wall.
        pitch = min(
            math.degrees(2 * math.asin((site.depths.diameter_mm + crank.wall_mm) / 2 / site.depths.radius_mm))
            for site in own
        )
        after = (np.array(one.angle_deg) - one.angle_deg[0]) % 360
        both = [
            one.most_gmm[i] + one.most_gmm[j]
            for i, j in itertools.combinations(range(len(after)), 2)
            if after[j] - after[i] >= pitch - 1e-9
        ]
        assert one.together_gmm[1] == pytest.approx(max(one.most_gmm))
        assert one.together_gmm[2:3] == pytest.approx([max(both)] if both else [])


def test_any_number_of_holes_is_so_many_times_the_largest():
    found = split.stretches(places(cranks.crank(), TOOLS), PLANES, unlimited=True)
    for one in found:
        assert one.together_gmm == pytest.approx([n * max(one.most_gmm) for n in range(21)])


@pytest.mark.parametrize("apart", [10.0, 7.0, 33.0])
def test_a_fan_has_both_ends_and_no_wider_gap(apart):
    for one in split.stretches(places(cranks.crank(), TOOLS), PLANES):
        fan = one.fan(apart)
        angles = [(one.angle_deg[at] - one.angle_deg[0]) % 360 for at in fan]
        assert (fan[0], fan[-1]) == (0, len(one.angle_deg) - 1)
        assert max(two - at for at, two in itertools.pairwise(angles)) <= apart + 1.0
        assert len(fan) <= 1 + math.ceil(angles[-1] / apart)


def test_a_slug_may_be_at_every_tenth_degree_where_it_has_room():
    sites = slug_places(cranks.crank(cranks.v8_weights(bore="front")), TOOLS)
    spots = split.slug_spots(sites)
    by_hand = [(site, at) for site in sites for at in range(0, len(site.angle_deg), 10) if site.free[at, 0]]
    assert [(id(site), at) for site, at in spots] == [(id(site), at) for site, at in by_hand]


def plainly(found, spots, target, allowed, aim, most_holes):
    """The programme written down once more, for another interface: the least of holes, 3 for a slug, 20 for each
    allowed amount beyond the aim, a fifth of the worst that is left, a hundredth of the metal of a largest hole
    (what each weighs is common practice, no source)."""
    fans = [[(one.angle_deg[at], one.most_gmm[at]) for at in one.fan(10.0)] for one in found]
    costs, whole, upper = [20.0, 0.2], [0, 0], [np.inf, np.inf]  # beyond, worst
    gives, spends = [], []
    rows, lows, highs = [], [], []

    def column(cost, most=np.inf, *, is_whole=False):
        costs.append(cost), whole.append(int(is_whole)), upper.append(most)
        return len(costs) - 1

    def row(terms, high):
        rows.append(terms), lows.append(-np.inf), highs.append(high)

    counted = []
    for one, fan in zip(found, fans, strict=True):
        holes = column(1.0, min(len(one.together_gmm) - 1, most_holes), is_whole=True)
        counted.append(holes)
        own = []
        for angle, most in fan:
            at = column(0.01 / most)
            own.append((at, most))
            gives.append((at, vector(1.0, angle), one.shares))
            spends.append((at, 1.0))
        row([(holes, -1.0), *((at, 1 / most) for at, most in own)], 0.0)
        row([(at, 1.0) for at, _ in own], max(one.together_gmm))
    row([(at, 1.0) for at in counted], most_holes)
    picks = []
    for site, at in spots:
        pick = column(3.0, 1.0, is_whole=True)
        picks.append(pick)
        amount = vector(float(site.depths.removes_gmm[0]), float(site.angle_deg[at]))
        z = float(site.depths.z_mm[0])
        gives.append((pick, amount, ((336.0 - z) / 336.0, z / 336.0)))
        spends.append((pick, -6.0 * abs(amount)))
    for name in {site.member.name for site, _ in spots}:
        there = [
            (float(s.angle_deg[a]), p, s) for (s, a), p in zip(spots, picks, strict=True) if s.member.name == name
        ]
        pitch = max(
            math.degrees(2 * math.asin((s.depths.diameter_mm + s.wall_mm) / 2 / s.depths.radius_mm))
            for *_, s in there
        )
        for start, *_ in there:
            row([(p, 1.0) for angle, p, _ in there if (angle - start) % 360 < pitch], 1.0)
    row(spends, 6.0 * sum(map(abs, target)))
    row([(1, 1.0), (0, -1.0)], aim)
    for plane in (0, 1):
        for corner in range(16):
            towards = cmath.exp(1j * (cmath.phase(target[plane]) + 2 * math.pi * corner / 16)) / allowed[plane]
            along = [(at, -(give * shares[plane] * towards.conjugate()).real) for at, give, shares in gives]
            row([*along, (1, -1.0)], -(target[plane] * towards.conjugate()).real)
    matrix = np.zeros((len(rows), len(costs)))
    for at, terms in enumerate(rows):
        for own, value in terms:
            matrix[at, own] += value
    solved = milp(
        costs,
        constraints=LinearConstraint(matrix, lows, highs),
        integrality=whole,
        bounds=Bounds(0, upper),
    )
    assert solved.success
    return solved.fun


@pytest.mark.parametrize("with_slugs", [False, True])
@pytest.mark.parametrize("seed", range(3))
def test_the_split_costs_what_the_same_programme_written_plainly_costs(seed, with_slugs):
    """Within the fifth of a hole at which the search may end; its vectors leave what it says they leave."""
    weights = cranks.v8_weights(6, bore="front", span_deg=(90, 110, 120)[seed % 3])
    crank = cranks.crank(weights)
    found = split.stretches(places(crank, TOOLS), PLANES)
    slugs = slug_places(crank, TOOLS._replace(slugs=TOOLS.slugs[1:2])) if with_slugs else []
    draw = random.Random(seed)
    target = [vector(draw.uniform(300, 2600), draw.uniform(0, 360)) for _ in range(2)]
    allowed, aim = (60.0, 90.0), 0.5
    made = split.ideal(found, slugs, tuple(target), allowed, PLANES, aim=aim, most_holes=6)
    least = plainly(found, split.slug_spots(slugs), target, allowed, aim, 6)
    worst = made.worst
    own = made.holes + 3 * len(made.slugs) + 20 * max(0.0, worst - aim) + 0.2 * worst
    assert least - 0.2 <= own <= least + 0.2 + 1e-6
    left = list(target)
    for one in made.wanted:
        left = [was - one.vector_gmm * share for was, share in zip(left, one.stretch.shares, strict=True)]
    for site, at in made.slugs:
        amount, z = (
            vector(float(site.depths.removes_gmm[0]), float(site.angle_deg[at])),
            float(site.depths.z_mm[0]),
        )
        left = [was - amount * share for was, share in zip(left, ((336.0 - z) / 336.0, z / 336.0), strict=True)]
    really = max(abs(one) / may for one, may in zip(left, allowed, strict=True))
    assert worst - 1e-6 <= really <= worst / math.cos(math.pi / 16) + 1e-6
