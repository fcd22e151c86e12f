"""Models as any stranger has them, read out of their text alone and solved by solvers that the tool does not use:
CP-SAT where all is whole, SCIP where it is not (both of OR-Tools). Nothing here knows how a model was made.

They run in a process of their own: OR-Tools brings a HiGHS library along, which must not meet that of highspy.
"""

from __future__ import annotations

import functools
import hashlib
import multiprocessing
import re
from concurrent.futures import ProcessPoolExecutor
from fractions import Fraction
from typing import NamedTuple

# Of models that are not in whole numbers: how far a row may be off.
NEAR = Fraction(1, 10**6)
TERM = re.compile(r"([+-]) ?(\d+(?:\.\d+)?) ([A-Za-z]\w*)")
SENSE = re.compile(r"(<=|>=|=) (-?[\d.]+)")


class Row(NamedTuple):
    terms: dict[str, Fraction]
    sense: str
    than: Fraction

    def holds(self, values, within=Fraction(0)):
        over = sum((c * values[v] for v, c in self.terms.items()), Fraction(0)) - self.than
        return {"<=": over <= within, ">=": over >= -within, "=": abs(over) <= within}[self.sense]


class Read(NamedTuple):
    """A model out of its text. head: its comments; answer: the values that these say."""

    head: list[str]
    bounds: dict[str, tuple[Fraction | None, Fraction | None]]
    whole: frozenset[str]
    rows: list[Row]
    objective: dict[str, Fraction]
    answer: dict[str, Fraction]

    def said(self, name):
        (line,) = (line for line in self.head if line.startswith(f"{name}:"))
        return line.partition(": ")[2]

    @property
    def stated(self):
        return Fraction(self.said("objective of the answer").split()[0])

    @property
    def bound(self):
        return Fraction(re.match(r"-?[\d.]+", self.said("bound"))[0])

    @property
    def is_proved(self):
        return "nothing better exists" in self.said("bound")

    @property
    def value(self):
        """The objective of the answer, worked out."""
        return sum((c * self.answer[v] for v, c in self.objective.items()), Fraction(0))


def read(text: str) -> Read:
    return _read_opb(text) if text.startswith("* #variable=") else _read_lp(text)


def wrong(text: str, within=Fraction(0)) -> list[str]:
    """All that a look at a file finds wrong, without a solver: the seal, an answer that breaks a row or a bound,
    or whose objective is not what the head says."""
    try:
        own = read(text)
    except (AssertionError, AttributeError, KeyError, ValueError):
        return ["not to be read"]
    found = [] if _is_sealed(text) else ["seal"]
    used = {name for terms in (own.objective, *(row.terms for row in own.rows)) for name in terms}
    if own.answer.keys() != own.bounds.keys() or not used | own.whole <= own.bounds.keys():
        return [*found, "names"]
    for name, (least, most) in own.bounds.items():
        value = own.answer[name]
        if (least is not None and value < least - within) or (most is not None and value > most + within):
            found.append(name)
        if name in own.whole and value.denominator != 1:
            found.append(name)
    found += [f"row {at}" for at, row in enumerate(own.rows) if not row.holds(own.answer, within)]
    if abs(own.value - own.stated) > within:
        found.append("objective")
    return found


def _is_sealed(text):
    lines = text.splitlines()
    seal = [line for line in lines if line[1:].startswith(" seal: ")]
    rest = "\n".join(line for line in lines if line not in seal)
    return len(seal) == 1 and seal[0][1:].split()[1] == hashlib.sha256(rest.encode()).hexdigest()[:32]


def _answers(head):
    found = {}
    for line in head:
        if line.startswith("answer: "):
            name, _, value = line.partition(": ")[2].partition(";")[0].partition(" = ")
            found[name] = Fraction(value)
    return found


def _terms(text):
    return {name: Fraction(sign + number) for sign, number, name in TERM.findall(text)}


def _row(text):
    sense = SENSE.search(text)
    return Row(_terms(text[: sense.start()]), sense[1], Fraction(sense[2]))


def _read_opb(text):
    lines = text.splitlines()
    head = [line[2:] for line in lines if line.startswith("*")]
    variables, constraints = map(int, re.match(r"#variable= (\d+) #constraint= (\d+)$", head[0]).groups())
    first, *rows = (line for line in lines if not line.startswith("*"))
    assert first.startswith("min:")
    assert all(line.endswith(" ;") for line in (first, *rows))
    assert len(rows) == constraints
    names = [f"x{at}" for at in range(1, variables + 1)]
    bounds = dict.fromkeys(names, (Fraction(0), Fraction(1)))
    return Read(head, bounds, frozenset(names), [*map(_row, rows)], _terms(first), _answers(head))


def _read_lp(text):
    lines = text.splitlines()
    head = [line[2:] for line in lines if line.startswith("\\")]
    sections: dict[str, list[str]] = {}
    for line in (line for line in lines if not line.startswith("\\")):
        if line in ("Minimize", "Subject To", "Bounds", "General", "End"):
            own = sections.setdefault(line, [])
        elif line.startswith("  ") and own and line not in ("Bounds", "General"):
            own[-1] += line
        else:
            own.append(line)
    bounds = {}
    for line in sections["Bounds"]:
        least, name, most = line.split(" <= ")
        bounds[name] = tuple(None if "inf" in end else Fraction(end.strip()) for end in (least, most))
    whole = frozenset(" ".join(sections.get("General", [])).split())
    rows = [_row(line.partition(":")[2]) for line in sections["Subject To"]]
    objective = _terms(sections["Minimize"][0].partition(":")[2])
    return Read(head, bounds, whole, rows, objective, _answers(head))


class Solved(NamedTuple):
    """How the solver ended: optimal, infeasible, or anything else; and the least that it found."""

    status: str
    value: Fraction | float | None


def solve(text: str, seconds: float = 60.0) -> Solved:
    """The least of a model."""
    return _process().submit(_solved, text, seconds).result()


@functools.cache
def _process() -> ProcessPoolExecutor:
    return ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn"))


def _solved(text, seconds):
    own = read(text)
    numbers = [c for row in own.rows for c in (*row.terms.values(), row.than)]
    is_whole = own.whole == own.bounds.keys() and all(number.denominator == 1 for number in numbers)
    return _by_cp_sat(own, seconds) if is_whole else _by_scip(own, seconds)


def _by_cp_sat(own, seconds):
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    far = 10**6
    columns = {
        name: model.new_int_var(-far if least is None else int(least), far if most is None else int(most), name)
        for name, (least, most) in own.bounds.items()
    }
    for row in own.rows:
        total = sum(int(c) * columns[v] for v, c in row.terms.items())
        than = int(row.than)
        model.add(total <= than if row.sense == "<=" else total >= than if row.sense == ">=" else total == than)
    model.minimize(sum(int(c) * columns[v] for v, c in own.objective.items()))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.status_name(solver.solve(model)).lower()
    return Solved(status, Fraction(round(solver.objective_value)) if status in ("optimal", "feasible") else None)


def _by_scip(own, seconds):
    from ortools.linear_solver import pywraplp

    solver = pywraplp.Solver.CreateSolver("SCIP")
    solver.SetTimeLimit(int(seconds * 1000))
    ends = {
        name: (
            -solver.infinity() if least is None else float(least),
            solver.infinity() if most is None else float(most),
        )
        for name, (least, most) in own.bounds.items()
    }
    columns = {
        name: solver.IntVar(*both, name) if name in own.whole else solver.NumVar(*both, name)
        for name, both in ends.items()
    }
    for row in own.rows:
        than = float(row.than)
        made = solver.Constraint(
            -solver.infinity() if row.sense == "<=" else than, solver.infinity() if row.sense == ">=" else than
        )
        for name, c in row.terms.items():
            made.SetCoefficient(columns[name], float(c))
    for name, c in own.objective.items():
        solver.Objective().SetCoefficient(columns[name], float(c))
    solver.Objective().SetMinimization()
    exactly = pywraplp.MPSolverParameters()
    exactly.SetDoubleParam(exactly.RELATIVE_MIP_GAP, 0.0)  # else a part in 10,000 is near enough
    status = solver.Solve(exactly)
    names = {solver.OPTIMAL: "optimal", solver.INFEASIBLE: "infeasible", solver.FEASIBLE: "feasible"}
    name = names.get(status, "unknown")
    return Solved(name, solver.Objective().Value() if name in ("optimal", "feasible") else None)


def changed(text: str, at: int) -> str:
    """The file with another digit at this place of it."""
    return f"{text[:at]}{(int(text[at]) + 1) % 10}{text[at + 1 :]}"
