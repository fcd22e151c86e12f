"""The metal that must come off counts before the spread."""

import random

import numpy as np
import pytest
from scattered_jobs import matched, scattered

from truethrow.balance.matching.match import ask, moves_of, rearranged
from truethrow.balance.result.least_metal import least_metal


def test_the_metal_counts_before_the_spread():
    """The job asks for the least metal first: nothing that is reached afterwards may cost any."""
    tight = {"limits": {"reciprocating": 0.5}, "match": {"aims": ["grams", "bobweight"]}}
    found = matched(scattered(5, piston=2.0), **tight)
    metal = found.reached[0]
    sure = found.now.certainty
    assert metal.value <= metal.before
    assert least_metal(found.matched.job, sure).cost == pytest.approx(metal.value, abs=2e-3)
    draw = np.random.default_rng(1)
    for _ in range(40):
        order = np.array([draw.permutation(8) for _ in found.units])
        other = rearranged(found.now.job, moves_of(found.now.job, ask(found.now, found.units), order))
        assert least_metal(other, sure).cost >= metal.bound - 1e-6


def test_without_a_pad_that_gives_the_excess_alone_is_made_least():
    none = {
        "piston": 0.0,
        "pin": 0.0,
        "big_end_pad": {"at": -48, "most": 0},
        "small_end_pad": {"at": 182, "most": 0},
    }
    limits = {"bobweight": 1.0, "reciprocating": 1.0}
    values = set()
    for seed in range(3):
        parts = scattered(9, piston=2.0)
        order = random.Random(seed).sample(range(8), 8)
        for part, piston in zip(parts, [parts[at]["piston"] for at in order], strict=True):
            part["piston"] = piston
        found = matched(parts, limits=limits, trim=none, match={"aims": ["grams"]}, seconds=6)
        assert found.reached[0].bound <= found.reached[0].value
        values.add((found.reached[0].proved, round(found.reached[0].value, 3)))
    assert len({value for proved, value in values if proved}) <= 1
