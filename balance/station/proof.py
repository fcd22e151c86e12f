"""Whether known masses have proved the station: what each test of a job says, and which to hang next.

Two at once prove it in one spin (pair.py); only where they do not agree is one hung alone, on each plane. A test
mass counts for the profile that it was read by. Once the profile is edited it proves nothing any more; but
one that did not agree is evidence on the edit, which may have been made to fit it. Where somebody says that the
station itself was changed, it is evidence no more; but an angle or an amount that was edited since is still not
proved by one mass alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from truethrow.balance.station.pair import FRONT_DEG, METRIC, Sizes, ample, check_pair, pair_to_hang, radius_for
from truethrow.balance.station.spin import Instrument, Scatter, averages, joined, measured, scatter
from truethrow.balance.station.spinning import Spin
from truethrow.balance.station.stationlog import Basis, KnownMass, MassRecord
from truethrow.balance.station.testmass import (
    AMOUNTS,
    BEST_DEG,
    HARMLESS,
    OFF,
    OTHER,
    Finding,
    FindingKind,
    Plane,
    Trial,
    check,
)

LEAST_NOISE_GMM = 1e-6
# What says that the masses were too small, or not on: of the profile it says nothing.
TOO_SMALL: tuple[FindingKind, ...] = ("unseen", "rough")


@dataclass(frozen=True)
class Proof:
    """The test masses of a log, in order; spins: by the ids of their records; scatter: of one run, by how it
    is read; epochs: for each by its id how many edits of the profile went before it, and how many of these changed
    the station."""

    records: tuple[MassRecord, ...]
    spins: Mapping[str, Spin]
    scatter: Mapping[str, tuple[Scatter, Scatter]]
    epochs: Mapping[str, tuple[int, int]]
    _kinds: dict[str, tuple[str, ...]] = field(default_factory=dict, compare=False, repr=False)

    def findings(self, last: MassRecord) -> tuple[tuple[Trial, ...], tuple[Finding, ...]]:
        """What a test says of the profile that it was read by, together with those before it: each is a change of
        its own spin, so the crank falls out. The trials are its own, one for each mass."""
        own, before = last.basis, self._before(last)
        if last.is_turned:
            return self._findings_turned(last)
        made = [*(test for test in before if self._counts(test, last)), last]
        against = [test.basis.instrument for test in before if not self.agrees(test)]
        changed = any(_angles(one) != _angles(own.instrument) for one in against)
        rescaled = any(is_rescaled(one, own.instrument) for one in against)
        refit = changed or any(not math.isclose(one.gmm, own.instrument.gmm) for one in against)
        earlier = [self._trials(test, own)[0] for test in made[:-1] if test.beside is None]
        trials = self._trials(last, own)
        if last.beside:
            front, rear = trials
            return trials, check_pair(earlier, front, rear, own.instrument)
        found = check([*earlier, *trials], own.instrument, changed=changed, rescaled=rescaled, refit=refit)
        return trials, found if wrong(found) else (*found, *self._half(last))

    def _findings_turned(self, last: MassRecord) -> tuple[tuple[Trial, ...], tuple[Finding, ...]]:
        """What a test with the fixture turned says: by itself, and of the turned runs alone, not of the
        profile."""
        trials, instrument = self._trials(last, last.basis), last.basis.instrument
        if last.beside:
            front, rear = trials
            found = check_pair([], front, rear, instrument)
        else:
            found = check(trials, instrument)
        if any(kind not in TOO_SMALL for kind in wrong(found)):
            found = (Finding("turned"),)
        return trials, found

    def _half(self, last: MassRecord) -> list[Finding]:
        """That one mass alone agrees on one plane only, after two at once that did not agree."""
        agreed: set[Plane] = {last.mass.plane}
        for test in reversed(self._before(last)):
            if not self._is_alike(test, last):
                break
            if test.beside is None and self.agrees(test, alone=True):
                agreed.add(test.mass.plane)
            elif test.beside and self.agrees(test):
                break
            elif test.beside and self.speaks_against(test):
                missing = {"front", "rear"} - agreed
                return [Finding("half", plane=missing.pop())] if missing else []
        return []

    def speaks_against(self, test: MassRecord) -> bool:
        """Whether a test says that something is wrong, and not that its mass was too small."""
        return any(kind not in TOO_SMALL for kind in self._wrong(test))

    def agrees(self, test: MassRecord, *, alone: bool = False) -> bool:
        """Whether a test said nothing against the profile that it was read by. alone: but that the other plane is
        still to agree."""
        return not [kind for kind in self._wrong(test) if not (alone and kind == "half")]

    def _wrong(self, test: MassRecord) -> tuple[str, ...]:
        """What speaks against the profile that a test was read by."""
        if test.record.id not in self._kinds:
            self._kinds[test.record.id] = tuple(wrong(self.findings(test)[1]))
        return self._kinds[test.record.id]

    def _before(self, last: MassRecord) -> Sequence[MassRecord]:
        before = self.records[: [test.record.id for test in self.records].index(last.record.id)]
        return [test for test in before if not test.is_turned]

    def _counts(self, test: MassRecord, last: MassRecord) -> bool:
        """Whether a test mass says something about the profile that a later one was read by: of the same profile,
        no edit between; or where it did not agree, since the profile may have been edited to fit it, unless the
        station itself was changed between."""
        if self._is_alike(test, last):
            return True
        return self.epochs[test.id][1] == self.epochs[last.id][1] and not self.agrees(test, alone=True)

    def _is_alike(self, test: MassRecord, last: MassRecord) -> bool:
        """Whether two tests are of the same profile, with no edit between."""
        return self.epochs[test.id][0] == self.epochs[last.id][0] and test.basis.read_as == last.basis.read_as

    def _trials(self, test: MassRecord, own: Basis) -> tuple[Trial, ...]:
        """The change that each mass of a test made, both fixture and crank fallen out of it, as a profile reads
        it; of two at once each plane is held against its own."""
        before = self.spins[test.record.spin]
        noises, changes = [], []
        goes = [one.runs for one in before.turned] if test.is_turned and before.turned else [before.typed]
        were = map(joined, zip(*(averages(runs, own.instrument) for runs in goes), strict=True))
        means = averages(test.runs, own.instrument)
        for mean, was, at_spins in zip(means, were, self.scatter.get(own.read_as, (Scatter(),) * 2), strict=True):
            both = []
            for one in (mean, was):
                size = abs(one.vector_gmm)
                noise = max(at_spins.of(size), scatter([mean]).of(size))
                both.append(measured(one.vector_gmm, noise / math.sqrt(one.runs), own.instrument))
            noises.append(max(LEAST_NOISE_GMM, math.hypot(*(max(one.along_gmm, one.across_gmm) for one in both))))
            changes.append(mean.vector_gmm - was.vector_gmm)
        if test.beside is None:
            return (_trial(test, test.mass, (changes[0], changes[1]), max(noises)),)
        front, rear = sorted((test.mass, test.beside), key=lambda mass: mass.plane)
        return (
            _trial(test, front, (changes[0], 0j), noises[0]),
            _trial(test, rear, (0j, changes[1]), noises[1]),
        )

    def next_pair(
        self,
        instrument: Instrument,
        spin: Spin | None,
        throw_radius_mm: float | None,
        sizes: Sizes = METRIC,
    ) -> tuple[KnownMass, KnownMass]:
        """Two masses for one spin that cannot be missed, and that no mistake makes look right."""
        return pair_to_hang(_left_gmm(spin), instrument, throw_radius_mm, self._noise_gmm(), sizes)

    def next_mass(
        self,
        instrument: Instrument,
        spin: Spin | None,
        throw_radius_mm: float | None,
        sizes: Sizes = METRIC,
    ) -> KnownMass:
        """A mass that cannot be missed, at an angle that tells, also beside one that was hung before; on the plane
        that is still to agree."""
        radius_mm = radius_for(instrument, throw_radius_mm, sizes)
        enough = ample(_left_gmm(spin), instrument, radius_mm, self._noise_gmm(), sizes)
        mass_g = next((g for g in enough if self._is_another(g)), enough[0])
        last = next((test for test in reversed(self.records) if not test.is_turned), None)
        at_deg = (last.mass.angle_deg + BEST_DEG) % 360 if last and not last.beside else FRONT_DEG
        found = self.findings(last)[1] if last else ()
        plane: Plane = "rear" if any(one.plane == "rear" for one in found) else "front"
        return KnownMass(plane, mass_g, radius_mm, at_deg)

    def _noise_gmm(self) -> float:
        """What the last test left unsure, where its masses were too small (k = 2); 0 where they were not."""
        if not self.records:
            return 0.0
        trials, found = self.findings(self.records[-1])
        is_small = any(one.kind in TOO_SMALL for one in found)
        return max(2 * trial.standard_gmm for trial in trials) if is_small else 0.0

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


def _left_gmm(spin: Spin | None) -> float:
    return max(map(abs, spin.raw)) if spin else 0.0


def _trial(test: MassRecord, mass: KnownMass, changes: tuple[complex, complex], noise_gmm: float) -> Trial:
    return Trial(mass.plane, mass.vector_gmm, *changes, noise_gmm, mass.mass_g, test.has_units)
