"""What a job still says of a part that is gone: readings of its file, which would count again once those of the
log are canceled, and records, which are to be canceled before another takes its place."""

from __future__ import annotations

from typing import NamedTuple

from truethrow.balance.base.fields import Units
from truethrow.balance.base.parts import BY_NAME, UNIT_OF
from truethrow.balance.job.jobfile import parse_toml
from truethrow.balance.job.logged import logged
from truethrow.balance.job.sources import written_in
from truethrow.balance.log.place import Place, source_of, text_of
from truethrow.balance.log.records import Confirmed, Cut, Weighed


class OldRecord(NamedTuple):
    """One record of a part that is gone: its id, and what kind it is (read, confirm, cut)."""

    id: str
    action: str


def written_of_the_old_one(place: Place, unit: str, weighed_in: int) -> tuple[str, ...]:
    """The kinds of reading that the job file has of a part, under the cylinder that it was weighed in."""
    written = written_in(parse_toml(text_of(place), source_of(place))).get(weighed_in, set())
    return tuple(kind for kind in BY_NAME if kind in written and UNIT_OF.get(kind, kind) == unit)


def of_the_old_one(place: Place, unit: str, cylinder: int) -> tuple[OldRecord, ...]:
    """The records of the part in a cylinder that count, in the order in which to cancel them: the last first, so
    that no cut is canceled while there are readings after it (they would stay history, and with them the pads
    spent)."""
    placed = logged(place, Units(), None).placed
    own = [
        OldRecord(record.id, record.action)
        for record in placed
        if isinstance(record, Weighed | Confirmed | Cut)
        and record.cylinder == cylinder
        and UNIT_OF.get(record.kind, record.kind) == unit
    ]
    return tuple(reversed(own))
