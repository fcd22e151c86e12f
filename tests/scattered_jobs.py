"""Jobs with invented scatter, worked and matched."""

import random

import invented
import questions
from trims import PADS

from truethrow.balance.matching.match import match
from truethrow.balance.result.work import work

LIMITS = {"piston": 1.0, "both_ends": 1.0, "reciprocating": 1.0, "rotating": 1.0, "bobweight": 2.0}


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


def uneven(seed, layout="v8-90-crossplane", count=8, **tables):
    """Some parts were weighed twice, and one reading stands for the rings of all cylinders."""
    draw = random.Random(seed)
    parts = scattered(seed, count, piston=2.0)
    for own in parts:
        for kind in ("piston", "big_end", "pin"):
            if draw.random() < 0.4:
                own[kind] = [own[kind], own[kind]]
    made = {
        "engine": invented.V8 | {"layout": layout},
        "scale": {"resolution": 0.1, "calibration": 0.2, "calibration_percent": 0.05},
        "limits": LIMITS,
        "trim": PADS,
        "match": {"aims": ["grams"], "move": ["piston", "rod"]},
    }
    return work(invented.build(invented.document(parts, **made | tables)))
