"""A job that is not wholly weighed: each figure of it is the whole job's, or is not told."""

from __future__ import annotations

import copy
import random

import invented
import pytest

from truethrow.balance.job import job
from truethrow.balance.result.so_far import so_far
from truethrow.balance.result.work import work

WHOLE = invented.document(
    invented.cylinders(piston={3: 539.0, 6: 536.1}, big_end={2: 453.9}, small_end={7: [171.0, 171.2]}),
    limits={"piston": 1.0, "bobweight": 2.0},
)


def without(*lost):
    data = copy.deepcopy(WHOLE)
    for number, kind in lost:
        del data["cylinder"][number - 1][kind]
    return so_far(job.build(invented.text(data), partly=True))


def test_one_missing_reading_hides_what_rests_on_it_and_nothing_else():
    whole, found = work(invented.build(WHOLE)), without((3, "pin"))
    assert [one.cylinder for one in found.cylinders] == [1, 2, 4, 5, 6, 7, 8]
    assert [throw.name for throw, _ in found.throws] == ["1", "3", "4"]
    hidden = {"pin", "reciprocating", "bobweight"}
    assert {s.quantity for s in found.spreads} == {s.quantity for s in whole.spreads} - hidden
    assert [str(fault).split(";")[0] for fault in found.job.waiting] == ["cylinder 3, pin: missing"]


@pytest.mark.parametrize("seed", range(25))
def test_what_is_told_of_a_part_of_it_is_what_is_told_of_the_whole(seed):
    chance, whole = random.Random(seed), work(invented.build(WHOLE))
    places = [(number, kind) for number in range(1, 9) for kind in invented.PARTS]
    lost = chance.sample(places, chance.randint(1, 12))
    found = without(*lost)
    masses = {one.cylinder: one.contribution.value_g for one in whole.bobweights.cylinders}
    touched = {number for number, _ in lost}
    assert {one.cylinder: one.contribution.value_g for one in found.cylinders} == {
        number: grams for number, grams in masses.items() if number not in touched
    }
    bobweights = {made.throw.name: made.bobweight.value_g for made in whole.bobweights.throws}
    assert all(bobweights[throw.name] == mass.value_g for throw, mass in found.throws)
    spreads = {one.quantity: one.spread_g for one in whole.spreads}
    assert all(spreads[one.quantity] == one.spread_g for one in found.spreads)
    assert {one.quantity for one in found.spreads}.isdisjoint(kind for _, kind in lost)


def test_a_job_without_a_reading_says_nothing_and_does_not_fail():
    data = invented.document(parts=[])
    found = so_far(job.build(invented.text(data), partly=True))
    assert (found.cylinders, found.throws, found.spreads, found.slips) == ((), (), (), ())
    assert len(found.job.waiting) == 8


def test_a_slip_among_the_readings_there_are_is_told():
    data = copy.deepcopy(WHOLE)
    del data["cylinder"][0]["rings"]
    data["cylinder"][4]["pin"] = 11.21
    found = so_far(job.build(invented.text(data), partly=True)).slips
    assert [slip.suspicion for slip in found if slip.kind == "pin"] == ["a decimal mark one place to the left"]
