"""A trim as models to solve again: whole steps of the scale at each pad, what the scale shows of each part then,
how far any two members of a limited quantity may be apart, and the steps in all to be least.

All of it is in whole numbers where every limit can be met: what two members may be apart is rounded down to what
they can be apart. Where limits are out of reach there are two models: how far they stay exceeded in all, and with
that kept the metal.
"""

from __future__ import annotations

import itertools
import math
from fractions import Fraction
from typing import Literal, NamedTuple

from truethrow.balance.base.model import PLACES, SHORT, Claim, Model, near
from truethrow.balance.base.parts import UNIT_OF, label, weighed_by
from truethrow.balance.base.readings import Reading, combine
from truethrow.balance.result.least_metal import Member, Window, can_give_g, falls, window_of
from truethrow.balance.result.trim import WORTH_A_CUT, TrimPlan
from truethrow.balance.result.whole_steps import DUST, TIE, equally_sure
from truethrow.balance.result.work import Result

# What the excess of a limit may be above another by the rounding of floats, in steps.
WITHIN = Fraction(1, 10**6)
# Of what a limit may be exceeded by, which is no whole number: its decimals.
FINE = 10**PLACES

OVER: Literal["over"] = "over"
Of = Literal["over", "metal"]
Terms = dict[str, Fraction]


class Written(NamedTuple):
    """One model. of: what it makes least."""

    of: Of
    model: Model
    claim: Claim


class _Shown(NamedTuple):
    """By how many steps what the scale shows of a reading changes, at the most and at the least, and both in the
    answer."""

    upper: Terms
    lower: Terms


def models(result: Result, plan: TrimPlan | None) -> tuple[Written, ...]:
    """The models of the trim of a worked job, that of the metal last. plan: its trim, None where none is
    needed."""
    made = _Trim(result, plan, "metal")
    return (_Trim(result, plan, OVER).written(), made.written()) if made.is_over else (made.written(),)


class _Pair(NamedTuple):
    """Two members of a limited quantity: by what the cuts change how far one is above the other, how far it is now
    and in the answer, and how far it may be; in steps."""

    terms: Terms
    now: Fraction
    then: Fraction
    width: Fraction


class _Trim:
    """One model, being put together."""

    def __init__(self, result: Result, plan: TrimPlan | None, of: Of) -> None:
        self._result, self._job, self._of, self.model = result, result.job, of, Model()
        self._step = Fraction(repr(result.job.scale.resolution_g))
        windows = [window_of(self._job, s, result.promised) for s in result.spreads if s.limit_g is not None]
        self._taken = {
            (cut.cylinder, cut.pad.kind): round(cut.grams / self._job.scale.resolution_g)
            for part in (plan.parts if plan else ())
            for cut in part.cuts
        }
        self._cuts: dict[tuple[int, int], str] = {}
        self._shown: dict[tuple[int, str], _Shown] = {}
        for cylinder in self._job.parts:
            self._add_parts(cylinder)
        self._over: list[str] = []
        self._pairs = {window.spread.quantity: self._pairs_of(window) for window in windows}
        loose = [self._pairs[window.spread.quantity] for window in windows if not window.firm]
        self._is_over = any(pair.then > pair.width for pairs in loose for pair in pairs)
        for window in windows:
            self._add_window(window)
        metal = dict.fromkeys(self._cuts.values(), Fraction(1))
        if of == "over":
            self.model.objective = dict.fromkeys(self._over, Fraction(1))
        else:
            self.model.objective = metal
            if self._over:
                exceeded = sum((self.model.answer[name] for name in self._over), Fraction(0))
                self.model.row("over_kept", dict.fromkeys(self._over, 1), "<=", exceeded + WITHIN)

    @property
    def is_over(self) -> bool:
        """Whether limits stay exceeded."""
        return self._is_over

    def written(self) -> Written:
        value, bound = self.model.value, self.model.value
        if self._of == OVER and not self._taken:
            bound = max(Fraction(0), value - max(Fraction(1), Fraction(repr(WORTH_A_CUT)) * value))
        asked = {
            "over": "how far limits stay exceeded in all, whatever is cut",
            "metal": "which pad gives how many steps of the scale, for the least metal in all",
        }[self._of]
        notes = ["A reading that may be shown as either of two steps counts as the worse."]
        if self._is_over:
            notes.append(f"What a limit is exceeded by is no whole number: its rows have {PLACES} decimals.")
            if self._of == "metal":
                notes.append("kept: how far limits stay exceeded in all, as the model of that has it")
        return Written(
            self._of,
            self.model,
            Claim(
                job=self._job.id,
                digest=self._job.digest,
                asked=asked,
                unit=f"a step of the scale, {self._grams(Fraction(1))}",
                value=value,
                found=self._grams(value),
                best=f"{self._grams(bound)}; for less nothing is cut" if bound < value else None,
                bound=bound,
                within="give or take 0.00001" if self._of == "over" else "",
                notes=tuple(notes),
            ),
        )

    def _grams(self, steps: Fraction) -> str:
        return f"{float(steps * self._step):.9f}".rstrip("0").rstrip(".") + " g"

    def _add_parts(self, cylinder: int) -> None:
        """What may be taken off each part of a cylinder, and what the scale shows then."""
        job = self._job
        for part in dict.fromkeys(UNIT_OF[pad.kind] for pad in job.pads):
            own: dict[int, str] = {}
            for i, pad in enumerate(job.pads):
                most = round(can_give_g(job, cylinder, i) / job.scale.resolution_g)
                if UNIT_OF[pad.kind] == part and most > 0 and (part, cylinder) not in self._result.done:
                    meaning = f"steps off {job.names.said(part, cylinder)} at the {label(pad.kind)}"
                    taken = Fraction(self._taken.get((cylinder, pad.kind), 0))
                    own[i] = self.model.variable(f"cut_{cylinder}_{pad.kind}", 0, most, taken, meaning)
            if not own:
                continue
            self._cuts |= {(cylinder, i): name for i, name in own.items()}
            kinds = [kind for kind in weighed_by(part) if kind in job.parts[cylinder]]
            reads = {kind: self._in_steps(job.parts[cylinder][kind]) for kind in kinds}
            is_cut = ""
            if any(value.denominator != 1 for value in reads.values()):
                # As long as nothing is cut it keeps its mean, which no scale shows.
                was = Fraction(int(any(self.model.answer[name] for name in own.values())))
                said = f"{job.names.said(part, cylinder)} is cut"
                is_cut = self.model.variable(f"cut_{cylinder}_{part}_at_all", 0, 1, was, said)
                for name in own.values():
                    most = self.model.variables[name].most or 0
                    self.model.row(f"{name}_only_if", {name: 1, is_cut: -most}, "<=", 0)
            for kind in kinds:
                lowered = {name: near(falls(job, job.pads[i], 1.0)[kind]) for i, name in own.items()}
                self._shown[cylinder, kind] = self._rounded(cylinder, kind, reads[kind], lowered, is_cut)

    def _rounded(self, cylinder: int, kind: str, reads: Fraction, lowered: Terms, is_cut: str) -> _Shown:
        """What is shown of a reading, in steps from what it reads: the nearest step, of the middle between two
        either."""
        half = Fraction(1, 2)
        top, bottom = math.floor(reads + half), math.ceil(reads - half)
        upper: Terms = {name: -fall for name, fall in lowered.items()}
        lower = dict(upper)
        if any(fall.denominator != 1 for fall in lowered.values()):
            # Past the middle by the least that there is, so that the middle itself counts as either.
            finest = math.lcm((reads - half).denominator, *(fall.denominator for fall in lowered.values()))
            past = max(Fraction(1, finest), Fraction(repr(TIE)))
            from_most, to_least = reads - top - half + past, reads - bottom + half - past
            falls_by = sum((fall * self.model.answer[name] for name, fall in lowered.items()), Fraction(0))
            rooms = {name: self.model.variables[name].most or 0 for name in lowered}
            span = 2 + math.ceil(sum(abs(fall) * rooms[name] for name, fall in lowered.items()))
            said = f"the scale may show of {self._job.names.said(kind, cylinder)}, in steps from now"
            most, least = Fraction(math.ceil(from_most - falls_by)), Fraction(math.floor(to_least - falls_by))
            high = self.model.variable(f"high_{cylinder}_{kind}", -span, span, most, f"the most that {said}")
            low = self.model.variable(f"low_{cylinder}_{kind}", -span, span, least, f"the least that {said}")
            self.model.row(f"{high}_is", {**lowered, high: Fraction(1)}, ">=", from_most)
            self.model.row(f"{low}_is", {**lowered, low: Fraction(1)}, "<=", to_least)
            upper, lower = {high: Fraction(1)}, {low: Fraction(1)}
        if is_cut:
            upper[is_cut], lower[is_cut] = top - reads, bottom - reads
        return _Shown(upper, lower)

    def _add_window(self, window: Window) -> None:
        """Every two members no further apart than the limit less the ± of their difference; where the spread is
        not outside, or than they are now."""
        quantity = window.spread.quantity
        excess = ""
        if self._is_over and not window.firm:
            most = max([Fraction(0), *(p.now - p.width for p in self._pairs[quantity])])
            left = max([Fraction(0), *(p.then - p.width for p in self._pairs[quantity])])
            left = Fraction(math.ceil(left * FINE), FINE)
            said = f"steps by which the limit of {label(quantity)} stays exceeded"
            excess = self.model.variable(f"over_{quantity}", 0, math.ceil(most), left, said, whole=False)
            self._over.append(excess)
        for at, pair in enumerate(self._pairs[quantity]):
            terms, width = dict(pair.terms), pair.width
            if excess:
                terms[excess] = Fraction(-1)
                width = Fraction(math.floor(width * FINE), FINE)
            else:
                numbers = (pair.now, *pair.terms.values())
                finest = math.lcm(*(number.denominator for number in numbers))
                width = Fraction(math.floor(width * finest), finest)
            self.model.row(f"{quantity}_{at}", terms, "<=", width - pair.now)

    def _pairs_of(self, window: Window) -> list[_Pair]:
        """Any two members of a limited quantity, the heavier first, the lighter then."""
        sure, spread = self._result.certainty, window.spread
        assert spread.limit_g is not None
        now = {member.name: self._now(window, member) for member in window.members}
        alike = equally_sure(window, sure).values()
        found = []
        for one, other in itertools.permutations(window.members, 2):
            apart = combine([(1.0, spread.members[one.name]), (-1.0, spread.members[other.name])])
            step_g = self._job.scale.resolution_g
            width = Fraction(max(0.0, spread.limit_g - sure.expanded_g(apart)) / step_g + DUST)
            if window.firm:  # may not grow past what any two that are as sure have now
                heavy, light = (next(own for own in alike if member in own) for member in (one, other))
                now_apart = max(now[m.name] for m in heavy) - min(now[m.name] for m in light)
                width = max(width, now_apart)
            terms = self._terms(one, "upper")
            for name, c in self._terms(other, "lower").items():
                terms[name] = terms.get(name, Fraction(0)) - c
            between = now[one.name] - now[other.name]
            then = between + sum((c * self.model.answer[name] for name, c in terms.items()), Fraction(0))
            found.append(_Pair(terms, between, then, width))
        return found

    def _now(self, window: Window, member: Member) -> Fraction:
        """What a member weighs, in steps."""
        read = (near(w) * self._in_steps(self._job.parts[c][k]) for (c, k), w in member.weights.items())
        total = sum(read, Fraction(0))
        if window.spread.quantity != "bobweight":
            return total
        throws = [throw.name for throw in self._job.layout.throws]
        return total + near(self._job.oil_g[throws.index(member.name)] / self._job.scale.resolution_g)

    def _in_steps(self, reading: Reading) -> Fraction:
        """The mean of a part's readings, in steps of the scale."""
        grams = sum((Fraction(repr(one)) for one in reading.repeats_g), Fraction(0))
        exact = grams / len(reading.repeats_g) / self._step
        return exact if exact.denominator <= SHORT else near(float(exact))

    def _terms(self, member: Member, end: Literal["upper", "lower"]) -> Terms:
        """By how many steps a member changes."""
        terms: Terms = {}
        for place, weight in member.weights.items():
            if place in self._shown:
                for name, factor in getattr(self._shown[place], end).items():
                    terms[name] = terms.get(name, Fraction(0)) + near(weight) * factor
        return terms
