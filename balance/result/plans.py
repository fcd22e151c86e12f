"""The cuts of a plan as records of the log, each under the plan that asked for it.

A plan stands from its first cut until every part that was cut is wholly weighed again: until then `trim` tells no
other one, and what is recorded belongs to it, whatever was weighed meanwhile. It is worked out again from the
records before its first cut, so it is the plan that was told. Its name, which `trim` tells and every cut keeps,
covers the readings and the cuts: where the job file was changed so that other cuts come out, it is another plan,
and nothing is recorded under a name that nobody was told.

Once all is weighed, `trim` tells the next plan. Where something of the plan before was never recorded and the two
ask for different cuts, only the one who ground can know which was followed: then it has to be named.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from itertools import chain, count
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.amounts import ToldIn, reach
from truethrow.balance.base.errors import BadInput, Fault, says, shown
from truethrow.balance.base.parts import CUT_AT, ENDS, UNIT_OF, UNITS, label
from truethrow.balance.base.units import MASS, mass_in
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.job.grinding import open_parts
from truethrow.balance.job.job import own_readings
from truethrow.balance.job.jobfile import load_engine, told_in_at
from truethrow.balance.job.logged import odd_moves_and_cuts
from truethrow.balance.log import records
from truethrow.balance.log.log import Log
from truethrow.balance.log.place import Place, must_have_a_log, open_log, source_of, to_paste
from truethrow.balance.log.replaying import replay
from truethrow.balance.result.big_cuts import BIG_CUT
from truethrow.balance.result.doubts import faults as doubted
from truethrow.balance.result.trim import name_of

if TYPE_CHECKING:
    from truethrow.balance.base.trades import Moves
    from truethrow.balance.job.job import Job
    from truethrow.balance.result.trim import Cut
    from truethrow.balance.result.work import Result

# A part and its cylinder, as it is said: rod 3.
Part = tuple[str, int]


class Recorded(NamedTuple):
    """The cuts that were recorded, and the job as it was planned."""

    job: Job
    cuts: tuple[records.Cut, ...]


class Standing(NamedTuple):
    """A plan that was begun and stands. result: the job worked through as it was planned; done: cylinder and pad
    of each cut that is recorded; waiting: the parts that were cut and are not wholly weighed since."""

    result: Result
    done: frozenset[tuple[int, str]]
    waiting: tuple[Part, ...]

    @property
    def is_all_done(self) -> bool:
        """Whether every cut of it is recorded."""
        parts = self.result.trim.parts if self.result.trim else ()
        return all((cut.cylinder, cut.pad.kind) in self.done for part in parts for cut in part.cuts)


class _Told(NamedTuple):
    """A plan as it was told. result: of the job as it was then; left: by part, the cuts that are not recorded
    yet."""

    name: str
    result: Result
    parts: tuple[Part, ...]
    left: Mapping[Part, tuple[Cut, ...]]

    @property
    def job(self) -> Job:
        return self.result.job

    def asked(self, part: Part) -> list[tuple[str, float]]:
        return [(cut.pad.kind, cut.grams) for cut in self.left.get(part, ())]

    @property
    def steps(self) -> dict[tuple[int, str], int]:
        """The numbers of its cuts in the whole plan, from 1, by cylinder and pad."""
        cuts = (cut for trim in (self.result.trim.parts if self.result.trim else ()) for cut in trim.cuts)
        return {(cut.cylinder, cut.pad.kind): number for number, cut in enumerate(cuts, start=1)}


def record(
    place: Place, named: Sequence[Part] = (), by: str = "", plan: str = "", *, traded: Moves | None = None
) -> Recorded:
    """Write into the log that cuts of the plan have been made, all of them or those of the parts named, as
    (rod, 3). From then on these parts are to be weighed again. plan: its name, where two can be meant;
    traded: of the parts as they were when these were named.

    What is recorded already is left out, so that it may be done part by part, by two benches at once, or once more
    after a failure. Raises BadInput where there is nothing to cut, a named part is not in the plan, or which plan
    is meant cannot be known; NotSaved where a record is not on the disk, those before it being safe."""
    work = _to_record(place, named, by, plan, traded)
    _check(place, work.log, work.told, named)
    made: list[records.Cut] = []
    for cut in (cut for part in dict.fromkeys(named or work.told.left) for cut in work.told.left[part]):
        made.append(work.write(cut, made[0].batch or made[0].id if made else ""))
    return Recorded(work.told.job, tuple(made))


def tick(place: Place, step: str, by: str = "") -> Recorded:
    """Write into the log that one cut of the plan has been made. step: the id of its step, as step_id makes it.
    Raises BadInput where it is recorded already, with who did it, and as record does; NotSaved where the record is
    not on the disk."""
    plan, cylinder, pad = _step(step)
    part = UNIT_OF.get(pad, pad), cylinder
    work = _to_record(place, [part], by, plan, None)
    cut = next((one for one in work.told.left.get(part, ()) if one.pad.kind == pad), None)
    made = work.write(cut) if cut is not None else None
    if made is None or work.was_there:
        raise BadInput([_is_ticked(work, part, pad)], source_of(place))
    return Recorded(work.told.job, (made,))


def step_id(plan: str, cylinder: int, pad: str) -> str:
    """The id of one step of a plan, which is the id of its record: of two benches that record it at once, both
    make the same record."""
    return f"{plan}-{cylinder}-{pad}"


def _step(step: str) -> tuple[str, int, str]:
    plan, _, rest = step.partition("-")
    cylinder, _, pad = rest.partition("-")
    if not (plan and cylinder.isascii() and cylinder.isdecimal() and len(cylinder) < 4 and pad in CUT_AT):
        raise BadInput([Fault(f"step {shown(step)}", "is no cut of a plan")])
    return plan, int(cylinder), pad


def _is_ticked(work: _ToRecord, part: Part, pad: str) -> Fault:
    """Why a cut is not to be recorded now."""
    name = work.told.job.names.said(pad if pad in ENDS else part[0], part[1])
    own = (one for one in reversed(work.log.records) if _is_cut_of(one, work.told.name))
    there = next((r for r in own if isinstance(r, records.Cut) and (r.cylinder, r.pad) == (part[1], pad)), None)
    if there is None:
        return Fault(name, "not in the plan", ", ".join(work.told.job.names.typed(*one) for one in work.told.left))
    return Fault(name, f"recorded already{f' by {shown(there.by)}' if there.by else ''}; grind no more off it")


class _ToRecord:
    """Cuts about to be recorded, all of one plan."""

    def __init__(self, place: Place, log: Log, told: _Told, seen: int) -> None:
        self.log, self.told = log, told
        self.was_there = False  # the last one, when it was to be written
        self._place, self._seen = place, seen
        self._taken = {record.id for record in log.records}

    def write(self, cut: Cut, batch: str = "") -> records.Cut:
        """One record. What has the id of a cut that is left was struck out, or says something else since a hand
        was at the log: then it is another that is recorded now."""
        cylinder, pad, told = cut.cylinder, cut.pad.kind, self.told
        first = step_id(told.name, cylinder, pad)
        key = next(key for key in chain([first], (f"{first}-{n}" for n in count(2))) if key not in self._taken)
        own = records.Cut(cylinder, pad, cut.grams, told.name, told.steps[cylinder, pad], batch)
        self.was_there = True
        return self.log.append(own, id=key, unless=self._refuse)

    def _refuse(self) -> None:
        # Under the lock: the plan is the one that was told only while nothing else has come in.
        self.was_there = False
        name, log = self.told.name, self.log
        begun = any(_is_cut_of(record, name) for record in log.records)
        strange = (records.Cut, records.Struck, records.Traded, *(() if begun else (records.Weighed,)))
        fresh = [r for r in log.records[self._seen :] if not _is_cut_of(r, name)]
        if any(isinstance(record, strange) for record in fresh):
            wrong = "the log has changed since the plan was told"
            raise BadInput([Fault("", wrong, remedy=_look_again(self._place))], source_of(self._place))


def _to_record(place: Place, named: Sequence[Part], by: str, plan: str, traded: Moves | None) -> _ToRecord:
    """The plan of which cuts are to be recorded, as it is now."""
    must_have_a_log(place)
    log = open_log(place, by=by)
    seen = len(log.records)
    if traded is not None and replay(log.records, log.name).traded != traded:
        wrong = "parts have traded places since they were named"
        raise BadInput([Fault("", wrong, remedy=_look_again(place))], source_of(place))
    # A cut that nobody can have made would stand for one that was: the plan would look done.
    if odd := odd_moves_and_cuts(replay(log.records, log.name), load_engine(place), told_in_at(place)):
        raise BadInput(odd, log.name)
    return _ToRecord(place, log, _meant(place, log, named, plan), seen)


def took(
    place: Place,
    part: Part,
    pad: str,
    grams: float,
    why: str = "",
    by: str = "",
    *,
    unit: str = "g",
    traded: Moves | None = None,
) -> records.Cut:
    """Write into the log that metal came off a part without a plan. pad: where, by the kind that is weighed there;
    empty for a part that has one place alone; unit: what faults are told in. It is recorded whatever stands
    against a plan: the part is to be weighed again from then on, and what is left of its pad is less. Raises
    BadInput for a place that the part has not, and, without a word of why, for more than its maker allows there or
    BIG_CUT of the part: a slip of the pen would make the next plan wrong; NotSaved where the record is not on the
    disk."""
    must_have_a_log(place)
    log = open_log(place, by=by)
    seen = len(log.records)
    if traded is not None and replay(log.records, log.name).traded != traded:
        raise BadInput([Fault("", "parts have traded places since they were named")], source_of(place))
    kind, cylinder = part
    own = [one for one in UNITS.get(kind, ()) if one in CUT_AT]
    where = pad or (own[0] if len(own) == 1 else "")
    if where not in own:
        wrong = f"{shown(pad)!r} is no place of a {kind}" if pad else "where on it"
        raise BadInput([Fault("--at", wrong, ", ".join(map(label, own)) or "nothing is cut off it")])
    if not 0 < grams < records.MOST_CUT_G:
        raise BadInput([Fault("--took", mass_in(grams, unit), reach(MASS, 0, records.MOST_CUT_G, unit))])
    if kind == "rod" and load_engine(place).declared_rod_length_mm is None:
        raise NotDeclared(["rod_length"], to_paste(place))  # what its pad lowers the two readings by rests on it
    if (doubt := _is_much(place, log, kind, cylinder, where, grams, unit)) and not says(why):
        raise BadInput([Fault("--took", doubt, remedy='if it is so, say why: --why "..."')], source_of(place))

    def refuse() -> None:
        strange = (records.Cut, records.Struck, records.Traded)
        if any(isinstance(one, strange) and getattr(one, "plan", "") == "" for one in log.records[seen:]):
            wrong = "the log has changed meanwhile"
            raise BadInput([Fault("", wrong, remedy=_look_again(place))], source_of(place))

    return log.append(records.Cut(cylinder, where, grams, told=True, why=why), unless=refuse)


def _is_much(place: Place, log: Log, part: str, cylinder: int, pad: str, grams: float, unit: str) -> str:
    """Why grams off a part are more than a hand takes without a word; empty where they are not, and where nothing
    is known of the part."""
    cuts = [at for at, one in enumerate(log.records) if isinstance(one, records.Cut)]
    job = None
    for known in (None, *cuts[:1]):  # where parts wait for the scale, as it was before the first cut
        with contextlib.suppress(BadInput):
            job = job or own_readings(place, known=known)
    if job is None:
        return ""
    own = next(one for one in job.pads if one.kind == pad)
    most_g = job.ground.room_g(cylinder, own) if job.ground else own.most_g
    if grams > most_g + 1e-9:
        return f"{mass_in(grams, unit)} is more than may come off there, {ToldIn(unit).allowed(most_g)}"
    whole_g = sum(job.parts[cylinder][kind].mean_g for kind in ENDS if kind in job.parts[cylinder])
    if part != "rod":
        whole_g = job.parts[cylinder][pad].mean_g
    return f"{mass_in(grams, unit)} is more than {BIG_CUT:.0%} of the part" if grams > BIG_CUT * whole_g else ""


def _is_cut_of(record: records.Record, plan: str) -> bool:
    return isinstance(record, records.Cut) and record.plan == plan


def _look_again(place: Place) -> str:
    return f"look at the plan again: truethrow trim {to_paste(place)}"


def standing(place: Place) -> Standing | None:
    """The plan that was begun, while parts that were cut wait for the scale. None where none do, and where the
    plan cannot be told any more: the job file or the trades have changed."""
    log = open_log(place)
    waiting = open_parts(replay(log.records, log.name).placed)
    begun = None
    if waiting:
        with contextlib.suppress(BadInput):  # nothing is cut by this: where it cannot be told, it is not shown
            begun = _begun(place, log)
    if begun is None or begun.result.trim is None:
        return None
    asked = {(cut.cylinder, cut.pad.kind) for part in begun.result.trim.parts for cut in part.cuts}
    left = {(cut.cylinder, cut.pad.kind) for cuts in begun.left.values() for cut in cuts}
    return Standing(begun.result, frozenset(asked - left), tuple(sorted(waiting)))


def _meant(place: Place, log: Log, named: Sequence[Part], name: str) -> _Told:
    """The plan of which cuts are to be recorded."""
    placed = replay(log.records, log.name).placed
    if open_parts(placed):
        begun = _begun(place, log)
        if begun is None:
            wrong = (
                "the plan that was begun cannot be told any more: the job file changed, parts traded places, or a "
                "reading is not confirmed any more"
            )
            weigh = f"weigh what was cut: truethrow weigh {to_paste(place)}"
            raise BadInput([Fault("", wrong, remedy=weigh)], source_of(place))
        plans = [begun]
    else:
        plans = [_told(place, log, len(log.records))]
        begun = None
        with contextlib.suppress(BadInput):  # the job file was changed since: that plan is no more
            begun = _begun(place, log)
        if begun is not None and begun.left:
            plans.append(begun)
    if name:
        chosen = [told for told in plans if told.name == name]
        if not chosen:
            allowed = ", ".join(told.name for told in plans)
            raise BadInput(
                [Fault(f"--plan {shown(name)}", "is not the plan to record now", allowed)], source_of(place)
            )
        return chosen[0]
    return plans[0] if len(plans) == 1 else _of_two(place, plans[0], plans[1], named)


def _of_two(place: Place, now: _Told, before: _Told, named: Sequence[Part]) -> _Told:
    """The plan that is meant, of the one that trim tells now and the one before, of which something is left."""
    if not named and not now.left:
        return now
    if named and not any(part in now.left for part in named) and all(part in before.left for part in named):
        return before
    asked = named or dict.fromkeys([*now.left, *before.left])
    if all(now.asked(part) == before.asked(part) or not before.asked(part) for part in asked):
        return now
    wrong = "parts were weighed since the plan was begun, and trim tells another one now"
    way = f"say which: --plan {now.name}, as trim tells it now, or --plan {before.name}, as it was told before"
    raise BadInput([Fault("", wrong, remedy=way)], source_of(place))


def _begun(place: Place, log: Log) -> _Told | None:
    """The plan of the last cut, as it was told before its first one; None where it cannot be told any more."""
    now = replay(log.records, log.name)
    cuts = [record for record in now.placed if isinstance(record, records.Cut)]
    last = next((record for record in reversed(cuts) if record.plan), cuts[-1] if cuts else None)
    if last is None:
        return None
    of_it = (_is_cut_of(r, last.plan) if last.plan else r.id == last.id for r in log.records)
    known = list(of_it).index(True)
    if replay(log.records[:known], log.name).traded != now.traded:
        return None
    told = _told(place, log, known)
    return told if told.name == last.plan or not last.plan else None


def _told(place: Place, log: Log, known: int) -> _Told:
    """The plan as it is told from so many records of the log."""
    from truethrow.balance.result.work import work  # noqa: PLC0415 (which needs all of the house)

    result = work(own_readings(place, known=known))
    plan = result.trim
    if plan is None:
        return _Told("", result, (), {})
    name = name_of(result.job, plan)
    older = {record.id for record in log.records[:known]}
    cuts = [r for r in replay(log.records, log.name).placed if isinstance(r, records.Cut) and r.id not in older]
    done = {(r.cylinder, r.pad) for r in cuts if r.plan in (name, "")}
    # What metal came off without the plan weighs otherwise than it was planned by.
    free = {(UNIT_OF[r.pad], r.cylinder) for r in cuts if not r.plan}
    left: dict[Part, tuple[Cut, ...]] = {}
    for trim in plan.parts:
        if (trim.part, trim.cylinder) in free:
            continue
        if rest := tuple(cut for cut in trim.cuts if (cut.cylinder, cut.pad.kind) not in done):
            left[trim.part, trim.cylinder] = rest
    return _Told(name, result, tuple((trim.part, trim.cylinder) for trim in plan.parts), left)


def _check(place: Place, log: Log, told: _Told, named: Sequence[Part]) -> None:
    """Raise BadInput where nothing is left of a plan, or a named part is not in what is left."""
    waiting, weigh = open_parts(replay(log.records, log.name).placed), f"truethrow weigh {to_paste(place)}"
    if not told.left:
        faults = doubted(told.result) or [Fault("", "nothing to cut: the plan is empty")]
        if told.parts:
            faults = [Fault("", "every cut of the plan is recorded already", remedy=f"weigh again: {weigh}")]
        elif told.job.ground and told.job.ground.again:
            again = told.job.ground.again
            faults = [
                Fault(told.job.names.said(g.part, g.cylinder), "weigh it again first", remedy=f"run: {weigh}")
                for g in again
            ]
        raise BadInput(faults, source_of(place))
    names = told.job.names
    allowed = ", ".join(names.typed(*part) for part in told.left)
    faults = []
    for part in dict.fromkeys(named):
        if part not in told.left:
            found = "not in the plan"
            if part in told.parts:
                found = "recorded already; weigh it again"
                found = found if part in waiting else "recorded already, and weighed again since"
            faults.append(Fault(names.said(*part), found, allowed))
    if faults:
        raise BadInput(faults, source_of(place))
