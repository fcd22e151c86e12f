"""A session at the grinder: the parts of the trim plan, in its order, each weighed until it is at its target.

What a hand is told to take is a cut in the log before it is told: if the power goes between the cut and the
weight, the part waits to be weighed, and nobody takes the same metal twice. The targets stay those of the plan
that was told at the start. Where a part went below its own by more than the scale can tell, the rest is planned
anew. So are the part itself and the rest where it is done but a step off, as a scale that rounds may show it, and
a limit that the plan keeps would be left too close to call. What may come out the lightest of all goes first: the
others can still follow it down.
"""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.parts import SUMS, UNIT_OF, weighed_by
from truethrow.balance.base.readings import COVERAGE_FACTOR, allowed_range_g, tidy
from truethrow.balance.job.grinding import BELIEVED, PLACE_DOUBT, open_parts
from truethrow.balance.job.job import own_readings
from truethrow.balance.job.levers import falls_of_a_gram
from truethrow.balance.log.records import Cut, Struck, Traded, Weighed
from truethrow.balance.weighing.benchjob import BenchJob, WeighStep
from truethrow.balance.weighing.flags import Flag, is_before_or_after_cut, last_grind
from truethrow.balance.weighing.session import Refused, Session, Taken
from truethrow.balance.weighing.standing import Sister, mean_of, reading_of
from truethrow.balance.weighing.touches import ToGo, Touch, Visit

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from truethrow.balance.job.grinding import Ground, PadResponse
    from truethrow.balance.job.pads import Pad
    from truethrow.balance.log.log import Log
    from truethrow.balance.log.place import Place
    from truethrow.balance.result.spread import Spread
    from truethrow.balance.result.trim import PartTrim, TrimPlan
    from truethrow.balance.result.work import Result

NOT_GROUND = "nothing came off: it weighs what it did"
NOT_TOUCHED = "not touched: it still lay on the scale"
NANOGRAM = 1e-9


class NewTarget(NamedTuple):
    """A reading that a part is to be ground to, as it was planned and as it is now; None where it is not to be
    ground. [g]"""

    cylinder: int
    kind: str
    before_g: float | None
    now_g: float | None


class Below(NamedTuple):
    """A part that went below its target by more than the scale can tell, and what that does. result: the job
    worked anew with the plan for the rest, None where nothing may be ground; changed: the targets of other parts
    that are others now."""

    cylinder: int
    part: str
    below_g: float
    result: Result | None
    changed: tuple[NewTarget, ...]

    @property
    def spreads(self) -> tuple[Spread, ...]:
        """The limited spreads that the part counts in, as they come out once the rest is ground by the plan."""
        if self.result is None:
            return ()
        plan, kinds = self.result.trim, set(weighed_by(self.part))
        return tuple(
            spread
            for spread in (plan.after if plan and plan.after else self.result.spreads)
            if spread.limit_g is not None
            and (spread.quantity == "bobweight" or kinds & set(SUMS.get(spread.quantity, ())))
        )


class Finished(NamedTuple):
    """A part that is at its target, as near as the scale can tell; what each of its readings is, and was to be.
    is_above: it is not, but has given all that the plan takes off it."""

    cylinder: int
    part: str
    reads_g: dict[str, float]
    targets_g: dict[str, float]
    is_above: bool = False


class GrindSession(Session):
    """A session that brings the parts of the trim plan to their targets. visit: the part at the grinder; todo:
    those that are still to come; news: what the last reading settled; ground_g: how much lighter the part was than
    when it was weighed last, so that it was ground before; held: why nothing may be ground; is_newly_held: since
    the last reading;
    lies_there: told by whoever sees the scale: the part was not lifted since its last reading.

    Raises BadInput where nothing may be ground at the start."""

    goes_by_part = True

    def __init__(self, job: BenchJob, log: Log, place: Place) -> None:
        self._place = place
        self.visit: Visit | None = None
        self.todo: list[PartTrim] = []
        self.finished: list[tuple[str, int]] = []
        self.news: Below | Finished | None = None
        self.ground_g = 0.0
        self.held: BadInput | None = None
        self.is_newly_held = False
        self._cut: Cut | None = None
        self._first: list[WeighStep] = []
        self.lies_there = False
        self._is_stale = False
        self._asked_g = 0.0
        self._ground: Ground | None = None
        self._promised: frozenset[str] | None = None
        self._responses: Mapping[str, PadResponse] | None = None
        self._left_at: tuple[str, int, dict[str, float]] | None = None
        super().__init__(job, log)
        self._begin()
        if self.held:
            raise self.held

    # What is on the bench

    @property
    def step(self) -> WeighStep | None:
        opening = next((s for s in self._checks("start") if not self._has(s)), None)
        if opening is not None:
            return opening
        if self._first:
            return self._first[0]
        if self.visit is not None:
            return WeighStep(self.visit.cylinder, self.visit.wanted)
        return None if self.held else next((s for s in self._checks("end") if not self._has(s)), None)

    def sisters(self, kind: str) -> list[Sister]:
        """The part at the grinder among them by what it reads by now: that it is to be touched again does not make
        its last reading less true."""
        found = {sister.cylinder: sister for sister in super().sisters(kind)}
        if self.visit is not None and kind in self.visit.known_g:
            found[self.visit.cylinder] = Sister(self.visit.cylinder, self.visit.known_g[kind], 1)
        return [found[cylinder] for cylinder in sorted(found)]

    @property
    def is_over(self) -> bool:
        """Whether nothing is left to grind."""
        return self.visit is None and not self._first and self.held is None

    @property
    def done(self) -> int:
        return len(self.finished)

    @property
    def total(self) -> int:
        """How many parts are ground in this session: done, at the grinder, and to come."""
        return len(self.finished) + len(self.todo) + (self.visit is not None)

    def to_go(self, grams: float) -> ToGo | None:
        """What would be left on the part at hand if it weighed so much; None where none is at the grinder."""
        return self.visit.read(grams).to_go if self.visit is not None and self._is_at_work else None

    @property
    def at_hand(self) -> ToGo | None:
        """What is left on the part at the grinder by its last reading; None where it was not weighed yet."""
        visit = self.visit if not self._first else None
        return visit.untouched().to_go if visit is not None and visit.weighed else None

    @property
    def told(self) -> Cut | None:
        """The cut that the hand was told to make, until the part is weighed after it."""
        return self._cut

    def suspect(self, grams: float) -> tuple[Flag, ...]:
        if self.visit is None or not self._is_at_work:
            return super().suspect(grams)
        if not self.is_another_part(grams):
            return ()
        known_g = self.visit.known_g[self.visit.wanted]
        return (Flag("grinder", abs(grams - known_g), is_above=grams > known_g, against_g=known_g),)

    def is_another_part(self, grams: float) -> bool:
        """Whether a reading cannot be of the part at the grinder: nothing makes it heavier, and no touch takes so
        much more than was meant."""
        if self.visit is None or not self._is_at_work:
            return super().is_another_part(grams)
        slack_g = self._slack_g(self.visit)
        most_g = self._most_of_a_touch_g(self.visit)
        return not -slack_g - 1e-9 <= self._fell_g(self.visit, grams) <= most_g + slack_g + 1e-9

    def refusal(self, grams: float) -> str:
        """As is_another_part; but a part that is lighter than it was, and not lighter than it is to become, may
        have been ground before it came to the scale. After a cut that was not weighed, what was meant tells."""
        step, visit = self.step, self.visit
        if step is None or step.is_check or not self._cannot_be(step, visit, grams):
            return ""
        last_g = visit.known_g[visit.wanted] if visit is not None and self._is_at_work else None
        who, named = self.now.names.said(step.kind, step.cylinder), self.now.names.typed(step.kind, step.cylinder)
        read = "" if last_g is None else f", which read {self._g(last_g)} last"
        return (
            f"{self._g(grams)} can't be {who}{read}: put that one on; if it is the one, weigh it anew: "
            f"truethrow weigh {self.job.name}, then type go {named}"
        )

    def _cannot_be(self, step: WeighStep, visit: Visit | None, grams: float) -> bool:
        if visit is None or not self._is_at_work:
            can_be = is_before_or_after_cut(self.now, step, grams)
            return not can_be if can_be is not None else super().is_another_part(grams)
        slack_g, fell_g = self._slack_g(visit), self._fell_g(visit, grams)
        most_g = self._most_of_a_touch_g(visit)
        if visit.touch is None and visit.wanted in visit.pads:
            most_g = max(0.0, tidy(visit.known_g[visit.wanted] - visit.targets_g[visit.wanted]))
        return not -slack_g - 1e-9 <= fell_g <= most_g + slack_g + 1e-9

    def _slack_g(self, visit: Visit) -> float:
        """How far a reading may be off what the part reads by now, by the scale and what is not known of a pad."""
        slack_g = allowed_range_g(2, self.job.scale, visit.wanted)
        if visit.part == "rod":  # by the lever, and nobody knows just where a pad lies
            meant_g = visit.touch.aim_g if visit.touch else self._asked_g
            slack_g += COVERAGE_FACTOR * PLACE_DOUBT * BELIEVED[1] * meant_g
        return slack_g

    def _most_of_a_touch_g(self, visit: Visit) -> float:
        """The most that the touch under way can have taken off what is to be read."""
        touch = visit.touch
        return BELIEVED[1] * touch.aim_g * visit.levers[touch.pad][visit.wanted] if touch else 0.0

    @staticmethod
    def _fell_g(visit: Visit, grams: float) -> float:
        return tidy(visit.known_g[visit.wanted] - grams)

    # What the machinist does

    def take(self, typed: str, key: str | None = None) -> Taken:
        """As Session.take; then the next touch is in the log, or the part is done. Raises Refused for what cannot
        be the part at the grinder, too."""
        step, self.news, self.ground_g, was_held = self.step, None, 0.0, self.held is not None
        at_work = self._is_at_work
        if step and not step.is_check:
            grams = self._grams(typed, step)
            if why := self.refusal(grams):
                raise Refused(why)
            if at_work and self._cannot_have_fallen(grams):
                self.withdraw(NOT_GROUND)
            if at_work:
                self._was_ground_before(grams)
        taken = super().take(typed, key)
        if at_work and self.visit is not None:
            self._after(self.visit.read(taken.record.grams))
        elif step in self._first:
            self._first.remove(step)
            self._withdraw_if_untouched(step)
            if not self._first:
                self._begin()
                if self.visit is not None and self.step == step:  # it lies there, weighed just now
                    self._after(self.visit.read(taken.record.grams))
        self.is_newly_held = self.held is not None and not was_held
        self._offer()
        return taken

    def _was_ground_before(self, grams: float) -> None:
        """A part that is lighter than when it was weighed last has lost metal since: that is a cut as well, in the
        log before the reading, which else were a second one of a part that it is not any more."""
        visit = self.visit
        if visit is None or visit.touch is not None or visit.wanted not in visit.pads:
            return
        pad, fell_g = visit.wanted, self._fell_g(visit, grams)
        if fell_g <= self._slack_g(visit) + 1e-9:
            return
        cut = Cut(visit.cylinder, pad, tidy(round(fell_g / visit.levers[pad][pad], 6)))
        self._cut = self.log.append(cut, unless=self._refuse_if_moved)
        self.visit, self.ground_g = visit._replace(touch=Touch(pad, cut.grams, visit.known_g[pad])), fell_g

    def withdraw(self, why: str = NOT_TOUCHED) -> None:
        """Cancel the cut that was told last, where it is sure that nothing was taken. Raises NotSaved."""
        if self._cut is not None and self.visit is not None:
            self.log.append(Struck(self._cut.id, why=why))
            self._cut, self.visit = None, self.visit.untouched()

    def _withdraw_if_untouched(self, step: WeighStep) -> None:
        """Cancel what was told last of a part before the session ended, once all of it reads as it did before,
        although so much was to be taken that the scale would tell."""
        part = UNIT_OF.get(step.kind, step.kind)
        if any((one.cylinder, UNIT_OF.get(one.kind, one.kind)) == (step.cylinder, part) for one in self._first):
            return
        for grind in last_grind(self.now, step):
            tell_g = {kind: self._tell_g(kind) for kind in grind.falls_g}
            stayed = bool(tell_g) and all(abs(fall) <= tell_g[kind] for kind, fall in grind.falls_g.items())
            least_g = {pad: BELIEVED[0] * grams * grind.levers[pad][pad] for pad, grams in grind.asked_g.items()}
            if stayed and any(tell_g[pad] < fall_g - tell_g[pad] for pad, fall_g in least_g.items()):
                for cut in self._cuts_before_the_reading(step.cylinder, part):
                    self.log.append(Struck(cut.id, why=NOT_GROUND))

    def _cuts_before_the_reading(self, cylinder: int, part: str) -> list[Cut]:
        """The cuts of a part that its last reading came after, back to the reading before them."""
        own = [
            one
            for one in self.now.replay.placed
            if one.cylinder == cylinder and isinstance(one, Cut | Weighed) and one.kind in weighed_by(part)
        ]
        until = max((at for at, one in enumerate(own) if isinstance(one, Cut)), default=-1) + 1
        cuts: list[Cut] = []
        for one in reversed(own[:until]):
            if not isinstance(one, Cut):
                break
            cuts.append(one)
        return cuts

    def go(self, cylinder: int, kind: str) -> None:
        """Take another part of the plan to the grinder first; the one that is there comes again at the end."""
        part = UNIT_OF.get(kind, kind), cylinder
        if self.visit is not None and (self.visit.part, self.visit.cylinder) == part:
            return
        chosen = next((one for one in self.todo if (one.part, one.cylinder) == part), None)
        if chosen is None:
            raise Refused(f"nothing is to be taken off {self.now.names.said(*part)}")
        self.todo.remove(chosen)
        self._leave()
        self._visit(chosen)

    def skip(self, key: str | None = None) -> None:
        """Leave the part at the grinder for the end; what came off it so far is in the log, and no record more."""
        if self.visit is None or not self.todo:
            raise Refused("there is no other part to grind")
        self._leave()
        self._visit(self.todo.pop(0))

    def back(self) -> None:
        raise Refused("what is ground stays ground; x cancels a reading, g takes another part")

    def again(self) -> None:
        raise Refused("lift it off and put it on again: it is weighed once more")

    def refreshed(self, move: bool = True) -> list[Weighed]:
        """Take in what other benches did: what they weighed, cut or moved changes the plan for the rest."""
        fresh = self.log.refresh()
        self._is_stale |= any(isinstance(record, Cut | Weighed | Struck | Traded) for record in fresh)
        if self._is_stale and move and (self.visit is None or self.visit.touch is None):
            self._begin()
        return []

    # Inside

    @property
    def _is_at_work(self) -> bool:
        """Whether what is asked for is the part at the grinder."""
        step = self.step
        return self.visit is not None and not self._first and step is not None and not step.is_check

    def _leave(self) -> None:
        if self.lies_there:
            self.withdraw()

    def _checks(self, when: str) -> list[WeighStep]:
        return [step for step in self.steps if step.is_check and step.when == when]

    def _forward(self, wrap: bool = True) -> None:
        """What comes next is not the next of a list."""
        self._offer()

    def _can_be_struck(self) -> dict[str, Weighed]:
        """Also a reading that a touch has made history: it was the last one that was taken."""
        own = (one for one in self.log.records if one.id in self._own and isinstance(one, Weighed))
        return {one.id: one for one in own if self.counts(one)}

    def _asked_again(self, struck: Weighed) -> None:
        """Its part waits to be weighed, and then what is left is planned anew."""
        self._begin()

    def _tell_g(self, kind: str) -> float:
        """What the scale can tell of a reading: a step at least. [g]"""
        standard_g = self.now.certainty().standard_g(reading_of(0, kind, (0.0,)))
        return max(self.job.scale.resolution_g, COVERAGE_FACTOR * standard_g)

    def _cannot_have_fallen(self, grams: float) -> bool:
        """Whether a part weighs what it did, although so much was to be taken that the scale would tell."""
        if self.visit is None or (touch := self.visit.touch) is None:
            return False
        tell_g = self._tell_g(touch.pad)
        least_g = BELIEVED[0] * touch.aim_g * self.visit.levers[touch.pad][touch.pad]
        return touch.before_g - grams <= tell_g < least_g - tell_g

    def _begin(self, done: frozenset[tuple[str, int]] = frozenset()) -> Result | None:
        """What is to be done by what the log says now: weigh what was cut and not weighed since, or what is not
        believed; then the plan, and the job as it was planned. done: parts that are not to come again, if the
        limits can be kept without."""
        self.visit, self.todo, self._cut, self._is_stale, self.held = None, [], None, False, None
        now = self.now
        waiting = sorted(open_parts(now.replay.placed), key=lambda part: part[1])
        self._first = [
            step
            for part, cylinder in waiting
            for step in (WeighStep(cylinder, kind) for kind in weighed_by(part))
            if not now.of(step)
        ]
        planned = None
        if not self._first:
            try:
                planned = self._plan(done)
            except BadInput as held:
                self.held = held
        self._offer()
        return planned

    def _plan(self, done: frozenset[tuple[str, int]]) -> Result:
        """Plan by the readings as they are; the first part of the plan comes to the grinder. Raises BadInput where
        nothing may be ground."""
        from truethrow.balance.result import match_first  # noqa: PLC0415 (needs all of the house)
        from truethrow.balance.result.doubts import faults  # noqa: PLC0415 (needs all of the house)
        from truethrow.balance.result.work import work  # noqa: PLC0415 (needs all of the house)

        job = own_readings(self._place)
        if self._responses is None:
            self._responses = job.ground.responses if job.ground else {}
        if job.ground:
            # Each touch is measured, so what a hand took of what it meant is no more to be reckoned with.
            job = dataclasses.replace(job, ground=job.ground._replace(responses=self._responses))
        result = dataclasses.replace(work(job), promised=self._promised or frozenset(), done=done)
        self._ground = result.job.ground
        if wrong := faults(result) or match_first.faults(result.job, self.log.records):
            raise BadInput(wrong, self.log.name)
        again = result.job.ground.again if result.job.ground else ()
        self._first = [WeighStep(grind.cylinder, kind) for grind in again for kind in weighed_by(grind.part)]
        if done and result.trim is not None and not self._keeps(result.trim.after):
            result = dataclasses.replace(result, done=frozenset())
        if self._promised is None and result.trim is not None:
            self._promised = frozenset(s.quantity for s in result.trim.after if s.verdict == "inside")
        if result.trim is not None and result.trim.parts and not self._first:
            first, *self.todo = _lightest_first(result, result.trim)
            self._visit(first)
        return result

    def _visit(self, part: PartTrim) -> None:
        """Bring a part to the grinder."""
        length_mm = self.job.engine.declared_rod_length_mm
        asked = {cut.pad.kind: cut for cut in part.cuts}
        self._asked_g = tidy(math.fsum(cut.grams for cut in part.cuts))
        self._cut = None
        rooms = {pad: self._room_g(part.cylinder, cut.pad) for pad, cut in asked.items()}
        self.visit = Visit(
            part.part,
            part.cylinder,
            tuple(asked),
            dict(part.expected_g),
            {pad: falls_of_a_gram(pad, cut.pad.at_mm, length_mm) for pad, cut in asked.items()},
            {kind: self._reads_g(WeighStep(part.cylinder, kind)) for kind in part.expected_g},
            self.job.scale.resolution_g,
            plan_g=self._asked_g,
            room_g=rooms,
        )
        self._offer()

    def _room_g(self, cylinder: int, pad: Pad) -> float:
        """What a pad of a part may still give: [trim], less what came off there before. [g]"""
        return self._ground.room_g(cylinder, pad) if self._ground else pad.most_g

    def _reads_g(self, step: WeighStep) -> float:
        if own := self.now.of(step):
            return mean_of(own)
        older = self.now.older(step)
        assert older is not None, "a part of the plan has a reading"
        return older.mean_g

    def _after(self, visit: Visit) -> None:
        """What a reading settles: a touch more, the other end, the next part, or a plan anew."""
        to_go = visit.to_go
        if to_go.pad:
            # In the log before it is on the screen.
            cut = Cut(visit.cylinder, to_go.pad, to_go.aim_g)
            self._cut = self.log.append(cut, unless=self._refuse_if_moved)
            self.visit = visit.touched()
            return
        self.visit, self._cut = visit, None
        if to_go.other:
            return
        self.finished.append((visit.part, visit.cylinder))
        below_g = visit.below_g()
        if below_g > max(map(self._tell_g, visit.targets_g)) + 1e-9:
            self.news = self._went_below(visit, below_g)
            return
        is_above = -below_g > max(map(self._tell_g, visit.targets_g)) + 1e-9
        self.news = Finished(visit.cylinder, visit.part, dict(visit.known_g), dict(visit.targets_g), is_above)
        if self.todo and not self._is_stale and not is_above and self._comes_out(visit):
            self._visit(self.todo.pop(0))
        else:
            self._plan_the_rest(visit)

    def _comes_out(self, visit: Visit) -> bool:
        """Whether the limits are kept as the plan promised with a part as it reads now and the rest as planned."""
        from truethrow.balance.result.bobweight import bobweights  # noqa: PLC0415 (needs all of the house)
        from truethrow.balance.result.spread import spreads  # noqa: PLC0415 (needs all of the house)
        from truethrow.balance.result.trim import apply  # noqa: PLC0415 (needs all of the house)

        if all(abs(visit.known_g[kind] - target) < NANOGRAM for kind, target in visit.targets_g.items()):
            return True
        job = apply(own_readings(self._place), self.todo)
        return self._keeps(spreads(job, bobweights(job), job.certainty()))

    def _keeps(self, found: Iterable[Spread]) -> bool:
        """Whether spreads are inside that the plan promised to bring inside."""
        return all(spread.verdict == "inside" for spread in found if spread.quantity in (self._promised or ()))

    def _plan_the_rest(self, visit: Visit) -> None:
        """Plan what is still to be ground anew; a part that has to lose a little more for it stays at the
        grinder."""
        here, at = (visit.part, visit.cylinder), (visit.part, visit.cylinder, dict(visit.known_g))
        may_stay, self._left_at = at != self._left_at, at
        planned = self._begin(frozenset(self.finished) - ({here} if may_stay else set()))
        parts = _lightest_first(planned, planned.trim) if planned and planned.trim and not self._first else []
        own = next((part for part in parts if (part.part, part.cylinder) == here), None)
        if own is None or not may_stay:
            return
        parts.remove(own)
        self.finished.remove(here)
        self.news, self.todo = None, parts
        self._visit(own)
        if self.visit is not None:  # it lies there, both ends weighed just now
            self._after(self.visit._replace(weighed=frozenset(visit.targets_g), at=visit.at))

    def _went_below(self, visit: Visit, below_g: float) -> Below:
        """Plan the rest anew."""
        before = {(one.cylinder, kind): grams for one in self.todo for kind, grams in one.expected_g.items()}
        planned = self._begin()
        parts = planned.trim.parts if planned and planned.trim else ()
        after = {(one.cylinder, kind): grams for one in parts for kind, grams in one.expected_g.items()}
        changed = tuple(
            NewTarget(*place, before.get(place), after.get(place))
            for place in sorted({*before, *after})
            if before.get(place) != after.get(place)
        )
        return Below(visit.cylinder, visit.part, below_g, planned, changed)


def _lightest_first(result: Result, plan: TrimPlan) -> list[PartTrim]:
    """The parts of a plan in its order; but first those that make a member of a limited spread the lightest one
    where the scale shows a step less of them than was reckoned, and of these those that are nowhere the heaviest
    where it shows a step more."""
    from truethrow.balance.result.least_metal import counted, cylinders_of  # noqa: PLC0415 (start-up)

    job, step_g = result.job, result.job.scale.resolution_g
    limited = [spread for spread in plan.after if spread.limit_g is not None]

    def is_at(part: PartTrim, spread: Spread, end: str) -> bool:
        counts = counted(job, spread.quantity)
        reach_g = step_g * math.fsum(counts.get(kind, 0.0) for kind in part.expected_g)
        own = next((m for m in spread.members if part.cylinder in cylinders_of(job, spread, m)), None)
        if not reach_g or own is None:
            return False
        return abs(spread.members[own].value_g - spread.members[end].value_g) < reach_g - NANOGRAM

    def order(part: PartTrim) -> tuple[bool, bool]:
        is_lightest = any(is_at(part, spread, spread.lightest) for spread in limited)
        return not is_lightest, any(is_at(part, spread, spread.heaviest) for spread in limited)

    return sorted(plan.parts, key=order)
