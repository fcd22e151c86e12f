"""Every arrangement, some at a time."""

import numpy as np
import pytest
import questions
from small_engines import ruled

from truethrow.balance.matching.every import count_of, every


@pytest.mark.parametrize(
    ("layout", "units"),
    [("inline-4", ("rod", "piston", "pin")), ("inline-3", ("rod", "piston")), ("v6-60-even", ("rod",))],
)
def test_each_comes_once(layout, units):
    asked = questions.question(1, layout, units)
    found = np.concatenate(list(every(asked)))
    assert len(found) == count_of(asked) == len(np.unique(found.reshape(len(found), -1), axis=0))
    assert (np.sort(found, axis=-1) == np.arange(asked.cylinders)).all()


def test_those_that_break_a_rule_are_left_out():
    asked = ruled(questions.question(2, "inline-4", ("rod", "piston")), 2)
    found = np.concatenate(list(every(asked)))
    assert {tuple(row.ravel()) for row in found} == {tuple(row.ravel()) for row in questions.every(asked)}
