"""Slips: what fires, what does not, and what is suspected."""

from random import Random

import invented
import pytest

from truethrow.balance.base.fields import MOST_CYLINDERS, MOST_REPEATS
from truethrow.balance.base.naming import Names
from truethrow.balance.result.slips import outliers
from truethrow.balance.result.work import work
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words

GRAMS = Display("g", "mm", 0.1)
NAMES = Names(tuple(range(1, 9)), {}, {})
SCATTER = {1: 538.0, 2: 538.9, 3: 538.4, 4: 537.9, 5: 538.6, 6: 538.2, 7: 538.8, 8: 538.3}


def found(scale=None, limits=None, parts=None, **changes):
    tables = {"scale": {"resolution": 0.1, "capacity": 20_000} | (scale or {})}
    if limits:
        tables["limits"] = limits
    return work(invented.build(invented.document(parts or invented.cylinders(**changes), **tables))).slips


def test_ordinary_scatter_is_no_slip():
    assert found(piston=SCATTER) == ()


@pytest.mark.parametrize("count", [3, 4, 6, 8, 12, 13])
def test_normal_scatter_seldom_raises_an_alarm(count):
    """1 in 100 sets may: of 1,000 sets of normal values, no more than 25 (a binomial with p = 0.01 exceeds that
    once in 10,000 tries)."""
    random = Random(count)
    alarms = sum(
        bool(outliers({n: round(random.gauss(538, 1.2), 1) for n in range(count)}, 0.1)) for _ in range(1000)
    )
    assert alarms <= 25


@pytest.mark.parametrize("count", range(4, MOST_CYLINDERS + 1))
def test_one_that_is_far_off_is_found_among_as_many_as_an_engine_may_have(count):
    """Pistons of two masses a step apart, and one 6 g heavier. Of three, none can be told by statistics: no one of
    three is ever farther from their mean than 2/√3 of their deviation."""
    assert outliers({1: 538.0, 2: 538.1, 3: 544.0}, 0.1) == ()
    values = {n: 538.0 + 0.1 * (n % 2) for n in range(1, count)} | {count: 544.0}
    assert outliers(values, 0.1) == (count,)


@pytest.mark.parametrize("repeats", range(2, MOST_REPEATS + 1))
def test_repeats_that_differ_are_found_however_many_there_are(repeats):
    """All alike but one, 6 g off on a scale that repeats to 0.1 g; all alike are no slip."""
    scale = {"repeatability": 0.1}
    assert found(scale, piston={3: [538.4] * repeats}) == ()
    assert "repeats" in {slip.check for slip in found(scale, piston={3: [538.4] * (repeats - 1) + [544.4]})}


def test_two_of_eight_do_not_hide_each_other():
    values = SCATTER | {3: 545.0, 6: 546.0}
    assert outliers(values, 0.1) == (3, 6)


def test_a_part_within_the_jobs_limit_is_no_outlier():
    close = dict.fromkeys(range(1, 9), 538.0) | {3: 538.6}
    assert [s.cylinder for s in found(piston=close)] == [3]
    assert found(piston=close, limits={"piston": 1.0}) == ()


def test_a_bad_sister_makes_no_suspect_of_a_good_one():
    """One end typed into the other's column: the others are as they were, and the range shown is theirs."""
    big, small = {2: 171.3}, {2: 452.2, 7: 171.0}
    assert {s.check for s in found(big_end=big, small_end=small)} == {"swapped ends"}
    (slip,) = found(piston=SCATTER | {3: 18.99})
    assert slip.against_g == (537.9, 538.3, 538.9)


def test_a_declared_bobweight_of_another_engine_is_doubted():
    hang = {"bobweight": {"hang": 186.5, "oil": 4.0}}
    result = work(invented.build(invented.document(**hang)))
    assert {s.check for s in result.slips} == {"hang"}
    assert result.outside
    assert "throw 1: 186.5 g are to be hung, its parts make 1866.50 g" in result_words.slip(
        result.slips[0], GRAMS, result.job.names, "my.toml"
    )
    assert work(invented.build(invented.document(bobweight={"hang": 1800.0, "oil": 4.0}))).slips == ()


@pytest.mark.parametrize(
    ("typed", "suspicion"),
    [
        ("18.99", "ounces read as grams"),
        ("15262.4", "grams read as ounces"),
        ("1.19", "pounds read as grams"),
        ("53.84", "a decimal mark one place to the left"),
        ("5384", "a decimal mark one place to the right"),
        ("5.38", "a decimal mark two places to the left"),
        ("0.5", "kilograms read as grams"),
    ],
)
def test_a_mistaken_unit_or_decimal_mark_is_suspected(typed, suspicion):
    (slip,) = found(piston=SCATTER | {3: float(typed)})
    assert (slip.check, slip.cylinder, slip.kind, slip.suspicion) == ("outlier", 3, "piston", suspicion)


def test_a_heavy_part_is_named_without_a_suspicion():
    (slip,) = found(piston=SCATTER | {3: 545.0})
    assert slip.suspicion == ""
    assert result_words.slip(slip, GRAMS, NAMES, "my.toml") == (
        "piston 3: 545.0 g is 6.7 g above the median of the others (537.9 to 538.9 g)"
    )


def test_outliers_are_held_against_the_steps_of_the_scale():
    """All sisters read alike, so the scatter says nothing: 3.5 steps may pass, one more may not."""
    assert found(pin={2: 112.4}) == ()
    assert [s.cylinder for s in found(pin={2: 112.5})] == [2]


def test_two_cylinders_have_too_few_sisters():
    engine = dict(invented.V8, layout="inline-2")
    parts = invented.cylinders(2, piston={1: 600.0})
    assert work(invented.build(invented.document(parts, engine=engine))).slips == ()


def test_a_step_of_a_coarse_scale_makes_no_outlier_of_light_parts():
    """Locks of 2.5 g read 2 or 3 g on a scale of 1 g, a third apart: nothing that the scale can see."""
    coarse = {"resolution": 1.0}
    whole = {kind: dict.fromkeys(range(1, 9), float(round(grams))) for kind, grams in invented.PARTS.items()}
    assert found(coarse, **whole | {"locks": dict.fromkeys(range(1, 9), 2.0) | {3: 3.0}}) == ()
    assert [
        s.cylinder for s in found(coarse, **whole | {"pin": dict.fromkeys(range(1, 9), 112.0) | {3: 140.0}})
    ] == [3]


def test_swapped_ends_are_said_once():
    (slip,) = found(big_end={5: 171.4}, small_end={5: 452.1})
    assert (slip.check, slip.cylinder) == ("swapped ends", 5)
    assert "look swapped" in result_words.slip(slip, GRAMS, NAMES, "my.toml")


@pytest.mark.parametrize(("whole", "fires"), [(623.5, False), (624.0, False), (624.3, True), (622.6, True)])
def test_closure_of_the_ends_against_the_whole_rod(whole, fires):
    """Ends 452.3 + 171.2 = 623.5; half a gram is allowed, and the three readings' uncertainty comes on top."""
    whole_rods = dict.fromkeys(range(1, 9), 623.5) | {4: whole}
    parts = [p | {"rod_total": whole_rods[p["number"]]} for p in invented.cylinders()]
    checks = [(s.check, s.cylinder) for s in found(parts=parts) if s.check == "closure"]
    assert checks == ([("closure", 4)] if fires else [])


def test_the_jobs_own_closure_limit_is_used():
    parts = [p | {"rod_total": 624.6} for p in invented.cylinders()]
    assert len(found(parts=parts)) == 8
    assert found(parts=parts, limits={"closure": 2.0}) == ()


@pytest.mark.parametrize(
    ("readings", "scale", "fires"),
    [
        ([171.1, 171.3], {}, False),
        ([171.1, 171.4], {}, True),
        ([171.1, 171.4], {"rod_end_repeatability": 0.2}, False),
        ([171.1, 171.4], {"repeatability": 0.2}, True),
        ([171.1, 171.2, 171.4], {}, False),
        ([171.1, 171.2, 171.5], {}, True),
    ],
)
def test_repeats_further_apart_than_they_should_be(readings, scale, fires):
    """2.8 standard deviations for two readings, 3.3 for three; a step stands for the deviation not declared."""
    slips = [s for s in found(scale=scale, small_end={7: readings}) if s.check == "repeats"]
    assert [(s.cylinder, s.kind) for s in slips] == ([(7, "small_end")] if fires else [])
