"""Bobweight stacks, held against every stack there is."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from truethrow.balance.station.stack import stacks
from truethrow.balance.station.stacked import Inventory, Piece

PLATES = (
    Piece("plate 200", 200.0, 16),
    Piece("plate 100", 100.0, 16),
    Piece("plate 50", 50.0, 16),
    Piece("plate 20", 20.0, 24),
    Piece("plate 10", 10.0, 16),
    Piece("shim 5", 5.0, 16),
    Piece("shim 2", 2.0, 24),
    Piece("shim 1", 1.0, 16),
    Piece("shim 0.5", 0.5, 16),
    Piece("shim 0.2", 0.2, 24),
    Piece("shim 0.1", 0.1, 16),
)
HALF_G = 352.4


def shop(*pieces, step=0.2, clamp=HALF_G, alike=True):
    return Inventory(clamp, step, pieces or PLATES, alike)


def mg(grams):
    return round(grams * 1000)


def weigh(found, inventory):
    """The mass of a stack, piece by piece as the scale would have it. [mg]"""
    masses = {piece.name: mg(piece.mass_g) for piece in inventory.pieces}
    return [mg(inventory.clamp_half_g) + sum(masses[n] * c for n, c in half.items()) for half in found.halves]


def every_stack(target, throws, inventory):
    """By brute force: (pieces, how far off, use of each piece) of all stacks within the step, for some throws."""
    masses, step = [mg(p.mass_g) for p in inventory.pieces], mg(inventory.step_g)
    halves = list(itertools.product(*(range(p.stock // throws + 1) for p in inventory.pieces)))
    weight = {half: mg(inventory.clamp_half_g) + sum(map(int.__mul__, masses, half)) for half in halves}
    pairs = ((h, h) for h in halves) if inventory.alike else itertools.combinations_with_replacement(halves, 2)
    for one, other in pairs:
        off = abs(weight[one] + weight[other] - mg(target))
        use = [throws * (a + b) for a, b in zip(one, other, strict=True)]
        fits = all(u <= p.stock for u, p in zip(use, inventory.pieces, strict=True))
        if off <= step and fits and abs(weight[one] - weight[other]) <= step:
            yield sum(use), throws * off, use


def best_of(hung, inventory):
    """By brute force over all groups: (pieces, off) of the best that share the inventory, None for none."""
    groups = {}
    for target in hung.values():
        groups[target] = groups.get(target, 0) + 1
    choices = [list(every_stack(target, throws, inventory)) for target, throws in groups.items()]
    best = None
    for chosen in itertools.product(*choices):
        use = [sum(each) for each in zip(*(c[2] for c in chosen), strict=True)]
        if all(u <= p.stock for u, p in zip(use, inventory.pieces, strict=True)):
            made = sum(c[0] for c in chosen), sum(c[1] for c in chosen)
            best = made if best is None else min(best, made)
    return best


def judged(found, inventory):
    """(pieces, off) of what was found, having checked each stack against the rules."""
    used = dict.fromkeys((p.name for p in inventory.pieces), 0)
    off = 0
    for one in found.stacks:
        front, rear = weigh(one, inventory)
        assert abs(front - rear) <= mg(inventory.step_g)
        assert inventory.alike <= (one.halves[0] == one.halves[1])
        assert abs(front + rear - mg(one.target_g)) <= mg(inventory.step_g)
        assert mg(one.mass_g) == front + rear
        off += len(one.throws) * abs(front + rear - mg(one.target_g))
        for half in one.halves:
            for name, count in half.items():
                used[name] += count * len(one.throws)
    assert all(used[p.name] <= p.stock for p in inventory.pieces)
    return found.pieces, off


piece = st.builds(lambda mass, stock: Piece(f"p{mass}", mass / 10, stock), st.integers(1, 60), st.integers(1, 8))
pieces = st.lists(piece, min_size=1, max_size=3, unique_by=lambda p: p.name).map(tuple)
hung = st.lists(st.integers(200, 260).map(lambda tenths: tenths / 10), min_size=1, max_size=4)


@given(pieces, hung, st.sampled_from([0.1, 0.2, 0.4]))
@settings(max_examples=250, deadline=None)
@example((Piece("a", 1.0, 4), Piece("b", 0.5, 4)), [24.0, 22.0], 0.1)  # alone fit, together not
def test_no_stack_is_better(some, targets, step):
    inventory = shop(*some, step=step, clamp=10.0)
    throws = {str(number): target for number, target in enumerate(targets, start=1)}
    found, best = stacks(throws, inventory), best_of(throws, inventory)
    assert found.is_met == (best is not None)
    assert found.is_proved
    if best is not None:
        assert judged(found, inventory) == best


@given(st.lists(piece, min_size=1, max_size=2, unique_by=lambda p: p.name).map(tuple), hung.map(lambda h: h[:2]))
@settings(max_examples=60, deadline=None)
def test_no_stack_is_better_where_the_halves_may_differ(some, targets):
    inventory = shop(*some, step=0.3, clamp=10.0, alike=False)
    throws = {str(number): target for number, target in enumerate(targets, start=1)}
    found, best = stacks(throws, inventory), best_of(throws, inventory)
    assert found.is_met == (best is not None)
    if best is not None:
        assert judged(found, inventory) == best


@given(pieces, st.integers(150, 260).map(lambda tenths: tenths / 10), st.integers(1, 2), st.booleans())
@settings(max_examples=100, deadline=None)
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


@pytest.mark.parametrize("throws", [4, 8])
def test_odd_plates_are_proved(throws):
    """Plates as they really weigh, to the hundredth, and another mass on each throw."""
    odd = [Piece(f"{p.name} {v}", round(p.mass_g * (1 + v / 170), 2), p.stock) for p in PLATES for v in (-1, 2)]
    own = {str(n): 1764.2 + 1.7 * n for n in range(throws)}
    found = stacks(own, shop(*odd, step=0.1))
    assert found.is_met
    assert found.is_proved
    judged(found, shop(*odd, step=0.1))


OUNCE_G = 28.349523125


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


@pytest.mark.parametrize("alike", [True, False])
@given(
    st.lists(st.tuples(st.integers(1, 60), st.booleans(), st.integers(1, 5)), min_size=2, max_size=3, unique=True),
    st.integers(200, 260),
)
@settings(max_examples=60, deadline=None)
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


def test_a_piece_of_next_to_nothing_does_no_harm():
    found = stacks({"1": 40.0}, shop(Piece("dust", 0.0004, 9), Piece("a", 10.0, 2), step=0.1, clamp=10.0))
    assert found.stacks[0].halves == ({"a": 1}, {"a": 1})
