"""Jobs with pads, worked through, whose trims can be worked by hand."""

import invented

from truethrow.balance.base.naming import Names
from truethrow.balance.result.work import work

PADS = {
    "piston": 5.0,
    "pin": 0.0,
    "big_end_pad": {"at": -48.0, "most": 9.0},
    "small_end_pad": {"at": 182.0, "most": 9.0},
}


NAMES = Names(tuple(range(1, 9)), {}, {})


def worked(limits, trim=PADS, **changes):
    """A job worked through. What is not like the others was weighed twice, so that nobody takes it for a slip."""
    twice = {kind: {number: [grams] * 2 for number, grams in at.items()} for kind, at in changes.items()}
    return work(invented.build(invented.document(invented.cylinders(**twice), limits=limits, trim=trim)))
