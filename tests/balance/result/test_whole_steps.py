"""The least metal in whole steps of the scale: by hand, and against an exact solver that the tool does not use."""

import exact_trims
import invented
import pytest
import trims_at_random
from trims import PADS, worked

from truethrow.balance.result.least_metal import window_of
from truethrow.balance.result.trim import plan
from truethrow.balance.result.whole_steps import StepProgramme
from truethrow.balance.result.work import work


def steps_of(result):
    windows = [window_of(result.job, spread) for spread in result.spreads if spread.limit_g is not None]
    return StepProgramme(result.job, windows, result.certainty).solve()


@pytest.mark.simulation(whole=300, sample=6)
def test_the_metal_is_the_least_that_an_exact_solver_finds(seed):
    """Not one step more or less, and the limits that are out of reach no further exceeded; where the exact solver
    does not prove its own answer in its time, ours is no worse. What is planned so is inside by the tool's own
    check, with its ±."""
    result = work(trims_at_random.job(seed))
    job, step_g = result.job, result.job.scale.resolution_g
    if not any(spread.verdict == "outside" for spread in result.spreads):
        assert plan(job, result.spreads, result.certainty) is None
        return
    found = steps_of(result)
    exact = exact_trims.least(job, result.spreads, result.certainty)
    steps, excess = round(sum(found.taken_g.values()) / step_g), found.excess_g / step_g
    if exact.is_proved:
        assert (steps, excess) == (exact.steps, pytest.approx(exact.excess, abs=1e-3))
    elif exact.steps >= 0:
        assert excess <= exact.excess + 1e-3
        assert excess < exact.excess - 1e-3 or steps <= exact.steps
    planned = plan(job, result.spreads, result.certainty)
    before = {spread.quantity: spread for spread in result.spreads}
    for spread in (spread for spread in planned.after if spread.limit_g is not None):
        was = before[spread.quantity]
        if was.verdict == "outside" and not found.excess_g:
            assert spread.verdict == "inside"
        elif was.verdict != "outside":
            assert spread.verdict == "inside" or spread.spread_g <= was.spread_g + 1e-9


def test_pistons_on_the_step_need_no_room_for_rounding():
    """Only the piston's pad gives: the least for a reciprocating limit of 2.0 less its uncertainty 0.258 is down
    to 1.7 above the lightest, not further."""
    trim = PADS | {"big_end_pad": {"at": -48, "most": 0}, "small_end_pad": {"at": 182, "most": 0}}
    plan = worked({"reciprocating": 2.0}, trim, piston={3: 543.4}).trim
    assert plan.grams == 3.3


def test_pistons_between_the_steps_are_inside_whichever_step_the_scale_shows():
    """Two readings a piston, 538.4 and 538.5, one of 541.0. The limit of 1.0 less its uncertainty, 0.115, above
    538.45 is 539.335; 1.7 g less is 539.3."""
    pistons = {n: [538.4, 538.5] for n in range(1, 9)} | {3: [541.0, 541.0]}
    scale = {"resolution": 0.1, "capacity": 3000, "repeatability": 0.001}
    document = invented.document(
        invented.cylinders(piston=pistons), limits={"piston": 1.0}, trim=PADS, scale=scale
    )
    plan = work(invented.build(document)).trim
    (part,) = plan.parts
    assert (part.cylinder, part.cuts[0].grams, part.expected_g) == (3, 1.7, {"piston": 539.3})


def test_a_reading_in_the_middle_of_two_steps_counts_as_the_worse_one():
    """541.05 g, all others 538.4: 1.8 less is 539.25, which a scale may show as 539.3, 0.9 above the others; the
    limit of 1.0 less its uncertainty, 0.115, leaves 0.8845. So 1.9 come off."""
    part = invented.document(
        invented.cylinders(piston={3: [541.0, 541.1]}),
        limits={"piston": 1.0},
        trim=PADS,
        scale={"resolution": 0.1, "capacity": 3000, "repeatability": 0.001},
    )
    assert work(invented.build(part)).trim.grams == 1.9


def test_where_a_limit_is_out_of_reach_the_least_is_left_over_it_and_no_more_is_taken():
    """A piston of 530.0 beside seven of 538.4, 1.0 g of metal each, 1.0 allowed less 0.1155: 6.5155 stay over."""
    found = steps_of(worked({"piston": 1.0}, PADS | {"piston": 1.0}, piston={5: 530.0}))
    assert sorted(found.taken_g.values()) == [1.0] * 7
    assert found.excess_g == pytest.approx(8.4 - 1.0 - (1.0 - 0.1155), abs=1e-3)


def test_a_spread_that_is_inside_is_not_pushed_out_by_cuts_for_another():
    """Rod 2 has 3.7 g too much at its small end. At its pad alone each gram raises the big end by 27/155, and the
    big ends, all alike, may be 0.3 less 0.1155 apart: a step. So the big-end pad gives some, too."""
    result = worked({"big_end": 0.3, "small_end": 0.5}, small_end={2: 174.9})
    assert {s.verdict for s in result.trim.after if s.limit_g is not None} == {"inside"}
    (part,) = result.trim.parts
    assert {cut.pad.kind for cut in part.cuts} == {"big_end", "small_end"}


def test_two_that_are_not_equally_sure_may_be_less_far_apart():
    """Weighed once each, with a scatter of 0.2 g, the ± of two is 0.58, and 1.4 is left of a limit of 2.0; with
    the heavy one weighed four times it is 0.46, and 1.5 is left."""
    scale = {"resolution": 0.1, "capacity": 3000, "repeatability": 0.2}
    grams = []
    for reads in (541.0, [541.0] * 4):
        parts = invented.cylinders(piston={3: reads})
        job = invented.build(invented.document(parts, limits={"piston": 2.0}, trim=PADS, scale=scale))
        result = work(job)
        grams.append(plan(job, result.spreads, result.certainty).grams)
    assert grams == [pytest.approx(1.2), pytest.approx(1.1)]
