"""The ideal split of a correction: the fewest holes, by going through every choice that there is, then the least
metal.

All choices of one hole, of two, of three … on the free stretches are listed. One after the other is answered, and
the prices of each answer bound all choices at once (`bounds`), so that a few dozen answers do for thousands of
choices: once no choice of so many holes is left that could bring both planes inside the aim, it is proved that
none does. Of the choices that do, the one whose bound on the metal is least comes first.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np

from truethrow.balance.base.arrays import Ints
from truethrow.balance.correction.bounds import Answer, Bounds, Goal, Prices
from truethrow.balance.correction.room import Site
from truethrow.balance.correction.split import BEYOND, WASTE, Split, Stretch, Wanted, slug_spots
from truethrow.balance.result.unbalance import plane_share

# More choices of so many holes than this are not gone through.
MOST_CHOICES = 200_000
# The search ends after so many answers, not after a time, so that a plan is the same on every computer.
MOST_ANSWERS = 1000
# Where none comes inside, what leaves more by less than this part of what is allowed is as near.
SAME = 0.02
# A hole that takes less than this takes nothing.
NONE_GMM = 1e-3


class Fewest:
    """All choices of holes on some stretches for one target, with one slug where there are slugs.

    target: what is to come off each plane [g·mm]; allowed_gmm: for the front and the rear plane; aim: the part
    of what is allowed that the holes are to come inside of."""

    def __init__(
        self,
        stretches: Sequence[Stretch],
        slugs: Sequence[Site],
        target: tuple[complex, complex],
        allowed_gmm: tuple[float, float],
        planes_mm: tuple[float, float],
        *,
        aim: float,
        most_holes: int,
    ) -> None:
        self.stretches, self.aim, self._most_holes = stretches, aim, most_holes
        self.bounds = Bounds(stretches, allowed_gmm, aim, target)
        self.spots: list[tuple[Site, int] | None] = list(slug_spots(slugs)) if slugs else [None]
        self.goals = [_goal(spot, target, allowed_gmm, planes_mm) for spot in self.spots]
        self.prices: list[Prices] = []
        # What was seen to leave least so far, where a hole more is worth some part of what is allowed.
        self.nearest = Split((), (), max(abs(wanted) for wanted in self.goals[0][:2]))

    def inside(self) -> Iterator[Split]:
        """The splits that bring both planes inside the aim: the fewest holes first, then by the least metal that
        holes of that choice take. Ends early where there are too many choices to go through."""
        if not self.stretches:
            return
        best, reach = math.inf, self.reach()
        for level in self._levels():
            if reach > self.aim and level.holes + BEYOND * (reach - self.aim) >= best:
                return
            near = level.nearest()
            score = level.holes + BEYOND * max(0.0, near.worst - self.aim)
            if score < best:
                best, self.nearest = score, near
            if near.worst <= self.aim:
                yield from level.inside()

    def reach(self) -> float:
        """The worse plane over what is allowed with all the metal that there is: no holes leave less."""
        most = [one.holes for one in self.stretches]
        return min(self.learn(self.bounds.nearest(most, goal)).worst for goal in self.goals)

    def learn(self, answer: Answer) -> Answer:
        self.prices.append(answer.prices)
        return answer

    def split(self, choice: Ints, goal: int, answer: Answer, least_g: float) -> Split:
        wanted = zip(self.stretches, answer.vectors, choice, strict=True)
        spot = self.spots[goal]
        return Split(
            tuple(Wanted(stretch, vector, int(holes)) for stretch, vector, holes in wanted if holes),
            () if spot is None else (spot,),
            answer.worst,
            least_g,
        )

    def _levels(self) -> Iterator[_Level]:
        most = [one.holes for one in self.stretches]
        for holes in range(self._most_holes + 1):
            count = math.comb(len(most) + holes - 1, holes) if most else int(not holes)
            if count * len(self.goals) > MOST_CHOICES or len(self.prices) >= MOST_ANSWERS:
                return
            choices = _choices(holes, most)
            if len(choices):
                yield _Level(self, holes, choices)


class _Level:
    """All choices of so many holes, each with each slug that there may be, and what is proved of them so far."""

    def __init__(self, search: Fewest, holes: int, choices: Ints) -> None:
        self._search, self.holes, self._choices = search, holes, choices
        self._worst = np.zeros((len(search.goals), len(choices)))
        self._metal_g = np.zeros_like(self._worst)
        self._used = 0
        self._catch_up()

    def inside(self) -> Iterator[Split]:
        """By the least metal."""
        search = self._search
        answers: dict[tuple[int, int], Answer] = {}
        left = np.ones(self._worst.shape, dtype=bool)
        while True:
            open_g = np.where(left & (self._worst <= search.aim), self._metal_g, np.inf)
            goal, at = divmod(int(open_g.argmin()), len(self._choices))
            if not math.isfinite(open_g[goal, at]) or len(search.prices) >= MOST_ANSWERS:
                return
            if (goal, at) in answers:
                left[goal, at] = False
                vectors = np.abs(np.array(answers[goal, at].vectors)[self._choices[at] > 0])
                if (vectors < NONE_GMM).any():
                    continue  # as good with fewer: that was a choice before
                yield search.split(self._choices[at], goal, answers[goal, at], float(self._metal_g[goal, at]))
                continue
            answer = search.bounds.lightest(self._choices[at], search.goals[goal])
            if answer is None:
                answer = search.bounds.nearest(self._choices[at], search.goals[goal])
                self._worst[goal, at] = max(self._worst[goal, at], answer.worst)
            answers[goal, at] = search.learn(answer)
            self._catch_up()

    def nearest(self) -> Split:
        """The choice that leaves least; any that comes inside the aim will do."""
        search, found = self._search, None
        while True:
            goal, at = divmod(int(self._worst.argmin()), len(self._choices))
            least = self._worst[goal, at]
            if found is not None and least >= found.worst - (SAME if least > search.aim else 0.0):
                return found
            answer = search.learn(search.bounds.nearest(self._choices[at], search.goals[goal]))
            self._catch_up()
            self._worst[goal, at] = max(self._worst[goal, at], answer.worst)
            if found is None or answer.worst < found.worst:
                found = search.split(self._choices[at], goal, answer, 0.0)
            if found.worst <= search.aim or len(search.prices) >= MOST_ANSWERS:
                return found

    def _catch_up(self) -> None:
        """Hold all choices to the prices that were learned since."""
        bounds, search = self._search.bounds, self._search
        for prices in search.prices[self._used :]:
            np.maximum(self._worst, bounds.least_worst(prices, self._choices, search.goals), out=self._worst)
            np.maximum(self._metal_g, bounds.least_metal_g(prices, self._choices, search.goals), out=self._metal_g)
        self._used = len(search.prices)


def _choices(holes: int, most: Sequence[int]) -> Ints:
    """How many holes each stretch gets: all ways to have so many of them, no more on a stretch than fit."""
    picked = np.array(list(itertools.combinations_with_replacement(range(len(most)), holes)), dtype=np.int64)
    counts: Ints = (picked.reshape(len(picked), -1, 1) == np.arange(len(most))).sum(axis=1)
    return counts[(counts <= np.array(most, dtype=np.int64)).all(axis=1)]


def _goal(
    spot: tuple[Site, int] | None,
    target: tuple[complex, complex],
    allowed_gmm: tuple[float, float],
    planes_mm: tuple[float, float],
) -> Goal:
    """What is to come off once a slug sits there: more at its own angle."""
    front, rear = target
    to_go_gmm = abs(front) + abs(rear)
    if spot is not None:
        place, angle = spot
        takes = complex(place.depths.removes_gmm[0] * place.turned[angle])
        shares = plane_share(float(place.depths.z_mm[0]), *planes_mm)
        front, rear = front - shares[0] * takes, rear - shares[1] * takes
        to_go_gmm += abs(takes)
    return Goal(front / allowed_gmm[0], rear / allowed_gmm[1], WASTE * to_go_gmm)
