"""Trim on small cases that can be worked by hand."""

import pytest
from trims import PADS, worked

from truethrow.balance.job.levers import pad_grams


def test_one_heavy_piston_is_brought_to_the_top_of_the_window():
    """538.4 seven times and 541.0: the limit of 1.0 less the uncertainty (2·√2·√2·0.1/√12 = 0.115) leaves 0.88, in
    steps of the scale 0.8: 539.2 at the most."""
    plan = worked({"piston": 1.0}, piston={3: 541.0}).trim
    (part,) = plan.parts
    assert (part.cylinder, part.part, part.cuts[0].grams) == (3, "piston", 1.8)
    assert part.expected_g == {"piston": 539.2}
    assert plan.after[0].verdict == "inside"


def test_a_light_piston_pulls_all_others_down_and_is_named_for_a_swap():
    plan = worked({"piston": 1.0}, piston={5: 536.0}).trim
    assert {part.cylinder for part in plan.parts} == {1, 2, 3, 4, 6, 7, 8}
    assert plan.swap.cylinder == 5
    assert plan.swap.grams == pytest.approx(0, abs=1e-6)
    assert plan.swap.grams_now == plan.grams


def test_a_light_piston_out_of_reach_is_a_shortfall_and_no_pad_is_overdrawn():
    plan = worked({"piston": 1.0}, trim=PADS | {"piston": 1.0}, piston={5: 530.0}).trim
    assert {cut.grams for part in plan.parts for cut in part.cuts} == {1.0}
    (shortfall,) = plan.shortfalls
    assert shortfall.spread.spread_g == 7.4
    assert (shortfall.spread.lightest, shortfall.enough_g) == ("5", 7.6)
    assert plan.swap.cylinder == 5


def test_both_ends_of_a_heavy_rod_come_down_by_the_two_equations():
    """3.0 g at the big end and 1.2 g at the small end too much, with windows that leave no room: a limit of
    0.2 g less 0.115 and a step is nothing, so both ends must come down to their sisters'."""
    plan = worked({"big_end": 0.2, "small_end": 0.2}, big_end={4: 455.3}, small_end={4: 172.4}).trim
    (part,) = plan.parts
    big, small = pad_grams(3.0, 1.2, -48, 182, 155)
    by_kind = {cut.pad.kind: cut.grams for cut in part.cuts}
    assert by_kind == pytest.approx({"big_end": big, "small_end": small}, abs=0.1)
    assert part.expected_g == pytest.approx({"big_end": 452.3, "small_end": 171.2}, abs=0.11)


def test_the_small_end_alone_is_cut_where_that_is_enough():
    plan = worked({"big_end": 1.0, "small_end": 1.0}, small_end={2: 174.2}).trim
    (part,) = plan.parts
    (cut,) = part.cuts
    assert cut.pad.kind == "small_end"
    assert part.expected_g["big_end"] > 452.3


def test_nothing_is_ground_on_a_difference_that_the_scale_cannot_tell():
    result = worked({"piston": 1.0}, piston={3: 539.4})
    assert next(s for s in result.spreads if s.quantity == "piston").verdict == "too close to call"
    assert result.trim is None


def test_a_pin_is_not_ground_without_leave():
    plan = worked({"pin": 0.5}, trim={}, pin={1: 114.0}).trim
    assert plan.parts == ()
    assert plan.shortfalls[0].spread.quantity == "pin"


def test_bobweights_of_whole_throws_are_met():
    result = worked({"bobweight": 1.0}, big_end={3: 457.0})
    (part,) = result.trim.parts
    assert part.cylinder in (3, 4)
    assert next(s for s in result.trim.after if s.quantity == "bobweight").verdict == "inside"


def test_a_small_saving_names_no_swap():
    plan = worked({"piston": 1.0}, piston={1: 540.6, 2: 540.8, 3: 540.7, 4: 537.8}).trim
    assert plan.swap is None


@pytest.mark.parametrize(
    ("light", "heavy", "named", "left_g"),
    [(536.0, 543.0, 5, 3.715), (537.4, 541.0, 3, 0.693)],
)
def test_of_two_swaps_that_help_the_one_that_leaves_less_to_grind_is_named(light, heavy, named, left_g):
    """Both save a third of the metal. The window is 1.0 less the uncertainty, 0.1155: with a good piston in the
    light one's place only the heavy one is ground, to 0.8845 above the six others; with one in the heavy one's
    place the six others, to 0.8845 above the light one. What leaves less is named, whichever is tried first."""
    plan = worked({"piston": 1.0}, trim=PADS | {"piston": 9.0}, piston={5: light, 3: heavy}).trim
    assert plan.shortfalls == ()
    assert plan.swap.cylinder == named
    assert plan.swap.grams == pytest.approx(left_g, abs=1e-3)
