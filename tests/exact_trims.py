"""The least metal of a trim in whole steps by a general-purpose exact solver (CP-SAT of OR-Tools), in whole
numbers all through: nothing is rounded but what the scale rounds.

It runs in a process of its own: OR-Tools brings a HiGHS library along, which must not meet that of highspy.
"""

from __future__ import annotations

import functools
import itertools
import math
import multiprocessing
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from fractions import Fraction
from typing import Any, NamedTuple

from truethrow.balance.base.parts import SUMS, UNITS
from truethrow.balance.base.readings import Certainty, combine
from truethrow.balance.job.job import Job
from truethrow.balance.result.spread import Spread

# A width, which is no whole number, is rounded down to this part of a step (times what makes the masses whole).
FINE = 10_000


class Least(NamedTuple):
    """Steps to take, and by how many steps the limits are exceeded all the same; is_proved: that there is less of
    neither."""

    steps: int
    excess: float
    is_proved: bool


class Asked(NamedTuple):
    """The question in whole numbers. per_step: what a step is in them, and per_read, in readings, before they are
    multiplied by what counts of them in a sum. rooms: by cylinder and pad the most steps; parts: by cylinder and
    kind what it reads, and what a step at each pad of its part lowers it by; limited: the members of each limit,
    as the counts of cylinder and kind in them and what is theirs besides; by two members how far apart they may
    be; and whether that must hold."""

    per_step: int
    per_read: int
    rooms: Mapping[tuple[int, str], int]
    parts: Mapping[tuple[int, str], tuple[Fraction, Mapping[str, Fraction]]]
    limited: list[tuple[list[tuple[Mapping[tuple[int, str], Fraction], Fraction]], list[list[float]], bool]]


def least(job: Job, before: tuple[Spread, ...], sure: Certainty, seconds: float = 60.0) -> Least:
    """The least metal of a job's trim."""
    return _process().submit(_solved, _asked(job, before, sure), seconds).result()


@functools.cache
def _process() -> ProcessPoolExecutor:
    return ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn"))


def _exact(grams: float, step_g: float) -> Fraction:
    return Fraction(repr(grams)) / Fraction(repr(step_g))


def _asked(job: Job, before: tuple[Spread, ...], sure: Certainty) -> Asked:
    step_g, length = job.scale.resolution_g, Fraction(repr(job.engine.rod_length_mm))
    rooms, parts = {}, {}
    of = {"piston": "piston", "pin": "pin", "big_end": "rod", "small_end": "rod"}
    for cylinder, own in job.parts.items():
        for kind, reading in own.items():
            lowered = {}
            for pad in job.pads:
                if pad.at_mm is None:
                    lowered |= {pad.kind: Fraction(1)} if pad.kind == kind else {}
                elif kind in ("big_end", "small_end"):
                    small = Fraction(repr(pad.at_mm)) / length
                    lowered[pad.kind] = small if kind == "small_end" else 1 - small
            read = sum(_exact(grams, step_g) for grams in reading.repeats_g) / len(reading.repeats_g)
            parts[cylinder, kind] = read, lowered
        for pad in job.pads:
            if set(UNITS[of[pad.kind]]) & own.keys():
                rooms[cylinder, pad.kind] = math.floor(_exact(pad.most_g, step_g))
    share = Fraction(repr(job.share))
    limited = []
    for spread in before:
        if spread.limit_g is None:
            continue
        names = list(spread.members)
        members = []
        for name in names:
            if spread.quantity == "bobweight":
                (throw,) = (throw for throw in job.layout.throws if throw.name == name)
                counts = {
                    (c, kind): weight
                    for c in job.layout.cylinders_on(throw)
                    for weight, quantity in ((Fraction(1), "rotating"), (share, "reciprocating"))
                    for kind in SUMS[quantity]
                }
                besides = _exact(job.oil_g[job.layout.throws.index(throw)], step_g)
            else:
                counts = {(int(name), kind): Fraction(1) for kind in SUMS[spread.quantity]}
                besides = Fraction(0)
            members.append(({place: w for place, w in counts.items() if place in parts}, besides))
        widths = [
            [
                max(0.0, spread.limit_g - sure.expanded_g(combine([(1.0, one), (-1.0, other)]))) / step_g
                for other in spread.members.values()
            ]
            for one in spread.members.values()
        ]
        limited.append((members, widths, spread.verdict != "outside"))
    weights = [w for members, _, _ in limited for counts, _ in members for w in counts.values()]
    numbers = [read for read, _ in parts.values()] + [b for members, _, _ in limited for _, b in members]
    per_read = math.lcm(*(number.denominator for number in numbers))
    per_step = per_read * math.lcm(*(weight.denominator for weight in weights))
    return Asked(per_step, per_read, rooms, parts, limited)


def _solved(asked: Asked, seconds: float) -> Least:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    cuts = {place: model.new_int_var(0, most, "") for place, most in asked.rooms.items()}
    metal = sum(cuts.values())
    shown = {place: _shown(model, asked, cuts, *place) for place in asked.parts}
    over = []
    fine = asked.per_step * FINE
    for members, widths, is_firm in asked.limited:
        now = [sum(w * asked.parts[p][0] for p, w in counts.items()) + besides for counts, besides in members]
        most = [_sum(asked, counts, besides, shown, 1) for counts, besides in members]
        least = [_sum(asked, counts, besides, shown, 0) for counts, besides in members]
        pairs = list(itertools.permutations(range(len(members)), 2))
        beyond: Any = 0
        if not is_firm:
            worst = max(float(now[i] - now[j]) - widths[i][j] for i, j in pairs)
            beyond = model.new_int_var(0, math.ceil(max(0.0, worst) * fine), "")
            over.append(beyond)
        for i, j in pairs:
            width = math.floor((widths[i][j] + 1e-6) * fine)
            if is_firm:  # may not grow past what any two that are as sure have now
                alike = [now[a] - now[b] for a, b in pairs if _alike(widths, a, i) and _alike(widths, b, j)]
                width = max(width, math.ceil(max(alike) * fine))
            model.add((most[i] - least[j]) * FINE <= width + beyond)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    model.minimize(sum(over))
    first = solver.solve(model)
    if first != cp_model.OPTIMAL:
        return Least(-1, -1.0, is_proved=False)
    excess = round(solver.objective_value)
    model.add(sum(over) <= excess)
    model.minimize(metal)
    second = solver.solve(model)
    return Least(round(solver.objective_value), excess / fine, second == cp_model.OPTIMAL)


def _alike(widths: list[list[float]], one: int, other: int) -> bool:
    """Whether two members are equally sure: held against any third they may be as far apart."""
    third = [k for k in range(len(widths)) if k not in (one, other)]
    return all(abs(widths[one][k] - widths[other][k]) < 1e-9 for k in third)


def _shown(model: Any, asked: Asked, cuts: Any, cylinder: int, kind: str) -> tuple[Any, Any]:
    """The least and the most that the scale may show of a part, times per_read."""
    read, lowered = asked.parts[cylinder, kind]
    whole = int(read * asked.per_read)
    own = {pad: fall for pad, fall in lowered.items() if asked.rooms.get((cylinder, pad))}
    if not own:
        return whole, whole
    is_cut = model.new_bool_var("")
    total = sum(cuts[cylinder, pad] for pad in own)
    model.add(total >= 1).only_enforce_if(is_cut)
    model.add(total == 0).only_enforce_if(~is_cut)
    common = math.lcm(read.denominator, *(fall.denominator for fall in own.values()))
    left = int(read * common) - sum(int(fall * common) * cuts[cylinder, pad] for pad, fall in own.items())
    reach = math.ceil(abs(read)) + sum(math.ceil(abs(f)) * asked.rooms[cylinder, p] for p, f in own.items())
    ends = []
    for sign in (-1, 1):
        # The nearest step, of a middle the lower and the upper one.
        steps = model.new_int_var(-reach, reach, "")
        slack = 2 * left - 2 * common * steps
        model.add(slack * sign >= -common)
        model.add(slack * sign <= common - 1)
        ends.append(_either(model, is_cut, steps * asked.per_read, whole, reach * asked.per_read))
    return ends[0], ends[1]


def _either(model: Any, is_cut: Any, after: Any, before: int, reach: int) -> Any:
    one = model.new_int_var(-reach, reach, "")
    model.add(one == after).only_enforce_if(is_cut)
    model.add(one == before).only_enforce_if(~is_cut)
    return one


def _sum(asked: Asked, counts: Any, besides: Fraction, shown: Any, end: int) -> Any:
    total: Any = int(besides * asked.per_step)
    for place, weight in counts.items():
        total = total + int(weight * asked.per_step / asked.per_read) * shown[place][end]
    return total
