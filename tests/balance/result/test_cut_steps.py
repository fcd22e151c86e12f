"""Cuts in steps of the scale: room for the rounding of the reading to come, and no more."""

import random

import invented
import pytest
from trims import PADS, worked

from truethrow.balance.result.cut_steps import in_steps
from truethrow.balance.result.least_metal import TrimProgramme, falls, window_of
from truethrow.balance.result.work import work


def test_pistons_on_the_step_need_no_room_for_rounding():
    """Only the piston's pad gives: the least for a reciprocating limit of 2.0 less its uncertainty 0.258 is down
    to 1.7 above the lightest, not further."""
    trim = PADS | {"big_end_pad": {"at": -48, "most": 0}, "small_end_pad": {"at": 182, "most": 0}}
    plan = worked({"reciprocating": 2.0}, trim, piston={3: 543.4}).trim
    assert plan.grams == 3.3


def test_pistons_between_the_steps_leave_room_for_the_reading_to_come():
    """Two readings a piston, 538.4 and 538.5, one of 541.0; other pads may be cut, too. Down to 539.2, so that the
    spread of 0.75 stays inside 1.0 with its uncertainty, 0.115, even if the scale shows a step more; 1.7 g less
    would leave 0.85, which it would not."""
    pistons = {n: [538.4, 538.5] for n in range(1, 9)} | {3: [541.0, 541.0]}
    scale = {"resolution": 0.1, "capacity": 3000, "repeatability": 0.001}
    document = invented.document(
        invented.cylinders(piston=pistons), limits={"piston": 1.0}, trim=PADS, scale=scale
    )
    plan = work(invented.build(document)).trim
    (part,) = plan.parts
    (after,) = (spread for spread in plan.after if spread.quantity == "piston")
    assert (part.cylinder, part.cuts[0].grams) == (3, 1.8)
    assert after.spread_g + 0.1 + after.expanded_g <= 1.0


@pytest.mark.parametrize("seed", range(4))
def test_every_cut_is_a_whole_number_of_steps_near_what_the_solver_wants_and_leaves_the_windows_met(seed):
    draw = random.Random(seed)
    scattered = {
        kind: {n: round(draw.gauss(invented.PARTS[kind], 1.5), 1) for n in range(1, 9)}
        for kind in ("piston", "big_end", "small_end")
    }
    result = worked({"piston": 1.0, "big_end": 1.0, "small_end": 1.0}, **scattered)
    job = result.job
    windows = [window_of(job, spread) for spread in result.spreads if spread.limit_g is not None]
    target = TrimProgramme(job, windows, []).solve()
    taken = in_steps(job, windows, target)
    assert taken
    for place, grams in taken.items():
        assert grams / 0.1 == pytest.approx(round(grams / 0.1))
        assert abs(grams - target.grams[place]) <= 0.3 + 1e-9
    left = {n: {kind: parts[kind].mean_g for kind in scattered} for n, parts in job.parts.items()}
    for (cylinder, pad), grams in taken.items():
        for kind, fall in falls(job, job.pads[pad], grams).items():
            left[cylinder][kind] -= fall
    for kind in scattered:
        shown = [round(own[kind], 1) for own in left.values()]
        assert max(shown) - min(shown) <= 1.0
