"""One bench of the floor: a BenchLoop in a thread of its own, and the screens that watch it.

Whatever a screen sends has an id that it made itself, which is the id of the record: however often it is sent,
also to a server that was killed and started again meanwhile, it is one record."""

from __future__ import annotations

import contextlib
import hashlib
import queue
import threading
import time
import uuid
from collections import Counter, deque
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, NotSaved, TruethrowError
from truethrow.balance.base.files import KeptText, read_text
from truethrow.balance.log.place import JobInBook, Snapshot, must_have_a_log, open_log, to_paste
from truethrow.balance.log.records import Struck, Weighed
from truethrow.balance.weighing.benchjob import WeighStep, load
from truethrow.balance.weighing.session import Session
from truethrow.cli.floor.bench_state import live_of, nothing_more, scale_of, state_of
from truethrow.cli.floor.by_hand import GRIND, first_of, marked_twice, to_do, told_of
from truethrow.cli.floor.canceling import asked_first, which_reading
from truethrow.cli.floor.channel import Channel, Event, event
from truethrow.cli.floor.devices import MAY_WEIGH, Role
from truethrow.cli.floor.posts import Post, asked, at, keep, looked_at
from truethrow.cli.floor.scales import Scales
from truethrow.cli.profiles import by_itself
from truethrow.cli.weighing.benchloop import BenchLoop, named
from truethrow.cli.weighing.benchtext import taken, what
from truethrow.cli.weighing.weigh import scale_profile
from truethrow.worksheets.pages.floor.state import Answered, BenchState, Done, News, Question, as_data
from truethrow.worksheets.words import bench_words
from truethrow.worksheets.words import server_words as words

POLL_S = 0.04
LIVE_S = 0.1
# A screen that is away for longer is not here any more, and takes nothing from the scale.
AWAY_S = 3.0
# Nor does one that gave no sign of life for so long: its line may be open while nobody sees what it shows, as when
# a phone sleeps or a browser hangs.
ASLEEP_S = 3.0
# A bench at which nobody has weighed for so long gives its scale back, whoever looks on.
GONE_S = 30.0
# After so long a job in which nothing can be recorded is looked at again.
AGAIN_S = 1.0
# So many questions that were answered are told, so that no other screen goes on asking them.
MOST_ANSWERED = 8


class Who(NamedTuple):
    """Whose screen it is. device: its id; name: as people call it; initials: for what it records."""

    device: str
    name: str
    role: Role
    initials: str


class Bench:
    """The bench of one job, from now on to close(). place: makes the job's place anew; profile: of the bench,
    where one was named; changed: called when another takes the readings,
    recorded: when something was recorded. Raises BadInput as weigh does, where
    nothing can be weighed."""

    def __init__(
        self,
        name: str,
        place: Callable[[], Path | JobInBook],
        scales: Scales,
        profile: Path | KeptText | None = None,
        changed: Callable[[], None] = lambda: None,
        recorded: Callable[[], None] = lambda: None,
    ) -> None:
        self.name = name
        self.channel = Channel()
        self.taker: Who | None = None
        self._place, self._scales, self._profile = place, scales, profile
        self._changed, self._recorded_here = changed, recorded
        self._posts: queue.Queue[tuple[Post, Who, Future[Done]] | None] = queue.Queue()
        self._streams: Counter[str] = Counter()
        self._left_s: dict[str, float] = {}
        self._alive_s: dict[str, float] = {}  # when each device's last sign of life came
        self._slept = ""  # whose scale was given back while it was asleep
        self._answers: dict[str, Done] = {}
        self._asks: dict[str, tuple[str, str]] = {}  # a question: of which record; what comes of a yes
        self._answered: deque[Answered] = deque(maxlen=MOST_ANSWERED)
        self._news = News()
        self._touched = False
        self._text = self._digest = ""
        self._notes: tuple[str, ...] = ()
        self._wants = ""  # the port of the scale that is to be taken once somebody weighs and it is free
        self._taken_s = time.monotonic()
        self._stands, self._stood_s = "", 0.0  # why nothing is recorded in the job as it is now; looked at when
        try:
            self._loop = self._opened(grind=False)
            self._live, self._live_s, self._key = live_of(self._loop), 0.0, self._key_now()
            self.state, self._step_s = self._state_now(), time.monotonic()
        except BaseException:
            scales.give_back(name)
            raise
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name=f"bench {name}", daemon=True)
        self._thread.start()

    # For the server's threads

    @property
    def is_alive(self) -> bool:
        return self._thread.is_alive()

    @property
    def is_watched(self) -> bool:
        """Whether any screen is here, or was until a moment ago."""
        return any(self._is_here(device) for device in [*self._streams, *self._left_s])

    @property
    def asked(self) -> tuple[str, int] | None:
        """Which part is asked for, by kind and cylinder; None where none is."""
        step = self._loop.session.step
        return None if step is None or step.is_check else (step.kind, step.cylinder)

    @property
    def touch(self) -> tuple[str, dict[tuple[str, int], float]] | None:
        """What the hand at the grinder was told to take: the id of that cut, and by how much it lowers each
        reading of the part [g]; None where it was told nothing."""
        grinding = self._loop.grinding
        visit = grinding.visit if grinding is not None else None
        cut = grinding.told if grinding is not None else None
        if visit is None or cut is None or (touch := visit.touch) is None:
            return None
        levers = visit.levers[touch.pad].items()
        return cut.id, {(kind, visit.cylinder): touch.aim_g * lever for kind, lever in levers}

    @property
    def taken_here(self) -> int:
        """How many readings were taken, or refused, since the bench was opened."""
        return self._news.number

    def ask(self, post: Post, who: Who) -> Future[Done]:
        """Have done what a hand did; what came of it, or TruethrowError for what is kept by
        its screen: it did not reach the disk, or another screen takes here."""
        future: Future[Done] = Future()
        self._posts.put((post, who, future))
        return future

    def join(self, who: Who) -> None:
        """A screen begins to watch; the first that may takes the readings."""
        self._streams[who.device] += 1
        if self.taker is None and who.role in MAY_WEIGH:
            self._take(who)

    def goes_on_grinding(self, who: Who) -> None:
        """A screen that was at the grinder is back, and the bench was opened anew since, as after the computer was
        off: it goes on there, unless somebody has done anything here."""
        if not self._answers and not self._news.number and self._loop.grinding is None:
            self.ask(Post(str(uuid.uuid4()), "grind"), who)

    def alive(self, who: Who, step: str) -> None:
        """A screen that shows a step was seen: it is lit, in front, and has drawn what it shows. One that still
        shows another step than the one that has been asked for a while does not know what it takes."""
        now_s = time.monotonic()
        if step == self.state.step_id or now_s - self._step_s < ASLEEP_S:
            self._alive_s[who.device] = now_s
        if self.taker is None and self._slept == who.device and who.role in MAY_WEIGH:
            self._take(who)

    def leave(self, who: Who) -> None:
        self._streams[who.device] -= 1
        self._left_s[who.device] = time.monotonic()

    def look(self) -> None:
        """Something was recorded in the job, or its text was changed."""
        self._touched = True
        self._posts.put(None)

    def close(self) -> None:
        self._stop.set()
        self._posts.put(None)
        self._thread.join(5.0)

    # In the bench's own thread

    def _run(self) -> None:
        try:
            while not self._stop.is_set():
                self._work(POLL_S)
            self._loop.not_touched()
        finally:
            self._scales.give_back(self.name)
            self.channel.end()
            while not self._posts.empty():
                if (one := self._posts.get_nowait()) is not None:
                    one[2].cancel()

    def _work(self, wait_s: float) -> None:
        with contextlib.suppress(queue.Empty):
            one = self._posts.get(timeout=wait_s)
            while one is not None:
                post, who, future = one
                try:
                    future.set_result(self._answer(post, who))
                except TruethrowError as error:
                    future.set_exception(error)
                except BaseException as error:
                    future.set_exception(error)
                    raise
                one = self._posts.get_nowait()
        if self._touched or (self._stands and time.monotonic() - self._stood_s > AGAIN_S):
            self._touched = False
            self._loop.look()
            self._look_at_the_job()
        if self._stands:
            self._loop.pass_over()
        else:
            self._share_the_scale()
            if not self._is_taken():
                self._loop.pass_over()
            self._loop.poll()
        self._tell()

    def _opened(self, *, grind: bool) -> BenchLoop:
        """A loop on the job as it is now, as weigh makes it. Raises BadInput."""
        place = Snapshot(self._place())
        must_have_a_log(place)
        made = load(place, self._profile, self._scales.port)
        port = made.table.port
        busy = self._scales.holder(port) if port else ""
        is_elsewhere = busy not in ("", self.name)
        self._wants = port if is_elsewhere or self.taker is None else ""
        if self._wants:
            made = load(place, self._profile, "")
        log = open_log(place, made.table.name, self.taker.initials if self.taker else "")
        log.must_be_of(made.id)
        log.must_be_open()
        if grind:
            from truethrow.balance.weighing.grinder import GrindSession  # noqa: PLC0415

            session: Session = GrindSession(made, log, place)
        else:
            session = Session(made, log)
        profile = scale_profile(made, session.zero_limit_g)
        cable: Any = self._scales.take(profile, self.name) if profile.port else None
        if profile.port and cable is None:  # another bench was quicker
            self._wants = port
        loop = BenchLoop(session, profile, cable)
        if is_elsewhere:
            loop.say(words.SCALE_IS_ELSEWHERE.format(port=port, job=busy))
        self._text = place.text
        own = read_text(self._profile) if self._profile is not None else ""
        self._digest = hashlib.sha256(f"{self._text}\0{own}".encode()).hexdigest()[:8]
        self._notes = marked_twice(place)
        return loop

    def _look_at_the_job(self) -> None:
        """Stand still, and say why, while weigh would refuse the job as it is now: its log damaged, closed, its
        text broken or away. Begin anew once it is whole again, and where its text was changed."""
        before, grinds = self._text, self._loop.grinding is not None
        try:
            place = Snapshot(self._place())
            must_have_a_log(place)
            open_log(place).must_be_open()
            if place.text != before or self._stands:
                self._loop = self._opened(grind=grinds)
            self._stands = ""
        except TruethrowError as error:
            self._stands, self._stood_s = self._refused(error), time.monotonic()
        if self._text != before:
            self._loop.say(words.JOB_CHANGED)

    def _share_the_scale(self) -> None:
        """Take the scale once somebody weighs here and it is free; give it back once nobody has for long."""
        if self._is_taken():
            self._taken_s = time.monotonic()
            if not self._wants or self._scales.holder(self._wants) or self._loop.is_unsaved:
                return
        elif self._loop.port is None or time.monotonic() - self._taken_s < GONE_S:
            return
        else:
            self._loop.not_touched()
            self._slept, self.taker = self.taker.device if self.taker else "", None
            self._scales.give_back(self.name)
            self._changed()
        try:
            self._loop = self._opened(grind=self._loop.grinding is not None)
        except TruethrowError as error:
            self._stands, self._stood_s = self._refused(error), time.monotonic()

    def _is_here(self, device: str) -> bool:
        return self._streams[device] > 0 or time.monotonic() - self._left_s.get(device, -AWAY_S) < AWAY_S

    def _is_awake(self, device: str) -> bool:
        return time.monotonic() - self._alive_s.get(device, -ASLEEP_S) < ASLEEP_S

    def _is_taken(self) -> bool:
        """Whether the screen that takes is here, and awake where anything is taken by itself."""
        if self.taker is None or not self._is_here(self.taker.device):
            return False
        return self._loop.port is None or self._is_awake(self.taker.device)

    def _nobody(self) -> str:
        """Why nothing is taken from the scale, where that is for want of a screen."""
        if self._loop.port is None or self._is_taken():
            return ""
        is_here = self.taker is not None and self._is_here(self.taker.device)
        return words.ASLEEP if is_here else words.NOBODY_TAKES

    def _take(self, who: Who) -> None:
        self.taker, self._slept = who, ""
        self._loop.session.log.by = who.initials
        self._changed()

    # What is told

    def _key_now(self) -> tuple[object, ...]:
        """What a screen's page depends on, but for the live figure."""
        loop, session = self._loop, self._loop.session
        of_loop = (
            loop.standing,
            loop.hold,
            loop.doubts,
            loop.flags,
            loop.told,
            tuple(loop.messages),
            loop.unsaved,
        )
        of_scale = (scale_of(loop, is_watched=self._is_taken()), self._nobody())
        counts = (len(session.log.written), session.step, session.replaces is not None, tuple(self._answered))
        ended = loop.ended, self._stands
        return (id(loop), id(loop.taken), ended, of_loop, of_scale, counts, self.taker, self._news.number)

    def _state_now(self) -> BenchState:
        loop, taker = self._loop, self.taker
        next_step, blocked, turn = self._next_step()
        return state_of(
            loop,
            self.name,
            str(at(loop.session.step, loop.session, self._digest)),
            hold=self._nobody(),
            scale=scale_of(loop, is_watched=self._is_taken()),
            taker=taker.device if taker else "",
            taker_name=taker.name if taker else "",
            news=self._news,
            next_step=next_step,
            turn=turn,
            blocked=blocked,
            stands=self._stands,
            notes=self._notes,
            answered=tuple(self._answered),
        )

    def _next_step(self) -> tuple[str, str, bool]:
        """What comes after this bench, once it has nothing to ask for; why that cannot be told; and whether it is
        done here, at the grinder or from there back at the scale."""
        if self._loop.session.step is not None:
            return "", "", False
        try:
            place = Snapshot(self._place())
            told = nothing_more(self._loop, to_paste(place)) or by_itself(place)[0].steps[0]
            is_here = self._loop.grinding is not None or GRIND in told.split()
            return self._by_hand(told), "", is_here
        except TruethrowError as error:
            return "", self._refused(error), False

    def _tell(self) -> None:
        """Tell all screens what has changed."""
        if self._loop.bell:
            is_taken = self._loop.bell == "taken" and self._loop.taken is not None
            said = self._said_of_taken() if is_taken else self._last_message()
            self._news = News(self._news.number + 1, self._loop.bell, self._by_hand(said))
            self._loop.bell = ""
        self._close_questions()
        if (key := self._key_now()) != self._key:
            before, self._key, self.state = self.state, key, self._state_now()
            if self.state.head != before.head:
                self._recorded_here()
            if self.state.step_id != before.step_id:
                self._step_s = time.monotonic()
            self._live, self._live_s = self.state.live, time.monotonic()
            self.channel.say(state_event(self.state))
        elif (now_s := time.monotonic()) - self._live_s >= LIVE_S and (live := live_of(self._loop)) != self._live:
            self._live, self._live_s = live, now_s
            self.channel.say(Event("live", event("live", asdict(live))))

    def _close_questions(self) -> None:
        """What somebody answered, at whichever screen or at the terminal, is asked nowhere any more."""
        if not self._asks:
            return
        done = {one.of if isinstance(one, Struck) else one.id: one for one in self._loop.session.log.records}
        for of, (about, said) in list(self._asks.items()):
            record = done.get(about)
            if record is not None and isinstance(record, Struck) == (said == words.IS_CANCELED):
                who = record.by or record.bench
                self._is_answered(of, who, said.format(**self._about(about, record.why)))

    def _is_answered(self, of: str, who: str, what: str) -> None:
        if self._asks.pop(of, None) is not None:
            self._answered.append(Answered(of, words.ANSWERED.format(who=who, what=what)))

    def _about(self, record: str, why: str = "") -> dict[str, str]:
        """A reading in words."""
        found = next((one for one in self._loop.session.log.records if one.id == record), None)
        if not isinstance(found, Weighed):
            return {"typed": "", "part": record, "why": why}
        return {"typed": found.typed, "part": named(found, self._loop.session), "why": why}

    def _said_of_taken(self) -> str:
        return "" if self._loop.taken is None else taken(self._loop.taken, self._loop.session).splitlines()[0]

    def _by_hand(self, said: str) -> str:
        """What the terminal says, as it is said here."""
        return to_do(said, at_bench=True, at_grinder=self._loop.grinding is not None)

    def _refused(self, error: TruethrowError) -> str:
        """Why something is not done, in one line."""
        at_grinder, own = self._loop.grinding is not None, self._loop.session.log.name
        return first_of(told_of(error, at_bench=True, at_grinder=at_grinder, own=own))

    def _last_message(self) -> str:
        return self._loop.messages[-1] if self._loop.messages else ""

    # What hands do

    def _answer(self, post: Post, who: Who) -> Done:
        """The same for the same id; what did not reach the disk, or waits for a yes, may be sent again."""
        if (before := self._answers.get(post.id)) is not None:
            return Done(before.ok, before.said, before.question, self.state)
        done = self._do(post, who)
        done = replace(done, said=self._by_hand(done.said))
        if (question := done.question) is not None and (about := self._is_about(question)) is not None:
            keep(self._asks, question.of, about)
        self._tell()
        if done.question is None and not self._loop.is_unsaved:
            keep(self._answers, post.id, done)
        return Done(done.ok, done.said, done.question, self.state)

    def _is_about(self, question: Question) -> tuple[str, str] | None:
        """The record that answers a question, and what it says then."""
        if (post := asked(question.of)) is not None:
            return (post.of, words.IS_CANCELED) if post.action == "cancel" else (post.id, words.IS_RECORDED)
        return (question.of, words.IS_CANCELED) if question.free else None

    def _do(self, post: Post, who: Who) -> Done:
        if post.action == "no":
            return Done(True, self._left(post.of, who))
        if post.action == "yes":
            post = asked(post.of) or post
        if (said := self._recorded(post.id)) is not None:
            return Done(True, words.IS_SAVED.format(said=said))
        self._must_be_let(post, who)
        if self.taker is None or post.action == "take-over":
            self._take(who)
        if post.action == "take-over":
            return Done(True, words.TOOK_OVER.format(who=who.name))
        self._take_in()
        first, step = looked_at(post, self._loop.session, self._digest)
        if first is not None:
            return first
        return (
            self._carried_out(post)
            if step in (None, self._loop.session.step)
            else self._carried_out_at(step, post)
        )

    def _carried_out_at(self, step: WeighStep, post: Post) -> Done:
        """The same at another step than the one that is asked for. A check of the scale with which a session
        begins is asked for until it is made."""
        session = self._loop.session
        asked_for, part = session.step, session.now.names.said(step.kind, step.cylinder)
        if asked_for is not None and asked_for.when == "start" and self._loop.grinding is not None:
            first = words.CHECK_FIRST.format(check=what(session), typed=post.typed, part=part)
            raise BadInput([Fault("", first)])  # no metal before the scale was seen; it is sent again
        if not self._loop.go_at(step.cylinder, step.kind):
            return Done(False, self._last_message())
        if session.step != step:  # of a rod at the grinder the other end may be asked for
            return Done(False, words.TAKE_AGAIN.format(now=what(session)))
        try:
            return self._carried_out(post)
        finally:
            if asked_for is not None and asked_for.when == "start":
                self._loop.go_at(asked_for.cylinder, asked_for.kind)

    def _left(self, of: str, who: Who) -> str:
        """What somebody said no to, in words."""
        post = asked(of)
        said = words.DROPPED.format(typed=post.typed) if post is not None and post.typed else ""
        if (waits := self._asks.get(of)) is not None:
            self._is_answered(of, who.name, said or words.STAYS.format(**self._about(waits[0])))
        return said

    def _must_be_let(self, post: Post, who: Who) -> None:
        """Raises BadInput, or Replaced, where a screen does nothing here now: that answers nothing, so that what
        was typed stays on its screen."""
        if who.role not in MAY_WEIGH:
            raise BadInput([Fault("", words.MAY_ONLY_LOOK.format(role=who.role))])
        if self._loop.ended is not None:
            raise self._loop.ended
        self._look_at_the_job()
        if self._stands:
            raise BadInput([Fault("", self._stands)])
        if post.action != "take-over" and self.taker is not None and self.taker.device != who.device:
            raise BadInput([Fault("", words.ANOTHER_TAKES.format(who=self.taker.name))])

    def _take_in(self) -> None:
        """What others recorded until now, before anything is decided by what is asked for."""
        self._loop.look()
        self._loop.poll()

    def _recorded(self, key: str) -> str | None:
        """What the record of an id says, where it was written before."""
        record = next((one for one in reversed(self._loop.session.log.records) if one.id == key), None)
        if record is None:
            return None
        if isinstance(record, Weighed):
            return f"{named(record, self._loop.session)}: {record.typed}"
        return record.action

    def _carried_out(self, post: Post) -> Done:
        """What came of it. Raises NotSaved for what was typed and did not reach the disk."""
        loop = self._loop
        loop.messages.clear()
        match post.action:
            case "take" | "type":
                typed = post.typed.strip() if post.action == "type" else ""
                if post.action == "type" and not typed:
                    return Done(False, bench_words.TYPE_IT)
                # A reading that is sound but did not reach the disk is worth a second try, as in a pipe.
                done = loop.enter(typed, post.id) or (loop.is_unsaved and loop.enter(typed, post.id))
                if typed and loop.unsaved:  # it is kept by the screen, which sends it again
                    loop.drop_typed()
                    raise NotSaved(self._last_message())
                return Done(done, self._said_of_taken() if done else self._last_message())
            case "again":
                done = loop.again()
            case "skip":
                done = loop.skip(post.id)
            case "back":
                done = loop.back()
            case "go":
                done = loop.go(post.typed)
            case "cancel" | "readings":
                return self._canceled(post)
            case "grind" | "weigh":
                return self._switched(post.action)
            case _:
                return Done(False, words.NO_SUCH_ACTION.format(action=post.action[:20]))
        return Done(done, what(loop.session) if done else self._last_message())

    def _canceled(self, post: Post) -> Done:
        """A reading canceled; before that, what is to be answered first."""
        if post.action == "readings":
            return which_reading(self._loop, post.of)
        target, first = asked_first(self._loop, Snapshot(self._place()), post)
        if target is None:
            return first
        done = self._loop.strike(target, post.why, post.id)
        return Done(done, self._last_message())

    def _switched(self, to: str) -> Done:
        """To the grinder, or back to the scale."""
        self._loop.not_touched()
        try:
            self._loop = self._opened(grind=to == "grind")
        except BadInput as error:
            return Done(False, self._refused(error))
        return Done(True, what(self._loop.session))


def state_event(state: BenchState) -> Event:
    """A state as it goes to all screens; those that may only look are told that they may do nothing."""
    data = as_data(state)
    text = event("state", data, state.head)
    return Event("state", text, to_eyes=event("state", {**data, "may": ()}, state.head))
