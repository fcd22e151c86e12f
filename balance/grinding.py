"""What the pads really gave: each grind in the log, from the readings before it to those after it, and what that
says of the next one.

A hand takes less than it was asked for, or more, and a pad does not lie just where the job says. So each pad has
a response, how far a gram asked there lowers each reading, and every grind of the job adds to what is known of
it: linear least squares with a prior, the lever's own figures. Readings and cuts belong to their part, wherever
it sits.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.beside import log_path
from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.balance.levers import lever, pad_grams
from truethrow.balance.parts import ENDS
from truethrow.balance.readinglog import ReadingLog, Record, counting, replay
from truethrow.balance.readings import COVERAGE_FACTOR, Certainty, Reading, tidy
from truethrow.balance.seats import UNIT_OF, own_readings

if TYPE_CHECKING:
    from truethrow.balance.job import Job, Pad

# What is known of a pad before it was ever cut, as standard deviations: what a hand takes of what it was asked
# for, as a part of it, and where the pad lies, as a part of the rod's length. Common practice, no source.
YIELD_DOUBT = 0.25
PLACE_DOUBT = 0.05
# A part that lost less or more than so many times what was asked was not ground, or is another part: nothing is
# learned from it, and no pad is asked for many times the grams because of it. Common practice, no source.
BELIEVED = (0.5, 2.0)

_WEIGHED = {"piston": ("piston",), "pin": ("pin",), "rod": ENDS}


class Grind(NamedTuple):
    """One part cut and weighed again: grams asked for at each pad, and the readings before and after it. Without
    readings before, nothing but what was asked for is known of it."""

    cylinder: int
    part: str
    asked_g: Mapping[str, float]
    before: Mapping[str, Reading]
    after: Mapping[str, Reading]

    @property
    def falls_g(self) -> dict[str, float]:
        if self.before.keys() != self.after.keys():
            return {}
        return {kind: self.before[kind].mean_g - reading.mean_g for kind, reading in self.after.items()}

    @property
    def lost_g(self) -> float:
        """What came off the part; the ends of a rod add up to the whole of it."""
        return tidy(math.fsum(self.falls_g.values()))

    def noise_g(self, kind: str, sure: Certainty) -> float:
        """Standard uncertainty of the fall of one kind, a difference of two readings."""
        return math.hypot(sure.standard_g(self.before[kind]), sure.standard_g(self.after[kind]))

    def is_believed(self, sure: Certainty) -> bool:
        """Whether what came off can be what was asked for, as far as the scale can tell."""
        asked_g = math.fsum(self.asked_g.values())
        slack_g = COVERAGE_FACTOR * math.hypot(*(self.noise_g(kind, sure) for kind in self.falls_g))
        least, most = (times * asked_g for times in BELIEVED)
        return least - slack_g <= self.lost_g <= most + slack_g


class Response(NamedTuple):
    """What one pad did in all its grinds: grams asked for and given, and, as learned, how far a gram asked there
    lowers each reading."""

    kind: str
    asked_g: float
    given_g: float
    per_gram: Mapping[str, float]
    grinds: int

    @property
    def ratio(self) -> float:
        return self.given_g / self.asked_g


class Ground(NamedTuple):
    """All that the grinds of a job say. rounds: how often parts were cut before others were weighed again;
    responses: by pad; given_g: by cylinder and pad, what came off that part there; doubted: grinds that nothing
    was learned from."""

    rounds: int
    responses: Mapping[str, Response]
    given_g: Mapping[tuple[int, str], float]
    doubted: tuple[Grind, ...]

    def room_g(self, cylinder: int, pad: Pad) -> float:
        """What may still be asked for at a pad of one cylinder's part: what it can give less what it gave, and
        less again where it is known to give more than it is asked for. [g]"""
        left_g = max(0.0, tidy(pad.most_g - max(0.0, self.given_g.get((cylinder, pad.kind), 0.0))))
        learned = self.responses.get(pad.kind)
        return left_g / max(1.0, math.fsum(learned.per_gram.values())) if learned else left_g


class _Stage(NamedTuple):
    """The records of one part from one cut of it to the next, at first from its first reading; cuts without a
    whole weighing between them are one grind."""

    part: str
    records: list[Record]

    @property
    def asked_g(self) -> dict[str, float]:
        asked: dict[str, float] = {}
        for cut in self.records:
            if cut.action == "cut":
                asked[cut.kind] = tidy(asked.get(cut.kind, 0.0) + (cut.grams or 0.0))
        return asked

    @property
    def readings(self) -> dict[str, Reading]:
        """The readings since the last cut, of the kinds by which the part is trimmed."""
        return {
            kind: Reading(
                cylinder,
                kind,
                tuple(r.grams for r in records if r.grams is not None),
                tuple(r.typed for r in records),
            )
            for (cylinder, kind), records in counting(self.records).items()
            if kind in _WEIGHED[self.part]
        }

    @property
    def is_open(self) -> bool:
        """Whether it was cut and not wholly weighed since."""
        return bool(self.asked_g) and not self.readings.keys() >= set(_WEIGHED[self.part])


def _stages(placed: Iterable[Record]) -> dict[tuple[int, str], list[_Stage]]:
    """The life of each part that can be cut, by the cylinder where it sits now."""
    found: dict[tuple[int, str], list[_Stage]] = {}
    for record in placed:
        part = UNIT_OF.get(record.kind, "")
        if part not in _WEIGHED or not record.cylinder:
            continue
        stages = found.setdefault((record.cylinder, part), [_Stage(part, [])])
        if record.action == "cut" and not stages[-1].is_open:
            stages.append(_Stage(part, []))
        stages[-1].records.append(record)
    return found


def open_cuts(placed: Iterable[Record]) -> set[tuple[int, str]]:
    """Cylinder and pad of the cuts whose parts are not wholly weighed again yet."""
    last = [(cylinder, stages[-1]) for (cylinder, _), stages in _stages(placed).items()]
    return {(cylinder, pad) for cylinder, stage in last if stage.is_open for pad in stage.asked_g}


def before_open_cuts(placed: Sequence[Record]) -> tuple[Record, ...]:
    """The records without those cuts whose parts are not wholly weighed again yet, and what was weighed of these
    since."""
    last = (stages[-1] for stages in _stages(placed).values())
    out = {record.id for stage in last if stage.is_open for record in stage.records}
    return tuple(record for record in placed if record.id not in out)


def grinds(placed: Iterable[Record], older: Mapping[int, Mapping[str, Reading]]) -> tuple[Grind, ...]:
    """Every part that was cut and weighed again. older: the readings of the job file, from before the log."""
    found = []
    for (cylinder, part), stages in _stages(placed).items():
        before = {kind: older[cylinder][kind] for kind in _WEIGHED[part] if kind in older.get(cylinder, {})}
        before |= stages[0].readings
        for stage in stages[1:]:
            if not stage.is_open:
                found.append(Grind(cylinder, part, stage.asked_g, before, stage.readings))
                before = stage.readings
    return tuple(found)


def ground(
    job: Job, placed: Sequence[Record], older: Mapping[int, Mapping[str, Reading]], sure: Certainty
) -> Ground:
    """What the grinds of a job say of its pads, and of each part's."""
    pads = {pad.kind: pad for pad in job.pads}
    given_g: dict[tuple[int, str], float] = {}
    believed, doubted = [], []
    asked_by_pad: dict[str, list[float]] = {}
    given_by_pad: dict[str, list[float]] = {}
    for grind in grinds(placed, older):
        gave = _gave(job, pads, grind)
        for kind, asked in grind.asked_g.items():
            place = grind.cylinder, kind
            given_g[place] = tidy(given_g.get(place, 0.0) + gave.get(kind, asked))
        if not gave:
            continue
        if not grind.is_believed(sure):
            doubted.append(grind)
            continue
        believed.append(grind)
        for kind, asked in grind.asked_g.items():
            asked_by_pad.setdefault(kind, []).append(asked)
            given_by_pad.setdefault(kind, []).append(gave[kind])
    learned = _learned(job, pads, believed, sure)
    responses = {
        kind: Response(
            kind, tidy(math.fsum(asked)), tidy(math.fsum(given_by_pad[kind])), learned[kind], len(asked)
        )
        for kind, asked in asked_by_pad.items()
    }
    return Ground(_rounds(placed), responses, given_g, tuple(doubted))


def _rounds(placed: Sequence[Record]) -> int:
    """How often a cut was the first one after a reading."""
    actions = ["read", *(record.action for record in placed)]
    return sum(now == "cut" != before for before, now in itertools.pairwise(actions))


def _gave(job: Job, pads: Mapping[str, Pad], grind: Grind) -> dict[str, float]:
    """Grams that each pad really gave in one grind: what its part lost; on a rod, where both pads were cut, as
    the two readings share it by statics. None are known without readings before."""
    falls = grind.falls_g
    if not falls:
        return {}
    if len(grind.asked_g) == 1:
        return dict.fromkeys(grind.asked_g, grind.lost_g)
    big_at, small_at = (pads[kind].at_mm or 0.0 for kind in ENDS)
    both = pad_grams(falls["big_end"], falls["small_end"], big_at, small_at, job.engine.rod_length_mm)
    return {kind: tidy(grams) for kind, grams in zip(ENDS, both, strict=True)}


def _learned(
    job: Job, pads: Mapping[str, Pad], found: Sequence[Grind], sure: Certainty
) -> dict[str, dict[str, float]]:
    """How far a gram asked at each pad lowers each reading: by the lever, as far as no grind says otherwise."""
    learned: dict[str, dict[str, float]] = {}
    for part, kinds in _WEIGHED.items():
        own = [grind for grind in found if grind.part == part]
        for at, kind in enumerate(kinds):
            levers = [_lever(job, pads[pad])[at] for pad in kinds]
            known = _Known(levers, [_doubt(job, pads[pad], mean) for pad, mean in zip(kinds, levers, strict=True)])
            for grind in own:
                asked = [grind.asked_g.get(pad, 0.0) for pad in kinds]
                known.learn(asked, grind.falls_g[kind], grind.noise_g(kind, sure))
            for pad, fall in zip(kinds, known.means, strict=True):
                learned.setdefault(pad, {})[kind] = fall
    return learned


def _lever(job: Job, pad: Pad) -> tuple[float, ...]:
    return (1.0,) if pad.at_mm is None else lever(pad.at_mm, job.engine.rod_length_mm)


def _doubt(job: Job, pad: Pad, fall: float) -> float:
    """Standard deviation of one of a pad's figures before it was ever cut."""
    return math.hypot(YIELD_DOUBT * fall, 0.0 if pad.at_mm is None else PLACE_DOUBT)


class _Known:
    """What is known of a few numbers of which sums are observed: their means and covariances.

    Source: Bayesian linear least squares for one normal observation after the other, the covariance form of
    recursive least squares (from memory; the tests hold it against the normal equations)."""

    def __init__(self, means: Sequence[float], deviations: Sequence[float]) -> None:
        self.means = list(means)
        self._covariance = [
            [s * s if row == column else 0.0 for column in range(len(means))] for row, s in enumerate(deviations)
        ]

    def learn(self, weights: Sequence[float], observed: float, noise: float) -> None:
        """Σ weight · number was observed, with a standard uncertainty."""
        across = [_dot(row, weights) for row in self._covariance]
        variance = _dot(weights, across) + noise * noise
        missed = observed - _dot(weights, self.means)
        self.means = [mean + share / variance * missed for mean, share in zip(self.means, across, strict=True)]
        for row, share in enumerate(across):
            for column, other in enumerate(across):
                self._covariance[row][column] -= share * other / variance


def _dot(left: Sequence[float], right: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(left, right, strict=True))


def record(job_path: Path, named: Sequence[tuple[str, int]] = (), by: str = "") -> list[Record]:
    """Write into the log that the cuts of the plan have been made, all of them or those of the parts named, as
    (rod, 3). From then on these parts are to be weighed again.

    The plan is the one that stood before those cuts whose parts are not weighed again yet, so that it may be
    recorded part by part, or once more after a failure: what is recorded already is left out. Raises BadInput
    where there is nothing to cut or a named part is not in the plan; NotSaved where a record is not on the
    disk, those before it being safe."""
    from truethrow.balance.work import work  # noqa: PLC0415 (which itself asks here what the pads gave)

    plan = work(own_readings(job_path, planned=True)).trim
    log = ReadingLog(log_path(job_path), by=by)
    done = open_cuts(replay(log.records, str(log.path)).placed)
    planned = {(trim.part, trim.cylinder): trim.cuts for trim in (plan.parts if plan else ())}
    waiting = {
        place: left
        for place, cuts in planned.items()
        if (left := [cut for cut in cuts if (cut.cylinder, cut.pad.kind) not in done])
    }
    if not waiting:
        found, allowed = "nothing to cut: the plan is empty", ""
        if done:
            found, allowed = "every cut of the plan is recorded already", "weigh again: truethrow weigh JOB"
        raise BadInput([Fault("", found, allowed)], str(job_path))
    allowed = ", ".join(f"{part} {cylinder}" for part, cylinder in waiting)
    faults = [
        Fault(f"{shown(part)} {shown(cylinder)}", _why_not(part, cylinder, done), allowed)
        for part, cylinder in dict.fromkeys(named)
        if (part, cylinder) not in waiting
    ]
    if faults:
        raise BadInput(faults, str(job_path))
    return [
        log.append("cut", cylinder=cut.cylinder, kind=cut.pad.kind, grams=cut.grams)
        for place in dict.fromkeys(named or waiting)
        for cut in waiting[place]
    ]


def _why_not(part: str, cylinder: int, done: set[tuple[int, str]]) -> str:
    recorded = any((cylinder, pad) in done for pad in _WEIGHED.get(part, ()))
    return "recorded already; weigh it again" if recorded else "not in the plan"
