"""The least metal as a model, solved again by a solver that the tool does not use, out of the text alone."""

import pytest
import solved_again
from metal_jobs import hardly_inside, least_of_all
from scattered_jobs import uneven

from truethrow.balance.base.model import text
from truethrow.balance.matching.match import match
from truethrow.balance.matching.model import models

GIVE = 2e-3  # of two solvers' own tolerances, over all rows of a four


def four(seed, **tables):
    return hardly_inside(seed, "inline-4", 4, **tables)


def written_of(found):
    (one,) = models(found).written
    return text(one.model, one.claim, ".lp")


@pytest.mark.simulation(whole=20, sample=2)
def test_models_solved_again_agree(seed):
    """And both with the least of all arrangements, each trimmed by itself."""
    result = four(1000 + seed)
    found = match(result, 600)
    (reached,) = found.reached
    written = written_of(found)
    assert solved_again.wrong(written, solved_again.NEAR) == []
    own, again = solved_again.read(written), solved_again.solve(written)
    assert own.is_proved
    assert again.status == "optimal"
    assert float(own.stated) == pytest.approx(reached.value, abs=GIVE)
    assert again.value == pytest.approx(float(own.stated), abs=GIVE)
    assert again.value == pytest.approx(least_of_all(result), abs=GIVE)


@pytest.mark.simulation(whole=8, sample=1)
def test_an_aim_after_it_keeps_what_it_has_reached(seed):
    """The spread, and the worse plane, are the least with no more metal; third, after the spread as well."""
    aims = {"match": {"aims": ["grams", "bobweight", "residual"], "move": ["piston", "rod"]}}
    found = match(four(1 + seed, **aims), 600)
    _, second, third = models(found).written
    for one, reached in zip((second, third), found.reached[1:], strict=True):
        written = text(one.model, one.claim, ".lp")
        assert solved_again.wrong(written, solved_again.NEAR) == []
        own, again = solved_again.read(written), solved_again.solve(written)
        assert again.status == "optimal"
        assert float(own.bound) * (1 - 4e-5) - 1e-5 <= again.value <= float(own.stated) + 1e-5, one.aim
        assert own.is_proved == reached.proved
    alone = match(four(1 + seed, match={"aims": ["bobweight"], "move": ["piston", "rod"]}), 600).reached[0]
    assert alone.value <= found.reached[1].value + 1e-9


def test_what_stays_over_a_limit_counts_a_thousandfold():
    pads = {"piston": 0.2, "pin": 0.0, "big_end_pad": {"at": -48, "most": 0.3}}
    result = four(3, trim=pads)
    found = match(result, 600)
    written = written_of(found)
    assert solved_again.wrong(written, solved_again.NEAR) == []
    again = solved_again.solve(written)
    assert again.status == "optimal"
    assert again.value > 100
    assert again.value == pytest.approx(least_of_all(result), abs=1000 * GIVE)


def test_a_better_arrangement_that_was_overlooked_shows():
    found = match(four(2), 600)
    (before,) = found.reached
    stays = before._replace(value=before.before, bound=before.before)
    written = written_of(found._replace(moves={}, matched=found.now, reached=(stays,)))
    assert solved_again.wrong(written, solved_again.NEAR) == []
    assert solved_again.read(written).is_proved  # so the tool would have said
    assert solved_again.solve(written).value < float(solved_again.read(written).stated) - 0.1


def test_a_digit_changed_is_noticed():
    written = written_of(match(four(1), 600))
    digits = [at for at, sign in enumerate(written) if sign.isdigit()]
    assert all(solved_again.wrong(solved_again.changed(written, at)) for at in digits[:: len(digits) // 25])


def test_where_there_is_none_it_is_told_why():
    found = match(four(1), 600)
    ((_, why),) = models(found, ".opb").left_out
    assert why == "what comes off is no whole number, which OPB has alone: name it .lp"
    ((_, why),) = models(match(uneven(1, "inline-4", 4), 600)).left_out
    assert why.startswith("its parts are not all equally sure")
