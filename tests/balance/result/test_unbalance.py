"""Unbalance in two planes: the tolerance, and how sure the amount is."""

import dataclasses

import invented
import pytest

from truethrow.balance.result.unbalance import (
    allowed_gmm,
    permissible_unbalance_gmm,
    plane_share,
    split_permissible,
)
from truethrow.balance.result.work import work


def test_planes_share_an_unbalance_by_distance():
    assert plane_share(112, 0, 336) == pytest.approx((2 / 3, 1 / 3))
    assert plane_share(-112, 0, 336) == pytest.approx((4 / 3, -1 / 3))


def test_one_plane_is_no_two():
    with pytest.raises(ValueError, match="both at 10"):
        plane_share(0, 10, 10)


@pytest.mark.parametrize("bad", [0, -1, float("nan"), float("inf")])
@pytest.mark.parametrize("position", [0, 1, 2])
def test_permissible_unbalance_refuses_the_impossible(bad, position):
    values = [24.3, 6.3, 5600]
    values[position] = bad
    with pytest.raises(ValueError, match="not a positive number"):
        permissible_unbalance_gmm(*values)


def test_no_plane_gets_less_than_three_tenths():
    """Either way round: what is cut off one plane goes to the other, and nothing is lost."""
    assert split_permissible(100, 10, 0, 100) == pytest.approx((70, 30))
    assert split_permissible(100, 90, 0, 100) == pytest.approx((30, 70))
    assert split_permissible(100, 50, 0, 100) == (50, 50)


@pytest.mark.parametrize(("heavier_g", "said"), [(0.0, "inside"), (2.5, "too close to call"), (8.0, "outside")])
def test_verdict_on_a_plane(heavier_g, said):
    """Grade 6.3 leaves 130.5 g·mm a plane, and the weighing is sure to about 10 g·mm; 3.75 g on throw 1 make
    about 132 g·mm in front."""
    parts = invented.cylinders(big_end={1: 452.3 + heavier_g, 2: 452.3 + heavier_g / 2})
    station = {"crank_mass": "24.3 kg", "grade": 6.3}
    result = work(invented.build(invented.document(parts, station=station)))
    assert result.cost.front.permissible_gmm == pytest.approx(130.527, abs=5e-4)
    assert result.cost.front.verdict == said


def test_uncertainty_of_the_amount_follows_the_throws():
    """Equal, independent bobweights on a cross-plane crank: u of the static vector is √2·r·u in any
    direction (two throws on each axis)."""
    result = work(invented.build(invented.document(invented.cylinders(big_end={1: 480.0}))))
    one = result.certainty.expanded_g(result.bobweights.throws[0].bobweight)
    assert result.cost.static.expanded_gmm == pytest.approx(2**0.5 * 46 * one)


def test_a_grade_alone_allows_nothing():
    """A grade needs the crank's mass and the speed; without either there is no figure, not a guessed one."""
    job = invented.build(invented.document(station={"crank_mass": "24.3 kg", "grade": 6.3}))
    assert allowed_gmm(job) == pytest.approx((130.527, 130.527), abs=5e-4)
    station, engine = job.station, job.engine
    for less in (
        {"station": station._replace(crank_mass_g=None)},
        {"station": station._replace(grade_mm_s=None)},
        {"engine": engine._replace(top_speed_rpm=None)},
    ):
        assert allowed_gmm(dataclasses.replace(job, **less)) == (None, None)


def test_two_alike_are_no_surer_than_any_two():
    """Two pistons of one mass: the spread is nothing, give or take 2·√2·0.1/√6 (JCGM 100:2008, 5.2, k = 2)."""
    engine = dict(invented.V8, layout="inline-2")
    result = work(invented.build(invented.document(invented.cylinders(2), engine=engine)))
    (spread,) = (spread for spread in result.spreads if spread.quantity == "piston")
    assert spread.spread_g == 0
    assert spread.expanded_g == pytest.approx(2 * 2**0.5 * 0.1 / 6**0.5)
