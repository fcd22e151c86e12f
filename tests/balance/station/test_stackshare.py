"""Bobweight stacks that share too few pieces, or whose halves may differ, held against every stack there is."""

from __future__ import annotations

import itertools

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from plates import OUNCE_G, PLATES, best_of, hung, judged, piece, shop

from truethrow.balance.base.solver import Programme
from truethrow.balance.station.stack import stacks
from truethrow.balance.station.stacked import Piece


@given(st.lists(piece, min_size=1, max_size=2, unique_by=lambda p: p.name).map(tuple), hung.map(lambda h: h[:2]))
@examples(60)
def test_no_stack_is_better_where_the_halves_may_differ(some, targets):
    inventory = shop(*some, step=0.3, clamp=10.0, alike=False)
    throws = {str(number): target for number, target in enumerate(targets, start=1)}
    found, best = stacks(throws, inventory), best_of(throws, inventory)
    assert found.is_met == (best is not None)
    if best is not None:
        assert judged(found, inventory) == best


@pytest.mark.parametrize("throws", [4, 8])
def test_odd_plates_are_proved(throws):
    """Plates as they really weigh, to the hundredth, and another mass on each throw."""
    odd = [Piece(f"{p.name} {v}", round(p.mass_g * (1 + v / 170), 2), p.stock) for p in PLATES for v in (-1, 2)]
    own = {str(n): 1764.2 + 1.7 * n for n in range(throws)}
    found = stacks(own, shop(*odd, step=0.1))
    assert found.is_met
    assert found.is_proved
    judged(found, shop(*odd, step=0.1))


@pytest.mark.parametrize(("alike", "target_g"), [(False, 60.0), (False, 61.03), (True, 60.0)])
def test_whoever_waits_for_the_solver_is_told_that_it_goes_on(alike, target_g, monkeypatch):
    """Met and not met, halves that may differ and plates too few for both throws: every programme is watched."""
    looks, runs = [], []
    run = Programme.run

    def watched(self):
        runs.append(self.watch())
        run(self)

    monkeypatch.setattr(Programme, "run", watched)
    some = shop(Piece("ten", 10.0, 8), Piece("five", 5.0, 12), step=0.1, clamp=10.0, alike=alike)
    stacks({"1": target_g, "2": target_g + 20}, some, lambda: looks.append(None))
    assert runs
    assert len(looks) >= len(runs)


@pytest.mark.parametrize("alike", [True, False])
@given(
    st.lists(st.tuples(st.integers(1, 60), st.booleans(), st.integers(1, 5)), min_size=2, max_size=3, unique=True),
    st.integers(200, 260),
)
@examples(60)
def test_grams_and_ounces_mixed_are_weighed_exactly(alike, some, tenths):
    """No unit divides both: against all stacks, by their masses to the picogram."""
    made = [Piece(f"{m}{oz}{n}", m / 100 * OUNCE_G if oz else m / 10, n) for m, oz, n in some]
    inventory = shop(*made, step=0.3, clamp=10.0, alike=alike)
    found = stacks({"1": tenths / 10}, inventory)
    halves = list(itertools.product(*(range(p.stock + 1) for p in made)))
    weight = {h: 10.0 + sum(p.mass_g * n for p, n in zip(made, h, strict=True)) for h in halves}
    best = None
    for one, other in ((h, h) for h in halves) if alike else itertools.product(halves, repeat=2):
        off = abs(weight[one] + weight[other] - tenths / 10)
        fits = all(a + b <= p.stock for a, b, p in zip(one, other, made, strict=True))
        if fits and off <= 0.3 + 1e-9 and abs(weight[one] - weight[other]) <= 0.3 + 1e-9:
            each = sum(one) + sum(other), off
            best = each if best is None else min(best, each)
    assert found.is_met == (best is not None)
    if best is not None:
        (told,) = found.stacks
        by_name = {p.name: p.mass_g for p in made}
        mass = 20.0 + sum(by_name[name] * n for half in told.halves for name, n in half.items())
        assert told.mass_g == pytest.approx(mass, abs=1e-8)
        assert (told.pieces, abs(told.off_g)) == (best[0], pytest.approx(best[1], abs=2e-5))


def test_a_plate_in_ounces_among_plates_in_grams_is_weighed_with_them():
    mixed = [*PLATES, *(Piece(f"{n} oz", n * OUNCE_G, 16) for n in (8, 4, 2, 1, 0.5, 0.2))]
    found = stacks({str(n): 1764.2 + 1.7 * n for n in range(4)}, shop(*mixed))
    assert found.is_met
