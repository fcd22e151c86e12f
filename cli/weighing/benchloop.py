"""The bench at work: lines of the scale, keys of the machinist and the session brought together. No screen.

Every acceptance goes through accept(), which keeps the id of a reading that did not reach the disk, so that
trying again can never make two of it. What the screen says of a load is what became of it here, not what the
scale's rest alone would suggest.
"""

from __future__ import annotations

import contextlib
import math
import time
from collections import deque
from collections.abc import Callable
from typing import TYPE_CHECKING, Literal, TypeAlias

from truethrow.balance.base.errors import Replaced, TruethrowError
from truethrow.balance.base.readings import agrees
from truethrow.balance.log.records import ReferenceRead, Weighed, ZeroRead
from truethrow.balance.weighing.grinder import GrindSession
from truethrow.balance.weighing.scaleline import Frame, ScaleProfile, Trouble, read_line
from truethrow.balance.weighing.session import Refused, Session, Taken
from truethrow.balance.weighing.settler import Load, Settler, State
from truethrow.worksheets.words import bench_words as words

if TYPE_CHECKING:
    from truethrow.balance.log.log import Note
    from truethrow.balance.weighing.benchjob import WeighStep
    from truethrow.cli.weighing.serialport import Port

REFRESH_S = 1.0
SILENT_S = 1.5
MESSAGES = 4

# What became of what lies on the scale: as the settler has it, or held (not taken: Enter takes it) or unsaved (it
# did not reach the disk), or canceled (its reading does not count any more).
Standing: TypeAlias = State | Literal["held", "unsaved", "canceled"]


class BenchLoop:
    """One bench. live: what the scale last said, None when that is stale; standing: what became of the load;
    doubts: what looks wrong with what lies on the scale; hold: why nothing is taken from the scale now, and what
    to do; messages: what happened last, newest at the end; taken: the last reading that is on the disk and not
    canceled; flags: what looks wrong with it; told: what it settled at the grinder, in a grinding session;
    printed: of that, what whoever shows lines has written;
    ended: why nothing more can be taken, whoever shows the bench ends it then;
    bell: what is to be heard, until whoever rings it clears it; now: the clock of the port's lines [s]. The screen
    sets typing while something is typed, and asking while a question stands."""

    def __init__(
        self,
        session: Session,
        profile: ScaleProfile,
        port: Port | None = None,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self.session = session
        self._now = now
        self.profile = profile
        self.port = port
        self.settler = Settler(profile)
        self.live: Load | None = None
        self.flags: tuple[str, ...] = ()
        self.doubts: tuple[str, ...] = ()
        self.told: tuple[str, ...] = ()
        self.printed: set[str] = set()
        self.ended: Replaced | None = None
        self.bell: Literal["", "taken", "refused"] = ""
        self.grinding = session if isinstance(session, GrindSession) else None
        self.messages: deque[str] = deque(maxlen=MESSAGES)
        self.taken: Taken | None = None
        self.typing = False
        self.asking = False
        self._offered: Load | None = None
        self._put_off: tuple[WeighStep | None, Load | None] = None, None
        self._problem: Literal["", "held", "unsaved"] = ""
        self._pending: tuple[object, str] | None = None
        self._unsaved = ""  # what was typed and did not reach the disk
        self._is_canceled = False
        self.hold = ""
        self._other_unit = False
        # The last reading, as long as the scale was not seen at zero after it.
        self._unclosed: Weighed | ZeroRead | ReferenceRead | None = None
        self._told_notes = 0
        self._refreshed_s = self._heard_s = self._now()
        self._line_s = math.inf
        self.tell_notes()

    @property
    def standing(self) -> Standing:
        if self._problem:
            return self._problem
        if self._is_canceled:
            return "canceled"
        return self.live.state if self.live is not None else "empty"

    @property
    def is_unsaved(self) -> bool:
        """Whether the last reading was sound but did not reach the disk: it may be tried again."""
        return self._pending is not None

    @property
    def shows_other_unit(self) -> bool:
        """Whether the scale is heard but was switched to another unit, which hold says then."""
        return self._other_unit and self._now() - self._heard_s <= SILENT_S

    @property
    def unsaved(self) -> str:
        """What was typed and did not reach the disk; nothing else is taken before."""
        return self._unsaved

    def poll(self, wait_s: float = 0.0) -> None:
        """Work through whatever the scale has sent; waits so long for the first of it. While a question is being
        answered the scale has to wait, so that no load comes between a question and its answer."""
        now = self._now()
        if now - self._refreshed_s > REFRESH_S and not self.asking:
            self._refreshed_s = now
            self._refresh()
        if self.port is None or self.asking:
            if wait_s:
                time.sleep(wait_s)
            return
        item = self.port.get(wait_s)
        while item is not None:
            at_s, said = item
            self._heard_s = self._now()
            self._hear(said, at_s)
            item = self.port.get()
        if self.live is not None and self._now() - self._heard_s > SILENT_S:
            self._lose(words.SILENT)

    def look(self) -> None:
        """Take in what others did with the next poll: something was recorded."""
        self._refreshed_s = -math.inf

    def pass_over(self) -> None:
        """Nobody looks: what the scale sends meanwhile is not weighed, and what lies there now is not taken before
        the scale was seen empty. Why, tells whoever has it passed over, as long as that lasts."""
        while self.port is not None and self.port.get() is not None:
            self._line_s = -math.inf
        if self.live is not None:
            self._lose("", words.NOT_WATCHED)

    def enter(self, typed: str = "", key: str = "") -> bool:
        """Take what was typed, else what is offered, else what rests on the scale; whether it is saved. key: the
        id of the record, by a screen that made one before it sent this; else it is made here."""
        if typed or self._unsaved:
            return self._enter_typed(typed or self._unsaved, key)
        if self.live is not None and self._is_zero_step():
            ready = self.live.stable and self.live.state == "empty"
            refusal = "" if ready else self.hold or words.EMPTY_FOR_ZERO
        else:
            refusal = self._refusal()
        if refusal or self.live is None:
            self.say(refusal)
            return False
        offered = self._offered if self._problem in ("held", "unsaved") and self._offered else self.live
        if not self.accept(offered.typed, key):
            self._keep(offered)
            return False
        if offered.state != "empty":
            self.settler.taken()
            self.live = self.live._replace(state="taken")
        return True

    def _enter_typed(self, typed: str, key: str) -> bool:
        """Take a line that was typed. One that did not reach the disk comes before all others, which would land
        on the wrong part."""
        if self.settler.off is not None:
            self.say(self.hold)
            return False
        if self._unsaved and typed != self._unsaved:
            self._refuse(words.STILL_NOT_SAVED.format(typed=self._unsaved))
            return False
        done = self.accept_typed(typed, key)
        self._unsaved = typed if self.is_unsaved and not done else ""
        return done

    def drop_typed(self) -> None:
        """Give up what was typed and did not reach the disk."""
        if self._unsaved:
            self._unsaved, self._pending = "", None

    def accept_typed(self, typed: str, key: str = "") -> bool:
        """Take what a hand typed, or a scale that types: its lines are read like those of one on a port."""
        found = self._as_scale(typed)
        if isinstance(found, Frame) and found.stable is False:
            self._refuse(words.REFUSED.format(why=words.IT_MOVES.format(typed=typed)))
            return False
        if isinstance(found, Trouble) and found.what == "overload":
            self._refuse(words.REFUSED.format(why=found.said))
            return False
        return self.accept(found.typed if isinstance(found, Frame) else typed, key)

    def _as_scale(self, typed: str) -> Frame | Trouble | None:
        """What a typed line says as the line of a scale: by the profile's pattern, where it fits that; else, where
        a hand would not have typed it, by the general rule."""
        if self.profile.pattern:
            found = read_line(typed, self.profile)
            if isinstance(found, Frame) or self.session.is_number(typed):
                return found if isinstance(found, Frame) else None
        elif self.session.is_number(typed):
            return None
        return read_line(typed, self.profile._replace(pattern=""))

    def _refusal(self) -> str:
        """Why Enter alone takes nothing now; nothing where it does."""
        if self.live is None:
            return words.NOTHING_TO_TAKE if self.port else words.TYPE_IT
        if self._problem:
            return ""
        return {
            "off": self.hold,
            "early": self.hold,
            "empty": words.NOTHING_ON_IT,
            "settling": words.NOT_AT_REST,
            "taken": words.CANCELED_LOAD if self._is_canceled else words.TAKEN_ALREADY,
            "stable": "",
        }[self.live.state]

    def accept(self, typed: str, key: str = "") -> bool:
        """Take a reading for the step at hand; whether it is on the disk. key: as enter has it."""
        wanted = (self.session.step, typed)
        if self._pending is None or self._pending[0] != wanted:
            self._pending = (wanted, key or self.session.log.next_id())
        is_zero = self._is_zero_step()
        try:
            if not is_zero and (zero := self.settler.zero) is not None:
                self.session.saw_zero(zero.grams, zero.typed)
            self.taken = self.session.take(typed, self._pending[1])
        except Refused as error:
            self._pending = None
            self._refuse(words.REFUSED.format(why=error))
            return False
        except TruethrowError as error:
            self._not_saved(error)
            return False
        self._pending = None
        self.bell = "taken"
        self.doubts = ()
        self.told = words.of_grinding(self.grinding) if self.grinding is not None else ()
        self._problem, self._offered, self._is_canceled = "", None, False
        self.flags = words.of_taken(self.taken, self.session.now)
        self._unclosed = None if is_zero or self.port is None else self.taken.record
        self.messages.clear()
        return True

    @property
    def settled(self) -> tuple[str, ...]:
        """Of what was told, what is not on the screen in large letters anyway."""
        return words.of_news(self.grinding) if self.grinding is not None and self.told else ()

    def target(self) -> Weighed | None:
        """What a strike would strike out now, to be shown and kept while its reason is typed."""
        return self.session.target()

    def strike(self, record: Weighed, why: str, key: str = "") -> bool:
        """Strike out one reading with a reason. What lies on the scale is not weighed again by that. key: as enter
        has it."""

        def struck() -> None:
            self.session.strike(why, record.id, key or None)
            self.say(words.STRUCK_OUT.format(part=named(record, self.session)))

        done = self._carried_out(struck)
        self._forget_canceled()
        return done

    def _forget_canceled(self) -> None:
        """What is canceled, here or at another bench, is not shown as taken any more."""
        if self.taken is not None and not self.session.counts(self.taken.record):
            self.taken, self.flags, self.told = None, (), ()
            self._is_canceled = self.live is not None and self.live.state == "taken"

    def again(self) -> bool:
        before = self.session.replaces
        if not self._is_canceled and not self._carried_out(self.session.again):
            return False
        if before is not None:
            self.say(words.KEEPS_BOTH.format(typed=before.typed))
        self._is_canceled = False
        self._problem, self._offered = "", None
        self.settler.rearm()
        return True

    def skip(self, key: str = "") -> bool:
        return self._moved_on(lambda: self.session.skip(key or None))

    def back(self) -> bool:
        done = self._moved_on(self.session.back)
        if done and (before := self.session.replaces) is not None:
            self.say(words.REPLACES.format(typed=before.typed))
        return done

    def go(self, where: str) -> bool:
        return self._moved_on(lambda: self.session.go_to(where))

    def go_at(self, cylinder: int, kind: str) -> bool:
        """The same, of a part that is not named but known."""
        return self._moved_on(lambda: self.session.go(cylinder, kind))

    def _moved_on(self, work: Callable[[], object]) -> bool:
        """What lies on the pan and is not taken yet was put on for the step before, not for the next."""
        if self.grinding is not None:
            self.grinding.lies_there = self._lies_there()
        done = self._carried_out(work)
        if done and self.profile.auto and self.live is not None and self.live.state in ("settling", "stable"):
            self.settler.not_seen_empty()
        return done

    def not_touched(self) -> None:
        """The part at the grinder still lies on the scale: what was to be taken next was not."""
        if self.grinding is not None and self._lies_there():
            self._carried_out(self.grinding.withdraw)

    def _lies_there(self) -> bool:
        return self.live is not None and self.live.state == "taken"

    def _refuse(self, text: str) -> None:
        self.bell = "refused"
        self.say(text)

    def say(self, text: str) -> None:
        if not self.messages or self.messages[-1] != text:
            self.messages.append(text)

    def tell_notes(self) -> list[Note]:
        """What the log found wrong with itself and was not told yet; on the screen in one sentence."""
        notes = self.session.log.notes[self._told_notes :]
        self._told_notes += len(notes)
        if notes:
            more = words.MORE_LIKE_IT.format(count=len(notes) - 1) if len(notes) > 1 else ""
            self.say(words.OF_THE_LOG.format(note=notes[0], more=more))
        return notes

    def _refresh(self) -> None:
        """Take in what other benches did. The step stays where hands are at work on it."""
        loaded = self.live is not None and self.live.state != "empty"
        busy = self.typing or loaded or bool(self._problem)
        try:
            for record in self.session.refreshed(move=not busy):
                part = named(record, self.session)
                self.say(words.WEIGHED_ELSEWHERE.format(part=part, bench=record.bench))
            self._forget_canceled()
            if (moved := self.session.moved()) and moved not in self.messages:
                self.say(moved)
        except Replaced as error:
            self.ended = error
        except TruethrowError as error:
            self.say(words.NOT_READ.format(why=error))
        self.tell_notes()

    def _hear(self, said: str | Trouble, at_s: float) -> None:
        if at_s - self._line_s > SILENT_S:
            self._lose(words.WAS_SILENT)
        self._line_s = at_s
        heard = said if isinstance(said, Trouble) else read_line(said, self.profile)
        if heard is None:
            return
        if not isinstance(heard, Trouble) and heard.unit != self.profile.unit:
            heard = Trouble("unit", words.OTHER_UNIT.format(shows=heard.unit, unit=self.profile.unit))
        if isinstance(heard, Trouble):
            self._trouble(heard)
            return
        self._other_unit = False
        self.live = self.settler.feed(heard, at_s)
        self._look_at_the_pan(self.live)
        if self._is_zero_step():
            if self.profile.auto and self.live.stable and self.live.state == "empty":
                self.accept(self.live.typed)
        elif self.live.take:
            self._offer(self.live)
        elif self.live.stable and self.live.state == "stable":
            self.doubts = words.flags(self.session.suspect(self.live.live_g), self.session.now)

    def _trouble(self, heard: Trouble) -> None:
        if heard.what == "flood":  # its newest lines go on to come
            self.say(heard.said)
        elif heard.what == "overload":  # so do these: nothing can happen on the pan that is not seen
            self._forget(heard.said)
        else:
            self._lose(heard.said)
        if heard.what == "unit":  # until it is switched back: it is heard, but says nothing that counts
            self._hold(heard.said)
            self._other_unit = True

    def _look_at_the_pan(self, now: Load) -> None:
        """Whether it is empty, whether that is zero, and whether a load on it is another one than before."""
        self._is_canceled = self._is_canceled and now.state == "taken"
        if (off := self.settler.off) is not None:
            self._hold(words.NOT_AT_ZERO.format(shows=off.typed))
            self._blame(off)
        elif self.settler.zero is not None:
            self._hold("")
        elif now.state == "early":
            self._hold(words.NOT_SEEN_EMPTY)
        if now.state in ("empty", "off") or now.left:
            self._drop(words.LIFTED_OFF)
            self.doubts = ()
        if now.state == "empty" and self.settler.zero is not None:
            self._unclosed = None
        self._another_load(now)

    def _another_load(self, now: Load) -> None:
        """A load that waits for Enter and was changed without the scale being seen empty: put on anew, or another.
        It is weighed as the new one that it is."""
        apart = 2 * self.profile.resolution_g
        rests = now.stable and now.live_g > self.profile.least_g
        if rests and self._offered is not None and abs(now.live_g - self._offered.live_g) > apart:
            self._problem, self._offered, self.doubts = "", None, ()
            self.settler.rearm()

    def _hold(self, why: str) -> None:
        if why != self.hold:
            with contextlib.suppress(ValueError):
                self.messages.remove(self.hold)
            self.hold = why
            if why:
                self.say(why)

    def _blame(self, off: Frame) -> None:
        """The empty scale does not show zero. What was weighed last may be off by as much, where the scale was not
        seen at zero after it; it has that in its ± until it is weighed again."""
        if (last := self._unclosed) is None:
            return
        self._unclosed = None
        if self._carried_out(lambda: self.session.saw_zero(off.grams, off.typed)):
            self.say(words.MAY_BE_OFF.format(part=named(last, self.session)))

    def _offer(self, event: Load) -> None:
        """A reading that the scale says is ready: taken, with a flag if it looks wrong, so that the loads to come
        stay in step with the list. Only what cannot be this part at all waits for Enter."""
        if self.session.step is None:
            return
        doubt = self.session.doubt(event.live_g)
        is_doubtful = self.session.is_another_part(event.live_g)
        if is_doubtful and not (doubt is not None and doubt.passes_twice and self._is_put_back(event)):
            self.doubts = words.flags(self.session.suspect(event.live_g), self.session.now)
            self._problem, self._offered = "held", event
            why = self.session.refusal(event.live_g)
            held = words.held(doubt, self._step_name(), self.session.now)
            self._refuse(words.REFUSED.format(why=why) if why else held)
        elif not self.accept(event.typed):
            self._keep(event)

    def _keep(self, event: Load) -> None:
        """A load that was offered and is not on the disk: it failed, or it was refused."""
        self._problem, self._offered = "unsaved" if self._pending else "held", event

    def _drop(self, why: str) -> None:
        """A load that was offered is no longer there to be taken."""
        if self._problem:
            self._refuse(words.NOT_TAKEN.format(why=why, part=self._step_name()))
            self._put_off = self.session.step, self._offered
            self._problem, self._offered = "", None

    def _is_put_back(self, event: Load) -> bool:
        """Whether a load was offered for this step, not taken, lifted off, and is on the scale again."""
        step, before = self._put_off
        if before is None or step is None or step != self.session.step:
            return False
        return agrees((before.live_g, event.live_g), self.session.job.scale, step.kind)

    def _lose(self, why: str, dropped: str = words.LOST) -> None:
        """The line to the scale was lost: what lies there is not taken before the scale was seen empty. dropped:
        why a load that was offered is not there any more."""
        self.settler.lost()
        self._forget(why)
        self._drop(dropped)

    def _forget(self, why: str) -> None:
        """What the scale showed is no longer so."""
        self.live, self._is_canceled, self.doubts = None, False, ()
        self._heard_s = self._now()
        if why:
            self.say(why)

    def _is_zero_step(self) -> bool:
        step = self.session.step
        return step is not None and step.kind == "zero"

    def _step_name(self) -> str:
        step = self.session.step
        if step is None:
            return "nothing"
        return f"the {step.kind}" if step.is_check else self.session.now.names.said(step.kind, step.cylinder)

    def _carried_out(self, work: Callable[[], object]) -> bool:
        self.doubts = ()
        try:
            work()
        except Refused as error:
            self._refuse(words.REFUSED.format(why=error))
            return False
        except TruethrowError as error:
            self._not_saved(error)
            return False
        return True

    def _not_saved(self, error: TruethrowError) -> None:
        if isinstance(error, Replaced):
            self.ended = error
        else:
            self._refuse(words.NOT_SAVED.format(why=error))


def named(record: Weighed | ZeroRead | ReferenceRead, session: Session) -> str:
    """A reading by its part, or a check by its name."""
    if isinstance(record, ZeroRead | ReferenceRead):
        return f"{record.action} at the {record.when}"
    return session.now.names.said(record.kind, record.cylinder)
