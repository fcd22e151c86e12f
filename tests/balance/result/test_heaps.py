"""Half of a set is from another set."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.result.heaps import Heaps, two_heaps


def weighed(grams, step=0.1):
    return {n: round(round(one / step) * step, 9) for n, one in enumerate(grams, start=1)}


SCATTERS = {
    "normal": lambda random: random.gauss(0, 1),
    "uniform": lambda random: random.uniform(-1.73, 1.73),
    "exponential": lambda random: random.expovariate(1),
    "gamma": lambda random: random.gammavariate(2, 0.7),
    "lognormal": lambda random: random.lognormvariate(0, 0.5) * 1.6,
    "triangle": lambda random: random.triangular(0, 4.2, 0),
}


@pytest.mark.parametrize("count", [4, 5, 6, 8, 10, 12, 16])
@pytest.mark.parametrize("scatter", SCATTERS)
@pytest.mark.parametrize("kind_g", [538.0, 112.0, 41.0])
def test_honest_scatter_is_hardly_ever_told_as_two_heaps(as_many, scatter, count, kind_g):
    """Pistons, pins and rings that scatter by 0.1 to 0.5 percent (a standard deviation): at most 1 of 500 sets;
    with 20,000 of them, or 5,000, no more than a binomial with that part exceeds once in ten thousand tries."""
    sets, most = as_many((20_000, 65), (5_000, 24))
    random = Random(f"{scatter} {count} {kind_g}")
    told = 0
    for _ in range(sets):
        sigma_g = random.uniform(0.001, 0.005) * kind_g
        drawn = [kind_g + sigma_g * SCATTERS[scatter](random) for _ in range(count)]
        told += two_heaps(weighed(drawn), 0.1) is not None
    assert told <= most


@pytest.mark.parametrize("count", [4, 6, 8, 12, 16])
def test_half_a_set_that_is_12_g_heavier_is_two_heaps(count):
    """Pistons of 538 g that scatter by 1.2 g: 9 in 10 such sets are told, with just these parts in each heap."""
    random = Random(count)
    told = 0
    for _ in range(300):
        heavy = set(random.sample(range(1, count + 1), count // 2))
        grams = weighed([random.gauss(550 if n in heavy else 538, 1.2) for n in range(1, count + 1)])
        found = two_heaps(grams, 0.1)
        told += found is not None and set(found.heavy) == heavy
    assert told >= 270


def test_two_matched_sets_a_little_apart_are_two_heaps():
    """3 g is little for a piston, and much between sets of which each is within 0.3 g."""
    grams = [538.0, 538.2, 541.1, 538.1, 541.3, 541.2, 538.3, 541.0]
    assert two_heaps(weighed(grams), 0.1) == Heaps((1, 2, 4, 7), (3, 5, 6, 8))
    assert two_heaps(weighed(grams), 0.1, allowed_g=3.0) is None


def test_which_heap_is_in_doubt():
    """The smaller one; of two alike the one without the first part."""
    assert Heaps((1, 2, 3), (4, 5, 6, 7, 8)).fewer == (1, 2, 3)
    assert Heaps((5, 6, 7, 8), (1, 2, 3, 4)).fewer == (5, 6, 7, 8)
    assert Heaps((5, 6, 7, 8), (1, 2, 3, 4)).others == (1, 2, 3, 4)


@pytest.mark.parametrize("step", [0.01, 0.1, 0.5])
def test_what_the_step_of_the_scale_explains_is_no_heap(step):
    """All on one step or the next but one."""
    assert two_heaps({n: 538.0 + (n % 2) * 2 * step for n in range(8)}, step) is None


@given(st.lists(st.integers(5000, 5600), min_size=2, max_size=12, unique=True), st.randoms())
def test_heaps_are_all_of_the_set_whatever_its_order(steps, random):
    masses = weighed([0.1 * one for one in steps])
    found = two_heaps(masses, 0.1)
    shuffled = list(masses.items())
    random.shuffle(shuffled)
    assert two_heaps(dict(shuffled), 0.1) == found
    if found:
        assert sorted(found.light + found.heavy) == sorted(masses)
        assert max(masses[n] for n in found.light) < min(masses[n] for n in found.heavy)


@pytest.mark.parametrize(
    ("pair", "step", "is_told"),
    [
        ((412.3, 41.2), 0.1, True),
        ((412.3, 421.3), 0.1, False),  # digits that traded places: the spread tells it
        ((2.0, 3.0), 1.0, False),  # a step of the scale is no difference
        ((20.5, 41.0), 0.1, True),  # one shell of two
        ((452.3, 380.0), 0.1, False),
        ((452.3, 360.0), 0.1, True),
    ],
)
def test_two_parts_alone_are_told_where_they_can_hardly_be_of_one_engine(pair, step, is_told):
    """More than a fifth of their mean apart, and more than the scale's steps: common practice, no source."""
    found = two_heaps(weighed(pair, step), step)
    assert found == (Heaps((1 + pair.index(min(pair)),), (1 + pair.index(max(pair)),)) if is_told else None)
    assert two_heaps(weighed(pair, step), step, allowed_g=500.0) is None
