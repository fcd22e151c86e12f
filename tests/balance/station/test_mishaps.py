"""What may have happened: each way of going wrong is played on a simulated crank, and has to be among those that
are told."""

from __future__ import annotations

import cmath
import math
import random

import pytest

from truethrow.balance.correction import TwoPlanes
from truethrow.balance.correction.planes import split
from truethrow.balance.station.mishaps import MOST_TOLD, Mishap, Scene, is_other_way, mishaps
from truethrow.balance.station.spin import Instrument, PlaneReading, measured

PLANES_MM = (0.0, 336.0)
RADIUS_MM = 46.0
# Cross-plane, invented; throws 2 and 4 carry more, as an engine with unlike parts hung "own" has it.
THROWS = ((0.0, 0.0, 1866.0), (112.0, 90.0, 1881.0), (224.0, 270.0, 1859.0), (336.0, 180.0, 1897.0))
INSTRUMENT = Instrument("g·mm", None, with_rotation=True, amount_part=0.02, angle_deg=2.0, floor_gmm=20.0)
NOISE_GMM = 6.0


def bobweight(throw):
    z_mm, angle, mass_g = throw
    return split(cmath.rect(mass_g * RADIUS_MM, math.radians(angle)), z_mm, PLANES_MM)


HUNG = tuple((str(number), bobweight(throw)) for number, throw in enumerate(THROWS, start=1))


def times(vectors, factor):
    return TwoPlanes(vectors.front * factor, vectors.rear * factor)


class Crank:
    """A crank on a station, its noise and its calibration by a seed."""

    def __init__(self, seed):
        self.dice = random.Random(seed)
        self.gain = 1 + self.dice.uniform(-0.015, 0.015)
        self.turn = math.radians(self.dice.uniform(-1.5, 1.5))
        self.true = TwoPlanes(self.vector(600, 4000), self.vector(600, 4000))

    def vector(self, least, most):
        return cmath.rect(self.dice.uniform(least, most), self.dice.uniform(0, 2 * math.pi))

    def shown(self, true):
        """What the station reads, noise and all."""
        return TwoPlanes(
            *(
                one * cmath.rect(self.gain, self.turn)
                + complex(self.dice.gauss(0, NOISE_GMM), self.dice.gauss(0, NOISE_GMM))
                for one in true
            )
        )


def sure_gmm(vectors):
    return tuple(measured(one, NOISE_GMM, INSTRUMENT).widest_gmm for one in vectors)


def scene_of(expected, read, **known):
    return Scene(expected, sure_gmm(expected), read, sure_gmm(read), hung=HUNG, **known)


def typed_as(vectors, *, exchanged):
    """The reading of what a station shows, figures typed as they are or the wrong way round."""
    found = []
    for one in vectors:
        amount, angle = INSTRUMENT.shows(one)
        reading = PlaneReading(f"{amount:.1f}", f"{angle:.1f}")
        figures = (reading.angle_deg, reading.amount) if exchanged else (reading.amount, reading.angle_deg)
        found.append(INSTRUMENT.vector_gmm(*figures))
    return TwoPlanes(*found)


def missing(crank, before):
    throw = crank.dice.randrange(4)
    true = crank.true.plus(times(HUNG[throw][1], -1))
    return scene_of(before, crank.shown(true)), lambda one: one.throws == (str(throw + 1),)


def all_missing(crank, before):
    true = crank.true
    for _, own in HUNG:
        true = true.plus(times(own, -1))
    return scene_of(before, crank.shown(true)), lambda one: len(one.throws) == 4


def exchanged(crank, before):
    throw, other = crank.dice.sample(range(4), 2)
    true = crank.true
    for at, mass in ((throw, THROWS[other][2]), (other, THROWS[throw][2])):
        z_mm, angle, own = THROWS[at]
        true = true.plus(bobweight((z_mm, angle, mass))).plus(times(bobweight((z_mm, angle, own)), -1))
    names = {str(throw + 1), str(other + 1)}
    return scene_of(before, crank.shown(true)), lambda one: set(one.throws) == names


def left_on(crank, before):
    mass = TwoPlanes(crank.vector(2000, 8000), 0j)
    masses = (("front", mass),)
    return scene_of(before, crank.shown(crank.true.plus(mass)), masses=masses), lambda one: one.plane == "front"


def turned(crank, before):
    off = crank.dice.choice((-1, 1)) * crank.dice.uniform(15, 170)
    read = times(crank.shown(crank.true), cmath.rect(1, math.radians(off)))
    return scene_of(before, read), lambda one: abs(one.off - off) < 5


def planes(crank, before):
    read = crank.shown(crank.true)
    return scene_of(before, TwoPlanes(read.rear, read.front)), lambda one: True


def typed(crank, before):
    read = crank.shown(crank.true)
    right = typed_as(read, exchanged=False)
    return scene_of(before, typed_as(read, exchanged=True), exchanged=(("", right),)), lambda one: True


def mirrored(crank, before):
    read = crank.shown(crank.true)
    return scene_of(before, TwoPlanes(*(one.conjugate() for one in read))), lambda one: True


def scale(crank, before):
    factor = crank.dice.choice((25.4, 1 / 25.4, 720.08, 2.0, 0.5))
    return scene_of(before, times(crank.shown(crank.true), factor)), lambda one: abs(one.off / factor - 1) < 0.1


def not_drilled(crank, before):
    hole = split(crank.vector(200, 900), crank.dice.uniform(0, 336), PLANES_MM)
    return scene_of(before.plus(hole), crank.shown(crank.true), drilled=(hole,)), lambda one: len(one.which) == 1


def not_recorded(crank, before):
    """Some of the five holes of a plan."""
    holes = tuple(split(crank.vector(300, 900), crank.dice.uniform(0, 336), PLANES_MM) for _ in range(5))
    which = tuple(sorted(crank.dice.sample(range(5), crank.dice.randrange(1, 6))))
    true = crank.true
    for at in which:
        true = true.plus(holes[at])
    return scene_of(before, crank.shown(true), to_do=holes), lambda one: one.which == which


def fixture(crank, before):
    own = TwoPlanes(crank.vector(100, 1500), crank.vector(100, 1500))
    still = crank.shown(crank.true.plus(times(own, -1)))
    return scene_of(before.plus(own), still, fixture=own), lambda one: True


def another_crank(crank, before):
    read = crank.shown(TwoPlanes(crank.vector(600, 4000), crank.vector(600, 4000)))
    return scene_of(before, read, most_gmm=20_000.0), lambda one: True


PLAYED = [
    *(missing, all_missing, exchanged, left_on, turned, planes, typed, mirrored, scale, not_drilled),
    *(not_recorded, fixture),
    another_crank,
]


@pytest.mark.parametrize("play", PLAYED, ids=lambda play: play.__name__)
def test_the_right_mishap_is_among_the_three_that_are_told(play, as_many):
    """Of 200 of each, in at least 95 % of those that can be seen at all. play: gives the scene, and what makes a
    told one the right one."""
    kind = play.__name__.removeprefix("all_").replace("_", " ")
    seen = right = 0
    for seed in range(as_many(200, 40)):
        crank = Crank(seed)
        scene, is_right = play(crank, crank.shown(crank.true))
        if scene.is_explained:
            continue
        seen += 1
        told = mishaps(scene)
        assert len(told) <= MOST_TOLD
        right += any(one.kind == kind and is_right(one) for one in told)
    print(f"\n{kind}: {right} of {seen} seen")  # noqa: T201 (with -s)
    assert seen
    assert right >= 0.95 * seen


def test_a_clean_spin_is_explained(as_many):
    """Of 200 clean spins with a hole between, at most 2 % are stopped."""
    many = as_many(200, 60)
    stopped = 0
    for seed in range(many):
        crank = Crank(seed)
        hole = split(crank.vector(50, 400), crank.dice.uniform(0, 336), PLANES_MM)
        expected = crank.shown(crank.true).plus(hole)
        stopped += not scene_of(expected, crank.shown(crank.true.plus(hole))).is_explained
    print(f"\n{stopped} of {many} clean spins stopped")  # noqa: T201 (with -s)
    assert stopped <= 0.02 * many


TENS = (10.0, 10.0)


def test_a_fixture_that_was_turned_reads_its_own_part_twice_off():
    """c + f as it stands, c - f turned: the difference is 2 f, either way."""
    there, own = TwoPlanes(100 + 0j, 50j), TwoPlanes(300j, 80 + 0j)
    less, more = there.plus(times(own, -2)), there.plus(times(own, 2))
    for read, way in ((less, (True, False)), (more, (False, True)), (there, (False, False))):
        scene = Scene(there, TENS, read, TENS)
        assert tuple(is_other_way(scene, own, is_turned=turned) for turned in (False, True)) == way


def test_what_was_expected_needs_no_mishap():
    there = TwoPlanes(100 + 0j, 50j)
    assert mishaps(Scene(there, TENS, there, TENS, hung=HUNG)) == ()


def test_a_reading_that_nothing_explains_has_no_mishap():
    assert mishaps(Scene(TwoPlanes(100 + 0j, 50j), TENS, TwoPlanes(-4000j, 7000 + 0j), TENS, hung=HUNG)) == ()


def test_without_bobweights_none_is_missing():
    read = TwoPlanes(-85_836 + 0j, 0j)
    scene = Scene(TwoPlanes(0j, 0j), TENS, read, TENS)
    assert mishaps(scene) == ()
    assert str(mishaps(scene._replace(hung=HUNG))[0]) == "the bobweight of throw 1 is missing"


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (Mishap("missing", 0, ("2", "3")), "the bobweights of throws 2 and 3 are missing"),
        (Mishap("missing", 0, ("1", "2", "3")), "all bobweights are missing"),
        (Mishap("exchanged", 0, ("1", "4")), "the bobweights of throws 1 and 4 hang on each other's throw"),
        (Mishap("turned", 0, off=-40.2), "the index or the zero has moved by -40 degrees"),
        (Mishap("scale", 0, off=3.1), "every amount is 3.1 times what it was: another unit, or another radius"),
        (
            Mishap("scale", 0, off=1 / 28.2),
            "every amount is 0.0355 times what it was: another unit, or another radius, as where ounces and grams "
            "are mixed up",
        ),
        (
            Mishap("scale", 0, off=25.41),
            "every amount is 25.4 times what it was: another unit, or another radius, as where inches and "
            "millimeters are mixed up",
        ),
        (Mishap("not drilled", 0, which=(0,)), "a hole is recorded but not drilled"),
        (Mishap("not recorded", 0, which=(0, 1, 2)), "3 holes are drilled but not recorded"),
        (Mishap("typed", 0), "amount and angle of both planes were typed the wrong way round"),
        (Mishap("typed", 0, plane="rear"), "amount and angle of the rear plane were typed the wrong way round"),
        (Mishap("left on", 0, plane="rear"), "the known mass is still on the rear plane"),
        (Mishap("left on", 0), "both known masses are still on"),
        (
            Mishap("another crank", 0),
            "another crank is on the station, or something was done to this one that is not recorded",
        ),
        (Mishap("fixture", 0), "the fixture was still turned, and the spin was typed without --turned"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_each_is_said_as_a_hand_at_the_station_would(one, said):
    assert str(one) == said
