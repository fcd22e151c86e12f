"""The records of a job's log, and what they say taken in order. Where the log is kept, is log.py's matter.

Readings belong to their part. The log says also where the parts sit (a trade moves them) and where metal came
off (a cut makes the part's earlier readings history), so what counts is a replay of all of it, in order.

Only light modules of the standard library are imported here: the bench starts with this.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

# At the balancing station: a spin, a hole done, a test mass, going on without one, a sign-off. They leave the
# readings as they are.
STATION_ACTIONS = ("spin", "hole", "test", "unproved", "sign")
# What became of a damaged line, as somebody said; and the damaged line itself, in its place (damage.py).
ACKNOWLEDGE, DAMAGED = "acknowledge", "damaged"
ACTIONS = (
    *("read", "strike", "skip", "zero", "reference", "propose", "seat", "cut", "confirm"),
    *(*STATION_ACTIONS, ACKNOWLEDGE),
)
LARGEST_CYLINDER = 99
AGAIN = "-again"


class Record(NamedTuple):
    """One line. at: UTC; by: initials, may be empty; cylinder: 0 = the reading stands for every cylinder;
    kind: of a cut, its pad, of a hole, its kind, of a test mass, its plane, of a spin, whether it was turned, of
    going on unproved, whether to drill or to sign; grams: of a cut, what was asked for there, of a confirmation,
    the reading; typed: the reading as it came, the moves of trades, or what the balancing station did
    (balancing.py); of: the id that a strike takes out, the proposal that a trade accepts, the spin that a hole, a
    test mass, going on unproved or a sign-off belongs to, or the digest of the job that a proposal was made for or
    that was spun; why: in the words of the bench. Of an acknowledgement: of, the damaged line's, kind, what became
    of it, typed, its number. Of a damaged line: typed, its bytes, of, its number."""

    id: str
    at: str
    bench: str
    by: str
    action: str
    cylinder: int | None
    kind: str
    grams: float | None
    typed: str
    of: str
    why: str


def struck_ids(records: Iterable[Record]) -> set[str]:
    """The ids of what is struck out."""
    return {record.of for record in records if record.action == "strike"}


def again_id(line: Record) -> str:
    """The id of the record that was written again for a damaged line: it stands right behind it."""
    return line.id + AGAIN
