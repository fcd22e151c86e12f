"""What both planes feel of turned counterweights, against points in space and moments by hand."""

import cmath
import math

import pytest
from cranks import scattered

from truethrow.balance.correction import changed_by
from truethrow.balance.correction.lathe import on_the_lathe
from truethrow.balance.correction.planes import TwoPlanes
from truethrow.balance.crank.crank import Arc, Crank, Member
from truethrow.balance.crank.holes import Drill, Slug, Tools, ground_arc

STEEL = 7.85e-3
PLANES = 0.0, 336.0
TOOLS = Tools((Drill(16.0, 118.0, 1.0, 30.0), Drill(8.0, 118.0, 0.5, 20.0)), (Slug(16.0, 16.0),))


def weight(name, z, start, bore=None, holes=()):
    return Member(
        name, z, 24.0, 90.0, 52.0, (Arc(start, 120.0),), STEEL, bore, math.inf, math.inf, None, tuple(holes)
    )


CRANK = Crank((weight("1 front", -22.0, 120.0, "front"), weight("4 rear", 358.0, 300.0, "rear")))


def test_each_plane_feels_it_by_moments_about_the_other():
    found = on_the_lathe(CRANK, 86.0, ["1 front"], PLANES)
    whole = ground_arc(STEEL, 90.0, 24.0, 120.0, 4.0).unbalance_gmm
    change = -cmath.rect(whole, math.pi)
    assert found.change.front == pytest.approx(change * (336 + 22) / 336)
    assert found.change.rear == pytest.approx(change * -22 / 336)
    assert found.then == found.change
    assert found.plan is None
    before = TwoPlanes(100j, -50.0)
    assert on_the_lathe(CRANK, 86.0, ["1 front"], PLANES, before=before).then == before.plus(found.change)


def test_all_that_reach_beyond_are_turned_and_the_plan_is_of_the_turned_crank():
    found = on_the_lathe(CRANK, 89.0, (), PLANES, tools=TOOLS, allowed_gmm=(200.0, 200.0), speed_rpm=6000)
    assert [one.member.name for one in found.turned] == ["1 front", "4 rear"]
    assert found.mass_g == pytest.approx(2 * ground_arc(STEEL, 90.0, 24.0, 120.0, 1.0).mass_g)
    assert found.plan
    assert found.plan.heavy_metal
    for hole in found.plan.operations:
        if hole.kind == "slug":  # its wall is to the new rim
            assert hole.radius_mm + 8.0 + found.crank.wall_mm <= 89.0 + 1e-9
        if hole.kind == "radial":
            assert hole.radius_mm == 89.0
    left = found.then.plus(changed_by([*found.plan.operations, *found.plan.then], PLANES))
    assert found.plan.at_last == pytest.approx(left)


def test_scattered_cranks_keep_their_vectors_when_turned_in_two_steps():
    """A law: in two steps the lathe takes what it takes in one."""
    for seed in range(20):
        crank = scattered(seed).crank
        weights = [member for member in crank.members if not member.external]
        least = max(member.inner_mm for member in weights) + 1.0
        outer = min(member.outer_mm for member in weights)
        if outer - least < 3.0:
            continue
        middle, low = least + 2 * (outer - least) / 3, least + (outer - least) / 3
        once = on_the_lathe(crank, low, (), PLANES)
        first = on_the_lathe(crank, middle, (), PLANES)
        second = on_the_lathe(first.crank, low, (), PLANES)
        for twice, whole in zip(first.change.plus(second.change), once.change, strict=True):
            assert twice == pytest.approx(whole, abs=1e-6)
        assert first.mass_g + second.mass_g == pytest.approx(once.mass_g)
