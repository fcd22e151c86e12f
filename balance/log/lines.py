"""A record as a line of the log's file, and back. Each line ends with a checksum of the text before it."""

from __future__ import annotations

import json
import math
import zlib
from collections.abc import Iterator
from typing import Any

from truethrow.balance.log.records import DAMAGED, Record


def raw_of(record: Record) -> bytes:
    """The bytes of a damaged line, without its end."""
    return record.typed.encode("ascii").decode("unicode_escape").encode("latin-1")


_SEAL = b',"crc":"%08x"}'


_SEAL_LENGTH = len(_SEAL % 0)


_START = b'{"id":"'  # cannot stand inside a line's own texts: there each quote has a backslash before it


def line(record: Record) -> bytes:
    """A record as it stands in the file: what is empty is left out, and the checksum comes last. A damaged line as
    it is."""
    if record.action == DAMAGED:
        return raw_of(record) + b"\n"
    said = {name: value for name, value in zip(Record._fields, record, strict=True) if value not in ("", None)}
    text = json.dumps({"id": record.id} | said, separators=(",", ":"), allow_nan=False)[:-1].encode("ascii")
    return text + _SEAL % zlib.crc32(text) + b"\n"


def _sealed(text: bytes) -> bool:
    return text[-_SEAL_LENGTH:] == _SEAL % zlib.crc32(text[:-_SEAL_LENGTH])


def record_in(text: bytes) -> Record | None:
    """The record of a line without its end, None where its checksum does not fit."""
    return _record(text) if _sealed(text) else None


# What may be missing behind a line that was broken off within its last name, number or text.
_ENDS = (b"}", b'"}', b'":0}', b":0}", b"0}", b'"":0}', b'""}', b'0"}', b'00"}', b'000"}', b'0000"}')


def _is_torn(text: bytes) -> bool:
    """Whether a line is the beginning of one whose writing was broken off, of which nobody was told that it is
    safe; and not a whole one that says something else now."""
    said, seal, end = text.rpartition(_SEAL[:8])
    if seal:
        whole = (_SEAL % zlib.crc32(said))[len(seal) :]
        return end != whole and whole.startswith(end)
    return _START.startswith(text) or (not _is_json(text) and any(_is_json(text + more) for more in _ENDS))


def _is_json(text: bytes) -> bool:
    try:
        return isinstance(json.loads(text), dict)
    except (ValueError, RecursionError):
        return False


def _pieces(text: bytes) -> Iterator[bytes]:
    """The whole records inside a damaged line: where the line end was hit, it holds two lines."""
    for rest in text.split(_START)[1:]:
        piece = _START + rest
        end = piece.find(_SEAL[:8])  # the first: inside the record's texts its quotes would have a backslash
        if end > 0 and _sealed(piece[: end + _SEAL_LENGTH]):
            yield piece[: end + _SEAL_LENGTH]


def _refused(constant: str) -> float:
    raise ValueError(f"{constant} is no number of grams")


_decode = json.JSONDecoder(parse_constant=_refused).raw_decode  # a third quicker than decode


def _record(text: bytes) -> Record | None:
    """The record of a line whose checksum fits; None where it is none all the same, by another's hand."""
    try:
        said: dict[str, Any] = _decode(text.decode("ascii"))[0]
        get = said.get
        words = (said["id"], get("at", ""), get("bench", ""), get("by", ""), said["action"])
        more = (get("kind", ""), get("typed", ""), get("of", ""), get("why", ""))
        "".join(words + more)  # a TypeError unless every one of them is a text
        cylinder, grams = get("cylinder"), get("grams")
        if grams is not None:
            grams = float(grams)
            if not math.isfinite(grams):
                return None
        if cylinder is not None and type(cylinder) is not int:
            return None
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError, RecursionError):
        return None
    return Record(*words, cylinder, more[0], grams, *more[1:])
