"""Whether parts may still trade places. What is ground before that is ground for an arrangement that changes, in
which other parts need other cuts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from truethrow.balance.base.errors import Fault
from truethrow.balance.log.records import Cut, Record, SignedOff, Spun, Traded, struck_ids
from truethrow.balance.log.replaying import sits_well, waiting_last

if TYPE_CHECKING:
    from truethrow.balance.job.job import Job

WHY = (
    "nothing is ground before the parts are matched, or [match] is taken out of the job: once parts trade places, "
    "the cuts are others"
)


def is_to_match(job: Job, records: Sequence[Record]) -> bool:
    """Whether the job asks for a matching and nothing has been done that comes after one, nor was it found that
    the parts sit as well as they can be made to."""
    if not job.match.model_fields_set or sits_well(records, job.digest):
        return False
    struck = struck_ids(records)
    done = (one for one in records if isinstance(one, Traded | Cut | Spun | SignedOff) and one.id not in struck)
    return not any(done)


def to_match(job: Job, records: Sequence[Record]) -> str:
    """What comes next of the matching, with its command; empty where nobody asks for one, or it is done: nobody
    asks any more once parts traded places or were cut."""
    proposal = waiting_last(records)
    if proposal and proposal.digest == job.digest:
        return f"accept the matching that was proposed: truethrow accept {job.name}"
    return f"match, before anything is ground: truethrow match {job.name}" if is_to_match(job, records) else ""


def faults(job: Job, records: Sequence[Record]) -> list[Fault]:
    """Why nothing may be ground for the sake of a matching."""
    first = to_match(job, records)
    return [Fault("", WHY, remedy=first)] if first else []
