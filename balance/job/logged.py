"""What the log of the bench says of the parts, as a sheet: the readings that count, where their parts sit now."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from truethrow.balance.base import fields
from truethrow.balance.base.amounts import ToldIn, reach
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.fields import Typed, Units, reading_allowed
from truethrow.balance.base.parts import BY_NAME, label
from truethrow.balance.base.readings import tidy
from truethrow.balance.base.units import MASS, NotAQuantity, mass_in
from truethrow.balance.engine import engine
from truethrow.balance.job.weighsheet import WeighSheet
from truethrow.balance.log import replaying
from truethrow.balance.log.log import TORN
from truethrow.balance.log.place import (
    Place,
    has_log,
    open_log,
    to_paste,
)
from truethrow.balance.log.records import MOST_CUT_G, Confirmed, Cut, struck_ids

if TYPE_CHECKING:
    from truethrow.balance.base.trades import Moves
    from truethrow.balance.log.records import Weighed
    from truethrow.balance.log.replaying import Placed, Replay


@dataclass
class Logged(WeighSheet):
    """What the log says, as a sheet; cylinder 0 holds what stands for every cylinder. placed: its readings and
    cuts, where their parts sit now; trades: unit → {cylinder: the cylinder whose part it first was}, of parts
    that moved; cut: cylinder and kind of parts that metal came off, or that are to be weighed again as a line of
    the log was damaged, which are in lost, too; ids: the records of each cylinder and kind; job: as to_paste
    has it; head: of the log, as it is printed; as_typed: its readings that nobody canceled."""

    placed: tuple[Placed, ...] = ()
    traded: Moves = field(default_factory=dict)
    cut: set[tuple[int, str]] = field(default_factory=set)
    lost: set[tuple[int, str]] = field(default_factory=set)
    ids: dict[tuple[int, str], tuple[str, ...]] = field(default_factory=dict)
    job: str = "JOB"
    head: str = ""
    as_typed: tuple[str, ...] = ()

    def first(self, cylinder: int, kind: str) -> int:
        """The cylinder under which the job file has a part."""
        if not self.traded:
            return cylinder
        from truethrow.balance.base.trades import first  # noqa: PLC0415 (few logs have trades)

        return first(self.traded, cylinder, kind)


def logged(
    place: Place, readable: Units, made: engine.Engine | None, known: int | None = None, job: str = ""
) -> Logged:
    """What a job's log of readings says. known: only so many of its records, as it was when a plan was told; job:
    its id, where the log is held against it."""
    found = Logged(job=to_paste(place))
    if not has_log(place):
        return found
    try:
        log = open_log(place)
        if job:
            log.must_be_of(job)
        found.head = str(log.head)
        found.as_typed = replaying.typed_in(log.records)
        # Of a file its own name will do: a note lies beside the job that it is of. What is torn is no news of the
        # job: nobody was told that it was safe. Every command tells it as it ends, while it is the last line.
        found.notes += [f"{Path(log.name).name}: {note}" for note in log.notes if note.what not in TORN]
        replay = replaying.replay(log.records[:known])
    except BadInput as error:
        found.faults += error.faults
        found.unread = True
        return found
    found.traded = replay.traded
    # A plan that was begun rests on what was confirmed before it: no more, once that was canceled.
    struck = struck_ids(log.records[known:]) if known is not None else set()
    found.placed = tuple(r for r in replay.placed if not (isinstance(r, Confirmed) and r.id in struck))
    found.faults += odd_moves_and_cuts(replay, made, readable.told_in)
    found.cut = replaying.cut_places(found.placed)
    found.lost = replaying.cut_places(one for one in found.placed if isinstance(one, replaying.Void))
    if moved := sum(map(len, replay.traded.values())):
        day = replay.trades[-1].at[:10]
        found.notes.append(f"Parts have traded places, last on {day}: {moved} are not where they were weighed")
    zeros = replaying.zeros(log.records[:known])
    for (number, kind), repeats in replaying.counting(found.placed).items():
        _take(found, number, kind, repeats, readable, made, zeros)
    return found


def _take(
    found: Logged,
    number: int,
    kind: str,
    repeats: tuple[Weighed, ...],
    readable: Units,
    made: engine.Engine | None,
    zeros: Mapping[str, float],
) -> None:
    """The readings of one cylinder and kind, or why they cannot be. zeros: what the empty scale showed."""
    whose = f"cylinder {number}" if number else "every cylinder"
    where = [f"{whose}, {label(shown(kind))}, record {shown(record.id)}" for record in repeats]
    wrong = allowed = ""
    if kind not in BY_NAME:
        wrong, allowed = "no part", ", ".join(BY_NAME)
    elif made and number and number not in made.layout.cylinders:
        wrong, allowed = "not in this layout", ", ".join(map(str, made.layout.cylinders))
    elif made and kind in made.without:
        wrong = "the engine is declared without it"
    if wrong:
        found.faults += [Fault(at, wrong, allowed) for at in where]
        return
    found.written.setdefault(number, set()).add(kind)
    if len(repeats) > fields.MOST_REPEATS:
        wrong = f"{len(repeats)} readings of one part"
        found.faults.append(Fault(where[-1], wrong, f"at most {fields.MOST_REPEATS}"))
    for at, record in zip(where, repeats, strict=True):
        try:
            fields.reading_g(record.grams, "g", readable)
        except NotAQuantity as error:
            found.faults.append(Fault(at, str(error), reading_allowed(readable)))
    grams = tuple(record.grams for record in repeats)
    texts = tuple(record.typed or f"{record.grams!r} g" for record in repeats)
    zero_g = math.fsum(zeros.get(record.id, 0.0) for record in repeats) / len(repeats)
    found.readings.setdefault(number, {})[kind] = Typed(texts, grams, tidy(zero_g))
    found.ids[number, kind] = tuple(record.id for record in repeats)


def odd_moves_and_cuts(replay: Replay, made: engine.Engine | None, told_in: ToldIn) -> list[Fault]:
    """Trades and cuts in the log that this engine cannot have."""
    faults: list[Fault] = []
    cylinders = made.layout.cylinders if made else ()
    for trade in replay.trades:
        from truethrow.balance.base.trades import strange  # noqa: PLC0415 (few logs have trades)

        if made and (fault := strange(trade.moves, cylinders)):
            faults.append(replace(fault, where=f"trade, record {shown(trade.id)}, {fault.where}"))
    for cut in replay.placed:
        if isinstance(cut, Cut):
            from truethrow.balance.base.parts import CUT_AT  # noqa: PLC0415

            where = f"cut, cylinder {cut.cylinder}, {label(shown(cut.kind))}, record {shown(cut.id)}"
            if cut.kind not in CUT_AT:
                faults.append(Fault(where, "no pad", ", ".join(CUT_AT)))
            elif made and cut.cylinder not in cylinders:
                faults.append(Fault(where, "not in this layout", ", ".join(map(str, cylinders))))
            elif not 0 < cut.grams < MOST_CUT_G:
                wrong = f"{shown(mass_in(cut.grams, told_in.scale))} is no cut"
                faults.append(Fault(where, wrong, reach(MASS, 0, MOST_CUT_G, told_in.scale)))
    return faults
