"""What is hung, by which rule, and what it leaves."""

import cmath
import dataclasses
import math

import invented
import pytest
from invented import worked

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job import job
from truethrow.balance.result.bobweight import bobweights, to_step
from truethrow.balance.result.work import work


def test_a_matched_engine_leaves_nothing():
    result = worked()
    assert result.bobweights.hung_g == 1866.5
    assert result.cost.front.amount_gmm == pytest.approx(0, abs=1e-9)
    assert result.cost.rear.amount_gmm == pytest.approx(0, abs=1e-9)


def test_one_gram_of_big_end_leaves_its_vector():
    """One gram on throw 2 (90°, z 112 of 336 mm), each throw hung with the other throws' figure: 46 g·mm at
    90°, two thirds of it in the front plane and a third in the rear."""
    result = worked(invented.cylinders(big_end={3: 453.3}), bobweight={"hang": "1866.5 g", "oil": 4.0})
    assert result.bobweights.throws[1].deviation.value_g == 1.0
    for plane, part in (("static", 1.0), ("front", 2 / 3), ("rear", 1 / 3)):
        vector = getattr(result.cost, plane).vector_gmm
        assert vector == pytest.approx(part * 46.0j, abs=1e-6)


def test_a_common_excess_cancels_on_a_cross_plane_crank():
    result = worked(bobweight={"hang": "1800 g", "oil": 4.0})
    assert result.cost.static.amount_gmm == pytest.approx(0, abs=1e-9)
    # … as a force; as a couple it does not: planes apart see the outer throws' share.
    expected = sum(
        66.5 * 46.0 * cmath.exp(1j * math.radians(a)) * (336 - z) / 336
        for a, z in ((0, 0), (90, 112), (270, 224), (180, 336))
    )
    assert result.cost.front.vector_gmm == pytest.approx(expected, abs=1e-6)


def test_each_throw_its_own_leaves_less_than_a_step():
    result = worked(invented.cylinders(big_end={3: 455.75}), bobweight={"hang": "own", "oil": 4.0})
    assert result.bobweights.hung_g is None
    assert all(abs(t.deviation.value_g) <= 0.05 for t in result.bobweights.throws)


def test_the_mean_is_hung_to_the_scales_step():
    result = worked(invented.cylinders(big_end={3: 453.3}), scale={"resolution": 0.5})
    assert result.bobweights.hung_g == 1867.0


def test_oil_may_differ_by_throw():
    result = worked(bobweight={"oil": [4.0, 4.0, 5.0, 6.0]})
    assert [t.bobweight.value_g for t in result.bobweights.throws] == [1866.5, 1866.5, 1867.5, 1868.5]


def test_parts_that_the_engine_does_not_have_weigh_nothing():
    parts = [{k: v for k, v in p.items() if k != "locks"} for p in invented.cylinders()]
    result = worked(parts, engine=dict(invented.V8, without=["locks"]))
    assert result.bobweights.hung_g == 1866.5 - 3.2


def test_one_cylinder_has_planes_and_a_bobweight():
    result = worked(invented.cylinders(1), engine=dict(invented.V8, layout="inline-1"))
    (throw,) = result.bobweights.throws
    assert throw.bobweight.value_g == 498.3 + 865.9 / 2 + 4.0
    assert result.cost.front.z_mm < 0 < result.cost.rear.z_mm


def test_split_pins_carry_one_rod_each():
    engine = dict(invented.V8, throw_angles=[[0, 30], [120, 150], [240, 270]], layout="v6-90-shared")
    result = worked(invented.cylinders(6), engine=engine)
    assert [t.throw.name for t in result.bobweights.throws] == ["1a", "1b", "2a", "2b", "3a", "3b"]
    assert {t.bobweight.value_g for t in result.bobweights.throws} == {498.3 + 865.9 / 2 + 4.0}


@pytest.mark.parametrize(
    ("value", "step", "shown"),
    [(1866.25, 0.5, 1866.0), (1866.75, 0.5, 1867.0), (1866.45, 0.1, 1866.4), (1866.55, 0.1, 1866.6), (7, 2, 8)],
)
def test_to_step_rounds_halves_to_even(value, step, shown):
    assert to_step(value, step) == shown


def test_a_bare_balanced_crank_has_nothing_hung_and_nothing_left():
    engine = dict(invented.V8, layout="v8-90-flatplane")
    result = worked(engine=engine, bobweight={"hang": "none", "oil": 4.0})
    assert result.bobweights.hung_g == 0
    assert result.cost.static.amount_gmm == pytest.approx(0, abs=1e-6)
    assert result.cost.front.amount_gmm == pytest.approx(0, abs=1e-6)


def given(hang):
    data = invented.document([], bobweight={"hang": hang, "oil": 4.0})
    return work(job.build(invented.text(data), given=True))


def test_without_parts_a_throw_carries_what_was_given_oil_and_all():
    result = given(1846.0)
    assert (result.bobweights.rule, result.bobweights.hung_g) == ("given", 1846.0)
    assert result.bobweights.cylinders == ()
    for throw in result.bobweights.throws:
        assert (throw.bobweight.value_g, throw.hung_g, throw.oil_g) == (1846.0, 1846.0, 0.0)
        assert throw.deviation.value_g == 0.0
    assert (result.left, result.spreads, result.slips) == (None, (), ())


def test_a_list_has_one_for_each_throw():
    each = [1846.0, 1850.5, 1843.0, 1846.0]
    weights = given(each).bobweights
    assert [throw.hung_g for throw in weights.throws] == each
    assert weights.hung_g is None
    # With parts it is what each throw is off by that stays: 1866.5 g of the invented V8 less what hangs.
    declared = worked(bobweight={"hang": each, "oil": 4.0}).bobweights
    assert declared.rule == "declared"
    assert [throw.deviation.value_g for throw in declared.throws] == [20.5, 16.0, 23.5, 20.5]


def test_without_parts_or_a_mass_there_is_nothing_to_hang():
    with pytest.raises(ValueError, match="no mass"):
        bobweights(dataclasses.replace(worked().job, parts={}))
    with pytest.raises(BadInput, match="missing"):
        job.build(invented.text(invented.document([], bobweight={"hang": 1846.0})))
