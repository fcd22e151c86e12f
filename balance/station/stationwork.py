"""What is done at the balancing station, written into its log: spins, test masses, holes, the sign-off.

Each is checked against where the loop stands before anything is written. All raise NotSaved where a record is not
on the disk; what was written before it stands.
"""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TypeVar

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.base.errors import BadInput, Fault, shown, who_and_why, wrong_by
from truethrow.balance.crank.as_said import beyond, lies_in, may_be_told_again
from truethrow.balance.crank.crank import Crank, to_depth
from truethrow.balance.crank.holes import SLUG_G_CM3, Hole, disc_mm2, weighed_slug
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.job.job import Job
from truethrow.balance.log.log import Log, when
from truethrow.balance.log.place import Place, open_log, source_of
from truethrow.balance.log.records import (
    HOLES,
    SIGN,
    Aim,
    Aimed,
    Drilled,
    LookedAt,
    MassHung,
    ProfileEdited,
    Record,
    SignedOff,
    Spun,
    WentUnproved,
)
from truethrow.balance.station import divisions, may_go
from truethrow.balance.station.balancing import Balancing, follow
from truethrow.balance.station.built import AskedBack
from truethrow.balance.station.looking_over import must_be_done
from truethrow.balance.station.metal import changed_member, has_metal, metal_of
from truethrow.balance.station.next_steps import (
    as_did,
    as_hand_says,
    by_its_metal,
    command,
    hang_masses,
    hang_the_pair,
    next_commands,
    next_pair,
    on_text,
    recorded_late,
    ways_out,
)
from truethrow.balance.station.pair import unfit
from truethrow.balance.station.reasons import Reason
from truethrow.balance.station.spin import plain, typed_runs
from truethrow.balance.station.spinning import NOTHING_TO_TURN
from truethrow.balance.station.stationlog import (
    Basis,
    HoleRecord,
    KnownMass,
    MassRecord,
    events,
    kept_hole,
    kept_runs,
    rounded,
    since_spin,
)

R = TypeVar("R", bound=Record)
# No depth is told finer than this, and none is less.
LEAST_DEPTH_MM = 0.1
# A test mass is held against a spin at the same speed, but for so much. Common practice, no source.
SAME_SPEED = 0.05


def spin(
    place: Place,
    state: Balancing,
    texts: Sequence[str],
    *,
    turned: bool = False,
    note: str = "",
    by: str = "",
    speed_rpm: float | None = None,
    on: Sequence[str] | None = None,
    looked_over: bool = False,
    key: str | None = None,
) -> Spun:
    """Write runs down as typed. speed_rpm: None for the station's usual one; on: the members that were on the
    crank, None where nobody told; looked_over: what the profile asks for was, before it; key: the record's id,
    from who may send it again.

    Raises BadInput where something is still to be looked over, for readings that are none, for members that are
    none, where one of them has an unbalance of its own and nobody told which were on, for turned ones without runs
    as the crank stands before them, and as long as nobody says what an edit of the profile was."""
    runs = typed_runs(texts, state.instrument)
    _must_be_said(place, state)
    if turned and state.reads_divisions:
        wrong = "can't be combined with a station that reads divisions"
        raise BadInput([Fault("--turned", wrong, "runs with nothing turned")])
    if turned and (state.last is None or state.since or state.in_doubt):
        raise BadInput([Fault("--turned", NOTHING_TO_TURN, "first the runs that are not turned")])
    if turned and state.is_edited:
        wrong = f"turned, but {_edited(state)} changed since the spin that they belong to"
        raise BadInput([Fault("--turned", wrong, "first the runs that are not turned")])
    if turned and state.last and state.last.record.digest != state.job.digest:
        wrong = "turned, but the job is not as it was at the spin that they belong to"
        raise BadInput([Fault("--turned", wrong, "first the runs that are not turned")])
    members = state.last.record.members if turned and state.last and on is None else _members(place, state, on)
    if turned and state.last and set(members) != set(state.last.record.members):
        wrong = "turned, but with other members on than the spin that they belong to"
        raise BadInput([Fault("--turned", wrong, "first the runs that are not turned")])
    log = open_log(place, by=by)
    must_be_done(state.profile.over, log.records, datetime.now().astimezone().date(), done=looked_over)
    of = state.last.id if turned and state.last else ""
    speed = _speed(state, speed_rpm)
    made = Spun(
        state.job.digest,
        kept_runs(runs),
        state.basis.read_by,
        of,
        runs.typed_unit,
        speed,
        state.job.about.crank,
        tuple(one.hung_g for one in state.worked.bobweights.throws),
        state.limits_gmm,
        members,
        looked_over,
        metal_of(state.job.crank, members),
        why=note,
    )
    return _append(log, state, made, key=key) if of else log.append(made, id=key)


def _members(place: Place, state: Balancing, on: Sequence[str] | None) -> tuple[str, ...]:
    """The members that were on, in the order of the crank."""
    names = state.members.names
    if on is None:
        if not state.members.must_be_told:
            return names
        wrong = "damper, flexplate and so on carry unbalance of their own: say which were on the crank"
        way = f"--on none, --on all, or by name: --on {on_text(names[:1])}"
        raise BadInput([Fault("--on", wrong, remedy=way)], source_of(place))
    if wrong_names := [name for name in on if name not in names]:
        allowed = ", ".join(names) or "none: the [crank] has no [[external]]"
        raise BadInput([Fault("--on", f"{shown(name)} is not in the [crank]", allowed) for name in wrong_names])
    return tuple(name for name in names if name in on)


def _must_be_said(place: Place, state: Balancing) -> None:
    """Raise BadInput as long as nobody says what an edit of the profile was: nothing is read in silence by another
    profile than before."""
    if state.unsaid and state.last:
        raise BadInput(
            refusals(state, Reason("edited", (state.last,), edit=(state.last_read_by, state.instrument))),
            source_of(place),
        )


def _speed(state: Balancing, speed_rpm: float | None) -> float:
    """At which it was spun, 0 where nobody tells."""
    return (state.profile.speed_rpm if speed_rpm is None else speed_rpm) or 0.0


def refusals(state: Balancing, reason: Reason) -> list[Fault]:
    """A reason as faults, with what to do about it: one way, or each of two."""
    first, *others = next_commands(state, reason)
    return [
        Fault(
            "",
            reason.said(state.told_in),
            remedy=f"{first.when}: {first.command}" if first.when else f"run: {first.command}",
        ),
        *(Fault("", f"{other.when}: {other.command}") for other in others),
    ]


def must_be_shown(state: Balancing) -> None:
    """Raise BadInput where nothing is to be drilled by the last spin, so that nobody is shown a hole: with every
    reason, in the words that holes has for it."""
    reasons = may_go.withheld(state) or [one for one in (state.halted,) if one]
    if reasons:
        raise BadInput([fault for reason in reasons for fault in refusals(state, reason)])


def edited(place: Place, state: Balancing, wrong_since: str | None, why: str, by: str) -> ProfileEdited:
    """Write down what an edit of the profile was. wrong_since: the first spin that the profile had been wrong for,
    by its number or its record's id; None where the station itself was changed, be the profile edited for it or
    not. Raises BadInput where nothing was edited that had been wrong, before the first spin, for a spin that is
    none, for one that was typed in another unit, and without initials and a reason."""
    faults = who_and_why(by, why, "who says so", "a word of why")
    if state.last is None:
        faults.append(Fault("the profile's [spin]", "was not edited: there is no spin yet"))
    elif wrong_since is not None and not state.unsaid:
        faults.append(Fault("the profile's [spin]", "was not edited since the last spin"))
    since = ""
    if wrong_since is not None:
        found = [spin for spin in state.spins if wrong_since in (str(spin.number), spin.id)]
        if not found:
            numbers = ", ".join(str(spin.number) for spin in state.spins) or "none yet"
            faults.append(Fault("--wrong-since", f"{shown(wrong_since)!r} is no spin of the job", numbers))
        else:
            since = found[0].id
            faults += _typed_otherwise(state, found[0].number)
    if faults:
        raise BadInput(faults, source_of(place))
    was = Basis(state.last_read_by, state.planes_mm, "").read_by
    now = state.basis.read_by
    return _append(open_log(place, by=by), state, ProfileEdited(was, now, since, why=why))


def _typed_otherwise(state: Balancing, since: int) -> list[Fault]:
    """The spins that were typed with another unit than the profile has now: that is what the display said."""
    now = plain(state.instrument.unit)
    return [
        Fault(
            f"spin {spin.number}",
            f"was typed in {spin.record.unit}, so it is not to be read in {now}",
            remedy=f"cancel it where that was typed wrong: truethrow strike {state.called} {spin.id}",
        )
        for spin in state.spins
        if spin.number >= since and spin.record.unit and spin.record.unit != now
    ]


def _append(log: Log, state: Balancing, record: R, *own: Record, key: str | None = None) -> R:
    """Write what makes sense only where the loop stands as it was looked at, own records aside. key: its id, None
    for a new one. Raises BadInput where another station came in between."""

    def unless() -> None:
        # Own records may stand before a spin that they are told late of: the order says nothing here.
        found = {event.id for event in events(log.records, log.name)}
        if found != {*state.seen, *(one.id for one in own)}:
            look = f"look again: {command(state, 'spins')}"
            told = Fault("", "something was written down meanwhile", remedy=look)
            raise BadInput([told], log.name)

    return log.append(record, id=key, unless=unless)


def known_mass(
    place: Place,
    state: Balancing,
    masses: Sequence[KnownMass],
    texts: Sequence[str],
    by: str = "",
    typed: str = "",
    speed_rpm: float | None = None,
    *,
    turned: bool = False,
    key: str | None = None,
) -> MassRecord:
    """Write down a test mass, or two at once with that on the front plane first, and the runs with it. typed: mass
    and radius as they were typed; turned: with the fixture turned, held against the turned runs; key: the record's
    id. Raises BadInput where there is no spin to hold it against, or one at another speed, and for two that would
    prove nothing."""
    runs = typed_runs(texts, state.instrument)
    _must_be_said(place, state)
    if state.last is None or state.since or state.in_doubt:
        found = since_spin(len(state.since)) if state.since else "there is no spin yet"
        found = "a line of the log was damaged since the last spin" if state.in_doubt else found
        raise BadInput([_first_a_spin(state, found)], source_of(place))
    if state.is_edited:
        found = f"{_edited(state)} changed since spin {state.last.number}"
        raise BadInput([_first_a_spin(state, found)], source_of(place))
    if turned and not state.last.turned:
        wrong = f"spin {state.last.number} has no runs with the fixture turned"
        first = f"first those, without the mass: {command(state, 'spin', 'FRONT REAR --turned')}"
        raise BadInput([Fault("--turned", wrong, remedy=first)], source_of(place))
    speed, before = _speed(state, speed_rpm), state.last.record.speed_rpm
    if speed and before and abs(speed / before - 1) > SAME_SPEED:
        found = f"spin {state.last.number} was at {before:g} r/min, this one is at {speed:g}"
        raise BadInput([_first_a_spin(state, found)], source_of(place))
    mass, *others = masses
    if state.reads_divisions:
        unfitting, then = divisions.unfit(masses, state.calibration), hang_masses(state)
    else:
        unfitting = unfit(mass, others[0], next_pair(state), state.told_in) if others else []
        then = hang_the_pair(state) if others else ""
    if unfitting:
        faults = [Fault("known masses", one) for one in unfitting[:-1]]
        faults.append(Fault("known masses", unfitting[-1], remedy=f"run: {then}"))
        raise BadInput(faults, source_of(place))
    log = open_log(place, by=by)
    read_by, spin = state.basis.read_by, state.last.record.id
    beside = others[0][1:] if others else (0.0, 0.0, 0.0)
    back = state.last.turned[-1].id if turned else ""
    made = MassHung(*mass, kept_runs(runs), read_by, spin, typed, runs.typed_unit, speed, *beside, back)
    record = _append(log, state, made, key=key)
    return MassRecord(record, mass, runs, state.basis, *others)


def _edited(state: Balancing) -> str:
    """What is not as it was at the last spin."""
    return "the [crank] in the job has" if state.recut else "the profile or its planes have"


def _first_a_spin(state: Balancing, found: str) -> Fault:
    return Fault("test mass", f"{found}; first a spin without it: {command(state, 'spin', 'FRONT REAR')}")


def unproved(place: Place, state: Balancing, why: str, by: str, *, to_sign: bool = False) -> Balancing:
    """Write down that somebody goes on although no test mass agreed: to drill, or to sign; where the loop stands
    then. Raises BadInput where something else than a missing test mass is in the way, or nothing is, and without
    initials and a reason."""
    faults = who_and_why(by, why, "who goes on without a test mass", "why it must go without a test mass")
    if state.last is None:
        faults.append(Fault("--unproved", f"there is no spin yet; run: {command(state, 'spin', 'FRONT REAR')}"))
    elif state.tested is not None and state.is_proved:
        faults.append(Fault("--unproved", "a test mass has agreed already; leave it out"))
    faults += [
        Fault(
            "--unproved",
            f"does not help: {reason.said(state.told_in)}; run: {next_commands(state, reason)[0].command}",
        )
        for reason in may_go.withheld(state)
        if reason.why != "unproved"
    ]
    if faults:
        raise BadInput(faults, source_of(place))
    assert state.last
    log, to = open_log(place, by=by), SIGN if to_sign else HOLES
    _append(log, state, WentUnproved(to, state.last.record.id, state.basis.read_by, why=why))
    now = follow(state.job, state.profile, state.limits_gmm, log.records, log.name, state.called)
    return replace(now, show=state.show)


def must_be_drillable(place: Place, state: Balancing, *, with_tools: bool = True) -> None:
    """Raise BadInput where no plan can be made: a job without a crank, a shop without tools."""
    faults = []
    if state.job.crank is None:
        faults.append(Fault("crank", "missing", "a table [crank] with what may be drilled", source_of(place)))
    if with_tools and not state.has_tools:
        faults.append(Fault("drill", "missing", "tables [[drill]], or [grind]", state.profile.source))
    if faults:
        raise BadInput(faults)


def drilled(
    place: Place,
    state: Balancing,
    numbers: Mapping[int, float | None],
    by: str = "",
    plan: str = "",
    batch: str = "",
    masses_g: Mapping[int, float] | None = None,
    key: str | None = None,
) -> list[HoleRecord]:
    """Write down that operations of the plan are done: number → the depth really drilled, None for the one
    planned; all that are not done yet where none is named. plan: its name, needed where it may not be the one that
    the spin told; batch: of what the same command wrote before; masses_g: of slugs, by number, as they were
    weighed; key: the id of the record, of one alone. Raises BadInput where there is nothing to do, where nothing
    is to be done, where it is another plan, and for a number that the plan has not, or that is done."""
    operations = state.plan.operations if state.plan else ()
    # What was drilled before the job changed is drilled: whoever names the plan may still say so.
    if withheld := [one for one in may_go.withheld(state) if not (plan and one.why == "rehung")]:
        why = [fault for reason in withheld for fault in refusals(state, reason)]
        why += [Fault("", f"what was drilled already: {named}") for named in recorded_late(state)]
        raise BadInput(why, source_of(place))
    waiting = {n: hole for n, hole in enumerate(operations, start=1) if state.done(hole) is None}
    if not waiting and not numbers:
        wrong = "all of the plan is done already" if operations else "there is no plan to do"
        spin = f"run: {command(state, 'spin', 'FRONT REAR')}"
        raise BadInput([Fault("", wrong, remedy=spin)], source_of(place))
    assert state.last and state.job.crank
    _must_be_told(place, state, plan)
    made: dict[int, Hole] = {}
    faults: list[Fault] = []
    told_in = state.told_in
    for number in numbers or waiting:
        if number not in waiting:
            if 1 <= number <= len(operations):
                typed = (masses_g or {}).get(number), numbers[number]
                faults += _done_already(state, number, *typed)
            else:
                allowed = ", ".join(map(str, waiting)) or "none: all of the plan is done"
                faults.append(Fault(f"hole {number}", "is not in the plan", allowed))
            continue
        depth_mm = numbers.get(number)
        try:
            hole = waiting[number]
            if masses_g and number in masses_g:
                made[number] = as_weighed(state.job.crank, hole, masses_g[number], told_in)
            else:
                made[number] = hole if depth_mm is None else as_deep(state.job.crank, hole, depth_mm, told_in)
        except ValueError as error:
            inches = "inches" if told_in.length == "in" else told_in.length
            allowed = f"the depth of its full diameter, in {inches}; if it really is so, tell it with --did"
            if waiting[number].kind == "slug":
                allowed = f"its mass as the scale has it, such as {number}={_slug_typed(state, waiting[number])}"
            faults.append(Fault(f"hole {number}", str(error), allowed))
    if faults:
        raise BadInput(faults, source_of(place))
    log, of = open_log(place, by=by), state.last.record.id
    own: list[Drilled] = []
    for number, hole in made.items():
        batch = own[0].batch or own[0].id if own else batch
        kept = kept_hole(hole, of, state.plan_name, number, batch, crank=state.job.about.crank)
        own.append(_append(log, state, kept, *own, key=None if own else key))
    return [HoleRecord(record, hole) for record, hole in zip(own, made.values(), strict=True)]


def did(
    place: Place,
    state: Balancing,
    holes: Sequence[Hole],
    before: int | None = None,
    by: str = "",
    typed: Sequence[str] = (),
    *,
    sure: bool = False,
    key: str | None = None,
) -> list[HoleRecord]:
    """Write down what was really done to the crank, whatever a plan says and whatever stands against drilling:
    what is of the plan by its place is recorded as that, a hole that lies in one made before takes what it goes
    beyond it. before: the number of the spin that it was in the crank at, where it was forgotten; typed: the holes
    as a hand said them; sure: an arc where one was ground already, or grams where some were told, are a second
    pass. Raises BadInput for a hole that the crank has already, as deep, where there is no such spin, and for one
    in metal that the job tells otherwise than that spin had it; AskedBack for such a one, unless sure."""
    spins = {spin.number: spin.record.id for spin in state.spins}
    if before is not None and before not in spins:
        allowed = ", ".join(map(str, spins)) or "no --before: there is no spin yet"
        raise BadInput([Fault(f"--before {before}", "there is no such spin", allowed)], source_of(place))
    assert state.job.crank
    _must_be_of_its_metal(place, state, holes, before, typed)
    there = [(one, "the [crank] has it") for member in state.job.crank.members for one in member.holes]
    there += [(one.hole, f"record {one.id}") for one in state.drilled]
    told_in = state.told_in
    made: list[tuple[Hole, int]] = []
    faults: list[Fault] = []
    asked: list[Fault] = []
    for hole in map(rounded, holes):
        number = state.number_of(hole) if before is None else 0
        new, where = hole, f"{hole.member}, the crank's {hole.angle_deg:g}°"
        for other, called in there:
            if (deeper := beyond(hole, other)) is not None:
                new = deeper
            elif lies_in(hole, other):
                wrong = f"is in the crank already ({called}), {told_in.size(other.depth_mm)} deep"
                faults.append(Fault(where, wrong, "only what is not recorded yet"))
            elif may_be_told_again(hole, other) and not sure:
                asked.append(Fault(where, f"{_told_already(other, told_in)} ({called}): is this a second pass?"))
        made.append((new, number))
        there.append((hole, "said twice"))
    if asked:
        own_units = f" --show {state.show}" if state.show else ""
        who = f" --by {shlex.quote(by)}" if by else ""
        again = command(state, "holes", f"{as_did(typed, before)} --sure{who}{own_units}")
        asked[-1] = replace(asked[-1], remedy=f"look at the crank; if each is a second pass: {again}")
    if faults or asked:
        raise (BadInput if faults else AskedBack)([*faults, *asked], source_of(place))
    log, of = open_log(place, by=by), state.last.record.id if state.last else ""
    own: list[Drilled] = []
    for hole, number in made:
        batch, plan = own[0].id if own else "", state.plan_name if number else ""
        late = spins[before] if before is not None else ""
        kept = kept_hole(hole, of, plan, number, batch, late, state.job.about.crank)
        own.append(_append(log, state, kept, *own, key=None if own else key))
    return [HoleRecord(record, hole) for record, (hole, _) in zip(own, made, strict=True)]


def _told_already(there: Hole, told_in: ToldIn) -> str:
    """What was told of a place where an arc or grams are told again."""
    if there.kind == "grind":
        return f"was ground there already, {told_in.size(there.depth_mm)} deep"
    happened = "came off" if there.kind == "took" else "were put on"
    return f"{told_in.weighed(abs(there.mass_g))} {happened} there already"


def _must_be_of_its_metal(
    place: Place, state: Balancing, holes: Sequence[Hole], before: int | None, typed: Sequence[str]
) -> None:
    """Raise BadInput for a hole in metal that was edited in the job since the spin that it is told of: nobody can
    tell whether it was drilled in the rim of before or in today's, and it would be reckoned by today's."""
    assert state.job.crank
    upto = state.spins[:before]
    faults: list[Fault] = []
    for name in dict.fromkeys(hole.member for hole in holes):
        at, found = changed_member([one.record for one in upto], name, state.job.crank, state.told_in)
        if found and not (state.is_fresh(upto[at]) and state.last and has_metal(state.last.record, name)):
            is_not = f"is not in the [crank] as at spin {upto[at].number} ({', '.join(found)})"
            faults.append(
                Fault(name, f"{is_not}, and a hole made before that edit is in other metal than one after")
            )
    if faults:
        raise BadInput(
            [*faults, *(Fault("next", way) for way in by_its_metal(state, before, typed))], source_of(place)
        )


def looked_at(
    place: Place, state: Balancing, ids: Sequence[str], why: str, by: str, key: str | None = None
) -> list[LookedAt]:
    """Write down that somebody qualified looked at what breaks a limit of the crank, and lets it be. key: the last
    record's id. Raises BadInput for what breaks none, and without initials and a reason."""
    waiting = {one.id: one for one, _ in state.beyond_limits}
    faults = who_and_why(
        by, why, "whoever is qualified and looked at it", "what was looked at, and why it may be as it is"
    )
    allowed = ", ".join(waiting) or "nothing waits to be looked at"
    faults += [Fault(f"--looked-at {shown(one)}", "breaks no limit", allowed) for one in ids if one not in waiting]
    if faults:
        raise BadInput(faults, source_of(place))
    log = open_log(place, by=by)
    each = list(dict.fromkeys(ids))
    return [log.append(LookedAt(one, why=why), id=key if one == each[-1] else None) for one in each]


def _must_be_told(place: Place, state: Balancing, plan: str) -> None:
    """Raise BadInput where the plan as it is worked out now may be one that nobody was told."""
    fault = None
    if state.halted:
        spin = f"spin before going on: {command(state, 'spin', 'FRONT REAR')}"
        fault = Fault("", state.halted.said(state.told_in), remedy=spin)
    elif plan and plan != state.plan_name:
        fault = Fault(f"--plan {shown(plan)}", "is not the plan as it is now", state.plan_name)
    elif not plan and not state.since and state.has_changed:
        wrong = "the station profile, the job or what holes aim at has changed since this spin"
        remedy = (
            f"spin again, change it back, or look at the plan ({command(state, 'holes')}) and name it: "
            f"--plan {state.plan_name}"
        )
        fault = Fault("", wrong, remedy=remedy)
    if fault:
        raise BadInput([fault], source_of(place))


def as_deep(crank: Crank, hole: Hole, depth_mm: float, told_in: ToldIn = METRIC) -> Hole:
    """The same operation to another depth. Raises ValueError for one that cannot be."""
    if depth_mm < LEAST_DEPTH_MM:
        raise ValueError(f"{told_in.size(depth_mm)} deep is no hole, {told_in.size(LEAST_DEPTH_MM)} at least")
    return to_depth(crank.member(hole.member), hole, depth_mm, told_in)


def _done_already(state: Balancing, number: int, mass_g: float | None, depth_mm: float | None) -> list[Fault]:
    """That an operation is recorded, and the ways on: what was typed before was a slip, or it is deeper now."""
    assert state.plan and state.job.crank
    hole = state.plan.operations[number - 1]
    record = state.done(hole)
    assert record
    done = record.hole
    is_slug = hole.kind == "slug"
    told_in = state.told_in
    was = str(told_in.weighed(round(slug_g(state, done), 2))) if is_slug else f"{told_in.size(done.depth_mm)} deep"
    typed = str(told_in.weighed(mass_g)) if mass_g is not None else ""
    if depth_mm is not None and not is_slug:
        typed = str(told_in.size(depth_mm))
    typed = typed.replace(" ", "") or (f"MASS{told_in.scale}" if is_slug else "DEPTH")
    anew = command(state, "holes", f"--done {number}={typed}")
    slip = f"if {was} was a slip, take it back: truethrow strike {state.called} {record.id}; then: {anew}"
    who = f" by {shown(record.record.by)}" if record.record.by else ""
    told = f"was recorded{who} at {when(record.record.at)} UTC, {was} (record {record.id})"
    faults = [Fault(f"hole {number}", told, remedy=slip)]
    if depth_mm is not None and depth_mm > done.depth_mm and hole.kind in ("radial", "axial"):
        words = as_hand_says(state, hole._replace(depth_mm=depth_mm))
        deeper = command(state, "holes", f"--did {shlex.quote(words)}")
        faults.append(Fault(f"hole {number}", f"if it was drilled deeper since: {deeper}"))
    return faults


def _slug_typed(state: Balancing, hole: Hole) -> str:
    """What a slug weighs by its table, as a hand types it."""
    return str(state.told_in.weighed(float(f"{slug_g(state, hole):.4g}"))).replace(" ", "")


def slug_g(state: Balancing, hole: Hole) -> float:
    """What a slug weighs by its record: what it took away, less than nothing, and what its bore held. [g]"""
    assert state.job.crank
    density = state.job.crank.member(hole.member).density_g_mm3
    return density * disc_mm2(hole.diameter_mm) * hole.depth_mm - hole.mass_g


def as_weighed(crank: Crank, hole: Hole, mass_g: float, told_in: ToldIn = METRIC) -> Hole:
    """The same slug with the mass that the scale says. Raises ValueError for what is none, and for a mass that no
    heavy metal of its size has."""
    if hole.kind != "slug":
        raise ValueError("is no slug, which alone is weighed")
    volume_cm3 = disc_mm2(hole.diameter_mm) * hole.depth_mm / 1000
    least_g, most_g = (one * volume_cm3 for one in SLUG_G_CM3)
    if not least_g <= mass_g <= most_g:
        size = f"{told_in.size(hole.diameter_mm)} across and {told_in.size(hole.depth_mm)} long"
        least, most = (told_in.weighed(float(f"{one:.3g}")) for one in (least_g, most_g))
        raise ValueError(f"{told_in.weighed(mass_g)}, and heavy metal {size} weighs {least.digits} to {most}")
    density = crank.member(hole.member).density_g_mm3
    moved = weighed_slug(density, hole.radius_mm, hole.diameter_mm, hole.depth_mm, mass_g)
    return hole._replace(removes_gmm=moved.unbalance_gmm, mass_g=moved.mass_g)


def aimed(place: Place, state: Balancing, to: Aim, why: str, by: str) -> Aimed:
    """Write down what the holes aim at from here on: the spin, or the sum, for these parts alone. Raises BadInput
    where they do so already, and without initials and a reason."""
    faults = who_and_why(by, why, "who says so", "a word of why")
    if to == ("sum" if state.for_these_parts else "spin"):
        faults.append(Fault(f"--aim {to}", "is what the holes aim at already"))
    if to == "sum" and not state.job.has_parts:
        nearer = "holes that aim at the spin, and bobweights nearer to the given mass"
        faults.append(Fault("--aim sum", "no part was seen: there is no engine to aim at", nearer))
    elif to == "sum" and state.not_placed:
        faults += NotDeclared(state.not_placed, state.called).faults
    if state.since and state.to_do:
        spin = f"spin before going on: {command(state, 'spin', 'FRONT REAR')}"
        faults.append(Fault("--aim", "a plan was begun that aims elsewhere", remedy=spin))
    if faults:
        raise BadInput(faults, source_of(place))
    return _append(open_log(place, by=by), state, Aimed(to, state.job.digest, why=why))


def by_the_tag(job: Job) -> str:
    """What is signed of a job whose parts were not seen, for its record."""
    each = [job.hang] if isinstance(job.hang, float) else job.hang
    given = [job.told_in().weighed(float(grams)) for grams in each]
    return f"parts not seen: the crank with the given {' '.join(one.digits for one in given)} {given[0].unit}"


def sign(
    place: Place, state: Balancing, by: str, without_proof: str | None = None, key: str | None = None
) -> SignedOff:
    """Sign the crank off: the record names every spin and every hole, and what stays. without_proof: why it must
    go although no test mass agreed; key: the record's id. Raises BadInput where it cannot be, with every
    reason."""
    if faults := wrong_by(by, "who signs"):
        raise BadInput(faults)
    if reasons := may_go.not_signable(state, unproved=without_proof is not None):
        told = [Fault("not signed", reason.said(state.told_in)) for reason in reasons]
        raise BadInput([*told, *(Fault("next", step) for step in ways_out(state))], source_of(place))
    if without_proof is not None:
        state = unproved(place, state, without_proof, by, to_sign=True)
    assert state.last and state.in_engine
    spins, holes = (spin.record.id for spin in state.spins), (one.record.id for one in state.drilled)
    batch = state.unproved.id if without_proof is not None and state.unproved else ""
    proof = state.proved_by or state.unproved
    assert proof
    left = tuple(one.left for one in state.in_engine)
    built = tuple(one.record.id for one in state.hung if one.record)
    aim = state.for_these_parts.id if state.for_these_parts else ""
    made = SignedOff(
        *(tuple(spins), tuple(holes), left, state.basis.read_by, proof.id, batch, state.job.about.crank),
        built=built,
        aim=aim,
        why="" if state.job.has_parts else by_the_tag(state.job),
    )
    return _append(open_log(place, by=by), state, made, key=key)
