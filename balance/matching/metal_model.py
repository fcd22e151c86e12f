"""The least metal of arrangement and cuts in a model to solve again: what comes off at each pad, every limited
spread inside its window then, and grams that stay over a limit counted a thousandfold.

A spread that is outside as the parts are arranged comes inside; one that is too close to call may stay as wide as
it is. Which is which the model chooses along with the arrangement, which takes parts that are all equally sure.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from fractions import Fraction

from truethrow.balance.base.arrays import Ints
from truethrow.balance.base.model import Model, decimals, near
from truethrow.balance.base.parts import label
from truethrow.balance.job.job import Job
from truethrow.balance.matching.joint import Held
from truethrow.balance.matching.members import Members, can_tell
from truethrow.balance.matching.metal import MetalAim
from truethrow.balance.matching.question import Question
from truethrow.balance.result.bobweight import bobweights
from truethrow.balance.result.least_metal import (
    EXCESS_COST,
    TrimProgramme,
    can_give_g,
    cylinders_of,
    window_of,
)
from truethrow.balance.result.spread import spreads
from truethrow.balance.result.work import Result

Sits = Sequence[
    dict[tuple[int, int], str]
]  # by unit, by part and cylinder the variable that says that it sits there
Terms = dict[str, Fraction]
SURE = 1e-9  # what two ± may be apart by the rounding of floats [g]


def why_not(result: Result, question: Question) -> str:
    """Why there is none, empty where there is one."""
    if not can_tell(result.job, question):
        return "the parts were ground or are estimates: write trim's model of the parts as they go"
    limited = [spread for spread in result.spreads if spread.limit_g is not None]
    members = Members(result.job, result.certainty, question, [spread.quantity for spread in limited])
    for spread in limited:
        least_g, most_g = members.doubts_g(spread.quantity)
        if most_g - least_g > SURE and not members.is_settled(spread.quantity):
            return "its parts are not all equally sure, so that what is outside is no matter of masses alone"
    return ""


def add_metal(
    model: Model, sits: Sits, result: Result, question: Question, arrangement: Ints, trades: Callable[[Ints], Job]
) -> Terms:
    """The cuts and the limits, with the answer that the trim's programme has for an arrangement. What it costs."""
    return _Metal(model, sits, result, question, arrangement, trades).add()


class _Metal:
    def __init__(
        self,
        model: Model,
        sits: Sits,
        result: Result,
        question: Question,
        arrangement: Ints,
        trades: Callable[[Ints], Job],
    ) -> None:
        self.model, self._sits, self._job = model, sits, result.job
        aim = MetalAim(question, result, trades)
        self._members, self._held, self._close = aim.members, aim.held(), aim.close(arrangement)
        self._order = {number: at for at, number in enumerate(result.job.parts)}
        self._cuts = self._pads(trades(arrangement), result)
        self._over: list[str] = []

    def add(self) -> Terms:
        for held in self._held:
            self._add_limit(held)
        return dict.fromkeys(self._cuts.values(), Fraction(1)) | dict.fromkeys(
            self._over, Fraction(round(EXCESS_COST))
        )

    def _pads(self, arranged: Job, result: Result) -> dict[tuple[int, int], str]:
        """By cylinder and pad what comes off there."""
        found = spreads(arranged, bobweights(arranged), result.certainty)
        limited = [spread for spread in found if spread.limit_g is not None]
        grams: dict[tuple[int, int], float] = {}
        if any(spread.verdict == "outside" for spread in limited):
            windows = [window_of(arranged, spread) for spread in limited]
            grams = dict(TrimProgramme(arranged, windows, []).solve().grams)
        made = {}
        for cylinder in self._job.parts:
            for at, pad in enumerate(self._job.pads):
                if (most_g := can_give_g(self._job, cylinder, at)) > 0:
                    said = f"grams off in cylinder {cylinder} at the {label(pad.kind)}"
                    own = decimals(max(0.0, grams.get((cylinder, at), 0.0)))
                    name = self.model.variable(f"cut_{cylinder}_{pad.kind}", 0, None, own, said, whole=False)
                    self.model.row(f"{name}_at_most", {name: 1}, "<=", near(most_g))
                    made[cylinder, at] = name
        return made

    def _add_limit(self, held: Held) -> None:
        """The members after the cuts in one window."""
        name, model = held.spread.quantity, self.model
        before, cuts, fixed = self._rows(held)
        then = [_sum(model, own) + more for own, more in zip(before, fixed, strict=True)]
        after = [own - _sum(model, cut) for own, cut in zip(then, cuts, strict=True)]
        inside, widest = decimals(held.inside_g), self._widest(before, fixed)
        said = label(name)
        bottom = model.variable(
            f"{name}_least_after", None, None, min(after), f"lightest of {said}, g", whole=False
        )
        wider: Terms = {}
        if held.is_outside is None:
            apart = self._add_close(held, before, fixed, widest)
            wider[apart] = Fraction(1)
        if held.is_outside is not False:
            left = max(Fraction(0), max(after) - min(after) - inside)
            if held.is_outside is None:
                left = Fraction(0) if name in self._close else left
            over = model.variable(
                f"{name}_over", 0, None, left, f"what the limit of {said} is over, g", whole=False
            )
            wider[over] = Fraction(1)
            self._over.append(over)
            if held.is_outside is None:
                model.row(f"{name}_over_unless_close", {over: 1, f"{name}_close": widest}, "<=", widest)
        for at, (own, cut, more) in enumerate(zip(before, cuts, fixed, strict=True)):
            terms = own | {variable: -c for variable, c in cut.items()} | {bottom: Fraction(-1)}
            model.row(f"{name}_{at}_after_from", terms, ">=", -more)
            model.row(f"{name}_{at}_after_to", terms | {one: -c for one, c in wider.items()}, "<=", inside - more)

    def _add_close(self, held: Held, before: Sequence[Terms], fixed: Sequence[Fraction], widest: Fraction) -> str:
        """By how much the window is wider where the spread is too close to call before any cut: as far as one
        member, chosen as the heaviest, is then above another, chosen as the lightest."""
        name, model = held.spread.quantity, self.model
        inside, outside = decimals(held.inside_g), decimals(held.outside_g)
        then = [_sum(model, own) + more for own, more in zip(before, fixed, strict=True)]
        is_close = Fraction(int(name in self._close))
        spread = max(then) - min(then)
        said = label(name)
        close = model.variable(f"{name}_close", 0, 1, is_close, f"{said} is left too close to call")
        wide = is_close * max(Fraction(0), min(spread, outside) - inside)
        apart = model.variable(f"{name}_wider", 0, None, wide, f"so much wider may {said} stay, g", whole=False)
        model.row(f"{name}_wider_if", {apart: 1, close: inside - outside}, "<=", 0)
        ends = [
            model.variable(f"{name}_{end}", None, None, value, f"{end} of {said} before any cut, g", whole=False)
            for end, value in (("heaviest", max(then)), ("lightest", min(then)))
        ]
        chosen = []
        for end, value in zip(("is_heaviest", "is_lightest"), (max(then), min(then)), strict=True):
            first = then.index(value)
            members = [
                model.variable(f"{name}_{at}_{end}", 0, 1, Fraction(int(at == first)), f"member {at + 1} {end}")
                for at in range(len(then))
            ]
            model.row(f"{name}_one_{end}", dict.fromkeys(members, 1), "=", 1)
            chosen.append(members)
        heaviest, lightest = ends
        for at, (own, more) in enumerate(zip(before, fixed, strict=True)):
            minus = {variable: -c for variable, c in own.items()}
            model.row(
                f"{name}_{at}_top", minus | {heaviest: Fraction(1), chosen[0][at]: widest}, "<=", widest + more
            )
            model.row(
                f"{name}_{at}_low", own | {lightest: Fraction(-1), chosen[1][at]: widest}, "<=", widest - more
            )
        # Too close to call is a spread from inside to outside.
        model.row(f"{name}_no_wider", {close: inside, apart: 1, heaviest: -1, lightest: 1}, "<=", 0)
        base = model.variable(f"{name}_bottom", None, None, min(then), f"{said} starts here, g", whole=False)
        for at, (own, more) in enumerate(zip(before, fixed, strict=True)):
            model.row(f"{name}_{at}_above", own | {base: Fraction(-1)}, ">=", -more)
            room = {base: Fraction(-1), close: widest}
            model.row(f"{name}_{at}_below", own | room, "<=", outside + widest - more)
        return apart

    def _rows(self, held: Held) -> tuple[list[Terms], list[Terms], list[Fraction]]:
        """By member what its parts weigh beyond the lightest of their kind, what a gram at each pad takes off it,
        and what else it weighs beyond the first."""
        spread = held.spread
        *moving, staying = self._members.masses_g(spread.quantity)
        before, cuts, fixed = [], [], []
        for member in window_of(self._job, spread).members:
            on = [self._order[number] for number in cylinders_of(self._job, spread, member.name)]
            rest = sum((near(float(staying[at])) for at in on), Fraction(0))
            rest += near(member.unread_g) if spread.quantity == "bobweight" else 0
            terms: Terms = {}
            for own, masses in zip(self._sits, moving, strict=True):
                lightest = float(masses.min())
                rest += near(lightest) * len(on)
                for (part, at), variable in own.items():
                    if at in on:
                        terms[variable] = near(float(masses[part]) - lightest)
            before.append(terms)
            cuts.append(
                {self._cuts[p]: decimals(effect) for p, effect in member.effects.items() if p in self._cuts}
            )
            fixed.append(rest)
        first = fixed[0]
        return before, cuts, [rest - first for rest in fixed]

    def _widest(self, before: Sequence[Terms], fixed: Sequence[Fraction]) -> Fraction:
        """More than any two members are apart, before and after the cuts."""
        most = max(sum(own.values(), Fraction(0)) for own in before)
        return Fraction(math.ceil(2 * most + max(fixed) - min(fixed)) + 1)


def _sum(model: Model, terms: Terms) -> Fraction:
    return sum((c * model.answer[variable] for variable, c in terms.items()), Fraction(0))
