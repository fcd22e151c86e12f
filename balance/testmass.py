"""Test mass: a known mass at a known place, to see whether the station and its profile mean the same thing.

What is compared is a change, the spin with the mass less the spin before it, so that the unbalance of the crank
and of the fixture fall out. Where the profile is right, the change is the mass itself, E = m·r at its angle, in
its own plane. Else the change read is

    g·e^{iδ}·E     a zero that is off by δ, a scale that is off by g
    g·e^{iδ}·Ē     the same with the wrong sense: the angle is mirrored

One mass cannot tell a mirror from a zero that is off by twice its angle. A mirror that fits just as it is stands
first; two masses at different angles decide.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import Literal, NamedTuple

from truethrow.balance.spin import Instrument, unit_gmm
from truethrow.balance.units import MASS

Plane = Literal["front", "rear"]
# unseen: the change is too small to say anything; planes: it is in the other plane; separation: part of it is;
# sense, zero, scale: the profile has them wrong; unsure: a mirrored angle would look the same; either: the zero
# is off, or the sense is wrong and the zero too; differ: the masses contradict each other.
Kind = Literal["unseen", "planes", "separation", "sense", "zero", "scale", "unsure", "either", "differ"]

# What says nothing against the profile itself.
HARMLESS: tuple[Kind, ...] = ("unseen", "separation", "unsure")

# A mass that does not change the reading by so many times its uncertainty tells nothing. Common practice, no
# source.
SEEN = 5.0
# Part of the change that the other plane may show; machines do not separate their planes wholly. Common practice,
# no source.
SEPARATION = 0.1
BEST_DEG = 90.0  # where a mirrored angle is farthest off


class Trial(NamedTuple):
    """A mass on one plane: the change expected there, the changes read in both planes, and the standard
    uncertainty of such a change in each direction."""

    plane: Plane
    expected_gmm: complex
    front_gmm: complex
    rear_gmm: complex
    standard_gmm: float

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
    the mass; zero_deg, with_rotation, unit, radius_mm: what to write into the profile."""

    kind: Kind
    off: float = 0.0
    at_deg: float | None = None
    zero_deg: float | None = None
    with_rotation: bool | None = None
    unit: str | None = None
    radius_mm: float | None = None


def check(trials: Sequence[Trial], instrument: Instrument) -> tuple[Finding, ...]:
    """What does not agree; nothing where sense, zero, scale and planes are as the profile says.

    trials: the one just made last, after those with the crank in the same state."""
    last = trials[-1]
    seen = (
        max(abs(last.front_gmm), abs(last.rear_gmm)) / (2 * last.standard_gmm) if last.standard_gmm else math.inf
    )
    if seen < SEEN:
        return (Finding("unseen", seen),)
    findings = []
    if abs(last.other_gmm) > abs(last.own_gmm):
        findings.append(Finding("planes"))
        last = last.swapped()
    trials = [t.swapped() if abs(t.other_gmm) > abs(t.own_gmm) else t for t in trials]
    beside = abs(last.other_gmm)
    if beside > SEPARATION * abs(last.own_gmm) + 2 * last.standard_gmm:
        findings.append(Finding("separation", beside / abs(last.own_gmm)))
    findings += _angle(trials, instrument)
    findings += _scale(last, instrument)
    return tuple(findings)


def _slack_deg(trial: Trial, instrument: Instrument) -> float:
    """How sure the angle of a change is (k = 2): the profile's own, and what the two spins leave."""
    noise = math.degrees(math.asin(min(1.0, 2 * trial.standard_gmm / abs(trial.own_gmm))))
    return math.hypot(instrument.angle_deg, noise)


def _angle(trials: Sequence[Trial], instrument: Instrument) -> list[Finding]:
    """Sense and zero."""
    slack = max(_slack_deg(trial, instrument) for trial in trials)
    plain, mirrored = ([_turn_deg(t, mirror) for t in trials] for mirror in (False, True))
    at_deg = math.degrees(cmath.phase(trials[-1].expected_gmm)) % 360
    # As far as a mirror moves the angle of the mass that it moves most.
    apart = max(abs(_wrapped(2 * math.degrees(cmath.phase(t.expected_gmm)))) for t in trials)
    fits, fits_mirrored = (all(abs(turn) <= slack for turn in turns) for turns in (plain, mirrored))
    other = not instrument.with_rotation
    if apart <= 2 * slack and (fits or fits_mirrored):
        return [Finding("unsure", at_deg=BEST_DEG)]
    steady, steady_mirrored = (_steady(turns, slack) for turns in (plain, mirrored))
    off, off_mirrored = _middle(plain), _middle(mirrored)
    if fits or fits_mirrored:
        return [] if fits else [Finding("sense", off if steady else 0.0, with_rotation=other)]
    zero, zero_mirrored = (
        round(instrument.zero_deg + instrument.sense * turn, 3) % 360 for turn in (off, off_mirrored)
    )
    if steady and steady_mirrored:
        return [Finding("either", off, at_deg=(at_deg + BEST_DEG) % 360, zero_deg=zero)]
    if steady:
        return [Finding("zero", off, zero_deg=zero)]
    if steady_mirrored:
        return [Finding("sense", off_mirrored, zero_deg=zero_mirrored, with_rotation=other)]
    return [Finding("differ", at_deg=at_deg)]


def _turn_deg(trial: Trial, mirror: bool) -> float:
    expected = trial.expected_gmm.conjugate() if mirror else trial.expected_gmm
    return math.degrees(cmath.phase(trial.own_gmm / expected))


def _middle(turns_deg: Sequence[float]) -> float:
    return math.degrees(cmath.phase(sum(cmath.rect(1.0, math.radians(turn)) for turn in turns_deg)))


def _steady(turns_deg: Sequence[float], slack_deg: float) -> bool:
    """Whether all are turned by the same angle."""
    middle = _middle(turns_deg)
    return all(abs(_wrapped(turn - middle)) <= slack_deg for turn in turns_deg)


def _wrapped(degrees: float) -> float:
    return (degrees + 180) % 360 - 180


def _scale(trial: Trial, instrument: Instrument) -> list[Finding]:
    factor = abs(trial.own_gmm) / abs(trial.expected_gmm)
    slack = math.hypot(instrument.amount_part, 2 * trial.standard_gmm / abs(trial.own_gmm))
    if abs(factor - 1) <= slack * max(1.0, factor):
        return []
    true_gmm = instrument.gmm / factor
    known = [*MASS.factors, "g·mm", "g·in", "oz·in"] if instrument.radius_mm else ["g·mm", "g·in", "oz·in"]
    for unit in known:
        if abs(unit_gmm(unit, instrument.radius_mm) / true_gmm - 1) <= slack:
            return [Finding("scale", factor, unit=unit)]
    radius = instrument.radius_mm and instrument.radius_mm / factor
    return [Finding("scale", factor, radius_mm=radius)]
