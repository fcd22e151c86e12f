"""What the shop's screens show: plain values, sent as JSON in events and filled into the pages.

Every text is ready to be read: rounded, with its unit, in the words of the command line. An empty text means that
there is nothing to say. The screens compute nothing.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any, Literal, TypeAlias

# What became of what lies on the scale, as the bench's loop has it.
Standing: TypeAlias = Literal[
    "empty", "settling", "stable", "early", "off", "held", "unsaved", "taken", "canceled"
]
# What a hand may do at a bench: some answer a question (yes, no), some go to the grinder and back (grind, weigh);
# confirm is at the builder's desk alone.
Action: TypeAlias = Literal[
    "take",
    "type",
    "again",
    "cancel",
    "skip",
    "back",
    "go",
    "take-over",
    "grind",
    "weigh",
    "readings",
    "yes",
    "no",
    "confirm",
]
Role: TypeAlias = Literal["owner", "bench", "builder", "station", "viewer"]


@dataclass(frozen=True)
class OfJob:
    """What is of one job. job: its name in addresses; name: what people call it, where that is another."""

    job: str
    title: str
    name: str = field(default="", kw_only=True)

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", self.name or self.job)


@dataclass(frozen=True)
class BoardRow(OfJob):
    """An open job. step: what comes next, in the words of `next`; blocked: what blocks it; due, who, changed:
    when, whose, and when its last record was written; bench: who is weighing now; notes: what else is to be known
    of it."""

    title: str = ""
    engine: str = ""
    step: str = ""
    blocked: str = ""
    due: str = ""
    who: str = ""
    changed: str = ""
    bench: str = ""
    notes: str = ""


@dataclass(frozen=True)
class Board:
    """place: the book or folder it is of; rows: one an open job; head: grows with each change, an event's id;
    late: of rows, the ids of jobs whose day is past; faults: why the shop itself cannot be read."""

    place: str
    rows: tuple[BoardRow, ...] = ()
    head: int = 0
    late: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()


@dataclass(frozen=True)
class Live:
    """What the scale says now; the same whether it comes ten times a second or with the whole bench.
    text: the largest figure on the screen, a reading; at the grinder what is still to take, or STOP; empty: blank;
    unit: behind it; said: what that is, in words (moving …; g to go at the crown; taken, lift it off);
    to_go: whether text is what is still to take, not what the scale shows; stop: whether nothing more is to be
    taken off; stable: whether the scale rests."""

    text: str = ""
    unit: str = ""
    said: str = ""
    standing: Standing = "empty"
    stable: bool = False
    to_go: bool = False
    stop: bool = False


@dataclass(frozen=True)
class Row:
    """A cylinder. name: of its part of the kind at hand, as it is marked; readings: a text a kind, as the kinds
    are; flag: what looks wrong with the part of the kind at hand; is_now: whether that is to be put on; cylinder:
    its number; names, typed: of its part of each kind, as it is marked, and as it is typed to mean no other;
    more: how often each was weighed, where that is more than once."""

    name: str
    readings: tuple[str, ...]
    is_now: bool = False
    flag: str = ""
    cylinder: int = 0
    names: tuple[str, ...] = ()
    typed: tuple[str, ...] = ()
    more: tuple[str, ...] = ()


@dataclass(frozen=True)
class Answer:
    """A button under a question: what is sent (action and why), and what it says; of: what it is about, where
    that is not what the question is about."""

    action: Action
    text: str
    why: str = ""
    of: str = ""


@dataclass(frozen=True)
class Question:
    """Something only a person can tell. of: what it is about, sent back as it came; free: whether a reason may be
    typed, too (sent as why, with the action of the first answer); who: whose initials are typed with it (sent as
    typed), empty for nobody's."""

    of: str
    ask: str
    answers: tuple[Answer, ...]
    free: bool = False
    who: str = ""


@dataclass(frozen=True)
class Answered:
    """A question that nobody has to answer any more. of: of which; said: who answered it, and what."""

    of: str
    said: str


@dataclass(frozen=True)
class Told:
    """A piece of what a command tells: a line, a strong one, a caution, a heading, or a table with its columns,
    its rows, and which columns stand left."""

    kind: str
    text: str
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    left: tuple[bool, ...] = ()


@dataclass(frozen=True)
class Ahead:
    """What lies ahead of a job, to be read. job: its name in addresses; what: candidates, shelf or what-if; asked:
    what it was worked out for; told: all that the command tells; fault: why nothing is; count: of
    candidates; is_done: whether it is worked out, if it was asked for."""

    job: str
    what: str
    asked: dict[str, str]
    told: tuple[Told, ...] = ()
    fault: str = ""
    count: int = 0
    is_done: bool = True


@dataclass(frozen=True)
class News:
    """What is to be heard and seen across the shop, once: number grows by one with each; said: it in
    words."""

    number: int = 0
    what: Literal["", "taken", "refused"] = ""
    said: str = ""


@dataclass(frozen=True)
class BenchState(OfJob):
    """A bench as it is now.

    head: the number of the log's last record, the event's id; step_id: names the step that is asked for, sent back
    with what is done; step: the part in large letters, by its label; step_note: its whole name, where it goes;
    counted: 3 of 72; hold: why nothing is taken now, and what to do; target: what the part is to read (grinder);
    caution: before metal comes off; flags: what looks wrong with the last reading; doubts: with what lies on the
    scale; taken: the last reading, in words; messages: what happened, newest last; kinds: the heads of the rows'
    readings; column: which of them is weighed now, -1: none; spread: of the kind at hand, with its limit and
    verdict; may: what a hand may do now; scale: "" where there is none, live, lost; taker: the id of the device
    that takes, taker_name: as people call it; saved: whether all that was taken is on the disk; unsaved: what is
    not; unit: in which a number is typed; is_part: whether the step is a part, and not a check or the end;
    bell: whether the bench is to be heard; ended: why nothing more can be taken; next_step: what comes after
    the bench; turn: whether that is at the grinder, or back from there; notes: what else is to be known of the
    job; answered: the last questions that were."""

    head: int
    step_id: str
    step: str
    step_note: str = ""
    counted: str = ""
    live: Live = Live()
    hold: str = ""
    target: str = ""
    caution: str = ""
    flags: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    taken: str = ""
    messages: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    column: int = -1
    rows: tuple[Row, ...] = ()
    spread: str = ""
    may: tuple[Action, ...] = ()
    scale: Literal["", "live", "lost"] = ""
    taker: str = ""
    taker_name: str = ""
    saved: bool = True
    unsaved: str = ""
    question: Question | None = None
    news: News = News()
    unit: str = "g"
    grinding: bool = False
    is_part: bool = True
    bell: bool = True
    ended: str = ""
    next_step: str = ""
    turn: bool = False
    notes: tuple[str, ...] = ()
    answered: tuple[Answered, ...] = ()


@dataclass(frozen=True)
class Done:
    """What a bench answers to what was done: ok: whether it is recorded; said: in the words of the command line;
    question: what is to be answered first; state: the bench after it, None where that cannot be told; is_warning:
    that it is recorded, and is to be looked at all the same: something is wrong, or it was
    recorded before and nothing was now."""

    ok: bool
    said: str = ""
    question: Question | None = None
    state: BenchState | None = None
    is_warning: bool = False


@dataclass(frozen=True)
class Pairing:
    """What the shop computer shows to let a device in: code, with the address and its QR code as SVG; until: how
    long it is good; role: what the device may; fault: why the last attempt failed."""

    code: str = ""
    address: str = ""
    qr: str = ""
    until: str = ""
    role: Role = "viewer"
    fault: str = ""


@dataclass(frozen=True)
class CardNow:
    """What became of a card on paper. code: as it was typed; said: the verdict, in the words of `current`, empty
    where none was asked for; is_current: whether it is still good; fault: why that cannot be told."""

    code: str = ""
    said: str = ""
    is_current: bool = False
    fault: str = ""


@dataclass(frozen=True)
class PrintedCard:
    """A card that was made. kind: which; said: what `current` says of it; is_current: whether it is still good."""

    kind: str
    said: str
    is_current: bool = False


@dataclass(frozen=True)
class Cards(OfJob):
    """The printed cards of a job. fault: why none were made just now, or why they cannot be told."""

    cards: tuple[PrintedCard, ...] = ()
    fault: str = ""


@dataclass(frozen=True)
class Device:
    """One that was let in. is_this: the one whose screen this is; name: initials or what it is called."""

    id: str
    name: str
    role: Role
    paired: str
    seen: str
    is_this: bool = False


def as_data(value: Board | BenchState | Live | Done | Question) -> dict[str, Any]:
    """As json takes it."""
    return asdict(value)
