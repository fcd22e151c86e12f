"""A job beside the same job with something else: both are what each would be alone."""

import dataclasses

import invented
import pytest

from truethrow.balance.result.work import work
from truethrow.balance.running import changes as asked
from truethrow.balance.running.running import shake
from truethrow.balance.running.what_if import what_if


def beside(made, **typed):
    return what_if(work(made), asked.changed(made, asked.read(made, **typed)))


def test_what_shakes_is_that_of_the_edited_job():
    made = invented.build(invented.document(invented.cylinders(piston={3: 545.0})))
    edited = invented.build(
        invented.document(
            invented.cylinders(piston={3: 545.0}, big_end={7: 455.0}, small_end={7: 169.0}),
            bobweight={"share": 0.45, "oil": 4.0},
        )
    )
    found = beside(made, share="0.45", parts=["rod 7 = 455 + 169"])
    for side, alone in ((found.now, made), (found.then, edited)):
        shaken = shake(work(alone), 5600)
        assert side.shake.force == shaken.force
        assert side.shake.couple == shaken.couple
        assert side.shake.force_expanded_n == pytest.approx(shaken.force_expanded_n)


@pytest.mark.parametrize("key", ["stroke", "rod_length", "cylinder_spacing", "top_speed"])
def test_without_a_length_or_a_speed_nothing_shakes_and_the_rest_is_told(key):
    engine = {name: value for name, value in invented.V8.items() if name != key}
    found = beside(invented.build(invented.document(engine=engine)), share="0.4")
    assert found.now.shake is None
    assert found.then.shake is None
    assert found.then.result.bobweights.hung_g < found.now.result.bobweights.hung_g


def test_a_spread_that_only_one_side_has_is_none_on_the_other():
    every = {"rings": 41.0}
    parts = [{k: v for k, v in one.items() if k != "rings"} for one in invented.cylinders()]
    made = invented.build(invented.document(parts, every_cylinder=every))
    told = {(now or then).quantity: (now, then) for now, then in beside(made, parts=["rings 3 = 40"]).spreads}
    assert told["rings"][0] is None
    assert told["rings"][1].spread_g == pytest.approx(1.0)
    told = {(now or then).quantity: (now, then) for now, then in beside(made, parts=["piston = 530"]).spreads}
    assert told["piston"][0].spread_g == 0.0
    assert told["piston"][1] is None


def test_only_what_would_be_a_new_slip_is_told_as_one():
    made = invented.build(invented.document(invented.cylinders(pin={2: 121.1})))
    found = beside(made, parts=["piston 3 = 583.4"])
    assert [(slip.check, slip.cylinder, slip.kind) for slip in found.new_slips] == [("outlier", 3, "piston")]
    assert {slip.cylinder for slip in found.now.result.slips} == {2}


def test_both_sides_are_frozen():
    made = invented.build(invented.document())
    with pytest.raises(dataclasses.FrozenInstanceError):
        beside(made, share="0.4").then.result.job.share = 1.0
