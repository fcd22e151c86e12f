"""The same question put to a general-purpose exact solver (CP-SAT of OR-Tools), aim after aim.

It runs in a process of its own: OR-Tools brings a HiGHS library along, which must not meet that of highspy.
"""

from __future__ import annotations

import functools
import multiprocessing
import threading
import time
from concurrent.futures import ProcessPoolExecutor
from typing import Any, NamedTuple

import numpy as np

from truethrow.balance.matching.bounds import least
from truethrow.balance.matching.question import Question

UNBOUNDED = 2**40
GRAIN = 1000  # to the gram, of masses, cuts and effects: rounding is some milligrams over a whole engine


def solve(question: Question, aims: tuple[str, ...], seconds: float) -> dict[str, float]:
    """The best value of each aim [g]; raises AssertionError where one is not proved within the seconds of the
    processor, which leave building the model out."""
    found: dict[str, int] = {}
    for aim in aims:
        found[aim], proved, _ = solve_one(question, aim, found, seconds)
        assert proved, f"{aim}: not proved in {seconds} s"
    step = step_of_all(question)
    return {name: value * step / question.per_g for name, value in found.items()}


def solve_one(question: Question, aim: str, caps: dict[str, int], seconds: float) -> tuple[int, bool, float]:
    """One aim with caps on others, in steps: the value, whether it is proved, and the processor's time taken, no
    more than the seconds. It is told of the bound of the masses' steps, without which it takes far longer to
    prove."""
    return _process().submit(_solved, question, aim, caps, seconds).result()


@functools.cache
def _process() -> ProcessPoolExecutor:
    return ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn"))


def _solved(question: Question, aim: str, caps: dict[str, int], seconds: float) -> tuple[int, bool, float]:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    spreads = _spreads(model, question, {aim, *caps})
    for name, most in caps.items():
        model.add(spreads[name] <= most)
    model.minimize(spreads[aim])
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    start, ended = time.process_time(), threading.Event()

    def watch() -> None:
        while not ended.wait(0.02):
            if time.process_time() - start > seconds:
                solver.stop_search()

    threading.Thread(target=watch, daemon=True).start()
    status = solver.solve(model)
    ended.set()
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    value = round(solver.objective_value) if found else UNBOUNDED
    return value, status == cp_model.OPTIMAL, time.process_time() - start


def _places(model: Any, question: Question) -> list[list[list[Any]]]:
    """By unit, part and cylinder whether it sits there, within the rules."""
    n = question.cylinders
    sits = [[[model.new_bool_var("") for _ in range(n)] for _ in range(n)] for _ in question.units]
    for u, unit in enumerate(question.units):
        for part in range(n):
            model.add_exactly_one(sits[u][part])
            model.add_exactly_one(sits[u][other][part] for other in range(n))
            for cylinder in np.flatnonzero(~unit.allowed[part]):
                model.add(sits[u][part][cylinder] == 0)
    for (u, v), fits in question.pairs.items():
        for one, other in np.argwhere(~fits):
            for cylinder in range(n):
                model.add_at_most_one(sits[u][one][cylinder], sits[v][other][cylinder])
    return sits


def _spreads(model: Any, question: Question, names: set[str]) -> dict[str, Any]:
    """The spread of each quantity, in steps."""
    sits, step = _places(model, question), step_of_all(question)
    carried = question.carried
    weights = {
        "reciprocating": (question.cylinder_reciprocating, [unit.reciprocating for unit in question.units]),
        "rotating": (question.cylinder_rotating, [unit.rotating for unit in question.units]),
        "bobweight": (
            carried(question.cylinder_reciprocating, question.cylinder_rotating),
            [carried(unit.reciprocating, unit.rotating) for unit in question.units],
        ),
    }
    spreads = {}
    for name in sorted(names):
        traded, values = weights[name]
        light = sum(int(value.min()) for value in values)
        members = [
            sum(
                int(value[part] - value.min()) // step * sits[u][part][cylinder]
                for u, value in enumerate(values)
                for part in range(question.cylinders)
            )
            + (int(traded[cylinder]) + light) // step
            for cylinder in range(question.cylinders)
        ]
        if name == "bobweight":
            members = [
                sum(members[c] for c in on) + int(question.oil[throw]) // step
                for throw, on in enumerate(question.on_throw)
            ]
        low, high = model.new_int_var(-UNBOUNDED, UNBOUNDED, ""), model.new_int_var(-UNBOUNDED, UNBOUNDED, "")
        for member in members:
            model.add(member >= low)
            model.add(member <= high)
        spreads[name] = high - low
        model.add(spreads[name] >= -(-least(question, name) // step))
    return spreads


def step_of_all(question: Question) -> int:
    """What all masses of the question are whole numbers of."""
    carried = [question.carried(unit.reciprocating, unit.rotating) for unit in question.units]
    masses = [question.cylinder_reciprocating, question.cylinder_rotating, question.oil, *carried]
    masses += [values for unit in question.units for values in (unit.reciprocating, unit.rotating)]
    return int(np.gcd.reduce(np.concatenate(masses)))


class MetalLimit(NamedTuple):
    """A limit on a spread [g]: of each member the cylinders in it, and what of it sits nowhere else; what the
    parts of each unit weigh in it, as listed; by how much a gram at each (cylinder, pad) lowers each member; the
    width that is aimed at, and the spread beyond which it is outside."""

    cylinders: list[tuple[int, ...]]
    fixed_g: list[float]
    units_g: list[list[float]]
    effects: list[dict[tuple[int, int], float]]
    inside_g: float
    outside_g: float


def least_metal(
    limits: list[MetalLimit], pads_g: dict[tuple[int, int], float], seconds: float
) -> tuple[float, float, bool, float]:
    """Arrangement and cuts at once, cuts and effects in steps of GRAIN: the least that it finds, its bound,
    whether that is proved, and the processor's time taken, no more than the seconds. A gram over a limit counts as
    a thousand."""
    return _process().submit(_least_metal, limits, pads_g, seconds).result()


def _least_metal(
    limits: list[MetalLimit], pads_g: dict[tuple[int, int], float], seconds: float
) -> tuple[float, float, bool, float]:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    units, n = len(limits[0].units_g), len(limits[0].units_g[0])
    sits = [[[model.new_bool_var("") for _ in range(n)] for _ in range(n)] for _ in range(units)]
    for own in sits:
        for one in range(n):
            model.add_exactly_one(own[one])
            model.add_exactly_one(part[one] for part in own)
    cuts = {place: model.new_int_var(0, round(most_g * GRAIN), "") for place, most_g in pads_g.items()}
    cost = sum(cuts.values())
    for limit in limits:
        base = min(limit.fixed_g)
        light = [min(masses) for masses in limit.units_g]
        most = round(GRAIN * (max(limit.fixed_g) - base + sum(n * (max(m) - min(m)) for m in limit.units_g)))
        before = []
        for on, fixed in zip(limit.cylinders, limit.fixed_g, strict=True):
            before.append(
                sum(
                    round((mass - least) * GRAIN) * sits[u][part][at]
                    for u, (masses, least) in enumerate(zip(limit.units_g, light, strict=True))
                    for part, mass in enumerate(masses)
                    for at in on
                )
                + round((fixed - base) * GRAIN)
            )
        ends = [model.new_int_var(0, most, "") for _ in range(2)]
        model.add_max_equality(ends[0], before)
        model.add_min_equality(ends[1], before)
        spread = ends[0] - ends[1]
        inside, outside = round(limit.inside_g * GRAIN), round(limit.outside_g * GRAIN)
        holds = model.new_bool_var("")
        model.add(spread <= outside).only_enforce_if(holds)
        model.add(spread > outside).only_enforce_if(~holds)
        width, excess = model.new_int_var(0, most + inside, ""), model.new_int_var(0, most, "")
        wide = model.new_int_var(0, most + inside, "")
        model.add_max_equality(wide, [spread, inside])
        model.add(width == wide).only_enforce_if(holds)
        model.add(width == inside).only_enforce_if(~holds)
        model.add(excess == 0).only_enforce_if(holds)
        bottom = model.new_int_var(-most * GRAIN, most * GRAIN, "")
        for own, effects in zip(before, limit.effects, strict=True):
            fine = GRAIN * own - sum(round(effect * GRAIN) * cuts[p] for p, effect in effects.items() if p in cuts)
            model.add(fine >= bottom)
            model.add(fine <= bottom + GRAIN * (width + excess))
        cost = cost + 1000 * excess
    model.minimize(cost)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    start, ended = time.process_time(), threading.Event()

    def watch() -> None:
        while not ended.wait(0.05):
            if time.process_time() - start > seconds:
                solver.stop_search()

    threading.Thread(target=watch, daemon=True).start()
    status = solver.solve(model)
    ended.set()
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    value = solver.objective_value / GRAIN if found else float(UNBOUNDED)
    return value, solver.best_objective_bound / GRAIN, status == cp_model.OPTIMAL, time.process_time() - start
