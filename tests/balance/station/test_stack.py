"""Bobweight stacks, held against every stack there is."""

from __future__ import annotations

import itertools

import pytest
from examples import examples
from hypothesis import example, given
from hypothesis import strategies as st
from plates import HALF_G, OUNCE_G, PLATES, best_of, hung, judged, mg, pieces, shop

from truethrow.balance.station.stack import stacks
from truethrow.balance.station.stacked import Piece


@given(pieces, hung, st.sampled_from([0.1, 0.2, 0.4]))
@examples(250)
@example((Piece("a", 1.0, 4), Piece("b", 0.5, 4)), [24.0, 22.0], 0.1)  # alone fit, together not
def test_no_stack_is_better(some, targets, step):
    inventory = shop(*some, step=step, clamp=10.0)
    throws = {str(number): target for number, target in enumerate(targets, start=1)}
    found, best = stacks(throws, inventory), best_of(throws, inventory)
    assert found.is_met == (best is not None)
    assert found.is_proved
    if best is not None:
        assert judged(found, inventory) == best


@given(pieces, st.integers(150, 260).map(lambda tenths: tenths / 10), st.integers(1, 2), st.booleans())
@examples(100)
def test_what_cannot_be_met_is_told_with_the_nearest(some, target, throws, alike):
    inventory = shop(*some[:2], step=0.1, clamp=10.0, alike=alike)
    found = stacks({str(n): target for n in range(throws)}, inventory)
    if found.is_met:
        return
    masses = [mg(p.mass_g) for p in inventory.pieces]
    halves = list(itertools.product(*(range(p.stock // throws + 1) for p in inventory.pieces)))
    reach = set()
    for one, other in ((h, h) for h in halves) if alike else itertools.product(halves, repeat=2):
        apart = abs(sum((a - b) * m for a, b, m in zip(one, other, masses, strict=True)))
        fits = all((a + b) * throws <= p.stock for a, b, p in zip(one, other, inventory.pieces, strict=True))
        if apart <= 100 and fits:
            reach.add(20_000 + sum((a + b) * m for a, b, m in zip(one, other, masses, strict=True)))
    below = max((r for r in reach if r <= mg(target)), default=None)
    above = min((r for r in reach if r >= mg(target)), default=None)
    told = found.stacks[0]
    assert told.halves is None
    assert (told.below_g and mg(told.below_g), told.above_g and mg(told.above_g)) == (below, above)


def test_the_launch():
    """The demo's four throws: 1864.8 g on clamp halves of 352.4 g leave 580 g a half, which six pieces make, and
    fewer cannot: five of the heaviest but two of 200 and … 580 = 200 + 200 + 100 + 50 + 20 + 10."""
    found = stacks(dict.fromkeys("1234", 1864.8), shop())
    assert len(found.stacks) == 1
    assert found.stacks[0].halves[0] == {
        "plate 10": 1, "plate 100": 1, "plate 20": 1, "plate 200": 2, "plate 50": 1,
    }  # fmt: skip
    assert (found.pieces, found.stacks[0].off_g, found.is_proved) == (48, 0.0, True)


def test_the_order_of_the_pieces_does_not_matter():
    own = {"1": 1764.2, "2": 1761.9, "3": 1768.0, "4": 1766.5}
    assert stacks(own, shop()) == stacks(own, shop(*reversed(PLATES)))


def test_of_equal_stacks_the_first_name_is_taken():
    """600 a half: a and b weigh the same."""
    found = stacks({"1": 40.0}, shop(Piece("b", 5.0, 8), Piece("a", 5.0, 2), step=0.1, clamp=10.0))
    assert found.stacks[0].halves == ({"a": 1, "b": 1}, {"a": 1, "b": 1})


def test_what_is_lacking_is_named():
    """Each of two throws can have the two plates, not both."""
    found = stacks({"1": 40.0, "2": 40.2}, shop(Piece("a", 10.0, 2), step=0.2, clamp=10.0))
    assert not found.is_met
    assert found.lacking == {"a": 2}


def test_nothing_hung_needs_nothing():
    assert stacks({"1": 0.0}, shop()).is_met
    assert stacks({"1": 0.0}, shop()).stacks == ()


def test_lighter_than_the_empty_clamp():
    found = stacks({"1": 700.0}, shop())
    assert (found.stacks[0].below_g, found.stacks[0].above_g) == (None, 704.8)


@pytest.mark.parametrize("count", [1, 211, 212, 213])
def test_hundreds_of_shims_in_ounces_weigh_what_they_weigh(count):
    """Shims of 0.01 oz alone: in whole milligrams each is half a milligram short. The target is between two counts
    of them, nearer to this one."""
    shim = Piece("shim", 0.01 * OUNCE_G, 999)
    target = 2 * HALF_G + 2 * count * shim.mass_g + 0.05
    (found,) = stacks({"1": target}, shop(shim, step=0.1)).stacks
    assert found.halves == ({"shim": count}, {"shim": count})
    assert found.off_g == pytest.approx(-0.05, abs=1e-8)
    (missed,) = stacks({"1": target}, shop(shim, step=0.04)).stacks
    assert missed.halves is None
    assert missed.below_g == pytest.approx(target - 0.05, abs=1e-8)


def test_a_piece_of_next_to_nothing_does_no_harm():
    found = stacks({"1": 40.0}, shop(Piece("dust", 0.0004, 9), Piece("a", 10.0, 2), step=0.1, clamp=10.0))
    assert found.stacks[0].halves == ({"a": 1}, {"a": 1})


@given(pieces, st.integers(150, 400).map(lambda tenths: tenths / 10), st.integers(1, 3))
@examples(100)
def test_what_is_short_is_named_and_with_it_the_stack_is_made(some, target, throws):
    """With so many more of the pieces that are named the stack is met, with one fewer of any of them it is not;
    where none is named, no number of pieces would do, and one of the mass that is told, on each half, would."""
    inventory = shop(*some[:3], step=0.1, clamp=10.0)
    names = {str(n): target for n in range(throws)}
    found = stacks(names, inventory).stacks[0]

    def met(more):
        pieces = tuple(p._replace(stock=p.stock + more.get(p.name, 0)) for p in inventory.pieces)
        return stacks(names, inventory._replace(pieces=pieces)).stacks[0].halves is not None

    if found.halves is not None:
        assert not found.short
    elif found.short:
        assert met(found.short)
        assert not any(met({**found.short, name: n - 1}) for name, n in found.short.items())
    else:
        assert not met(dict.fromkeys((p.name for p in inventory.pieces), 500))
        if found.finer_g:
            finer = (*inventory.pieces, Piece("finer", found.finer_g, 2 * throws))
            assert stacks(names, inventory._replace(pieces=finer)).stacks[0].halves is not None


def test_the_launch_without_its_shims_names_the_plate_that_is_short():
    """580 g a half of eight: 2 × 200 + 100 + 4 × 20. Of 20 g four are too few; without them 80 g are left."""
    some = [Piece("plate 200", 200.0, 16), Piece("plate 100", 100.0, 8), Piece("plate 20", 20.0, 32)]
    met = stacks(dict.fromkeys("1234", 1864.8), shop(*some))
    assert met.is_met
    few = [some[0], some[1], some[2]._replace(stock=28)]
    (short,) = stacks(dict.fromkeys("1234", 1864.8), shop(*few)).stacks
    assert short.short == {"plate 20": 4}
    (coarse,) = stacks(dict.fromkeys("1234", 1864.8), shop(*some[:2])).stacks
    assert (coarse.short, coarse.finer_g) == ({}, 80.0)


def test_halves_that_may_differ_may_each_be_off_by_a_step():
    """One plate of 10 g and two of 5.1 for 20.3 g: 10 on one half and 10.2 on the other are 20.2 together, a step
    of 0.2 apart. The half of 10 alone is 0.3 g off, twice; that must not keep it out."""
    inventory = shop(Piece("ten", 10.0, 1), Piece("five", 5.1, 2), step=0.2, clamp=10.0, alike=False)
    found = stacks({"1": 40.3}, inventory)
    assert found.is_met
    assert found.stacks[0].mass_g == pytest.approx(40.2)
    assert sorted(map(dict, found.stacks[0].halves), key=str) == [{"five": 2}, {"ten": 1}]
