"""What do I do now: the one next step of a job, from its first reading to the signature and the closed job.

One function for every screen: what a command says last and what `next` says are the same, so they never disagree.
What blocks comes first, in the order in which it blocks: a damaged line, a closed job, parts that wait for the
scale, readings that look like a slip, readings that a cut needs once more; then the set (matching, trim, what a
second weighing would settle), and then the station (next_steps). Once the crank was spun, the sum that turns says
whether the set is good enough, so that the station alone tells what is next; readings in doubt hold it back, too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.errors import cylinders, shown
from truethrow.balance.base.parts import label
from truethrow.balance.job.job import Job, load
from truethrow.balance.log.damage import told, unsettled
from truethrow.balance.log.place import Place, has_log, open_log, to_paste
from truethrow.balance.log.records import Record, SignedOff, Spun, struck_ids
from truethrow.balance.result.doubts import listed, look_first, second_weighing, settling, weighing
from truethrow.balance.result.match_first import to_match
from truethrow.balance.result.unbalance import allowed_gmm
from truethrow.balance.result.work import Result, work

if TYPE_CHECKING:
    from truethrow.balance.base.files import KeptText
    from truethrow.balance.log.log import Log
    from truethrow.balance.station.balancing import Balancing

MOST_NAMED = 4


class Now(NamedTuple):
    """What comes next. steps: what to do and its command, ready to paste; one, or one for each case that only a
    person can tell. blocked: whether the work stops until it is done; no_longer: that it was signed, and why that
    counts no more."""

    steps: tuple[str, ...]
    blocked: bool = False
    no_longer: str = ""


def what_now(place: Place, station: Path | KeptText | None = None, sheet: Path | None = None) -> Now:
    """The next step of a job. station: its profile, None where nobody named one: then what was spun is read by the
    profile that the log knows last. Raises BadInput for a job or a profile with faults, which say what to do."""
    log = open_log(place, damaged=True) if has_log(place) else None
    if log and (first := _of_the_log(log, to_paste(place))):
        return first
    job = load(place, sheet, partly=True, given=True)
    if not job.waiting:
        return of_result(place, work(job), station)
    return _to_weigh(job)._replace(no_longer=_outlived(job, log))


def of_result(place: Place, result: Result, station: Path | KeptText | None = None) -> Now:
    """The same, of a job that is worked through."""
    job, log = result.job, open_log(place) if has_log(place) else None
    if log and (closed := _of_the_log(log, job.name)):
        return closed
    records = log.records if log else []
    if job.sheet and job.name != "JOB":
        return Now((f"enter the weigh sheet into the job: truethrow enter {job.name} {job.sheet}",))
    if not _is_spun(records):
        if of_parts := _of_parts(result, records):
            return of_parts._replace(no_longer=_outlived(job, log))
        if station is None:
            return _without_a_station(result)._replace(no_longer=_outlived(job, log))
    from truethrow.balance.station import balancing  # noqa: PLC0415 (numpy, and most jobs are not spun yet)

    if station is not None:
        return of_state(place, balancing.load(place, station))
    state = balancing.as_last_read(job, records)
    assert state
    return of_state(place, replace(state, called=job.name))


def of_state(place: Place, state: Balancing) -> Now:
    """The same, of a job at its station."""
    log = open_log(place)
    if closed := _of_the_log(log, state.called):
        return closed
    from truethrow.balance.station import may_go  # noqa: PLC0415
    from truethrow.balance.station.next_steps import next_steps  # noqa: PLC0415

    ended = may_go.no_longer(state)
    no_longer = ended.said(state.told_in) if ended else ""
    if not _is_spun(log.records) and (of_parts := _of_parts(state.worked, log.records)):
        return of_parts._replace(no_longer=no_longer)
    return Now(tuple(next_steps(state)), bool(not may_go.holds(state) and may_go.withheld(state)), no_longer)


def _outlived(job: Job, log: Log | None) -> str:
    """That what was signed counts no more, of a job that is at no station now."""
    if log is None or not any(isinstance(one, SignedOff) for one in log.records):
        return ""
    from truethrow.balance.station.outlived import outlived, to_weigh_again  # noqa: PLC0415

    ended = to_weigh_again(log.records) if job.waiting else outlived(log.records)
    return ended.said(job.told_in()) if ended else ""


def _of_the_log(log: Log, name: str) -> Now | None:
    """What the log itself has against going on."""
    if log.is_damaged and (lines := unsettled(log.records)):
        return Now((told(lines, log.unit, name),), blocked=True)
    if log.closed:
        back = f'to open it again: truethrow reopen {name} --by INITIALS --why "REASON"'
        return Now((f"nothing, the job is {log.closed.how} by {shown(log.closed.by)}; {back}",))
    return None


def _is_spun(records: Sequence[Record]) -> bool:
    struck = struck_ids(records)
    return any(isinstance(one, Spun) and one.id not in struck for one in records)


def _to_weigh(job: Job) -> Now:
    """The parts that wait for the scale."""
    again = [fault.where for fault in job.waiting if fault.to_weigh and fault.to_weigh.why == "again"]
    missing = [*dict.fromkeys(fault.to_weigh.cylinder for fault in job.waiting if fault.to_weigh)]
    parts = [*dict.fromkeys(again)]
    more = f" and {len(parts) - MOST_NAMED} more" if len(parts) > MOST_NAMED else ""
    told = ", ".join(parts[:MOST_NAMED]) + more
    what = f"once more {told}" if again else f"what is missing of {cylinders(missing)}"
    return Now((f"weigh {what}: truethrow weigh {job.name}",))


def _of_parts(result: Result, records: Sequence[Record]) -> Now | None:
    """What comes next of the parts; None once they are done."""
    if held := _held(result):
        return Now((held,), blocked=True)
    job = result.job
    if matching := to_match(job, records):
        return Now((matching,))
    if result.trim and result.trim.parts:
        grind = f"grind by the trim plan, the scale beside you: truethrow weigh {job.name} --grind"
        return Now((grind, f"or, once it is ground: truethrow ground {job.name}"))
    return Now((settling(job, result.to_settle),)) if result.to_settle else None


def _held(result: Result) -> str:
    """What is to be looked at, or weighed, again before anything is ground; empty where nothing is."""
    job, ground = result.job, result.job.ground
    if result.doubts:
        return look_first(result)
    if ground and ground.again:
        one = ground.again[0]
        places = [(one.cylinder, kind) for kind in one.after]
        part = listed(job, places)
        return f"what {part} reads cannot come from its cut; weigh it again: {weighing(job, places)}"
    return second_weighing(result) if result.unsure or result.once_more else ""


def _parts_done(result: Result) -> str:
    """That nothing is left to do about the parts, and which of their limits they are not known to keep all the
    same."""
    found = [
        f"{label(one.quantity)} ({'OUTSIDE' if one.verdict == 'outside' else one.verdict})"
        for one in result.spreads
        if one.verdict not in (None, "inside")
    ]
    if not found:
        return "the parts are done"
    of = f"spread of {', '.join(found)}"
    return f"no second weighing settles the {of}: trim, or agree on another limit; if it is good enough"


def _without_a_station(result: Result) -> Now:
    """What comes once the parts are done, where nobody named a station's profile."""
    name, steps = result.job.name, []
    if not result.job.has_parts:
        steps.append(f"no part is weighed, the bobweights are given: truethrow hang {name}")
    elif result.left is None:
        steps.append(f"{_parts_done(result)}; what to hang: truethrow hang {name}")
    else:
        steps.append(f"{_parts_done(result)}; write the station's sheet: truethrow send {name}")
    if None not in allowed_gmm(result.job):
        steps.append(f"then, at a station with a profile: truethrow next {name} --station STATION")
    closing = f'truethrow close {name} --by INITIALS --why "REASON"'
    return Now((*steps, f"or, where nothing is spun here, close the job: {closing}"))
