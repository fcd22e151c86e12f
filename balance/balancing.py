"""The loop at the balancing station, as its log has it: spin, drill, spin again, until what is left may stay.

Nothing is kept but what was read and what was done. Where the loop stands, what the crank taught on the way and
what comes next is worked out from the job, the station's profile and the log whenever it is asked for.
"""

from __future__ import annotations

import cmath
import hashlib
import itertools
import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from truethrow.balance import stationfile, stationlog
from truethrow.balance.correction import (
    NEUTRAL,
    Plan,
    Response,
    Step,
    TwoPlanes,
    apply,
    changed_by,
    learned,
    plan,
    still_fits,
    verdicts,
)
from truethrow.balance.correction.learning import DRILLED_MM
from truethrow.balance.damage import must_spin_again
from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.balance.holes import Hole
from truethrow.balance.job import Job
from truethrow.balance.place import Place, open_log, source_of
from truethrow.balance.readings import Verdict
from truethrow.balance.records import Record
from truethrow.balance.seats import own_readings
from truethrow.balance.spin import Instrument, averages, measured, scatter_gmm
from truethrow.balance.spinning import Spin, spun
from truethrow.balance.stationfile import Profile
from truethrow.balance.stationlog import Basis, HoleRecord, MassRecord, SignRecord, SpinRecord
from truethrow.balance.testmass import HARMLESS, SEPARATION, Finding, Plane, Trial, check
from truethrow.balance.unbalance import allowed_gmm

PLANES: tuple[Plane, Plane] = ("front", "rear")
# The plan aims below what may stay by the station's own uncertainty, so that the next spin can say inside, but
# never at less than this part of it. Common practice, no source.
LEAST_AIM = 0.2
LEAST_NOISE_GMM = 1e-6
# A change that misses the one predicted by more than this part of it, beyond what spins and depths leave open, is
# no answer: as much as 30 degrees or a gain of a half. Common practice, no source.
NO_ANSWER = 0.5


@dataclass(frozen=True)
class Balancing:
    """Where a job stands at the station. limits_gmm: what may stay in the front and the rear plane; scatter_gmm:
    of one run there; since: the holes done since the last spin; signed: the last sign-off, unless a spin or a hole
    came after it; seen: the ids of all that stands in the log; in_doubt: whether a line of the station's
    was damaged in the log, and no spin came since somebody said what became of it."""

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
    in_doubt: bool = False

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
        """Whether the last spin found both planes inside, and nothing stands against believing it."""
        return not self.against()

    @property
    def least_expanded_gmm(self) -> tuple[float, float]:
        """The uncertainty of a spin like the last one, were there no unbalance at all: no better can be shown."""
        runs = self.last.runs if self.last else 1
        front, rear = (measured(0j, s / math.sqrt(runs), self.instrument).expanded_gmm for s in self.scatter_gmm)
        return front, rear

    @cached_property
    def _steps(self) -> list[tuple[Spin, Step]]:
        """Each spin after holes with the step that led to it, where both were of the same bobweights."""
        return [
            (after, Step(before.raw, tuple(one.hole for one in after.drilled), after.raw))
            for before, after in itertools.pairwise(self.spins)
            if after.drilled and before.record.of == after.record.of
        ]

    @cached_property
    def _unsure_gmm(self) -> tuple[float, float]:
        """The expanded uncertainty that a reading has at worst."""
        front, rear = (max(spin.expanded_gmm[at] for spin in self.spins) for at in (0, 1))
        return front, rear

    @cached_property
    def response(self) -> Response:
        """What the steps so far taught, of spins of the same bobweights; one that was no answer teaches none."""
        steps = [step for _, step in self._steps if self._is_answer(step)]
        return learned(steps, self.planes_mm, self._unsure_gmm) if steps else NEUTRAL

    def _is_answer(self, step: Step) -> bool:
        """Whether a change is what the holes should have made, gain, angle and depths as wrong as they may be."""
        predicted = changed_by(step.operations, self.planes_mm)
        deep = [abs(one.removes_gmm) / one.depth_mm for one in step.operations if one.kind != "slug"]
        depths_gmm = math.hypot(*deep) * DRILLED_MM
        for at in (0, 1):
            miss = abs(step.after[at] - step.before[at] - predicted[at])
            unsure = math.hypot(math.sqrt(2) * self._unsure_gmm[at], depths_gmm)
            if miss > unsure + NO_ANSWER * abs(predicted[at]) + SEPARATION * abs(predicted[1 - at]):
                return False
        return True

    @cached_property
    def unanswered(self) -> tuple[Spin, ...]:
        """The spins that did not change as the holes before them say, unless a test mass agreed since."""
        agreed = [test for test in self.tests if not _wrong(findings(self, test)[1])]
        proved = max((self._number(test) for test in agreed), default=0)
        return tuple(after for after, step in self._steps if after.number > proved and not self._is_answer(step))

    def _number(self, test: MassRecord) -> int:
        return next(spin.number for spin in self.spins if spin.record.id == test.record.of)

    @cached_property
    def tested(self) -> tuple[Trial, tuple[Finding, ...]] | None:
        """The last test mass, and what does not agree by the profile as it is now; None without any."""
        return findings(self, self.tests[-1]) if self.tests else None

    def withheld(self) -> list[str]:
        """Why nothing is to be drilled by this station as it is; nothing where it may."""
        found = []
        if self.in_doubt:
            found.append("a line of the log was damaged, so the last spin is in doubt: drill nothing; spin again")
        if self.tested and (wrong := _wrong(self.tested[1])):
            found.append(f"the last test mass does not agree with the profile: {', '.join(wrong)}")
        if self.unanswered:
            number = self.unanswered[-1].number
            found.append(
                f"the crank did not answer as the holes say, spin {number}: drill nothing; hang a test mass first"
            )
        return found

    @property
    def has_tools(self) -> bool:
        return bool(self.profile.tools.drills or self.profile.tools.grinder)

    @cached_property
    def plan(self) -> Plan | None:
        """What to do about the last spin, whatever of it is done already; None where nothing is to be done, for a
        job without a crank, and for a shop without tools."""
        if self.last is None or self.in_doubt or self.job.crank is None or not self.has_tools:
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

    @property
    def basis(self) -> Basis:
        """What is in force now: runs that are typed have it beside them."""
        return self._basis(self.spins, self.drilled)

    def _basis(self, spins: Sequence[Spin], drilled: Sequence[HoleRecord]) -> Basis:
        """What is in force for a spin after these spins and holes: all that its plan is made from."""
        made_from = (
            self.instrument,
            self.profile.tools,
            self.job.crank,
            self.limits_gmm,
            self.planes_mm,
            self.job.engine.top_speed_rpm,
            [spin.ids for spin in spins],
            [one.record.id for one in drilled],
        )
        name = hashlib.sha256(repr(made_from).encode()).hexdigest()[:8]
        return Basis(self.instrument.with_rotation, self.instrument.zero_deg, name)

    @property
    def has_changed(self) -> bool:
        """Whether the profile, the job or what was done before are others than at the last spin, so that its plan
        may be another."""
        if self.last is None:
            return False
        if self.last.record.of != self.job.digest:
            return True
        now = self._basis(self.spins[:-1], [one for spin in self.spins for one in spin.drilled])
        return self.last.basis is not None and self.last.basis.name != now.name

    @cached_property
    def plan_name(self) -> str:
        """The name of the plan: of the spin that it comes from, and of every figure of it."""
        assert self.last and self.plan
        operations = [[one.kind, stationlog.hole_text(one)] for one in self.plan.operations]
        text = json.dumps([self.last.ids, operations], separators=(",", ":"))
        return "p" + hashlib.sha256(text.encode()).hexdigest()[:11]

    def done(self, operation: Hole) -> HoleRecord | None:
        """The record of an operation of the plan, where it is done."""
        return next((one for one in self.since if _place(one.hole) == _place(operation)), None)

    @property
    def to_do(self) -> tuple[Hole, ...]:
        """The operations of the plan that are not done yet."""
        return tuple(one for one in self.plan.operations if self.done(one) is None) if self.plan else ()

    @cached_property
    def halted(self) -> str:
        """Why the rest of a plan that was begun is not to be done, empty where it may."""
        if not self.since or not self.to_do:
            return ""
        assert self.plan and self.job.crank
        if any(one.record.why not in ("", self.plan_name) for one in self.since):
            return "the plan that was begun cannot be told any more, what it was made from has changed"
        crank = apply(self.job.crank, [one.hole for one in self.drilled])
        if not all(still_fits(crank, self.to_do)):
            return "what was really drilled leaves too thin a wall to the rest"
        return ""

    @property
    def expected(self) -> TwoPlanes | None:
        """What the station should read once the plan is done, what is done being as deep as it is."""
        if self.last is None or self.plan is None:
            return None
        rest = () if self.halted else self.to_do
        change = changed_by([*(one.hole for one in self.since), *rest], self.planes_mm)
        return self.last.residual.plus(self.response.as_measured(change))

    def against(self) -> list[str]:
        """What stands against a crank that may go; nothing where nothing does."""
        if self.last is None:
            return ["there is no spin yet"]
        found = []
        if self.since:
            found.append(f"{stationlog.since_spin(len(self.since))}: spin again")
        if self.last.record.of != self.job.digest:
            found.append("the job is not as it was at the last spin: hang its bobweights and spin again")
        for plane, limit, ruled in zip(PLANES, self.limits_gmm, self.verdicts_of(self.last), strict=True):
            if ruled != "inside":
                found.append(f"{plane} plane: {getattr(self.last, plane)}°, {ruled}; {limit:.1f} g·mm may stay")
        return found + self.withheld()

    @property
    def holds(self) -> bool:
        """Whether it is signed, and what was signed still is so."""
        return self.signed is not None and not self.against()

    def not_signable(self) -> list[str]:
        """Why it cannot be signed off; nothing where it can."""
        if self.signed and self.holds:
            return [f"signed already by {shown(self.signed.record.by)}, record {self.signed.record.id}"]
        return self.against()


def _wrong(found: Sequence[Finding]) -> list[str]:
    return [one.kind for one in found if one.kind not in HARMLESS]


def _place(hole: Hole) -> tuple[object, ...]:
    """What tells one operation from another, however deep."""
    figures = (hole.angle_deg, hole.radius_mm, hole.diameter_mm)
    return hole.kind, hole.member, *(round(figure, 3) for figure in figures)


def load(place: Place, station_path: Path) -> Balancing:
    """Where a job stands at the station. Raises BadInput with every fault of the profile, of the job, or of the
    log, and where the job does not say what may stay."""
    profile = stationfile.load(station_path, ("spin",))
    job = own_readings(place)
    front, rear = allowed_gmm(job)
    if front is None or rear is None:
        allowed = "a limit, or a grade with crank_mass and the engine's top_speed"
        raise BadInput([Fault("station", "does not say what may stay", allowed)], source_of(place))
    log = open_log(place)
    return follow(job, profile, (front, rear), log.records, log.name)


def follow(
    job: Job, profile: Profile, limits_gmm: tuple[float, float], records: Sequence[Record], source: str = ""
) -> Balancing:
    """Where the loop stands after these records. Raises BadInput for records that make no sense."""
    assert profile.instrument
    events = stationlog.events(records, source)
    found = spun(events, profile.instrument, source)
    known = {spin.record.id for spin in found.spins}
    if job.crank is not None:
        there = {member.name for member in job.crank.members}
        drilled = dict.fromkeys(event.hole.member for event in events if isinstance(event, HoleRecord))
        if lost := sorted(drilled.keys() - there):
            allowed = f"their names as they were: {', '.join(map(shown, sorted(there)))}"
            said = "the log has holes in '{}', which the [crank] has not"
            raise BadInput([Fault("crank", said.format(shown(name)), allowed) for name in lost], source)
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
        in_doubt=must_spin_again(records),
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
    """What a test mass says of the profile, together with all those made before it: each is a change of its own
    spin, so the crank falls out."""
    before = itertools.takewhile(lambda test: test.record.id != last.record.id, state.tests)
    made = [*before, last]
    own = state.basis
    changed = any(test.basis and _read_as(test.basis) != _read_as(own) for test in made)
    trials = [_trial(state, test) for test in made]
    return trials[-1], check(trials, state.instrument, changed=changed)


def _read_as(basis: Basis) -> tuple[bool, float]:
    return basis.with_rotation, round(basis.zero_deg % 360, 6)


def _trial(state: Balancing, test: MassRecord) -> Trial:
    """The change that a test mass made, both fixture and crank fallen out of it."""
    before = next(spin for spin in state.spins if spin.record.id == test.record.of)
    means = averages(test.runs, state.instrument)
    noises = [LEAST_NOISE_GMM]
    for mean, at_spins, was in zip(means, state.scatter_gmm, (before.front, before.rear), strict=True):
        scatter = max(at_spins, scatter_gmm([mean]))
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
