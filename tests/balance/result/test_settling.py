"""Which second weighings settle what is too close to call, and which come before a cut."""

import invented
import pytest

from truethrow.balance.base.readings import Certainty
from truethrow.balance.result.settling import MOST_WEIGHINGS, PART_OF_LIMIT

UNKNOWN = {"resolution": 0.1, "repeatability": None, "rod_end_repeatability": None}
PISTONS = {1: 538.0, 2: 538.4, 3: 538.6, 4: 538.2, 5: 538.1, 6: 538.5, 7: 538.3, 8: 538.4}
PADS = {"piston": 6.0, "pin": 0.0, "big_end_pad": {"at": -48.0, "most": 9.0}}


def worked(pistons=None, scale=None, **tables):
    parts = invented.cylinders(piston=PISTONS if pistons is None else pistons)
    return invented.worked(parts, scale=UNKNOWN | (scale or {}), trim=PADS, **tables)


def verdict_of(result, quantity):
    return next(spread.verdict for spread in result.spreads if spread.quantity == quantity)


def weighed_again(places, pistons):
    return pistons | {n: [pistons[n]] * 2 for n, kind in places if kind == "piston"}


def test_what_is_only_assumed_is_settled_by_two_parts_weighed_twice():
    result = worked(limits={"piston": 1.2})
    assert verdict_of(result, "piston") == "too close to call"
    assert set(result.to_settle) == {(1, "piston"), (3, "piston")}
    again = worked(weighed_again(result.to_settle, PISTONS), limits={"piston": 1.2})
    assert verdict_of(again, "piston") == "inside"
    assert again.to_settle == ()


def test_each_way_of_weighing_is_settled_by_its_own():
    result = worked(limits={"piston": 1.2, "big_end": 1.0})
    assert {kind for _, kind in result.to_settle} == {"piston", "big_end"}
    known = worked(limits={"piston": 1.2, "big_end": 1.0}, scale={"repeatability": 0.02})
    assert {kind for _, kind in known.to_settle} == {"big_end"}


def test_more_is_asked_for_where_one_pair_is_too_few():
    """One pair: t = 13.97. A third is asked for where two would leave it too close, and no part twice."""
    result = worked(limits={"piston": 0.75})
    assert len(result.to_settle) > 2
    assert len(set(result.to_settle)) == len(result.to_settle)
    again = worked(weighed_again(result.to_settle, PISTONS), limits={"piston": 0.75})
    assert verdict_of(again, "piston") == "inside"


def test_what_no_weighing_settles_asks_for_none():
    result = worked(limits={"piston": 0.6})
    assert verdict_of(result, "piston") == "too close to call"
    assert result.to_settle == ()


def test_one_reading_for_all_is_not_asked_for_again():
    parts = [{key: value for key, value in part.items() if key != "rings"} for part in invented.cylinders()]
    result = invented.worked(parts, scale=UNKNOWN, every_cylinder={"rings": 41.0}, limits={"reciprocating": 1.5})
    assert result.to_settle
    assert all(kind != "rings" and number for number, kind in result.to_settle)


FAR = {1: 537.0, 2: 538.4, 3: 539.6, 4: 538.2, 5: 537.5, 6: 539.1, 7: 538.0, 8: 538.9}


def test_no_metal_is_planned_for_the_uncertainty_alone():
    """Assumed, the ± of a spread of pistons is 0.3 g: three tenths of the limit would be cut for nothing else."""
    result = worked(FAR, limits={"piston": 1.0})
    assert verdict_of(result, "piston") == "outside"
    assert result.is_held
    assert result.trim.parts == ()
    assert set(result.unsure) == {(1, "piston"), (3, "piston")}
    again = worked(weighed_again(result.unsure, FAR), limits={"piston": 1.0})
    assert again.unsure == ()
    spread = next(s for s in again.spreads if s.quantity == "piston")
    assert spread.expanded_g <= PART_OF_LIMIT * 1.0
    assert again.trim.parts
    assert all(s.verdict == "inside" for s in again.trim.after if s.quantity == "piston")


def test_a_scale_that_is_too_coarse_for_a_limit_is_not_weighed_on_for_ever():
    """On a step of 0.5 g a limit of 1 g has a ± of more than a quarter whatever is weighed: the plan goes on once
    the scatter is known about as well as weighing makes it."""
    far = {n: round(2 * grams) / 2 for n, grams in FAR.items()} | {1: 536.5, 3: 540.5}
    result, rounds = worked(far, scale={"resolution": 0.5}, limits={"piston": 1.0}), 0
    while result.unsure:
        rounds += 1
        assert len(result.unsure) <= MOST_WEIGHINGS
        far = far | {n: [*_list(far[n]), _list(far[n])[0]] for n, _ in result.unsure}
        result = worked(far, scale={"resolution": 0.5}, limits={"piston": 1.0})
    assert 1 <= rounds <= 3
    assert result.trim.parts


def _list(reading):
    return reading if isinstance(reading, list) else [reading]


@pytest.mark.parametrize("pairs", [2, 4])
def test_a_scatter_that_is_declared_is_not_made_better_known_by_weighing(pairs):
    declared = {"repeatability": 0.02, "repeatability_from": pairs}
    result = worked(FAR, scale=declared, limits={"piston": 1.0})
    assert isinstance(result.certainty, Certainty)
    assert result.certainty.pan.freedom == pairs
    assert result.unsure == ()
