"""What a replacement may weigh: with which masses of one part the set is inside every limit, the rest as it is.

A limit bounds a sum of readings: of the part's own kind, of its cylinder, of its throw. The sum may be no farther
above the lightest of the others than the limit, less the ± of that difference, and no farther below the heaviest.
That is one leeway for each limit; the window is what all of them leave. A rod has two readings, so its leeways
bound its big end, its small end, and sums of both.
"""

from __future__ import annotations

import dataclasses
import math
import statistics
from collections.abc import Mapping
from typing import NamedTuple

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.base.parts import BY_NAME, UNITS, label, weighed_by
from truethrow.balance.base.readings import Certainty, Mass, Reading, combine, decimals, tidy
from truethrow.balance.job.job import Job
from truethrow.balance.result.bobweight import bobweights, to_step
from truethrow.balance.result.least_metal import counted, cylinders_of
from truethrow.balance.result.slips import Slip, slips
from truethrow.balance.result.spread import Spread, spread_of, spreads

# As the verdict has it: sums of decimals are not decided by their binary fractions.
SLACK_G = 1e-9


class Leeway(NamedTuple):
    """What one limit leaves for the part. counts: how much a gram of each of its readings counts; rest_g: what is
    in the sum besides; least_g, most_g: what the sum may be; lightest, heaviest: of the others, those that hold it
    at the top and at the bottom."""

    quantity: str
    limit_g: float
    counts: Mapping[str, float]
    rest_g: float
    least_g: float
    most_g: float
    lightest: str
    heaviest: str

    def sum_g(self, masses: Mapping[str, float]) -> float:
        return tidy(math.fsum([self.rest_g, *(count * masses[kind] for kind, count in self.counts.items())]))

    def is_above(self, masses: Mapping[str, float]) -> bool:
        """Whether the sum is not too light."""
        return self.sum_g(masses) >= self.least_g - SLACK_G

    def is_below(self, masses: Mapping[str, float]) -> bool:
        """Whether the sum is not too heavy."""
        return self.sum_g(masses) <= self.most_g + SLACK_G


class MassWindow(NamedTuple):
    """From where to where one reading of the part may be, on the scale's steps, both included, and what holds it
    there. Without a reading in between low_g is above high_g."""

    kind: str
    low_g: float
    high_g: float
    holds_low: Leeway
    holds_high: Leeway

    @property
    def is_empty(self) -> bool:
        return self.low_g > self.high_g


@dataclasses.dataclass(frozen=True)
class Replacement:
    """A part that is to be replaced. job: with some part or other in its place; unit, cylinder: which; times: how
    often the new one is weighed; sure: how sure the readings are then; leeways: a limit each, of those that the
    part counts in; out: spreads of the others, or of other parts, that are not inside whatever comes."""

    job: Job
    unit: str
    cylinder: int
    times: int
    sure: Certainty
    leeways: tuple[Leeway, ...]
    out: tuple[Spread, ...]

    @property
    def kinds(self) -> tuple[str, ...]:
        return weighed_by(self.unit)

    def is_inside(self, masses: Mapping[str, float]) -> bool:
        """Whether the set is inside every limit with a part that reads so. masses: by kind of reading. [g]"""
        return not self.out and all(one.is_above(masses) and one.is_below(masses) for one in self.leeways)

    def window(self, kind: str) -> MassWindow | None:
        """What the limits leave one reading of the part by itself; None where none counts it alone."""
        own = [leeway for leeway in self.leeways if list(leeway.counts) == [kind]]
        if not own:
            return None
        ends = [(_ends(leeway, kind, self.job.scale.resolution_g), leeway) for leeway in own]
        (low_g, _), holds_low = max(ends, key=lambda end: end[0][0])
        (_, high_g), holds_high = min(ends, key=lambda end: end[0][1])
        return MassWindow(kind, low_g, high_g, holds_low, holds_high)

    @property
    def windows(self) -> dict[str, MassWindow]:
        found = ((kind, self.window(kind)) for kind in self.kinds)
        return {kind: window for kind, window in found if window is not None}

    @property
    def together(self) -> tuple[Leeway, ...]:
        """The limits on a sum of both readings of a rod, as far as they leave less than each reading's own."""
        windows = self.windows
        found = []
        for leeway in (one for one in self.leeways if len(one.counts) > 1):
            if windows.keys() >= leeway.counts.keys():
                lows = {kind: windows[kind].low_g for kind in leeway.counts}
                highs = {kind: windows[kind].high_g for kind in leeway.counts}
                if leeway.is_above(lows) and leeway.is_below(highs):
                    continue
            found.append(leeway)
        return tuple(found)

    @property
    def middle_g(self) -> dict[str, float]:
        """A mass in the middle of each window; where there is none, the median of the others."""
        found = {kind: self.job.parts[self.cylinder][kind].mean_g for kind in self.kinds}
        step_g = self.job.scale.resolution_g
        return found | {k: to_step((w.low_g + w.high_g) / 2, step_g) for k, w in self.windows.items()}


def replacement(job: Job, unit: str, cylinder: int, times: int = 1) -> Replacement:
    """What the set leaves for another part in the place of one. times: how often it is weighed, reading the same.
    Raises BadInput for a part that the engine does not have."""
    kinds = weighed_by(unit)
    if any(kind not in job.parts[cylinder] for kind in kinds):
        raise BadInput([Fault("PART", f"the engine is declared without {label(unit)}")])
    others = {kind: [own[kind].mean_g for n, own in job.parts.items() if n != cylinder] for kind in kinds}
    some = {kind: statistics.median_low(grams) if grams else 1.0 for kind, grams in others.items()}
    made = with_part(job, unit, cylinder, some)
    # The scatter that the scale is known for does not get smaller because a mass is read twice in a thought.
    sure = job.certainty()
    made = with_part(job, unit, cylinder, some, times)
    leeways, out = [], []
    for spread in spreads(made, bobweights(made), sure):
        if spread.limit_g is None:
            continue
        counts = {k: count for k, count in counted(made, spread.quantity).items() if k in kinds and count}
        if not counts:
            out += [spread] if spread.verdict != "inside" else []
            continue
        member = next(name for name in spread.members if cylinder in cylinders_of(made, spread, name))
        rest = {name: mass for name, mass in spread.members.items() if name != member}
        among_them = spread_of(spread.quantity, rest, made, sure)
        out += [among_them] if len(rest) > 1 and among_them.verdict != "inside" else []
        leeways.append(_leeway(spread, member, among_them, counts, some, sure))
    return Replacement(made, unit, cylinder, times, sure, tuple(leeways), tuple(out))


def with_part(job: Job, unit: str, cylinder: int, masses: Mapping[str, float], times: int = 1) -> Job:
    """The job with a part that reads so in the place of another: what was weighed, cut and learned of that one is
    no more. masses: by kind of reading. [g]"""
    places = decimals(job.scale.resolution_g)
    gone = UNITS.get(unit, (unit,))
    own = {kind: reading for kind, reading in job.parts[cylinder].items() if kind not in gone}
    for kind, grams in masses.items():
        own[kind] = Reading(cylinder, kind, (grams,) * times, (f"{grams:.{places}f}",) * times)
    return dataclasses.replace(_without_its_cuts(job, unit, cylinder), parts={**job.parts, cylinder: own})


def _without_its_cuts(job: Job, unit: str, cylinder: int) -> Job:
    """The job with pads on one part that have given nothing yet."""
    if job.ground is None:
        return job
    gone = weighed_by(unit)
    given = {place: g for place, g in job.ground.given_g.items() if place[0] != cylinder or place[1] not in gone}
    again = tuple(g for g in job.ground.again if (g.part, g.cylinder) != (unit, cylinder))
    return dataclasses.replace(job, ground=job.ground._replace(given_g=given, again=again))


def doubts(job: Job, unit: str, cylinder: int) -> tuple[Slip, ...]:
    """The readings of the other parts that look like slips: while there are any, no window is worth telling."""
    gone = UNITS.get(unit, (unit,))
    own = {kind: reading for kind, reading in job.parts[cylinder].items() if kind not in gone}
    rest = dataclasses.replace(job, parts={**job.parts, cylinder: own})
    found = slips(rest, bobweights(rest), rest.certainty())
    return tuple(slip for slip in found if any(BY_NAME[kind].motion != "check" for kind in slip.kinds))


def _leeway(
    spread: Spread,
    member: str,
    others: Spread,
    counts: Mapping[str, float],
    some: Mapping[str, float],
    sure: Certainty,
) -> Leeway:
    """What the limit of a spread leaves for one of its members. others: the spread of the rest of them; some: what
    the part in it reads now."""
    assert spread.limit_g is not None
    own, light, heavy = spread.members[member], others.members[others.lightest], others.members[others.heaviest]
    order = list(spread.members)

    def apart_g(other: Mass) -> float:
        return spread.limit_g - sure.expanded_g(combine([(1.0, own), (-1.0, other)]))  # type: ignore[operator]

    # Among the others, whatever their ± to it, it changes no spread; as heavy as the heaviest it is that one only
    # if it comes before it.
    beside = {
        end: SLACK_G * 3 * (order.index(member) < order.index(end)) for end in (others.lightest, others.heaviest)
    }
    rest_g = tidy(own.value_g - math.fsum(count * some[kind] for kind, count in counts.items()))
    return Leeway(
        spread.quantity,
        spread.limit_g,
        counts,
        rest_g,
        min(heavy.value_g - apart_g(heavy), light.value_g + beside[others.lightest]),
        max(light.value_g + apart_g(light), heavy.value_g - beside[others.heaviest]),
        others.lightest,
        others.heaviest,
    )


def _ends(leeway: Leeway, kind: str, step_g: float) -> tuple[float, float]:
    """The first and the last reading on the scale's steps that one leeway allows."""
    count = leeway.counts[kind]
    low = math.floor((leeway.least_g - leeway.rest_g) / count / step_g) - 1
    while not leeway.is_above({kind: tidy(low * step_g)}):
        low += 1
    high = math.ceil((leeway.most_g - leeway.rest_g) / count / step_g) + 1
    while not leeway.is_below({kind: tidy(high * step_g)}):
        high -= 1
    return tidy(low * step_g), tidy(high * step_g)
