"""Candidates side by side: what each set of parts with each crank weighs, pulls, shakes, takes and costs, in an
order, and which mass's doubt could change that order."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import NamedTuple

from truethrow.balance.base.readings import Mass, combine, tidy
from truethrow.balance.correction import HolePlan, plan
from truethrow.balance.correction.arriving import off_by
from truethrow.balance.crank.crank import Crank
from truethrow.balance.crank.holes import Tools
from truethrow.balance.engine.shaking import STEPS
from truethrow.balance.job.job import Job
from truethrow.balance.planning.candidates import CrankChoice, Pair, SetChoice
from truethrow.balance.planning.prices import PricesTable
from truethrow.balance.result.unbalance import allowed_gmm
from truethrow.balance.result.work import Result, work
from truethrow.balance.running.forecast import Forecast, forecast
from truethrow.balance.running.inertia import AtSpeed, at_speed
from truethrow.balance.running.running import Shake, shake

# What is read off a job alone, and moves with its masses; the rest comes out of a plan of holes, which moves with
# the bobweight.
OF_THE_WORK = ("metal", "slugs", "holes", "price")
OF_THE_MASSES = ("bobweight", "reciprocating", "pull", "bolt", "force", "couple")
# A kind of part whose doubt moves a difference by less than this is none of its causes. [of the figure's own unit]
_NOTHING = 1e-9
# No money.
NOTHING = Decimal(0)
# Steps of a turn that tell what a ± is made of.
_FEWER = 360


class Work(NamedTuple):
    """What a crank takes to come inside its tolerance: grams of metal to take, slugs, and holes without their
    bores; is_enough: whether that brings it inside."""

    metal_g: float
    slugs: int
    holes: int
    is_enough: bool


class Expected(NamedTuple):
    """The work on a crank with parts as light, as heavy and as far in the middle as they may weigh in."""

    light: Work
    middle: Work
    heavy: Work

    @property
    def is_enough(self) -> bool:
        return all(work.is_enough for work in self)


class Cost(NamedTuple):
    """Money: parts and crank as far as they have a price; unpriced: what has none; shop: of the hours, slugs and
    holes, for each of the works expected."""

    parts: Decimal
    crank: Decimal
    shop: tuple[Decimal, Decimal, Decimal]
    unpriced: tuple[str, ...]

    @property
    def totals(self) -> tuple[Decimal, Decimal, Decimal]:
        light, middle, heavy = (self.parts + self.crank + shop for shop in self.shop)
        return light, middle, heavy


class Candidate(NamedTuple):
    """One set with one crank. running, shaking: at the engine's top speed, None where that or a length is not
    declared; expected: None without tools, a tolerance or counterweights; cost: None where nothing has a price."""

    parts: SetChoice
    crank: CrankChoice
    result: Result
    masses: Forecast
    running: AtSpeed | None
    shaking: Shake | None
    expected: Expected | None
    cost: Cost | None

    def value(self, by: str) -> float | None:
        """What it is sorted by, None where that is not known: neither is what does not come inside."""
        works = None
        if self.expected is not None:
            if not self.expected.middle.is_enough and by in OF_THE_WORK:
                return None
            works = self.expected.middle
        found: dict[str, float | None] = {
            "bobweight": self.masses.target.value_g,
            "reciprocating": self.masses.reciprocating.value_g,
            "pull": self.running and self.running.pull_n,
            "bolt": self.running and self.running.bolt_n,
            "speed": self.result.facts.mean_piston_speed_m_s,
            "force": self.shaking and tidy(self.shaking.force.amount),
            "couple": self.shaking and tidy(self.shaking.couple.amount),
            "metal": works and works.metal_g,
            "slugs": works and float(works.slugs),
            "holes": works and float(works.holes),
            "price": None if self.cost is None or self.cost.unpriced else float(self.cost.totals[1]),
        }
        return found[by]


class Doubt(NamedTuple):
    """Between a candidate and one before it: apart, how far; uncertainty: of that, None where it is told by a
    range; kinds: of part that bring most of it, largest first, each with its part of the square; could_change:
    whether the two could be the other way round."""

    apart: float
    uncertainty: float | None
    kinds: tuple[tuple[str, float], ...]
    could_change: bool


class Ranked(NamedTuple):
    """rank: 1 for the least, the same for those that tie; before: the first of all that it could come before, else
    the nearest that it does not tie with, with the doubt between the two; None for what comes first, and where a
    figure is not known; is_known: whether what it is sorted by is: else it only comes last."""

    rank: int
    candidate: Candidate
    before: int | None = None
    doubt: Doubt | None = None
    is_known: bool = True


def candidates(
    pairs: Sequence[Pair],
    tools: Tools | None,
    prices: PricesTable | None,
    progress: Callable[[float], None] | None = None,
) -> tuple[Candidate, ...]:
    """Every pair worked through. progress: told the part that is done."""
    found = []
    for at, pair in enumerate(pairs):
        found.append(_candidate(pair, tools, prices))
        if progress:
            progress((at + 1) / len(pairs))
    return tuple(found)


def _candidate(pair: Pair, tools: Tools | None, prices: PricesTable | None) -> Candidate:
    job, result = pair.job, work(pair.job)
    masses = forecast(result)
    speed = _speed(job)
    own_g = [throw.bobweight.value_g for throw in result.bobweights.throws]
    crank, sure_g = pair.crank, masses.target.expanded_g
    expected = expected_work(result, own_g, sure_g, crank.target_g, crank.crank, tools)
    return Candidate(
        pair.parts,
        pair.crank,
        result,
        masses,
        None if speed is None else at_speed(result, speed),
        _shaking(result),
        expected,
        _cost(pair, expected, prices),
    )


def _shaking(result: Result, steps: int = STEPS) -> Shake | None:
    speed = _speed(result.job)
    return None if speed is None or result.job.engine.not_placed else shake(result, speed, steps=steps)


def _speed(job: Job) -> float | None:
    made = job.engine
    lengths = made.declared_stroke_mm, made.declared_rod_length_mm
    return None if None in lengths else made.top_speed_rpm


def expected_work(
    result: Result,
    own_g: Sequence[float],
    expanded_g: float,
    target_g: float,
    crank: Crank | None,
    tools: Tools | None,
) -> Expected | None:
    """By the plan of holes that the station makes, for parts over the whole of their range. own_g: what
    each throw is to carry, and expanded_g: how far that may be off; target_g: what the crank's maker balanced it
    for. None without tools, a tolerance or counterweights, and where a length is not declared that it rests
    on."""
    job = result.job
    front, rear = allowed_gmm(job)
    if tools is None or not tools.drills or crank is None or front is None or rear is None:
        return None
    if job.engine.declared_stroke_mm is None or job.station.planes_mm is None:
        return None
    planes_mm = job.station.front_plane_mm, job.station.rear_plane_mm
    radius_mm, throws = job.engine.throw_radius_mm, job.layout.throws
    works = []
    for off_g in (-expanded_g, 0.0, expanded_g):
        _, whole = off_by([mass_g + off_g for mass_g in own_g], target_g, radius_mm, throws, planes_mm)
        works.append(_work(plan(crank, tools, whole, planes_mm, allowed_gmm=(front, rear))))
    return Expected(*works)


def _work(planned: HolePlan) -> Work:
    made = (*planned.operations, *planned.then)
    drilled = [hole for hole in made if hole.kind != "slug"]
    return Work(
        math.fsum(hole.mass_g for hole in drilled), len(made) - len(drilled), len(drilled), not planned.stays
    )


def _cost(pair: Pair, expected: Expected | None, prices: PricesTable | None) -> Cost | None:
    """None where neither a part nor a crank has a price, and there is no price list."""
    if prices is None and pair.crank.price is None and not pair.parts.prices:
        return None
    of_kinds = [kind for kind in pair.parts.boxes if kind != "small_end"]
    unpriced = ["rod" if kind == "big_end" else kind for kind in of_kinds if kind not in pair.parts.prices]
    if pair.crank.price is None:
        unpriced.append("crank")
    parts = sum(pair.parts.prices.values(), NOTHING) * len(pair.job.layout.cylinders)
    works: tuple[Work | None, ...] = tuple(expected) if expected else (None, None, None)
    light, middle, heavy = (shop_price(prices, one, unpriced) for one in works)
    return Cost(parts, pair.crank.price or NOTHING, (light, middle, heavy), tuple(dict.fromkeys(unpriced)))


def shop_price(prices: PricesTable | None, done: Work | None, unpriced: list[str]) -> Decimal:
    """What the shop's own work costs; what of it has no price is added to unpriced."""
    if prices is None:
        return NOTHING
    total = (prices.hour or NOTHING) * (prices.hours or NOTHING)
    if prices.hours and prices.hour is None:
        unpriced.append("hour")
    for name, count, each in (
        ("slug", done.slugs if done else 0, prices.slug),
        ("hole", done.holes if done else 0, prices.hole),
    ):
        if count and each is None:
            unpriced.append(name)
        total += count * (each or NOTHING)
    return total


def ranked(found: Sequence[Candidate], by: str) -> tuple[Ranked, ...]:
    """In the order of what matters, the least first; what is not known comes last."""
    order = sorted(found, key=lambda one: (one.value(by) is None, one.value(by) or 0.0))
    moves = [_moves(one, by) if by in OF_THE_MASSES else {} for one in order]
    ranks: list[Ranked] = []
    for at, one in enumerate(order):
        rank = at + 1
        if at and _are_alike(one.value(by), order[at - 1].value(by)):
            rank = ranks[-1].rank
        doubts = [_doubt(order[n], one, by, moves[n], moves[at]) for n in range(rank - 1)]
        first = next((n for n, doubt in enumerate(doubts) if doubt and doubt.could_change), rank - 2)
        doubt = doubts[first] if doubts else None
        told = doubt and _with_kinds(doubt, order[first], one, by)
        ranks.append(Ranked(rank, one, first if doubt else None, told, one.value(by) is not None))
    return tuple(ranks)


def _are_alike(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)


# What a figure moves by where one box is heavier, and where it is lighter, by what its parts' mean may be off.
_Moves = dict[str, tuple[float, float]]


def _doubt(first: Candidate, second: Candidate, by: str, one: _Moves, other: _Moves) -> Doubt | None:
    """one, other: of the first and the second, by box."""
    values = first.value(by), second.value(by)
    if by == "speed" or values[0] is None or values[1] is None:
        return None
    apart = values[1] - values[0]
    if by in ("force", "couple"):
        uncertainty = (
            0.0 if first.parts.boxes == second.parts.boxes else math.hypot(*_shaking_sure(first, second, by))
        )
        return Doubt(apart, uncertainty, (), uncertainty > _NOTHING and apart <= uncertainty)
    return _by_masses(apart, one, other) if by in OF_THE_MASSES else _by_range(first, second, by)


def _by_masses(apart: float, one: _Moves, other: _Moves) -> Doubt:
    """Each box by itself, in both where both have it in common (JCGM 100:2008, 5.1.4 note 2 and 5.2)."""
    squares: dict[str, float] = {}
    still = (0.0, 0.0)
    for box in dict.fromkeys((*one, *other)):
        kind = box.rpartition(", ")[2]
        ends = zip(one.get(box, still), other.get(box, still), strict=True)
        squares[kind] = squares.get(kind, 0.0) + max((b - a) ** 2 for a, b in ends)
    whole = math.fsum(squares.values())
    uncertainty = math.sqrt(whole)
    kinds = _parts_of(squares, whole) if uncertainty > _NOTHING else ()
    return Doubt(apart, uncertainty, kinds, uncertainty > _NOTHING and apart <= uncertainty)


def _shaking_sure(first: Candidate, second: Candidate, by: str) -> tuple[float, float]:
    one, other = (
        (who.shaking.force_expanded_n if by == "force" else who.shaking.couple_expanded_nm) if who.shaking else 0.0
        for who in (first, second)
    )
    return one, other


def _with_kinds(doubt: Doubt, first: Candidate, second: Candidate, by: str) -> Doubt:
    """What shakes is doubted by the pieces' scatter above all: kind by kind, as if all the others were known."""
    if by not in ("force", "couple") or not doubt.could_change:
        return doubt
    squares: dict[str, float] = {}
    for who in (first, second):
        for kind in who.result.job.estimated:
            own = who._replace(shaking=_shaking(work(_only(who.result.job, kind)), _FEWER))
            sure = _shaking_sure(own, own, by)[0]
            squares[kind] = squares.get(kind, 0.0) + sure**2
    whole = math.fsum(squares.values())
    return doubt._replace(kinds=_parts_of(squares, whole) if whole > _NOTHING else ())


def _only(job: Job, kind: str) -> Job:
    """The job as if of what is estimated all but one kind were known."""
    parts = {
        number: {
            name: reading
            if name == kind or reading.estimate is None
            else reading._replace(estimate=reading.estimate._replace(within_g=0.0, scatter_g=0.0))
            for name, reading in own.items()
        }
        for number, own in job.parts.items()
    }
    return replace(job, parts=parts)


def _parts_of(squares: dict[str, float], whole: float) -> tuple[tuple[str, float], ...]:
    parts = ((kind, square / whole) for kind, square in squares.items() if square > whole * 1e-9)
    return tuple(sorted(parts, key=lambda part: -part[1]))


def _by_range(first: Candidate, second: Candidate, by: str) -> Doubt:
    """By what the work comes to at the ends of the parts' range: the same parts on two cranks are light or heavy
    on both, different ones each for themselves."""
    one, other = _ends(first, by), _ends(second, by)
    is_same = first.parts.boxes == second.parts.boxes
    pairs = list(zip(one, other, strict=True)) if is_same else [(max(one), min(other))]
    could = any(b <= a and (a, b) != (one[1], other[1]) for a, b in pairs)
    wider = max((first, second), key=lambda who: max(_ends(who, by)) - min(_ends(who, by)))
    return Doubt(other[1] - one[1], None, wider.masses.target.doubts, could)


def _ends(who: Candidate, by: str) -> tuple[float, float, float]:
    if by == "price":
        assert who.cost
        light, middle, heavy = map(float, who.cost.totals)
        return light, middle, heavy
    assert who.expected
    of = {"metal": "metal_g"}.get(by, by)
    light, middle, heavy = (float(getattr(one, of)) if one.is_enough else math.inf for one in who.expected)
    return light, middle, heavy


def _of_the_masses(by: str, result: Result) -> float:
    if by in ("bobweight", "reciprocating"):
        masses = forecast(result)
        return (masses.target if by == "bobweight" else masses.reciprocating).value_g
    speed = _speed(result.job)
    assert speed is not None
    running = at_speed(result, speed)
    return running.pull_n if by == "pull" else running.bolt_n


def _moves(who: Candidate, by: str) -> _Moves:
    """What each box does to a figure."""
    if by in ("force", "couple"):
        return {}
    still = who.value(by)
    if still is None:
        return {}
    found = {}
    for kind, box in who.parts.boxes.items():
        ends = [_of_the_masses(by, _moved(who, kind, way)) - still for way in (1.0, -1.0)]
        found[box] = ends[0], ends[1]
    return found


def _moved(who: Candidate, kind: str, way: float) -> Result:
    """A candidate's result with all parts of a kind heavier, or lighter, by what their mean may be off."""
    job = who.result.job
    readings = [own[kind] for own in job.parts.values() if kind in own]
    mean = combine((1 / len(readings), Mass.read(reading)) for reading in readings)
    by_g = way * who.result.certainty.expanded_g(mean)
    parts = {
        number: {
            name: reading._replace(repeats_g=tuple(grams + by_g for grams in reading.repeats_g))
            if name == kind
            else reading
            for name, reading in own.items()
        }
        for number, own in job.parts.items()
    }
    return work(replace(job, parts=parts))
