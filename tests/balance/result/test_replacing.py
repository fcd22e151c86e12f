"""The window of a replacement, against what check says of every mass, one step of the scale after the other."""

import itertools
import statistics

import invented
import pytest
import replacements
from commands import refused

from truethrow.balance.base.readings import combine, tidy, verdict
from truethrow.balance.result.replacing import doubts, replacement, with_part
from truethrow.balance.result.work import work


def others_alone_are_inside(made, unit, cylinder, kinds):
    """Whether no two of the others are too far apart by themselves: a heavier part must not be promised because it
    hides them."""
    result = work(with_part(made, unit, cylinder, dict.fromkeys(kinds, 300.0)))
    for spread in (s for s in result.spreads if s.limit_g is not None):
        of_it = str(cylinder)
        if spread.quantity == "bobweight":
            throws = made.layout.throws
            of_it = next(t.name for t in throws if cylinder in made.layout.cylinders_on(t))
        rest = {name: mass.value_g for name, mass in spread.members.items() if name != of_it}
        without = result.certainty
        light, heavy = min(rest, key=rest.get), max(rest, key=rest.get)

        apart = combine([(1.0, spread.members[heavy]), (-1.0, spread.members[light])])
        if verdict(apart.value_g, without.expanded_g(apart), spread.limit_g) != "inside":
            return False
    return True


@pytest.mark.parametrize("unit", ["piston", "pin", "rings", "bearings"])
def test_the_window_is_all_that_check_calls_inside(unit, as_many):
    """Exactly, from its first reading to its last: every step of the scale for 4 g to each side is tried."""
    windows = 0
    for seed in range(as_many(60, 10)):
        made = replacements.job(seed)
        wanted = replacement(made, unit, 1 + seed % 8)
        middle = statistics.median(own[unit].mean_g for own in made.parts.values())
        steps = [tidy(round(middle, 1) + n / 10) for n in range(-40, 41)]
        inside = [g for g in steps if replacements.is_inside(made, unit, wanted.cylinder, {unit: g})]
        if wanted.out:
            assert not inside or not others_alone_are_inside(made, unit, wanted.cylinder, (unit,)), seed
            continue
        assert others_alone_are_inside(made, unit, wanted.cylinder, (unit,)), seed
        assert [g for g in steps if wanted.is_inside({unit: g})] == inside, seed
        window = wanted.window(unit)
        if window is not None and not window.is_empty and steps[0] < window.low_g <= window.high_g < steps[-1]:
            windows += 1
            assert (window.low_g, window.high_g) == (inside[0], inside[-1]), seed
        assert window is None or window.is_empty == (not inside), seed
    assert windows


def test_a_rods_region_is_all_that_check_calls_inside(as_many):
    """A grid over both ends, every third step for 1.5 g to each side."""
    regions = 0
    for seed in range(as_many(20, 2)):
        made = replacements.job(
            seed, limits={"big_end": 2.0, "small_end": 1.8, "both_ends": 2.4, "bobweight": 2.2}
        )
        wanted = replacement(made, "rod", 1 + seed % 8)
        middle = wanted.middle_g
        grid = itertools.product(range(-15, 16, 3), repeat=2)
        tried = [
            {"big_end": tidy(middle["big_end"] + n / 10), "small_end": tidy(middle["small_end"] + m / 10)}
            for n, m in grid
        ]
        inside = [one for one in tried if replacements.is_inside(made, "rod", wanted.cylinder, one)]
        if wanted.out:
            assert not inside or not others_alone_are_inside(made, "rod", wanted.cylinder, wanted.kinds), seed
            continue
        assert [one for one in tried if wanted.is_inside(one)] == inside, seed
        windows, sums = wanted.windows, wanted.together
        told = [
            one
            for one in tried
            if all(windows[kind].low_g <= one[kind] <= windows[kind].high_g for kind in one)
            and all(leeway.is_above(one) and leeway.is_below(one) for leeway in sums)
        ]
        assert told == inside, seed
        regions += bool(inside)
    assert regions


def test_the_window_by_hand():
    """Pistons of 538.4, one limit of 1.0 g: the ± of two readings off a tared scale of 0.1 g is 2·√2·√2·0.1/√12 =
    0.1155 (JCGM 100:2008), so that 0.8 above or below is inside and 0.9 is not."""
    window = replacement(invented.build(invented.document(limits={"piston": 1.0})), "piston", 3).window("piston")
    assert (window.low_g, window.high_g) == (537.6, 539.2)
    assert (window.holds_low.quantity, window.holds_high.limit_g) == ("piston", 1.0)


def test_a_replacement_that_is_weighed_twice_has_the_wider_window():
    """The scatter of one load, 0.2 g, halves in its square: 0.2·√(1/2 + 1/8) against 0.2·√(1 + 1/8)."""
    pistons = {number: [538.4] * 8 for number in range(1, 9)}
    made = invented.build(
        invented.document(
            invented.cylinders(piston=pistons),
            limits={"piston": 1.4},
            scale={"resolution": 0.1, "capacity": 3000, "repeatability": 0.2},
        )
    )
    once, twice = (replacement(made, "piston", 3, times).window("piston") for times in (1, 2))
    assert (once.high_g, twice.high_g) == (539.3, 539.4)


def test_what_holds_each_side_is_told():
    """The limit of the bobweights leaves a piston twice as much of itself at a share of one half."""
    made = invented.build(
        invented.document(
            invented.cylinders(piston={2: 538.9, 5: 538.1}), limits={"piston": 1.5, "bobweight": 3.0}
        )
    )
    window = replacement(made, "piston", 3).window("piston")
    assert (window.holds_low.heaviest, window.holds_high.lightest) == ("2", "5")


def test_others_that_are_outside_leave_no_window_and_are_named():
    made = invented.build(invented.document(invented.cylinders(piston={2: [541.0] * 2}), limits={"piston": 1.0}))
    (out,) = replacement(made, "piston", 3).out
    assert (out.quantity, out.heaviest, out.verdict) == ("piston", "2", "outside")
    assert replacement(made, "piston", 2).out == ()
    (pistons,) = replacement(made, "rod", 3).out
    assert pistons.quantity == "piston"


def test_a_part_weighed_once_for_all_gets_a_reading_of_its_own():
    parts = [{k: v for k, v in own.items() if k != "rings"} for own in invented.cylinders()]
    made = invented.build(
        invented.document(parts, every_cylinder={"rings": 41.0}, limits={"rings": 1.0, "reciprocating": 5.0})
    )
    window = replacement(made, "rings", 4).window("rings")
    assert (window.low_g, window.high_g, window.holds_low.quantity) == (40.2, 41.8, "rings")


def test_only_the_others_slips_hold_the_window_back():
    made = invented.build(invented.document(invented.cylinders(piston={2: 583.4}), limits={"piston": 1.0}))
    assert doubts(made, "piston", 2) == ()
    assert [slip.cylinder for slip in doubts(made, "piston", 3)] == [2]


def test_a_part_that_the_engine_does_not_have_is_refused():
    parts = [{k: v for k, v in own.items() if k != "locks"} for own in invented.cylinders()]
    made = invented.build(invented.document(parts, engine=invented.V8 | {"without": ["locks"]}))
    assert "the engine is declared without locks" in refused(replacement, made, "locks", 3)
