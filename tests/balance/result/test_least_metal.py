"""The least metal that brings every spread inside its limit."""

import pytest
from trims import NAMES, worked

from truethrow.balance.result.least_metal import (
    TrimProgramme,
    can_give_g,
    counted,
    falls,
    least_metal,
    reach_of_a_gram,
    window_of,
)
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words


def test_a_reciprocating_limit_alone_is_met_with_the_least_metal():
    """Grams off the small-end pad count 182/155 times at the small end: fewer grams than off the piston."""
    plan = worked({"reciprocating": 1.0}, piston={3: 542.0}).trim
    (part,) = plan.parts
    assert part.part == "rod"
    assert part.cuts[0].pad.kind == "small_end"


def test_a_spread_held_by_another_limit_is_not_blamed_on_a_pad():
    """Piston 3's own spread is inside its narrow limit and must stay so; only the pistons could mend the
    reciprocating masses, so nothing is cut and the sentence names the other limits."""
    limits = {"piston": 0.4, "reciprocating": 1.0}
    trim = {
        "piston": 5.0,
        "pin": 0.0,
        "big_end_pad": {"at": -48, "most": 0},
        "small_end_pad": {"at": 182, "most": 0},
    }
    plan = worked(limits, trim, pin={3: 117.0}).trim
    assert plan.parts == ()
    (shortfall,) = plan.shortfalls
    assert not shortfall.spent
    assert "is held by the other limits" in result_words.shortfall(shortfall, Display("g", "mm", 0.1), NAMES)


def test_the_least_metal_of_one_heavy_piston_by_hand():
    """538.4 seven times and 541.0: down to 538.4 + 1.0 less the uncertainty, 0.115, before any rounding."""
    result = worked({"piston": 1.0}, piston={3: 541.0})
    found = least_metal(result.job, result.certainty)
    expanded = 2 * 2**0.5 * 2**0.5 * 0.1 / 12**0.5  # of a difference of two tared readings
    piston = next(s for s in result.spreads if s.quantity == "piston")
    assert found.grams == pytest.approx(2.6 - (1.0 - piston.expanded_g), abs=1e-6)
    assert piston.expanded_g <= expanded
    assert found.over_g == pytest.approx(0, abs=1e-9)
    assert least_metal(result.job, result.certainty, without=["piston"]).grams == 0


def test_what_no_pad_can_give_stays_over_and_costs_more_than_any_metal():
    result = worked({"piston": 1.0}, {"piston": 1.0}, piston={3: 545.0})
    found = least_metal(result.job, result.certainty)
    assert found.grams == pytest.approx(1.0)
    assert found.over_g > 4
    assert found.cost > 1000 * found.over_g


def test_a_gram_counts_in_a_quantity_as_it_does_on_the_crank():
    job = worked({"piston": 1.0}).job
    assert counted(job, "bobweight")["piston"] == 0.5
    assert counted(job, "bobweight")["big_end"] == 1.0
    assert counted(job, "both_ends") == {"big_end": 1.0, "small_end": 1.0}
    assert reach_of_a_gram(job, "small_end") == {
        "lowers": pytest.approx(182 / 155),
        "raises": pytest.approx(48 / 155),
    }


def test_a_pad_gives_whole_steps_and_each_reading_falls_by_its_lever():
    job = worked({"piston": 1.0}, {"piston": 5.04}).job
    at = {pad.kind: n for n, pad in enumerate(job.pads)}
    assert can_give_g(job, 3, at["piston"]) == 5.0
    assert falls(job, job.pads[at["piston"]], 2.0) == {"piston": 2.0}
    fallen = falls(job, job.pads[at["small_end"]], 2.0)
    assert sum(fallen.values()) == pytest.approx(2.0)


@pytest.mark.parametrize("suspects", [[], [(3, "piston")], [(3, "piston"), (5, "rod")]])
@pytest.mark.parametrize(("grams", "ground"), [(541.0, 1), (535.8, 7)])
def test_a_suspect_is_what_it_is_until_it_is_tried(suspects, grams, ground):
    """One piston 2.6 g too heavy, or too light, so that the other seven are ground: nothing of it is given away
    because it might be swapped; freed, nothing is ground."""
    result = worked({"piston": 1.0}, piston={3: grams})
    windows = [window_of(result.job, spread) for spread in result.spreads if spread.limit_g is not None]
    programme = TrimProgramme(result.job, windows, suspects)
    piston = next(s for s in result.spreads if s.quantity == "piston")
    by_hand = pytest.approx(ground * (2.6 - (1.0 - piston.expanded_g)), abs=1e-6)
    assert programme.solve().total_g == by_hand
    if suspects:
        assert programme.solve((3, "piston")).total_g == pytest.approx(0, abs=1e-9)
        assert programme.solve().total_g == by_hand


def test_a_spread_that_is_inside_is_not_given_up_for_two_that_are_not():
    """A pin 5 g too heavy puts the reciprocating mass and the bobweight of its cylinder outside. A gram off its
    piston helps both, which would pay for a gram that the pistons are too far apart; but it comes off only as
    far as they stay inside, by hand: 0.4 less what the difference of two readings is unsure by."""
    only_pistons = {
        "piston": 5.0,
        "pin": 0.0,
        "big_end_pad": {"at": -48, "most": 0},
        "small_end_pad": {"at": 182, "most": 0},
    }
    result = worked({"piston": 0.4, "reciprocating": 1.0, "bobweight": 0.5}, only_pistons, pin={3: 117.0})
    windows = [window_of(result.job, spread) for spread in result.spreads if spread.limit_g is not None]
    found = TrimProgramme(result.job, windows, []).solve()
    excess = {window.spread.quantity: over for window, over in zip(windows, found.excess, strict=True)}
    piston = next(window.spread for window in windows if window.spread.quantity == "piston")
    assert (piston.spread_g, piston.verdict) == (0, "inside")
    assert found.total_g == pytest.approx(0.4 - piston.expanded_g, abs=1e-6)
    assert excess["piston"] == 0
    assert excess["reciprocating"] > 1
    assert excess["bobweight"] > 0.5
