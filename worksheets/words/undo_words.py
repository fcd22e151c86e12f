"""What canceling takes back, and what counts again, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.base.naming import Part
from truethrow.balance.job.history import PastRecord
from truethrow.balance.job.undoing import Undo
from truethrow.balance.log.log import when
from truethrow.balance.log.records import Cut, Drilled, SignedOff, Spun
from truethrow.worksheets.words.history_words import told

GOES_WITH_IT = "Rests on it, and is canceled with it"
STAYS = "Stays: in the crank all the same"
BACK = "What counts then"
TO_ASK = "Cancel this?"
_CALLED = {
    "read": "reading",
    "confirm": "confirmation",
    "propose": "match that waits",
    "trade": "accepted match",
    "cut": "cut",
    "spin": "spin",
    "hole": "hole",
    "test": "test mass",
    "unproved": "leave to go on without a test mass",
    "profile": "edit of the profile",
    "crank": "word that it is the same crank",
    "looked": "look at a hole",
    "sign": "signature",
    "acknowledge": "acknowledgement",
}


def head(events: Sequence[PastRecord]) -> str:
    """What a step is: 8 holes, recorded 2026-11-30 09:12 by AB."""
    counted = Counter(_CALLED.get(event.record.action, event.record.action) for event in events)
    what = " and ".join(name if count == 1 else f"{count} {_several(name)}" for name, count in counted.items())
    last = events[-1].record
    return f"{what}, recorded {when(last.at)} UTC by {last.by or last.bench}"


def _several(name: str) -> str:
    return "matches that wait" if name == "match that waits" else f"{name}{'es' if name.endswith('s') else 's'}"


def line(event: PastRecord, told_in: ToldIn = METRIC) -> str:
    """One record of it."""
    return f"{without_id(event, told_in)} ({event.record.id})"


def without_id(event: PastRecord, told_in: ToldIn = METRIC) -> str:
    """The same, of one that has no id to be called by."""
    return f"{event.record.action} {told(event, told_in)}".rstrip()


def back(undo: Undo, job: str, told_in: ToldIn = METRIC) -> list[str]:
    """What counts again once it is canceled, and what to do next. job: as the next command is to have it."""
    return [*_readings(undo, job, told_in), *_at_the_station(undo, job), *_of_the_log(undo, job)]


def _readings(undo: Undo, job: str, told_in: ToldIn) -> Iterator[str]:
    found = undo.back
    for event in found.readings:
        yield f"{told(event, told_in)} counts again (record {event.record.id})"
    for which, said in ((found.from_file, "the job file's reading counts again"), (found.to_weigh, "not weighed")):
        if which:
            yield f"{_named(which)}: {said}"
    if found.to_weigh:
        yield f"weigh them: truethrow weigh {job}"
    if any(isinstance(event.record, Cut) for event in undo.step):
        yield f"the cut is in no plan any more; if metal did come off, weigh the part again: truethrow weigh {job}"
        yield f"what to cut now: truethrow trim {job}"


def _named(parts: Iterable[Part]) -> str:
    return ", ".join(part.said for part in parts)


def _at_the_station(undo: Undo, job: str) -> Iterator[str]:
    found, records = undo.back, [event.record for event in undo.canceled]
    spins = f"truethrow spins {job}"
    if found.spin is not None:
        number, record = found.spin
        if record is None:
            yield f"no spin is left: spin the crank: truethrow spin {job} FRONT REAR"
        else:
            yield f"spin {number} is the last again, recorded {when(record.at)} UTC; where that leaves it: {spins}"
    elif any(isinstance(one, Spun | Drilled) for one in records):
        yield f"where that leaves the crank: {spins}"
    if any(isinstance(one, Drilled) for one in records):
        yield (
            "the plan asks for these holes again: cancel them only if they are not in the crank, or nothing but a "
            "second hole comes of it"
        )
    if found.signed is not None:
        by, at = found.signed.by, when(found.signed.at)
        yield f"the signature of {by}, {at} UTC, counts again (record {found.signed.id})"
    elif any(isinstance(one, SignedOff) for one in records):
        yield "the crank is not signed off any more"


def _of_the_log(undo: Undo, job: str) -> Iterator[str]:
    found = undo.back
    for proposal in found.proposals:
        yield f"the match waits again: truethrow accept {job} (record {proposal.id})"
    for one in found.lines:
        yield f"line {one.number} is damaged, and asks again what became of it: truethrow damaged {job}"
