"""A test mass at a simulated station: what it says of the profile's sense, zero and unit."""

from __future__ import annotations

import cmath
import itertools
import math
import random
from collections import Counter
from typing import get_args

import plain_testmass
import pytest
from hypothesis import given
from hypothesis import strategies as st
from plain_testmass import Hung, Profile
from station_shop import polar

from truethrow.balance.base.units import LENGTH, MASS
from truethrow.balance.station import testmass
from truethrow.balance.station.spin import Instrument, PlaneReading
from truethrow.balance.station.testmass import Finding, FindingKind, Trial, check

GRAMS = Instrument("g", 100.0, True, amount_part=0.02, angle_deg=2.0, floor_gmm=30.0)


def turned(degrees):
    """An angle as it is nearest to none."""
    return (degrees + 180) % 360 - 180


class Station:
    """A simulated station that reads with a sense, zero and unit of its own, whatever the profile says; noise_gmm
    in each direction."""

    def __init__(self, true: Instrument, seed: int, noise_gmm=0.0, swapped=False, crossed=0.0, least=20.0):
        self.least = least
        self.true, self.noise, self.swapped, self.crossed = true, noise_gmm, swapped, crossed
        self.random = random.Random(seed)
        self.crank = [polar(self.random.uniform(0, 3000), self.random.uniform(0, 360)) for _ in range(2)]

    def shows(self, mass=0j, plane=0):
        vectors = [v + mass * (1.0 if at == plane else self.crossed) for at, v in enumerate(self.crank)]
        noisy = [v + complex(self.random.gauss(0, self.noise), self.random.gauss(0, self.noise)) for v in vectors]
        readings = [self.true.shows(v) for v in noisy]
        return readings[::-1] if self.swapped else readings

    def trial(self, profile, at_deg, plane="front", gmm=5000.0):
        mass, number = polar(gmm, at_deg), ("front", "rear").index(plane)
        before, after = self.shows(), self.shows(mass, number)
        read = [
            profile.vector_gmm(*later) - profile.vector_gmm(*earlier)
            for earlier, later in zip(before, after, strict=True)
        ]
        standard = max(math.sqrt(2) * self.noise, self.least)
        return Trial(plane, mass, *read, standard, gmm / 100)


def kinds(findings):
    return [found.kind for found in findings]


@given(
    st.integers(0, 10_000), st.floats(0, 360), st.booleans(), st.floats(0, 360), st.sampled_from(["front", "rear"])
)
def test_a_right_profile_agrees(seed, at, sense, zero, plane):
    profile = GRAMS._replace(with_rotation=sense, zero_deg=zero)
    found = kinds(check([Station(profile, seed).trial(profile, at, plane)], profile))
    slack = math.hypot(2.0, testmass.MASS_DEG, math.degrees(math.asin(2 * 20 / 5000)))
    assert found == (["unsure"] if abs(turned(2 * at)) <= 2 * slack + 1e-9 else [])


def test_a_wrong_sense_is_always_caught():
    """Cases by the thousand, with noise: a spin that was read with the wrong sense is never passed as right. Where
    the mirrored angle is near the true one it says that it cannot tell, and at which angle it can."""
    chance = random.Random(21)
    told = {"sense": 0, "unsure": 0}
    for seed in range(4000):
        sense, zero = chance.random() < 0.5, chance.uniform(0, 360)
        profile = GRAMS._replace(with_rotation=sense, zero_deg=zero)
        station = Station(profile._replace(with_rotation=not sense), seed, noise_gmm=20.0)
        at = chance.uniform(0, 360) if seed % 2 else chance.choice([0, 180]) + chance.uniform(-12, 12)
        found = check([station.trial(profile, at)], profile)
        assert kinds(found)[:1] in (["sense"], ["unsure"], ["either"]), (at, found)
        if found[0].kind == "sense":
            told["sense"] += 1
            assert found[0].with_rotation is not sense
        elif found[0].kind == "unsure":
            told["unsure"] += 1
            assert abs(turned(2 * at)) < 12
            again = check([station.trial(profile, found[0].at_deg)], profile)
            assert (again[0].kind, again[0].with_rotation) == ("sense", not sense)
    assert told["sense"] > 2500
    assert told["unsure"] > 300


@given(st.integers(0, 10_000), st.floats(0, 360), st.floats(10, 350), st.booleans(), st.floats(0, 360))
def test_a_zero_that_is_off_is_measured(seed, at, off, sense, second):
    """With one mass a mirror may look the same; with another 90 degrees on the zero is told for what it is."""
    profile = GRAMS._replace(with_rotation=sense)
    station = Station(profile._replace(zero_deg=off), seed)
    first = station.trial(profile, at)
    found = check([first, station.trial(profile, at + 90)], profile)
    assert kinds(found) == ["zero"]
    assert turned(found[0].zero_deg - off) == pytest.approx(0, abs=1e-3)
    mended = profile._replace(zero_deg=found[0].zero_deg)
    assert set(kinds(check([station.trial(mended, second)], mended))) <= {"unsure"}


@given(st.integers(0, 10_000), st.floats(0, 360), st.floats(15, 345), st.booleans())
def test_a_wrong_sense_with_a_wrong_zero_takes_two_masses(seed, at, off, sense):
    profile = GRAMS._replace(with_rotation=sense)
    station = Station(profile._replace(with_rotation=not sense, zero_deg=off), seed)
    found = check([station.trial(profile, at), station.trial(profile, at + 90)], profile)
    assert kinds(found) == ["sense"]
    mended = profile._replace(with_rotation=found[0].with_rotation, zero_deg=found[0].zero_deg or 0.0)
    assert mended.with_rotation is not sense
    assert turned(mended.zero_deg - off) == pytest.approx(0, abs=1e-3)


def test_one_mass_cannot_tell_a_zero_from_a_mirror_and_another_zero():
    profile = GRAMS
    station = Station(profile._replace(zero_deg=40.0), 1)
    found = check([station.trial(profile, 70)], profile)
    assert kinds(found) == ["either"]
    assert found[0].zero_deg == pytest.approx(40.0)
    assert found[0].at_deg == pytest.approx(160.0)


@pytest.mark.parametrize("radius_mm", [110.0, 90.0])
def test_a_radius_that_is_a_little_off_is_told_by_one_mass(radius_mm):
    found = check([Station(GRAMS._replace(radius_mm=radius_mm), 3, least=5.0).trial(GRAMS, 60)], GRAMS)
    assert kinds(found) == ["scale"]
    assert found[0].radius_mm == pytest.approx(radius_mm)


@pytest.mark.parametrize("radius_mm", [150.0, 60.0])
def test_a_radius_that_is_far_off_is_told_by_two_masses_that_are_not_alike_and_agree(radius_mm):
    """One mass may be typed wrong itself. One as heavy, or at odds with it, is no second."""
    station = Station(GRAMS._replace(radius_mm=radius_mm), 3, least=5.0)
    first, alike, other = (
        station.trial(GRAMS, 60),
        station.trial(GRAMS, 150),
        station.trial(GRAMS, 150, gmm=8000.0),
    )
    for trials in (
        [first],
        [first, alike],
        [other, first._replace(mass_g=50, expected_gmm=first.expected_gmm * 3)],
    ):
        found = check(trials, GRAMS)
        assert (kinds(found), found[0].radius_mm, found[0].unit) == (["scale"], None, None)
    found = check([first, other], GRAMS)
    assert (kinds(found), found[0].radius_mm) == (["scale"], pytest.approx(radius_mm))


@pytest.mark.parametrize(
    ("true", "profile", "mixed"),
    [
        (GRAMS._replace(unit="oz"), GRAMS, "ounces and grams"),
        (GRAMS, GRAMS._replace(unit="oz"), "ounces and grams"),
        (
            GRAMS._replace(unit="g·mm", radius_mm=None),
            GRAMS._replace(unit="g·in", radius_mm=None),
            "inches and mill",
        ),
        (
            GRAMS._replace(unit="oz·in", radius_mm=None),
            GRAMS._replace(unit="g·mm", radius_mm=None),
            "ounce-inches",
        ),
        (GRAMS._replace(unit="lb"), GRAMS._replace(unit="oz"), "pounds and ounces"),
        (GRAMS._replace(unit="lb"), GRAMS, "pounds and grams"),
        (GRAMS._replace(unit="kg"), GRAMS, "kilograms and grams"),
        (GRAMS._replace(radius_mm=1000.0), GRAMS, "centimeters and millimeters"),
        (GRAMS._replace(radius_mm=980.665), GRAMS, "newtons and kilograms"),
        (GRAMS._replace(radius_mm=98.0665), GRAMS._replace(amount_part=0.005), "newtons and kilograms, with 10"),
    ],
)
def test_units_that_are_mixed_up_are_named_and_nothing_is_advised_by_however_many_masses(true, profile, mixed):
    station = Station(true, 3, least=0.0)
    trials = [station.trial(profile, 60, gmm=50_000.0), station.trial(profile, 150, gmm=80_000.0)]
    for made in (trials[:1], trials):
        (found,) = check(made, profile)
        assert found.kind == "units"
        assert found.mixed.startswith(mixed)
        assert (found.unit, found.radius_mm, found.zero_deg) == (None, None, None)


def test_what_units_are_is_what_the_units_room_has():
    """The factors stand in testmass as numbers, and are the house's own: inch, ounce, pound."""
    ounce, pound, inch = (float(one) for one in (MASS.factors["oz"], MASS.factors["lb"], LENGTH.factors["in"]))
    assert {inch, ounce, ounce * inch, ounce * (inch / 10), pound, 16.0} <= testmass.MIXED.keys()
    assert pound / ounce == pytest.approx(16.0)


# Of each mix-up how near its factor an amount has to be, where it is known exactly and where it is hardly known.
NEAR = [(times, *((0.005, 0.0) if times < 1 else (0.05, 0.01))) for _, times, *_ in plain_testmass.MIX_UPS]


@pytest.mark.parametrize(("times", "most", "least"), NEAR)
def test_a_mix_up_is_told_as_near_to_its_factor_as_the_amount_is_known(times, most, least):
    """Within 1 % at least, and 5 % at most; newtons with 10 for 9.81, which is next to nothing wrong, within 0.5 %
    and no farther than the amount is known."""
    (units,) = (one for one, own, *_ in plain_testmass.MIX_UPS if own == times)
    # 10 and 9.80665 are next to each other: only on the far side of both is there nothing.
    ways = {10.0: (1,), 9.80665: (-1,)}.get(times, (1, -1))
    for slack, near in ((0.0, least), (0.002, max(least, 0.002)), (0.03, min(most, 0.03)), (0.2, most)):
        for way in ways:
            for factor, toward in ((times, way), (1 / times, -way)):
                assert testmass.mixed_up(factor * (1 + toward * 0.97 * near), slack) == units
                assert testmass.mixed_up(factor * (1 + toward * (1.03 * near + 1e-5)), slack) == ""


def test_what_nobody_says_of_an_amount_is_that_it_is_known_exactly():
    assert testmass.mixed_up(25.4 * 1.0099) == "inches and millimeters"
    assert testmass.mixed_up(25.4 * 1.0101) == ""


@given(st.floats(0.05, 20))
def test_a_factor_between_those_of_units_is_no_mix_up(factor):
    near = any(abs(factor / one - 1) <= 0.05 or abs(factor * one - 1) <= 0.05 for one in testmass.MIXED)
    assert bool(testmass.mixed_up(factor, 0.05)) <= near


def test_amounts_that_were_edited_are_proved_by_two_masses_typed_with_their_units():
    station = Station(GRAMS, 3, least=5.0)
    first, other = station.trial(GRAMS, 60), station.trial(GRAMS, 150, gmm=8000.0)
    typed = other._replace(has_units=True)
    assert kinds(check([first], GRAMS, rescaled=True)) == ["gain"]
    assert kinds(check([first, other], GRAMS, rescaled=True)) == ["gain"]
    assert kinds(check([typed], GRAMS, rescaled=True)) == ["gain"]
    assert kinds(check([first, typed], GRAMS, rescaled=True)) == []


def test_a_unit_of_mass_is_offered_with_its_radius():
    """The profile says g·in, the station shows grams at 100 mm."""
    profile = GRAMS._replace(unit="g·in", radius_mm=None)
    station = Station(GRAMS, 3, least=5.0)
    trials = [station.trial(profile, 60), station.trial(profile, 150, gmm=8000.0)]
    found = check(trials, profile)
    assert (kinds(found), found[0].unit) == (["scale"], "g")
    assert found[0].radius_mm == pytest.approx(100.0)
    near = Station(GRAMS._replace(radius_mm=30.0), 3, least=5.0)  # no farther off than a calibration may be
    (found,) = check([near.trial(profile, 60)], profile)
    assert (found.kind, found.unit, found.radius_mm, found.calibrate) == ("scale", None, None, True)


def test_what_no_radius_explains_is_another_unit():
    """The profile says grams at 100 mm and the display g·mm, or g·in and the display g·mm: no radius of less than
    a millimeter is advised, and no calibration by 25."""
    for profile in (GRAMS, GRAMS._replace(unit="oz·in", radius_mm=None)):
        station = Station(GRAMS._replace(unit="g·mm", radius_mm=None), 3, least=5.0)
        trials = [station.trial(profile, 60), station.trial(profile, 150, gmm=8000.0)]
        found = check(trials, profile)
        assert (kinds(found), found[0].radius_mm, found[0].calibrate) == (["units"], None, False)
        assert found[0].mixed


def test_swapped_planes_are_named_and_the_rest_still_checked():
    station = Station(GRAMS._replace(with_rotation=False), 4, swapped=True)
    # Both spins are swapped, so the planes' own unbalance falls out all the same.
    assert kinds(check([station.trial(GRAMS, 50)], GRAMS)) == ["planes", "sense"]


def test_planes_that_are_not_separated():
    """What shows a tenth in the other plane is told; what shows more proves nothing."""
    found = check([Station(GRAMS, 5, crossed=0.3).trial(GRAMS, 50)], GRAMS)
    assert kinds(found) == ["aside"]
    assert found[0].off == pytest.approx(0.3)
    assert kinds(check([Station(GRAMS, 5, crossed=0.08).trial(GRAMS, 50)], GRAMS)) == ["separation"]


def test_a_mass_that_is_too_small_says_nothing():
    """One that reads as it should, too: but that it hardly moved would be no true word of it."""
    trial = Station(GRAMS, 6).trial(GRAMS, 50, gmm=150.0)
    (found,) = check([trial], GRAMS)
    assert found.kind == "rough"
    other = trial._replace(front_gmm=trial.front_gmm * 0.5)
    (found, *_) = check([other], GRAMS)
    assert (found.kind, found.off < testmass.SEEN) == ("unseen", True)
    # And says how heavy a mass has to be there: one of just so much, read as it should be, proves the station.
    assert found.needed_g > other.mass_g
    enough = trial.expected_gmm / abs(trial.expected_gmm) * found.needed_g * found.at_mm
    proving = other._replace(expected_gmm=enough, front_gmm=enough, rear_gmm=0j, mass_g=found.needed_g)
    assert check([proving], GRAMS) == ()
    assert kinds(check([proving._replace(expected_gmm=0.98 * enough, front_gmm=0.98 * enough)], GRAMS)) == [
        "rough"
    ]


def test_a_profile_that_no_mass_can_prove_asks_for_none():
    trial = Station(GRAMS, 6).trial(GRAMS, 50, gmm=150.0)._replace(front_gmm=0j)
    (found, *_) = check([trial], GRAMS._replace(amount_part=0.2))
    assert (found.kind, found.needed_g) == ("unseen", 0.0)


@pytest.mark.parametrize(("beside", "kind"), [(0.02, "scale"), (0.12, "aside"), (0.3, "aside")])
def test_by_a_mass_that_shows_in_the_other_plane_nothing_is_advised(beside, kind):
    """Ahead of its plane by a part of the planes' distance: its own shows so much more, and the other so much, on
    the other side (the lever)."""
    plain = Station(GRAMS, 5).trial(GRAMS, 50)
    one = plain.expected_gmm
    trial = plain._replace(front_gmm=one * (1.1 + beside), rear_gmm=-one * beside, standard_gmm=10.0)
    (found,) = check([trial], GRAMS)
    assert (found.kind, found.radius_mm is None) == (kind, kind == "aside")


def test_what_was_edited_to_fit_such_a_mass_is_not_proved_by_another_there():
    plain = Station(GRAMS, 5).trial(GRAMS, 50)
    fits = plain._replace(front_gmm=plain.expected_gmm, rear_gmm=-0.09 * plain.expected_gmm, standard_gmm=10.0)
    assert kinds(check([fits], GRAMS, refit=True)) == ["aside"]
    assert kinds(check([fits], GRAMS)) == ["separation"]


def test_a_mass_that_was_not_on_is_left_out():
    """No change at all has no angle; neither it nor a weak one hides what the others say."""
    off = Station(GRAMS._replace(zero_deg=40.0), 7)
    wrong = [off.trial(GRAMS, at) for at in (30, 120)]
    nothing = wrong[0]._replace(front_gmm=0j, rear_gmm=0j)
    assert kinds(check([nothing, *wrong], GRAMS)) == ["zero"]
    assert kinds(check([*wrong, nothing], GRAMS)) == ["unseen", "zero"]
    assert kinds(check([nothing], GRAMS)) == ["unseen"]
    assert kinds(check([nothing._replace(standard_gmm=0.0)], GRAMS)) == ["unseen"]


def test_a_weak_mass_does_not_loosen_the_others():
    """A wrong zero of 9 degrees that a heavy mass shows stays one beside a light one."""
    off = Station(GRAMS._replace(zero_deg=9.0), 7)
    heavy, light = off.trial(GRAMS, 30), off.trial(GRAMS, 120, gmm=220.0)
    assert kinds(check([heavy, light], GRAMS)) == ["zero"]


@given(st.integers(0, 10_000), st.floats(0, 360), st.floats(0, 360), st.booleans())
def test_a_changed_profile_is_proved_by_two_angles_only(seed, at, beside, sense):
    """Made to fit one mass with the wrong sense, it never agrees by that angle; another one tells."""
    true = GRAMS._replace(with_rotation=sense)
    profile = GRAMS._replace(with_rotation=not sense)
    station = Station(true, seed)
    turn = math.degrees(cmath.phase(station.trial(profile, at).own_gmm / polar(1.0, at)))
    fitted = profile._replace(zero_deg=(profile.sense * turn) % 360)
    first = station.trial(fitted, at)
    found = check([first], fitted, changed=True)
    assert kinds(found)[0] in ("alone", "unsure")
    second = station.trial(fitted, beside)
    assert check([first, second], fitted, changed=True)
    assert check([first, station.trial(fitted, found[0].at_deg)], fitted, changed=True)[0].kind != "alone"
    right = [station.trial(true, angle) for angle in (at, at + 90)]
    assert kinds(check(right, true, changed=True)) in ([], ["unsure"])


def test_masses_that_contradict_each_other():
    station = Station(GRAMS, 7)
    trials = [station.trial(GRAMS, at) for at in (20, 100)]
    lying = trials[0]._replace(expected_gmm=polar(5000, 75))
    assert kinds(check([lying, trials[1]], GRAMS)) == ["differ"]


@pytest.mark.parametrize("liar", [0, 1, 2, 3])
@pytest.mark.parametrize("count", [3, 4])
@pytest.mark.parametrize("zero", [0.0, 40.0])
@pytest.mark.parametrize("off", [5, 30])
def test_one_mass_that_contradicts_the_others_is_not_outvoted(off, zero, count, liar):
    """Three or four masses, on a station that is right or has its zero off; one of them was not where it was said
    to be, by 30 degrees, or by so little that the others are near the middle of all. Whichever it is, the profile
    neither passes nor gets a zero out of their middle."""
    station = Station(GRAMS._replace(zero_deg=zero), 7)
    trials = [station.trial(GRAMS, at) for at in (20, 100, 215, 310)[:count]]
    honest = kinds(check(trials, GRAMS))
    assert honest == (["zero"] if zero else [])
    at = liar % count
    trials[at] = trials[at]._replace(expected_gmm=trials[at].expected_gmm * polar(1.0, off))
    assert kinds(check(trials, GRAMS)) == ["differ"]


def test_the_existing_unbalance_does_not_matter():
    """The same mass on cranks of any unbalance gives the same answer."""
    profile = GRAMS._replace(zero_deg=25.0)
    answers = {
        (kinds(found)[0], round(found[0].zero_deg, 6))
        for seed, at in itertools.product(range(20), (30, 140))
        if (found := check([Station(GRAMS, seed).trial(profile, at)], profile))
    }
    assert answers == {("either", 0.0)}


def test_readings_are_written_as_typed():
    assert str(PlaneReading("12.4", "37")) == "12.4@37"


PROFILES = [("g", 100.0, 1.0), ("oz", 75.0, 1.0), ("g·mm", None, 1.0), ("g·in", None, 25.4), ("oz·in", None, 25.4)]
# What a change is made of the mass: amounts as they should be, a little and far off, or units mixed up.
TIMES = [
    1.0,
    1.0,
    1.0,
    1.05,
    0.9,
    1.19,
    1.21,
    0.6,
    1.9,
    2.2,
    3.0,
    0.3,
    7.0,
    25.4,
    1 / 28.35,
    16.0,
    0.1,
    9.8,
    0.98,
    50.0,
]
OFF_DEG = [0.0, 0.0, 0.0, 0.0, 2.0, 5.0, 12.0, 40.0, 90.0, 179.0, -75.0]
BESIDE = [0.0, 0.0, 0.0, 0.03, 0.05, 0.09, 0.11, 0.3, 1.5]


def drawn(seed):
    """Up to four masses on a station at random, as plain figures: most of them of one mistake, some of several."""
    draw = random.Random(seed)
    unit, radius_mm, per_mm = draw.choice(PROFILES)
    known = draw.choice([(0.02, 2.0), (0.02, 2.0), (0.0, 0.0), (0.05, 4.0), (0.08, 1.0), (0.005, 5.9)])
    profile = Profile(unit, radius_mm, per_mm, draw.random() < 0.5, draw.choice([0.0, 123.4]), *known)
    mirror, times, off = draw.random() < 0.25, draw.choice(TIMES), draw.choice(OFF_DEG)
    beside, standard = draw.choice(BESIDE), draw.choice([0.0, 5.0, 20.0, 60.0, 200.0, 900.0])
    hung = []
    for _ in range(draw.choice([1, 1, 2, 2, 3, 4])):
        grams, at_mm = draw.choice([1.0, 20.0, 30.0, 31.0, 50.0]), draw.choice([60.0, 100.0])
        at_deg = draw.choice([draw.uniform(0, 360), draw.gauss(0, 4), draw.gauss(180, 4)])
        liar = draw.random() < 0.1
        angle = (-at_deg if mirror else at_deg) + off + draw.gauss(0, 1.5) + 45 * liar
        own = (grams * at_mm * times * draw.gauss(1, 0.01) * draw.choice([1, 1, 1, 1.3 if liar else 1]), angle)
        other = (own[0] * beside, draw.uniform(0, 360))
        plane = draw.choice(["front", "rear"])
        both = (own, other) if plane == "front" else (other, own)
        hung.append(Hung(plane, grams, at_mm, at_deg, *both, standard, draw.random() < 0.5))
    return hung, profile, [draw.random() < 0.4 for _ in range(3)]


def test_what_it_says_is_what_a_second_computation_with_amounts_and_angles_says(as_many):
    """Everything that is said: kind after kind, and of each what is advised."""
    told = Counter()
    for seed in range(as_many(60_000, 6_000)):
        hung, profile, (changed, rescaled, refit) = drawn(seed)
        instrument = Instrument(
            profile.unit,
            profile.radius_mm,
            profile.with_rotation,
            profile.zero_deg,
            profile.amount_part,
            profile.angle_deg,
        )
        trials = [
            Trial(
                one.plane,
                polar(one.should, one.at_deg),
                polar(*one.front),
                polar(*one.rear),
                one.standard,
                one.grams,
                one.typed_with_units,
            )
            for one in hung
        ]
        says = check(trials, instrument, changed=changed, rescaled=rescaled, refit=refit)
        plainly = plain_testmass.found(hung, profile, changed, rescaled, refit)
        assert kinds(says) == [kind for kind, _ in plainly], seed
        for one, (kind, own) in zip(says, plainly, strict=True):
            told[kind] += 1
            whole = Finding(one.kind)._asdict() | own
            for what, said in one._asdict().items():
                if what in ("at_deg", "zero_deg") and said is not None:
                    assert turned(said - whole[what]) == pytest.approx(0, abs=2e-3), (seed, what)
                else:
                    assert said == (pytest.approx(whole[what]) if type(said) is float else whole[what]), (
                        seed,
                        what,
                    )
    # Each was there, and not by one chance alone.
    assert told.keys() == {*get_args(FindingKind)} - {"turned", "half", "exchanged", "crossed"}
    assert min(told.values()) > 10
