"""The loop at the balancing station, as its log has it: spin, drill, spin again, until what is left may stay.

Nothing is kept but what was read and what was done. Where the loop stands, what the crank taught on the way and
what comes next is worked out from the job, the station's profile and the log whenever it is asked for.
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from truethrow.balance import stationfile, stationlog
from truethrow.balance.beside import log_path
from truethrow.balance.correction import NEUTRAL, Plan, Response, Step, apply, learned, plan, verdicts
from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.balance.holes import Hole
from truethrow.balance.job import Job
from truethrow.balance.readinglog import ReadingLog, Record
from truethrow.balance.readings import Verdict
from truethrow.balance.seats import own_readings
from truethrow.balance.spin import Instrument, averages, measured
from truethrow.balance.spinning import Spin, spun
from truethrow.balance.stationfile import Profile
from truethrow.balance.stationlog import HoleRecord, MassRecord, SignRecord, SpinRecord
from truethrow.balance.testmass import HARMLESS, Finding, Plane, Trial, check
from truethrow.balance.unbalance import allowed_gmm

PLANES: tuple[Plane, Plane] = ("front", "rear")
# The plan aims below what may stay by the station's own uncertainty, so that the next spin can say inside, but
# never at less than this part of it. Common practice, no source.
LEAST_AIM = 0.2
LEAST_NOISE_GMM = 1e-6


@dataclass(frozen=True)
class Balancing:
    """Where a job stands at the station. limits_gmm: what may stay in the front and the rear plane; scatter_gmm:
    of one run there; since: the holes done since the last spin; signed: the sign-off that still holds;
    seen: the ids of all that stands in the log."""

    job: Job
    profile: Profile
    instrument: Instrument
    limits_gmm: tuple[float, float]
    scatter_gmm: tuple[float, float]
    spins: tuple[Spin, ...]
    since: tuple[HoleRecord, ...]
    tests: tuple[MassRecord, ...]
    signed: SignRecord | None
    seen: tuple[str, ...]

    @property
    def planes_mm(self) -> tuple[float, float]:
        return self.job.station.front_plane_mm, self.job.station.rear_plane_mm

    @property
    def last(self) -> Spin | None:
        return self.spins[-1] if self.spins else None

    @property
    def drilled(self) -> tuple[HoleRecord, ...]:
        """Everything done to the crank, in order."""
        return (*(one for spin in self.spins for one in spin.drilled), *self.since)

    def verdicts_of(self, spin: Spin) -> tuple[Verdict, Verdict]:
        return verdicts(spin.residual, spin.expanded_gmm, self.limits_gmm)

    @property
    def is_inside(self) -> bool:
        """Whether the last spin found both planes inside, and nothing was done since."""
        return self.last is not None and not self.since and self.verdicts_of(self.last) == ("inside", "inside")

    @property
    def least_expanded_gmm(self) -> tuple[float, float]:
        """The uncertainty of a spin like the last one, were there no unbalance at all: no better can be shown."""
        runs = self.last.runs if self.last else 1
        front, rear = (measured(0j, s / math.sqrt(runs), self.instrument).expanded_gmm for s in self.scatter_gmm)
        return front, rear

    @cached_property
    def response(self) -> Response:
        """What the steps so far taught, of spins of the same bobweights."""
        steps = [
            Step(before.raw, tuple(one.hole for one in after.drilled), after.raw)
            for before, after in itertools.pairwise(self.spins)
            if after.drilled and before.record.of == after.record.of
        ]
        if not steps:
            return NEUTRAL
        front, rear = (max(spin.expanded_gmm[at] for spin in self.spins) for at in (0, 1))
        return learned(steps, self.planes_mm, (front, rear))

    @cached_property
    def tested(self) -> tuple[Trial, tuple[Finding, ...]] | None:
        """The last test mass, and what does not agree by the profile as it is now; None without any."""
        return findings(self, self.tests[-1]) if self.tests else None

    @property
    def has_tools(self) -> bool:
        return bool(self.profile.tools.drills or self.profile.tools.grinder)

    @cached_property
    def plan(self) -> Plan | None:
        """What to do about the last spin, whatever of it is done already; None where nothing is to be done, for a
        job without a crank, and for a shop without tools."""
        if self.last is None or self.job.crank is None or not self.has_tools:
            return None
        if self.verdicts_of(self.last) == ("inside", "inside"):
            return None
        front, rear = (
            max(limit - unsure, LEAST_AIM * limit)
            for limit, unsure in zip(self.limits_gmm, self.least_expanded_gmm, strict=True)
        )
        before = [one.hole for spin in self.spins for one in spin.drilled]
        return plan(
            apply(self.job.crank, before),
            self.profile.tools,
            self.last.residual,
            self.planes_mm,
            allowed_gmm=(front, rear),
            response=self.response,
            speed_rpm=self.job.engine.top_speed_rpm,
        )

    def done(self, operation: Hole) -> HoleRecord | None:
        """The record of an operation of the plan, where it is done."""
        return next((one for one in self.since if _place(one.hole) == _place(operation)), None)

    def not_signable(self) -> list[str]:
        """Why it cannot be signed off; nothing where it can."""
        if self.last is None:
            return ["there is no spin yet"]
        found = []
        if self.since:
            found.append(f"{len(self.since)} done since the last spin: spin again")
        if self.last.record.of != self.job.digest:
            found.append("the job is not as it was at the last spin: hang its bobweights and spin again")
        for plane, limit, ruled in zip(PLANES, self.limits_gmm, self.verdicts_of(self.last), strict=True):
            if ruled != "inside":
                found.append(f"{plane} plane: {getattr(self.last, plane)}, {ruled}; {limit:.1f} g·mm may stay")
        wrong = [one.kind for one in self.tested[1] if one.kind not in HARMLESS] if self.tested else []
        if wrong:
            found.append(f"the last test mass does not agree with the profile: {', '.join(wrong)}")
        if self.signed:
            found.append(f"signed already by {shown(self.signed.record.by)}, record {self.signed.record.id}")
        return found


def _place(hole: Hole) -> tuple[object, ...]:
    """What tells one operation from another, however deep."""
    figures = (hole.angle_deg, hole.radius_mm, hole.z_mm, hole.diameter_mm)
    return hole.kind, hole.member, *(round(figure, 3) for figure in figures)


def load(job_path: Path, station_path: Path) -> Balancing:
    """Where a job stands at the station. Raises BadInput with every fault of the profile, of the job, or of the
    log, and where the job does not say what may stay."""
    profile = stationfile.load(station_path, ("spin",))
    job = own_readings(job_path)
    front, rear = allowed_gmm(job)
    if front is None or rear is None:
        allowed = "a limit, or a grade with crank_mass and the engine's top_speed"
        raise BadInput([Fault("station", "does not say what may stay", allowed)], str(job_path))
    log = ReadingLog(log_path(job_path))
    return follow(job, profile, (front, rear), log.records, str(log.path))


def follow(
    job: Job, profile: Profile, limits_gmm: tuple[float, float], records: Sequence[Record], source: str = ""
) -> Balancing:
    """Where the loop stands after these records. Raises BadInput for records that make no sense."""
    assert profile.instrument
    events = stationlog.events(records, source)
    found = spun(events, profile.instrument, source)
    known = {spin.record.id for spin in found.spins}
    return Balancing(
        job=job,
        profile=profile,
        instrument=profile.instrument,
        limits_gmm=limits_gmm,
        scatter_gmm=found.scatter_gmm,
        spins=found.spins,
        since=found.since,
        tests=tuple(event for event in events if isinstance(event, MassRecord) and event.record.of in known),
        signed=_signed(events),
        seen=tuple(event.record.id for event in events),
    )


def _signed(events: Sequence[stationlog.Event]) -> SignRecord | None:
    """The last sign-off, unless a spin or a hole came after it, or one of those that it names is struck."""
    stand = {event.record.id for event in events}
    signed: SignRecord | None = None
    for event in events:
        if isinstance(event, SignRecord):
            signed = event
        elif isinstance(event, SpinRecord | HoleRecord):
            signed = None
    return signed if signed and signed.names <= stand else None


def findings(state: Balancing, last: MassRecord) -> tuple[Trial, tuple[Finding, ...]]:
    """What a test mass says of the profile, together with those made before it against the same spin."""
    same = [test for test in state.tests if test.record.of == last.record.of and test.record.id != last.record.id]
    trials = [_trial(state, test) for test in (*same, last)]
    return trials[-1], check(trials, state.instrument)


def _trial(state: Balancing, test: MassRecord) -> Trial:
    """The change that a test mass made, both fixture and crank fallen out of it."""
    before = next(spin for spin in state.spins if spin.record.id == test.record.of)
    means = averages(test.runs, state.instrument)
    noises = [LEAST_NOISE_GMM]
    for mean, scatter, was in zip(means, state.scatter_gmm, (before.front, before.rear), strict=True):
        now = measured(mean.vector_gmm, scatter / math.sqrt(mean.runs), state.instrument)
        noises.append(math.hypot(max(now.along_gmm, now.across_gmm), max(was.along_gmm, was.across_gmm)))
    mass = test.mass
    return Trial(
        mass.plane,
        cmath.rect(mass.mass_g * mass.radius_mm, math.radians(mass.angle_deg)),
        means[0].vector_gmm - before.raw.front,
        means[1].vector_gmm - before.raw.rear,
        max(noises),
    )
