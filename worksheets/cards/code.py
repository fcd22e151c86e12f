"""A card's digest and the text of its QR code: job, kind of card, the job's digest and the card's own.

    truethrow:launch-7:bobweight:1f6e0d2c9a40:88c1f02b6e

The card's digest covers all its data, so a card is old as soon as one of its figures is; not its date, its
units and its paper.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any, NamedTuple, cast, get_args
from urllib.parse import quote, unquote

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.worksheets.cards.card import KINDS, CardKind

PREFIX = "truethrow"
DIGITS = 10


class Code(NamedTuple):
    """What a QR code says. station: whether the card is what it is by a balancing station's profile."""

    job_id: str
    kind: CardKind
    job_digest: str
    digest: str
    station: bool = False

    def __str__(self) -> str:
        fields = (PREFIX, quote(self.job_id, safe=""), self.kind, self.job_digest, self.digest)
        return ":".join((*fields, "station") if self.station else fields)


def digest(data: dict[str, Any]) -> str:
    """The digest of a card's data."""
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:DIGITS]


def parse(text: str) -> Code:
    """What the text of a card's code says. Raises BadInput for what is no such text."""
    fields = text.strip().split(":")
    station = len(fields) == 6 and fields[5] == "station"
    if fields[0] != PREFIX or len(fields) != 5 + station or fields[2] not in get_args(CardKind):
        allowed = f"the text of a card's code: {PREFIX}:JOB:{'|'.join(KINDS)}:DIGEST:DIGEST"
        raise BadInput([Fault("CODE", f"{shown(text)!r} is none", allowed)])
    return Code(unquote(fields[1]), cast("CardKind", fields[2]), fields[3], fields[4], station)
