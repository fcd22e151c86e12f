"""A matching as models to solve again: for each aim, which part sits in which cylinder, what the aims before it
have reached kept, and the aim to be least.

Limits and spreads are whole numbers of what any two of their members are apart by, so nothing is rounded. Residual
unbalance is a length, which LP has as a polygon about the circle, and OPB not at all; metal (metal_model) is no
whole number, either.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Complexes, Ints
from truethrow.balance.base.model import CORNERS, SLACK, Claim, Model, decimals, polygon
from truethrow.balance.job.job import Job
from truethrow.balance.matching import metal_model
from truethrow.balance.matching.aims import Reached
from truethrow.balance.matching.bounds import apart
from truethrow.balance.matching.match import QUANTITIES, Matching, ask, moves_of, rearranged
from truethrow.balance.matching.metal import TOLERANCE_G
from truethrow.balance.matching.question import Question, spread

NAMED = {
    "bobweight": "the throws' bobweights",
    "reciprocating": "the cylinders' reciprocating masses",
    "rotating": "the cylinders' rotating masses",
}
# What a bound may be above a whole number by the rounding of floats.
ROUNDING = 1e-6


class Written(NamedTuple):
    """The model of one aim."""

    aim: str
    model: Model
    claim: Claim


class Models(NamedTuple):
    """The models of the aims in their order, and the aims that there is none of, each with why."""

    written: tuple[Written, ...]
    left_out: tuple[tuple[str, str], ...]


def models(found: Matching, kind: str = ".lp") -> Models:
    """The models of a matching, for files of this ending."""
    question = ask(found.now, found.units)
    arrangement = arrangement_of(found, question)
    written: list[Written] = []
    left_out: list[tuple[str, str]] = []
    before: list[Reached] = []
    for reached in found.reached:
        if why := _why_not(found, question, reached, before, kind):
            left_out.append((reached.name, why))
        else:
            made = _OneAim(found, question, arrangement, reached, before)
            written.append(Written(reached.name, made.model, made.claim()))
        before.append(reached)
    return Models(tuple(written), tuple(left_out))


def arrangement_of(found: Matching, question: Question) -> Ints:
    """Which part sits in which cylinder in the answer."""
    cylinders = found.now.job.layout.cylinders
    arrangement = question.now.copy()
    for u, unit in enumerate(question.units):
        for start, end in found.moves.get(unit.name, {}).items():
            arrangement[u, cylinders.index(end)] = question.now[u, cylinders.index(start)]
    return arrangement


def _why_not(found: Matching, question: Question, reached: Reached, before: Sequence[Reached], kind: str) -> str:
    """Why an aim has no model, empty where it has one."""
    if reached.name == "grams":
        if kind == ".opb":
            return "what comes off is no whole number, which OPB has alone: name it .lp"
        if why := metal_model.why_not(found.now, question):
            return why
    if reached.name == "residual" and kind == ".opb":
        return "lengths of vectors are no whole numbers, which OPB has alone: name it .lp"
    for one in before:
        if one.name == "residual":
            return "it comes after residual, which no whole number can be held to"
        if one.name == "grams" and not _all_inside(before) and (why := _why_not(found, question, one, [], kind)):
            return f"it comes after grams: {why}"
    return ""


def _all_inside(before: Sequence[Reached]) -> bool:
    """Whether no metal is to come off, whatever else is arranged."""
    return any(one.name == "limits" and one.value < 1 for one in before)


class _OneAim:
    """The model of one aim, being put together."""

    def __init__(
        self, found: Matching, question: Question, arrangement: Ints, reached: Reached, before: Sequence[Reached]
    ) -> None:
        self._found, self._question, self._arrangement = found, question, arrangement
        self._reached, self._before = reached, before
        self.model = Model()
        self._steps = {name: apart(question, name) or 1 for name in QUANTITIES}
        self._sits = [self._places(u) for u in range(len(question.units))]
        self._add_rules()
        self._kept: list[str] = []
        for one in before:
            self._keep(one)
        if reached.name == "limits":
            self._add_limits()
        elif reached.name == "residual":
            self._add_residual()
        elif reached.name == "grams":
            self.model.objective = self._metal()
        else:
            self._add_spread(reached.name)
            self.model.objective = {f"{reached.name}_spread": Fraction(1)}

    def claim(self) -> Claim:
        aim = self._reached.name
        value = self.model.value
        if aim == "limits":
            asked = "whether metal must come off: 0 where every spread is inside its limit as weighed, else 1"
            said = "metal must come off" if value else "all inside"
            return self._claimed(asked, "a yes", said, Fraction(round(self._reached.bound)), "")
        if aim == "residual":
            return self._claimed_residual()
        if aim == "grams":
            return self._claimed_metal()
        step = self._steps[aim]
        per_unit = Fraction(step) / Fraction(self._question.per_g)
        bound = min(value, Fraction(math.ceil(self._reached.bound / float(per_unit) - ROUNDING)))
        asked = f"the least spread of {NAMED[aim]}"
        grams = _grams(value * per_unit)
        return self._claimed(asked, f"{_grams(per_unit)} of spread", grams, bound, _grams(bound * per_unit))

    def _claimed_residual(self) -> Claim:
        value, reached = self.model.value, self._reached
        bound = value if reached.proved else min(value, decimals(reached.bound * math.cos(math.pi / CORNERS)))
        asked = "the least unbalance left in the worse plane, lengths as a polygon about the circle has them"
        found = f"{reached.value:.6f} g·mm"
        made = self._claimed(asked, "1 g·mm", found, bound, f"{reached.bound:.6f} g·mm")
        return made._replace(within="or smaller by no more than a part in 26,000")

    def _claimed_metal(self) -> Claim:
        value, reached = self.model.value, self._reached
        bound = value if reached.proved else min(value, decimals(reached.bound))
        asked = (
            "the least metal that brings every spread inside its limit, before cuts are whole steps of the scale"
        )
        unit = "1 g of metal, and a thousandth of a gram that stays over a limit"
        made = self._claimed(asked, unit, f"{float(value):.6f}", bound, f"{reached.bound:.6f}")
        return made._replace(within=f"give or take {TOLERANCE_G:g}")

    def _trades(self, arrangement: Ints) -> Job:
        job = self._found.now.job
        return rearranged(job, moves_of(job, self._question, arrangement))

    def _claimed(self, asked: str, unit: str, found: str, bound: Fraction, best: str) -> Claim:
        job = self._found.now.job
        is_proved = bound >= self.model.value
        kept = [f"kept, as the aims before have it: {', '.join(self._kept)}"] if self._kept else []
        return Claim(
            job=job.id,
            digest=job.digest,
            asked=f"which part sits in which cylinder, for {asked}",
            unit=unit,
            value=self.model.value,
            found=found,
            best=None if is_proved else best or str(bound),
            bound=bound,
            notes=(
                *kept,
                "Masses are as read, in whole numbers of a unit, what all members have in common left out;",
                "parts are named as they were before the match. Rows named total are sums of those before them.",
            ),
        )

    def _places(self, u: int) -> dict[tuple[int, int], str]:
        """By part and cylinder the variable that says whether it sits there."""
        unit, cylinders = self._question.units[u], self._found.now.job.layout.cylinders
        names = self._found.now.job.names
        found = {}
        for part, at in np.argwhere(unit.allowed).tolist():
            own = cylinders[int(unit.sits[part])]
            found[part, at] = self.model.variable(
                f"{unit.name}_{own}_in_{cylinders[at]}",
                0,
                1,
                Fraction(int(self._arrangement[u, at] == part)),
                f"{names.said(unit.name, own)} in cylinder {cylinders[at]}",
            )
        return found

    def _add_rules(self) -> None:
        """Every part in one cylinder, one part of a unit in each, and no two together that must be apart."""
        question, row = self._question, self.model.row
        everyone = range(question.cylinders)
        for unit, own in zip(question.units, self._sits, strict=True):
            for one in everyone:
                row(f"part_{unit.name}_{one}", {v: 1 for (part, _), v in own.items() if part == one}, "=", 1)
                row(f"place_{unit.name}_{one}", {v: 1 for (_, at), v in own.items() if at == one}, "=", 1)
        for (u, v), fits in question.pairs.items():
            for one, other in np.argwhere(~fits).tolist():
                for at in everyone:
                    both = [self._sits[u].get((one, at)), self._sits[v].get((other, at))]
                    if None not in both:
                        name = f"apart_{u}_{one}_{v}_{other}_{at}"
                        row(name, {variable: 1 for variable in both if variable}, "<=", 1)

    def _keep(self, one: Reached) -> None:
        """What an aim before has reached."""
        if one.name == "limits":
            if one.value < 1:
                for name, limit in self._question.limited.items():
                    self._add_spread(name, limit.inside // self._steps[name])
                self._kept.append("every spread inside its limit")
        elif one.name in QUANTITIES:
            most = int(spread(self._masses(one.name))) // self._steps[one.name]
            self._add_spread(one.name, most)
            said = _grams(Fraction(most * self._steps[one.name]) / Fraction(self._question.per_g))
            self._kept.append(f"spread of {NAMED[one.name]} no more than {said}")

        elif one.name == "grams" and not _all_inside(self._before):
            kept_g = decimals(one.value + TOLERANCE_G / 2)
            self.model.row("metal_kept", self._metal(), "<=", kept_g)
            self._kept.append(f"no more metal, what stays over a limit a thousandfold, than {float(kept_g):.6f} g")

    def _metal(self) -> dict[str, Fraction]:
        """What the metal costs, with the rows that say so."""
        return metal_model.add_metal(
            self.model, self._sits, self._found.now, self._question, self._arrangement, self._trades
        )

    def _masses(self, name: str) -> Ints:
        return self._question.masses(self._arrangement).of(name)

    def _add_spread(self, name: str, most: int | None = None) -> None:
        """Every member between the lightest and as much more as the spread is."""
        width, widest = f"{name}_spread", self._widest(name)
        if width not in self.model.variables:
            members = self._members(name)
            own = self._masses(name) // self._steps[name]
            base = min(int(mass) - int(self._total(terms)) for mass, (terms, _) in zip(own, members, strict=True))
            lightest = int(own.min()) - base
            unit = _grams(Fraction(self._steps[name]) / Fraction(self._question.per_g))
            said = f"{NAMED[name]}, in units of {unit}"
            low = f"{name}_least"
            self.model.variable(low, 0, widest, Fraction(lightest), f"lightest of {said}")
            self.model.variable(width, 0, widest, Fraction(int(own.max() - own.min())), f"spread of {said}")
            for at, (terms, _) in enumerate(members):
                rest = int(own[at]) - int(self._total(terms)) - base
                self.model.row(f"{name}_{at}_from", {**terms, low: -1}, ">=", -rest)
                self.model.row(f"{name}_{at}_to", {**terms, low: -1, width: -1}, "<=", -rest)
            # The sums of these rows, as every part sits somewhere: solvers seldom see them by themselves.
            count, total = len(own), int(own.sum()) - base * len(own)
            self.model.row(f"{name}_total_from", {low: count}, "<=", total)
            self.model.row(f"{name}_total_to", {low: count, width: count}, ">=", total)
        if most is not None:
            self.model.row(f"{name}_kept", {width: 1}, "<=", most)

    def _add_limits(self) -> None:
        """The spreads inside their limits, but for an answer that says that metal must come off."""
        over = self.model.variable("metal", 0, 1, Fraction(round(self._reached.value)), "metal must come off")
        if self._question.metal_anyway:
            self.model.row("outside_whoever_sits_where", {over: 1}, ">=", 1)
        for name, limit in self._question.limited.items():
            self._add_spread(name)
            inside = limit.inside // self._steps[name]  # below zero where nothing is inside whatever it is
            slack = self._widest(name) - inside
            self.model.row(f"{name}_limit", {f"{name}_spread": 1, over: -slack}, "<=", inside)
        self.model.objective = {over: Fraction(1)}

    def _add_residual(self) -> None:
        """What is left in each plane, and how far the worse one is from nothing."""
        question, model = self._question, self.model
        worse, sides = "worse_plane", polygon()
        found = Fraction(0)
        model.variable(worse, 0, None, found, "unbalance left in the worse plane, g·mm", whole=False)
        for name, arms_mm, left_gmm in zip(("front", "rear"), self._arms_mm(), self._left_gmm(), strict=True):
            takes = {
                variable: complex(arms_mm[at]) * float(values[part] - values.min()) / question.per_g
                for u, own in enumerate(self._sits)
                for values in (self._values("bobweight", u),)
                for (part, at), variable in own.items()
            }
            axes = []
            for axis in ("real", "imag"):
                left = decimals(getattr(left_gmm, axis))
                terms = {variable: -decimals(getattr(vector, axis)) for variable, vector in takes.items()}
                rest = left + sum((c for variable, c in terms.items() if model.answer[variable]), Fraction(0))
                said = f"left of the {name} plane, its {axis} part, g·mm"
                own = model.variable(f"left_{name}_{axis}", None, None, left, said, whole=False)
                model.row(f"{own}_is", terms | {own: Fraction(1)}, "=", rest)
                axes.append(own)
            for corner, towards in enumerate(sides):
                terms = dict(zip(axes, towards, strict=True))
                found = max(found, sum((c * model.answer[own] for own, c in terms.items()), Fraction(0)))
                model.row(f"{name}_{corner}", terms | {worse: Fraction(-1)}, "<=", SLACK)
        model.answer[worse] = decimals(float(found))
        model.objective = {worse: Fraction(1)}

    def _arms_mm(self) -> Complexes:
        """What a gram carried in each cylinder gives to both planes (2, n)."""
        question = self._question
        arms_mm = np.zeros((2, question.cylinders), complex)
        if question.hung_g is not None:
            arms_mm = arms_mm + question.arms_mm[:, question.throw_of]
        return arms_mm if question.rod_arms_mm is None else arms_mm + question.rod_arms_mm

    def _left_gmm(self) -> Complexes:
        """What the answer leaves in both planes."""
        question = self._question
        masses = question.masses(self._arrangement)
        left = np.zeros(2, complex)
        if question.hung_g is not None:
            left = left + (masses.bobweight / question.per_g - question.hung_g) @ question.arms_mm.T
        if question.rod_arms_mm is not None:
            carried_g = question.carried(masses.reciprocating, masses.rotating) / question.per_g
            left = left + carried_g @ question.rod_arms_mm.T
        return left

    def _members(self, name: str) -> list[tuple[dict[str, int], int]]:
        """Of each cylinder or throw what its parts weigh beyond the lightest of their kind, in units."""
        question, step = self._question, self._steps[name]
        found = []
        groups = question.on_throw if name == "bobweight" else [(at,) for at in range(question.cylinders)]
        for group in groups:
            terms: dict[str, int] = {}
            for u, own in enumerate(self._sits):
                values = self._values(name, u)
                for (part, at), variable in own.items():
                    if at in group:
                        terms[variable] = int(values[part] - values.min()) // step
            found.append((terms, len(group)))
        return found

    def _values(self, name: str, u: int) -> Ints:
        unit = self._question.units[u]
        if name == "bobweight":
            return self._question.carried(unit.reciprocating, unit.rotating)
        return unit.reciprocating if name == "reciprocating" else unit.rotating

    def _widest(self, name: str) -> int:
        """More than any member is above any other, in units."""
        own = self._masses(name) // self._steps[name]
        span = sum(int(np.ptp(self._values(name, u))) // self._steps[name] for u in range(len(self._sits)))
        most = max(map(len, self._question.on_throw)) if name == "bobweight" else 1
        return int(np.ptp(own)) + 2 * span * most

    def _total(self, terms: dict[str, int]) -> int:
        return sum(c for variable, c in terms.items() if self.model.answer[variable])


def _grams(value: Fraction) -> str:
    return f"{float(value):.9f}".rstrip("0").rstrip(".") + " g"
