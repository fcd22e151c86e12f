"""What turns in the engine: what was spun and what hanging leaves, as vectors."""

import cmath
import math

import cranks
import invented
import pytest
from station_shop import STATION, polar, proved, refused

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.base.parts import ENDS
from truethrow.balance.base.readings import Mass, Reading, Scale, certainty, combine
from truethrow.balance.station import balancing
from truethrow.balance.station.inengine import Vector, _Hanging
from truethrow.balance.station.next_steps import next_steps


def spun(run, job, front, rear, parts=None, hang="mean", **tables):
    data = invented.document(parts, station=STATION, crank={"counterweight": cranks.v8_weights()}, **tables)
    data["bobweight"] = {**data["bobweight"], "hang": hang}
    job.write_text(invented.text(data), encoding="utf-8")
    proved(run, front, rear)
    return balancing.load(job, job.with_name("station.toml")).in_engine


def test_like_parts_leave_nothing_and_the_engine_has_what_was_spun(run, job):
    for one, read in zip(spun(run, job, "1.1@20", "0.4@300"), (polar(110, 20), polar(40, 300)), strict=True):
        assert one.hanging.amount_gmm == pytest.approx(0, abs=2.5)  # hung to the scale's step
        assert abs(one.whole.gmm - read) < 2.5
        assert one.spin.vector_gmm == pytest.approx(read)


def test_a_throw_heavier_than_its_bobweight_comes_on_top_by_its_arm(run, job):
    """Big end 3 is 8 g heavier, on throw 2, at 90° and a third of the way back; the mean that hangs on all four
    throws takes a quarter of it, 2 g. In the front plane that is two thirds of 8 · 46 g·mm at 90°, less what 2 g
    on every throw bring there."""
    parts = invented.cylinders(big_end={3: 460.3})
    front, _ = spun(run, job, "0.1@20", "0.1@20", parts)
    arms = {0: 1.0, 90: 2 / 3, 270: 1 / 3, 180: 0.0}  # angle → the front plane's part
    hung = sum(2.0 * 46 * part * cmath.rect(1, math.radians(angle)) for angle, part in arms.items())
    by_hand = 8.0 * 46 * 2 / 3 * 1j - hung
    assert abs(front.hanging.gmm - by_hand) < 3  # the mean is hung to the scale's step
    assert abs(front.whole.gmm - (front.spin.vector_gmm + front.hanging.gmm)) < 1e-6


def test_each_throw_its_own_leaves_less_than_a_step_of_the_scale(run, job):
    front, rear = spun(run, job, "0.1@20", "0.1@20", invented.cylinders(big_end={3: 460.3}), hang="own")
    for one in (front, rear):
        assert one.hanging.amount_gmm < 4 * 0.05 * 46
        assert one.verdict == "inside"


def test_both_uncertainties_count(run, job):
    """What is told of the whole is no surer than either of the two, and no less than both at right angles."""
    front, _ = spun(run, job, "1.1@20", "0.4@300", invented.cylinders(big_end={3: 460.3}))
    assert front.whole.expanded_gmm >= max(front.spin.expanded_gmm, 0) * 0.99
    assert front.whole.expanded_gmm <= math.hypot(front.spin.widest_gmm, front.hanging.expanded_gmm) * 1.01


def test_what_is_signed_for_is_never_inside_by_a_scatter_that_is_only_assumed(run, job):
    """Nobody weighed a part twice: the sum cannot be signed for, and the next step says which parts to weigh."""
    unknown = {"resolution": 0.1, "repeatability": None, "rod_end_repeatability": None}
    planes = spun(run, job, "0.1@20", "0.1@20", scale=unknown)
    assert [one.verdict for one in planes] == ["too close to call"] * 2
    state = balancing.load(job, job.with_name("station.toml"))
    assert {kind in ENDS for _, kind in state.to_settle} == {True, False}
    # As check says it of the spreads.
    assert (
        "too close to call (how far loads scatter on the scale is only assumed); "
        in refused(run, "sign", "--by", "AB")[0]
    )
    said = run("spins", status=1, as_json=False)
    assert "How far loads on the pan and of rod ends scatter is only assumed" in " ".join(said.split())
    assert next_steps(state)[0].startswith("weigh these a second time, so that it is surer: truethrow weigh ")
    parts = invented.cylinders()
    for cylinder, kind in state.to_settle:
        parts[cylinder - 1][kind] = [invented.PARTS[kind]] * 2
    assert [one.verdict for one in spun(run, job, "0.1@20", "0.1@20", parts, scale=unknown)] == ["inside"] * 2


def test_a_vector_is_told_with_two_digits_of_what_it_is_unsure_by():
    vector = Vector(polar(124.4, 37.04), 31.2)
    assert vector.said(METRIC) == "124 ± 31 g·mm at 37°"
    # By hand: 720.08 g·mm are an ounce-inch.
    assert vector.said(ToldIn("g", "oz", "in")) == "0.173 ± 0.043 oz·in at 37°"
    assert Vector(polar(5.0, -90), 1.0).angle_deg == pytest.approx(270)


def test_rods_side_by_side_bring_to_the_sum_what_no_bobweight_matches(run, job):
    """Big ends 1 and 2 apart by 8 g, on throw 1 at 0°, 12 mm before and behind its middle: by hand 8 g · 46 mm ·
    12 mm / 336 mm more in the plane of the heavier one, as much less in the other. Each throw hangs its own."""
    engine = invented.V8 | {"rods_apart": 24.0, "rod_in_front": "left"}
    parts = invented.cylinders(big_end={1: 456.3, 2: 448.3})
    front, rear = spun(run, job, "0.1@20", "0.1@20", parts, hang="own", engine=engine)
    by_hand = 8.0 * 46 * 12 / 336
    for one, more in ((front, by_hand), (rear, -by_hand)):
        assert abs(one.hanging.gmm - more) < 4 * 0.05 * 46
        assert abs(one.whole.gmm - one.spin.vector_gmm - one.hanging.gmm) < 1e-6
    assert abs(front.hanging.gmm - rear.hanging.gmm) == pytest.approx(2 * by_hand, abs=4 * 0.05 * 46)


def test_what_a_signature_keeps_is_each_amount_and_angle_of_the_sum(run, job):
    """Of both planes: the whole, the spin, what hanging leaves and what members bring, at the angles that they
    have, and where nothing was read no angle."""
    front, rear = spun(run, job, "1.1@20", "0.4@300", invented.cylinders(big_end={3: 460.3}))
    for one, amount, at_deg in ((front, 110.0, 20.0), (rear, 40.0, 300.0)):
        kept = one.left
        assert (kept.spin_gmm, kept.spin_deg) == pytest.approx((amount, at_deg))
        for vector, kept_gmm, kept_deg in (
            (one.whole, kept.unbalance_gmm, kept.angle_deg),
            (one.hanging, kept.hanging_gmm, kept.hanging_deg),
            (one.members, kept.members_gmm, kept.members_deg),
        ):
            assert abs(polar(kept_gmm, kept_deg) - vector.gmm) < 1e-6
    none = front._replace(spin=front.spin._replace(vector_gmm=0j))
    assert none.left.spin_deg == 0.0


def test_what_hangs_is_as_sure_in_a_direction_as_its_readings_are_along_it():
    """Three of one reading along throw 1, two of it and five of another across; in the direction of 3 to 4 that is
    0.6 · 3 + 0.8 · 2 = 3.4 of the one and 4 of the other, and of a bobweight unsure by 1 along and 2 across 2.2.
    In quadrature, by hand; in a direction that is none, as unsure as the worse of both axes."""
    one, other = Reading(1, "piston", (400.0,), ("400",)), Reading(2, "piston", (410.0,), ("410",))
    sure = certainty(Scale(0.1, repeatability_g=0.05), [one, other])
    a, b = (Mass.read(reading) for reading in (one, other))
    each = sure.expanded_g(a)
    hanging = _Hanging(combine([(3.0, a)]), combine([(2.0, a), (5.0, b)]), (1 + 2j,))
    assert hanging.expanded_gmm(300 + 400j, sure) == pytest.approx(math.hypot(3.4 * each, 4 * each, 2.2))
    assert hanging.expanded_gmm(-300 - 400j, sure) == pytest.approx(math.hypot(3.4 * each, 4 * each, 2.2))
    assert hanging.expanded_gmm(400 - 300j, sure) == pytest.approx(math.hypot(1.2 * each, 3 * each, 0.4))
    assert hanging.expanded_gmm(0j, sure) == pytest.approx(math.hypot(2 * each, 5 * each, 2))
