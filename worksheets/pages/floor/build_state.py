"""What the builder's page shows: the match that is proposed and what moves where, the trim with each part's
drawing.

Plain values; every text is ready to be read, in the words of the command line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from truethrow.worksheets.pages.floor.state import OfJob

Stage: TypeAlias = Literal["fault", "weigh", "look", "search", "match", "accept", "grind", "again", "done"]


@dataclass(frozen=True)
class Again:
    """A part to weigh once more. name: what it is called; typed: as the bench is asked for it."""

    name: str
    typed: str


@dataclass(frozen=True)
class Doubt:
    """A reading to look at again. said: what is odd about it; how: what may be done, in words; again: what to
    weigh once more; right: what is sent to say that it is right, empty where nobody can; ask: what is asked."""

    said: str
    how: str
    again: tuple[Again, ...] = ()
    right: str = ""
    ask: str = ""


@dataclass(frozen=True)
class Move:
    """A part that trades places. take: which one, as it is marked and where it was weighed; mark: to write on it;
    start, goes: the cylinders from which and into which."""

    take: str
    mark: str
    start: str
    goes: str


@dataclass(frozen=True)
class Match:
    """A matching that waits, or was accepted. id: of its record; who: who proposed or accepted it,
    and when; why: what it brings, and whether that is proved best; compared: rows of what, before, after; against:
    why it cannot be accepted now; short: the caution right above what accepts it."""

    id: str
    who: str
    moves: tuple[Move, ...]
    why: tuple[str, ...] = ()
    compared: tuple[tuple[str, str, str], ...] = ()
    against: tuple[str, ...] = ()
    short: str = ""


@dataclass(frozen=True)
class Search:
    """How far a search is. said: which aim is at work, its value and its bound; percent: of that aim."""

    said: str = ""
    percent: int = 0


@dataclass(frozen=True)
class Cut:
    """One step of the plan. id: of the step, and of its record; part: whole name of what is cut there; where:
    which pad, empty where the part has one alone; grams: to take; done: who recorded it, empty where nobody did;
    record: the id of that record."""

    id: str
    part: str
    where: str
    grams: str
    done: str = ""
    record: str = ""


@dataclass(frozen=True)
class Part:
    """A part that metal comes off. key: in the address of its drawing; said: what the drawing shows, in words;
    reads: what it should read then, a text an end."""

    key: str
    name: str
    said: str
    cuts: tuple[Cut, ...]
    reads: tuple[str, ...]

    @property
    def is_done(self) -> bool:
        return all(cut.done for cut in self.cuts)


@dataclass(frozen=True)
class Trim:
    """A plan, by its name; caption: its sum; notes: what stands beside it; cautions; short: the one
    that belongs to the hand's next act, in a line."""

    plan: str
    caption: str
    parts: tuple[Part, ...]
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    short: str = ""

    @property
    def cuts(self) -> tuple[Cut, ...]:
        return tuple(cut for part in self.parts for cut in part.cuts)

    @property
    def done(self) -> int:
        return sum(bool(cut.done) for cut in self.cuts)


@dataclass(frozen=True)
class BuildState(OfJob):
    """The builder's page of a job. head: the number of the
    log's last record; stage: what is to be done now; lines: what stands against going on, or is to be weighed,
    a sentence each; doubts: what is to be looked at again; again: what to weigh once more all the same;
    candidates, shelves: the files of candidates beside the job, and how many of loose parts; is_in_book: there are
    no files beside it, but the stock of the book; said: how
    the last search ended; next_step: what comes next, in the words of `next`;
    may_match: whether a search makes sense now."""

    head: int = 0
    stage: Stage = "done"
    lines: tuple[str, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    again: tuple[Again, ...] = ()
    candidates: tuple[str, ...] = ()
    shelves: int = 0
    is_in_book: bool = False
    search: Search | None = None
    said: tuple[str, ...] = ()
    proposal: Match | None = None
    accepted: Match | None = None
    trim: Trim | None = None
    next_step: tuple[str, ...] = ()
    may_match: bool = False
