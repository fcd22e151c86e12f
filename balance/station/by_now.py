"""The crank by now: with all that was drilled, what it reads with everything on, and what that would be were
something changed on the lathe, on the throws or at a damper. Nothing of it is recorded."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.correction import NEUTRAL, CrankResponse, HolePlan, TwoPlanes, apply, changed_by, plan
from truethrow.balance.correction.planes import split
from truethrow.balance.crank.crank import Crank
from truethrow.balance.crank.holes import Hole, Tools
from truethrow.balance.job.job import Job
from truethrow.balance.log.records import Record
from truethrow.balance.result.unbalance import allowed_gmm, throw_arms
from truethrow.balance.station.balancing import Balancing, as_last_read
from truethrow.balance.station.may_go import reasons
from truethrow.balance.station.reasons import Why
from truethrow.balance.station.stationfile import StationProfile

# Why a spin says nothing of the crank, or of the station, as it is.
STALE: frozenset[Why] = frozenset(("damaged", "another crank", "edited", "mended", "changed", "moved", "recut"))


class ByNow(NamedTuple):
    """crank: with all its holes; drilled: those that the log has; reads: the last spin, with what was done since
    and what members bring that were off, None where nothing was spun, or nobody knows what it read; on: the
    members that were on then, and can be drilled; hung_g: what hung then, empty where nobody knows; leaves_gmm:
    what a plan may leave in each plane, None without a tolerance; response: what the crank taught; stale: why
    what was spun says nothing of the crank as it is, empty where it does: then it reads what nobody knows."""

    crank: Crank
    drilled: tuple[Hole, ...] = ()
    reads: TwoPlanes | None = None
    on: tuple[str, ...] | None = None
    hung_g: tuple[float, ...] = ()
    leaves_gmm: tuple[float, float] | None = None
    response: CrankResponse = NEUTRAL
    stale: str = ""

    @property
    def mounted(self) -> Crank:
        """The crank with what was on it at the last spin, and can be drilled; with all that it has before one."""
        return self.with_on(self.crank)

    def swapped(self, by_old: Mapping[str, str]) -> ByNow:
        """The same with other members on, each by the name of the one in whose place it is."""
        return self if self.on is None else self._replace(on=tuple(by_old.get(name, name) for name in self.on))

    def with_on(self, crank: Crank) -> Crank:
        return crank if self.on is None else crank.only(self.on)


def by_now(job: Job, records: Sequence[Record], source: str = "", profile: StationProfile | None = None) -> ByNow:
    """A job's crank as it is. profile: the station's; without one what was spun is read by the one that the log
    knows last. Raises BadInput for a job without a crank, and as balancing.as_last_read does."""
    if job.crank is None:
        raise BadInput([Fault("crank", "missing", "a table [crank] with its counterweights")], source)
    front, rear = allowed_gmm(job)
    leaves_gmm = None if front is None or rear is None else (front, rear)
    state = as_last_read(job, records, profile) if records else None
    if state is None or state.last is None:
        return ByNow(job.crank, leaves_gmm=leaves_gmm)
    drilled = tuple(one.hole for one in state.drilled)
    crank, last = apply(job.crank, drilled), state.last
    if stale := why_stale(state):
        return ByNow(crank, drilled, on=last.record.members, leaves_gmm=leaves_gmm, stale=stale)
    if not last.is_told:
        return ByNow(crank, drilled, on=last.record.members, leaves_gmm=leaves_gmm)
    response = state.answers.response
    since = response.as_measured(changed_by((one.hole for one in state.since), state.planes_mm))
    reads = state.with_members(last).gmm.plus(since)
    return ByNow(crank, drilled, reads, last.record.members, last.record.hung_g, state.plan_leaves_gmm, response)


def why_stale(state: Balancing) -> str:
    """Why the last spin says nothing of the crank as it is; empty where it does, and where there is none."""
    return next((one.said(state.told_in) for one in reasons(state, to_sign=False) if one.why in STALE), "")


def would_read(
    now: ByNow,
    job: Job,
    hung_g: Sequence[float],
    then_g: Sequence[float],
    acts: Iterable[tuple[complex, float]] = (),
) -> TwoPlanes | None:
    """What both planes would read with other bobweights, and with what changed on the crank; a crank that was
    never spun is in balance now. hung_g: what the job hangs now, then_g: what would hang; acts: changes of
    unbalance, each with its place along the crank [g·mm, mm]. None where a length is not declared by which the
    bobweights act."""
    was_g = now.hung_g if now.reads is not None and len(now.hung_g) == len(then_g) else hung_g
    more_g = [then - was for was, then in zip(was_g, then_g, strict=True)]
    whole = now.reads or TwoPlanes(0j, 0j)
    if any(more_g):
        if job.engine.not_placed:
            return None
        front, rear = (
            sum(g * arm for g, arm in zip(more_g, throw_arms(job, plane), strict=True))
            for plane in ("front", "rear")
        )
        whole = whole.plus(TwoPlanes(front, rear))
    planes_mm = job.station.front_plane_mm, job.station.rear_plane_mm
    for change_gmm, z_mm in acts:
        whole = whole.plus(split(change_gmm, z_mm, planes_mm))
    return whole


class Reading(NamedTuple):
    """What both planes of a crank would read, and the holes that it would take then: None where it needs none,
    and where nobody asked."""

    planes: TwoPlanes
    plan: HolePlan | None = None

    @property
    def slugs(self) -> int:
        return sum(hole.kind == "slug" for hole in self._operations)

    @property
    def holes(self) -> int:
        """All that is drilled or ground, but for the bores of slugs."""
        return len(self._operations) - self.slugs

    @property
    def mass_g(self) -> float:
        """What comes off, less what goes in. [g]"""
        return sum(hole.mass_g for hole in self._operations)

    @property
    def stays(self) -> bool:
        """Whether what the shop can drill does not do it."""
        return self.plan is not None and bool(self.plan.stays)

    @property
    def _operations(self) -> tuple[Hole, ...]:
        return (*self.plan.operations, *self.plan.then) if self.plan else ()


def planned(now: ByNow, crank: Crank, tools: Tools, reads: TwoPlanes, job: Job) -> HolePlan | None:
    """The holes that a crank would take that reads so; None where it needs none. Raises ValueError without a
    tolerance."""
    if now.leaves_gmm is None:
        raise ValueError("a job without a tolerance has no plan")
    if all(abs(one) <= own for one, own in zip(reads, now.leaves_gmm, strict=True)):
        return None
    planes_mm = job.station.front_plane_mm, job.station.rear_plane_mm
    return plan(
        now.with_on(crank),
        tools,
        reads,
        planes_mm,
        allowed_gmm=now.leaves_gmm,
        response=now.response,
        speed_rpm=job.engine.top_speed_rpm,
    )
