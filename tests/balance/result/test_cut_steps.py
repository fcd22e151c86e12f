"""Cuts in steps of the scale: room for the rounding of the reading to come, and no more."""

import invented
from trims import PADS, worked

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
