"""Three engines side by side: as they sit, by hand, matched."""

import invented
import pytest
from scattered_jobs import matched

from truethrow.balance.matching.compared import columns, figures
from truethrow.balance.result.work import work


def test_the_engines_stand_in_the_order_in_which_they_came_about():
    found = matched(match={"aims": ["bobweight"]})
    assert list(columns(found)) == ["as_they_sit", "by_hand", "matched"]
    assert list(columns(found).values()) == [found.now, found.by_hand, found.matched]
    assert list(columns(found._replace(by_hand=None))) == ["as_they_sit", "matched"]


def test_what_is_compared_is_what_the_engines_weigh():
    """One big end 5 g heavier than all others, and no limit to trim to: its throw is 5 g heavier."""
    result = work(invented.build(invented.document(invented.cylinders(big_end={3: [457.3] * 2}))))
    found = figures(result)
    assert found["bobweight_g"] == pytest.approx(5.0)
    assert found["reciprocating_g"] == pytest.approx(0.0)
    assert (found["trim_g"], found["parts_to_trim"], found["bobweight_after_g"]) == (0.0, 0, found["bobweight_g"])


def test_what_a_trim_takes_and_leaves_is_compared_too():
    parts = invented.cylinders(piston={3: [541.0] * 2})
    result = work(invented.build(invented.document(parts, limits={"reciprocating": 2.0}, trim={"piston": 5.0})))
    found = figures(result)
    assert found["trim_g"] == result.trim.grams > 0
    assert found["parts_to_trim"] == 1
    assert found["reciprocating_after_g"] < found["reciprocating_g"]


def test_no_trim_is_told_of_readings_that_are_to_be_looked_at_again():
    result = work(invented.build(invented.document(invented.cylinders(piston={3: 18.99}))))
    assert result.is_held
    found = figures(result)
    assert (found["trim_g"], found["parts_to_trim"], found["bobweight_after_g"]) == (None, None, None)
    assert found["bobweight_g"] > 100
