"""Test mass: a known mass at a known place, to see whether the station and its profile mean the same thing.

What is compared is a change, the spin with the mass less the spin before it, so that the unbalance of the crank
and of the fixture fall out. Where the profile is right, the change is the mass itself, E = m·r at its angle, in
its own plane. Else the change read is

    g·e^{iδ}·E     a zero that is off by δ, a scale that is off by g
    g·e^{iδ}·Ē     the same with the wrong sense: the angle is mirrored

One mass cannot tell a mirror from a zero that is off by twice its angle. A mirror that fits just as it is stands
first; two masses at different angles decide, 90 degrees apart best (both at once: pair.py). A profile whose sense
or zero were changed since a mass was on is made to fit that mass, so it is not proved by it: then two angles have
to agree.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import Literal, NamedTuple

from truethrow.balance.base.units import MASS
from truethrow.balance.station.spin import Instrument

Plane = Literal["front", "rear"]
# unseen: the change is too small to say anything; planes: it is in the other plane; separation: part of it is;
# aside: part of it is, and the rest is not what it should be, so it is not in its plane, or the planes are not
# separated, and of the profile it says nothing; turned: it does not agree with the fixture turned;
# sense, zero, scale: the profile has them wrong; unsure: a mirrored angle would look the same; alone: the profile
# was changed, and so far a mirrored angle with another zero would look the same; either: the zero is off, or the
# sense is wrong and the zero too; differ: the masses contradict each other; units: the amount is off as where one
# unit was taken for another; gain: unit or radius of the profile were changed, and one mass alone fits its own
# slip; rough: nothing speaks against it, but the change is not known well enough to prove anything; half: of two
# masses at once that did not agree, one agrees alone. Of two at once alone: exchanged, each on the other's place;
# crossed: one plane shows part of the other.
FindingKind = Literal[
    "unseen",
    "planes",
    "separation",
    "aside",
    "turned",
    "sense",
    "zero",
    "scale",
    "unsure",
    "alone",
    "either",
    "differ",
    "units",
    "gain",
    "rough",
    "half",
    "exchanged",
    "crossed",
]

# What says nothing against the profile itself.
HARMLESS: tuple[FindingKind, ...] = ("separation",)
# What leaves open whether the amounts are right.
AMOUNTS: tuple[FindingKind, ...] = ("scale", "units", "gain")
# What advises another profile, which a mass that is not in its plane does not.
ADVISING: tuple[FindingKind, ...] = ("sense", "zero", "either", "scale")

# A mass that does not change the reading by so many times its uncertainty tells nothing. Common practice, no
# source.
SEEN = 5.0
LEAST_G = 1.0  # nobody hangs less
# A change that is off the expected one by less than this part of it did move the reading as it should, however
# unsure it is. Common practice, no source.
AS_EXPECTED = 0.25
# A change that is known no better than to this part of it and to so many degrees proves nothing (k = 2): a trial
# is good when its coefficient is known to 10 %, and 6 degrees are as far aside. Common practice, no source.
SURE_PART, SURE_DEG = 0.1, 6.0
# How well a known mass is known itself, with its radius, and how well its angle. Common practice, no source.
MASS_PART, MASS_DEG = 0.01, 1.0
# Units of mass are offered for a radius that a station may read at, and only where the amount is off by more than
# a calibration ever is; those that displays show. Where no radius explains it, units are mixed up. Common
# practice, no source.
RADII_MM = 20.0, 500.0
SHOWN = ("g", "oz")
MISREAD = 2.0
# Beyond this factor nothing of the profile is changed by one mass, nor is what was changed proved by one: its own
# mass or radius may be the slip. Another one is told from it by so much. Common practice, no source.
OFF = 1.2
OTHER = 1.25
# A factor that is one of these, or one over it, says that units are mixed up, in what was typed or in the profile:
# within how sure the factor is, and these parts of it at least and at most. Exact factors: international yard and
# pound agreement, 1959; standard gravity: ISO 80000-4. That they are what is mixed up: common practice, no source.
MIXED: dict[float, tuple[str, float, float]] = {
    25.4: ("inches and millimeters", 0.01, 0.05),
    28.349523125: ("ounces and grams", 0.01, 0.05),
    28.349523125 * 25.4: ("ounce-inches and gram-millimeters", 0.01, 0.05),
    28.349523125 * 2.54: ("ounce-inches and gram-centimeters", 0.01, 0.05),
    16.0: ("pounds and ounces", 0.01, 0.05),
    453.59237: ("pounds and grams", 0.01, 0.05),
    1000.0: ("kilograms and grams", 0.01, 0.05),
    10.0: ("centimeters and millimeters", 0.01, 0.05),
    9.80665: ("newtons and kilograms", 0.01, 0.05),
    0.980665: ("newtons and kilograms, with 10 for 9.81", 0.0, 0.005),
}
# Part of a change that the other plane may show; machines do not separate their planes wholly. What shows more
# proves nothing: planes that answer each other are not drilled by. Common practice, no source.
SEPARATION = 0.1
# Part of it, beyond its ±, from which on that is told. Where a mass sits ahead of its plane by a part of the
# planes' distance, so much shows in the other, by the lever. How much is too much: common practice, no source.
ASIDE = 0.04
BEST_DEG = 90.0  # where a mirrored angle is farthest off


class Trial(NamedTuple):
    """A mass on one plane: the change expected there, the changes read in both planes, and the standard
    uncertainty of such a change in each direction; mass_g: what was hung, has_units: mass and radius typed with
    their units."""

    plane: Plane
    expected_gmm: complex
    front_gmm: complex
    rear_gmm: complex
    standard_gmm: float
    mass_g: float
    has_units: bool = False

    @property
    def own_gmm(self) -> complex:
        return self.front_gmm if self.plane == "front" else self.rear_gmm

    @property
    def other_gmm(self) -> complex:
        return self.rear_gmm if self.plane == "front" else self.front_gmm

    def swapped(self) -> Trial:
        return self._replace(front_gmm=self.rear_gmm, rear_gmm=self.front_gmm)


class Finding(NamedTuple):
    """One thing that does not agree. off: degrees of a zero (of a sense: that would look the same), factor of a
    scale, part of the change in the other plane, times the uncertainty of a change unseen; at_deg: where to put
    the mass; zero_deg, with_rotation, unit, radius_mm: what to write into the profile; calibrate: nothing there
    would mend it, and no other mass; mixed: the units that look mixed up; sure_deg: how sure the angle of a rough
    change is, as off its amount; plane: the one that is still to agree, or where too little was seen; needed_g:
    of a change unseen or rough, the lightest mass that proves anything, at at_mm; 0 where none would."""

    kind: FindingKind
    off: float = 0.0
    at_deg: float | None = None
    zero_deg: float | None = None
    with_rotation: bool | None = None
    unit: str | None = None
    radius_mm: float | None = None
    calibrate: bool = False
    mixed: str = ""
    sure_deg: float = 0.0
    plane: str = ""
    needed_g: float = 0.0
    at_mm: float = 0.0


def check(
    trials: Sequence[Trial],
    instrument: Instrument,
    *,
    changed: bool = False,
    rescaled: bool = False,
    refit: bool = False,
) -> tuple[Finding, ...]:
    """What does not agree; nothing where sense, zero, scale and planes are as the profile says.

    trials: the one just made last, after those before it; changed: whether sense or zero of the profile were
    others when one of them was made; rescaled: whether unit or radius were, or when one was made that did not
    agree; refit: whether anything that was edited since one did not agree may have been made to fit it. What one
    that is unseen says of an angle is noise, so it is left out. Of one that shows in the other plane, too, the
    profile is not to be mended."""
    last = trials[-1]
    findings: list[Finding] = []
    times = seen(last)
    if times < SEEN:
        if moves_as_expected(last):
            return tuple(rough(last, instrument))
        findings.append(unseen(last, times, instrument))
    elif abs(last.other_gmm) > abs(last.own_gmm):
        findings.append(Finding("planes"))
    plain = [in_its_plane(trial) for trial in trials if seen(trial) >= SEEN]
    if plain:
        findings += angle(plain, instrument, changed=changed)
    if times >= SEEN:
        findings += scale(plain, instrument, rescaled=rescaled)
        last = plain[-1]
        if (beside := beside_part(last)) > ASIDE:
            rest = [found for found in findings if found.kind not in ADVISING]
            is_aside = refit or len(rest) < len(findings) or beside > SEPARATION
            findings = [Finding("aside" if is_aside else "separation", beside), *rest]
        if all(found.kind in HARMLESS for found in findings):
            findings += rough(last, instrument)
    return tuple(findings)


def moves_as_expected(trial: Trial) -> bool:
    """Whether a change is what the mass should make, however unsure it is."""
    return abs(trial.own_gmm - trial.expected_gmm) <= AS_EXPECTED * abs(trial.expected_gmm)


def beside_part(trial: Trial) -> float:
    """The part of a change that the other plane shows; 0 where that may be nothing, or less than is told."""
    own, beside = abs(trial.own_gmm), abs(trial.other_gmm)
    return beside / own if beside > ASIDE * own + 2 * trial.standard_gmm else 0.0


def rough(trial: Trial, instrument: Instrument) -> list[Finding]:
    """That a change is not known well enough to prove anything; nothing where it is."""
    part, degrees = slack_part(trial, instrument), slack_deg(trial, instrument)
    if part <= SURE_PART and degrees <= SURE_DEG:
        return []
    needed_g, at_mm = needed(trial, instrument)
    found = Finding("rough", part, sure_deg=degrees, calibrate=not needed_g, plane=trial.plane)
    return [found._replace(needed_g=needed_g, at_mm=at_mm)]


def noise_allowed(instrument: Instrument) -> float:
    """What two spins may leave of a change, as a part of it (k = 2), so that it still proves something; 0 where
    the profile itself is too unsure for any mass."""
    part = SURE_PART**2 - instrument.amount_part**2 - MASS_PART**2
    degrees = SURE_DEG**2 - instrument.angle_deg**2 - MASS_DEG**2
    if part <= 0 or degrees <= 0:
        return 0.0
    allowed = min(math.sqrt(part), math.sin(math.radians(math.sqrt(degrees))))
    # What is read with a mass on is no surer than the profile, however heavy it is.
    return allowed if allowed > max(instrument.amount_part, math.radians(instrument.angle_deg)) else 0.0


def seen(trial: Trial) -> float:
    """The change, in times its uncertainty."""
    change = max(abs(trial.front_gmm), abs(trial.rear_gmm))
    return change / (2 * trial.standard_gmm) if trial.standard_gmm else math.inf if change else 0.0


def unseen(trial: Trial, times: float, instrument: Instrument) -> Finding:
    """That a change cannot be seen, and how heavy a mass has to be there so that it tells something."""
    needed_g, at_mm = needed(trial, instrument)
    return Finding("unseen", times, plane=trial.plane, needed_g=needed_g, at_mm=at_mm)


def needed(trial: Trial, instrument: Instrument) -> tuple[float, float]:
    """The lightest mass that would tell something where this one sits, 0 where none would, and that radius."""
    radius_mm, allowed = abs(trial.expected_gmm) / trial.mass_g, noise_allowed(instrument)
    if not allowed:
        return 0.0, radius_mm
    return max(LEAST_G, 2 * trial.standard_gmm * max(1 / allowed, SEEN) / radius_mm), radius_mm


def in_its_plane(trial: Trial) -> Trial:
    return trial.swapped() if abs(trial.other_gmm) > abs(trial.own_gmm) else trial


def slack_deg(trial: Trial, instrument: Instrument) -> float:
    """How sure the angle of a change is (k = 2): the profile's own, the mass's, and what the two spins leave."""
    noise = math.degrees(math.asin(min(1.0, 2 * trial.standard_gmm / abs(trial.own_gmm))))
    return math.hypot(instrument.angle_deg, MASS_DEG, noise)


def angle(trials: Sequence[Trial], instrument: Instrument, *, changed: bool) -> list[Finding]:
    """Sense and zero."""
    slacks = [slack_deg(trial, instrument) for trial in trials]
    plain, mirrored = ([_turn_deg(t, mirror) for t in trials] for mirror in (False, True))
    at_deg = math.degrees(cmath.phase(trials[-1].expected_gmm)) % 360
    beside_deg = (at_deg + BEST_DEG) % 360
    # How far a mirror moves the angle of each mass.
    apart = [abs(_wrapped(2 * math.degrees(cmath.phase(t.expected_gmm)))) for t in trials]
    is_blind = all(moved <= 2 * slack for moved, slack in zip(apart, slacks, strict=True))
    fits, fits_mirrored = (
        all(abs(turn) <= slack for turn, slack in zip(turns, slacks, strict=True)) for turns in (plain, mirrored)
    )
    other = not instrument.with_rotation
    if is_blind and (fits or fits_mirrored):
        return [Finding("unsure", at_deg=BEST_DEG)]
    steady, steady_mirrored = (_steady(turns, slacks) for turns in (plain, mirrored))
    off, off_mirrored = _middle(plain), _middle(mirrored)
    if fits:
        return [Finding("alone", at_deg=beside_deg)] if changed and steady_mirrored else []
    if fits_mirrored:
        same = steady and abs(off) > max(slacks)
        return [Finding("sense", off if same else 0.0, at_deg=beside_deg if same else None, with_rotation=other)]
    return [_turned(instrument, at_deg, off if steady else None, off_mirrored if steady_mirrored else None)]


def _turned(instrument: Instrument, at_deg: float, off: float | None, off_mirrored: float | None) -> Finding:
    """What is wrong where neither the angles nor their mirrors fit as they are. off, off_mirrored: by how much all
    of them are turned, None where it is not the same for all."""
    zero, zero_mirrored = (
        round(instrument.zero_deg + instrument.sense * (turn or 0.0), 3) % 360 for turn in (off, off_mirrored)
    )
    if off is not None and off_mirrored is not None:
        return Finding("either", off, at_deg=(at_deg + BEST_DEG) % 360, zero_deg=zero)
    if off is not None:
        return Finding("zero", off, zero_deg=zero)
    if off_mirrored is not None:
        other = not instrument.with_rotation
        return Finding("sense", off_mirrored, zero_deg=zero_mirrored, with_rotation=other)
    return Finding("differ", at_deg=at_deg)


def _turn_deg(trial: Trial, mirror: bool) -> float:
    expected = trial.expected_gmm.conjugate() if mirror else trial.expected_gmm
    return math.degrees(cmath.phase(trial.own_gmm / expected))


def _middle(turns_deg: Sequence[float]) -> float:
    return math.degrees(cmath.phase(sum(cmath.rect(1.0, math.radians(turn)) for turn in turns_deg)))


def _steady(turns_deg: Sequence[float], slacks_deg: Sequence[float]) -> bool:
    """Whether all are turned by the same angle."""
    middle = _middle(turns_deg)
    return all(abs(_wrapped(turn - middle)) <= slack for turn, slack in zip(turns_deg, slacks_deg, strict=True))


def _wrapped(degrees: float) -> float:
    return (degrees + 180) % 360 - 180


def scale(trials: Sequence[Trial], instrument: Instrument, *, rescaled: bool) -> list[Finding]:
    """The amount, by the last one; where it is far off, or was edited, by two that are not alike."""
    trial = trials[-1]
    factor, slack = factor_of(trial), slack_part(trial, instrument)
    second = any(
        not 1 / OTHER < other.mass_g / trial.mass_g < OTHER
        and abs(factor_of(other) - factor) <= (slack + slack_part(other, instrument)) * max(1.0, factor)
        for other in trials[:-1]
    )
    if abs(factor - 1) <= slack * max(1.0, factor):
        return [] if not rescaled or (second and trial.has_units) else [Finding("gain", factor)]
    if mixed := mixed_up(factor, slack):
        return [Finding("units", factor, mixed=mixed)]
    if not 1 / OFF < factor < OFF and not second:
        return [Finding("scale", factor)]
    return [_rescaled(factor, instrument)]


def _rescaled(factor: float, instrument: Instrument) -> Finding:
    """What to do about an amount that two masses say is so many times what it should be."""
    if instrument.radius_mm is not None:
        radius_mm = instrument.radius_mm / factor
        if RADII_MM[0] <= radius_mm <= RADII_MM[1]:
            return Finding("scale", factor, radius_mm=radius_mm)
        return Finding("units", factor, mixed="units")
    if 1 / MISREAD < factor < MISREAD:
        return Finding("scale", factor, calibrate=True)
    for unit in SHOWN:
        radius_mm = instrument.gmm / factor / float(MASS.factors[unit])
        if RADII_MM[0] <= radius_mm <= RADII_MM[1]:
            return Finding("scale", factor, unit=unit, radius_mm=radius_mm)
    return Finding("units", factor, mixed="units")


def factor_of(trial: Trial) -> float:
    """How many times what it should be the change is."""
    return abs(trial.own_gmm) / abs(trial.expected_gmm)


def slack_part(trial: Trial, instrument: Instrument) -> float:
    """How sure that is, as a part of it (k = 2)."""
    return math.hypot(instrument.amount_part, MASS_PART, 2 * trial.standard_gmm / abs(trial.own_gmm))


def mixed_up(factor: float, slack: float = 0.0) -> str:
    """The units that a factor looks like a mix-up of, the nearest; empty where it looks like none. slack: how sure
    the factor is, as a part of it."""
    found = []
    for one, (units, closest, farthest) in MIXED.items():
        off = min(abs(factor / one - 1), abs(factor * one - 1))
        if off <= min(max(slack, closest), farthest):
            found.append((off, units))
    return min(found)[1] if found else ""
