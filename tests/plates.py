"""A shop's plates and shims, and every stack of them by brute force."""

from __future__ import annotations

import itertools

from hypothesis import strategies as st

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
OUNCE_G = 28.349523125
