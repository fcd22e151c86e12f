"""The loop at the balancing station, as its log has it: spin, drill, spin again, until both planes are inside.

Nothing is kept but what was read and what was done. Where the loop stands, what the crank taught on the way and
what comes next is worked out from the job, the station's profile and the log whenever it is asked for.

A spin is read by the profile that it was typed under. Once the profile's [spin] is edited, somebody says whether
it had been wrong, so that earlier spins are read anew, or the station itself was changed, so that they stay.
Either way, and where the planes change, nothing that was read before holds a plan: the station spins again and
hangs a test mass again. What was signed by the profile of its day stays signed, unless that profile is said to
have been wrong (may_go.void).

What is signed for is the sum: what the spin read, what members bring that were off the crank (damper, flexplate),
and what hanging leaves. Where below a spin is inside or not, it is with those members. Holes make the crank true
for its bobweight, so that it is good for any parts of that bobweight: they aim at the spin. Where each plane
stands:

    spin inside, sum inside        it may be signed
    spin inside, sum not           the crank is good, hanging leaves too much: no hole. What hangs and the parts
                                   come nearer to each other (bobweights weighed, parts weighed a second time, own
                                   bobweights, trim); or somebody says that the holes aim at the sum
    spin not inside, sum inside    holes by the spin; or somebody says that they aim at the sum: then it may go
    neither                        holes by the spin, and what hanging leaves comes after; or by the sum

Who says that holes aim at the sum (Aimed) says that this crank goes with these parts in these cylinders alone:
then the sum alone decides. It is said of one job's parts: once the job changes, holes aim at the spin again, and
that the job's bobweights are hung and spun again is asked for anyway.
"""

from __future__ import annotations

import hashlib
import itertools
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.base.files import KeptText
from truethrow.balance.base.readings import Verdict
from truethrow.balance.correction import HolePlan, TwoPlanes, apply, changed_by, plan, still_fits, verdicts
from truethrow.balance.correction.breaches import Breach, all_breaches
from truethrow.balance.crank.crank import Crank
from truethrow.balance.crank.holes import Hole, Tools
from truethrow.balance.job.job import Job, own_readings
from truethrow.balance.job.lifecycle import marks
from truethrow.balance.log.damage import must_spin_again
from truethrow.balance.log.place import Place, open_log, source_of, to_paste
from truethrow.balance.log.records import (
    SIGN,
    Aimed,
    Built,
    LookedAt,
    Record,
    SignedOff,
    WentUnproved,
    struck_ids,
)
from truethrow.balance.log.replaying import last_signed
from truethrow.balance.result.doubts import named
from truethrow.balance.result.settling import Places
from truethrow.balance.result.unbalance import allowed_gmm, throw_arms
from truethrow.balance.result.work import Result, work
from truethrow.balance.station import stationfile, stationlog
from truethrow.balance.station.answers import Answers
from truethrow.balance.station.built import Hung, at_last_spin, hung
from truethrow.balance.station.divisions import NOTHING, Calibration
from truethrow.balance.station.inengine import InEngine, in_engine, to_settle
from truethrow.balance.station.members import Brought, Members, agree, lost_members
from truethrow.balance.station.metal import changed_metal, same_metal
from truethrow.balance.station.proof import Proof, wrong
from truethrow.balance.station.reasons import Reason
from truethrow.balance.station.revisions import changes
from truethrow.balance.station.spin import Instrument, Scatter, measured
from truethrow.balance.station.spinning import Spin, spun
from truethrow.balance.station.stationfile import StationProfile
from truethrow.balance.station.stationlog import (
    Basis,
    Edit,
    HoleRecord,
    MassRecord,
    SpinRecord,
    StationEvent,
    instrument_of,
)
from truethrow.balance.station.testmass import Finding, Plane, Trial

PLANES: tuple[Plane, Plane] = ("front", "rear")
# The plan aims below the tolerance by the station's own uncertainty, so that the next spin can say inside, but
# never at less than this part of it. Common practice, no source.
LEAST_AIM = 0.2


@dataclass(frozen=True, eq=False)  # each is itself alone, so that what is asked of one can be kept (surprise)
class Balancing:
    """Where a job stands at the station. limits_gmm: the tolerance of the front and the rear plane; scatter: of
    one run there; since: the holes done since the last spin; proof: all test masses; fresh: the ids of the spins
    and test masses since the profile was edited last, of the crank as the job has it; as_it_was: of the spins
    since then of the crank as it was before its metal was edited in the job; edits: of the profile, that somebody
    said what they were; overrides: what was gone on with unproved since then; signed: the last sign-off, unless a
    spin or a hole came after it; last_read_by: the instrument that the log knows last; seen: the ids of all that
    stands in the log; in_doubt: whether a line of the station's was damaged in the log, and no spin came since
    somebody said what became of it; looked_at: the ids of the holes beyond a limit that somebody qualified lets
    be; canceled: what was, since the last spin, in words; is_test_canceled: whether a test mass was, and no other
    was hung since; other_cranks: the marks of other cranks than the job
    names, of what was recorded; called: the job, as to_paste has it; records: all of the log; built: the weighed
    bobweights that hung at the last spin, by throw; rebuilt: those weighed since; aimed: who said last what the
    holes aim at; today: by the profile as it is today, where this is by the one that the crank was signed by;
    show: the units that were asked for, a name in SHOW, None for the job's own."""

    job: Job
    profile: StationProfile
    instrument: Instrument
    limits_gmm: tuple[float, float]
    scatter: tuple[Scatter, Scatter]
    spins: tuple[Spin, ...]
    since: tuple[HoleRecord, ...]
    proof: Proof
    fresh: frozenset[str]
    as_it_was: frozenset[str]
    edits: tuple[Edit, ...]
    last_read_by: Instrument
    overrides: tuple[WentUnproved, ...]
    signed: SignedOff | None
    seen: tuple[str, ...]
    in_doubt: bool = False
    canceled: tuple[str, ...] = ()
    is_test_canceled: bool = False
    looked_at: frozenset[str] = frozenset()
    other_cranks: tuple[str, ...] = ()
    called: str = "JOB"
    records: tuple[Record, ...] = ()
    built: Mapping[str, Built] = field(default_factory=dict)
    rebuilt: tuple[Built, ...] = ()
    aimed: Aimed | None = None
    today: Balancing | None = None
    show: str | None = None

    @property
    def told_in(self) -> ToldIn:
        """The units of what is said of it."""
        return self.job.told_in(self.show)

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

    @property
    def is_edited(self) -> bool:
        """Whether the profile, or the planes, are others than the last spin was read by, or were between; or the
        crank's metal is."""
        return self.last is not None and not self.is_fresh(self.last)

    @cached_property
    def recut(self) -> tuple[str, ...]:
        """What the job says otherwise of the crank's metal than at the last spin, in words: it was turned, ground
        or drilled since, or a slip of the pen was mended."""
        return changed_metal(self.last.record, self.job.crank, self.told_in) if self.last else ()

    @property
    def unsaid(self) -> tuple[str, ...]:
        """What an edit of the profile changed, as long as nobody has said what it was; nothing where none is."""
        return changes(self.last_read_by, self.instrument, self.told_in) if self.last else ()

    @property
    def last_read_first(self) -> int:
        """The number of the first of the last spins in a row that are read by one profile, the last of them."""
        own = self.last.basis.revision if self.last else ""
        alike = itertools.takewhile(lambda spin: spin.basis.revision == own, reversed(self.spins))
        return min((spin.number for spin in alike), default=1)

    @property
    def edits_since_signed(self) -> tuple[Edit, ...]:
        """The edits of the profile of which somebody said what they were after the last sign-off."""
        if self.signed is None:
            return ()
        at = self.seen.index(self.signed.id)
        return tuple(edit for edit in self.edits if self.seen.index(edit.id) > at)

    @cached_property
    def as_signed(self) -> Balancing:
        """Where the loop stands by the profile that the last sign-off was given by."""
        assert self.signed
        instrument, later = instrument_of(self.signed.read_by), {edit.id for edit in self.edits_since_signed}
        if not later and not changes(instrument, self.instrument):
            return self
        records = [record for record in self.records if record.id not in later]
        profile = self.profile._replace(instrument=instrument)
        made = follow(self.job, profile, self.limits_gmm, records, called=self.called)
        return replace(made, today=self, show=self.show)

    def is_fresh(self, spin: Spin) -> bool:
        """Whether a spin was read by the profile as it is, which was not edited since, of the crank as it is."""
        return spin.record.id in self.fresh

    @cached_property
    def counted(self) -> tuple[Spin, ...]:
        """The spins that count: read by the profile as it is, of the crank as it is, and told what they read."""
        return tuple(spin for spin in self.spins if self.is_fresh(spin) and spin.is_told)

    def verdicts_of(self, spin: Spin) -> tuple[Verdict, Verdict]:
        """By what a spin read and what members bring that were off."""
        if not spin.is_told:
            return "too close to call", "too close to call"
        whole = self.with_members(spin)
        return verdicts(whole.gmm, whole.expanded_gmm, self.limits_gmm)

    def with_members(self, spin: Spin) -> Brought:
        """What a spin read, and with it what members bring that were off the crank."""
        return Brought(spin.residual, spin.expanded_gmm).plus(self.members.missing(spin))

    def with_old(self, name: str) -> TwoPlanes:
        """What the crank reads with a member on, and the others as at the last spin: with a new one that is equal
        to it the same."""
        assert self.last
        read = self.last.residual
        own = self.members.brings(name, self.last)
        return read if name in self.last.record.members or own is None else read.plus(own.gmm)

    @cached_property
    def members(self) -> Members:
        """Damper, flexplate and so on, and at which spins they were on."""
        counted = frozenset(spin.number for spin in self.counted)
        return Members(self.job.crank, self.planes_mm, self.spins, counted)

    @property
    def least_expanded_gmm(self) -> tuple[float, float]:
        """The uncertainty of a spin like the last one, were there no unbalance at all: no better can be shown."""
        runs = self.last.runs if self.last else 1
        return self._expanded_at_nothing([one.of(0.0) / math.sqrt(runs) for one in self.scatter])

    @property
    def floor_expanded_gmm(self) -> tuple[float, float]:
        """The same, were there no scatter."""
        return self._expanded_at_nothing((0.0, 0.0))

    def _expanded_at_nothing(self, noises: Sequence[float]) -> tuple[float, float]:
        """The ± of a reading of nothing in each plane. noises: of the means, as the instrument shows them. 0 on a
        station that reads divisions before trial masses told what they are."""
        front, rear = (measured(0j, noise, self.instrument).expanded_gmm for noise in noises)
        if not self.reads_divisions:
            return front, rear
        made = self.calibration.coefficients
        if made is None:
            return 0.0, 0.0
        front, rear = made.sure_gmm(TwoPlanes(0j, 0j), (front, rear))
        return front, rear

    @property
    def reads_divisions(self) -> bool:
        return self.instrument.reads_divisions

    @property
    def calibration(self) -> Calibration:
        """What the trial masses of a station that reads divisions say of the last spin."""
        if self.last is None or self.last.calibration is None or self.is_edited:
            return NOTHING
        return self.last.calibration

    def shows(self, vectors: TwoPlanes) -> tuple[tuple[float, float], ...]:
        """Amount and angle of each plane as the station shows an unbalance; nothing where nobody knows."""
        if not self.reads_divisions:
            return tuple(self.instrument.shows(one) for one in vectors)
        made = self.calibration.coefficients
        return tuple(self.instrument.shows(one) for one in made.reads(vectors)) if made else ()

    @cached_property
    def answers(self) -> Answers:
        return Answers(self.counted, self.planes_mm, self.job.crank, self.profile.tools, self.members)

    @cached_property
    def unanswered(self) -> tuple[Spin, ...]:
        """The spins that did not change as the holes before them say, unless a test mass agreed since."""
        agreed = [test for test in self._tests if self.proof.agrees(test)]
        if self.reads_divisions and self.proved_by:
            agreed = [self.proved_by]
        return self.answers.missing(max((self.proof.spins[test.record.spin].number for test in agreed), default=0))

    @property
    def _tests(self) -> tuple[MassRecord, ...]:
        """The test masses by the profile as it is; of a station that reads divisions none: its own are trials."""
        if self.reads_divisions:
            return ()
        return tuple(test for test in self.proof.records if test.record.id in self.fresh and not test.is_turned)

    @property
    def untold(self) -> Spin | None:
        """The spin whose turned runs found the fixture's part that is taken off, as long as no known mass has
        agreed with the fixture turned, after the last of them, or one was canceled since. Were their angles
        counted from the fixture, its part and the crank's would be exchanged, and the same slip made again would
        say the same."""
        # What is the fixture's is taken off whatever was done to the crank since.
        alike = (spin for spin in self.spins if spin.id in self.fresh | self.as_it_was)
        found = next((spin for spin in reversed([*alike]) if spin.turned), None)
        if self.last is None or self.last.fixture is None or found is None:
            return None
        runs = found.turned[-1].id
        tests = [test for test in self.proof.records if test.record.turned == runs]
        agrees = bool(tests) and self.proof.agrees(tests[-1])
        return None if agrees and not stationlog.is_test_canceled(self.records, runs) else found

    @cached_property
    def tested(self) -> tuple[tuple[Trial, ...], tuple[Finding, ...]] | None:
        """What the last test since the profile was edited last changed, by each of its masses, and what does not
        agree; None without any."""
        return self.proof.findings(self.last_test) if self.last_test else None

    @property
    def last_test(self) -> MassRecord | None:
        """The last test mass by the profile as it is."""
        return self._tests[-1] if self._tests else None

    @property
    def is_proved(self) -> bool:
        """Whether a test mass agrees with the profile as it is."""
        return self.calibration.is_proved if self.reads_divisions else self.proved_by is not None

    @property
    def proved_by(self) -> MassRecord | None:
        """The test mass that agrees with the profile as it is; of a station that reads divisions the fourth
        run."""
        if self.reads_divisions:
            return self.calibration.fourth.record if self.calibration.fourth and self.is_proved else None
        agrees = self.tested is not None and not wrong(self.tested[1]) and not self.is_test_canceled
        return self.last_test if agrees and self.unlike is None else None

    @cached_property
    def unlike(self) -> Spin | None:
        """The spin that the last known masses were held against, where the last one reads otherwise, nothing done
        between, as a later one does: index, cables or unit may be another since, and what was proved is so no
        more."""
        if self.last_test is None or not self.is_repeated:
            return None
        proved = self.proof.spins[self.last_test.record.spin]
        if self._agreed_at_last:
            return None
        older = [spin for spin in self._alike if spin.number <= proved.number]
        return None if not older or any(map(self._agrees, older)) else older[0]

    @property
    def otherwise(self) -> Spin | None:
        """The newest spin before the last one that reads otherwise, where nothing is recorded between: whatever
        happened came after it."""
        return next((spin for spin in self._alike if not self._agrees(spin)), None)

    @property
    def _agreed_at_last(self) -> bool:
        """Whether known masses, with the fixture as it is or turned, agree with the last spin itself."""
        own = [test for test in self.proof.records if self.last and test.record.spin == self.last.id]
        return any(test.record.id in self.fresh and self.proof.agrees(test) for test in own)

    @property
    def agreed_before(self) -> bool:
        """Whether a test mass agreed with the profile as it is, with the crank as it was before its metal was
        edited in the job."""
        tests = self.proof.records
        return any(
            one.record.spin in self.as_it_was and self.proof.agrees(one) for one in tests if not one.is_turned
        )

    def override(self, *, to_sign: bool) -> WentUnproved | None:
        """Who goes on unproved, and why: to drill, as long as the profile stays as it is; to sign, for the last
        spin alone. None once a test mass agrees, or speaks against the profile."""
        if self.last is None or (self.tested is not None and not self.is_test_canceled):
            return None
        found = [one for one in self.overrides if (one.to == SIGN) == to_sign]
        if to_sign or self.is_test_canceled:
            found = [one for one in found if one.spin == self.last.record.id]
        return found[-1] if found else None

    @property
    def unproved(self) -> WentUnproved | None:
        """The last override in force."""
        return self.override(to_sign=True) or self.override(to_sign=False)

    @cached_property
    def _alike(self) -> tuple[Spin, ...]:
        """The spins before the last one of the same crank, nothing done between, with the same bobweights or with
        others of which it is known what they weighed."""
        found: list[Spin] = []
        told = () if self.last is None or not self.last.is_told else self.counted
        for after, before in itertools.pairwise(reversed(told)):
            if self._was_drilled(before, after) or self.rehung(before) is None:
                break
            found.append(before)
        return tuple(found)

    def _was_drilled(self, before: Spin, after: Spin) -> bool:
        """Whether what was on the crank was drilled between two spins: a hole in what was off at both changes
        nothing that they read."""
        off = set(self.members.off(before)) & set(self.members.off(after))
        return any(one.hole.member not in off for one in after.drilled)

    def rehung(self, before: Spin) -> Brought | None:
        """What bobweights that were exchanged since a spin change of the last one, and members that were put on or
        taken off; None where it is not known what hung there, or what such a member brings."""
        assert self.last
        was, now = before.record, self.last.record
        change = self.members.differ(before, self.last)
        if change is None or was.digest == now.digest:
            return change
        if not len(was.hung_g) == len(now.hung_g) == len(self.job.layout.throws):
            return None
        more_g = [one - other for one, other in zip(now.hung_g, was.hung_g, strict=True)]
        if not any(more_g):
            return change
        if self.not_placed:
            return None
        arms = [throw_arms(self.job, plane) for plane in PLANES]
        own = TwoPlanes(*(sum(g * arm for g, arm in zip(more_g, own, strict=True)) for own in arms))
        return change.plus(Brought(own))

    def _agrees(self, before: Spin) -> bool:
        """Whether the last spin reads as one before it, but for what was exchanged, put on or taken off."""
        assert self.last
        changed = self.rehung(before)
        return changed is not None and agree(before, self.last, changed)

    @property
    def agreeing(self) -> Spin | None:
        """The spin that the last one agrees with, where some of those alike do not agree; else None."""
        assert self.last
        agreeing = [spin for spin in self._alike if self._agrees(spin)]
        return agreeing[0] if agreeing and len(agreeing) < len(self._alike) else None

    @property
    def agreed_ids(self) -> frozenset[str]:
        """The ids of the last spin and of those before it, nothing done between, that read as it does."""
        assert self.last
        return frozenset((self.last.id, *(spin.id for spin in self._alike if self._agrees(spin))))

    @property
    def apart(self) -> tuple[Spin, ...]:
        """Spins that should read as the last one does, where none of them does."""
        return () if self.is_repeated else self._alike

    @property
    def is_repeated(self) -> bool:
        """Whether a spin before the last one, nothing done between, reads the same."""
        return any(map(self._agrees, self._alike))

    @cached_property
    def in_engine(self) -> tuple[InEngine, InEngine] | None:
        """The last spin, what hanging leaves, and both together; None before the first spin, and where a length is
        not declared by which a bobweight acts in the planes."""
        if self.last is None or not self.last.is_told or self.not_placed:
            return None
        return in_engine(self.worked, self.last, self.hung, self.limits_gmm, self.members.missing(self.last))

    @property
    def not_placed(self) -> tuple[str, ...]:
        """The lengths that the job does not declare, and without which nobody knows what a bobweight that is off
        brings to the planes."""
        return self.job.engine.not_placed

    @cached_property
    def hung(self) -> tuple[Hung, ...]:
        """What hung on each throw at the last spin."""
        return hung(self.worked, self.built, self.profile.step_g)

    @property
    def unweighed(self) -> tuple[str, ...]:
        """The throws of which nobody weighed what hung at the last spin."""
        return tuple(one.throw.throw.name for one in self.hung if one.throw.hung_g and one.record is None)

    @property
    def for_these_parts(self) -> Aimed | None:
        """Who said that the holes aim at the sum, so that this crank goes with these parts in these cylinders
        alone; None where they aim at the spin."""
        aimed = self.aimed
        return aimed if aimed and aimed.to == "sum" and aimed.digest == self.job.digest else None

    @property
    def ruled(self) -> tuple[Verdict, Verdict]:
        """The verdicts of the two planes by what the holes aim at."""
        assert self.last
        if self.for_these_parts is None or self.in_engine is None:
            return self.verdicts_of(self.last)
        front, rear = self.in_engine
        return front.verdict, rear.verdict

    @property
    def aimed_at(self) -> TwoPlanes:
        """What the holes are to take away."""
        assert self.last
        if self.for_these_parts is None or self.in_engine is None:
            return self.with_members(self.last).gmm
        front, rear = self.in_engine
        return TwoPlanes(front.whole.gmm, rear.whole.gmm)

    @property
    def beside_expanded_gmm(self) -> tuple[float, float]:
        """The ± of what is added to the spin that the holes aim at: of members that were off, and, where they aim
        at the sum, of what hanging leaves."""
        if self.last is None or not self.last.is_told:
            return 0.0, 0.0
        front, rear = self.members.missing(self.last).expanded_gmm
        if self.for_these_parts and self.in_engine:
            hanging = (one.hanging.expanded_gmm for one in self.in_engine)
            front, rear = (math.hypot(own, sure) for own, sure in zip((front, rear), hanging, strict=True))
        return front, rear

    @property
    def to_settle(self) -> Places:
        """The parts of which a second weighing would settle what turns in the engine."""
        if self.last is None or self.in_engine is None or not self.job.has_parts:
            return ()
        return to_settle(self.worked, self.last, self.hung, self.in_engine)

    @property
    def doubted(self) -> tuple[str, ...]:
        """The parts with a reading that looks like a slip: what hangs, and what is signed for, rests on it."""
        return tuple(named(self.job, self.worked.doubts))

    @cached_property
    def worked(self) -> Result:
        """The job worked through."""
        return work(self.job)

    @property
    def has_tools(self) -> bool:
        return bool(self.profile.tools.drills or self.profile.tools.grinder)

    @cached_property
    def plan(self) -> HolePlan | None:
        """What to do about the last spin, whatever of it is done already; None where nothing is to be done, for a
        job without a crank, and for a shop without tools."""
        if self.last is None or self.in_doubt or self.is_edited or self.job.crank is None or not self.has_tools:
            return None
        if not self.last.is_told or self.ruled == ("inside", "inside"):
            return None
        allowed_gmm = self.plan_leaves_gmm
        made = self._planned(allowed_gmm)
        if "outside" in self.ruled or self.can_tell(made):
            return made
        # What takes a plane only just inside can't be told from doing nothing; what takes most of it off may be.
        front, rear = (
            allowed if ruled == "inside" else LEAST_AIM * limit
            for ruled, allowed, limit in zip(self.ruled, allowed_gmm, self.limits_gmm, strict=True)
        )
        deeper = self._planned((front, rear))._replace(stays=())
        is_inside = all(abs(left) <= own for left, own in zip(deeper.at_last, allowed_gmm, strict=True))
        return deeper if is_inside and self.can_tell(deeper) else made

    @property
    def plan_leaves_gmm(self) -> tuple[float, float]:
        """What a plan may leave in each plane, so that the next spin can say inside."""
        front, rear = (
            max(limit - math.hypot(unsure, beside), LEAST_AIM * limit)
            for limit, unsure, beside in zip(
                self.limits_gmm, self.least_expanded_gmm, self.beside_expanded_gmm, strict=True
            )
        )
        return front, rear

    def changes_gmm(self, made: HolePlan) -> list[tuple[float, float]]:
        """What a plan changes in each plane, and what the station can tell of it: a difference of two spins."""
        assert self.last
        return [
            (abs(after - before), math.sqrt(2) * read.expanded_gmm)
            for after, before, read in zip(
                made.at_last, self.aimed_at, (self.last.front, self.last.rear), strict=True
            )
        ]

    def can_tell(self, made: HolePlan) -> bool:
        """Whether what a plan changes can be told from nothing, in one plane or the other."""
        return any(change > sure for change, sure in self.changes_gmm(made))

    def _planned(self, allowed_gmm: tuple[float, float]) -> HolePlan:
        """The plan that leaves so much at most."""
        assert self.job.crank and self.last
        before = [one.hole for spin in self.spins for one in spin.drilled]
        crank = apply(self.job.crank, before).only(self.last.record.members)

        def planned(crank: Crank, *, slugs: bool) -> HolePlan:
            return plan(
                crank,
                self.profile.tools,
                self.aimed_at,
                self.planes_mm,
                allowed_gmm=allowed_gmm,
                response=self.answers.response,
                slugs=slugs,
                speed_rpm=self.job.engine.top_speed_rpm,
            )

        if self.mends:
            alone = planned(crank.alone(self.mends), slugs=False)
            if alone.operations and not alone.stays:
                return alone
        return planned(crank, slugs="outside" in self.ruled)

    @property
    def mends(self) -> tuple[str, ...]:
        """The members that what is left is mended on: those put on since a spin that was inside without them."""
        return self.members.mended_on(lambda spin: self.verdicts_of(spin) == ("inside", "inside"))

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
            *([self.for_these_parts.id] if self.for_these_parts else ()),
        )
        name = hashlib.sha256(repr(_figures(made_from)).encode()).hexdigest()[:8]
        return Basis(self.instrument, self.planes_mm, name)

    @property
    def has_changed(self) -> bool:
        """Whether the profile, the job or what was done before are others than at the last spin, so that its plan
        may be another."""
        if self.last is None:
            return False
        if self.last.record.digest != self.job.digest:
            return True
        if self.for_these_parts and any(one.before for one in self.built.values()):
            return True  # weighed after the spin that they hung at: what hanging leaves is another
        now = self._basis(self.spins[:-1], [one for spin in self.spins for one in spin.drilled])
        return self.last.basis.name != now.name

    @cached_property
    def plan_name(self) -> str:
        """The name of the plan: of the spin that it comes from, and of every figure of it."""
        assert self.last and self.plan
        operations = [stationlog.rounded(one) for one in self.plan.operations]
        text = json.dumps([self.last.ids, operations], separators=(",", ":"))
        return "p" + hashlib.sha256(text.encode()).hexdigest()[:11]

    def number_of(self, hole: Hole) -> int:
        """The number in the plan of an operation that is not done yet, by its place; 0 where it is in none."""
        operations = self.plan.operations if self.plan else ()
        numbered = enumerate(operations, start=1)
        waiting = {_place(one): number for number, one in numbered if self.done(one) is None}
        return waiting.get(_place(hole), 0)

    def done(self, operation: Hole) -> HoleRecord | None:
        """The record of an operation of the plan, where it is done."""
        return next((one for one in self.since if _place(one.hole) == _place(operation)), None)

    @property
    def to_do(self) -> tuple[Hole, ...]:
        """The operations of the plan that are not done yet."""
        return tuple(one for one in self.plan.operations if self.done(one) is None) if self.plan else ()

    @cached_property
    def halted(self) -> Reason | None:
        """Why the rest of a plan that was begun is not to be done, None where it may."""
        if not self.since or not self.to_do:
            return None
        assert self.plan and self.job.crank
        if any(one.record.plan not in ("", self.plan_name) for one in self.since):
            return Reason("lost")
        asked = {_place(one) for one in self.plan.operations}
        if any(_place(one.hole) not in asked for one in self.since):
            return Reason("unplanned")
        crank = apply(self.job.crank, [one.hole for one in self.drilled])
        if not all(still_fits(crank, self.to_do)):
            return Reason("thin")
        return None

    @cached_property
    def beyond_limits(self) -> tuple[tuple[HoleRecord, tuple[Breach, ...]], ...]:
        """What was done that breaks a limit of the crank, and that nobody qualified looked at yet."""
        if self.job.crank is None:
            return ()
        every = all_breaches(self.job.crank, [one.hole for one in self.drilled])
        return tuple(
            (one, broken)
            for one, broken in zip(self.drilled, every, strict=True)
            if broken and one.id not in self.looked_at
        )

    @property
    def expected(self) -> TwoPlanes | None:
        """What the station should read once the plan is done, what is done being as deep as it is; what was done
        beside it counts, too. None where nothing is to be done, and nothing was."""
        if self.last is None or (self.plan is None and not self.since) or self.in_doubt or self.is_edited:
            return None
        if not self.last.is_told:
            return None
        rest = () if self.halted else self.to_do
        done = self.members.seen([one.hole for one in self.since], self.last)
        change = changed_by([*done, *rest], self.planes_mm)
        return self.last.residual.plus(self.answers.response.as_measured(change))


def _figures(of: object) -> object:
    """The same in plain tuples: some with a name are told in a line that leaves figures out."""
    return tuple(map(_figures, of)) if isinstance(of, tuple) else of


def _place(hole: Hole) -> tuple[object, ...]:
    """What tells one operation from another, however deep."""
    figures = (hole.angle_deg, hole.radius_mm, hole.diameter_mm)
    return hole.kind, hole.member, *(round(figure, 3) for figure in figures)


def load(place: Place, station_path: Path | KeptText, show: str | None = None) -> Balancing:
    """Where a job stands at the station. show: the units that it is told in, a name in SHOW. Raises BadInput with
    every fault of the profile, of the job, or of the log, and where the job has no tolerance."""
    profile = stationfile.load(station_path, ("spin",))
    job = own_readings(place, given=True)
    if job.station.planes_mm is None:
        planes = "front_plane and rear_plane in [station], or cylinder_spacing and stroke in [engine]"
        raise BadInput([Fault("station", "nobody says where the planes are", planes)], source_of(place))
    limits_gmm = _limits_gmm(job, source_of(place))
    log = open_log(place)
    return replace(follow(job, profile, limits_gmm, log.records, log.name, to_paste(place)), show=show)


def _limits_gmm(job: Job, source: str) -> tuple[float, float]:
    front, rear = allowed_gmm(job)
    if front is None or rear is None:
        allowed = "a limit, or a grade with crank_mass and the engine's top_speed"
        raise BadInput([Fault("station", "has no tolerance", allowed)], source)
    return front, rear


def as_last_read(job: Job, records: Sequence[Record], profile: StationProfile | None = None) -> Balancing | None:
    """Where the loop stands, as far as the log alone tells: by the profile that it knows last, unless one is given
    that says how its instrument reads. None where nothing was spun. Raises BadInput for records that make no
    sense, and where the job does not say the tolerance."""
    events = stationlog.events(records)
    if not any(isinstance(event, SpinRecord) for event in events):
        return None
    if profile is None or profile.instrument is None:
        profile = StationProfile("", _last_read_by(events), None, None, Tools((), ()))
    return follow(job, profile, _limits_gmm(job, ""), records)


def follow(
    job: Job,
    profile: StationProfile,
    limits_gmm: tuple[float, float],
    records: Sequence[Record],
    source: str = "",
    called: str = "JOB",
) -> Balancing:
    """Where the loop stands after these records. Raises BadInput for records that make no sense."""
    assert profile.instrument
    events = stationlog.events(records, source, called)
    found = spun(events, source, called)
    known = {spin.record.id: spin for spin in found.spins}
    planes_mm = job.station.front_plane_mm, job.station.rear_plane_mm
    today = Basis(profile.instrument, planes_mm, "").read_as
    by_profile = _fresh(events, today)
    fresh = _of_this_crank(found.spins, by_profile, events, job.crank)
    edits = tuple(event for event in events if isinstance(event, Edit))
    built, rebuilt = at_last_spin(events, records)
    if lost := lost_members(job.crank, found.spins, [one.hole for one in events if isinstance(one, HoleRecord)]):
        raise BadInput(lost, source)
    return Balancing(
        job=job,
        profile=profile,
        instrument=profile.instrument,
        limits_gmm=limits_gmm,
        scatter=found.scatter.get(today, (Scatter(), Scatter())),
        spins=found.spins,
        since=found.since,
        proof=Proof(
            tuple(event for event in events if isinstance(event, MassRecord) and event.record.spin in known),
            known,
            found.scatter,
            _epochs(events),
        ),
        fresh=fresh,
        as_it_was=frozenset(spin.id for spin in found.spins if spin.id in by_profile - fresh),
        edits=edits,
        last_read_by=_last_read_by(events) or profile.instrument,
        overrides=tuple(e for e in events if isinstance(e, WentUnproved) and e.spin in fresh),
        signed=last_signed(records),
        seen=tuple(event.id for event in events),
        in_doubt=must_spin_again(records),
        canceled=stationlog.canceled(records),
        is_test_canceled=stationlog.is_test_canceled(records),
        looked_at=_looked_at(records),
        other_cranks=marks(records, job.about.crank),
        called=called,
        records=tuple(records),
        built=built,
        rebuilt=rebuilt,
        aimed=next((event for event in reversed(events) if isinstance(event, Aimed)), None),
    )


def _looked_at(records: Sequence[Record]) -> frozenset[str]:
    struck = struck_ids(records)
    return frozenset(one.hole for one in records if isinstance(one, LookedAt) and one.id not in struck)


def _fresh(events: Sequence[StationEvent], today: str) -> frozenset[str]:
    """The ids of the spins and test masses since one was read by another profile than today's, or since an edit of
    the profile, whatever that was."""
    read = [event for event in events if isinstance(event, SpinRecord | MassRecord | Edit)]
    fresh = itertools.takewhile(
        lambda event: not isinstance(event, Edit) and event.basis.read_as == today, reversed(read)
    )
    return frozenset(event.record.id for event in fresh)


def _of_this_crank(
    spins: Sequence[Spin], fresh: frozenset[str], events: Sequence[StationEvent], crank: Crank | None
) -> frozenset[str]:
    """Those of them that are of the crank as the job has it. A spin from before its metal was edited is, where the
    next one reads the same, nothing done between: then nothing was turned, and a slip of the pen was mended."""
    found: set[str] = set()
    after: Spin | None = None
    for spin in reversed(spins):
        if spin.id not in fresh:
            break
        if after is None:
            if changed_metal(spin.record, crank):
                break
        elif not same_metal(spin.record, after.record) and not _is_repeat(spin, after):
            break
        found.update(spin.ids)
        after = spin
    tests = {event.id for event in events if isinstance(event, MassRecord) and event.record.spin in found}
    return fresh & (found | tests)


def _is_repeat(before: Spin, after: Spin) -> bool:
    """Whether a spin reads as the one before it, with the same on the crank and nothing done to it."""
    was, now = before.record, after.record
    is_alike = was.digest == now.digest and set(was.members) == set(now.members) and not after.drilled
    return is_alike and before.is_told and after.is_told and agree(before, after, Brought())


def _last_read_by(events: Sequence[StationEvent]) -> Instrument | None:
    """The instrument by which something was read last, or to which the profile was then edited."""
    for event in reversed(events):
        if isinstance(event, Edit):
            return event.now
        if isinstance(event, SpinRecord | MassRecord):
            return event.basis.instrument
    return None


def _epochs(events: Sequence[StationEvent]) -> dict[str, tuple[int, int]]:
    """For each test mass how many edits of the profile went before it, and how many of these changed the
    station."""
    edits, changed = 0, 0
    found: dict[str, tuple[int, int]] = {}
    for event in events:
        if isinstance(event, Edit):
            edits, changed = edits + 1, changed + (not event.is_mend)
        elif isinstance(event, MassRecord):
            found[event.id] = edits, changed
    return found
