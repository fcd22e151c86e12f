"""What a crank's own answer teaches the next plan."""

import cranks
import pytest
from crank_walls import PLANES, at, drilled, vector
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.correction import NEUTRAL, CrankResponse, DrilledStep, changed_by, learned, plan


def step(response, operations, before=None):
    before = before or at(500, 20, 400, 200)
    return DrilledStep(before, operations, before.plus(response.as_measured(changed_by(operations, PLANES))))


def test_a_station_that_reads_wrong_is_learned_plane_by_plane():
    wrong = CrankResponse(1.05 * vector(1, 1), 0.93 * vector(1, -2))
    operations = (drilled(900.0, 20.0, 0.0), drilled(700.0, 200.0, 336.0))
    response = learned([step(wrong, operations)], PLANES, (2.0, 2.0), drilled_mm=0.0)
    assert response.front == pytest.approx(wrong.front, abs=1e-4)
    assert response.rear == pytest.approx(wrong.rear, abs=1e-4)
    back = response.as_drilled(response.as_measured(at(10, 30, 40, 50)))
    assert (back.front, back.rear) == pytest.approx((vector(10, 30), vector(40, 50)))


def test_nothing_is_learned_from_what_one_cannot_tell():
    operations = (drilled(300.0, 20.0, 0.0), drilled(300.0, 200.0, 336.0))
    wrong = CrankResponse(1.02 + 0j, 0.98 + 0j)
    assert learned([step(wrong, operations)], PLANES, (10.0, 10.0)) == NEUTRAL
    assert learned([], PLANES, (10.0, 10.0)) == NEUTRAL


def test_a_hole_of_no_depth_teaches_nothing():
    nothing = drilled(0.0, 20.0, 0.0, depth_mm=0.0)
    assert learned([step(NEUTRAL, (nothing, drilled(300.0, 20.0, 0.0)))], PLANES, (1.0, 1.0)) == NEUTRAL


@given(st.floats(0.5, 1.5), st.floats(-20, 20), st.floats(0.1, 80), st.floats(100, 2000))
def test_learning_goes_towards_what_was_seen_and_never_beyond(gain, angle_deg, uncertain, amount):
    seen = gain * vector(1, angle_deg)
    operations = (drilled(amount, 20.0, 0.0),)
    response = learned([step(CrankResponse(seen, 1 + 0j), operations)], PLANES, (uncertain, uncertain))
    assert abs(response.front - 1) <= abs(seen - 1) + 1e-9
    assert abs(response.front - seen) <= abs(seen - 1) + 1e-9
    assert response.rear == 1
    again = learned([step(CrankResponse(seen, 1 + 0j), operations)] * 4, PLANES, (uncertain, uncertain))
    assert abs(again.front - seen) <= abs(response.front - seen) + 1e-9


def test_the_next_plan_uses_what_was_learned():
    """A station that reads 20 % too much: the plan takes a sixth less, and promises what the station will read."""
    crank, measured = cranks.crank(), at(900, 180, 0, 0)
    plain = plan(crank, cranks.TOOLS, measured, PLANES, allowed_gmm=(20.0, 20.0))
    response = CrankResponse(1.2 + 0j, 1.2 + 0j)
    wiser = plan(crank, cranks.TOOLS, measured, PLANES, allowed_gmm=(20.0, 20.0), response=response)
    taken = [changed_by(made.operations, PLANES).front for made in (plain, wiser)]
    assert abs(taken[0] / taken[1]) == pytest.approx(1.2, abs=0.04)
    promised = measured.plus(response.as_measured(changed_by(wiser.operations, PLANES)))
    assert (wiser.residual.front, wiser.residual.rear) == pytest.approx((promised.front, promised.rear))
    assert abs(wiser.residual.front) <= 20
