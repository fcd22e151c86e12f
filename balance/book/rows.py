"""What all rows of the book have: a time, a seal."""

from __future__ import annotations

import json
import zlib
from collections.abc import Mapping
from typing import Any

from sqlalchemy import RowMapping

from truethrow.balance.log import log

now = log.now


def seal(row: Mapping[str, Any] | RowMapping) -> str:
    """The checksum of a row, its own seal aside; of the values in the order of their names."""
    said = {name: row[name] for name in sorted(row.keys()) if name != "seal"}
    return f"{zlib.crc32(json.dumps(said, separators=(',', ':'), allow_nan=False).encode()):08x}"


STATE = ("state", "blocked", "digest", "state_revision", "state_seq", "state_rules")


def state_seal(row: Mapping[str, Any] | RowMapping) -> str:
    """The checksum of where a job's row says that it stands."""
    return seal({name: row[name] for name in ("id", *STATE)})


def sealed(**row: Any) -> dict[str, Any]:
    """A row with its seal."""
    return row | {"seal": seal(row)}
