"""Trims as models: solved again by solvers that the tool does not use, out of the file's text alone."""

from fractions import Fraction

import invented
import pytest
import solved_again
import trims_at_random
from trims import PADS, worked

from truethrow.balance.base.model import text
from truethrow.balance.result.trim import plan
from truethrow.balance.result.trim_model import models
from truethrow.balance.result.work import work

# Of a model that is not in whole numbers, in steps.
NEAR = Fraction(1, 10**5)


def planned(result):
    return plan(result.job, result.spreads, result.certainty)


def solved(one):
    """The file, and what a solver makes of it, once a look at it finds nothing wrong."""
    written = text(one.model, one.claim, ".lp")
    is_whole = all(variable.whole for variable in one.model.variables.values())
    assert solved_again.wrong(written, Fraction(0) if is_whole else NEAR) == []
    return solved_again.read(written), solved_again.solve(written)


@pytest.mark.simulation(whole=20, sample=4)
def test_models_solved_again_agree(seed):
    """Of any job: the metal that the tool plans is the least, and so is what stays over the limits."""
    result = work(trims_at_random.job(seed))
    made = planned(result)
    several = models(result, made)
    for one in several:
        own, again = solved(one)
        assert again.status == "optimal"
        assert float(own.bound) - float(NEAR) <= again.value <= float(own.stated) + float(NEAR), (seed, one.of)
    assert several[-1].of == "metal"
    steps = round((made.grams if made else 0.0) / result.job.scale.resolution_g)
    assert several[-1].model.value == steps
    was = {s.quantity for s in result.spreads if s.verdict == "outside"}
    left = [s for s in (made.after if made else []) if s.quantity in was and s.verdict != "inside"]
    assert (len(several) == 2) == bool(left)


def test_by_hand():
    """Only the piston's pad gives: the limit of 2.0 less its uncertainty, 0.258, above 538.4 is 540.142; 3.3 less
    than 543.4 is 540.1. So 33 steps of 0.1 g come off piston 3, and none off any other."""
    trim = PADS | {"big_end_pad": {"at": -48, "most": 0}, "small_end_pad": {"at": 182, "most": 0}}
    result = worked({"reciprocating": 2.0}, trim, piston={3: 543.4})
    (one,) = models(result, result.trim)
    own, again = solved(one)
    assert again == ("optimal", 33)
    assert own.said("objective of the answer") == "33 (3.3 g)"
    assert {name for name, value in own.answer.items() if value} == {"cut_3_piston"}
    assert "answer: cut_3_piston = 33; steps off piston 3 at the piston" in own.head


def test_between_two_steps_the_worse_counts():
    """Two readings a piston, 538.4 and 538.5, one of 541.0. The limit of 1.0 less its uncertainty, 0.115, above
    538.45 is 539.335; 1.7 g less is 539.3."""
    pistons = {n: [538.4, 538.5] for n in range(1, 9)} | {3: [541.0, 541.0]}
    scale = {"resolution": 0.1, "capacity": 3000, "repeatability": 0.001}
    parts = invented.cylinders(piston=pistons)
    result = work(invented.build(invented.document(parts, limits={"piston": 1.0}, trim=PADS, scale=scale)))
    (one,) = models(result, result.trim)
    assert solved(one)[1] == ("optimal", 17)


def test_nothing_to_trim_is_nothing_to_take():
    result = worked({"reciprocating": 90.0}, PADS)
    assert planned(result) is None
    (one,) = models(result, None)
    assert solved(one)[1] == ("optimal", 0)


def test_less_than_the_least_cannot_be_and_more_is_not_it():
    """With a step less in the answer a look shows it; with a step more a solver does."""
    trim = PADS | {"big_end_pad": {"at": -48, "most": 0}, "small_end_pad": {"at": 182, "most": 0}}
    result = worked({"reciprocating": 2.0}, trim, piston={3: 543.4})
    (one,) = models(result, result.trim)
    (cut,) = (name for name, value in one.model.answer.items() if name.startswith("cut_3_piston") and value)
    one.model.answer[cut] -= 1
    assert any(found.startswith("row") for found in solved_again.wrong(text(one.model, one.claim, ".lp")))
    one.model.answer[cut] += 2
    claim = one.claim._replace(value=one.model.value, bound=one.model.value)
    written = text(one.model, claim, ".lp")
    assert solved_again.wrong(written) == []
    assert solved_again.solve(written).value < solved_again.read(written).stated


def test_a_changed_digit_is_noticed(as_many):
    """In the answer, in a mass or a lever of a row, in the bound: anywhere."""
    result = worked({"reciprocating": 2.0, "bobweight": 2.0}, PADS, piston={3: 543.4})
    (one,) = models(result, result.trim)
    written = text(one.model, one.claim, ".lp")
    places = [at for at, letter in enumerate(written) if letter in "0123456789"]
    for at in places[:: len(places) // as_many(400, 40)]:
        assert solved_again.wrong(solved_again.changed(written, at))
