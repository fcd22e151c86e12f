"""An answer as a model that any solver reads: what may be chosen, what must hold, what is to be least, and the
answer that was found, in CPLEX-LP or OPB (pseudo-Boolean) text.

It is a question to solve again, not a proof by itself. Its numbers are whole wherever they can be, so that no
solver's tolerance decides. The head, in comments, says in plain words what is asked, what was found, how to read
a solver's verdict, and what each name means; its last line is a seal over all the rest, so that a changed digit
shows.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Literal, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, printable, shown
from truethrow.balance.base.program import version

Sense = Literal["<=", ">=", "="]
Terms = Mapping[str, Fraction]

# Masses are known to the nanogram; what is nearer than this to a short fraction is that fraction.
NEAR = 1e-9
SHORT = 10**5
# A row of larger numbers than this is written with decimals: beyond it the solvers' own arithmetic rounds.
LARGEST = 10**9
PLACES = 12  # of those decimals
# A polygon of so many corners about a circle is nowhere further from it than a part in 26,000.
CORNERS = 360
# What a row in decimals may be off by, for the rounding of floats.
SLACK = Fraction(1, 10**9)
WHAT = "a model to solve again with any solver"
LINE = 200  # characters of a line in LP, where long ones are not read by every program


class Variable(NamedTuple):
    """What is chosen: between two bounds, None where there is none, whole or not, and what it means."""

    least: int | None
    most: int | None
    whole: bool
    meaning: str


class Row(NamedTuple):
    """What must hold: the terms against a number."""

    name: str
    terms: dict[str, Fraction]
    sense: Sense
    than: Fraction

    def holds(self, total: Fraction, within: Fraction = Fraction(0)) -> bool:
        """Whether it does where its terms come to this much."""
        over = total - self.than
        return {"<=": over <= within, ">=": over >= -within, "=": abs(over) <= within}[self.sense]


class Claim(NamedTuple):
    """What the head says. asked: what is to be least, in words; unit: what one of the objective is; found: the
    answer's objective, as it is said; best: the least that none is below, as it is said, None where that is found
    itself; within: by how much an optimum may be beside that, in words, empty for nothing; notes: what else is to
    be known."""

    job: str
    digest: str
    asked: str
    unit: str
    value: Fraction
    found: str
    best: str | None
    bound: Fraction
    within: str = ""
    notes: tuple[str, ...] = ()


@dataclass(eq=False)
class Model:
    """A model being put together. objective: in whole numbers; answer: of every variable its value in the answer
    that was found."""

    variables: dict[str, Variable] = field(default_factory=dict)
    rows: list[Row] = field(default_factory=list)
    objective: dict[str, Fraction] = field(default_factory=dict)
    answer: dict[str, Fraction] = field(default_factory=dict)

    def variable(
        self, name: str, least: int | None, most: int | None, answer: Fraction, meaning: str, *, whole: bool = True
    ) -> str:
        """One more variable. Bounds are whole numbers."""
        self.variables[name] = Variable(least, most, whole, meaning)
        self.answer[name] = Fraction(answer)
        return name

    def row(self, name: str, terms: Mapping[str, Fraction | int], sense: Sense, than: Fraction | int) -> None:
        """One more row; none where nothing can be chosen in it. Raises ValueError where that does not hold."""
        made = Row(name, {v: Fraction(c) for v, c in terms.items() if c}, sense, Fraction(than))
        if made.terms:
            self.rows.append(made)
        elif not made.holds(Fraction(0)):
            raise ValueError(f"{name} cannot hold")

    def broken(self, within: Fraction = Fraction(0)) -> list[str]:
        """The rows and bounds that the answer does not keep."""
        found = []
        for name, one in self.variables.items():
            value = self.answer[name]
            outside = (one.least is not None and value < one.least - within) or (
                one.most is not None and value > one.most + within
            )
            if outside or (one.whole and value.denominator != 1):
                found.append(name)
        return found + [row.name for row in self.rows if not row.holds(self._total(row.terms), within)]

    @property
    def value(self) -> Fraction:
        """The objective of the answer."""
        return self._total(self.objective)

    def _total(self, terms: Terms) -> Fraction:
        return sum((c * self.answer[v] for v, c in terms.items()), Fraction(0))


def near(value: float) -> Fraction:
    """The number that a float stands for: the short fraction that it is nearest to, or its nine decimals."""
    short = Fraction(value).limit_denominator(SHORT)
    return short if abs(short - Fraction(value)) <= NEAR else Fraction(round(value * 10**9), 10**9)


def decimals(value: float) -> Fraction:
    """A number that is no whole one, with the decimals that a file has."""
    return Fraction(round(value * 10**PLACES), 10**PLACES)


def polygon() -> list[tuple[Fraction, Fraction]]:
    """The directions of the sides of a polygon about a circle."""
    turned = (2 * math.pi * corner / CORNERS for corner in range(CORNERS))
    return [(decimals(math.cos(angle)), decimals(math.sin(angle))) for angle in turned]


def ending(path: Path, allowed: Sequence[str]) -> str:
    """The format that a file's name asks for. Raises BadInput for any other."""
    found = path.suffix.lower()
    if found not in allowed:
        names = " or ".join(f"model{one}" for one in allowed)
        raise BadInput([Fault("--model", f"{shown(path.name)} has another ending", f"a name such as {names}")])
    return found


def text(model: Model, claim: Claim, kind: str) -> str:
    """The file, by the ending of its name."""
    return opb(model, claim) if kind == ".opb" else lp(model, claim)


def lp(model: Model, claim: Claim) -> str:
    """In CPLEX-LP: general and binary variables, bounds, one row a line or more."""
    least = model.objective or {next(iter(model.variables)): Fraction(0)}
    lines = ["Minimize", *_wrapped(" least:", _lp_terms(least)), "Subject To"]
    for row in model.rows:
        terms, than_scaled = _whole(row, LARGEST)
        than = _number(than_scaled)
        lines += _wrapped(f" {row.name}:", [*_lp_terms(terms), f"{row.sense} {than}"])
    lines.append("Bounds")
    for name, one in model.variables.items():
        from_least = "-inf" if one.least is None else str(one.least)
        lines.append(f" {from_least} <= {name} <= {'+inf' if one.most is None else one.most}")
    if whole := [name for name, one in model.variables.items() if one.whole]:
        lines += ["General", *_wrapped("", whole)]
    lines.append("End")
    answers = [f"{name} = {_number(model.answer[name])}; {one.meaning}" for name, one in model.variables.items()]
    return _sealed("\\", [], _head(claim), answers, lines)


def opb(model: Model, claim: Claim) -> str:
    """In OPB: every variable is 0 or 1, a number the sum of its bits. Raises ValueError for what is not whole, and
    for an objective that does not begin at nothing, which OPB cannot say."""
    bits: dict[str, list[tuple[int, str]]] = {}
    answers, taken = [], 0
    limits: list[Row] = []
    for name, one in model.variables.items():
        if not one.whole or one.least is None or one.most is None:
            raise ValueError(f"{name} is no whole number between two bounds")
        if one.least and name in model.objective:
            raise ValueError(f"{name} begins at {one.least}")
        span, value = one.most - one.least, int(model.answer[name]) - one.least
        count = span.bit_length()
        bits[name] = [(2**k, f"x{taken + k + 1}") for k in range(count)]
        for k, (weight, bit) in enumerate(bits[name]):
            meaning = one.meaning if span == 1 else f"bit {k} of {name}, worth {weight}: {one.meaning}"
            answers.append(f"{bit} = {value >> k & 1}; {meaning}")
        if span and span != 2**count - 1:
            limits.append(Row("", {name: Fraction(1)}, "<=", Fraction(one.most)))
        taken += count
    lines = []
    for row in [*model.rows, *limits]:
        terms, than = _whole(row)
        sign = -1 if row.sense == "<=" else 1
        than *= sign
        numbers: dict[str, Fraction] = {}
        for name, count_of in terms.items():
            than -= sign * count_of * (model.variables[name].least or 0)
            numbers |= {bit: sign * count_of * weight for weight, bit in bits[name]}
        sense = "=" if row.sense == "=" else ">="
        lines.append(f"{_opb_terms(numbers)} {sense} {int(than)} ;")
    least = {bit: c * weight for name, c in model.objective.items() for weight, bit in bits[name]}
    body = [f"min: {_opb_terms(least)} ;", *lines]
    first = f"* #variable= {taken} #constraint= {len(lines)}"
    return _sealed("*", [first], _head(claim), answers, body)


def seal_of(text: str) -> str:
    """What the seal of a file must be: of all its lines but that of the seal."""
    lines = [line for line in text.splitlines() if not line[1:].startswith(" seal: ")]
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:32]


def is_model(text: str) -> bool:
    """Whether a file is a model of ours, whole or not."""
    return any(WHAT in line for line in text.splitlines()[:2])


def beside(path: Path, name: str) -> Path:
    """The file for an earlier aim beside that of the last one: ``my.opb``, ``my.limits.opb``."""
    return path.with_name(f"{path.stem}.{name}{path.suffix}")


def _head(claim: Claim) -> list[str]:
    value, bound = _number(claim.value), _number(claim.bound)
    lines = [
        f"truethrow {version()}: {WHAT}; it is no proof by itself",
        f"job: {claim.job}, digest {claim.digest}",
        f"asked: {claim.asked}",
        f"unit: 1 of the objective is {claim.unit}",
        f"objective of the answer: {value} ({claim.found})",
    ]
    within = f" ({claim.within})" if claim.within else ""
    if claim.best is None:
        lines += [
            f"bound: {bound}; proved, the tool says: nothing better exists",
            f"verdict: solve it for the least. An optimum of {value}{within} says so, too.",
            "A smaller one is something better, by the values that come with it.",
        ]
    else:
        lines += [
            f"bound: {bound} ({claim.best}); not proved: something better than the answer may exist",
            f"verdict: solve it for the least. The least is from {bound} to {value}{within}.",
            f"At {value} nothing better exists; below it something does, by the values that come with it.",
        ]
    lines.append(f"A larger one, one below {bound}, or no answer at all: the file or the tool is wrong.")
    return [*lines, *claim.notes]


def _sealed(mark: str, first: list[str], head: list[str], answers: list[str], body: list[str]) -> str:
    sealed = "The seal is of all other lines: the first 32 digits of their SHA-256."
    said = [*head, sealed, "answer, and what each name means:", *(f"answer: {one}" for one in answers)]
    lines = [*first, *(f"{mark} {printable(line)}" for line in said)]
    seal = seal_of("\n".join([*lines, *body]))
    return "\n".join([*lines, f"{mark} seal: {seal}", *body]) + "\n"


def _whole(row: Row, largest: int | None = None) -> tuple[dict[str, Fraction], Fraction]:
    """A row's terms and the number beside them, whole and with no common divisor; as they are where that makes
    them larger than this."""
    numbers = [*row.terms.values(), row.than]
    scale = Fraction(math.lcm(*(number.denominator for number in numbers)))
    scale /= math.gcd(*(int(number * scale) for number in numbers)) or 1
    if largest and max(map(abs, numbers)) * scale > largest:
        return row.terms, row.than
    return {name: c * scale for name, c in row.terms.items()}, row.than * scale


def _number(value: Fraction) -> str:
    """A number with all its decimals, no more than PLACES."""
    if value.denominator == 1:
        return str(value.numerator)
    digits = f"{round(value * 10**PLACES):+0{PLACES + 2}d}"
    said = f"{digits[1:-PLACES]}.{digits[-PLACES:]}".rstrip("0").rstrip(".")
    return f"-{said}" if digits[0] == "-" else said


def _lp_terms(terms: Terms) -> list[str]:
    return [f"{'-' if c < 0 else '+'} {_number(abs(c))} {name}" for name, c in terms.items()]


def _opb_terms(terms: Terms) -> str:
    return " ".join(f"{int(c):+d} {name}" for name, c in terms.items())


def _wrapped(start: str, words: Iterable[str]) -> list[str]:
    """Words on as many lines as they need."""
    lines = [start]
    for word in words:
        if len(lines[-1]) + len(word) >= LINE:
            lines.append(" ")
        lines[-1] += f" {word}"
    return lines
