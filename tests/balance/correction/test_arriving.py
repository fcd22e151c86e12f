"""A maker's target: a crank that arrives balanced for other parts."""

import math

import cranks
import pytest
from crank_walls import PLANES, TIGHT, vector

from truethrow.balance.correction import against_target
from truethrow.balance.engine.layout import generic_layout


def arriving(bobweights_g, crank, tools=cranks.TOOLS):
    throws = generic_layout("v8-90-crossplane", 112.0).throws
    return against_target(
        bobweights_g, 1800.0, 46.0, throws, crank, tools, PLANES, allowed_gmm=TIGHT, speed_rpm=5600.0
    )


def test_all_throws_heavier_by_as_much_leave_the_couple_of_the_layout():
    """Cross-plane V8 (3.1623 in the table of layouts): no force, a couple of √10 · deviation · r · spacing, as
    a pair 336 mm apart."""
    found = arriving([1805.0] * 4, cranks.crank())
    assert [throw.over_g for throw in found.throws] == [5.0] * 4
    assert found.throws[1].unbalance.front == pytest.approx(vector(5 * 46 * 2 / 3, 90))
    assert found.unbalance.front + found.unbalance.rear == pytest.approx(0, abs=1e-9)
    assert abs(found.unbalance.front) == pytest.approx(math.sqrt(10) * 5 * 46 * 112 / 336)


def test_a_crank_for_lighter_parts_needs_heavy_metal_and_one_for_heavier_parts_does_not():
    crank = cranks.crank(cranks.v8_weights(span_deg=90.0))
    lighter = arriving([1780.0] * 4, crank)
    assert not lighter.plan.heavy_metal
    assert lighter.plan.stays == ()
    heavier = arriving([1820.0] * 4, crank)
    assert heavier.plan.heavy_metal
    assert any(hole.kind == "slug" for hole in heavier.plan.operations)
    without = arriving([1820.0] * 4, crank, cranks.TOOLS._replace(slugs=()))
    assert without.plan.heavy_metal
    assert without.plan.stays
