"""A step taken back as a whole: what goes with it, what stays all the same, and what counts again.

What one command recorded is one step: the cuts of a plan, several holes, a spin with its turned runs, an override
and the signature or the holes that it was given for, an acknowledgement with what was written again for it. The
records of one say so themselves (batch), or name one another. Nothing is taken out of the log: each record of the
step is struck by one of its own.

What cannot be without it rests on it, and is canceled with it or not at all: a test mass, its turned runs and a
signature on their spin, later trades of the same places on a trade. What was done to metal rests on nothing: a
hole that was drilled by a canceled spin is in the crank.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, shown, wrong_why
from truethrow.balance.base.naming import Part
from truethrow.balance.base.parts import BY_NAME
from truethrow.balance.job.history import PastRecord, events_of
from truethrow.balance.job.jobfile import parse_toml
from truethrow.balance.job.sources import labels_in
from truethrow.balance.log.damage import unsettled
from truethrow.balance.log.log import Log
from truethrow.balance.log.place import Place, log_name, must_have_a_log, open_log, source_of, text_of, to_paste
from truethrow.balance.log.records import (
    STATION,
    Acknowledged,
    Aimed,
    Built,
    Confirmed,
    CrankSaid,
    Cut,
    Damaged,
    Drilled,
    LookedAt,
    MassHung,
    ProfileEdited,
    Proposed,
    Record,
    Reopened,
    SignedOff,
    Spun,
    Struck,
    Traded,
    Weighed,
    WentUnproved,
    again_for,
    struck_ids,
)
from truethrow.balance.log.replaying import Replay, counting, cut_places, last_signed, replay, waiting_last

# What can be canceled: all that a figure, a plan or a signature rests on.
CANCELABLE = (Weighed, Confirmed, Proposed, Traded, Cut, *STATION, LookedAt, CrankSaid, Acknowledged)
# How what was canceled is entered again.
_AGAIN: dict[type[Record], str] = {
    Weighed: "weigh {job}",
    Confirmed: "confirm {job} PART --by INITIALS --why REASON",
    Proposed: "match {job}",
    Traded: "accept {job}",
    Cut: "ground {job}",
    Spun: "spin {job} FRONT REAR",
    Drilled: "holes {job} --done",
    MassHung: "test-mass {job} --front G@DEG --rear G@DEG --radius MM FRONT REAR",
    WentUnproved: "holes {job} --unproved --by INITIALS --why REASON",
    ProfileEdited: "spins {job}",
    Built: "stack {job} --built THROW=MASS",
    Aimed: "holes {job} --aim spin --by INITIALS --why REASON",
    SignedOff: "sign {job} --by INITIALS",
    LookedAt: "holes {job} --looked-at RECORD --by INITIALS --why REASON",
    CrankSaid: "crank {job} MARK --by INITIALS --why REASON",
    Acknowledged: "damaged {job}",
}


class Back(NamedTuple):
    """What counts again once a step is canceled. readings: of the log; from_file: parts of which the job file's
    reading counts again; to_weigh: parts that are left without a reading; spin: the last one, by its number and
    its record, where that is another than before (0 and None where none is left); signed: a signature; proposals:
    that wait again; lines: damaged ones that ask again."""

    readings: tuple[PastRecord, ...] = ()
    from_file: tuple[Part, ...] = ()
    to_weigh: tuple[Part, ...] = ()
    spin: tuple[int, Spun | None] | None = None
    signed: SignedOff | None = None
    proposals: tuple[Proposed, ...] = ()
    lines: tuple[Damaged, ...] = ()


class Undo(NamedTuple):
    """What canceling does. step: what is canceled, in its order; rests: what rests on it and is canceled with it;
    stays: holes that were drilled by a spin of it, which are in the crank all the same; back: what counts again;
    seen: how many records the log had."""

    step: tuple[PastRecord, ...]
    rests: tuple[PastRecord, ...]
    stays: tuple[PastRecord, ...]
    back: Back
    seen: int

    @property
    def canceled(self) -> tuple[PastRecord, ...]:
        return *self.step, *self.rests

    @property
    def trades(self) -> tuple[Traded, ...]:
        """Of what is canceled, the last one first: the order in which the parts go back."""
        return tuple(one.record for one in reversed(self.canceled) if isinstance(one.record, Traded))


def last_step(place: Place) -> Undo:
    """The last step that counts, and what canceling it does. Raises BadInput where there is none."""
    log = _opened(place)
    struck = struck_ids(log.records)
    can = [one for one in log.records if isinstance(one, CANCELABLE) and one.id not in struck]
    if not can:
        look = f"run: truethrow history {to_paste(place)}"
        raise BadInput([Fault("", "there is nothing to cancel", remedy=look)], log_name(place))
    since = log.records[log.records.index(can[-1]) :]
    if any(isinstance(one, Reopened) for one in since):
        # Who takes that back means no reading from before it.
        way = f"truethrow close {to_paste(place)} --by INITIALS --why REASON"
        told = f"the job was opened again since; to take that back: {way}; or name the record to be canceled"
        raise BadInput([Fault("--last", told)], log_name(place))
    return _undo(place, log, can[-1], whole=True)


def of_record(place: Place, record_id: str, *, whole: bool = False) -> Undo:
    """What canceling a record does. whole: all of its step. Raises BadInput for an id that the log does not have,
    that is canceled already, or that cannot be."""
    log = _opened(place)
    found = next((record for record in log.records if record.id == record_id), None)
    where, source = f"record {shown(record_id)}", log_name(place)
    if log.is_damaged and not isinstance(found, Acknowledged | Damaged):
        log.must_be_settled()
    if found is None:
        look = f"run: truethrow history {to_paste(place)}"
        raise BadInput([Fault(where, "is not in the log", remedy=look)], source)
    by = next((one for one in log.records if isinstance(one, Struck) and one.of == record_id), None)
    if by is not None:
        raise BadInput([Fault(where, f"is canceled already, by {by.id}")], source)
    if not isinstance(found, CANCELABLE):
        raise BadInput([_not_cancelable(log.records, found, to_paste(place))], source)
    if isinstance(found, Proposed) and (trade := _accepted(log.records, found)):
        remedy = f"put the parts back: truethrow strike {to_paste(place)} {shown(trade.id)}"
        raise BadInput([Fault(f"proposal {shown(record_id)}", "is accepted", remedy=remedy)], source)
    return _undo(place, log, found, whole=whole)


def cancel(place: Place, undo: Undo, why: str = "", by: str = "", key: str | None = None) -> list[Struck]:
    """Cancel what was shown, the last record first. key: the id of the last strike, from who may send it again.
    Raises BadInput where something was recorded meanwhile that
    would rest on it; NotSaved where a strike is not on the disk, those before it being safe."""
    if why and (faults := wrong_why(why, "a word of why, or nothing")):
        raise BadInput(faults)
    log = _opened(place, by)
    told = {event.record.id for event in undo.canceled}

    def unless() -> None:
        struck = struck_ids(log.records) - told
        of = [record for record in log.records if record.id in told]
        new = {one.id for one in resting(log.records, of)} - told - struck
        if new or any(record.id in struck_ids(log.records[: undo.seen]) for record in of):
            look = f"look again: truethrow history {to_paste(place)}"
            raise BadInput([Fault("", "something was recorded meanwhile", remedy=look)], log_name(place))

    *others, last = reversed(undo.canceled)
    struck = [log.append(Struck(one.record.id, why=why), unless=unless) for one in others]
    return [*struck, log.append(Struck(last.record.id, why=why), id=key, unless=unless)]


def _opened(place: Place, by: str = "") -> Log:
    """The log; one with damage of which nobody said what became of it, too, since what was said of a line may be
    what is to be canceled."""
    must_have_a_log(place)
    return open_log(place, by=by, damaged=True)


def _not_cancelable(records: Sequence[Record], found: Record, job: str) -> Fault:
    """Why a record cannot be canceled, and what can be done instead."""
    where = f"record {shown(found.id)}"
    if isinstance(found, Damaged):
        remedy = f"say what became of it: truethrow damaged {job}"
        return Fault(where, "is a damaged line, which can't be canceled", remedy=remedy)
    if not isinstance(found, Struck):
        return Fault(where, f"a {found.action} can't be canceled: it says what was seen, and takes nothing back")
    wrong = "is a cancelation, and a cancelation can't be canceled"
    of = next((record for record in records if record.id == found.of), None)
    if of is None or type(of) not in _AGAIN:
        return Fault(where, wrong)
    command = f"truethrow {_AGAIN[type(of)].format(job=job)}"
    return Fault(where, f"{wrong}; what it canceled has to be entered again", remedy=f"run: {command}")


def _accepted(records: Sequence[Record], proposal: Proposed) -> Traded | None:
    struck = struck_ids(records)
    trades = (one for one in records if isinstance(one, Traded) and one.id not in struck)
    return next((one for one in trades if one.proposal == proposal.id), None)


def _undo(place: Place, log: Log, of: Record, *, whole: bool) -> Undo:
    records = tuple(log.records)
    if log.is_damaged and not isinstance(of, Acknowledged):
        log.must_be_settled()
    step = step_of(records, of) if whole or isinstance(of, Acknowledged) else [of]
    rests = resting(records, step)
    gone = [*step, *rests]
    struck = struck_ids(records)
    spins = {one.id for one in gone if isinstance(one, Spun)}
    ids = {one.id for one in gone}
    stays = [r for r in records if isinstance(r, Drilled) and r.spin in spins and r.id not in struck | ids]
    raw: dict[str, Any] = {}
    with contextlib.suppress(BadInput):  # what is in the log is told of a job whose file is broken, too
        raw = parse_toml(text_of(place), source_of(place))
    events = {event.record.id: event for event in events_of(records, labels_in(raw))}

    def told(own: Iterable[Record]) -> tuple[PastRecord, ...]:
        return tuple(events[one.id] for one in own)

    return Undo(told(step), told(rests), told(stays), _back(records, gone, raw), len(records))


def step_of(records: Sequence[Record], of: Record) -> list[Record]:
    """The records of one step that are not struck, in their order."""
    struck, key = struck_ids(records), _key(records, of)
    return [
        record
        for record in records
        if isinstance(record, CANCELABLE) and record.id not in struck and _key(records, record) == key
    ]


def _key(records: Sequence[Record], record: Record) -> str:
    """What the records of one step have in common: the id of its first."""
    if isinstance(record, Spun):
        return record.turned or record.id
    if isinstance(record, Acknowledged):
        struck = struck_ids(records)
        again = (r.id for r in records if again_for(r.id) == record.line and r.id not in struck)
        return next(again, record.id)
    if again_for(record.id):
        return record.id
    return getattr(record, "batch", "") or record.id


def resting(records: Sequence[Record], on: Iterable[Record]) -> list[Record]:
    """What cannot be without some records, and what cannot be without that, in order; without those themselves."""
    struck, found = struck_ids(records), {record.id: record for record in on}
    own = set(found)
    grown = True
    while grown:
        fresh = [
            record
            for at, record in enumerate(records)
            if record.id not in found and record.id not in struck and _rests(record, found, records[:at])
        ]
        found |= {record.id: record for record in fresh}
        grown = bool(fresh)
    return [record for record in records if record.id in found and record.id not in own]


def _rests(record: Record, on: Mapping[str, Record], before: Sequence[Record]) -> bool:
    if isinstance(record, Traded):
        earlier = (one for one in on.values() if isinstance(one, Traded) and one in before)
        return any(_same_places(one, record) for one in earlier)
    return not on.keys().isdisjoint(_needs(record))


def _needs(record: Record) -> tuple[str, ...]:
    """The ids of the records that one makes no sense without. A hole makes sense without its spin."""
    match record:
        case Spun():
            return (record.turned,)
        case MassHung() | WentUnproved():
            return record.spin, getattr(record, "turned", "")
        case SignedOff():
            return *record.spins, *record.holes, *record.built, record.proof, record.aim
        case ProfileEdited():
            return (record.wrong_since,)
        case LookedAt():
            return (record.hole,)
    return ()


def _same_places(one: Traded, other: Traded) -> bool:
    return any(set(own) & set(other.moves.get(unit, {})) for unit, own in one.moves.items())


def _back(records: Sequence[Record], gone: Sequence[Record], raw: Mapping[str, Any]) -> Back:
    strikes = [Struck(one.id, id=f"{one.id}-canceled") for one in reversed(gone)]
    after = [*records, *strikes]
    spins = _last_spin(records), _last_spin(after)
    signed = last_signed(after)
    waited, waits = waiting_last(records), waiting_last(after)
    asked = {one.id for one in unsettled(records)}
    readings, places = _readings_back(records, after, raw)
    return Back(
        readings,
        tuple(part for part, in_file in places if in_file),
        tuple(part for part, in_file in places if not in_file),
        spins[1] if spins[0] != spins[1] else None,
        signed if signed and signed != last_signed(records) else None,
        (waits,) if waits and not (waited and waited.id == waits.id) else (),
        tuple(one for one in unsettled(after) if one.id not in asked),
    )


def _last_spin(records: Sequence[Record]) -> tuple[int, Spun | None]:
    struck = struck_ids(records)
    spins = [one for one in records if isinstance(one, Spun) and not one.turned and one.id not in struck]
    return len(spins), spins[-1] if spins else None


def _readings_back(
    records: Sequence[Record], after: Sequence[Record], raw: Mapping[str, Any]
) -> tuple[tuple[PastRecord, ...], list[tuple[Part, bool]]]:
    """The readings of the log that count again; the parts that are left without one of the log where there was
    one, or a cut, and whether the job file has a reading that counts then."""
    was, now = replay(records), replay(after)
    before, then = counting(was.placed), counting(now.placed)
    counted = {one.id for own in before.values() for one in own}
    again = [one.id for own in then.values() for one in own if one.id not in counted]
    events = {event.record.id: event for event in events_of(after, labels_in(raw))}
    still = cut_places(now.placed)
    places = []
    for cylinder, kind in sorted(_places(was) - set(then)):
        part = Part(kind, cylinder, _first(now, cylinder, kind))
        label = labels_in(raw).get(part.weighed_in, {}).get(part.unit, "")
        in_file = (cylinder, kind) not in still and _is_in(raw, part)
        places.append((part._replace(label=label), in_file))
    # What was without a reading before, and still is, is no news.
    blank = (cut_places(was.placed) & still) - set(before)
    places = [(part, in_file) for part, in_file in places if (part.cylinder, part.kind) not in blank]
    # A check that nobody ever weighed, such as a rod in one go, is not asked for by taking a cut back.
    weighed = {record.kind for record in records if isinstance(record, Weighed)}
    places = [
        (part, in_file)
        for part, in_file in places
        if in_file or part.kind in weighed or BY_NAME[part.kind].motion != "check"
    ]
    return tuple(events[one] for one in again), places


def _places(replayed: Replay) -> set[tuple[int, str]]:
    """The cylinders and kinds of which the log says something: a reading, or that none counts any more."""
    return {place for place in (*counting(replayed.placed), *cut_places(replayed.placed)) if place[0]}


def _first(replayed: Replay, cylinder: int, kind: str) -> int:
    from truethrow.balance.base.trades import first  # noqa: PLC0415 (few logs have trades)

    return first(replayed.traded, cylinder, kind)


def _is_in(raw: Mapping[str, Any], part: Part) -> bool:
    """Whether the job file has a reading of a part."""
    tables = [one for one in _listed(raw.get("cylinder")) if one.get("number") == part.weighed_in]
    every = raw.get("every_cylinder")
    return any(one.get(part.kind) not in (None, "") for one in [*tables, *_listed([every])])


def _listed(found: object) -> Iterator[Mapping[str, Any]]:
    yield from (one for one in found if isinstance(one, dict)) if isinstance(found, list) else ()
