"""What is to be looked at again before anything is ground, for a page: each reading with its part at the bench,
and a word that it is right, by the function of `confirm`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from truethrow.balance.base.parts import BY_NAME
from truethrow.balance.result import doubts
from truethrow.balance.result.big_cuts import BIG_CUT
from truethrow.cli.common import part_named
from truethrow.worksheets.pages.floor.build_state import Again, Doubt
from truethrow.worksheets.words import build_words as words
from truethrow.worksheets.words import result_words

if TYPE_CHECKING:
    from truethrow.balance.job.job import Job
    from truethrow.balance.log.place import Snapshot
    from truethrow.balance.result.doubts import WayOut
    from truethrow.balance.result.slips import Slip
    from truethrow.balance.result.work import Result
    from truethrow.worksheets.shown.display import Display


def doubts_of(result: Result, display: Display) -> tuple[Doubt, ...]:
    """Each reading that holds the trim back, in the order in which `trim` tells them."""
    job = result.job
    found = []
    for slip in result.doubts:
        said = result_words.slip_alone(slip, display, job.names, "")
        found.append(_doubt(job, said, _how(slip), doubts.ways_out(slip)))
    if result.once_more or result.unsure:
        said = words.TWICE.format(parts=", ".join(doubts.parts_in_doubt(result)))
        for_a_big_cut = words.FOR_A_BIG_CUT.format(share=f"{BIG_CUT:.0%}")
        how = words.FOR_THE_PLUS_MINUS if result.unsure else for_a_big_cut
        found.append(_doubt(job, said, how, doubts.once_more(result)))
    for grind in result.of_no_cut:
        places = tuple((grind.cylinder, kind) for kind in grind.after)
        said = result_words.doubted(grind, display, job.names)
        found.append(_doubt(job, said, words.OF_NO_CUT, doubts.WayOut(places)))
    return tuple(found)


def to_settle(result: Result) -> tuple[Again, ...]:
    """The parts of which a second weighing would settle what is too close to call."""
    return _again(result.job, result.to_settle)


def confirm(place: Snapshot, asked: str, why: str, by: str) -> bool:
    """Record that readings are right; False where they are no longer those that were asked about. asked: the
    `right` of a doubt. Raises BadInput and NotSaved as `confirm` does."""
    from truethrow.worksheets.cards.known import load  # noqa: PLC0415 (numpy, by way of the station)

    if (result := load(place).result) is None:
        return False
    job = result.job
    ways = [*map(doubts.ways_out, result.doubts), doubts.once_more(result)]
    way = next((one for one in ways if one.right and _right(job, one) == asked), None)
    if way is None:
        return False
    for cylinder, kinds in way.right:
        part = doubts.part_of(kinds)
        named = part_named(job.names.typed(part, cylinder).split()) if cylinder else (part, "all")
        doubts.confirm(place, *named, why, by)
    return True


def _doubt(job: Job, said: str, how: str, way: WayOut) -> Doubt:
    right = _right(job, way) if way.right else ""
    whose = ", ".join(doubts.said(job, kinds, cylinder or None) for cylinder, kinds in way.right)
    reads = "; ".join(_read(job, cylinder, kinds) for cylinder, kinds in way.right)
    return Doubt(said, how, _again(job, way.again), right, words.ASK_RIGHT.format(part=whose, reads=reads))


def _how(slip: Slip) -> str:
    if slip.is_a_pair:
        return words.EITHER
    if slip.heaps:
        return words.ONE_SET
    if slip.check == "repeats":
        return words.WRONG_ONE if slip.cylinder else words.IN_THE_JOB
    return words.ONE_READING if slip.cylinder else words.OF_ALL


def _again(job: Job, places: Sequence[tuple[int, str]]) -> tuple[Again, ...]:
    at = [(cylinder, kind) for cylinder, kind in places if BY_NAME[kind].motion != "check"]
    return tuple(Again(job.names.said(kind, cylinder), job.names.typed(kind, cylinder)) for cylinder, kind in at)


def _right(job: Job, way: WayOut) -> str:
    """What a yes is about: the parts, and what they read when it was asked for."""
    return "; ".join(
        f"{cylinder} {' '.join(kinds)} {_read(job, cylinder, kinds)}" for cylinder, kinds in way.right
    )


def _read(job: Job, cylinder: int, kinds: Sequence[str]) -> str:
    return " and ".join(_typed(job, cylinder, kinds))


def _typed(job: Job, cylinder: int, kinds: Sequence[str]) -> Iterator[str]:
    own = job.parts[cylinder] if cylinder else next(iter(job.parts.values()))
    for kind in kinds:
        yield ", ".join(own[kind].typed)
