"""A quote for the shop's work on one engine: counted from the job as far as it has come, priced by the shop's
list.

What was measured gives a figure: cuts by the trim of weighed parts, holes and slugs by the plan of a spin, and
what is done already. What rests on estimates, or on a crank that nobody has spun, gives a range, or is told as
not counted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Literal, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.base.parts import BY_NAME, UNIT_OF
from truethrow.balance.crank.holes import Tools
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.job.job import Job
from truethrow.balance.log.records import Cut, Drilled, MassHung, Record, Spun, Traded, struck_ids
from truethrow.balance.planning.comparing import Work, expected_work
from truethrow.balance.planning.prices import PricesTable, outwards
from truethrow.balance.result.plans import Standing
from truethrow.balance.result.work import Result
from truethrow.balance.running.forecast import forecast
from truethrow.balance.station import may_go
from truethrow.balance.station.balancing import Balancing
from truethrow.balance.station.by_now import why_stale

Name = Literal["weighing", "match", "cut", "spin", "slug", "hole", "hour"]
# What everything of a quote rests on: masses by the catalog; parts that were weighed; a crank that was spun; all
# done and signed.
Stage = Literal["estimate", "weighed", "spun", "done"]
# Spins with known masses that prove a station, and that tell what one reads that reads divisions.
TO_PROVE, TO_PROVE_DIVISIONS = 1, 3


class Count(NamedTuple):
    """How many of something, from least to most; a figure where they are one."""

    least: Decimal
    most: Decimal

    @classmethod
    def of(cls, least: int, most: int | None = None) -> Count:
        return cls(Decimal(least), Decimal(least if most is None else most))

    def plus(self, done: int) -> Count:
        return Count(self.least + done, self.most + done)


class Line(NamedTuple):
    """One line of a quote: how many, at what a piece, and the amount, from least to most, in full."""

    name: Name
    how_many: Count
    each: Decimal
    least: Decimal
    most: Decimal

    @property
    def told(self) -> tuple[Decimal, Decimal]:
        """The amount as it is told: the ends of a range outwards."""
        return outwards(self.least, self.most)


class Quote(NamedTuple):
    """not_counted: what nobody can count yet, and is in no total; target_g: what the maker of a crank that was not
    spun balanced it for, None where nobody says; stays: whether the shop's tools do not bring the crank inside;
    is_held: whether readings are to be looked at again before cuts are known; no_profile: whether a crank was
    spun, and nobody says on which station."""

    stage: Stage
    prices: PricesTable
    lines: tuple[Line, ...]
    not_counted: tuple[Name, ...]
    target_g: float | None = None
    stays: bool = False
    is_held: bool = False
    no_profile: bool = False

    @property
    def total(self) -> tuple[Decimal, Decimal]:
        """The sum of the lines in full, its ends rounded once."""
        least = sum((line.least for line in self.lines), Decimal(0))
        return outwards(least, sum((line.most for line in self.lines), Decimal(0)))


class _Done(NamedTuple):
    """What the log has of work that is done."""

    matched: bool
    cuts: int
    spins: int
    slugs: int
    holes: int


def quote(
    result: Result,
    records: Sequence[Record],
    prices: PricesTable,
    *,
    state: Balancing | None = None,
    standing: Standing | None = None,
    tools: Tools | None = None,
    target_g: float | None = None,
    source: str = "",
) -> Quote:
    """result: the job worked through, with estimates where nothing is weighed; records: its log; state: where it
    is at the station, None where it is not known; standing: a trim that was begun; tools: the shop's, None where
    nobody says; target_g: what the maker of a crank that was not spun yet balanced it for; source: the price
    list's name. Raises BadInput for what the quote needs and the list has no price of."""
    job, done = result.job, _done(records)
    has_spun = any(isinstance(record, Spun) for record in _live(records))
    if has_spun:
        works = _by_the_station(state)
    else:
        works = None if target_g is None else _by_the_maker(result, target_g, tools)
    counts: dict[Name, Count] = {
        "weighing": Count.of(_weighings(job)),
        "match": Count.of(1 if done.matched or job.match.model_fields_set else 0),
        "cut": _cuts_to_come(result, standing).plus(done.cuts),
        "spin": _spins_to_come(state, works, tools, has_spun=has_spun).plus(done.spins),
    }
    if works is not None:
        counts["slug"] = _range([work.slugs for work in works]).plus(done.slugs)
        counts["hole"] = _range([work.holes for work in works]).plus(done.holes)
    else:
        counts |= {"slug": Count.of(done.slugs), "hole": Count.of(done.holes)}
    counts["hour"] = Count(prices.hours or Decimal(0), prices.hours or Decimal(0))
    return Quote(
        _stage(job, state, has_spun=has_spun),
        prices,
        _lines(counts, prices, source),
        () if works is not None else ("slug", "hole"),
        None if has_spun else target_g,
        any(not work.is_enough for work in works or ()),
        not job.estimated and result.is_held,
        has_spun and state is None,
    )


def _stage(job: Job, state: Balancing | None, *, has_spun: bool) -> Stage:
    if job.estimated:
        return "estimate"
    if state is not None and may_go.holds(state):
        return "done"
    return "spun" if has_spun else "weighed"


def _live(records: Sequence[Record]) -> list[Record]:
    struck = struck_ids(records)
    return [record for record in records if record.id not in struck]


def _done(records: Sequence[Record]) -> _Done:
    live = _live(records)
    drilled = [record for record in live if isinstance(record, Drilled)]
    slugs = sum(record.kind == "slug" for record in drilled)
    return _Done(
        any(isinstance(record, Traded) for record in live),
        sum(isinstance(record, Cut) for record in live),
        sum(isinstance(record, Spun | MassHung) for record in live),
        slugs,
        len(drilled) - slugs,
    )


def _weighings(job: Job) -> int:
    """Parts on the scale: a rod with its two ends is one; a reading that stands for all cylinders is one."""
    found = set()
    for number, own in job.parts.items():
        for kind, reading in own.items():
            if BY_NAME[kind].motion != "check":
                stands_for_all = reading.cylinder is None and reading.estimate is None
                found.add((UNIT_OF.get(kind, kind), None if stands_for_all else number))
    return len(found)


def _cuts_to_come(result: Result, standing: Standing | None) -> Count:
    """By the trim; none, up to all that the pads allow, as long as there is none to go by."""
    job = result.job
    if standing is not None and standing.result.trim is not None:
        cuts = [(cut.cylinder, cut.pad.kind) for part in standing.result.trim.parts for cut in part.cuts]
        return Count.of(sum(cut not in standing.done for cut in cuts))
    limited = bool(job.limits_g.keys() - {"closure"}) and job.has_parts
    cylinders = len(job.layout.cylinders)
    # One part of a kind is apart from no other.
    at_most = cylinders * sum(pad.most_g > 0 for pad in job.pads) if limited and cylinders > 1 else 0
    if job.estimated or result.is_held:
        return Count.of(0, at_most)
    try:
        trim = result.trim
    except NotDeclared:
        return Count.of(0, at_most)
    return Count.of(sum(len(part.cuts) for part in trim.parts) if trim else 0)


def _by_the_maker(result: Result, target_g: float, tools: Tools | None) -> tuple[Work, ...] | None:
    """What a crank takes that its maker balanced for a bobweight, with parts as light, in the middle and as
    heavy as they may be, and, where that lies between, right on it; None where nobody can tell."""
    job = result.job
    if not job.has_parts:
        return None
    hung_g = [throw.hung_g for throw in result.bobweights.throws]
    sure_g = forecast(result).target.expanded_g
    expected = expected_work(result, hung_g, sure_g, target_g, job.crank, tools)
    if expected is None:
        return None
    off_g = target_g - math.fsum(hung_g) / len(hung_g)
    if not 0 < abs(off_g) < sure_g:
        return tuple(expected)
    met = expected_work(result, [mass_g + off_g for mass_g in hung_g], 0.0, target_g, job.crank, tools)
    return (*expected, met.middle) if met else tuple(expected)


def _by_the_station(state: Balancing | None) -> tuple[Work, ...] | None:
    """What is still to be done to a crank that was spun; None where nobody knows."""
    if state is None or why_stale(state):
        return None
    if may_go.holds(state):
        return (Work(0.0, 0, 0, True),)
    if state.plan is None:
        return (Work(0.0, 0, 0, True),) if _is_inside(state) else None
    made = (*state.to_do, *state.plan.then)
    slugs = sum(hole.kind == "slug" for hole in made)
    return (Work(0.0, slugs, len(made) - slugs, not state.plan.stays),)


def _is_inside(state: Balancing) -> bool:
    return state.last is not None and state.last.is_told and state.ruled == ("inside", "inside")


def _spins_to_come(
    state: Balancing | None, works: Sequence[Work] | None, tools: Tools | None, *, has_spun: bool
) -> Count:
    """One to see how the crank came, those that prove the station, and one after each round: heavy metal is one by
    itself."""
    if state is not None and may_go.holds(state):
        return Count.of(0)
    if works is not None:
        rounds = _range([bool(work.slugs) + bool(work.holes) for work in works])
    else:
        rounds = Count.of(0, 1 if tools is not None and not tools.slugs else 2)
    if not has_spun:
        # No maker's word keeps a crank from needing a round of holes.
        return Count(rounds.least, max(rounds.most, Decimal(1))).plus(1 + TO_PROVE)
    if state is None:
        return rounds.plus(0)
    if why_stale(state):  # spun and proved anew
        return rounds.plus(1 + TO_PROVE)
    if state.since and not state.to_do and not (state.plan and state.plan.then):
        rounds = rounds.plus(1)
    if state.is_proved:
        return rounds
    trials = TO_PROVE_DIVISIONS - len(state.proof.records) if state.reads_divisions else TO_PROVE
    return rounds.plus(max(trials, 1))


def _range(counts: Sequence[int]) -> Count:
    return Count.of(min(counts), max(counts))


def _lines(counts: dict[Name, Count], prices: PricesTable, source: str) -> tuple[Line, ...]:
    """Of what there is any of. Raises BadInput for what has no price."""
    faults, lines = [], []
    if prices.hours is None:
        faults.append(Fault("prices, hours", "missing", "hours, 0 where all of the work has a price of its own"))
    for name, count in counts.items():
        each: Decimal | None = getattr(prices, name)
        if not count.most:
            continue
        if each is None:
            has = said(count) if name != "hour" else f"{prices.hours} hours"
            wrong = f"missing, and the quote has {has}"
            faults.append(Fault(f"prices, {name}", wrong, "a price; 0 where it is in another one"))
            continue
        lines.append(Line(name, count, each, prices.amount(count.least, each), prices.amount(count.most, each)))
    if faults:
        raise BadInput(faults, source)
    return tuple(lines)


def said(count: Count) -> str:
    """How many, as a person reads it: 3, or 0 to 3."""
    least, most = (f"{one.normalize():f}" for one in count)
    return least if least == most else f"{least} to {most}"
