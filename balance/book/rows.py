"""What all rows of the book have: a time, a seal."""

from __future__ import annotations

import math
import struct
from collections.abc import Mapping
from hashlib import sha256
from typing import Any

from sqlalchemy import RowMapping

from truethrow.balance.log import log

now = log.now
DIGITS = 16


def seal(row: Mapping[str, Any] | RowMapping) -> str:
    """The checksum of a row, its own seal aside; of the values in the order of their names. A server makes the
    same one (functions.py, row_seal). Raises TypeError, ValueError for a value that no row has."""
    said = "".join(f"{name}:{_said(row[name])}" for name in sorted(row.keys()) if name != "seal")
    return sha256(said.encode()).hexdigest()[:DIGITS]


def is_sealed(row: Mapping[str, Any] | RowMapping) -> bool:
    """Whether a row has the seal that fits it."""
    try:
        return seal(row) == str(row["seal"])
    except (TypeError, ValueError):  # a value that no row has
        return False


def _said(value: Any) -> str:
    """A value as a seal covers it: with its length, so that two rows never read alike; a number to its last
    bit."""
    if value is None:
        return "-,"
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"{value} is no number that a row has")
        value = struct.pack(">d", value).hex()
    if not isinstance(value, str | int):
        raise TypeError(f"{type(value)} is no value of a row")
    return f"{len(str(value))}:{value},"


def sealed(**row: Any) -> dict[str, Any]:
    """A row with its seal."""
    return row | {"seal": seal(row)}
