"""Damaged lines of a log as plain data."""

from __future__ import annotations

from typing import Any

from truethrow.balance.log.damage import DONE, said
from truethrow.balance.log.lines import raw_of
from truethrow.balance.log.records import Record
from truethrow.balance.station.lost_lines import needs


def as_data(line: Record, acknowledged: Record | None) -> dict[str, Any]:
    claim = said(line)
    return {
        "number": int(line.of),
        "record": line.id,
        "raw": raw_of(line).decode("latin-1"),
        "said": claim._asdict() if claim else None,
        "needs": list(needs(line)),
        "was_done": claim is None or claim.action in DONE,
        "acknowledged": acknowledged._asdict() if acknowledged else None,
    }
