"""The least unbalance left, by halves of the crank, against every arrangement one by one."""

import math

import numpy as np
import pytest
import questions

from truethrow.balance.matching import aims, halves, solve
from truethrow.balance.matching.effort import Effort

THREE = ("rod", "piston", "pin")


@pytest.mark.parametrize(
    ("layout", "units"),
    [
        ("inline-4", THREE),
        ("opposed-4", THREE),
        ("inline-5", ("rod", "piston")),
        ("v6-60-shared", ("rod", "piston")),
        ("inline-6", ("rod", "piston")),
    ],
)
@pytest.mark.parametrize("scatter", ["normal", "ties"])
def test_it_is_the_least_of_all_arrangements(layout, units, scatter):
    asked = questions.question(5, layout, units, scatter=scatter)
    aim = aims.ResidualAim(asked)
    assert halves.reaches(asked, Effort(1e6))
    found = halves.least(asked, Effort(1e6))
    assert sorted(map(tuple, np.sort(found, axis=1))) == [tuple(range(asked.cylinders))] * len(units)
    least = min(float(aim.of(some).min()) for some in np.array_split(questions.every(asked), 20))
    assert aim.at(found) == pytest.approx(least, abs=1e-9)


@pytest.mark.simulation(whole=6, sample=1)
@pytest.mark.parametrize("layout", ["v8-90-flatplane", "v8-90-crossplane"])
def test_an_engine_of_a_thousand_million_arrangements_is_proved(layout, seed):
    """And no search of many starts finds anything better."""
    asked = questions.question(70 + seed, layout, ("rod", "piston"))
    assert math.factorial(asked.cylinders) ** 2 > 10**9
    (reached,) = solve.solve(asked, [aims.ResidualAim(asked)], questions.as_listed(asked), Effort(1e6)).reached
    assert reached.proved
    draw = np.random.default_rng(seed)
    tried = np.array([[draw.permutation(8) for _ in range(2)] for _ in range(20_000)])
    assert aims.ResidualAim(asked).of(tried).min() >= reached.value - 1e-9


def test_what_it_is_not_for():
    asked = questions.question(1, "inline-6", THREE)
    assert halves.reaches(asked, Effort(1e6))
    assert not halves.reaches(asked, Effort(1e6, looks=1e6))
    assert not halves.reaches(questions.question(1, "v8-90-flatplane", THREE), Effort(1e6))
