"""The same question put to a general-purpose exact solver (CP-SAT of OR-Tools), aim after aim.

It runs in a process of its own: OR-Tools brings a HiGHS library along, which must not meet that of highspy.
"""

from __future__ import annotations

import functools
import multiprocessing
import threading
import time
from concurrent.futures import ProcessPoolExecutor
from typing import Any

import numpy as np

from truethrow.balance.matching.bounds import least
from truethrow.balance.matching.question import Question

UNBOUNDED = 2**40


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
