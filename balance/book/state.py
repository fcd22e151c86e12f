"""Where a job stands in the shop, from its text and its records alone, and what blocks it.

weighing    readings are missing or look wrong, or parts are to be weighed again
matching    all is weighed, and a matching is asked for or waits to be accepted
trimming    something is outside its limit
station     the crank is not signed off
signed      what was signed off still is so, as far as can be told without the station's profile
closed      nothing more is recorded: it was closed, or given up
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.errors import BadInput, Fault, NotSaved, each_by_cylinder, shown
from truethrow.balance.base.parts import label
from truethrow.balance.book.states import State
from truethrow.balance.job.job import Job, load
from truethrow.balance.log.log import Log, unsaved
from truethrow.balance.log.place import Outgoing
from truethrow.balance.log.records import Record
from truethrow.balance.log.replaying import waiting_last
from truethrow.balance.result.match_first import is_to_match
from truethrow.balance.result.slips import Slip
from truethrow.balance.result.work import Result, work

MOST_NAMED = 4


class _Taken(Log):
    """The records of a job as they were taken out of the book."""

    def __init__(self, name: str, records: Iterable[Record]) -> None:
        super().__init__(name)
        for record in records:
            self._add(record)

    def _write(self, record: Record, may_stand: Callable[[], None]) -> list[tuple[int, bytes]]:
        raise unsaved(f"{self.name}: is only looked at", record)

    def _read_on(self) -> None:
        """There is no more."""


class JobThen:
    """A job as it was at one moment: a place like any other, to which nothing can be written."""

    def __init__(self, job: str, text: str, records: Sequence[Record]) -> None:
        self._id, self._text, self._records = job, text, records

    @property
    def id(self) -> str:
        return self._id

    def text(self) -> str:
        return self._text

    def write_text(self, text: str, expected: str, by: str = "") -> None:
        raise NotSaved("is only looked at", f"job {self._id}")

    def open_log(self, bench: str = "bench", by: str = "") -> Log:
        return _Taken(f"the log of job {self._id}", self._records)

    def issuing(self, outgoing: Sequence[Outgoing], by: str = "") -> AbstractContextManager[None]:
        raise NotSaved("is only looked at", f"job {self._id}")


def state_of(job: str, text: str, records: Sequence[Record]) -> State:
    """Where a job stands. text: with plain line ends."""
    if (closed := _Taken("", records).closed) is not None:
        return State("closed", f"{closed.how} by {shown(closed.by)}: {shown(closed.why)}")
    try:
        loaded = load(JobThen(job, text, records), given=True)
    except BadInput as error:
        return State("weighing", _missing(error.faults))
    result = work(loaded)
    if found := _in_doubt(result):
        return State("weighing", found, loaded.digest)
    if found := _to_match(loaded, records):
        return State("matching", found, loaded.digest)
    if found := _outside(result):
        return State("trimming", found, loaded.digest)
    found = _unsigned(loaded, records)
    return State("station" if found else "signed", found, loaded.digest)


def _missing(faults: Sequence[Fault]) -> str:
    """What keeps a job from being worked: first what is wrong, else what is to be weighed."""
    wrong = [fault for fault in faults if not fault.to_weigh]
    if wrong:
        more = f" (and {len(wrong) - 1} more)" if len(wrong) > 1 else ""
        return f"{_wrong(wrong[0])}{more}"
    again = [fault.where for fault in faults if fault.to_weigh and fault.to_weigh.why == "again"]
    never: dict[int, list[str]] = {}
    for fault in faults:
        if fault.to_weigh and fault.to_weigh.why == "missing":
            never.setdefault(fault.to_weigh.cylinder, []).append(fault.to_weigh.kind)
    told = [f"to be weighed: {_some(each_by_cylinder(never))}"] if never else []
    return "; ".join([*told, *([f"to be weighed again: {_some(again)}"] if again else [])])


def _wrong(fault: Fault) -> str:
    return f"{fault.where}: {fault.wrong}" if fault.where else fault.wrong


def _some(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _in_doubt(result: Result) -> str:
    """Which readings are not to be believed before they were looked at again, empty where all are."""
    doubts = [_doubt(slip, result.job.told_in()) for slip in result.slips]
    return f"to be looked at again: {_some(doubts)}" if doubts else ""


def _doubt(slip: Slip, told_in: ToldIn) -> str:
    apart = told_in.weighed(slip.apart_g)
    if slip.check == "hang":
        return f"{slip.suspicion}, its declared mass is {apart} off"
    whose = f"cylinder {slip.cylinder} {label(slip.kind)}" if slip.cylinder else f"the {label(slip.kind)} of all"
    if slip.heaps:
        whose = label(slip.kind)
    return f"{whose} ({slip.check}, {apart})"


def _to_match(job: Job, records: Sequence[Record]) -> str:
    proposal = waiting_last(records)
    if proposal and proposal.digest == job.digest:
        return f"proposal {shown(proposal.id)} waits to be accepted"
    if not is_to_match(job, records):
        return ""
    if proposal:
        return f"the job has changed since proposal {shown(proposal.id)}: match again"
    return "[match] asks for a matching"


def _outside(result: Result) -> str:
    told_in = result.job.told_in()
    spreads = [
        f"{label(s.quantity)} spread {told_in.about(s.spread_g)} is outside {told_in.weighed(s.limit_g)}"
        for s in result.spreads
        if s.verdict == "outside" and s.limit_g is not None
    ]
    return _some(spreads[:1]) + (f" (and {len(spreads) - 1} more)" if len(spreads) > 1 else "")


def _unsigned(job: Job, records: Sequence[Record]) -> str:
    """Why the crank does not count as signed off, empty where it does: by the profile that the last spin was read
    by, since no other is known here."""
    from truethrow.balance.station import balancing, may_go  # noqa: PLC0415 (numpy, and many jobs are not spun yet)

    try:
        found = balancing.as_last_read(job, records)
    except BadInput as error:
        return _wrong(error.faults[0])
    if found is None:
        return "not spun yet"
    if may_go.holds(found):
        return ""
    told_in, ended = found.told_in, may_go.no_longer(found)
    open_ = [one.said(told_in) for one in may_go.against(found)[:1]] or ["not signed off"]
    if ended is None:
        return open_[0]
    # What was signed and is no more tells first why.
    why = dict.fromkeys((ended.why[0].said(told_in), *(open_ if found.signed is None else ())))
    return f"{shown(ended.signed.by)} signed it, and that no longer holds: {'; '.join(why)}"
