"""What one half of a clamp can carry, held against every count of every piece; what a stack says of itself."""

import itertools

from hypothesis import given
from hypothesis import strategies as st
from plates import shop

from truethrow.balance.station.stacked import PG, Group, Half, Piece, Stack, Stacks

pieces = st.lists(
    st.builds(lambda mass, stock: Piece(f"p{mass}", mass / 10, stock), st.integers(1, 40), st.integers(1, 9)),
    min_size=1,
    max_size=3,
    unique_by=lambda piece: piece.name,
)


def half(some, wanted_g, slack_g, throws=("1",)):
    made = [piece._replace(stock=piece.stock * 2) for piece in some]  # so many on each half
    group = Group(throws, 0.0, round(wanted_g * PG))
    return Half(group, shop(*made, clamp=0.0), round(slack_g * PG))


def every(some):
    """Pieces on a half, what both halves weigh in tenths of a gram, and the counts, of every choice."""
    for counts in itertools.product(*(range(piece.stock + 1) for piece in some)):
        yield sum(counts), 2 * sum(n * round(10 * p.mass_g) for n, p in zip(counts, some, strict=True)), counts


@given(pieces, st.integers(0, 300), st.integers(0, 6))
def test_the_fewest_pieces_are_the_fewest_of_every_choice_and_of_these_the_nearest(some, wanted, slack):
    within = [one for one in every(some) if abs(one[1] - wanted) <= slack]
    found = half(some, wanted / 10, slack / 10)
    if not within:
        assert found.least is None
        assert found.fewest() is None
        return
    best = min(within, key=lambda one: (one[0], abs(one[1] - wanted), one[1]))
    chosen = found.fewest()
    assert found.least == best[0] == sum(chosen)
    assert next(one[1] for one in within if one[2] == chosen) == best[1]


@given(pieces, st.integers(0, 200), st.integers(0, 2))
def test_every_recipe_is_given_once_and_no_other(some, wanted, more):
    within = [one for one in every(some) if abs(one[1] - wanted) <= 4]
    found = half(some, wanted / 10, 0.4)
    if within:
        least = min(one[0] for one in within)
        recipes = list(found.recipes(more))
        assert len(recipes) == len(set(recipes))
        assert set(recipes) == {one[2] for one in within if one[0] <= least + more}


@given(pieces, st.integers(0, 300))
def test_the_nearest_below_and_above_are_the_nearest_of_every_choice(some, wanted):
    sums = [one[1] for one in every(some)]
    below = max((s for s in sums if s <= wanted), default=None)
    above = min((s for s in sums if s >= wanted), default=None)
    found = half(some, wanted / 10, 0.1).nearest_pg()
    assert tuple(None if pg is None else round(pg / PG * 10) for pg in found) == (below, above)


def test_pieces_are_shared_by_all_throws_and_both_halves():
    """Eight plates on two throws are two on each half."""
    group = Group(("1", "2"), 0.0, 40 * PG)
    inventory = shop(Piece("a", 10.0, 8), clamp=0.0)
    assert Half(group, inventory, 0).fewest() == (2,)
    assert Half(group._replace(wanted_pg=60 * PG), inventory, 0).fewest() is None


def test_a_stack_says_how_far_off_it_is_and_how_many_pieces_it_takes():
    met = Stack(("1", "2"), 40.0, ({"a": 1, "b": 1}, {"a": 1, "b": 1}), 40.1)
    missed = Stack(("3",), 41.0, None)
    assert (met.off_g, met.pieces) == (0.1, 4)
    assert (missed.off_g, missed.pieces) == (None, 0)
    assert Stacks((met,)).is_met
    assert Stacks((met,)).pieces == 8
    assert not Stacks((met, missed)).is_met
    assert not Stacks((met,), lacking={"a": 1}).is_met
