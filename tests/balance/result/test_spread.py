"""Spreads: of alike parts, of one, of a kind weighed once for all."""

import invented
import pytest
from invented import worked
from trims import PADS

from truethrow.balance.result.spread import spreads
from truethrow.balance.result.work import work


def test_alike_parts_are_as_unsure_as_any_two():
    found = {s.quantity: s for s in worked().spreads}
    assert found["piston"].spread_g == 0
    assert found["piston"].expanded_g == pytest.approx(2 * 2**0.5 * 2**0.5 * 0.1 / 12**0.5)


def test_one_throw_has_no_spread():
    result = worked(invented.cylinders(1), engine=dict(invented.V8, layout="inline-1"))
    assert result.spreads == ()
    assert (result.cost.front.z_mm, result.cost.rear.z_mm) == (-46.0, 46.0)


def test_a_kind_weighed_once_for_all_is_neither_spread_nor_trimmed():
    parts = [
        {k: v for k, v in p.items() if k != "small_end"} for p in invented.cylinders(big_end={2: [455.0] * 2})
    ]
    document = invented.document(parts, limits={"big_end": 1.0}, trim=PADS, every_cylinder={"small_end": 171.2})
    result = work(invented.build(document))
    assert "small_end" not in {s.quantity for s in result.spreads}
    assert result.trim.parts == ()


def test_every_limit_is_held_against_what_it_is_of():
    """Big end 3 is 1.2 g heavier, so is its rotating mass, both its ends, and, its throw having two cylinders, the
    bobweight of throw 2."""
    limits = {"big_end": 1.0, "both_ends": 2.0, "bobweight": 1.25}
    result = worked(invented.cylinders(big_end={3: 453.5}), limits=limits)
    found = {s.quantity: s for s in spreads(result.job, result.bobweights, result.certainty)}
    for quantity in ("big_end", "rotating", "both_ends"):
        assert (found[quantity].spread_g, found[quantity].heaviest) == (pytest.approx(1.2), "3")
        assert found[quantity].member_kind == "cylinder"
    assert (found["bobweight"].heaviest, found["bobweight"].member_kind) == ("2", "throw")
    assert [found[quantity].verdict for quantity in (*limits, "piston")] == [
        *("outside", "inside", "too close to call", None),
    ]
    assert list(found) == [s.quantity for s in result.spreads]
