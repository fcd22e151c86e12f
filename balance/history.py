"""What the log beside a job holds, record by record, and how one is struck out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.balance.place import Place, log_name, must_have_a_log, open_log
from truethrow.balance.records import Record

# What says nothing that a strike could take out.
LASTING = ("strike", "skip", "zero", "reference")


class Event(NamedTuple):
    """One record, and the id of the record that struck it out, if one did."""

    record: Record
    struck_by: str


def events(place: Place) -> list[Event]:
    """All records of a job's log, the oldest first. Raises BadInput where it cannot be read."""
    must_have_a_log(place)
    return events_of(open_log(place).records)


def events_of(records: Sequence[Record]) -> list[Event]:
    """What these records say, in their order."""
    struck: dict[str, str] = {}
    for record in records:
        if record.action == "strike":
            struck.setdefault(record.of, record.id)
    return [Event(record, struck.get(record.id, "")) for record in records]


def strike(place: Place, record_id: str, why: str = "", by: str = "") -> Record:
    """Strike a record out: a reading or a cut counts no more, the parts of a seat go back, a proposal waits no
    more. What was struck.

    Raises BadInput for an id that the log does not have, or that cannot be struck; NotSaved where the strike is
    not on the disk."""
    found = {event.record.id: event for event in events(place)}
    event = found.get(record_id)
    source = log_name(place)
    if event is None:
        raise BadInput([Fault(f"record {shown(record_id)}", "is not in the log", "truethrow history JOB")], source)
    if event.struck_by:
        raise BadInput([Fault(f"record {shown(record_id)}", f"is struck already, by {event.struck_by}")], source)
    if event.record.action in LASTING:
        raise BadInput([Fault(f"record {shown(record_id)}", f"a {event.record.action} cannot be struck")], source)
    seats = [e.record.id for e in found.values() if e.record.action == "seat" and not e.struck_by]
    if accepted := [key for key in seats if found[key].record.of == record_id]:
        allowed = f"put the parts back: strike its seat, {shown(accepted[0])}"
        raise BadInput([Fault(f"proposal {shown(record_id)}", "is accepted", allowed)], source)
    open_log(place, by=by).append("strike", of=record_id, why=why)
    return event.record
