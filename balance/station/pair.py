"""Two known masses at once, one on each plane, unequal and about 90 degrees apart: one spin that proves unit,
sense, zero, gain, which plane is which, and that they are separated.

Each plane has to show its own mass and nothing else, within what both spins, the profile and the mass leave open.
No one mistake passes: a mirrored angle turns the two by angles that differ by twice as much as they are apart, so
no zero hides it; planes or masses that are exchanged show other amounts; of the other mass a plane that is not
separated shows a part at right angles, so it turns. What two mistakes that happen to cancel out would hide, they
hide: the masses on each other's planes and the cables exchanged, too, look right.

Against a slip in what is typed, alike for both, no reading helps: it fits a profile that is off as much. So mass
and radius are typed with their units, and are near what was asked for.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import NamedTuple

from truethrow.balance.base import amounts
from truethrow.balance.base.amounts import ToldIn, factor
from truethrow.balance.base.digits import digits
from truethrow.balance.base.units import LENGTH, MASS
from truethrow.balance.station.spin import Instrument, measured
from truethrow.balance.station.stationlog import KnownMass
from truethrow.balance.station.testmass import (
    OTHER,
    RADII_MM,
    SEEN,
    Finding,
    Trial,
    angle,
    factor_of,
    in_its_plane,
    moves_as_expected,
    noise_allowed,
    rough,
    scale,
    seen,
    slack_deg,
    slack_part,
    unseen,
)

# The masses to hang are to be seen even where the station reads inches for millimetres, and half as much again;
# the heavier one is so much heavier at least. Common practice, no source.
MISREAD_UNIT = 25.4
AMPLE = 1.5
HEAVIER = 1.4


class Sizes(NamedTuple):
    """In which steps a shop is told of known masses: what they weigh, the lightest first, to what their radius is
    rounded, and the usual one. Common practice, no source."""

    masses_g: tuple[float, ...]
    round_mm: float
    usual_mm: float


MASSES_G = (
    1.0,
    2.0,
    3.0,
    5.0,
    10.0,
    15.0,
    20.0,
    30.0,
    40.0,
    60.0,
    80.0,
    100.0,
    150.0,
    200.0,
    300.0,
    500.0,
    800.0,
    1000.0,
)
MASSES_OZ = (0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 16.0, 24.0, 32.0)
ROUND_MM, USUAL_MM = 5.0, 100.0
ROUND_IN, USUAL_IN = 0.25, 4.0
METRIC = Sizes(MASSES_G, ROUND_MM, USUAL_MM)


def sizes_in(told_in: ToldIn) -> Sizes:
    """The steps of a shop: masses in those of its scale, lengths in its own."""
    ounce, inch = factor("oz", MASS), factor("in", LENGTH)
    masses_g = tuple(oz * ounce for oz in MASSES_OZ) if told_in.scale in ("oz", "lb") else MASSES_G
    lengths = (ROUND_IN * inch, USUAL_IN * inch) if told_in.length == "in" else (ROUND_MM, USUAL_MM)
    return Sizes(masses_g, *lengths)


# Where they go: neither where a mirrored angle looks the same.
FRONT_DEG, REAR_DEG = 30.0, 120.0
# How far apart the two may be, as two that are to show a mirror. Common practice, no source.
APART_DEG = 60.0, 120.0
# How far from what was asked for a mass may be: a mix-up of ounces and grams is 28 times, which takes one from
# anywhere within to without. Common practice, no source.
NEAR = 4.0


def check_pair(earlier: Sequence[Trial], front: Trial, rear: Trial, instrument: Instrument) -> tuple[Finding, ...]:
    """What does not agree; nothing where all of it does. earlier: trials with one mass that say something about
    the same profile; front, rear: what each plane shows with both on."""
    least = min((front, rear), key=_times)
    if _times(least) < SEEN:
        if moves_as_expected(front) and moves_as_expected(rear):
            return tuple(rough(least, instrument))
        return (unseen(least, _times(least), instrument),)
    single = [in_its_plane(one) for one in earlier if seen(one) >= SEEN]
    found = _against(single, front, rear, instrument)
    if not found:
        unsure = [*rough(front, instrument), *rough(rear, instrument)]
        return (max(unsure, key=lambda one: one.off),) if unsure else ()
    return _as_one_mistake(front, rear, instrument) or found


def _times(trial: Trial) -> float:
    """What its own plane shows, in times its uncertainty."""
    return abs(trial.own_gmm) / (2 * trial.standard_gmm)


def _against(single: Sequence[Trial], front: Trial, rear: Trial, instrument: Instrument) -> tuple[Finding, ...]:
    """What the angles of all and the amounts of both say. A sense, a zero and a scale are the station's, the same
    in both planes; where these two do not read so, one plane shows part of the other's mass."""
    own = angle([front, rear], instrument, changed=False)
    if any(one.kind == "differ" for one in own) or not _alike(front, rear, instrument):
        return (Finding("crossed", abs(_crossed(front, rear))),)
    amounts = [scale(order, instrument, rescaled=False) for order in ((front, rear), (rear, front))]
    angles = angle([*single, front, rear], instrument, changed=False)
    return (*angles, *(amounts[0] or amounts[1]))


def _alike(front: Trial, rear: Trial, instrument: Instrument) -> bool:
    apart = factor_of(front) / factor_of(rear)
    sure = slack_part(front, instrument) + slack_part(rear, instrument)
    return abs(apart - 1) <= sure


def _crossed(front: Trial, rear: Trial) -> complex:
    """The part of the other mass that a plane shows, the larger."""
    shown = [
        (one.own_gmm - one.expected_gmm) / other.expected_gmm for one, other in ((front, rear), (rear, front))
    ]
    return max(shown, key=abs)


def _as_one_mistake(front: Trial, rear: Trial, instrument: Instrument) -> tuple[Finding, ...]:
    """Planes, or masses, that are exchanged, where that alone explains what is read."""
    swapped = front._replace(front_gmm=rear.own_gmm), rear._replace(rear_gmm=front.own_gmm)
    if _fits(*swapped, instrument):
        return (Finding("planes"),)
    part = abs(rear.expected_gmm / front.expected_gmm)
    other = (
        front._replace(expected_gmm=front.expected_gmm * part),
        rear._replace(expected_gmm=rear.expected_gmm / part),
    )
    return (Finding("exchanged"),) if _fits(*other, instrument) else ()


def _fits(front: Trial, rear: Trial, instrument: Instrument) -> bool:
    return all(
        abs(factor_of(one) - 1) <= slack_part(one, instrument) * max(1.0, factor_of(one))
        and abs(math.degrees(cmath.phase(one.own_gmm / one.expected_gmm))) <= slack_deg(one, instrument)
        for one in (front, rear)
    )


def ample(
    left_gmm: float, instrument: Instrument, radius_mm: float, noise_gmm: float = 0.0, sizes: Sizes = METRIC
) -> list[float]:
    """The masses that prove something whatever a plane shows before, as left, and that are seen where the unit is
    one for another; the heaviest where none does. noise_gmm: what two spins really left, where it is known.
    [g]"""
    allowed = noise_allowed(instrument)
    for margin in (AMPLE, 1.0):
        enough = [
            g
            for g in sizes.masses_g
            if allowed and _proves(g * radius_mm, left_gmm, instrument, allowed / margin, noise_gmm)
        ]
        if enough:
            return enough
    # Nothing would do: what is seen is told, and no pull for nothing.
    return [g for g in sizes.masses_g if _proves(g * radius_mm, left_gmm, instrument, 1 / SEEN / AMPLE)] or [
        sizes.masses_g[-1]
    ]


def _proves(
    mass_gmm: float, left_gmm: float, instrument: Instrument, allowed: float, least_gmm: float = 0.0
) -> bool:
    with_it, without = (measured(complex(gmm), 0.0, instrument) for gmm in (left_gmm + mass_gmm, left_gmm))
    noise_gmm = max(least_gmm, math.hypot(with_it.widest_gmm, without.widest_gmm))
    floor_gmm = math.hypot(instrument.floor_gmm, instrument.floor_gmm)
    return mass_gmm * allowed >= noise_gmm and mass_gmm >= SEEN * AMPLE * MISREAD_UNIT * floor_gmm


def radius_for(instrument: Instrument, throw_radius_mm: float | None, sizes: Sizes = METRIC) -> float:
    """Where a known mass is told to sit: at the radius that the station reads at, where that is one for a known
    mass, else about twice the throw's; where that is not known, at the usual one."""
    if instrument.radius_mm and RADII_MM[0] <= instrument.radius_mm <= RADII_MM[1]:
        return instrument.radius_mm
    if throw_radius_mm is None:
        return sizes.usual_mm
    return max(1, round(2 * throw_radius_mm / sizes.round_mm)) * sizes.round_mm


def pair_to_hang(
    left_gmm: float,
    instrument: Instrument,
    throw_radius_mm: float | None,
    noise_gmm: float = 0.0,
    sizes: Sizes = METRIC,
) -> tuple[KnownMass, KnownMass]:
    """The two masses that prove the station in one spin, the heavier on the front plane. noise_gmm: as for
    ample."""
    radius_mm = radius_for(instrument, throw_radius_mm, sizes)
    lighter_g = min(ample(left_gmm, instrument, radius_mm, noise_gmm, sizes)[0], sizes.masses_g[-3])
    heavier_g = next(g for g in sizes.masses_g if g >= HEAVIER * lighter_g)
    return (
        KnownMass("front", heavier_g, radius_mm, FRONT_DEG),
        KnownMass("rear", lighter_g, radius_mm, REAR_DEG),
    )


def unfit(
    front: KnownMass, rear: KnownMass, told: Sequence[KnownMass], told_in: ToldIn = amounts.METRIC
) -> list[str]:
    """Why two masses would not prove a station, in words; nothing where they would. told: the two asked for."""
    found = []
    gmm = [one.mass_g * one.radius_mm for one in (front, rear)]
    for one, own, asked in zip((front, rear), gmm, told, strict=True):
        if not RADII_MM[0] <= one.radius_mm <= RADII_MM[1]:
            found.append(f"{told_in.set_at(one.radius_mm)} is no radius for a known mass (another unit?)")
        times = own / (asked.mass_g * asked.radius_mm)
        if not 1 / NEAR <= times <= NEAR:
            said = f"{told_in.weighed(one.mass_g)} at {told_in.set_at(one.radius_mm)}"
            many = f"{digits(times, 3)} times what was asked for (another unit, or another mass?)"
            found.append(f"{one.plane}: {said} is {many}")
    if 1 / OTHER < gmm[0] / gmm[1] < OTHER:
        found.append("the two are too much alike: planes that are exchanged would not show")
    apart = abs((front.angle_deg - rear.angle_deg + 180) % 360 - 180)
    if not APART_DEG[0] <= apart <= APART_DEG[1]:
        found.append(f"they are {apart:g} degrees apart, {APART_DEG[0]:g} to {APART_DEG[1]:g} tell; 90 is best")
    return list(dict.fromkeys(found))
