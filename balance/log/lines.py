"""A record as a line of the log's file, and back.

Each line ends with its place and its seal:

    …,"n":12,"log":"5f0c31a2b4d67e90","after":"<32 digits>","seal":"<32 digits>"}

n: its number in its log, from 0; log: the log's own id, by chance; after: the seal of the sound record before it
in that log, zeros for the first; seal: the first 32 hexadecimal digits of the SHA-256 of all that stands before it
in the line. So a line can be checked by itself, and none can be taken out, put elsewhere or changed without a
trace (chain.py). A shell says the same of the last line:

    tail -n 1 launch.readings.jsonl | sed 's/,"seal":.*//' | tr -d '\\n' | sha256sum | cut -c 1-32
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import MISSING, fields
from hashlib import sha256
from typing import Any, NamedTuple

from truethrow.balance.log.records import HEAD, KINDS, Damaged, Left, Metal, ReadBy, Record, Run, own_names

FORMAT = 1
DIGITS = 32
FIRST = "0" * DIGITS  # what the first line of a log comes after
_MARK = b',"seal":"'
SEAL_LENGTH = len(_MARK) + DIGITS + len(b'"}')
_START = b'{"id":"'  # cannot stand inside a line's own texts: there each quote has a backslash before it
_PLACE = re.compile(
    rb',"n":(0|[1-9][0-9]{0,8}),"log":"([0-9a-f]{16})","after":"([0-9a-f]{32})","seal":"([0-9a-f]{32})"}'
)
_PLACE_LENGTH = len(b',"n":123456789,"log":"","after":""') + 16 + DIGITS + SEAL_LENGTH


class Link(NamedTuple):
    """Where a line stands, and its seal. n: its number in its log, from 0; after: the seal of the one before
    it."""

    log: str
    n: int
    after: str
    seal: str


def seal_of(text: bytes) -> str:
    """The seal of a line, of the text before it."""
    return sha256(text).hexdigest()[:DIGITS]


def tail(n: int, log: str, after: str) -> str:
    """How a line ends, up to its seal."""
    return f',"n":{n},"log":"{log}","after":"{after}"'


def sealed(record: Record, log: str, n: int, after: str) -> bytes:
    """A record as a line, without its end: what is empty, or as it is unless said, is left out, and its place and
    its seal come last. Raises ValueError for a number that is none."""
    said = json.dumps(_said(record), separators=(",", ":"), allow_nan=False)[:-1]
    text = (said + tail(n, log, after)).encode("ascii")
    return text + _MARK + seal_of(text).encode("ascii") + b'"}'


def link_of(raw: bytes) -> Link:
    """Where a line with a fitting seal stands. Raises ValueError for one that does not say."""
    found = _PLACE.search(raw, max(0, len(raw) - _PLACE_LENGTH))
    if found is None or found.end() != len(raw):
        raise ValueError("has no place in a log")
    n, log, after, seal = (part.decode("ascii") for part in found.groups())
    return Link(log, int(n), after, seal)


def parted(raw: bytes) -> tuple[str, str]:
    """The text of a line, JSON by itself, and its seal; of one that has none, all of it and nothing."""
    said, mark, seal = raw.decode("latin-1").rpartition(_MARK.decode())
    return (said + "}", seal.removesuffix('"}')) if mark else (seal, "")


def joined(text: str, seal: str) -> bytes:
    """The line of a text and its seal, without its end."""
    return f'{text[:-1]}{_MARK.decode()}{seal}"}}'.encode(errors="backslashreplace")


def as_data(record: Record) -> dict[str, Any]:
    """A record as plain data, with what is empty."""
    own = {name: _plain(getattr(record, name)) for name in own_names(type(record))}
    head = {name: getattr(record, name) for name in HEAD}
    also = {"raw": _plain(record.raw)} if isinstance(record, Damaged) else {}
    return head | {"action": record.action} | own | also


def _said(record: Record) -> dict[str, Any]:
    said = {"id": record.id, "at": record.at, "bench": record.bench, "by": record.by, "action": record.action}
    said |= {name: getattr(record, name) for name in own_names(type(record))}
    said["why"] = record.why
    usual = {one.name: one.default for one in fields(record)}
    return {name: _plain(value) for name, value in said.items() if value not in ("", None, usual.get(name))}


def _plain(value: Any) -> Any:
    if isinstance(value, ReadBy | Left):
        return {name: one for name, one in value._asdict().items() if one is not None}
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if isinstance(value, Mapping):
        return {str(name): _plain(one) for name, one in value.items()}
    return value.decode("latin-1") if isinstance(value, bytes) else value


def is_sealed(text: bytes) -> bool:
    """Whether a line, without its end, has the seal of what it says."""
    mark = len(text) - SEAL_LENGTH
    return text[mark:] == _MARK + seal_of(text[:mark]).encode("ascii") + b'"}' if mark > 0 else False


def record_in(text: bytes) -> Record | None:
    """The record of a line without its end, None where its seal does not fit."""
    return record_of(text) if is_sealed(text) else None


# What may be missing behind a line that was broken off within its last name, number or text, and the lists and
# objects that are open there.
_INSIDE = (
    *(b"", b'"', b'":0', b":0", b"0", b'"":0', b'""', b'0"', b'00"', b'000"', b'0000"'),
    *(b"rue", b"ue", b"e", b"alse", b"lse", b"se"),
)
_OUTSIDE = (b"}", b"]}", b"}}", b"]]}", b"}]}", b"}}}")


def is_torn(text: bytes) -> bool:
    """Whether a line is the beginning of one whose writing was broken off, of which nobody was told that it is
    safe; and not a whole one that says something else now."""
    said, seal, end = text.rpartition(_MARK)
    if seal:
        whole = seal_of(said).encode("ascii") + b'"}'
        return end != whole and whole.startswith(end)
    if _START.startswith(text):
        return True
    return not _is_json(text) and any(_is_json(text + more + end) for end in _OUTSIDE for more in _INSIDE)


def _is_json(text: bytes) -> bool:
    try:
        return isinstance(json.loads(text), dict)
    except (ValueError, RecursionError):
        return False


def pieces(text: bytes) -> Iterator[bytes]:
    """The whole records inside a damaged line: where the line end was hit, it holds two lines."""
    for rest in text.split(_START)[1:]:
        piece = _START + rest
        end = piece.find(_MARK)  # the first: inside the record's texts its quotes would have a backslash
        if end > 0 and is_sealed(piece[: end + SEAL_LENGTH]):
            yield piece[: end + SEAL_LENGTH]


def _refused(constant: str) -> float:
    raise ValueError(f"{constant} is no number")


_decode = json.JSONDecoder(parse_constant=_refused).raw_decode  # a third quicker than decode


def record_of(raw: bytes, text: str = "") -> Record | None:
    """The record of a line whose seal fits; None where it is none all the same, by another's hand. text: what it
    says, where that is known already, with or without its place and its seal."""
    try:
        return _made(_decode(text or raw.decode("ascii"))[0], raw)
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError, RecursionError):
        return None


def _made(said: dict[str, Any], raw: bytes) -> Record:
    """The record that a line says. Words of a later version are passed over. Raises one of the errors that
    record_of takes for none."""
    kind, names, plain, floats, readers = _SHAPES.get(action := said["action"]) or _shape(action)
    get = said.get
    own: list[Any] = [get(name) for name in names]
    if [*map(type, own)] != plain:  # nearly all are as they should be, and are not looked at one by one
        own = [read(value) for read, value in zip(readers, own, strict=True)]
    for at in floats:
        if not math.isfinite(own[at]):
            raise ValueError("is no number")
    head = (said["id"], get("at", ""), get("bench", ""), get("by", ""), get("why", ""))
    "".join(head)  # a TypeError unless every one of them is a text
    return kind(*own, id=head[0], at=head[1], bench=head[2], by=head[3], why=head[4], raw=raw)


class _Shape(NamedTuple):
    """What a line of a kind must have. plain: the types of its fields where each is a text or a number of its own
    kind; floats: which of them are to be finite; readers: what makes a field of what the line has, None where it
    has none."""

    kind: Callable[..., Record]
    names: tuple[str, ...]
    plain: list[type]
    floats: tuple[int, ...]
    readers: tuple[Callable[[Any], Any], ...]


_SHAPES: dict[str, _Shape] = {}


def _shape(action: str) -> _Shape:
    kind = KINDS[action]
    own = [one for one in fields(kind) if one.name in own_names(kind)]
    plain = [_PLAIN.get(str(one.type), object) for one in own]
    readers = [_reader(str(one.type), one.default) for one in own]
    floats = tuple(at for at, one in enumerate(own) if one.type == "float")
    made = _Shape(kind, tuple(one.name for one in own), plain, floats, tuple(readers))
    return _SHAPES.setdefault(action, made)


def _reader(hint: str, default: Any) -> Callable[[Any], Any]:
    read = _READERS[hint]
    missing = "" if hint == "str" else default
    return lambda value: missing if value is None and missing is not MISSING else read(value)


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError
    return value


def _whole(value: Any) -> int:
    if type(value) is not int:
        raise TypeError
    return value


def _number(value: Any) -> float:
    if type(value) not in (int, float) or not math.isfinite(found := float(value)):
        raise TypeError
    return found


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise TypeError
    return value


def _moves(value: Any) -> dict[str, dict[int, int]]:
    return {unit: {int(start): _whole(to) for start, to in own.items()} for unit, own in value.items()}


def _run(value: Any) -> Run:
    run = Run(*map(_text, value))
    if not all(math.isfinite(float(one)) for one in run):
        raise ValueError("is no run")
    return run


def _metal(value: Any) -> Metal:
    name, key, figure = value
    return Metal(_text(name), _text(key), _number(figure))


def _read_by(value: Any) -> ReadBy:
    readers: dict[str, Callable[[Any], Any]] = dict.fromkeys(ReadBy._fields, _number)
    readers |= _OF_READ_BY
    made: dict[str, Any] = {name: read(value.get(name)) for name, read in readers.items()}
    return ReadBy(**made)


def _left(value: Any) -> Left:
    usual = Left._field_defaults
    return Left(_text(value["plane"]), *(_number(value.get(name, usual.get(name))) for name in Left._fields[1:]))


_OF_READ_BY: dict[str, Callable[[Any], Any]] = {
    "unit": _text,
    "radius_mm": lambda value: None if value is None else _number(value),
    "with_rotation": _truth,
    "basis": _text,
    "revision": _text,
}
_PLAIN = {"str": str, "int": int, "float": float}
_READERS: dict[str, Callable[[Any], Any]] = {
    "str": _text,
    "bool": _truth,
    "int": _whole,
    "int | None": lambda value: None if value is None else _whole(value),
    "float": _number,
    "Moves": _moves,
    "ReadBy": _read_by,
    "tuple[str, ...]": lambda value: tuple(map(_text, value)),
    "tuple[float, ...]": lambda value: tuple(map(_number, value)),
    "tuple[Run, ...]": lambda value: tuple(map(_run, value)),
    "tuple[Left, ...]": lambda value: tuple(map(_left, value)),
    "tuple[Metal, ...]": lambda value: tuple(map(_metal, value)),
}
