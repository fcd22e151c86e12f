"""What a job's log still says of a part that is gone, and has to be canceled before another takes its place."""

from __future__ import annotations

from typing import NamedTuple

from truethrow.balance.base.fields import Units
from truethrow.balance.base.parts import UNIT_OF
from truethrow.balance.job.logged import logged
from truethrow.balance.log.place import Place
from truethrow.balance.log.records import Confirmed, Cut, Weighed


class OldRecord(NamedTuple):
    """One record of a part that is gone: its id, and what kind it is (read, confirm, cut)."""

    id: str
    action: str


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
