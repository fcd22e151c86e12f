"""The sum as a hand writes it adds up to the bobweight, on every layout."""

from __future__ import annotations

import math

import invented
import pytest

from truethrow.balance.engine.layout import GENERIC
from truethrow.balance.job import blank, job
from truethrow.balance.result.tally import tally
from truethrow.balance.result.work import work

MASSES = {kind: f"{grams}" for kind, grams in invented.PARTS.items()}


@pytest.mark.parametrize("layout", GENERIC)
@pytest.mark.parametrize("share", ["0.5", "0.52", "0", "1"])
def test_the_lines_and_the_oil_are_the_bobweight_of_every_throw(layout, share):
    result = work(job.build(blank.job(blank.Wanted(layout, "one", share=share, oil="4.5", masses=MASSES))))
    total = math.fsum(line.adds_g for line in tally(result)) + 4.5
    assert [throw.bobweight.value_g for throw in result.bobweights.throws] == pytest.approx(
        [total] * len(result.bobweights.throws), abs=1e-9
    )


def test_what_turns_counts_whole_and_what_goes_up_and_down_by_its_share():
    """By hand: 2 × 452.3 and 2 × 0.5 × 538.4."""
    result = work(job.build(blank.job(blank.Wanted("v8-90-crossplane", "one", masses=MASSES))))
    lines = {line.kind: line for line in tally(result)}
    assert list(lines)[:2] == ["big_end", "bearings"]
    assert lines["big_end"].adds_g == 904.6
    assert lines["piston"].adds_g == 538.4
    assert "rod_total" not in lines
