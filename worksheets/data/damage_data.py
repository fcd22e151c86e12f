"""Damaged lines of a log as plain data."""

from __future__ import annotations

from typing import Any

from truethrow.balance.log.damage import DONE, said
from truethrow.balance.log.lines import as_data as data_of
from truethrow.balance.log.records import Acknowledged, Damaged
from truethrow.balance.station.lost_lines import needs


def as_data(line: Damaged, acknowledged: Acknowledged | None) -> dict[str, Any]:
    claim = said(line)
    return {
        "number": line.number,
        "record": line.id,
        "harm": line.harm,
        "raw": line.raw.decode("latin-1"),
        "said": data_of(claim) if claim else None,
        "needs": list(needs(line)),
        "was_done": claim is None or isinstance(claim, DONE),
        "acknowledged": data_of(acknowledged) if acknowledged else None,
    }
