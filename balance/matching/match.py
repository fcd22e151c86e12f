"""One engine matched: which part of each kind goes into which cylinder, in the aims that the job declares."""

from __future__ import annotations

import dataclasses
import math
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Bools, Floats
from truethrow.balance.base.arrays import Ints as Arrangement
from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.base.parts import SUMS, UNIT_OF, UNITS, label
from truethrow.balance.base.readings import Certainty, Reading
from truethrow.balance.base.told import table
from truethrow.balance.base.trades import Moves, after
from truethrow.balance.job.job import Job
from truethrow.balance.matching.aims import MAKERS, Aim, Reached
from truethrow.balance.matching.anneal import anneal
from truethrow.balance.matching.effort import Effort
from truethrow.balance.matching.members import Members
from truethrow.balance.matching.metal import MetalAim
from truethrow.balance.matching.question import (
    DENOMINATORS,
    NANOGRAMS,
    Limited,
    Question,
    Unit,
    nanograms,
    share_of,
)
from truethrow.balance.matching.rules import rules
from truethrow.balance.matching.solve import SEED, Progress, alone, fewest_moves, solve
from truethrow.balance.result.least_metal import counted, least_metal, reach_of_a_gram
from truethrow.balance.result.trim import apply
from truethrow.balance.result.unbalance import rod_arms, throw_arms
from truethrow.balance.result.work import Result, work

# What an arrangement can change the spread of; the spread of a kind by itself stays as it is.
QUANTITIES = ("reciprocating", "rotating", "bobweight")
# What is below this is the rounding of sums, in g and g·mm.
TELLABLE = 1e-6
# Sums and their products with the number of members stay within 64 bits.
LARGEST_SUM = 2**56


class Matching(NamedTuple):
    """The answer. moves: what changes places, empty where the parts sit at their best; reached: the aims in
    order; now, by_hand, matched: the job worked as it is, as sorted by hand, and as matched; by_hand is None
    where the job's rules do not let it; units: what could move; broken_off: by Ctrl-C; kept_rules: whether the
    parts kept all rules where they sat; is_out_of_time: the time ended the search before its work was done."""

    moves: Moves
    reached: tuple[Reached, ...]
    now: Result
    by_hand: Result | None
    matched: Result
    units: tuple[str, ...]
    broken_off: bool
    kept_rules: bool
    is_out_of_time: bool = False

    def __repr__(self) -> str:
        moved = sum(len(own) for own in self.moves.values())
        proved = "proved best" if all(one.proved for one in self.reached) else "not proved best"
        return f"Matching: {moved} parts trade places, {proved}"

    def _repr_html_(self) -> str:
        rows = [
            [label(unit), start, end, self.now.job.names.part(unit, start, end).said]
            for unit, own in self.moves.items()
            for start, end in own.items()
        ]
        return table(repr(self), ["part", "from", "to", "called"], rows)


def match(
    result: Result,
    seconds: float,
    progress: Progress = lambda *_: None,
    now: Callable[[], float] = time.monotonic,
) -> Matching:
    """Match a worked job. The search is counted in work; seconds: the time that caps it, by now.

    Raises BadInput where nothing can change places, and for rules that no arrangement keeps."""
    job = result.job
    units = _moving(job)
    question = ask(result, units)
    effort = Effort(seconds, now)

    def trades(arrangement: Arrangement) -> Job:
        return rearranged(job, moves_of(job, question, arrangement))

    makers = MAKERS | {
        "grams": lambda asked: MetalAim(asked, result, trades)
    }  # only if asked for: it loads a solver
    aims = [makers[name](question) for name in job.match.aims]
    solved = solve(question, aims, _start(question), effort, progress)
    is_out_of_time = effort.is_late and not all(reached.proved for reached in solved.reached)
    arrangement = fewest_moves(question, aims, solved.arrangement)
    told = (_told_of(arrangement, aim, one) for aim, one in zip(aims, solved.reached, strict=True))
    solved = solved._replace(reached=tuple(told))
    by_hand = _by_hand(question)
    matched = work(trades(arrangement))
    if question.allows(question.now) and not is_better_trimmed(matched, result):
        # What is better before the trim alone is not worth a trade.
        arrangement, matched = question.now, result
        solved = solved._replace(reached=tuple(_as_they_sit(aims, solved.reached)))
    return Matching(
        moves=moves_of(job, question, arrangement),
        reached=tuple(
            _with_what_stays_over(reached, result, matched)._replace(
                alone=alone(question, aim, arrangement, effort)
            )
            if position and not solved.broken_off
            else _with_what_stays_over(reached, result, matched)
            for position, (aim, reached) in enumerate(zip(aims, solved.reached, strict=True))
        ),
        now=result,
        by_hand=work(trades(by_hand)) if question.allows(by_hand) else None,
        matched=matched,
        units=tuple(units),
        broken_off=solved.broken_off,
        kept_rules=question.allows(question.now),
        is_out_of_time=is_out_of_time and not solved.broken_off,
    )


def is_better_trimmed(one: Result, other: Result) -> bool:
    """Whether parts come out better once they are trimmed, in whole steps of the scale, in the job's aims and
    their order; also where nothing can be told before readings were looked at again."""
    if one.is_held or other.is_held:
        return True
    for own, their in zip(_trimmed(one), _trimmed(other), strict=True):
        if abs(own - their) > TELLABLE:
            return own < their
    return False


def _trimmed(result: Result) -> list[float]:
    """What the aims come to once the parts are trimmed: g, g·mm, and whether metal comes off."""
    plan = result.trim
    done = work(apply(result.job, plan.parts)) if plan and plan.parts else result
    spreads = {spread.quantity: spread.spread_g for spread in done.spreads}
    over_g = math.fsum(short.spread.spread_g - short.limit_g for short in plan.shortfalls) if plan else 0.0
    found = [over_g]
    for aim in result.job.match.aims:
        if aim == "limits":
            found.append(float(plan is not None))
        elif aim == "grams":
            found.append(plan.grams if plan else 0.0)
        elif aim == "residual":
            left = done.left
            found.append(max(left.front.amount_gmm, left.rear.amount_gmm) if left else 0.0)
        else:
            found.append(spreads.get(aim, 0.0))
    return found


def _as_they_sit(aims: Sequence[Aim], reached: Sequence[Reached]) -> Iterator[Reached]:
    """The aims where every part stays. What was found to be the least of an aim holds no longer once one before it
    stays behind what that had reached."""
    is_behind = False
    for aim, one in zip(aims, reached, strict=True):
        bound = aim.bound() if is_behind else one.bound
        yield one._replace(value=one.before, bound=min(bound, one.before))
        is_behind |= one.before > one.value + aim.step / 2


def _told_of(arrangement: Arrangement, aim: Aim, reached: Reached) -> Reached:
    """An aim as the arrangement that is proposed has it: where a part that was sent home by the way made it
    another than the search had found, that is told."""
    value = aim.at(arrangement)
    if abs(value - reached.value) <= aim.step / 2:
        return reached
    return reached._replace(value=value, bound=min(reached.bound, value))


def _with_what_stays_over(reached: Reached, now: Result, matched: Result) -> Reached:
    if reached.name != MetalAim.name:
        return reached
    before, after = (least_metal(result.job, now.certainty) for result in (now, matched))
    return reached._replace(over_before_g=before.over_g, over_g=after.over_g)


def _moving(job: Job) -> list[str]:
    """The units that the job lets move and of which not every part is the same reading, the one that scatters
    most first: it is the one to begin with where arrangements are gone through."""
    weights = counted(job, "bobweight")
    found: dict[str, float] = {}
    for unit in job.match.move:
        kinds = [kind for kind in UNITS[unit] if kind in weights]
        own = any(
            kind in parts and parts[kind].cylinder is not None for parts in job.parts.values() for kind in kinds
        )
        if own and len(job.parts) > 1:
            carried = [
                sum(weights[kind] * parts[kind].mean_g for kind in kinds if kind in parts)
                for parts in job.parts.values()
            ]
            found[unit] = max(carried) - min(carried)
    if not found:
        raise BadInput([Fault("match, move", "nothing of it was weighed cylinder by cylinder")])
    return sorted(found, key=lambda unit: (-found[unit], unit))


def ask(result: Result, units: Sequence[str]) -> Question:
    """The question as arrays. Raises BadInput for rules that name no part."""
    job = result.job
    found = rules(job, units)
    cylinders = job.layout.cylinders
    moving = {kind for unit in units for kind in UNITS[unit]}
    staying = counted(job, "bobweight").keys() - moving

    def masses(quantity: str, kinds: Collection[str]) -> list[int]:
        """The mass of some kinds in each cylinder, as far as they belong to a quantity. [ng]"""
        taken = [kind for kind in SUMS[quantity] if kind in kinds]
        return nanograms(
            [math.fsum(job.parts[c][k].mean_g for k in taken if k in job.parts[c]) for c in cylinders]
        )

    listed = {unit: (masses("reciprocating", UNITS[unit]), masses("rotating", UNITS[unit])) for unit in units}
    stay = masses("reciprocating", staying), masses("rotating", staying)
    oil = nanograms(job.oil_g)
    share, per_g = _grain(job.share, [*listed.values(), stay], oil)
    per_ng = per_g / NANOGRAMS

    def grains(masses_ng: Sequence[int]) -> Arrangement:
        return np.array([round(mass * per_ng) for mass in masses_ng], dtype=np.int64)

    order = {unit: _order(masses, found.allowed[unit]) for unit, masses in listed.items()}
    throws = job.layout.throws
    throw_of = {c: at for at, throw in enumerate(throws) for c in job.layout.cylinders_on(throw)}
    made = Question(
        units=tuple(
            Unit(
                unit,
                grains(reciprocating)[order[unit]],
                grains(rotating)[order[unit]],
                found.allowed[unit][order[unit]],
                order[unit],
            )
            for unit, (reciprocating, rotating) in listed.items()
        ),
        cylinder_reciprocating=grains(stay[0]),
        cylinder_rotating=grains(stay[1]),
        throw_of=np.array([throw_of[c] for c in cylinders], dtype=np.int64),
        oil=grains(oil),
        share=share,
        per_g=per_g,
        pairs={
            (units.index(one), units.index(other)): fits[np.ix_(order[one], order[other])]
            for (one, other), fits in found.pairs.items()
        },
        limited={},
        metal_anyway=any(s.verdict == "outside" for s in result.spreads if s.quantity not in QUANTITIES),
        arms_mm=np.array([throw_arms(job, plane) for plane in ("front", "rear")]),
        hung_g=_hung(result),
        rod_arms_mm=None
        if job.engine.rods_apart_mm is None
        else np.array([rod_arms(job, plane) for plane in ("front", "rear")]),
    )
    return dataclasses.replace(made, limited=_limited(job, result.certainty, made))


def _grain(
    share: float, masses: Sequence[tuple[list[int], list[int]]], oil: list[int]
) -> tuple[tuple[int, int], float]:
    """The share as a fraction, and how many grains there are to the gram: a grain is the largest mass that all
    masses are multiples of, with reciprocating ones still to be divided by the share's denominator."""
    everything = sum(sum(reciprocating) + sum(rotating) for reciprocating, rotating in masses) + sum(oil)
    for largest in DENOMINATORS:
        fraction = share_of(share, largest)
        reciprocating = [mass for own, _ in masses for mass in own]
        rotating = [mass * fraction[1] for _, own in masses for mass in own] + [mass * fraction[1] for mass in oil]
        common = math.gcd(*reciprocating, *rotating) or 1
        if everything * fraction[1] // common < LARGEST_SUM:
            break
    return fraction, NANOGRAMS * fraction[1] / common


def _order(masses: tuple[list[int], list[int]], allowed: Bools) -> Arrangement:
    """The cylinders in which the parts of a unit sit, by mass and by what they may do."""
    tellings = [(*own, allowed[at].tobytes(), at) for at, own in enumerate(zip(*masses, strict=True))]
    return np.array([telling[-1] for telling in sorted(tellings)], dtype=np.int64)


def _limited(job: Job, sure: Certainty, question: Question) -> dict[str, Limited]:
    """The limits on what an arrangement changes. Whoever sits where, the ± of the difference of two members is
    between its least and its most."""
    names, per_g = [name for name in job.limits_g if name in QUANTITIES], question.per_g
    members = Members(job, sure, question, names)
    doubts = {name: members.doubts_g(name) for name in names}

    def whole(mass_g: float) -> int:
        """Below zero, as a spread cannot be, where the scale cannot tell that anything is inside."""
        return math.floor((mass_g + 1e-9) * per_g) if mass_g >= 0 else -1

    return {
        name: Limited(
            inside=whole(limit_g - doubts[name][1]),
            most_inside=whole(limit_g - doubts[name][0]) + 1,
            outside=whole(limit_g + doubts[name][1]) + 1,
            **reach_of_a_gram(job, name),
        )
        for name, limit_g in job.limits_g.items()
        if name in names
    }


def _hung(result: Result) -> Floats | None:
    """What is hung on each throw, the same whoever sits where; None where each throw is hung its own."""
    throws = result.bobweights.throws
    return None if result.job.hang == "own" else np.array([throw.hung_g for throw in throws])


def moves_of(job: Job, question: Question, arrangement: Arrangement) -> Moves:
    """An arrangement as moves from cylinder to cylinder."""
    cylinders = job.layout.cylinders
    moves: dict[str, dict[int, int]] = {}
    for unit, parts in zip(question.units, arrangement, strict=True):
        starts = unit.sits[parts].tolist()
        own = {cylinders[start]: cylinders[to] for to, start in enumerate(starts) if start != to}
        if own:
            moves[unit.name] = own
    return moves


def rearranged(job: Job, moves: Moves) -> Job:
    """The job as it stands once some moves are made: readings, labels and what the pads gave go along."""
    ends = {(unit, start): end for unit, own in moves.items() for start, end in own.items()}

    def trade(cylinder: int, kind: str) -> int:
        return ends.get((UNIT_OF.get(kind, kind), cylinder), cylinder)

    parts: dict[int, dict[str, Reading]] = {cylinder: {} for cylinder in job.parts}
    labels: dict[int, dict[str, str]] = {cylinder: {} for cylinder in job.parts}
    for cylinder, own in job.parts.items():
        for kind, reading in own.items():
            to = trade(cylinder, kind)
            parts[to][kind] = reading if reading.cylinder is None else reading._replace(cylinder=to)
        for unit, mark in job.labels.get(cylinder, {}).items():
            labels[trade(cylinder, unit)][unit] = mark
    made = dataclasses.replace(job, parts=parts, labels=labels, traded=after(job.traded, moves))
    if job.ground:
        given = {(trade(cylinder, kind), kind): grams for (cylinder, kind), grams in job.ground.given_g.items()}
        made = dataclasses.replace(made, ground=job.ground._replace(given_g=given))
    return made


def _start(question: Question) -> Arrangement:
    """An arrangement that keeps to the rules, the same however the parts sit now."""
    sorted_in = np.tile(np.arange(question.cylinders), (len(question.units), 1))
    if question.allows(sorted_in):
        return sorted_in

    def nothing(arrangements: Arrangement) -> Floats:
        return np.zeros(len(arrangements))

    found = anneal(question, nothing, sorted_in, SEED, hot=1.0, cold=0.1, enough=0.5, sweeps=400)
    if question.allows(found):
        return found
    if question.allows(question.now):
        return question.now
    allowed = "rules that leave every part a place and every place a part; ease one of them"
    raise BadInput([Fault("match", "no arrangement was found that keeps to all rules", allowed)])


def _by_hand(question: Question) -> Arrangement:
    """Heaviest with lightest, as is done at the bench without a tool: the parts of each unit in turn are given
    to the units so far, the heaviest to the lightest; then the lightest cylinder shares a throw with the
    heaviest. Common practice, no source."""
    count = question.cylinders
    weights = [question.carried(unit.reciprocating, unit.rotating) for unit in question.units]
    order = np.argsort(-weights[0], kind="stable")
    sets, so_far = [order], weights[0][order]
    for weight in weights[1:]:
        parts = np.empty(count, dtype=np.int64)
        parts[np.argsort(so_far, kind="stable")] = np.argsort(-weight, kind="stable")
        sets.append(parts)
        so_far = so_far + weight[parts]
    ranked = np.argsort(-so_far, kind="stable").tolist()
    places = [-1] * count
    for position in range(max(map(len, question.on_throw))):
        for throw in question.on_throw if position % 2 == 0 else question.on_throw[::-1]:
            if position < len(throw):
                places[throw[position]] = ranked.pop(0)
    return np.array([parts[places] for parts in sets])
