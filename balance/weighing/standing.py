"""What stands of a job at the bench: its readings, its cuts and its confirmations, as the log has them by now."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.naming import Names
from truethrow.balance.base.readings import (
    Certainty,
    Reading,
    Verdict,
    certainty,
    decimals,
    verdict,
)
from truethrow.balance.base.units import MASS, factor
from truethrow.balance.job import sources
from truethrow.balance.job.logged import Logged
from truethrow.balance.job.settled import confirmed
from truethrow.balance.job.weighsheet import WeighSheet
from truethrow.balance.log.records import Record, Weighed
from truethrow.balance.log.replaying import before_cuts, counting, cut_places, replay
from truethrow.balance.weighing.benchjob import BenchJob, WeighStep


class Sister(NamedTuple):
    """One part of the kind at hand: its cylinder, its mean, how many readings that is of, and whether they are the
    job file's, not the bench's."""

    cylinder: int
    mean_g: float
    repeats: int
    in_file: bool = False


class Standing:
    """What a job's log says of its parts, all records taken in order. readings: those that count, by cylinder and
    kind, where the parts sit now; cut: where metal came off."""

    def __init__(self, job: BenchJob, records: Sequence[Record], source: str) -> None:
        self.job = job
        self.replay = replay(records, source)
        self.readings = counting(self.replay.placed)
        self.cut = cut_places(self.replay.placed)
        self.confirmed = confirmed(self.replay.placed)
        here = sources.labels_of(job.labels, Logged(traded=self.replay.traded), WeighSheet())
        self.names = Names(job.engine.layout.cylinders, here, self.replay.traded)

    def part_at(self, step: WeighStep) -> int:
        """Which part sits at a step: the cylinder under which the job file has it."""
        traded = self.replay.traded
        if not traded:
            return step.cylinder
        from truethrow.balance.base.trades import first  # noqa: PLC0415 (few logs have trades)

        return first(traded, step.cylinder, step.kind)

    def of(self, step: WeighStep) -> tuple[Weighed, ...]:
        """The readings of the part at a step that count."""
        return self.readings.get((step.cylinder, step.kind), ())

    def steps(self) -> tuple[WeighStep, ...]:
        """What is to be weighed: a part with a reading of its own, or that was cut, whatever stands for all."""
        own: set[tuple[int, str]] = set()
        if self.job.once:
            places = (WeighStep(n, kind) for n in self.job.engine.layout.cylinders for kind in self.job.once)
            own = {(s.cylinder, s.kind) for s in places if (self.part_at(s), s.kind) in self.job.written}
            own |= self.cut | {place for place in self.readings if place[0]}
        return self.job.steps_with(own)

    def has(self, step: WeighStep) -> bool:
        """Whether a part needs no reading any more: the bench has one, or the job file, and no cut came later."""
        return bool(self.of(step)) or self.counting_older(step) is not None

    def sisters(self, kind: str) -> list[Sister]:
        """The parts of a kind that are weighed: at the bench, else as the job file has them."""
        found = []
        for cylinder in self.job.engine.layout.cylinders:
            step = WeighStep(cylinder, kind)
            if records := self.of(step):
                found.append(Sister(cylinder, mean_of(records), len(records)))
            elif (older := self.counting_older(step)) is not None:
                found.append(Sister(cylinder, older.mean_g, len(older.repeats_g), in_file=True))
        return found

    def spread(
        self, kind: str, sisters: Sequence[Sister] | None = None
    ) -> tuple[float, float, float | None, Verdict | None]:
        """Spread of a kind so far, its expanded uncertainty, its limit and the verdict. [g] sisters: the parts, if
        not those that are weighed."""
        means = [sister.mean_g for sister in (self.sisters(kind) if sisters is None else sisters)]
        spread_g = max(means) - min(means) if means else 0.0
        sure, limit_g = self.certainty(), self.job.limits_g.get(kind)
        expanded = math.sqrt(2) * sure.own_expanded_g(reading_of(0, kind, (0.0,)))
        if limit_g is None:
            return spread_g, expanded, None, None
        assumed = sure.scatter(kind).known == "assumed"
        return spread_g, expanded, limit_g, verdict(spread_g, expanded, limit_g, assumed=assumed)

    def certainty(self) -> Certainty:
        """How sure the readings are, by all that was weighed more than once, here, before a cut too, and in the
        job file."""
        groups = (*self.readings.values(), *before_cuts(self.replay.placed))
        here = [reading_of(r[0].cylinder, r[0].kind, tuple(one.grams for one in r)) for r in groups]
        in_file = dict.fromkeys(reading for own in self.job.older.values() for reading in own.values())
        return certainty(self.job.scale, [*here, *in_file])

    def older(self, step: WeighStep) -> Reading | None:
        """What the job file has of the part at a step, unless one reading stands there for all."""
        reading = self.job.older.get(self.part_at(step), {}).get(step.kind)
        return reading if reading is not None and reading.cylinder is not None else None

    def counting_older(self, step: WeighStep) -> Reading | None:
        """What the job file has of the part at a step, as long as no cut came after it."""
        return None if (step.cylinder, step.kind) in self.cut else self.older(step)

    def others(self, step: WeighStep) -> list[float]:
        """The means of the other parts of a kind."""
        return [s.mean_g for s in self.sisters(step.kind) if s.cylinder != step.cylinder]

    def is_confirmed(self, step: WeighStep, grams: float) -> bool:
        """Whether a reading of the part at a step is what somebody confirmed of it."""
        found = self.confirmed.get((step.cylinder, step.kind))
        length_mm = self.job.engine.declared_rod_length_mm
        return found is not None and found.fits(step.kind, grams, self.job.scale, self.job.pads, length_mm)

    def mass(self, grams: float, finer: int = 0) -> str:
        """A mass with the scale's digits, or so many more, in the unit that this bench weighs in."""
        return f"{self.number(grams, finer)} {self.job.shown_unit}"

    def number(self, grams: float, finer: int = 0) -> str:
        """The same without its unit."""
        one = float(factor(self.job.shown_unit, MASS))
        return f"{grams / one:.{decimals(self.job.scale.resolution_g / one) + finer}f}"

    def allowed(self, grams: float) -> str:
        """A limit in that unit, never more than it is."""
        return str(ToldIn(self.job.shown_unit).allowed(grams))


def mean_of(records: tuple[Weighed, ...]) -> float:
    return math.fsum(record.grams for record in records) / len(records)


def reading_of(cylinder: int, kind: str, grams: tuple[float, ...]) -> Reading:
    return Reading(cylinder, kind, grams, tuple(map(str, grams)))
