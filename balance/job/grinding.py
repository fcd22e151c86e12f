"""What the pads really gave: each grind in the log, from the readings before it to those after it, and what that
says of the next one.

A hand takes less than it was asked for, or more, and a pad does not lie just where the job says. So each pad has
a response, how far a gram asked there lowers each reading, and every grind of the job adds to what is known of
it: linear least squares with a prior, the lever's own figures. Readings and cuts belong to their part, wherever
it sits.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.parts import CUT_AT, ENDS, UNIT_OF, weighed_by
from truethrow.balance.base.readings import COVERAGE_FACTOR, Certainty, Reading, allowed_range_g, tidy
from truethrow.balance.base.scatter import Scatter
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.job.levers import falls_of_a_gram, pad_grams
from truethrow.balance.log.records import Cut
from truethrow.balance.log.replaying import Placed, counting

if TYPE_CHECKING:
    from truethrow.balance.job.pads import Pad

# What is known of a pad before it was ever cut, as standard deviations: what a hand takes of what it was asked
# for, as a part of it, and where the pad lies, as a part of the rod's length. Common practice, no source.
YIELD_DOUBT = 0.25
PLACE_DOUBT = 0.05
# A part that lost less or more than so many times what was asked was not ground, or is another part: nothing is
# learned from it, and no pad is asked for many times the grams because of it. Common practice, no source.
BELIEVED = (0.5, 2.0)

# The parts that can be cut.
PARTS = tuple(dict.fromkeys(UNIT_OF[pad] for pad in CUT_AT))


class Grind(NamedTuple):
    """One part cut and weighed again: grams asked for at each pad, and the readings before and after it. Without
    readings before, nothing but what was asked for is known of it. levers: by pad and kind, how far a gram taken
    there lowers the reading, as statics has it; told: some of the grams were told by a hand and asked for by
    nobody, so that they say nothing of what a pad gives of what it is asked for."""

    cylinder: int
    part: str
    asked_g: Mapping[str, float]
    before: Mapping[str, Reading]
    after: Mapping[str, Reading]
    levers: Mapping[str, Mapping[str, float]]
    told: bool = False

    @property
    def falls_g(self) -> dict[str, float]:
        if self.before.keys() != self.after.keys():
            return {}
        return {kind: self.before[kind].mean_g - reading.mean_g for kind, reading in self.after.items()}

    @property
    def lost_g(self) -> float:
        """What came off the part; the ends of a rod add up to the whole of it."""
        return tidy(math.fsum(self.falls_g.values()))

    @property
    def expected_g(self) -> dict[str, float]:
        """What each reading should be, had each pad given what it was asked for."""
        return {
            kind: tidy(before.mean_g - math.fsum(g * self.levers[pad][kind] for pad, g in self.asked_g.items()))
            for kind, before in self.before.items()
        }

    def noise_g(self, kind: str, sure: Certainty) -> float:
        """Standard uncertainty of the fall of one kind, a difference of two readings."""
        before, after = self.before[kind], self.after[kind]
        return math.hypot(sure.standard_g(before), sure.standard_g(after), before.zero_g - after.zero_g)

    def unsure_g(self, kind: str, sure: Certainty) -> float:
        """Expanded uncertainty of the same."""
        before, after = self.before[kind], self.after[kind]
        zero_g = COVERAGE_FACTOR * (before.zero_g - after.zero_g)
        return math.hypot(sure.own_expanded_g(before), sure.own_expanded_g(after), zero_g)

    def is_believed(self, sure: Certainty) -> bool:
        """Whether what came off can be what was asked for, as far as the scale can tell: in all, and at each end
        of a rod by what the levers allow. The ends of another rod, or two readings that were typed the wrong way
        round, may well have the right sum."""
        falls = self.falls_g
        asked_g = math.fsum(self.asked_g.values())
        noise = {kind: self.noise_g(kind, sure) for kind in falls}
        slack_g = COVERAGE_FACTOR * math.hypot(*noise.values())
        least, most = (times * asked_g for times in BELIEVED)
        fits = least - slack_g <= self.lost_g <= most + slack_g
        return fits and all(self.can_fall(kind, falls[kind], noise[kind]) for kind in falls)

    def can_fall(self, kind: str, fall_g: float, noise_g: float, least: float = BELIEVED[0]) -> bool:
        """Whether one reading can have fallen so far: each pad gave what a pad is believed to give, and lies about
        where it should. least: the least that a pad gave of what was asked; 0 where it may not have been
        touched."""
        ends = [
            [times * asked * self.levers[pad][kind] for times in (least, BELIEVED[1])]
            for pad, asked in self.asked_g.items()
        ]
        slack_g = COVERAGE_FACTOR * noise_g
        if self.part == "rod":
            slack_g += COVERAGE_FACTOR * PLACE_DOUBT * BELIEVED[1] * math.fsum(self.asked_g.values())
        lowest_g, highest_g = math.fsum(map(min, ends)), math.fsum(map(max, ends))
        return lowest_g - slack_g <= fall_g <= highest_g + slack_g

    def is_settled(self, sure: Certainty) -> bool:
        """Whether the readings after a grind that is not believed can be used all the same: the part weighs what
        it did, so it was not ground; or it was weighed once more since, and the readings agree."""
        if all(abs(fall) <= COVERAGE_FACTOR * self.noise_g(kind, sure) for kind, fall in self.falls_g.items()):
            return True
        return all(
            tidy(max(grams) - min(grams)) <= allowed_range_g(len(grams), sure.scale, kind)
            for kind, grams in ((kind, reading.repeats_g) for kind, reading in self.after.items())
            if len(grams) > 1
        ) and all(len(reading.repeats_g) > 1 for reading in self.after.values())


class PadResponse(NamedTuple):
    """What one pad did in all its grinds: grams asked for and given, the expanded uncertainty of these, and, as
    learned, how far a gram asked there lowers each reading."""

    kind: str
    asked_g: float
    given_g: float
    expanded_g: float
    per_gram: Mapping[str, float]
    grinds: int

    @property
    def ratio(self) -> float | None:
        """Given to asked; None where what was given is lost in the rounding of the scale."""
        return self.given_g / self.asked_g if self.given_g > 0 else None

    @property
    def is_off(self) -> bool:
        """Whether the scale can tell that the pad gives more or less than it is asked for."""
        return self.given_g > 0 and abs(self.given_g - self.asked_g) > self.expanded_g


class Ground(NamedTuple):
    """All that the grinds of a job say. rounds: how often the part was cut that was cut most often; cuts: so many
    stand in the log; responses: by pad; given_g: by cylinder and pad, what came off that part there; doubted:
    grinds that nothing was learned from; again: those of them whose parts are to be weighed once more before
    anything is planned; explained: cylinder and kind of the readings that are what a cut was to leave of the
    reading before it, so that they are no slips, however far the parts are that were not cut yet."""

    rounds: int
    cuts: int
    responses: Mapping[str, PadResponse]
    given_g: Mapping[tuple[int, str], float]
    doubted: tuple[Grind, ...]
    again: tuple[Grind, ...]
    explained: frozenset[tuple[int, str]] = frozenset()

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
    records: list[Placed]

    @property
    def asked_g(self) -> dict[str, float]:
        asked: dict[str, float] = {}
        for cut in self.records:
            if isinstance(cut, Cut):
                asked[cut.pad] = tidy(asked.get(cut.pad, 0.0) + cut.grams)
        return asked

    @property
    def told(self) -> bool:
        return any(isinstance(cut, Cut) and cut.told for cut in self.records)

    @property
    def readings(self) -> dict[str, Reading]:
        """The readings since the last cut, of the kinds by which the part is trimmed."""
        return {
            kind: Reading(
                cylinder,
                kind,
                tuple(r.grams for r in records),
                tuple(r.typed for r in records),
            )
            for (cylinder, kind), records in counting(self.records).items()
            if kind in weighed_by(self.part)
        }

    @property
    def is_open(self) -> bool:
        """Whether it was cut and not wholly weighed since."""
        return bool(self.asked_g) and not self.readings.keys() >= set(weighed_by(self.part))


def _stages(placed: Iterable[Placed]) -> dict[tuple[int, str], list[_Stage]]:
    """The life of each part that can be cut, by the cylinder where it sits now."""
    found: dict[tuple[int, str], list[_Stage]] = {}
    for record in placed:
        part = UNIT_OF.get(record.kind, "")
        if part not in PARTS or not record.cylinder:
            continue
        stages = found.setdefault((record.cylinder, part), [_Stage(part, [])])
        if isinstance(record, Cut) and not stages[-1].is_open:
            stages.append(_Stage(part, []))
        stages[-1].records.append(record)
    return found


def open_parts(placed: Iterable[Placed]) -> set[tuple[str, int]]:
    """The parts that were cut and not wholly weighed since."""
    return {(part, cylinder) for (cylinder, part), stages in _stages(placed).items() if stages[-1].is_open}


def grinds(
    placed: Iterable[Placed],
    older: Mapping[int, Mapping[str, Reading]],
    pads: Sequence[Pad],
    rod_length_mm: float | None,
) -> Iterator[tuple[Grind, bool]]:
    """Every grind of every part, and whether it is wholly weighed since. older: the readings of the job file, from
    before the log. Raises NotDeclared for cuts of a rod whose length is not declared."""
    levers = {pad.kind: falls_of_a_gram(pad.kind, pad.at_mm, rod_length_mm) for pad in pads}
    for (cylinder, part), stages in _stages(placed).items():
        before = {kind: older[cylinder][kind] for kind in weighed_by(part) if kind in older.get(cylinder, {})}
        before |= stages[0].readings
        for stage in stages[1:]:
            if not levers.keys() >= stage.asked_g.keys():
                raise NotDeclared(["rod_length"])
            made = Grind(cylinder, part, stage.asked_g, before, stage.readings, levers, stage.told)
            yield made, not stage.is_open
            before = stage.readings


class _Rod(NamedTuple):
    """The pads by kind, and the rod's centre distance, which a pad's lever is counted by."""

    pads: Mapping[str, Pad]
    length_mm: float


def ground(
    pads: Sequence[Pad],
    rod_length_mm: float | None,
    placed: Sequence[Placed],
    older: Mapping[int, Mapping[str, Reading]],
    sure: Certainty,
) -> Ground:
    """What the grinds of a job say of its pads, and of each part's."""
    rod = _Rod({pad.kind: pad for pad in pads}, math.nan if rod_length_mm is None else rod_length_mm)
    given_g: dict[tuple[int, str], float] = {}
    believed, doubted = [], []
    again: dict[tuple[int, str], Grind] = {}
    explained: dict[tuple[int, str], bool] = {}
    step_g = sure.scale.resolution_g
    strict = sure._replace(pan=_no_excuse(sure.pan, step_g), support=_no_excuse(sure.support, step_g))
    for grind, is_weighed in grinds(placed, older, pads, rod_length_mm):
        if not is_weighed:
            continue
        again.pop((grind.cylinder, grind.part), None)  # cut once more: the readings since stand for it
        gave = _gave(rod, grind)
        explained[grind.cylinder, grind.part] = bool(gave) and grind.is_believed(strict)
        for kind, asked in grind.asked_g.items():
            place = grind.cylinder, kind
            given_g[place] = tidy(given_g.get(place, 0.0) + gave.get(kind, asked))
        if not gave:
            continue
        if grind.is_believed(strict):
            believed += [] if grind.told else [grind]
            continue
        doubted.append(grind)
        if not grind.is_settled(strict):
            again[grind.cylinder, grind.part] = grind
    cuts = sum(isinstance(record, Cut) for record in placed)
    rounds = max((len(stages) - 1 for stages in _stages(placed).values()), default=0)
    responses = _responses(rod, believed, sure)
    fits = frozenset((at, kind) for (at, part), does in explained.items() if does for kind in weighed_by(part))
    return Ground(rounds, cuts, responses, given_g, tuple(doubted), tuple(again.values()), fits)


def _no_excuse(scatter: Scatter, step_g: float) -> Scatter:
    """The scatter of readings in doubt must not excuse them: one that is not declared is no more than a step."""
    if scatter.known == "declared":
        return scatter
    return scatter._replace(standard_g=min(scatter.standard_g, step_g))


def _responses(rod: _Rod, believed: Sequence[Grind], sure: Certainty) -> dict[str, PadResponse]:
    learned = _learned(rod.pads, rod.length_mm, believed, sure)
    found = {}
    for pad in dict.fromkeys(pad for grind in believed for pad in grind.asked_g):
        own = [grind for grind in believed if pad in grind.asked_g]
        unsure = [
            weight * grind.unsure_g(kind, sure)
            for grind in own
            for kind, weight in _shares(rod, grind)[pad].items()
        ]
        found[pad] = PadResponse(
            pad,
            tidy(math.fsum(grind.asked_g[pad] for grind in own)),
            tidy(math.fsum(_gave(rod, grind)[pad] for grind in own)),
            math.hypot(*unsure),
            learned[pad],
            len(own),
        )
    return found


def _gave(rod: _Rod, grind: Grind) -> dict[str, float]:
    """Grams that each pad really gave in one grind: what its part lost; on a rod, where both pads were cut, as
    the two readings share it by statics. None are known without readings before."""
    falls = grind.falls_g
    if not falls:
        return {}
    return {
        pad: tidy(math.fsum(weight * falls[kind] for kind, weight in weights.items()))
        for pad, weights in _shares(rod, grind).items()
    }


def _shares(rod: _Rod, grind: Grind) -> dict[str, dict[str, float]]:
    """By pad and kind, what a gram of fall says of the grams that the pad gave."""
    if len(grind.asked_g) == 1:
        return {pad: dict.fromkeys(weighed_by(grind.part), 1.0) for pad in grind.asked_g}
    places = (*(rod.pads[kind].at_mm or 0.0 for kind in ENDS), rod.length_mm)
    of_big, of_small = pad_grams(1.0, 0.0, *places), pad_grams(0.0, 1.0, *places)
    return {pad: {"big_end": of_big[at], "small_end": of_small[at]} for at, pad in enumerate(ENDS)}


def _learned(
    pads: Mapping[str, Pad], rod_length_mm: float, found: Sequence[Grind], sure: Certainty
) -> dict[str, dict[str, float]]:
    """How far a gram asked at each pad lowers each reading: by the lever, as far as no grind says otherwise."""
    learned: dict[str, dict[str, float]] = {}
    levers = {kind: falls_of_a_gram(kind, pad.at_mm, rod_length_mm) for kind, pad in pads.items()}
    for part in PARTS:
        kinds = weighed_by(part)
        own = [grind for grind in found if grind.part == part]
        own_pads = [pad for pad in pads if UNIT_OF[pad] == part]
        for kind in kinds:
            means = [levers[pad][kind] for pad in own_pads]
            known = _Known(means, [_doubt(pads[pad], mean) for pad, mean in zip(own_pads, means, strict=True)])
            for grind in own:
                asked = [grind.asked_g.get(pad, 0.0) for pad in own_pads]
                known.learn(asked, grind.falls_g[kind], grind.noise_g(kind, sure))
            for pad, fall in zip(own_pads, known.means, strict=True):
                learned.setdefault(pad, {})[kind] = fall
    return learned


def _doubt(pad: Pad, fall: float) -> float:
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
