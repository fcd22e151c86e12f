"""What is done at the station's page: each as its command does it, read back before anything is recorded.

Whatever a screen sends is looked at first in a look that keeps nothing (what would be refused is told at once, in
the words of the command), then it is told back as it will be recorded, and only the yes to that records it, with
the id that the screen gave it: however often it is sent, it is one record. A yes is to what was true when it was
asked, and to its day: whatever was recorded meanwhile is told, and asked for again, and so it is after midnight,
when what was looked over the day before no longer counts."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.job.history import events_of
from truethrow.balance.log.log import when
from truethrow.balance.log.place import JobInBook, Snapshot, open_log
from truethrow.balance.log.records import Begun, Record
from truethrow.balance.station import balancing, may_go
from truethrow.balance.station.built import AskedBack
from truethrow.cli.common import today
from truethrow.cli.floor.bench import Who
from truethrow.cli.floor.desk import Shown
from truethrow.cli.floor.posts import Post, is_id
from truethrow.cli.floor.station_acts import ACTS, Act
from truethrow.cli.floor.station_shown import stacks_of, what_stacks
from truethrow.cli.floor.station_state import Look, look, profile_text, state_of
from truethrow.cli.floor.station_ways import here
from truethrow.worksheets.pages.floor import pages
from truethrow.worksheets.pages.floor.state import Answer, Done, Question
from truethrow.worksheets.pages.floor.station_state import PlateStack, StationState
from truethrow.worksheets.words import history_words, station_words
from truethrow.worksheets.words import server_words as floor_words
from truethrow.worksheets.words import station_screen_words as words

MOST_TOLD = 3


class Asked(NamedTuple):
    """What a question is about, sent back with the yes. stamp: of what was true when it was asked; sure: a mass
    that looks like a slip was looked at again; head: the last record then; day: on which it was asked."""

    id: str
    action: str
    typed: str
    stamp: str
    head: int
    sure: bool = False
    day: str = ""


class Station:
    """The station of one job, as a desk's work. place: makes the job's place anew; look: not needed, nothing goes
    on here by itself."""

    is_busy = False

    def __init__(
        self, name: str, place: Callable[[], Path | JobInBook], look: Callable[[], None] = lambda: None
    ) -> None:
        self.name, self._place = name, place
        self._stacks: tuple[object, tuple[PlateStack, ...], str] = None, (), ""
        self.made = self._made()

    def shown(self) -> Shown:
        self.made = self._made()
        hands, eyes = (pages.station_main(replace(self.made, may=may)) for may in (True, False))
        return Shown(self.made.head, hands, eyes)

    def stamp(self) -> str:
        """The profile, which is no file of the job's; and the day, by which a crank is to be looked over."""
        return f"{profile_text(Snapshot(self._place()))}\0{today()}"

    def close(self) -> None:
        """Nothing goes on here."""

    def do(self, post: Post, who: Who) -> Done:
        """What came of it; what its command refuses, with the places on this page for the commands that it names.
        Raises NotSaved for what is to be sent again."""
        try:
            return self._do(post, who)
        except BadInput as error:
            raise BadInput([_told_here(one) for one in error.faults], error.source) from None

    def _do(self, post: Post, who: Who) -> Done:
        if post.action == "no":
            return Done(True)
        asked = _asked(post)
        if asked is None:
            return Done(False, floor_words.NO_REQUEST)
        if (before := self._recorded(asked.id)) is not None:
            return self._resent(asked, before)
        return self._done(asked, ACTS[asked.action], who, is_yes=post.action == "yes")

    def _made(self) -> StationState:
        """The page by now. What would stack the bobweights is worked out again only where something else hangs, or
        the shop has other plates."""
        made, found = state_of(Snapshot(self._place()), self.name)
        if found is None:
            return made
        of, lines, note = self._stacks
        if of != (now := what_stacks(found.state)):
            self._stacks = now, *stacks_of(found.state, found.display)
            _, lines, note = self._stacks
        return replace(made, stacks=lines, stack_note=note)

    def _done(self, asked: Asked, act: Act, who: Who, *, is_yes: bool) -> Done:
        day = today()
        if is_late := is_yes and asked.day != day:
            asked = _of_the_day_before(asked)
        is_yes, fields = is_yes and not is_late, _fields(asked.typed)
        now = look(Snapshot(self._place(), in_memory=not is_yes))
        if is_yes and asked.stamp == now.stamp:
            return act.record(now, fields, who, asked.id, asked.sure)
        if is_yes:
            now = look(Snapshot(self._place(), in_memory=True))
        meanwhile = "" if asked.stamp == now.stamp else self._meanwhile(now, asked.head)
        sure, doubts = asked.sure, [words.ANOTHER_DAY] if is_late else []
        ask = act.ask(now, fields, who)
        try:
            act.record(now, fields, who, asked.id, sure)
        except AskedBack as error:
            sure = True
            doubts += [str(replace(one, remedy="")) for one in error.faults]
        else:
            doubts += [words.LOOKS_WRONG.format(said=said) for said in act.told(now)]
            doubts += _ended(now)
        lines = [line for line in (meanwhile, *doubts, ask) if line]
        of = json.dumps(asked._replace(stamp=now.stamp, head=now.head, sure=sure, day=day)._asdict())
        yes, no = Answer("yes", words.YES[asked.action]), Answer("no", words.NO)
        question = Question(of, "\n".join(lines), (no, yes) if doubts or meanwhile else (yes, no))
        return Done(False, "", question)

    def _resent(self, asked: Asked, before: str) -> Done:
        """What is said of what was recorded before: that nothing was now, and what looks wrong with it, if it is
        the last of its kind."""
        now, lines = look(Snapshot(self._place(), in_memory=True)), [floor_words.IS_SAVED.format(said=before)]
        if (last := now.state.last_test) is not None and last.id == asked.id:
            lines += ACTS[asked.action].told(now)
        return Done(True, "\n".join(lines), is_warning=True)

    def _recorded(self, key: str) -> str | None:
        """What the record of an id says, where it was written before."""
        log = open_log(Snapshot(self._place()), damaged=True)
        found = next((one for one in reversed(log.records) if one.id == key), None)
        return None if found is None else _said([found])[0]

    def _meanwhile(self, now: Look, head: int) -> str:
        """What was recorded since a screen was drawn, or that something else has changed."""
        written = [one for one in open_log(now.place).written if not isinstance(one, Begun)]
        said = _said(written[head:])[-MOST_TOLD:] if head else []
        return words.MEANWHILE.format(what="; ".join(said) or words.CHANGED)


def _ended(now: Look) -> list[str]:
    """That what was tried ends the signature that counts."""
    ends = station_words.ends_what_is_signed(now.state)
    return [ends] if ends and not may_go.holds(balancing.load(now.place, now.profile)) else []


def _told_here(fault: Fault) -> Fault:
    return replace(fault, wrong=here(fault.wrong), allowed=here(fault.allowed), remedy=here(fault.remedy))


def _said(records: list[Record]) -> list[str]:
    """Records in words, with who wrote them and when."""
    found = []
    for event in events_of(records, {}):
        by = f" by {event.record.by}" if event.record.by else ""
        said = f"{event.record.action} {history_words.told(event)}".strip()
        found.append(words.RECORD_BY.format(said=said, by=by, at=f"{when(event.record.at)} UTC"))
    return found


def _asked(post: Post) -> Asked | None:
    """What a screen sends, or says yes to; None for what none of ours sends."""
    if post.action != "yes":
        return Asked(post.id, post.action, post.typed, post.step, post.saw) if post.action in ACTS else None
    try:
        found = Asked(**json.loads(post.of))
    except (ValueError, TypeError, RecursionError):
        return None
    texts = (found.id, found.action, found.typed, found.stamp, found.day)
    is_whole = all(isinstance(one, str) for one in texts) and type(found.head) is int and type(found.sure) is bool
    return found if is_whole and found.action in ACTS and is_id(found.id) else None


def _of_the_day_before(asked: Asked) -> Asked:
    """The same once its day is over: nothing of it was looked at today."""
    fields = {**_fields(asked.typed), "looked_over": False}
    return asked._replace(typed=json.dumps(fields), sure=False)


def _fields(typed: str) -> Mapping[str, Any]:
    """What was typed, field by field. Raises BadInput for what no page of ours sends."""
    try:
        data = json.loads(typed or "{}")
    except (ValueError, RecursionError):
        data = None
    if not isinstance(data, dict):
        raise BadInput([Fault("", floor_words.NO_REQUEST)])
    return data
