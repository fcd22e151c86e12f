"""Two known masses at once at a simulated station: they agree only where it reads any crank right."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from station_shop import polar

from truethrow.balance.station.pair import HEAVIER, NEAR, USUAL_MM, check_pair, pair_to_hang, radius_for, unfit
from truethrow.balance.station.spin import Instrument
from truethrow.balance.station.stationlog import KnownMass
from truethrow.balance.station.testmass import (
    MASS_DEG,
    MASS_PART,
    MIXED,
    SURE_DEG,
    SURE_PART,
    Trial,
    noise_allowed,
    rough,
)

GRAMS = Instrument("g", 100.0, True, amount_part=0.02, angle_deg=2.0, floor_gmm=30.0)
FRONT, REAR = KnownMass("front", 60.0, 100.0, 30.0), KnownMass("rear", 40.0, 100.0, 120.0)
NOISE_GMM = 20.0
# How far a reading may be off, as a part of the larger plane, where every change is within what is sure: amount
# and angle of each plane in quadrature, and as much of the other plane, of which the lighter mass shows 1.5 times.
DOUBT = math.hypot(SURE_PART, math.radians(SURE_DEG)) * (1 + 1.5)


class Shop:
    """A station with errors of its own, all as seen by the profile: gain and zero of both planes, mirrored, planes
    swapped, part of the other plane shown in the front and in the rear."""

    def __init__(self, gain=1.0, turn=0.0, mirrored=False, swapped=False, crossed=(0.0, 0.0)):
        self.gain, self.mirrored, self.swapped, self.crossed = polar(gain, turn), mirrored, swapped, crossed

    def reads(self, front, rear):
        front, rear = front + self.crossed[0] * rear, rear + self.crossed[1] * front
        shown = [self.gain * (one.conjugate() if self.mirrored else one) for one in (front, rear)]
        return shown[::-1] if self.swapped else shown

    def check(self, front=FRONT, rear=REAR, hung=None, earlier=(), noise_gmm=NOISE_GMM):
        """What the two say. hung: what really hangs, where that is not what was typed."""
        on = {one.plane: one.vector_gmm for one in hung or (front, rear)}
        read = self.reads(on["front"], on["rear"])
        return check_pair(
            earlier,
            Trial("front", front.vector_gmm, read[0], 0j, noise_gmm, front.mass_g),
            Trial("rear", rear.vector_gmm, 0j, read[1], noise_gmm, rear.mass_g),
            GRAMS,
        )

    def kinds(self, **how):
        return [one.kind for one in self.check(**how)]

    def off(self, front, rear):
        """How far the reading of a crank is off, as a part of its larger plane."""
        read = self.reads(front, rear)
        return max(abs(a - b) for a, b in zip(read, (front, rear), strict=True)) / max(abs(front), abs(rear))


GAINS = st.one_of(
    st.floats(0.8, 1.25), st.sampled_from([*MIXED, *(1 / one for one in MIXED)]), st.floats(0.01, 100)
)
TURNS = st.one_of(st.floats(-8, 8), st.sampled_from([90.0, 180.0, 270.0, 60.0, 150.0]), st.floats(0, 360))
CROSSED = st.tuples(st.floats(0, 0.2), st.floats(0, 0.2))
VECTORS = st.builds(polar, st.floats(1, 5000), st.floats(0, 360))


@given(st.builds(Shop, GAINS, TURNS, st.booleans(), st.booleans(), CROSSED), VECTORS, VECTORS)
def test_it_agrees_only_where_any_crank_is_read_right(shop, front, rear):
    """Any wrong sense, zero, gain or unit, planes swapped or not, a fifth of one plane in the other or less."""
    if shop.check() == ():
        assert not shop.mirrored
        assert not shop.swapped
        assert shop.off(front, rear) <= DOUBT


@given(st.builds(Shop, st.floats(0.98, 1.02), st.floats(-1.5, 1.5)), VECTORS, VECTORS)
def test_a_station_that_is_right_within_its_profile_agrees(shop, front, rear):
    assert shop.check() == ()
    assert shop.off(front, rear) < DOUBT


def test_the_law_has_cases_on_both_sides():
    """Each mistake alone is caught, and told for what it is."""
    assert Shop().kinds() == []
    assert Shop(crossed=(0.02, 0.02)).kinds() == []
    assert Shop(mirrored=True).kinds() == ["sense"]
    assert Shop(turn=25).kinds() == ["zero"]
    assert Shop(swapped=True).kinds() == ["planes"]
    assert Shop(gain=1.3).kinds() == ["scale"]
    assert Shop(gain=25.4).kinds() == ["units"]
    assert Shop(crossed=(0.15, 0.15)).kinds() == ["crossed"]
    assert Shop(mirrored=True, turn=40).kinds() == ["sense"]


def test_a_zero_and_a_sense_are_told_by_their_figures():
    (zero,) = Shop(turn=25).check()
    assert zero.zero_deg == pytest.approx(25, abs=0.01)
    (sense,) = Shop(mirrored=True, turn=40).check()
    assert (sense.with_rotation, sense.zero_deg) == (False, pytest.approx(40, abs=0.01))


@given(st.floats(0, 360), st.booleans(), st.booleans(), st.floats(0.2, 5))
def test_no_zero_and_no_gain_hides_a_mirror_or_a_swap(turn, mirrored, swapped, gain):
    """A swap, mirrored, is 150 degrees in both planes for these angles: only the amounts tell, and no one gain
    mends both."""
    if mirrored or swapped:
        assert Shop(gain, turn, mirrored, swapped).check()


def test_masses_on_each_others_plane():
    """The heavier for the lighter, each at its angle; or both with their angles."""
    other = KnownMass("front", 40.0, 100.0, 30.0), KnownMass("rear", 60.0, 100.0, 120.0)
    assert Shop().kinds(hung=other) == ["exchanged"]
    moved = KnownMass("front", 40.0, 100.0, 120.0), KnownMass("rear", 60.0, 100.0, 30.0)
    assert Shop().kinds(hung=moved) == ["planes"]
    turned = KnownMass("front", 60.0, 100.0, 120.0), KnownMass("rear", 40.0, 100.0, 30.0)
    assert Shop().check(hung=turned)


# All but one that is within what any profile leaves open: newtons by 10.
UNITS = [1.0, *(one**way for one in MIXED for way in (1, -1) if abs(one - 1) > SURE_PART)]


@pytest.mark.parametrize("profile", UNITS)
@pytest.mark.parametrize("grams", [1.0, 16.0, 28.349523125, 453.59237, 1000.0])
@pytest.mark.parametrize("length", [1.0, 25.4, 10.0])
@pytest.mark.parametrize("larger", [True, False])
def test_no_unit_that_is_typed_for_another_alike_in_both_looks_like_agreement(profile, grams, length, larger):
    """Whatever is hung of what was asked for, within a factor of two: either it is refused before it is written,
    or it does not agree, or profile and typing are both right."""
    for hung_g in (0.5, 1.0, 2.0):
        really = [KnownMass(one.plane, one.mass_g * hung_g, 100.0, one.angle_deg) for one in (FRONT, REAR)]
        times = (grams, length) if larger else (1 / grams, 1 / length)
        typed = [
            KnownMass(one.plane, one.mass_g * times[0], one.radius_mm * times[1], one.angle_deg) for one in really
        ]
        is_agreed = not unfit(*typed, (FRONT, REAR)) and not Shop(gain=profile).check(*typed, hung=really)
        assert is_agreed == (profile == grams == length == 1.0)


def test_what_would_prove_nothing_is_refused():
    told = (FRONT, REAR)
    assert unfit(FRONT, REAR, told) == []
    assert "too much alike" in unfit(FRONT._replace(mass_g=44.0), REAR, told)[0]
    assert "40 degrees apart" in unfit(FRONT._replace(angle_deg=80.0), REAR, told)[0]
    assert "180 degrees apart" in unfit(FRONT._replace(angle_deg=300.0), REAR, told)[0]
    assert unfit(FRONT._replace(angle_deg=-330.0), REAR, told) == []
    (said,) = unfit(FRONT, REAR._replace(mass_g=40.0 / NEAR / 1.01), told)
    assert said.startswith("rear: 9.90099 g at 100 mm is 0.248 times what was asked for")
    inches = [one._replace(radius_mm=4.0) for one in told]
    assert "4 mm is no radius" in unfit(*inches, told)[0]


@pytest.mark.parametrize("noise", [2500.0, 600.0, 290.0, 160.0, 20.0])
def test_ten_percent_and_six_degrees(noise):
    """SURE_PART and SURE_DEG, worked out beside it: what noise, profile and mass leave, in quadrature."""
    found = Shop().check(noise_gmm=noise)
    parts = [2 * noise / abs(one.vector_gmm) for one in (FRONT, REAR)]
    part = max(math.hypot(one, 0.02, MASS_PART) for one in parts)
    degrees = max(math.hypot(math.degrees(math.asin(min(1, one))), 2.0, MASS_DEG) for one in parts)
    if part > 0.1 or degrees > 6:
        assert [one.kind for one in found] == ["rough"]
        assert found[0].off == pytest.approx(part)
        assert found[0].sure_deg == pytest.approx(degrees)
    else:
        assert found == ()


def test_a_profile_that_is_not_sure_itself_proves_nothing_by_any_mass():
    assert noise_allowed(GRAMS) == pytest.approx(math.sin(math.radians(math.sqrt(36 - 4 - 1))))
    for unsure in (GRAMS._replace(amount_part=0.1), GRAMS._replace(angle_deg=5.0)):
        assert noise_allowed(unsure) == 0.0
        heavy = Trial("front", polar(1e6, 30), polar(1e6, 30), 0j, 0.01 * 1e6 * 3, 1000.0)
        assert [one.calibrate for one in rough(heavy, unsure)] == [True]


@given(st.floats(0, 5000), st.floats(0, 0.04), st.floats(0, 3), st.floats(0, 60), st.floats(20, 80))
def test_the_pair_that_is_told_fits_and_cannot_be_missed(left, part, degrees, floor, throw_mm):
    """Read as it must be, with what the profile leaves of it and of the spin before, it agrees; unless no mass on
    the shelf would."""
    made = GRAMS._replace(amount_part=part, angle_deg=degrees, floor_gmm=floor)
    pair = front, rear = pair_to_hang(left, made, throw_mm)
    assert front.mass_g >= HEAVIER * rear.mass_g
    assert unfit(front, rear, pair) == []
    trials = []
    for one in pair:
        shown = [
            math.hypot(floor / 2, max(part, math.radians(degrees)) * size / 2)
            for size in (left, left + abs(one.vector_gmm))
        ]
        on = [one.vector_gmm if plane == one.plane else 0j for plane in ("front", "rear")]
        trials.append(Trial(one.plane, one.vector_gmm, *on, max(1e-6, math.hypot(*shown)), one.mass_g))
    found = check_pair((), *trials, made)
    assert [one.kind for one in found] in ([], ["rough"], ["unseen"])
    if noise_allowed(made) and max(part, math.radians(degrees)) < 0.06 and left < 3000:
        assert found == ()


def test_a_single_mass_that_did_not_fit_is_not_forgotten():
    """Of the same profile: then one of them was put wrong."""
    single = Trial("front", polar(5000, 60), polar(5000, 200), 0j, NOISE_GMM, 50.0)
    assert Shop().kinds(earlier=[single]) == ["differ"]
    assert Shop().kinds(earlier=[single._replace(front_gmm=polar(5000, 60))]) == []


def test_a_mass_sits_where_the_station_reads_or_at_twice_the_throw():
    by_vector = Instrument("g·mm", None, True)
    assert radius_for(GRAMS, 46.0) == radius_for(GRAMS, None) == 100.0
    assert radius_for(by_vector, 46.0) == 90.0
    assert radius_for(by_vector, None) == USUAL_MM
