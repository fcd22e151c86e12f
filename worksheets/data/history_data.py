"""The records of a log as plain data."""

from __future__ import annotations

from typing import Any

from truethrow.balance.job.history import PastRecord
from truethrow.balance.log import lines


def as_data(event: PastRecord) -> dict[str, Any]:
    from truethrow.worksheets.data import result_data  # noqa: PLC0415 (the solver behind it, which the table does not need)

    parts = [result_data.part_data(part) | {"goes_in": part.goes_in} for part in event.parts]
    return lines.as_data(event.record) | {"struck_by": event.struck_by or None, "parts": parts}
