"""Influence coefficients: there and back, and how sure they are."""

import math
import random
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st
from meter_shop import any_matrix, polar

from truethrow.balance.correction import TwoPlanes
from truethrow.balance.station.influence import Coefficients, Trial, foretold, one_plane, one_plane_by, turned_deg

SEEDS = st.integers(0, 10_000)
SURE = (0.02, 0.03)


def shown(matrix, unbalance, *, mirrored=False, noise=None):
    found = [sum(a * u for a, u in zip(row, unbalance, strict=True)) for row in matrix]
    if noise:
        found = [
            one + complex(noise.gauss(0, own), noise.gauss(0, own)) for one, own in zip(found, SURE, strict=True)
        ]
    return TwoPlanes(*(one.conjugate() if mirrored else one for one in found))


def trials(matrix, crank, masses, *, mirrored=False, noise=None):
    before = shown(matrix, crank, mirrored=mirrored, noise=noise)
    made = []
    for at, mass in enumerate(masses):
        # What is typed of it is off, too: 1 % and 1 degree, k = 2.
        off = complex(noise.gauss(0, 0.005), noise.gauss(0, math.radians(0.5))) if noise else 0j
        on = [one + (mass * (1 + off) if at == n else 0) for n, one in enumerate(crank)]
        made.append(Trial(mass, before, shown(matrix, on, mirrored=mirrored, noise=noise), SURE, SURE, "v0"))
    return before, made


@given(SEEDS, st.booleans())
def test_what_a_station_reads_is_told_whatever_its_zero_gain_and_sense(seed, mirrored):
    rng = random.Random(seed)
    matrix, crank = any_matrix(rng), [polar(rng.uniform(0, 5000), rng.uniform(0, 360)) for _ in "fr"]
    before, (front, rear) = trials(matrix, crank, [polar(3000, 40), polar(5000, 300)], mirrored=mirrored)
    made = Coefficients(front, rear, mirrored)
    assert list(made.unbalance(before)) == pytest.approx(crank, abs=1e-6)
    assert list(made.reads(TwoPlanes(*crank))) == pytest.approx(list(before), abs=1e-9)


@given(SEEDS, st.booleans(), st.floats(60, 120))
def test_the_fourth_run_tells_one_sense_from_the_other(seed, mirrored, by_deg):
    rng = random.Random(seed)
    matrix, crank = any_matrix(rng), [polar(rng.uniform(0, 5000), rng.uniform(0, 360)) for _ in "fr"]
    masses = [polar(8000, 40), polar(8000, 40)]
    before, (front, rear) = trials(matrix, crank, masses, mirrored=mirrored)
    on = [one * polar(1, by_deg) for one in masses]
    read = shown(matrix, [a + b for a, b in zip(crank, on, strict=True)], mirrored=mirrored)
    found = foretold(Coefficients(front, rear), before, TwoPlanes(*on), read, SURE)
    right, wrong = (found.mirrored, found.reads) if mirrored else (found.reads, found.mirrored)
    assert found.misses(right) < 0.1
    assert found.misses(wrong) > 1.5


def test_half_a_turn_hides_a_mirror():
    """Why 60 to 120 degrees are asked for: at 180 both senses foretell the same."""
    matrix, crank = any_matrix(random.Random(1)), [300 + 0j, 200j]
    masses = [polar(8000, 40), polar(8000, 40)]
    before, (front, rear) = trials(matrix, crank, masses, mirrored=True)
    on = TwoPlanes(*(-one for one in masses))
    found = foretold(Coefficients(front, rear), before, on, before, SURE)
    assert list(found.reads) == pytest.approx(list(found.mirrored), abs=1e-9)


def test_the_doubt_covers_what_noise_really_does():
    """Monte Carlo of 400 stations, JCGM 101: in each direction the error over its standard uncertainty scatters by
    about one, and 95 in 100 are within two of them."""
    ratios = []
    for seed in range(400):
        rng = random.Random(seed)
        matrix, crank = any_matrix(rng), [polar(rng.uniform(0, 5000), rng.uniform(0, 360)) for _ in "fr"]
        before, (front, rear) = trials(matrix, crank, [polar(4000, 40), polar(4000, 300)], noise=rng)
        made = Coefficients(front, rear)
        found = made.unbalance(before)
        sure = made.sure_gmm(found, SURE, "v0")
        ratios += [
            part / own
            for a, b, own in zip(found, crank, sure, strict=True)
            for part in ((a - b).real, (a - b).imag)
        ]
    assert 0.7 < statistics.pstdev(ratios) < 1.15
    assert sum(abs(one) <= 2 for one in ratios) / len(ratios) > 0.94


def test_one_plane_from_a_run_and_another_with_a_mass():
    """By hand: 4 at 0 as found, 2j more with 100 g·mm at 0: a division is 50 g·mm, a quarter of a turn back."""
    assert one_plane(4 + 0j, 4 + 2j, 100 + 0j) == pytest.approx(-200j)
    with pytest.raises(ValueError, match="moves"):
        one_plane(4 + 0j, 4 + 0j, 100 + 0j)


def test_planes_that_show_the_same_are_not_told_apart():
    _, (front, rear) = trials([[1, 1], [1, 1]], [1, 2], [100, 100])
    made = Coefficients(front, rear)
    assert made.is_poor
    with pytest.raises(ValueError, match="both planes show the same"):
        made.unbalance(TwoPlanes(1, 1))


def test_by_how_much_each_was_moved():
    known = {"front": polar(50, 10), "rear": polar(10, 200)}
    assert turned_deg(known, {"front": polar(9, 280), "rear": polar(3, 110)}) == pytest.approx((90, 90))


@given(SEEDS, st.booleans(), st.floats(60, 120))
def test_one_plane_is_told_with_its_sense_by_a_mass_that_is_moved(seed, mirrored, by_deg):
    rng = random.Random(seed)
    gain, own = (
        polar(rng.uniform(0.01, 0.05), rng.uniform(0, 360)),
        polar(rng.uniform(0, 3000), rng.uniform(0, 360)),
    )
    known = polar(3000, rng.uniform(0, 360))
    moved = known * polar(1, by_deg)

    def read(*on):
        shown = gain * sum(on, own)
        return shown.conjugate() if mirrored else shown

    made = one_plane_by(read(), (known, read(known)), (moved, read(moved)), 0.05)
    assert made.is_mirrored is mirrored
    assert made.unbalance(read()) == pytest.approx(own, abs=1e-6)


def test_what_tells_nothing_of_one_plane():
    with pytest.raises(ValueError, match="180 degrees from the first"):
        one_plane_by(1 + 0j, (100 + 0j, 5 + 0j), (-100 + 0j, 5 + 0j), 0.01)
    with pytest.raises(ValueError, match="too little"):
        one_plane_by(1 + 0j, (100 + 0j, 1.1 + 0j), (100j, 1 + 0.1j), 0.05)
    with pytest.raises(ValueError, match="not read as the first foretells"):
        one_plane_by(1 + 0j, (100 + 0j, 5 + 0j), (100j, 9 + 9j), 0.01)
