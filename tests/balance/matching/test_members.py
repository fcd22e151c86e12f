"""What members weigh in any arrangement, and how sure their spread is: as the job says once it is rearranged."""

import numpy as np
import pytest
from scattered_jobs import LIMITS, uneven

from truethrow.balance.matching.match import ask, moves_of, rearranged
from truethrow.balance.matching.members import Members, can_tell
from truethrow.balance.result.bobweight import bobweights
from truethrow.balance.result.spread import spreads


@pytest.mark.parametrize("seed", range(5))
def test_masses_and_doubts_are_those_of_the_job_rearranged(seed):
    result = uneven(seed)
    question = ask(result, ("piston", "rod"))
    assert can_tell(result.job, question)
    members = Members(result.job, result.certainty, question, tuple(LIMITS))
    draw = np.random.default_rng(seed)
    for _ in range(5):
        arrangement = np.array([draw.permutation(8) for _ in question.units])
        job = rearranged(result.job, moves_of(result.job, question, arrangement))
        found = {spread.quantity: spread for spread in spreads(job, bobweights(job), result.certainty)}
        for quantity, own in members.of(arrangement).items():
            spread = found[quantity]
            assert own.masses_g == pytest.approx([mass.value_g for mass in spread.members.values()], abs=1e-9)
            assert own.expanded_g == pytest.approx(spread.expanded_g, rel=1e-9)
            least, most = members.doubts_g(quantity)
            assert least - 1e-12 <= spread.expanded_g <= most + 1e-12


def test_a_unit_that_alone_makes_a_quantity_settles_it():
    result = uneven(1)
    members = Members(result.job, result.certainty, ask(result, ("piston", "rod")), tuple(LIMITS))
    assert {quantity for quantity in LIMITS if members.is_settled(quantity)} == {"piston", "both_ends", "rotating"}
