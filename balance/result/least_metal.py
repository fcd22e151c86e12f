"""The least metal as the solver finds it before the cuts are whole steps of the scale (whole_steps): quickly, for
many arrangements, and with any one part left free.

A rod on two supports, centre distance L: grams taken at x along it (0 at the big-end centre, L at the
small-end centre) lower the big-end reading by 1 − x/L of them and the small-end reading by x/L. A pad beyond
the small end therefore *raises* the big-end reading a little, and each pad moves both readings. All pads of
all parts and the windows that the readings must fit into stand in one linear programme; the target is its
outcome, not the lightest part by assumption.

Once metal came off and the parts were weighed again, what the pads really gave stands for the bare lever.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.parts import SUMS, UNIT_OF, weighed_by
from truethrow.balance.base.readings import Certainty, tidy, verdict
from truethrow.balance.base.solver import UNBOUNDED, Programme
from truethrow.balance.job.job import Job
from truethrow.balance.job.levers import falls_of_a_gram
from truethrow.balance.job.pads import Pad
from truethrow.balance.result.bobweight import bobweights
from truethrow.balance.result.spread import Spread, spreads

# One gram beyond a window costs as much as this many grams of metal: reach the limit first, then save metal.
EXCESS_COST = 1000.0


class Window(NamedTuple):
    """A limited quantity in the programme: its members as effects of cuts, the width they must fit, and whether
    the width must hold (a spread that is not outside) or may be exceeded where there is no other way."""

    spread: Spread
    width_g: float
    firm: bool
    members: tuple[Member, ...]


class Member(NamedTuple):
    """One member of a spread: what it weighs now, and what of that no reading shows (a throw's oil); how much
    a gram at each (cylinder, pad) lowers it, and how much a gram of each (cylinder, kind) counts in it."""

    name: str
    now_g: float
    unread_g: float
    effects: Mapping[tuple[int, int], float]
    weights: Mapping[tuple[int, str], float]


class Target(NamedTuple):
    """The programme's outcome: grams at each (cylinder, pad), the bottom of each window and its excess over
    the width, and, for a part that was left free, the change of its readings."""

    grams: Mapping[tuple[int, int], float]
    bottoms: tuple[float, ...]
    excess: tuple[float, ...]
    change_g: Mapping[str, float]

    @property
    def total_g(self) -> float:
        return math.fsum(self.grams.values())


class Metal(NamedTuple):
    """Grams to take, and the grams by which limits are exceeded all the same."""

    grams: float
    over_g: float

    @property
    def cost(self) -> float:
        """To compare by, not to be told: each gram over a limit counts as EXCESS_COST of metal."""
        return self.grams + EXCESS_COST * self.over_g


def least_metal(job: Job, sure: Certainty, without: Sequence[str] = ()) -> Metal:
    """The least grams that bring every spread inside its limit, or as near to it as cuts can; before the cuts are
    rounded to the scale's steps. No metal where none is outside.

    without: quantities whose limits do not count; with fewer limits it never costs more."""
    limited = [
        spread
        for spread in spreads(job, bobweights(job), sure)
        if spread.limit_g is not None and spread.quantity not in without
    ]
    if not any(spread.verdict == "outside" for spread in limited):
        return Metal(0.0, 0.0)
    target = TrimProgramme(job, [window_of(job, spread) for spread in limited], []).solve()
    return Metal(target.total_g, math.fsum(target.excess))


def window_of(job: Job, spread: Spread, promised: Collection[str] = ()) -> Window:
    """The width to aim at: the limit less its uncertainty. A spread that is not outside keeps what it has, but for
    one that is promised to come inside."""
    assert spread.limit_g is not None
    weighed = counted(job, spread.quantity)
    firm = spread.verdict == "inside" or (spread.verdict != "outside" and spread.quantity not in promised)
    width = _width(spread.spread_g, spread.expanded_g, spread.limit_g, firm=firm)
    members = tuple(_member(job, spread, name, weighed) for name in spread.members)
    return Window(spread, width, firm, members)


def _width(spread_g: float, expanded_g: float, limit_g: float, *, firm: bool) -> float:
    width = max(0.0, limit_g - expanded_g)
    return max(width, spread_g) if firm else width


def _member(job: Job, spread: Spread, name: str, weighed: Mapping[str, float]) -> Member:
    cylinders = cylinders_of(job, spread, name)
    counts = {(c, k): weight for c in cylinders for k, weight in weighed.items() if k in job.parts[c]}
    read_g = math.fsum(weight * job.parts[c][k].mean_g for (c, k), weight in counts.items())
    now_g = spread.members[name].value_g
    return Member(name, now_g, now_g - read_g, _effects(job, weighed, cylinders), counts)


def counted(job: Job, quantity: str) -> dict[str, float]:
    """How much a gram of each kind counts in a quantity."""
    if quantity != "bobweight":
        return dict.fromkeys(SUMS[quantity], 1.0)
    return dict.fromkeys(SUMS["rotating"], 1.0) | dict.fromkeys(SUMS["reciprocating"], job.share)


def cylinders_of(job: Job, spread: Spread, member: str) -> tuple[int, ...]:
    if spread.quantity != "bobweight":
        return (int(member),)
    return next(job.layout.cylinders_on(throw) for throw in job.layout.throws if throw.name == member)


def _effects(job: Job, weights: Mapping[str, float], cylinders: Sequence[int]) -> dict[tuple[int, int], float]:
    effects = {}
    for cylinder, (index, pad) in itertools.product(cylinders, enumerate(job.pads)):
        lowered = falls(job, pad, 1.0)
        effect = math.fsum(weights.get(kind, 0.0) * grams for kind, grams in lowered.items())
        if effect:
            effects[cylinder, index] = effect
    return effects


def reach_of_a_gram(job: Job, quantity: str) -> dict[str, float]:
    """By how much one gram at the best pad lowers, and at the best raises, a member of a quantity; 0 where no pad
    does. [g]"""
    effects = _effects(job, counted(job, quantity), list(job.parts))
    given = [effect for place, effect in effects.items() if can_give_g(job, *place) > 0]
    return {"lowers": max(0.0, *given, 0.0), "raises": max(0.0, *(-effect for effect in given), 0.0)}


def falls(job: Job, pad: Pad, grams: float) -> dict[str, float]:
    """How much each reading falls when grams are asked for at a pad: as it gave before, else by statics."""
    if job.ground and (learned := job.ground.responses.get(pad.kind)):
        return {kind: fall * grams for kind, fall in learned.per_gram.items()}
    levers = falls_of_a_gram(pad.kind, pad.at_mm, job.engine.declared_rod_length_mm)
    return {kind: fall * grams for kind, fall in levers.items()}


class TrimProgramme:
    """The linear programme of one job: built once, solved as the parts are, and once more for every part that
    is tried as if it could be anything."""

    def __init__(self, job: Job, windows: Sequence[Window], suspects: Sequence[tuple[int, str]]) -> None:
        self._solver = Programme()
        places = itertools.product(job.parts, range(len(job.pads)))
        self._cuts = {p: self._solver.column(1.0, most) for p in places if (most := can_give_g(job, *p)) > 0}
        self._changes = {
            (cylinder, kind): self._solver.column(most=0.0)
            for cylinder, part in suspects
            for kind in weighed_by(part)
        }
        self._bottoms = [self._solver.column(least=-UNBOUNDED) for _ in windows]
        self._excess = [self._solver.column(EXCESS_COST, 0.0 if w.firm else UNBOUNDED) for w in windows]
        members = [len(window.members) for window in windows]
        self._first_row = [2 * sum(members[:position]) for position in range(len(windows))]
        for window, bottom, excess in zip(windows, self._bottoms, self._excess, strict=True):
            for member in window.members:
                self._fit(member, window.width_g, bottom, excess)

    def _run(self) -> None:
        self._solver.run()
        if not self._solver.is_best:  # to cut nothing is always a solution
            raise ArithmeticError(f"trim: {self._solver.ended}")

    def _fit(self, member: Member, width_g: float, bottom: int, excess: int) -> None:
        """bottom ≤ what the member weighs after its cuts and changes ≤ bottom + width + excess"""
        terms = {self._cuts[place]: effect for place, effect in member.effects.items() if place in self._cuts}
        terms |= {c: -member.weights[p] for p, c in self._changes.items() if member.weights.get(p)}
        terms[bottom] = 1.0
        self._solver.row(-UNBOUNDED, member.now_g, terms)
        terms[excess] = 1.0
        self._solver.row(member.now_g - width_g, UNBOUNDED, terms)

    def refit(self, window: int, now_g: Sequence[float], width_g: float, *, firm: bool) -> None:
        """Other members of the same kind in one of the windows, and its width."""
        for member, mass_g in enumerate(now_g):
            row = self._first_row[window] + 2 * member
            self._solver.hold_row(row, -UNBOUNDED, mass_g)
            self._solver.hold_row(row + 1, mass_g - width_g, UNBOUNDED)
        self._solver.hold_column(self._excess[window], 0.0, 0.0 if firm else UNBOUNDED)

    def cost(self) -> float:
        """What the best target costs: its grams, and EXCESS_COST for each that stays over a limit."""
        self._run()
        return self._solver.total

    def solve(self, free: tuple[int, str] | None = None) -> Target:
        """The best target. free names a part (cylinder, part) whose readings may be anything, as if the best
        possible one were put in its place."""
        freed = [self._changes[free[0], kind] for kind in weighed_by(free[1])] if free else []
        for column in freed:
            self._solver.hold_column(column, -UNBOUNDED, UNBOUNDED)
        self._run()
        values = self._solver.values
        for column in freed:
            self._solver.hold_column(column, 0.0, 0.0)
        return Target(
            grams={place: values[column] for place, column in self._cuts.items()},
            bottoms=tuple(values[column] for column in self._bottoms),
            excess=tuple(values[column] for column in self._excess),
            change_g={kind: values[self._changes[free[0], kind]] for kind in weighed_by(free[1])} if free else {},
        )


class Weighed(NamedTuple):
    """Of a quantity the mass of each member, and the ± of the heaviest less the lightest. [g]"""

    masses_g: list[float]
    expanded_g: float

    @property
    def spread_g(self) -> float:
        return max(self.masses_g) - min(self.masses_g)


class Rearranged:
    """The least metal of one job for other ways to trade its parts: the programme stands, only the masses in it
    change. For jobs whose parts take all that is known of them along, and none was ground."""

    def __init__(self, job: Job, before: Sequence[Spread]) -> None:
        self.limited = [spread for spread in before if spread.limit_g is not None]
        self._programme = TrimProgramme(job, [window_of(job, spread) for spread in self.limited], [])

    def least_metal(self, weighed: Mapping[str, Weighed]) -> float:
        """The cost of least_metal, with what the cylinders, or throws, weigh in each limited quantity."""
        any_outside = False
        for position, spread in enumerate(self.limited):
            assert spread.limit_g is not None
            own = weighed[spread.quantity]
            firm = verdict(own.spread_g, own.expanded_g, spread.limit_g) != "outside"
            width = _width(own.spread_g, own.expanded_g, spread.limit_g, firm=firm)
            self._programme.refit(position, own.masses_g, width, firm=firm)
            any_outside |= not firm
        return self._programme.cost() if any_outside else 0.0


def can_give_g(job: Job, cylinder: int, pad: int) -> float:
    """What a pad can give on this cylinder's part, in whole steps. A part that was weighed once for every
    cylinder gives nothing: it cannot be trimmed to its sisters."""
    parts = job.parts[cylinder]
    moved = weighed_by(UNIT_OF[job.pads[pad].kind])
    if any(kind not in parts or parts[kind].cylinder is None for kind in moved):
        return 0.0
    step_g, most_g = job.scale.resolution_g, job.pads[pad].most_g
    if job.ground:
        most_g = job.ground.room_g(cylinder, job.pads[pad])
    return tidy(math.floor(most_g / step_g + 1e-9) * step_g)
