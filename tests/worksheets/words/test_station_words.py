"""What the station says: an operation, a finding, a stack."""

from types import SimpleNamespace
from typing import get_args

import pytest
from plates import shop

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.correction import Caution, HolePlan, TwoPlanes
from truethrow.balance.correction.slug_sizes import Misfit
from truethrow.balance.crank.holes import Drill, Hole, Slug, Tools
from truethrow.balance.station.spin import Instrument
from truethrow.balance.station.stacked import Stack, Stacks
from truethrow.balance.station.testmass import Finding, FindingKind
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import station_words as words

SHOW, INCH = Display("g", "mm", 0.1), Display("oz", "in", 0.1)
HOLE = Hole("1a", "radial", 180.0, 90.0, -22.0, 12.0, 15.0, 1234.0, 13.3, 118.0)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({}, "1a, at crank 180.0°: drill 12 mm into the rim, 15 mm deep, 18.6 mm to the tip; takes 1234 g·mm"),
        (
            {"kind": "axial", "radius_mm": 70.0},
            "drill 12 mm along the crank at radius 70 mm, 15 mm deep, 18.6 mm to the",
        ),
        ({"kind": "slug", "removes_gmm": -800.0}, "slug 12 mm at radius 90 mm, bore 15 mm deep; brings 800 g·mm"),
        (
            {"kind": "grind", "arc_deg": 20.0, "depth_mm": 2.0},
            "grind the rim over 20°, 2 mm deep; takes 1234 g·mm",
        ),
    ],
    ids=["radial", "axial", "slug", "grind"],
)
def test_an_operation_says_where_with_what_how_deep_and_what_it_takes(change, said):
    """The tip of a drill of 118° is 6/tan 59° = 3.6 mm below the full diameter."""
    assert said in words.hole(HOLE._replace(**change), SHOW)


def test_an_operation_is_told_in_the_shops_units():
    assert "drill 0.472 in into the rim, 0.591 in deep" in words.hole(HOLE, INCH)


@pytest.mark.parametrize("kind", get_args(FindingKind))
def test_every_finding_is_a_sentence_of_its_own(kind):
    def said(kind):
        return words.finding(Finding(kind, 1.5, 90.0, 30.0, True, "g", 80.0), METRIC)

    assert [said(other) for other in get_args(FindingKind)].count(said(kind)) == 1


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (Finding("sense", with_rotation=False), 'set sense = "against"'),
        (
            Finding("sense", with_rotation=True, zero_deg=30.0),
            'set sense = "with" and zero = 30.0, which is off, too',
        ),
        (
            Finding("zero", 12.0, zero_deg=348.0),
            "the zero is off by 12.0°, as where what was hung sits so far off",
        ),
        (Finding("zero", 12.0, zero_deg=348.0), "if it sits where it was typed: in [spin] set zero = 348.0"),
        (Finding("sense", with_rotation=False), "mirrored, as where the angles of what was hung were counted"),
        (Finding("scale", 1.1, radius_mm=110.0), "as where what was hung sits at 1.1 times the radius that was"),
        (Finding("scale", 25.4, unit="g", radius_mm=100.0), 'set unit = "g" and its radius, about 100.0 mm'),
        (Finding("scale", 1.1, radius_mm=110.0), "set radius = 110.00"),
        (Finding("scale", 1.1, calibrate=True), "calibrate the station"),
        (
            Finding("scale", 1.5),
            "hang another mass, a quarter heavier or lighter at least, before anything in the",
        ),
        (Finding("units", 25.4, mixed="inches and millimeters"), "inches and millimeters are mixed up: look at"),
        (Finding("gain", 1.0), "with the units of its mass and its radius"),
        (
            Finding("rough", 0.14, sure_deg=8.2),
            "known to ± 14% and 8° only, and no worse than 10% and 6° proves anything: hang what is heavier",
        ),
        (
            Finding("rough", 0.2, sure_deg=8.2, calibrate=True),
            "the profile itself is not sure enough for any mass",
        ),
        (Finding("half", plane="rear"), "hang one alone on the rear plane, too"),
        (Finding("exchanged"), "the amounts are those of the two masses exchanged"),
        (Finding("crossed", 0.153), "15% of the other mass is too much or missing"),
        (Finding("unsure", at_deg=90.0), "put the mass at the crank's 90° and spin again"),
    ],
)
def test_a_finding_says_what_to_write_into_the_profile_or_where_to_put_the_mass(found, said):
    assert said in words.finding(found, METRIC)


def test_a_finding_is_told_in_the_shops_units():
    """By hand: 110 mm are 4.331 in; 30 g are 1.058 oz, rounded up to two digits."""
    inch = ToldIn("oz", "oz", "in")
    assert 'set radius = "4.331 in"' in words.finding(Finding("scale", 1.1, radius_mm=110.0), inch)
    unseen = Finding("unseen", 1.0, plane="rear", needed_g=30.0, at_mm=101.6)
    assert words.finding(unseen, inch).endswith("It takes 1.1 oz at least on the rear plane, at 4 in to be seen")


def test_what_is_read_at_the_station_has_the_digits_that_its_floor_leaves():
    grams = Instrument("g", 100.0, True, amount_part=0.02, angle_deg=2.0, floor_gmm=30.0)
    state = SimpleNamespace(instrument=grams, shows=lambda vectors: [grams.shows(one) for one in vectors])
    assert words.reads(state, TwoPlanes(1240j, complex(1240, -0.01))) == ("12.40@90", "12.40@0")  # not 360


def test_a_stack_that_cannot_be_met_says_what_is_nearest():
    missed = Stack(("1", "2"), 40.0, None, None, 39.5, 40.6)
    assert words.throws_of(missed) == "throws 1, 2"
    assert words.unmet(missed, shop(step=0.2), SHOW) == "cannot be met within 0.2 g; nearest: 39.50 g and 40.60 g"
    nothing = Stack(("1",), 40.0, None)
    assert words.throws_of(nothing) == "throw 1"
    assert words.unmet(nothing, shop(step=0.2), SHOW).endswith("nearest: none")
    assert words.lacking(Stacks((missed,), lacking={"plate 20": 2})) == ["2 more of plate 20"]
    assert words.half({"plate 200": 2, "shim 5": 1}) == "2 × plate 200, 1 × shim 5"
    assert words.half({}) == "nothing"


def test_what_is_nothing_has_no_angle():
    assert words.degrees(0j) == 0.0
    assert words.degrees(-1j) == pytest.approx(270)


def test_a_stack_names_the_piece_that_is_short():
    missed = Stack(("1",), 40.0, None, None, 39.5, 40.6, {"plate 20": 4})
    assert words.unmet(missed, shop(step=0.2), SHOW).endswith("40.60 g; short: 4 more of plate 20 would make it")
    coarse = missed._replace(short={}, finer_g=0.25)
    assert words.unmet(coarse, shop(step=0.2), SHOW).endswith("one of 0.25 g more on each half would make it")


def test_a_slug_that_fits_nowhere_says_which_size_would():
    found = Misfit(Slug(24.13, 20.0), "1 front", "wide", 0.63, Slug(22.86, 20.0), "1 front", is_enough=True)
    said = words.misfit(found, SHOW)
    assert "24.13 mm across, 20 mm long fits in no counterweight (nearest: 1 front, 0.63 mm too wide" in said
    assert said.endswith("22.86 mm across, 20 mm long fits in 1 front, and would bring both planes inside")
    assert "nor does any smaller one" in words.misfit(found._replace(fits=None), SHOW)


def test_slugs_that_are_pulled_alike_are_one_line():
    def slug(member, force_n):
        hole = Hole(member, "slug", 0.0, 77.0, 0.0, 16.0, 16.0, -1.0, -1.0)
        return Caution(hole, 3.0, force_n)

    cautions = (slug("1 front", 1448.0), slug("1 front", 1448.0), slug("4 rear", 1448.0), slug("4 rear", 900.0))
    nothing = TwoPlanes(0j, 0j)
    plan = HolePlan((), nothing, (), (*cautions, slug("2 rear", None)), (), nothing, None)
    assert words.pulls(plan, Display("g", "mm", 0.1)) == [
        "each slug in 1 front, 4 rear: 1448 N pull at a wall of 3 mm at top speed",
        "slug in 4 rear: 900 N pull at a wall of 3 mm at top speed",
    ]


def test_a_hole_is_told_with_the_drill_as_the_shop_calls_it_and_a_slug_by_its_size():
    show = INCH.with_drills(Tools((Drill(12.7, 118.0, 0.5, 30.0, "1/2 in"),)))
    radial = Hole("1 front", "radial", 10.0, 90.0, 20.0, 12.7, 5.0, 500.0, 5.0, 118.0)
    assert "drill 1/2 in into the rim, 0.197 in deep" in words.hole(radial, show)
    assert "drill 1/2 in along the crank" in words.hole(radial._replace(kind="axial"), show)
    assert "slug 0.5 in at radius" in words.hole(radial._replace(kind="slug"), show)
