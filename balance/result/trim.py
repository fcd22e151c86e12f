"""Trim: the least metal, taken where the job allows it, that brings every limited spread inside its limit.

The least metal in whole steps of the scale (whole_steps) becomes a plan here: the cuts of each part, what the
scale should show after them, what stays out of reach, and the part that is worth a swap (least_metal, with it left
free).
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math
from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.parts import BY_NAME, UNIT_OF, label, weighed_by
from truethrow.balance.base.readings import Certainty, decimals, tidy
from truethrow.balance.base.told import table
from truethrow.balance.job.job import Job
from truethrow.balance.job.pads import Pad
from truethrow.balance.result.bobweight import bobweights, to_step
from truethrow.balance.result.least_metal import (
    Target,
    TrimProgramme,
    Window,
    can_give_g,
    falls,
    window_of,
)
from truethrow.balance.result.spread import Spread, spreads
from truethrow.balance.result.whole_steps import StepProgramme

# A part is named for a swap when it saves this much of the metal, or of what is over the limits.
WORTH_A_SWAP = 1 / 3
# Limits out of reach are worth a cut only if that brings them nearer by this part.
WORTH_A_CUT = 0.1


class Cut(NamedTuple):
    """Grams to take at one pad of one cylinder's part."""

    cylinder: int
    pad: Pad
    grams: float


class PartTrim(NamedTuple):
    """All cuts on one part of one cylinder (piston, pin, rod), in the order to make them, and what the scale
    should then show for each kind that they move."""

    cylinder: int
    part: str
    cuts: tuple[Cut, ...]
    expected_g: Mapping[str, float]

    def __repr__(self) -> str:
        takes = ", ".join(f"{cut.grams:g} g at the {label(cut.pad.kind)}" for cut in self.cuts)
        then = ", ".join(f"{label(kind)} {grams:g} g" for kind, grams in self.expected_g.items())
        return f"PartTrim: {label(self.part)} of cylinder {self.cylinder}, take {takes}; then {then}"


class Shortfall(NamedTuple):
    """A limit that the trim cannot meet: the spread that it reaches, the members that hold it there, the limit
    that would do, and whether the heavier one's pads have given all they can (else other limits hold it)."""

    spread: Spread
    limit_g: float
    enough_g: float
    spent: bool


class Swap(NamedTuple):
    """The one part that holds the set back most: with a better one in its place (its readings in
    wanted_g), the plan takes grams instead of grams_now, and comes by excess_saved_g closer to the limits."""

    cylinder: int
    part: str
    wanted_g: Mapping[str, float]
    grams_now: float
    grams: float
    excess_saved_g: float


class TrimPlan(NamedTuple):
    """What to take where, the spreads that the scale should show afterwards, what stays out of reach, and
    the part that is worth a swap before anything is ground."""

    parts: tuple[PartTrim, ...]
    after: tuple[Spread, ...]
    shortfalls: tuple[Shortfall, ...]
    swap: Swap | None

    def __repr__(self) -> str:
        count = sum(len(part.cuts) for part in self.parts)
        missed = ", ".join(label(one.spread.quantity) for one in self.shortfalls)
        cuts, parts = ("" if many == 1 else "s" for many in (count, len(self.parts)))
        total = f"{count} cut{cuts} on {len(self.parts)} part{parts}, {tidy(self.grams):.6g} g"
        return f"TrimPlan: {total}{missed and '; out of reach: '}{missed}"

    def _repr_html_(self) -> str:
        rows = [
            [
                label(part.part),
                part.cylinder,
                label(cut.pad.kind),
                f"{tidy(cut.grams):.6g}",
                ", ".join(f"{label(kind)} {grams:.6g}" for kind, grams in part.expected_g.items()),
            ]
            for part in self.parts
            for cut in part.cuts
        ]
        return table(f"{self!r} [g]", ["part", "sits in", "pad", "take off", "should then read"], rows)

    @property
    def grams(self) -> float:
        return _grams(self.parts)


# Nothing to cut by, for a reason that whoever shows it tells.
NO_PLAN = TrimPlan((), (), (), None)


def plan(
    job: Job,
    before: Sequence[Spread],
    sure: Certainty,
    promised: Collection[str] = (),
    done: Collection[tuple[str, int]] = (),
) -> TrimPlan | None:
    """The trim that brings every spread that is outside its limit inside it, with the least grams taken.

    None when no spread is outside: nothing is ground on a difference that the scale cannot tell. A spread
    that is inside, or too close to call, may not grow past what it has. Empty while a part that was cut is to be
    weighed once more: the others must not be ground after a reading that nobody believes."""
    limited = [spread for spread in before if spread.limit_g is not None]
    if not any(s.verdict == "outside" or (s.verdict != "inside" and s.quantity in promised) for s in limited):
        return None
    if job.ground and job.ground.again:
        return NO_PLAN
    windows = [window_of(job, spread, promised) for spread in limited]
    taken_g, excess_g = StepProgramme(job, windows, sure, done).solve()
    excess_now_g = math.fsum(_excess_now_g(window) for window in windows)
    if excess_g and excess_now_g - excess_g < max(job.scale.resolution_g, WORTH_A_CUT * excess_now_g):
        # Hardly nearer to any limit: metal is not taken for nothing.
        taken_g = {}
    parts = _part_trims(job, taken_g)
    trimmed = apply(job, parts)
    after = spreads(trimmed, bobweights(trimmed), sure)
    suspects = _suspects(job, windows)
    programme = TrimProgramme(job, windows, suspects)
    swap = _best_swap(job, programme, suspects, programme.solve(), _grams(parts))
    return TrimPlan(parts, after, _shortfalls(job, windows, parts, after), swap)


def name_of(job: Job, plan: TrimPlan) -> str:
    """The name of a plan: of the readings that it comes from, the cuts before it, and its own."""
    cuts = [[cut.cylinder, cut.pad.kind, cut.grams] for part in plan.parts for cut in part.cuts]
    text = json.dumps([job.digest, job.ground.cuts if job.ground else 0, cuts], separators=(",", ":"))
    return "p" + hashlib.sha256(text.encode()).hexdigest()[:11]


def _excess_now_g(window: Window) -> float:
    return max(0.0, window.spread.spread_g - window.width_g)


def apply(job: Job, parts: Sequence[PartTrim]) -> Job:
    """The job as it stands once each trimmed part weighs what its trim expects."""
    readings = {cylinder: dict(own) for cylinder, own in job.parts.items()}
    for part in parts:
        for kind, grams in part.expected_g.items():
            places = decimals(job.scale.resolution_g)
            old = readings[part.cylinder][kind]
            repeats = len(old.repeats_g)
            typed = f"{grams:.{places}f}"
            readings[part.cylinder][kind] = old._replace(
                cylinder=part.cylinder, repeats_g=(grams,) * repeats, typed=(typed,) * repeats
            )
    return dataclasses.replace(job, parts=readings)


def _grams(parts: Sequence[PartTrim]) -> float:
    return tidy(math.fsum(cut.grams for part in parts for cut in part.cuts))


def _best_swap(
    job: Job, programme: TrimProgramme, suspects: Sequence[tuple[int, str]], target: Target, planned_g: float
) -> Swap | None:
    """Try each suspect as if it could be anything, and name the one whose swap saves most, if it saves a third
    of the metal or of the excess."""
    best: Swap | None = None
    excess_now, step_g = math.fsum(target.excess), job.scale.resolution_g
    for cylinder, part in suspects:
        freed = programme.solve((cylinder, part))
        closer = excess_now - math.fsum(freed.excess)
        saved_g = target.total_g - freed.total_g
        if closer <= WORTH_A_SWAP * excess_now + step_g and saved_g <= WORTH_A_SWAP * target.total_g + step_g:
            continue
        if best is None or (round(closer, 6), -freed.total_g) > (best.excess_saved_g, -best.grams):
            wanted = {
                kind: to_step(job.parts[cylinder][kind].mean_g + change, step_g)
                for kind, change in freed.change_g.items()
            }
            best = Swap(cylinder, part, wanted, planned_g, freed.total_g, max(0.0, round(closer, 6)))
    return best


def _suspects(job: Job, windows: Sequence[Window]) -> list[tuple[int, str]]:
    """The lightest and the heaviest part of each spread that is outside: one of them holds the set back."""
    found: dict[tuple[int, str], None] = {}
    for window in windows:
        kind = window.spread.quantity
        if window.spread.verdict != "outside" or kind not in BY_NAME:
            continue
        part = UNIT_OF.get(kind, kind)
        for name in (window.spread.lightest, window.spread.heaviest):
            if all(k in job.parts[int(name)] for k in weighed_by(part)):
                found[int(name), part] = None
    return list(found)


def _part_trims(job: Job, taken: Mapping[tuple[int, int], float]) -> tuple[PartTrim, ...]:
    """The cuts gathered by part, the deeper one first, with the readings to expect."""
    found: list[PartTrim] = []
    step = job.scale.resolution_g
    for cylinder in job.parts:
        cuts = [Cut(cylinder, pad, taken[cylinder, i]) for i, pad in enumerate(job.pads) if (cylinder, i) in taken]
        for part in dict.fromkeys(UNIT_OF[cut.pad.kind] for cut in cuts):
            own = sorted((c for c in cuts if UNIT_OF[c.pad.kind] == part), key=lambda c: -c.grams)
            expected = {}
            for kind in weighed_by(part):
                loss = math.fsum(falls(job, cut.pad, cut.grams)[kind] for cut in own)
                expected[kind] = to_step(job.parts[cylinder][kind].mean_g - loss, step)
            found.append(PartTrim(cylinder, part, tuple(own), expected))
    return tuple(found)


def _shortfalls(
    job: Job, windows: Sequence[Window], parts: Sequence[PartTrim], after: Sequence[Spread]
) -> tuple[Shortfall, ...]:
    """The limits still outside after the trim."""
    step_g = job.scale.resolution_g
    taken = {(cut.cylinder, cut.pad.kind): cut.grams for part in parts for cut in part.cuts}
    members = {(w.spread.quantity, m.name): m for w in windows for m in w.members}
    found = []
    for left in after:
        if left.verdict != "outside" or left.limit_g is None:
            continue
        lowering = [place for place, effect in members[left.quantity, left.heaviest].effects.items() if effect > 0]
        room = (can_give_g(job, c, i) - taken.get((c, job.pads[i].kind), 0.0) for c, i in lowering)
        enough_g = tidy(math.ceil((left.spread_g + left.expanded_g) / step_g) * step_g)
        found.append(Shortfall(left, left.limit_g, enough_g, spent=max(room, default=0.0) < step_g))
    return tuple(found)
