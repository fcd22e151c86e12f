"""Which parts to weigh a second time, so that what is too close to call is settled, and so that no metal comes off
for a doubt that a second weighing takes away.

Looked at ahead: each second weighing makes the mean of its part surer, and adds to what is known of the scatter on
its way of weighing, whichever part it is of.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TypeAlias

from truethrow.balance.base.parts import WAYS, Way, way_of
from truethrow.balance.base.readings import Certainty, Mass, Reading, verdict
from truethrow.balance.base.scatter import Scatter
from truethrow.balance.job.job import Job
from truethrow.balance.result.bobweight import Bobweights
from truethrow.balance.result.spread import Spread
from truethrow.balance.result.unbalance import Cost, acting, amount, deviations

# Where the ± is more than this part of a limit, a second weighing is cheaper than metal: common practice, no
# source.
PART_OF_LIMIT = 0.25
# So many parts are weighed twice where nothing is known of a scatter.
PAIRS = 2
# What this many second weighings do not settle is for the scale to settle.
MOST_WEIGHINGS = 8
# A ± that would come down by no more than this part is as good as it gets.
HARDLY = 0.1

# Cylinder and kind of what is weighed.
Places: TypeAlias = tuple[tuple[int, str], ...]


def spreads_to_settle(job: Job, sure: Certainty, spreads: Iterable[Spread]) -> Places:
    """The parts of which a second weighing would settle the spreads that are too close to call; none where none
    is, and where no weighing on this scale would."""
    ahead = Ahead(job, sure)
    for spread in spreads:
        if spread.verdict == "too close to call" and spread.limit_g is not None:
            ahead.weigh_until(spread.apart, _calls(spread.spread_g, spread.limit_g))
    return ahead.places


def planes_to_settle(job: Job, sure: Certainty, weights: Bobweights, cost: Cost) -> Places:
    """The same of what hanging leaves in the two planes."""
    ahead = Ahead(job, sure)
    for plane in (cost.front, cost.rear):
        if plane.verdict == "too close to call" and plane.permissible_gmm is not None:
            along = amount(*acting(job, deviations(weights), weights, plane.plane), sure)
            ahead.weigh_until(along, _calls(plane.amount_gmm, plane.permissible_gmm))
    return ahead.places


def _calls(value: float, limit: float) -> Callable[[float], bool]:
    """Whether an uncertainty is small enough to call a value."""
    return lambda expanded: verdict(value, expanded, limit) != "too close to call"


def before_trim(job: Job, sure: Certainty, spreads: Iterable[Spread]) -> Places:
    """The parts to weigh a second time before anything is ground: while the ± is more than a quarter of the limit
    of what is outside it, or is only assumed, cuts would be made for the ± alone. None where it is smaller, or as
    small as weighing makes it."""
    ahead = Ahead(job, sure)
    for spread in spreads:
        if spread.verdict != "outside" or spread.limit_g is None:
            continue
        enough_g = max(PART_OF_LIMIT * spread.limit_g, ahead.least_g(spread.apart) / (1 - HARDLY))
        ahead.weigh_until(spread.apart, _is_within(enough_g))
    return ahead.places


def _is_within(enough_g: float) -> Callable[[float], bool]:
    return lambda expanded_g: expanded_g <= enough_g + 1e-9


class Ahead:
    """How sure a job would be after some second weighings. places: of which parts, so far."""

    def __init__(self, job: Job, sure: Certainty) -> None:
        self._readings, self._sure = job.readings(), sure
        self._again: dict[Reading, None] = {}

    @property
    def places(self) -> Places:
        return tuple((reading.cylinder or 0, reading.kind) for reading in self._again)

    def weigh_until(self, mass: Mass, is_enough: Callable[[float], bool]) -> None:
        """Ask for second weighings until the ± of a mass would be small enough; for none where it would not."""
        before = dict(self._again)
        while not self._is_known(mass) or not is_enough(self._expanded_g(mass)):
            candidate = self._next(mass)
            if candidate is None or len(self._again) - len(before) >= MOST_WEIGHINGS:
                self._again = before
                return
            self._again[candidate] = None

    def least_g(self, mass: Mass) -> float:
        """The ± of a mass after as many weighings as are worth asking for. [g]"""
        before = dict(self._again)
        for _ in range(MOST_WEIGHINGS):
            candidate = self._next(mass)
            if candidate is None:
                break
            self._again[candidate] = None
        expanded_g, self._again = self._expanded_g(mass), before
        return expanded_g

    def _now(self) -> Certainty:
        more = dict.fromkeys(WAYS, 0)
        for reading in self._again:
            more[way_of(reading.kind)] += 1
        step_g = self._sure.scale.resolution_g
        pan, support = (_known_better(self._sure.scatter_on(way), more[way], step_g) for way in WAYS)
        return self._sure._replace(pan=pan, support=support)

    def _is_known(self, mass: Mass) -> bool:
        """Whether no scatter behind a mass is only assumed. Where there is nothing yet, more than one pair is
        asked for at once: one may well agree by chance."""
        now = self._now()
        pairs = (now.scatter_on(way).freedom for way in self._sure.assumed_for(mass))
        return not now.assumed_for(mass) and all(count >= PAIRS for count in pairs)

    def _expanded_g(self, mass: Mass) -> float:
        read = {self._as_read(reading): c for reading, c in mass.sensitivity.items()}
        return self._now().expanded_g(Mass(mass.value_g, read))

    def _as_read(self, reading: Reading) -> Reading:
        if reading not in self._again:
            return reading
        return reading._replace(repeats_g=(*reading.repeats_g, reading.mean_g))

    def _next(self, mass: Mass) -> Reading | None:
        """The part of which a second weighing says most: of the way of weighing that brings most to the ±, first
        those that the mass is made of, then others of their kinds."""
        sure = self._now()

        def brings(way: Way) -> float:
            own = (c * sure.repeating_g(r) for r, c in mass.sensitivity.items() if way_of(r.kind) == way)
            return sure.scatter_on(way).factor * math.hypot(*own)

        def own(reading: Reading) -> float:
            return abs(mass.sensitivity.get(reading, 0.0)) * sure.repeating_g(reading)

        kinds = {reading.kind for reading, c in mass.sensitivity.items() if c}
        for way in sorted(WAYS, key=brings, reverse=True):
            candidates = [
                reading
                for reading in self._readings
                if reading.kind in kinds
                and way_of(reading.kind) == way
                and reading.cylinder is not None
                and reading not in self._again
            ]
            if candidates and brings(way) > 0:
                return max(candidates, key=own)
        return None


def _known_better(scatter: Scatter, more: int, step_g: float) -> Scatter:
    """A scatter after so many second weighings that agree as well as those before, or as the scale lets them."""
    if not more or scatter.known == "declared":
        return scatter
    if scatter.known == "assumed":
        return Scatter(step_g / math.sqrt(12), more, "repeats")
    return scatter._replace(freedom=scatter.freedom + more)
