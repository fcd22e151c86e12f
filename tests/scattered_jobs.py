"""Jobs with invented scatter, worked and matched."""

import random

import invented
import questions

from truethrow.balance.matching.match import match
from truethrow.balance.result.work import work


def scattered(seed=1, count=8, labelled=False, **spreads):
    """Cylinders whose parts scatter as those of the demo."""
    draw = random.Random(seed)
    deviation = {"piston": 1.2, "pin": 0.3, "small_end": 1.8, "big_end": 1.8} | spreads
    made = invented.cylinders(count)
    for number, parts in enumerate(made, start=1):
        for kind, sigma in deviation.items():
            parts[kind] = round(draw.gauss(invented.PARTS[kind], sigma), 1)
        if labelled:
            parts["labels"] = {"piston": f"P{number}", "rod": f"R{number}", "pin": f"N{number}"}
    return made


def worked(parts=None, **tables):
    return work(invented.build(invented.document(scattered() if parts is None else parts, **tables)))


def matched(parts=None, seconds=10.0, **tables):
    return match(worked(parts, **tables), seconds, now=questions.by_looks())
