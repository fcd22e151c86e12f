"""Whether a known mass has proved the station: what each test mass of a job says, and which to hang next.

A test mass counts for the profile that it was read by. Once the profile is edited it proves nothing any more; but
one that did not agree is evidence on the edit, which may have been made to fit it. Where somebody says that the
station itself was changed, it is evidence no more; but an angle or an amount that was edited since is still not
proved by one mass alone.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from truethrow.balance.station.spin import Instrument, Scatter, averages, measured, scatter
from truethrow.balance.station.spinning import Spin
from truethrow.balance.station.stationlog import Basis, KnownMass, MassRecord
from truethrow.balance.station.testmass import (
    AMOUNTS,
    BEST_DEG,
    HARMLESS,
    OFF,
    OTHER,
    SEEN,
    Finding,
    Trial,
    check,
)

LEAST_NOISE_GMM = 1e-6
# The mass to hang is told in such steps. It is to be seen even where the station reads inches for millimetres, and
# half as much again. Common practice, no source.
MASSES_G = (1, 2, 3, 5, 10, 15, 20, 30, 40, 60, 80, 100, 150, 200, 300, 500, 800, 1000)
MISREAD_UNIT = 25.4
AMPLE = 1.5
# Where the first one goes: not where a mirrored angle looks the same.
FIRST_DEG = 30.0
ROUND_MM = 5.0


@dataclass(frozen=True)
class Proof:
    """The test masses of a log, in order; spins: by the ids of their records; scatter: of one run, by how it
    is read; epochs: for each by its id how many edits of the profile went before it, and how many of these changed
    the station."""

    records: tuple[MassRecord, ...]
    spins: Mapping[str, Spin]
    scatter: Mapping[str, tuple[Scatter, Scatter]]
    epochs: Mapping[str, tuple[int, int]]
    _agreed: dict[str, bool] = field(default_factory=dict, compare=False, repr=False)

    def findings(self, last: MassRecord) -> tuple[Trial, tuple[Finding, ...]]:
        """What a test mass says of the profile that it was read by, together with those before it: each is a
        change of its own spin, so the crank falls out."""
        own, before = last.basis, self._before(last)
        made = [*(test for test in before if self._counts(test, last)), last]
        against = [test.basis.instrument for test in before if not self.agrees(test)]
        changed = any(_angles(one) != _angles(own.instrument) for one in against)
        rescaled = any(is_rescaled(one, own.instrument) for one in against)
        trials = [self._trial(test, own) for test in made]
        return trials[-1], check(trials, own.instrument, changed=changed, rescaled=rescaled)

    def agrees(self, test: MassRecord) -> bool:
        """Whether a test mass said nothing against the profile that it was read by."""
        if test.record.id not in self._agreed:
            self._agreed[test.record.id] = not wrong(self.findings(test)[1])
        return self._agreed[test.record.id]

    def _before(self, last: MassRecord) -> Sequence[MassRecord]:
        return self.records[: [test.record.id for test in self.records].index(last.record.id)]

    def _counts(self, test: MassRecord, last: MassRecord) -> bool:
        """Whether a test mass says something about the profile that a later one was read by: of the same profile,
        no edit between; or where it did not agree, since the profile may have been edited to fit it, unless the
        station itself was changed between."""
        (edits, changed), (edits_by, changed_by) = self.epochs[test.id], self.epochs[last.id]
        if edits == edits_by and test.basis.read_as == last.basis.read_as:
            return True
        return changed == changed_by and not self.agrees(test)

    def _trial(self, test: MassRecord, own: Basis) -> Trial:
        """The change that a test mass made, both fixture and crank fallen out of it, as a profile reads it."""
        before = self.spins[test.record.spin]
        noises, changes = [LEAST_NOISE_GMM], []
        means, were = averages(test.runs, own.instrument), averages(before.typed, own.instrument)
        for mean, was, at_spins in zip(means, were, self.scatter.get(own.read_as, (Scatter(),) * 2), strict=True):
            both = []
            for one in (mean, was):
                size = abs(one.vector_gmm)
                noise = max(at_spins.of(size), scatter([mean]).of(size))
                both.append(measured(one.vector_gmm, noise / math.sqrt(one.runs), own.instrument))
            noises.append(math.hypot(*(max(one.along_gmm, one.across_gmm) for one in both)))
            changes.append(mean.vector_gmm - was.vector_gmm)
        mass = test.mass
        expected = cmath.rect(mass.mass_g * mass.radius_mm, math.radians(mass.angle_deg))
        return Trial(mass.plane, expected, changes[0], changes[1], max(noises), mass.mass_g, test.has_units)

    def next_mass(self, instrument: Instrument, spin: Spin | None, throw_radius_mm: float) -> KnownMass:
        """A mass that cannot be missed, at an angle that tells, also beside one that was hung before."""
        radius_mm = instrument.radius_mm or max(ROUND_MM, round(2 * throw_radius_mm / ROUND_MM) * ROUND_MM)
        left_gmm = max(map(abs, spin.raw)) if spin else 0.0
        ample = [g for g in MASSES_G if _is_ample(g * radius_mm, left_gmm, instrument)] or [MASSES_G[-1]]
        mass_g = next((g for g in ample if self._is_another(g)), ample[0])
        at_deg = (self.records[-1].mass.angle_deg + BEST_DEG) % 360 if self.records else FIRST_DEG
        return KnownMass("front", float(mass_g), radius_mm, at_deg)

    def _is_another(self, grams: float) -> bool:
        """Whether a mass is another than the last one, where that left open whether the amounts are right."""
        if not self.records or not any(one.kind in AMOUNTS for one in self.findings(self.records[-1])[1]):
            return True
        return not 1 / OTHER < grams / self.records[-1].mass.mass_g < OTHER


def wrong(found: Sequence[Finding]) -> list[str]:
    """The kinds of findings that speak against the profile."""
    return [one.kind for one in found if one.kind not in HARMLESS]


def _angles(made: Instrument) -> tuple[bool, float]:
    return made.with_rotation, round(made.zero_deg % 360, 6)


def is_rescaled(was: Instrument, now: Instrument) -> bool:
    """Whether one of a unit is another by more than a calibration ever is."""
    return not 1 / OFF < was.gmm / now.gmm < OFF


def _is_ample(mass_gmm: float, left_gmm: float, instrument: Instrument) -> bool:
    """Whether a mass is seen whatever the crank shows, and where the unit is one for another."""
    with_it, without = (measured(complex(gmm), 0.0, instrument) for gmm in (left_gmm + mass_gmm, left_gmm))
    noise_gmm = math.hypot(with_it.widest_gmm, without.widest_gmm)
    floor_gmm = math.hypot(instrument.floor_gmm, instrument.floor_gmm)
    return mass_gmm >= SEEN * AMPLE * max(noise_gmm, MISREAD_UNIT * floor_gmm)
