"""Figures in the shop's units, with the digits that the scale supports."""

import invented
import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.told import rounded
from truethrow.balance.crank.holes import Drill, Tools
from truethrow.balance.result.work import work
from truethrow.worksheets.data import result_data
from truethrow.worksheets.shown.display import Display, angle, inward

GRAMS = Display("g", "mm", 0.1)


@pytest.mark.parametrize(
    ("value", "finer", "shown"),
    [(1866.5, 0, "1866.5"), (1862.35, 1, "1862.35"), (-0.04, 0, "0.0"), (2.675, 1, "2.68"), (0.15, 0, "0.2")],
)
def test_mass_to_the_scales_digits(value, finer, shown):
    assert GRAMS.mass(value, finer) == shown


@pytest.mark.parametrize(
    ("number", "places", "shown"),
    [
        (452.25, 1, "452.3"),
        (452.35, 1, "452.4"),
        (-452.25, 1, "-452.3"),
        (0.5, 0, "1"),
        (2.5, 0, "3"),
        (-0.04, 1, "0.0"),
    ],
)
def test_a_half_goes_away_from_zero_as_a_hand_rounds_it(number, places, shown):
    """Halves of readings, which round() takes to the even digit, or to where the binary fraction lies."""
    assert rounded(number, places) == shown


@given(st.integers(-(10**9), 10**9), st.integers(0, 4))
def test_rounding_is_symmetric_and_keeps_what_fits(count, places):
    assert rounded(count / 10**places, places).lstrip("-") == rounded(-count / 10**places, places).lstrip("-")
    assert float(rounded(count / 10**places, places)) == count / 10**places


def test_inches_and_ounces_and_a_mass_as_the_scale_shows_it():
    """A step of 0.1 g is 0.0035 oz: three places. 720.077887375 g·mm are one oz·in."""
    inch = Display.of(invented.build(invented.document()), "inch")
    assert inch.masses(538.64093937) == "538.6 g"
    assert inch.in_both(28.349523125) == "28.3 g (1.000 oz)"
    assert Display.of(invented.build(invented.document()), "metric").in_both(28.349523125) == "28.3 g"
    assert inch.unbalance(7200.77887375, 72.0) == "10.00"
    assert str(inch.length(92.0)) == "3.622 in"
    assert str(inch.displacement(502 * 2.54**3)) == "502.0 in³"
    assert str(inch.piston_speed(5.08)) == "1000 ft/min"


@pytest.mark.parametrize(
    ("gmm", "shown"),
    [(130.59, "130.5"), (130.0, "130"), (99.96, "99.9"), (0.1 + 0.2, "0.3"), (5.678, "5.67"), (1180.0, "1180")],
)
def test_a_limit_is_told_alike_and_never_as_more_than_it_is(gmm, shown):
    assert GRAMS.limit(gmm) == shown


@given(st.floats(1e-3, 1e6), st.sampled_from([GRAMS, Display("oz", "in", 0.0035)]))
def test_no_limit_is_rounded_up(gmm, show):
    one = {"g": 1.0, "oz": 720.077887375}[show.mass_unit]
    shown = float(show.limit(gmm)) * one
    assert gmm - max(0.1, 0.01 * gmm) <= shown <= gmm * (1 + 1e-9) + 1e-6


def ounces(of=lambda grams: f"{grams / 28.349523125:.3f} oz"):
    """A job whose parts were read in another unit than its own, by text."""
    return [
        p | {k: [of(g) for g in v] if isinstance(v, list) else of(v) for k, v in p.items() if k != "number"}
        for p in invented.cylinders()
    ]


@pytest.mark.parametrize(("show", "unbalance"), [(None, "g·mm"), ("inch", "oz·in"), ("metric", "g·mm")])
def test_a_job_in_grams_that_was_weighed_in_ounces_has_its_masses_in_ounces(show, unbalance):
    job = invented.build(invented.document(ounces(), scale={"resolution": "0.005 oz"}))
    own = Display.of(job, show)
    assert (own.mass_unit, own.places, own.unbalance_unit) == ("oz", 3, unbalance)
    assert str(own.as_given(job.scale.resolution_g)) == "0.005 oz"
    assert own.in_both(28.349523125) == ("1.000 oz" if show == "inch" else "1.000 oz (28.3 g)")


def test_a_job_in_ounces_that_was_weighed_in_grams_has_its_masses_in_grams():
    job = invented.build(
        invented.document(
            ounces(lambda grams: f"{grams} g"),
            job={"id": "x", "mass_unit": "oz"},
            scale={"resolution": "0.1 g"},
        )
    )
    own = Display.of(job)
    assert (own.mass_unit, own.places, own.unbalance_unit) == ("g", 1, "oz·mm")


@pytest.mark.parametrize(("degrees", "shown"), [(0, "0°"), (359.7, "0°"), (-90, "270°"), (187.4, "187°")])
def test_angles_stay_below_a_full_turn(degrees, shown):
    assert angle(degrees) == shown


def test_report_holds_every_section_asked_for_and_no_more():
    result = work(invented.build(invented.document()))
    assert set(result_data.as_data(result, ("bobweights",))) == {"job", "bobweights", "outside"}
    whole = result_data.as_data(result, ("head", "bobweights", "spreads", "slips", "trim"))
    assert whole["bobweights"]["throws"][0]["bobweight_g"] == 1866.5
    assert whole["trim"] is None
    assert whole["outside"] is False


def test_a_window_is_never_told_wider_than_it_is():
    show = Display("g", "mm", 0.1)
    assert inward(show, 537.72, 539.28) == ("537.8", "539.2")
    assert inward(show, 537.7, 539.3) == ("537.7", "539.3")
    assert inward(show, 537.72, 539.28, finer=1) == ("537.72", "539.28")


def test_a_pull_in_newtons_or_pounds():
    """1 lbf = 0.45359237 kg × 9.80665 m/s² = 4.4482216152605 N (exact)."""
    assert Display("g", "mm", 0.1).force(444.82216) == "445 N"
    assert Display("oz", "in", 0.1).force(444.82216) == "100 lbf"


def test_a_drill_is_told_as_the_shop_calls_it_whatever_unit_is_asked_for():
    drills = (Drill(12.7, 118.0, 0.5, 30.0, "1/2 in"), Drill(12.0, 118.0, 0.5, 30.0, "12 mm"))
    for length_unit in ("mm", "in"):
        show = Display("g", length_unit, 0.1).with_drills(Tools(drills))
        assert (show.drill(12.7), show.drill(12.0)) == ("1/2 in", "12 mm")
    assert Display("g", "in", 0.1).with_drills(Tools(drills)).drill(25.4) == "1 in"


@pytest.mark.parametrize(("grams", "said"), [(0.3, "0.3 g"), (0.05, "0.1 g"), (0.04, "0.04 g"), (0.0, "0.0 g")])
def test_a_difference_that_there_is_is_never_told_as_none(grams, said):
    assert Display("g", "mm", 0.1).difference(grams) == said
