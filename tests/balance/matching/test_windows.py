"""No member of an arrangement within the spreads is outside its window."""

import numpy as np
import pytest
import questions
from small_engines import ruled

from truethrow.balance.matching.question import spread
from truethrow.balance.matching.windows import Windows, kinds_of


@pytest.mark.parametrize("seed", range(6))
def test_all_that_is_within_lies_in_the_windows(seed):
    scatter = sorted(questions.SCATTERS)[seed % 5]
    asked = questions.question(seed, "inline-4", scatter=scatter)
    masses = asked.masses(questions.every(asked))
    for name in ("reciprocating", "rotating", "bobweight"):
        spreads = spread(masses.of(name))
        most = int(np.quantile(spreads, 0.05))
        windows = Windows(asked, {name: most})
        within = masses.of(name)[spreads <= most]
        assert len(within)
        assert within.min() >= windows.floor[0]
        assert within.max() <= windows.ceiling[0]


def test_choices_keep_to_the_rules():
    asked = ruled(questions.question(3, "inline-4", ("rod", "piston")), 3)
    windows = Windows(asked, {})
    for cylinder in range(4):
        here = {tuple(row) for row in questions.every(asked)[:, :, cylinder].tolist()}
        kinds = {tuple(int(windows.kind_of[u][part]) for u, part in enumerate(row)) for row in here}
        assert kinds <= {tuple(row) for row in windows.choices(cylinder).tolist()}


def test_like_parts_are_one_kind_unless_a_rule_tells_them_apart():
    asked = questions.question(1, "inline-4", ("rod", "piston"), step_g=100.0)
    assert len(set(kinds_of(asked, 0))) < 4
    assert len(set(kinds_of(ruled(asked, 1), 0))) == 4
