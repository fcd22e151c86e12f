"""Trim: the least metal, taken where the job allows it, that brings every limited spread inside its limit.

A rod on two supports, centre distance L: grams taken at x along it (0 at the big-end centre, L at the
small-end centre) lower the big-end reading by 1 − x/L of them and the small-end reading by x/L. A pad beyond
the small end therefore *raises* the big-end reading a little, and each pad moves both readings. All pads of
all parts and the windows that the readings must fit into stand in one linear programme; the target is its
outcome, not the lightest part by assumption.

Once metal came off and the parts were weighed again, what the pads really gave stands for the bare lever.
"""

from __future__ import annotations

import dataclasses
import hashlib
import itertools
import json
import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.parts import BY_NAME, SUMS, UNIT_OF, weighed_by
from truethrow.balance.base.readings import Certainty, decimals, tidy, verdict
from truethrow.balance.base.solver import UNBOUNDED, Programme
from truethrow.balance.job.job import Job
from truethrow.balance.job.levers import falls_of_a_gram, solved
from truethrow.balance.job.pads import Pad
from truethrow.balance.result.bobweight import bobweights, to_step
from truethrow.balance.result.spread import Spread, spreads

# One gram beyond a window costs as much as this many grams of metal: reach the limit first, then save metal.
EXCESS_COST = 1000.0
# A part is named for a swap when it saves this much of the metal, or of what is over the limits.
WORTH_A_SWAP = 1 / 3
# Limits out of reach are worth a cut only if that brings them nearer by this part.
WORTH_A_CUT = 0.1
# HiGHS meets its constraints to 1e-7; what is smaller than this is its rounding, not metal.
SOLVER_DUST_G = 1e-6


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

    @property
    def grams(self) -> float:
        return _grams(self.parts)


# Nothing to cut by, for a reason that whoever shows it tells.
NO_PLAN = TrimPlan((), (), (), None)


class _Window(NamedTuple):
    """A limited quantity in the programme: its members as effects of cuts, the width they must fit, what the
    rounding of the readings to come may add to that, and whether the width must hold (a spread that is not
    outside) or may be exceeded where there is no other way."""

    spread: Spread
    width_g: float
    rounding_g: float
    firm: bool
    members: tuple[_Member, ...]


class _Member(NamedTuple):
    """One member of a spread: what it weighs now, and what of that no reading shows (a throw's oil); how much
    a gram at each (cylinder, pad) lowers it, and how much a gram of each (cylinder, kind) counts in it."""

    name: str
    now_g: float
    unread_g: float
    effects: Mapping[tuple[int, int], float]
    weights: Mapping[tuple[int, str], float]


class _Target(NamedTuple):
    """The programme's outcome: grams at each (cylinder, pad), the bottom of each window and its excess over
    the width, and, for a part that was left free, the change of its readings."""

    grams: Mapping[tuple[int, int], float]
    bottoms: tuple[float, ...]
    excess: tuple[float, ...]
    change_g: Mapping[str, float]

    @property
    def total_g(self) -> float:
        return math.fsum(self.grams.values())


def plan(job: Job, before: Sequence[Spread], sure: Certainty) -> TrimPlan | None:
    """The trim that brings every spread that is outside its limit inside it, with the least grams taken.

    None when no spread is outside: nothing is ground on a difference that the scale cannot tell. A spread
    that is inside, or too close to call, may not grow past what it has. Empty while a part that was cut is to be
    weighed once more: the others must not be ground after a reading that nobody believes."""
    limited = [spread for spread in before if spread.limit_g is not None]
    if not any(spread.verdict == "outside" for spread in limited):
        return None
    if job.ground and job.ground.again:
        return NO_PLAN
    windows = [_window(job, spread) for spread in limited]
    suspects = _suspects(job, windows)
    programme = _Programme(job, windows, suspects)
    target = programme.solve()
    excess_now = math.fsum(_excess_now(window) for window in windows)
    if excess_now - math.fsum(target.excess) < max(job.scale.resolution_g, WORTH_A_CUT * excess_now):
        # Hardly nearer to any limit: metal is not taken for nothing.
        target = target._replace(grams=dict.fromkeys(target.grams, 0.0))
    parts, after = _unharmed(job, before, _in_steps(job, windows, target), sure)
    swap = _best_swap(job, programme, suspects, target, _grams(parts))
    return TrimPlan(parts, after, _shortfalls(job, windows, parts, after), swap)


def name_of(job: Job, plan: TrimPlan) -> str:
    """The name of a plan: of the readings that it comes from, the cuts before it, and its own."""
    cuts = [[cut.cylinder, cut.pad.kind, cut.grams] for part in plan.parts for cut in part.cuts]
    text = json.dumps([job.digest, job.ground.cuts if job.ground else 0, cuts], separators=(",", ":"))
    return "p" + hashlib.sha256(text.encode()).hexdigest()[:11]


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
    target = _Programme(job, [_window(job, spread) for spread in limited], []).solve()
    return Metal(target.total_g, math.fsum(target.excess))


def _unharmed(
    job: Job, before: Sequence[Spread], taken: dict[tuple[int, int], float], sure: Certainty
) -> tuple[tuple[PartTrim, ...], tuple[Spread, ...]]:
    """The trims and the spreads after them, without the cuts that would push a spread outside which was not.

    Whole steps allow for that where the windows leave room; on readings between the steps, with limits of
    a step or two, a few cuts may have to go."""
    fine = {spread.quantity for spread in before if spread.verdict != "outside"}
    while True:
        parts = _part_trims(job, taken)
        trimmed = apply(job, parts)
        after = spreads(trimmed, bobweights(trimmed), sure)
        harmed = [spread for spread in after if spread.verdict == "outside" and spread.quantity in fine]
        if not harmed or not taken:
            return parts, after
        ends = {
            c for name in (harmed[0].lightest, harmed[0].heaviest) for c in _cylinders_of(job, harmed[0], name)
        }
        cut = {cylinder for cylinder, _ in taken}
        taken = {place: grams for place, grams in taken.items() if place[0] not in (ends & cut or cut)}


def _excess_now(window: _Window) -> float:
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


def _window(job: Job, spread: Spread) -> _Window:
    """The width to aim at: the limit less its uncertainty and less the rounding of the readings to come. A
    spread that is not outside keeps what it has, and may be rounded as far as its verdict stays."""
    assert spread.limit_g is not None
    weighed = counted(job, spread.quantity)
    rounding = _rounding(job, weighed)
    firm = spread.verdict != "outside"
    width = _width(spread.spread_g, spread.expanded_g, spread.limit_g, rounding, firm=firm)
    if firm:
        ceiling = spread.limit_g + (spread.expanded_g if spread.verdict != "inside" else -spread.expanded_g)
        rounding = max(0.0, ceiling - width)
    members = tuple(_member(job, spread, name, weighed) for name in spread.members)
    return _Window(spread, width, rounding, firm, members)


def _rounding(job: Job, weighed: Mapping[str, float]) -> float:
    """What the rounding of the readings to come may add to a spread."""
    return job.scale.resolution_g * sum(weight for kind, weight in weighed.items() if _rounds(job, kind))


def _width(spread_g: float, expanded_g: float, limit_g: float, rounding_g: float, *, firm: bool) -> float:
    width = max(0.0, limit_g - expanded_g - rounding_g)
    return max(width, spread_g) if firm else width


def _rounds(job: Job, kind: str) -> bool:
    """Whether cuts leave readings of a kind between the scale's steps: the ends of a rod do, by the levers, and
    so does a pad that is known not to give just what it is asked for; a part that reads on a step and is cut by
    steps does not."""
    step_g = job.scale.resolution_g
    if kind in weighed_by("rod"):
        return any(pad.at_mm is not None and pad.most_g >= step_g for pad in job.pads)
    readings = [parts[kind].mean_g for parts in job.parts.values() if kind in parts]
    cuttable = any(pad.kind == kind and pad.most_g >= step_g for pad in job.pads)
    if cuttable and job.ground and kind in job.ground.responses:
        return True
    return cuttable and any(abs(reading - to_step(reading, step_g)) > SOLVER_DUST_G for reading in readings)


def _member(job: Job, spread: Spread, name: str, weighed: Mapping[str, float]) -> _Member:
    cylinders = _cylinders_of(job, spread, name)
    counts = {(c, k): weight for c in cylinders for k, weight in weighed.items() if k in job.parts[c]}
    read_g = math.fsum(weight * job.parts[c][k].mean_g for (c, k), weight in counts.items())
    now_g = spread.members[name].value_g
    return _Member(name, now_g, now_g - read_g, _effects(job, weighed, cylinders), counts)


def counted(job: Job, quantity: str) -> dict[str, float]:
    """How much a gram of each kind counts in a quantity."""
    if quantity != "bobweight":
        return dict.fromkeys(SUMS[quantity], 1.0)
    return dict.fromkeys(SUMS["rotating"], 1.0) | dict.fromkeys(SUMS["reciprocating"], job.share)


def _cylinders_of(job: Job, spread: Spread, member: str) -> tuple[int, ...]:
    if spread.quantity != "bobweight":
        return (int(member),)
    return next(job.layout.cylinders_on(throw) for throw in job.layout.throws if throw.name == member)


def _effects(job: Job, weights: Mapping[str, float], cylinders: Sequence[int]) -> dict[tuple[int, int], float]:
    effects = {}
    for cylinder, (index, pad) in itertools.product(cylinders, enumerate(job.pads)):
        lowered = _lowered(job, pad, 1.0)
        effect = math.fsum(weights.get(kind, 0.0) * grams for kind, grams in lowered.items())
        if effect:
            effects[cylinder, index] = effect
    return effects


def reach_of_a_gram(job: Job, quantity: str) -> dict[str, float]:
    """By how much one gram at the best pad lowers, and at the best raises, a member of a quantity; 0 where no pad
    does. [g]"""
    effects = _effects(job, counted(job, quantity), list(job.parts))
    given = [effect for place, effect in effects.items() if _most(job, *place) > 0]
    return {"lowers": max(0.0, *given, 0.0), "raises": max(0.0, *(-effect for effect in given), 0.0)}


def _lowered(job: Job, pad: Pad, grams: float) -> dict[str, float]:
    """How much each reading falls when grams are asked for at a pad: as it gave before, else by statics."""
    if job.ground and (learned := job.ground.responses.get(pad.kind)):
        return {kind: fall * grams for kind, fall in learned.per_gram.items()}
    levers = falls_of_a_gram(pad.kind, pad.at_mm, job.engine.rod_length_mm)
    return {kind: fall * grams for kind, fall in levers.items()}


class _Programme:
    """The linear programme of one job: built once, solved as the parts are, and once more for every part that
    is tried as if it could be anything."""

    def __init__(self, job: Job, windows: Sequence[_Window], suspects: Sequence[tuple[int, str]]) -> None:
        self._solver = Programme()
        places = itertools.product(job.parts, range(len(job.pads)))
        self._cuts = {p: self._solver.column(1.0, most) for p in places if (most := _most(job, *p)) > 0}
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

    def _fit(self, member: _Member, width_g: float, bottom: int, excess: int) -> None:
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

    def solve(self, free: tuple[int, str] | None = None) -> _Target:
        """The best target. free names a part (cylinder, part) whose readings may be anything, as if the best
        possible one were put in its place."""
        freed = [self._changes[free[0], kind] for kind in weighed_by(free[1])] if free else []
        for column in freed:
            self._solver.hold_column(column, -UNBOUNDED, UNBOUNDED)
        self._run()
        values = self._solver.values
        for column in freed:
            self._solver.hold_column(column, 0.0, 0.0)
        return _Target(
            grams={place: values[column] for place, column in self._cuts.items()},
            bottoms=tuple(values[column] for column in self._bottoms),
            excess=tuple(values[column] for column in self._excess),
            change_g={kind: values[self._changes[free[0], kind]] for kind in weighed_by(free[1])} if free else {},
        )


class Reseated:
    """The least metal of one job for other ways to seat its parts: the programme stands, only the masses in it
    change. For jobs of which every part has readings of its own and none was ground."""

    def __init__(self, job: Job, before: Sequence[Spread]) -> None:
        self.limited = [spread for spread in before if spread.limit_g is not None]
        self._roundings = [_rounding(job, counted(job, spread.quantity)) for spread in self.limited]
        self._programme = _Programme(job, [_window(job, spread) for spread in self.limited], [])

    def least_metal(self, masses_g: Mapping[str, Sequence[float]]) -> float:
        """The cost of least_metal, with these masses of the cylinders, or throws, in each limited quantity."""
        any_outside = False
        for position, (spread, rounding) in enumerate(zip(self.limited, self._roundings, strict=True)):
            assert spread.limit_g is not None
            now_g = masses_g[spread.quantity]
            spread_g = max(now_g) - min(now_g)
            firm = verdict(spread_g, spread.expanded_g, spread.limit_g) != "outside"
            width = _width(spread_g, spread.expanded_g, spread.limit_g, rounding, firm=firm)
            self._programme.refit(position, now_g, width, firm=firm)
            any_outside |= not firm
        return self._programme.cost() if any_outside else 0.0


def _grams(parts: Sequence[PartTrim]) -> float:
    return tidy(math.fsum(cut.grams for part in parts for cut in part.cuts))


def _best_swap(
    job: Job, programme: _Programme, suspects: Sequence[tuple[int, str]], target: _Target, planned_g: float
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


def _suspects(job: Job, windows: Sequence[_Window]) -> list[tuple[int, str]]:
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


def _most(job: Job, cylinder: int, pad: int) -> float:
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


def _in_steps(job: Job, windows: Sequence[_Window], target: _Target) -> dict[tuple[int, int], float]:
    """Each cut as a whole number of the scale's steps, cylinder by cylinder, so that what the scale will
    show stays in the windows; among those that do, the least grams."""
    taken: dict[tuple[int, int], float] = {}
    shown = {(c, kind): reading.mean_g for c, parts in job.parts.items() for kind, reading in parts.items()}
    for (cylinder, pad), grams in target.grams.items():
        for kind, loss in _lowered(job, job.pads[pad], grams).items():
            shown[cylinder, kind] -= loss
    for cylinder in job.parts:
        wanted = {i: target.grams[c, i] for c, i in target.grams if c == cylinder}
        wanted = {i: grams for i, grams in wanted.items() if grams > SOLVER_DUST_G}
        if wanted:
            frames = _frames(cylinder, windows, target, shown)
            best = _best_steps(job, cylinder, wanted, frames, reach=0)
            if best.beyond > 0:
                wider = _best_steps(job, cylinder, wanted, frames, reach=1)
                best = min(best, wider, key=lambda steps: steps[:3])
            taken |= {(cylinder, i): grams for i, grams in best.cuts.items() if grams > 0}
            shown |= {(cylinder, kind): value for kind, value in best.readings.items()}
    return taken


class _Frame(NamedTuple):
    """One member of one window as one cylinder sees it: its bounds less what other cylinders bring to it, and
    what a gram of each of this cylinder's kinds counts in it."""

    low_g: float
    high_g: float
    firm: bool
    weights: Mapping[str, float]


class _Steps(NamedTuple):
    """Cuts of one cylinder in whole steps, in the order of preference: how far firm windows are left, then the
    others, in steps; then the grams. Then what the scale will show, and the cuts."""

    firm_beyond: float
    soft_beyond: float
    grams: float
    readings: dict[str, float]
    cuts: dict[int, float]

    @property
    def beyond(self) -> float:
        return self.firm_beyond + self.soft_beyond


def _frames(
    cylinder: int,
    windows: Sequence[_Window],
    target: _Target,
    shown: Mapping[tuple[int, str], float],
) -> list[_Frame]:
    frames = []
    for window, bottom, over in zip(windows, target.bottoms, target.excess, strict=True):
        for member in window.members:
            own = {kind: weight for (c, kind), weight in member.weights.items() if c == cylinder}
            if not own:
                continue
            others = math.fsum(w * shown[place] for place, w in member.weights.items() if place[0] != cylinder)
            low = bottom - window.rounding_g / 2 - others - member.unread_g
            frames.append(_Frame(low, low + window.width_g + over + window.rounding_g, window.firm, own))
    return frames


def _best_steps(
    job: Job,
    cylinder: int,
    wanted: Mapping[int, float],
    frames: Sequence[_Frame],
    reach: int,
) -> _Steps:
    """The best whole steps around the wanted grams, up to reach further than the two nearest; or no cut."""
    step = job.scale.resolution_g
    parts = {kind: reading.mean_g for kind, reading in job.parts[cylinder].items()}
    choices = [_nearby(grams, step, _most(job, cylinder, i), reach) for i, grams in wanted.items()]
    tried = []
    for grams in (*itertools.product(*choices), *_on_the_grid(job, cylinder, wanted), (0.0,) * len(wanted)):
        cuts = dict(zip(wanted, grams, strict=True))
        readings = dict(parts)
        for i, taken in cuts.items():
            for kind, loss in _lowered(job, job.pads[i], taken).items():
                readings[kind] -= loss
        readings = {k: v if v == parts[k] else to_step(v, step) for k, v in readings.items()}
        beyond = {True: 0.0, False: 0.0}
        for frame in frames:
            value = math.fsum(w * readings[kind] for kind, w in frame.weights.items() if kind in readings)
            beyond[frame.firm] += max(0.0, frame.low_g - value, value - frame.high_g)
        # Beyond by less than a hundredth of a step is the programme's own rounding.
        firm, soft = (round(beyond[key] / step, 2) for key in (True, False))
        tried.append(_Steps(firm, soft, tidy(math.fsum(grams)), readings, cuts))
    return min(tried, key=lambda steps: steps[:3])


def _on_the_grid(job: Job, cylinder: int, wanted: Mapping[int, float]) -> list[tuple[float, ...]]:
    """The pair of cuts whose readings come nearest to the steps of the scale: the two equations solved for the
    readings that the wanted cuts would leave, were the scale to show them."""
    pads = {job.pads[i].kind: i for i in wanted}
    if list(pads) != list(weighed_by("rod")):
        return []
    step = job.scale.resolution_g
    falls = dict.fromkeys(pads, 0.0)
    for i, grams in wanted.items():
        for kind, loss in _lowered(job, job.pads[i], grams).items():
            falls[kind] += loss
    reads = {kind: job.parts[cylinder][kind].mean_g for kind in pads}
    big_g, small_g = (reads[kind] - to_step(reads[kind] - falls[kind], step) for kind in pads)
    big, small = (tuple(_lowered(job, job.pads[i], 1.0).values()) for i in pads.values())
    pair = tuple(to_step(grams, step) for grams in solved(big_g, small_g, (big[0], big[1]), (small[0], small[1])))
    fits = all(0 <= grams <= _most(job, cylinder, i) for grams, i in zip(pair, pads.values(), strict=True))
    return [pair] if fits else []


def _nearby(grams: float, step: float, most_g: float, reach: int) -> list[float]:
    floor = math.floor(grams / step + 1e-6)
    values = (tidy(k * step) for k in range(floor - reach, floor + 2 + reach))
    return [value for value in values if 0 <= value <= most_g + 1e-9]


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
                loss = math.fsum(_lowered(job, cut.pad, cut.grams)[kind] for cut in own)
                expected[kind] = to_step(job.parts[cylinder][kind].mean_g - loss, step)
            found.append(PartTrim(cylinder, part, tuple(own), expected))
    return tuple(found)


def _shortfalls(
    job: Job, windows: Sequence[_Window], parts: Sequence[PartTrim], after: Sequence[Spread]
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
        room = (_most(job, c, i) - taken.get((c, job.pads[i].kind), 0.0) for c, i in lowering)
        enough_g = tidy(math.ceil((left.spread_g + left.expanded_g) / step_g) * step_g)
        found.append(Shortfall(left, left.limit_g, enough_g, spent=max(room, default=0.0) < step_g))
    return tuple(found)
