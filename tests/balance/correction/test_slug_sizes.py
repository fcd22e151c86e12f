"""Slugs that fit nowhere, and the stock size that would: held against the walls themselves."""

from __future__ import annotations

import cranks
import pytest
from crank_walls import PLANES, TIGHT, at

from truethrow.balance.correction import plan, room
from truethrow.balance.correction.slug_sizes import INCH_STEP_MM, misfits
from truethrow.balance.crank.holes import Slug, Tools


def shop(*slugs):
    return Tools(drills=cranks.TOOLS.drills, slugs=tuple(Slug(d, length) for d, length in slugs))


def one_crank(**more):
    """Rim at 90 mm, a wall of 3: between it and the inner radius what is said."""
    weights = [cranks.weight("1", 0.0, 180.0, 120.0, **more), cranks.weight("2", 336.0, 180.0, 120.0, **more)]
    return cranks.crank(weights)


def test_a_slug_of_0_95_in_does_not_fit_where_0_9_in_does():
    """90 - 3 - 63.5 = 23.5 mm between wall and inner radius: 0.95 in are 24.13 mm, 0.9 in 22.86 mm."""
    crank = one_crank(inner_radius=63.5, thickness=30.0)
    (found,) = misfits(crank, shop((0.95 * 25.4, 25.4)))
    assert (found.why, found.by_mm) == ("wide", pytest.approx(0.95 * 25.4 - 23.5))
    assert found.fits == pytest.approx((0.9 * 25.4, 25.4, 1))
    assert found.fits_in == "1"


def test_one_that_is_too_long_or_leaves_too_thin_a_wall_behind_it_is_cut_shorter_or_goes_through():
    crank = one_crank(inner_radius=50.0, thickness=24.0)
    (long,) = misfits(crank, shop((16.0, 30.0)))
    assert (long.why, long.by_mm) == ("long", pytest.approx(6.0))
    assert long.fits == (16.0, 24.0, 1)
    (thin,) = misfits(crank, shop((16.0, 23.0)))  # 1 mm behind it
    assert (thin.why, thin.by_mm) == ("long", pytest.approx(2.0))
    assert thin.fits == (16.0, 21.0, 1)


def test_what_is_told_to_fit_does_and_the_next_size_up_does_not():
    for inner, thickness, wide, long in (
        (60.0, 26.0, 32.0, 25.0),
        (70.0, 20.0, 1.05 * 25.4, 25.4),
        (75.0, 30.0, 20.0, 40.0),
    ):
        crank = one_crank(inner_radius=inner, thickness=thickness)
        (found,) = misfits(crank, shop((wide, long)))
        assert room.slug_places(crank, shop(found.fits[:2]))
        step = INCH_STEP_MM if wide != round(wide) else 0.5
        for larger in (
            (found.fits.diameter_mm + step, found.fits.length_mm),
            (found.fits.diameter_mm, found.fits.length_mm + step),
        ):
            assert larger[0] > wide or larger[1] > long or not room.slug_places(crank, shop(larger))


def test_a_slug_that_fits_is_no_misfit_and_a_crank_that_no_bore_reaches_has_none():
    assert misfits(one_crank(inner_radius=50.0, thickness=24.0), shop((16.0, 16.0))) == []
    assert misfits(one_crank(inner_radius=50.0, thickness=24.0, bore="none"), shop((40.0, 16.0))) == []


def test_a_plan_that_leaves_too_much_says_which_size_would_do():
    crank = one_crank(inner_radius=63.5, thickness=30.0)
    above = at(6200, 0, 6200, 0)
    wide = plan(crank, shop((0.95 * 25.4, 20.0)), above, PLANES, allowed_gmm=TIGHT)
    assert wide.stays
    (found,) = wide.misfits
    assert found.is_enough
    done = plan(crank, shop(found.fits[:2]), above, PLANES, allowed_gmm=TIGHT)
    assert (done.stays, done.misfits) == ((), ())
    assert plan(crank, shop((0.95 * 25.4, 20.0)), above, PLANES, allowed_gmm=TIGHT, slugs=False).misfits == ()
