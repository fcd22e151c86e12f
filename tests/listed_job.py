"""A job as the book lists it, for what tells of it in words and as data."""

from __future__ import annotations

from truethrow.balance.book.listing import Listed

AT = "2026-11-28T09:01:00.000Z"
JOB = Listed(
    "launch-7",
    "Launch",
    3,
    AT,
    "AB",
    13,
    12,
    "9a3e71c4" * 4,
    "trimming",
    "to be ground: piston 3",
    "t01",
    is_fresh=True,
)
