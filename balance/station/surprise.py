"""A spin that is not what the work since the last one explains, or that shows what a crank can hardly have: what
was expected of it, and what may have happened."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from functools import lru_cache

from truethrow.balance.correction import TwoPlanes, changed_by
from truethrow.balance.crank.holes import Hole
from truethrow.balance.result.unbalance import throw_arms
from truethrow.balance.station.balancing import Balancing, follow
from truethrow.balance.station.mishaps import Mishap, Scene, is_other_way, mishaps
from truethrow.balance.station.spin import PlaneReading, Runs, averages
from truethrow.balance.station.spinning import Spin

# No crank is so far from its bobweights: more than this part of one, at the throw's radius. Common practice, no
# source.
IMPLAUSIBLE = 0.25
# The throw's radius for that, where no stroke is declared. Common practice, no source.
RADIUS_MM = 45.0
# What holes change is foreseen to this part of it, before the crank has taught more. Common practice, no source.
UNFORESEEN = 0.25
TURN_DEG = 360.0


def is_implausible(state: Balancing) -> bool:
    """Whether the last spin shows what a crank can hardly have, so that nothing is to be done by it before a known
    mass has proved the station, and another spin, that nothing was done to the crank; and what looks like a
    bobweight that is missing is never drilled away before somebody says that it hung."""
    if not _is_more(state):
        return False
    return not state.is_proved or (not state.is_repeated and bool(looks(state))) or bool(unhung(state))


def _is_more(state: Balancing) -> bool:
    """Whether the last spin reads more than a crank can have."""
    return state.last is not None and state.last.is_told and max(map(abs, state.last.raw)) > most_gmm(state)


def unhung(state: Balancing) -> tuple[Mishap, ...]:
    """The bobweights that look missing, where the last spin reads more than a crank can have: however often it is
    spun without them, and whatever a known mass says, as long as nobody weighed them and said that they hung."""
    if not _is_more(state):
        return ()
    assert state.last
    found = [one for one in mishaps(_known(state, state.last)) if one.kind == "missing"]
    said = {name for name, one in state.built.items() if one.before in state.agreed_ids}
    return tuple(one for one in found if not said.issuperset(one.throws))


def looks_since(state: Balancing, before: Spin) -> tuple[Mishap, ...]:
    """What may have happened since a spin that the last one should read as, and does not."""
    return () if state.last is None or not state.last.is_told else mishaps(_scene(state, state.last, before))


def not_recorded(state: Balancing) -> tuple[int, tuple[tuple[Hole, ...], ...]]:
    """The sets of holes of a plan that look drilled and are not recorded, the likeliest first, and the number of
    the spin that they were in the crank at first; none where nothing looks so."""
    before = _before(state, state.last) if state.last and state.last.is_told else None
    if state.unlike:  # confirmed since: it was before the first that reads so, not before the one just read
        before = state.otherwise
    if before is None or state.last is None:
        return 0, ()
    scene = _scene(state, state.last, before)
    found = [one for one in mishaps(scene) if one.kind == "not recorded"]
    holes = left_to_do(state, before) if found else ()
    return before.number + 1, tuple(tuple(holes[at] for at in one.which) for one in found)


def not_drilled(state: Balancing) -> tuple[tuple[str, ...], ...]:
    """The sets of records before the last spin whose holes look as if they were not drilled, the likeliest first;
    none where nothing looks so."""
    if state.last is None:
        return ()
    seen = [one.id for one in state.last.drilled if one.hole.member not in state.members.off(state.last)]
    found = (one.which for one in looks(state) if one.kind == "not drilled")
    return tuple(tuple(seen[at] for at in which) for which in found)


def most_gmm(state: Balancing) -> float:
    """The largest unbalance of one plane that a crank may have before it is looked at. [g·mm]"""
    heaviest_g = max(max(throw.hung_g, throw.bobweight.value_g) for throw in state.worked.bobweights.throws)
    return IMPLAUSIBLE * heaviest_g * (state.job.engine.known_throw_radius_mm or RADIUS_MM)


@lru_cache(maxsize=1)  # refusal, screen and next step ask the same state, and each time it would plan anew
def looks(state: Balancing) -> tuple[Mishap, ...]:
    """What may have happened before the last spin; nothing where it is as expected, and where nothing fits."""
    if state.last is None or not state.last.is_told:
        return ()
    before = _before(state, state.last)
    return mishaps(_known(state, state.last) if before is None else _scene(state, state.last, before))


def _known(state: Balancing, last: Spin) -> Scene:
    """What is known of a spin by itself."""
    return Scene(
        expected=TwoPlanes(0j, 0j),
        foreseen_gmm=(most_gmm(state),) * 2,
        read=last.raw,
        read_gmm=(last.front.widest_gmm, last.rear.widest_gmm),
        exchanged=tuple(_exchanged(last)),
        hung=tuple(_hung(state)),
    )


def _scene(state: Balancing, last: Spin, before: Spin) -> Scene:
    """The same, with what was expected of it by a spin before it."""
    planes_mm = state.planes_mm
    seen = state.members.seen((one.hole for one in last.drilled), last)
    expected, foreseen_gmm = _expected(state, before, last)
    return _known(state, last)._replace(
        expected=expected,
        members=tuple(_members(state, before, last)),
        foreseen_gmm=foreseen_gmm,
        masses=tuple(_masses(state, before)),
        drilled=tuple(changed_by([one], planes_mm) for one in seen),
        to_do=tuple(changed_by([one], planes_mm) for one in left_to_do(state, before)),
        fixture=before.fixture,
        most_gmm=0.0 if last.drilled else most_gmm(state),  # after holes it is asked about those first
    )


def _expected(state: Balancing, before: Spin, after: Spin) -> tuple[TwoPlanes, tuple[float, float]]:
    """What a spin should read by the one before it and what was done between, and how sure that is in each
    plane."""
    seen = state.members.seen((one.hole for one in after.drilled), after)
    change = state.answers.response.as_measured(changed_by(seen, state.planes_mm))
    mounted = state.members.differ(before, after)
    assert mounted
    front, rear = (
        math.hypot(read.widest_gmm, UNFORESEEN * abs(changed), sure)
        for read, changed, sure in zip((before.front, before.rear), change, mounted.expanded_gmm, strict=True)
    )
    return before.raw.plus(change).plus(mounted.gmm), (front, rear)


def is_still_turned(state: Balancing) -> bool:
    """Whether the last spin reads as it would with the fixture still turned. That a later one agrees with it says
    nothing: nobody turned it back between. A spin with turned runs of its own is right either way."""
    is_turned = False
    for after in state.counted:
        before = _before(state, after)
        if after.turned or after.fixture is None:
            is_turned = False
        elif before is not None:
            expected, foreseen_gmm = _expected(state, before, after)
            read_gmm = after.front.widest_gmm, after.rear.widest_gmm
            scene = Scene(expected, foreseen_gmm, after.raw, read_gmm)
            is_turned ^= is_other_way(scene, after.fixture, is_turned=is_turned)
    return is_turned


def _before(state: Balancing, last: Spin) -> Spin | None:
    """The spin that the last one is held against: the one before it, of the same bobweights and profile, and of
    the same members but for such as are declared."""
    counted = [spin for spin in state.counted if spin.number < last.number]
    alike = counted and counted[-1].number == last.number - 1 and counted[-1].record.digest == last.record.digest
    return counted[-1] if alike and state.members.differ(counted[-1], last) is not None else None


def _members(state: Balancing, before: Spin, last: Spin) -> Iterator[tuple[str, str, TwoPlanes]]:
    """How a member may be on otherwise than it was said, with what that changes: of those that were put on since
    the spin before half a turn off, or not there; of those that were off, still there; of those that stayed, taken
    off."""
    for name in state.members.names:
        own = state.members.known(name, before, last)
        if own is None:
            continue
        front, rear = own.gmm
        was, now = name in before.record.members, name in last.record.members
        if now and not was:
            yield "half a turn", name, TwoPlanes(-2 * front, -2 * rear)
        if now:
            yield "not on", name, TwoPlanes(-front, -rear)
        else:
            yield "still on", name, own.gmm


def _hung(state: Balancing) -> Iterator[tuple[str, TwoPlanes]]:
    """What the bobweight of each throw brings to both planes; of none where a length is not declared that this
    rests on, so that a missing one is not told by its throw."""
    if state.not_placed:
        return
    arms = (throw_arms(state.job, plane) for plane in ("front", "rear"))
    for throw, front_mm, rear_mm in zip(state.worked.bobweights.throws, *arms, strict=True):
        if throw.hung_g:
            yield throw.throw.name, TwoPlanes(throw.hung_g * front_mm, throw.hung_g * rear_mm)


def _masses(state: Balancing, before: Spin) -> Iterator[tuple[str, TwoPlanes]]:
    """The known masses that were on a plane since the spin before; of two at once both (no name), and each."""
    for test in state.proof.records:
        if test.record.spin == before.id:
            brought = {mass.plane: mass.vector_gmm for mass in test.masses}
            if test.beside:
                yield "", TwoPlanes(brought["front"], brought["rear"])
            for plane, vector in brought.items():
                yield plane, TwoPlanes(vector, 0j) if plane == "front" else TwoPlanes(0j, vector)


def _exchanged(last: Spin) -> Iterator[tuple[str, TwoPlanes]]:
    """The last spin with amount and angle typed the other way round, in one plane or both, where no amount is more
    than an angle can be."""
    for plane, front, rear in (("front", True, False), ("rear", False, True), ("", True, True)):
        if any(
            (front and one.amount > TURN_DEG) or (rear and other.amount > TURN_DEG)
            for one, other in last.typed.readings
        ):
            continue
        readings = [
            (_swapped(one) if front else one, _swapped(other) if rear else other)
            for one, other in last.typed.readings
        ]
        found = averages(Runs(tuple(readings), *last.typed[1:]), last.basis.instrument)
        vectors = TwoPlanes(*(one.vector_gmm for one in found))
        made = last.calibration.coefficients if last.calibration else None
        yield plane, made.unbalance(vectors) if made else vectors


def _swapped(one: PlaneReading) -> PlaneReading:
    return PlaneReading(one.angle_typed.lstrip("-"), one.amount_typed)


def left_to_do(state: Balancing, before: Spin) -> tuple[Hole, ...]:
    """What was planned by a spin, and is not recorded as done before the next one."""
    after = state.spins[before.number]
    earlier = itertools.takewhile(lambda record: record.id != after.id, state.records)
    return follow(state.job, state.profile, state.limits_gmm, tuple(earlier), called=state.called).to_do
