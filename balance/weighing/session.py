"""A weighing session: what comes next, and what was taken. No screen, no port.

Its state is the replay of the log and a place in the list of steps; every acceptance goes to the log first and
counts only when the log has it on the disk.
"""

from __future__ import annotations

import contextlib
from typing import NamedTuple

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.fields import MOST_REPEATS, reading_allowed, reading_g
from truethrow.balance.base.parts import BY_NAME, KINDS, label
from truethrow.balance.base.readings import agrees
from truethrow.balance.base.units import MASS, NotAQuantity, parse, unit_of
from truethrow.balance.job.logged import odd_moves_and_cuts
from truethrow.balance.log.log import Log
from truethrow.balance.log.records import Record, ReferenceRead, Skipped, Struck, Weighed, ZeroRead
from truethrow.balance.weighing import flags
from truethrow.balance.weighing.belongs import Doubt, alone, doubt
from truethrow.balance.weighing.benchjob import BenchJob, WeighStep
from truethrow.balance.weighing.flags import Flag
from truethrow.balance.weighing.scaleline import ZERO_STEPS
from truethrow.balance.weighing.standing import Sister, Standing

LONGEST_TYPED = 60
LONGEST_REASON = 300
# The kind of a record of zero that the scale showed between two loads, beside those at the start and the end.
SEEN = "seen"
# Why the reading before one that was typed again is canceled, and one that none of its set agrees with.
WEIGHED_OVER = "weighed over after going back"
WEIGHED_ANEW = "none of its set agreed with it, and weighed again it read otherwise"


class Taken(NamedTuple):
    """A reading that is on the disk, what looks wrong with it, and what does with the scale; alone: parts of
    which it shows that they are none of their set."""

    record: Weighed | ZeroRead | ReferenceRead
    flags: tuple[Flag, ...]
    checks: tuple[Check, ...] = ()
    alone: tuple[WeighStep, ...] = ()


class Check(NamedTuple):
    """A check of the scale itself: which (zero, reference), when (start, end, or seen between loads), what it
    reads, None for what it drifted from start to end, and how far off that is. [g]"""

    kind: str
    when: str
    reads_g: float | None
    off_g: float


class Refused(ValueError):
    """A reading or a command that was not accepted; the message says why and what would do."""


class Session:
    """One bench at work on one job. Nothing of it is kept but the log. steps: what is to be weighed, in order;
    goes_by_part: whether one goes to a whole rod, and not to its ends; raises BadInput for a log with trades or
    cuts that this engine cannot have."""

    goes_by_part = False

    def __init__(self, job: BenchJob, log: Log) -> None:
        self.job = job
        self.log = log
        self._own: set[str] = set()
        self._zero_g: float | None = None
        self._unzeroed = 0
        self._at = 0
        self._chosen = False
        self._replaced_id = ""
        self._trail: list[WeighStep] = []  # the steps that were read or left here, one after the other
        self._counted = -1
        self._alone: tuple[WeighStep, ...] = ()
        self.steps: tuple[WeighStep, ...] = ()
        self._part_offered = 0
        self._standing = self.now
        if odd := odd_moves_and_cuts(self._standing.replay, job.engine, ToldIn(job.shown_unit)):
            raise BadInput(odd, log.name)
        self._forward()

    # What is on the bench

    @property
    def step(self) -> WeighStep | None:
        """What to put on the scale now; None when all is done."""
        return self.steps[self._at] if self._at < len(self.steps) else None

    @property
    def now(self) -> Standing:
        """What stands of the parts, as far as the log is read."""
        if self._counted != len(self.log.records):
            self._standing = Standing(self.job, self.log.records, self.log.name)
            self._counted = len(self.log.records)
            self._alone = alone(self._standing)
            self._list_steps()
        return self._standing

    @property
    def done(self) -> int:
        return sum(self._has(step) for step in self.steps)

    def sisters(self, kind: str) -> list[Sister]:
        """The parts of a kind that are weighed."""
        return self.now.sisters(kind)

    @property
    def total(self) -> int:
        """How many steps there are to do."""
        return len(self.steps)

    @property
    def last(self) -> Weighed | None:
        """The last reading that this session took and that still stands."""
        standing = self._can_be_struck()
        mine = (standing[r.id] for r in reversed(self.log.records) if r.id in standing and r.id in self._own)
        return next(mine, None)

    def took(self, record: Weighed) -> bool:
        """Whether this session took a reading."""
        return record.id in self._own

    def target(self) -> Weighed | None:
        """What a strike without a key strikes out: the last reading of a part that was gone to, else the last of
        this session."""
        if self._chosen and self.step is not None:
            found = self.now.of(self.step)
            if found:
                return found[-1]
        return self.last

    @property
    def replaces(self) -> Weighed | None:
        """The reading in whose place the next one comes: after back the last one of the part, as long as no repeat
        is asked for."""
        own = self.now.of(self.step) if self.step and self._replaced_id else ()
        return next((record for record in own if record.id == self._replaced_id), None)

    @property
    def alone(self) -> tuple[WeighStep, ...]:
        """The parts that were weighed once and are none of their set, as the others read: they are asked for again
        once the list is through, so that the loads to come stay in step with it."""
        return self._alone if self.now else ()

    def counts(self, record: Record) -> bool:
        """Whether a record is in the log and not canceled."""
        return not any(isinstance(one, Struck) and one.of == record.id for one in self.log.records)

    @property
    def key(self) -> str:
        """The id of the first record of this session, by which it is told from all others."""
        return next((record.id for record in self.log.records if record.id in self._own), "")

    @property
    def wrote_any(self) -> bool:
        """Whether this session has anything in the log."""
        return bool(self._own)

    def drift(self) -> list[Check]:
        """The checks of the scale beyond the limit: against the reference, and from the session's start to its
        end."""
        return [check for check in self.checks() if check.off_g > self.drift_limit_g + 1e-9]

    def missed_checks(self) -> list[WeighStep]:
        """The checks of the scale that were not made, for a session that ends now."""
        return [step for step in self.steps if step.is_check and not self._has(step)] if self._own else []

    @property
    def unzeroed(self) -> int:
        """How many readings were taken before anybody saw what the empty scale showed."""
        return self._unzeroed

    def checks(self) -> list[Check]:
        """Every check made, inside its limit or not; one that was made again by its last reading."""
        reads: dict[tuple[str, str], float] = {}
        for record in self.log.records:
            if record.id in self._own and isinstance(record, ZeroRead | ReferenceRead):
                place = record.action, record.when
                # Of what was seen between the loads, the farthest off counts.
                if record.when != SEEN or abs(record.grams) > abs(reads.get(place, 0.0)):
                    reads[place] = record.grams
        true = {"zero": 0.0, "reference": self.job.table.reference or 0.0}
        found = []
        for (action, when), grams in reads.items():
            off = abs(grams - true[action])
            found.append(Check(action, when, grams, off))
        for action in true:
            if (action, "start") in reads and (action, "end") in reads:
                moved = abs(reads[action, "end"] - reads[action, "start"])
                found.append(Check(action, "end", None, moved))
        return found

    @property
    def drift_limit_g(self) -> float:
        return self.job.table.drift_limit or 2 * self.job.scale.resolution_g

    # What the machinist does

    @property
    def zero_limit_g(self) -> float:
        """How far an empty scale may be off zero before it is to be tared: two of its steps or, if that is more,
        what makes all readings of one bobweight together a tenth of its limit. [g]"""
        limit_g = self.job.limits_g.get("bobweight", 0.0)
        layout = self.job.engine.layout
        kinds = sum(kind.name not in self.job.engine.without and kind.motion != "check" for kind in KINDS)
        most = max(len(layout.cylinders_on(throw)) for throw in layout.throws)
        return max(ZERO_STEPS * self.job.scale.resolution_g, 0.1 * limit_g / (kinds * most))

    def saw_zero(self, grams: float, typed: str) -> None:
        """Keep what the empty scale showed, where that has changed: the readings since then have it in their ±.
        Raises NotSaved."""
        if grams != self._zero_g:
            self._own.add(self.log.append(ZeroRead(SEEN, grams, typed)).id)
            self._zero_g = grams

    def take(self, typed: str, key: str | None = None) -> Taken:
        """Accept a reading for the step at hand and go on. typed: a number with or without a unit; key: an id
        of log.next_id, by who may have to try the same reading again. Whoever saw the empty scale before it has
        told by saw_zero.

        Raises Refused for what is no reading, and once where another part sits at the step by now than when it
        was offered; NotSaved when it did not reach the disk; nothing has moved then."""
        step = self.step
        if step is None:
            raise Refused("everything is weighed; go to a part to weigh it again")
        if len(typed) > LONGEST_TYPED:
            raise Refused("too long for a number")
        grams, typed = self._grams(typed, step), self._with_unit(typed)
        if step.kind == "zero" and step.when == "start" and abs(grams) > self.zero_limit_g + 1e-9:
            allowed = f"within {self._g(self.zero_limit_g)} of zero"
            raise Refused(
                f"the empty scale shows {self._g(grams)}: tare it, then read zero again; allowed: {allowed}"
            )
        found, lone = self.suspect(grams), self.alone
        if (before := self.replaces or self._outdone_by(grams)) is not None:
            # First, so that whatever fails from here on, the part is asked for again: never two that both count.
            why = WEIGHED_OVER if self.replaces else WEIGHED_ANEW
            self.log.append(Struck(before.id, why=why), unless=self._refuse_if_moved)
        made: Weighed | ZeroRead | ReferenceRead = Weighed(step.cylinder, step.kind, grams, typed)
        if step.is_check:
            made = (ZeroRead if step.kind == "zero" else ReferenceRead)(step.when, grams, typed)
        record = self.log.append(made, id=key, unless=self._refuse_if_odd)
        self._own.add(record.id)
        if step.kind == "zero":
            self._zero_g = grams
        elif not step.is_check and self._zero_g is None:
            self._unzeroed += 1
        self._trail.append(step)
        self._chosen, self._replaced_id = False, ""
        self._at += 1  # also from a part that is to be weighed again: at the end, not now
        self._forward()
        off = tuple(check for check in self.drift() if check.kind == step.kind) if step.is_check else ()
        return Taken(record, found, off, tuple(one for one in self.alone if one not in lone))

    def is_number(self, typed: str) -> bool:
        """Whether a text is a reading as a hand types it, or as a job file has it."""
        with contextlib.suppress(Refused):
            self._grams(typed, self.step or WeighStep(0, "zero"))
            return True
        return False

    def suspect(self, grams: float) -> tuple[Flag, ...]:
        """What would look wrong with a reading of the step at hand."""
        if self.step is None or self.step.is_check:
            return ()
        found = flags.suspect(self.now, self.step, grams)
        is_instead = self.replaces or self._outdone_by(grams)
        return tuple(one for one in found if one.what != "repeat") if is_instead else found

    def doubt(self, grams: float) -> Doubt | None:
        """Why a reading of the step at hand may be of another part; None where it is not held back."""
        return None if self.step is None or self.step.is_check else doubt(self.now, self.step, grams)

    def is_another_part(self, grams: float) -> bool:
        """Whether another part may lie there, so that somebody has to look."""
        return self.doubt(grams) is not None

    def refusal(self, grams: float) -> str:
        """Why a reading is not taken at all, whoever says so; empty where it is. A session that only weighs takes
        any."""
        return ""

    def strike(self, why: str, key: str = "", own: str | None = None) -> Struck:
        """Strike out a reading, the last one without a key, with a reason; its step is at hand again. own: the id
        of the record that says so, by who may have to try the same again."""
        if not why.strip():
            raise Refused("a reading is canceled with a reason")
        if len(why) > LONGEST_REASON:
            raise Refused(f"a reason has at most {LONGEST_REASON} characters")
        standing = self._can_be_struck()
        target = standing.get(key) if key else self.target()
        if target is None:
            raise Refused("there is no reading to cancel")
        struck = self.log.append(Struck(target.id, why=why.strip()), id=own)
        self._asked_again(target)
        return struck

    def again(self) -> None:
        """Weigh the last part once more, or the one that was gone to: the next reading is a repeat of it."""
        if self.replaces is not None:
            self._replaced_id = ""
            return
        if self._chosen and self.step and self.now.of(self.step):
            return  # the part that was gone to lies there, not the one that was weighed last
        if (last := self.last) is None:
            raise Refused("nothing was weighed yet")
        self.go(last.cylinder, last.kind)

    def skip(self, key: str | None = None) -> None:
        """Leave the step at hand for later. key: as take has it."""
        if (step := self.step) is None:
            raise Refused("everything is weighed")
        self.log.append(Skipped(step.cylinder, step.kind), id=key)
        self._trail.append(step)
        self._chosen, self._replaced_id = False, ""
        self._at += 1
        self._forward(wrap=False)

    def back(self) -> None:
        """Go back to the step that was read or left last, wherever go has gone since, and from there to the one
        before it; without one to the one before in the list. What is weighed there next replaces the last reading
        of the part."""
        at_hand = self.step
        while self._trail and (self._trail[-1] == at_hand or self._trail[-1] not in self.steps):
            self._trail.pop()
        if self._trail:
            self._at = self.steps.index(self._trail.pop())
        elif self._at == 0:
            raise Refused("this is the first step")
        else:
            self._at -= 1
        self._chosen = True
        own = self.now.of(self.steps[self._at])
        self._replaced_id = own[-1].id if own else ""
        self._offer()

    def go(self, cylinder: int, kind: str) -> None:
        """Go to any part, weighed or not."""
        for at, step in enumerate(self.steps):
            if (step.cylinder, step.kind) == (cylinder, kind):
                self._at, self._chosen, self._replaced_id = at, True, ""
                self._offer()
                return
        raise Refused(f"cylinder {cylinder}, {label(kind)}: is not weighed on this job")

    def go_to(self, where: str) -> None:
        """Go to a part by its name, such as ``3 pin`` or ``pin P3``. Raises Refused, also for a number that can
        mean two parts."""
        kind, name = _kind_and_name(where)
        if name.isascii() and name.isdecimal() and int(name[:4]) not in self.job.engine.layout.cylinders:
            self.go(int(name[:4]), kind)
        faults: list[Fault] = []
        part = self.now.names.meant(kind, name, faults)
        if part is None:
            raise Refused(str(faults[0]))
        if kind == "rod_total" and not self.goes_by_part and not any(step.kind == kind for step in self.steps):
            raise Refused(
                f"a rod is weighed by its ends here: go big end {shown(name)}, go small end {shown(name)}"
            )
        self.go(part.cylinder, kind)

    def refreshed(self, move: bool = True) -> list[Weighed]:
        """Take in what other benches have put into the log since; move: go on from a step that one of them
        weighed. Without, what was weighed of the step at hand is given back, for the machinist to know. Where
        another part sits at the step by now, the step stays, and moved tells it."""
        fresh = self.log.refresh()
        now, step = self.now, self.step
        if fresh and step is None and move:
            self._forward()  # a part that was cut meanwhile is asked for again
        if not fresh or step is None or step.is_check or self.moved():
            return []
        new = {record.id for record in fresh}
        same = [r for r in now.of(step) if r.id in new]
        if move and self._has(step):
            self._forward()
            return []
        return same

    def moved(self) -> str:
        """What to tell where the part at hand is another one than when it was offered; nothing where it is not."""
        step = self.step
        if step is None or step.is_check or self._standing.part_at(step) == self._part_offered:
            return ""
        who = self.now.names.said(step.kind, step.cylinder)
        return f"parts have traded places: {who} is asked for now; look which one this is"

    # Inside

    def _can_be_struck(self) -> dict[str, Weighed]:
        """The readings that count, by id."""
        return {record.id: record for records in self.now.readings.values() for record in records}

    def _outdone_by(self, grams: float) -> Weighed | None:
        """The reading of the part at hand that is none of its set, where this one of it is another: they cannot
        both be of it."""
        if self.step is None or self.step not in self.alone:
            return None
        (before,) = self.now.of(self.step)
        return None if agrees((before.grams, grams), self.job.scale, self.step.kind) else before

    def _asked_again(self, struck: Weighed) -> None:
        self.go(struck.cylinder, struck.kind)

    def _list_steps(self) -> None:
        step, is_done = self.step, bool(self.steps) and self.step is None
        self.steps = self._standing.steps()
        self._at = self.steps.index(step) if step in self.steps else len(self.steps) if is_done else 0

    def _has(self, step: WeighStep) -> bool:
        if step.is_check:
            kind = ZeroRead if step.kind == "zero" else ReferenceRead
            own = (r for r in self.log.records if r.id in self._own)
            return any(isinstance(r, kind) and r.when == step.when for r in own)
        return self.now.has(step) and step not in self._alone

    def _offer(self) -> None:
        """Keep which part the step at hand asks for: its place alone does not say that."""
        step = self.step
        self._part_offered = self._standing.part_at(step) if step else 0

    def _refuse_if_odd(self) -> None:
        """Under the lock, when the log is known to its end: a reading must not land on another part than was asked
        for, which is said once (then the step asks for the part that sits there now); nor be one too many, which
        would keep the job from being worked."""
        step, now = self.step, self.now
        self._refuse_if_moved()
        if step and len(now.of(step)) >= MOST_REPEATS:
            raise Refused(f"this part has {MOST_REPEATS} readings already; cancel some, or go on")

    def _refuse_if_moved(self) -> None:
        self._standing = self.now
        if said := self.moved():
            self._forward()
            self._offer()
            raise Refused(f"{said}, then weigh it again")

    def _forward(self, wrap: bool = True) -> None:
        """On to the next step that is open: from here, then from the start (what was skipped)."""
        if self._chosen:
            return
        steps = self.steps
        opened = [i for i, step in enumerate(steps) if not self._has(step)]
        ahead = [i for i in opened if i >= self._at]
        if not ahead and not wrap:
            ahead = opened
        parts = [i for i in opened if not steps[i].is_check]
        # The closing checks come when every part is done, not when the list runs out.
        if ahead and steps[ahead[0]].when == "end" and parts:
            ahead = parts
        self._at = ahead[0] if ahead else (opened[0] if opened else len(steps))
        self._offer()

    def _grams(self, typed: str, step: WeighStep) -> float:
        text = typed.strip().replace(",", ".") if typed.count(",") == 1 and "." not in typed else typed.strip()
        try:
            if step.kind == "zero":
                return parse(text, MASS, self.job.shown_unit)
            return reading_g(text, self.job.shown_unit, self.job.units)
        except NotAQuantity as error:
            raise Refused(f"{error}; allowed: {reading_allowed(self.job.units)}") from None

    def _with_unit(self, typed: str) -> str:
        """A reading as it is kept: with its unit, where a bare number would mean another one in the job's log."""
        is_bare = self.job.shown_unit != self.job.units.mass and not unit_of(typed, MASS)
        return f"{typed.strip()} {self.job.shown_unit}" if is_bare else typed

    def _g(self, grams: float) -> str:
        return self._standing.mass(grams)


def _kind_and_name(where: str) -> tuple[str, str]:
    """The kind that is weighed and the name of its part, of words such as ``3 pin``, ``pin P3``, ``big end 3``."""
    words = where.split()
    if words and words[0].isascii() and words[0].isdecimal():
        return part_named(" ".join(words[1:])), words[0]
    for count in (2, 1):
        if len(words) > count:
            with contextlib.suppress(Refused):
                return part_named(" ".join(words[:count])), " ".join(words[count:])
    raise Refused(f"{shown(where)!r} is no cylinder and part, such as 3 pin")


def part_named(text: str) -> str:
    """The kind that a word names (pin, big end, big_end). Raises Refused."""
    name = text.strip().lower().replace(" ", "_").replace("-", "_")
    if name in BY_NAME:
        return name
    close = [kind for kind in BY_NAME if kind.startswith(name)] if name else []
    if len(close) == 1:
        return close[0]
    raise Refused(f"{text.strip()!r} is no part; allowed: {', '.join(kind.label for kind in BY_NAME.values())}")
