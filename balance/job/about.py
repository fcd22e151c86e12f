"""What a job says of itself and no figure depends on: whose it is, which crank, when it is due."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from truethrow.balance.job.document import AboutTable


class About(NamedTuple):
    """crank: the serial number or mark on the crank; customer: the customer's reference; due: a date, ISO 8601;
    who: has the job in hand; notes: whatever else. All may be empty."""

    crank: str = ""
    customer: str = ""
    due: str = ""
    who: str = ""
    notes: str = ""


NOTHING_SAID = About()


def about_of(table: AboutTable) -> About:
    """What the [about] of a job file says."""
    due = "" if table.due is None else table.due.isoformat()
    return About(table.crank, table.customer, due, table.who, table.notes)
