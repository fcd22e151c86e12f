"""A log edited by hand: what somebody who knows the format does to its lines, each line sealed anew where he cares
to.

Each edit takes the lines of a log and those of another job's, and gives what is left of the first. The log begins,
and then has a reading, two cuts, a strike and two readings."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable

from truethrow.balance.log.log import Log
from truethrow.balance.log.records import Cut, Struck, Weighed

Lines = list[bytes]


def fill(log: Log) -> None:
    """Write those records into a log."""
    log.append(Weighed(1, "piston", 538.4, "538.4"))
    log.append(Cut(2, "piston", 1.0, "p1"))
    cut = log.append(Cut(3, "piston", 1.5, "p1"))
    log.append(Struck(cut.id, why="not ground yet"))
    log.append(Weighed(2, "piston", 537.4, "537.4"))
    log.append(Weighed(3, "piston", 537.5, "537.5"))


def sealed_again(line: bytes, after: bytes = b"", n: int | None = None) -> bytes:
    """A line with the seal of what it says now; after: of another line than before; n: another number."""
    text = line.partition(b',"seal":"')[0]
    if after:
        text = re.sub(rb'"after":"[0-9a-f]{32}"', b'"after":"' + seal(after) + b'"', text)
    if n is not None:
        text = re.sub(rb'"n":\d+', b'"n":%d' % n, text)
    return text + b',"seal":"' + hashlib.sha256(text).hexdigest()[:32].encode() + b'"}'


def seal(line: bytes) -> bytes:
    return json.loads(line)["seal"].encode()


def all_sealed_again(lines: Lines, start: int) -> Lines:
    """Every line from one on with its number and seal made anew, so that the chain holds."""
    made = lines[:start]
    for n, line in enumerate(lines[start:], start=start):
        made.append(sealed_again(line, made[-1] if made else b"", n))
    return made


def changed(line: bytes) -> bytes:
    """A line that says another weight."""
    made = line.replace(b'"grams":1.5', b'"grams":0.5')
    assert made != line
    return made


def begun_changed(line: bytes) -> bytes:
    made = line.replace(b'"job":"launch-7"', b'"job":"pump-2"')
    assert made != line
    return made


def of_this_log(line: bytes, like: bytes, n: int) -> bytes:
    """Another log's line made to look as if it belonged here."""
    log = json.loads(like)["log"].encode()
    return sealed_again(re.sub(rb'"log":"[0-9a-f]{16}"', b'"log":"' + log + b'"', line), like, n)


MIDDLE, LAST = 3, 6  # of seven lines
Edit = Callable[[Lines, Lines], Lines]
# What the log itself tells, whoever opens it.
FOUND_BY_THE_LOG: dict[str, Edit] = {
    "one removed in the middle": lambda own, _: own[:MIDDLE] + own[MIDDLE + 1 :],
    "two removed in the middle": lambda own, _: own[:2] + own[4:],
    "the first line removed": lambda own, _: own[1:],
    "one of another job put in": lambda own, other: [*own[:MIDDLE], other[2], *own[MIDDLE:]],
    "one of another job put at the end": lambda own, other: [*own, other[2]],
    "one of another job put at the start": lambda own, other: [other[2], *own],
    "another job's whole log put behind": lambda own, other: [*own, *other],
    "one of another job put in, sealed as of this log": lambda own, other: [
        *own[:MIDDLE],
        of_this_log(other[2], own[MIDDLE - 1], MIDDLE),
        *own[MIDDLE:],
    ],
    "two swapped": lambda own, _: [*own[:2], own[3], own[2], *own[4:]],
    "one changed": lambda own, _: [*own[:MIDDLE], changed(own[MIDDLE]), *own[MIDDLE + 1 :]],
    "one changed and sealed again": lambda own, _: [
        *own[:MIDDLE],
        sealed_again(changed(own[MIDDLE])),
        *own[MIDDLE + 1 :],
    ],
    "one removed, those behind it numbered anew": lambda own, _: [
        *own[:MIDDLE],
        *(sealed_again(line, n=n) for n, line in enumerate(own[MIDDLE + 1 :], start=MIDDLE)),
    ],
    "the first line changed and sealed again": lambda own, _: [sealed_again(begun_changed(own[0])), *own[1:]],
}
# What holds together in itself: only what was kept apart from it tells, the book's row, a backup, or paper.
FOUND_FROM_OUTSIDE: dict[str, Edit] = {
    "the last one removed": lambda own, _: own[:LAST],
    "the last three removed": lambda own, _: own[:MIDDLE],
    "all removed": lambda *_: [],
    "the last one changed and sealed again": lambda own, _: [
        *own[:LAST],
        sealed_again(own[LAST].replace(b"537.5", b"535.5")),
    ],
    "one changed, all behind it sealed again": lambda own, _: all_sealed_again(
        [*own[:MIDDLE], changed(own[MIDDLE]), *own[MIDDLE + 1 :]], MIDDLE
    ),
    "one removed, all behind it sealed again": lambda own, _: all_sealed_again(
        own[:MIDDLE] + own[MIDDLE + 1 :], MIDDLE
    ),
    "one removed of another's log instead": lambda _, other: other,
}
