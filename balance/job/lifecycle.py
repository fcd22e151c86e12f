"""A job's life beside its work: which crank it is, closed or given up, open again. Each is a record, with who and
why.

Holes, spins and a signature keep the crank's mark as [about] had it when they were written. While the job names
another, none of them counts for it: the mark is put back, or somebody says that it is the same crank. A log that
is closed takes nothing but what opens it again (log.Log.must_be_open).
"""

from __future__ import annotations

from collections.abc import Iterable

from truethrow.balance.base.errors import BadInput, Fault, shown, who_and_why
from truethrow.balance.job import document as doc
from truethrow.balance.job.about import about_of
from truethrow.balance.job.jobfile import parse_toml
from truethrow.balance.log.log import Log
from truethrow.balance.log.place import Place, log_name, must_have_a_log, open_log, source_of, text_of, to_paste
from truethrow.balance.log.records import (
    STATION,
    Closed,
    CrankSaid,
    How,
    Record,
    Reopened,
    struck_ids,
)


def marks(records: Iterable[Record], now: str) -> tuple[str, ...]:
    """The marks of other cranks than the job names now, of which spins, holes or a signature that count are. now:
    the mark in [about]; one that is blank says nothing, neither there nor in a record."""
    records = list(records)
    struck = struck_ids(records)
    found: dict[str, None] = {}
    for record in records:
        if record.id in struck:
            continue
        if isinstance(record, CrankSaid):
            found = {record.crank: None}
        elif isinstance(record, STATION) and (mark := getattr(record, "crank", "")):
            found[mark] = None
    return tuple(mark for mark in found if now and mark != now)


def same_crank(place: Place, mark: str, why: str, by: str) -> CrankSaid:
    """Say that all that was recorded was done to the crank with this mark, which [about] has. Raises BadInput
    where [about] has another, where nothing says otherwise, and without initials and a word of why; NotSaved."""
    must_have_a_log(place)
    raw = parse_toml(text_of(place), source_of(place)).get("about", {})
    now = about_of(doc.AboutTable.model_validate(raw)).crank if isinstance(raw, dict) else ""
    faults = who_and_why(by, why, "who read the mark on the crank", "how you know that it is the same crank")
    if mark != now:
        remedy = f'put it there first: in {to_paste(place)}, [about] crank = "{shown(mark)}"'
        faults.append(Fault("MARK", f"{shown(mark)!r} is not what [about] says, {shown(now)!r}", remedy=remedy))
    log = open_log(place, by=by)
    if mark == now and not marks(log.records, now):
        faults.append(Fault("MARK", "nothing that was recorded is of another crank"))
    if faults:
        raise BadInput(faults, source_of(place))
    return log.append(CrankSaid(mark, why=why))


def close(place: Place, how: How, why: str, by: str) -> Closed:
    """Close a job, or give it up: nothing is recorded in it from then on. Raises BadInput for one that is closed
    already, and without initials and a word of why; NotSaved."""
    log = _log(place, by, who_and_why(by, why, "who closes it", "why, for whoever asks later"))
    if log.is_damaged:
        log.must_be_settled()
    return log.append(Closed(how, why=why))


def reopen(place: Place, why: str, by: str) -> Reopened:
    """Open a closed job again. Raises BadInput for one that is open, and without initials and a word of why;
    NotSaved."""
    log = _log(place, by, who_and_why(by, why, "who opens it again", "why, for whoever asks later"))
    if log.closed is None:
        raise BadInput([Fault("", "is not closed")], log_name(place))
    return log.append(Reopened(why=why))


def _log(place: Place, by: str, faults: list[Fault]) -> Log:
    must_have_a_log(place)
    if faults:
        raise BadInput(faults)
    return open_log(place, by=by, damaged=True)
