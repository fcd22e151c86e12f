"""The builder's desk: a match looked for, stopped and accepted; the cuts of the trim ticked one by one. Each by
the function of the command that does it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from truethrow.balance.base.errors import says
from truethrow.balance.base.parts import UNIT_OF
from truethrow.balance.job import undoing
from truethrow.balance.job.sources import names_of
from truethrow.balance.log.place import JobInBook, Snapshot, open_log
from truethrow.balance.log.records import Cut, Proposed
from truethrow.balance.log.replaying import waiting, waiting_last
from truethrow.balance.matching import proposing
from truethrow.balance.result import plans
from truethrow.cli.floor import look_again
from truethrow.cli.floor.bench import Who
from truethrow.cli.floor.build_state import made
from truethrow.cli.floor.desk import Shown
from truethrow.cli.floor.devices import MAY_BUILD
from truethrow.cli.floor.posts import Post
from truethrow.cli.floor.searching import Search
from truethrow.worksheets.pages.floor import pages
from truethrow.worksheets.pages.floor.state import Answer, Done, Question
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import build_words as words
from truethrow.worksheets.words import server_words


class Build:
    """What the desk of one job is for. place: makes the job's place anew; changed: called when the page changes
    without a record."""

    def __init__(self, name: str, place: Callable[[], Path | JobInBook], changed: Callable[[], None]) -> None:
        self._name, self._place, self._changed = name, place, changed
        self._search: Search | None = None
        self._said: tuple[str, ...] = ()

    def shown(self) -> Shown:
        search = self._search
        if search is not None and not search.is_running:
            self._said, self._search = search.ended, None
            search.close()
        shown = self._search.shown if self._search else None
        self.made = made(Snapshot(self._place()), self._name, shown, self._said)
        state = self.made.state
        return Shown(state.head, pages.build_main(state, acts=True), pages.build_main(state, acts=False))

    @property
    def is_busy(self) -> bool:
        return self._search is not None and self._search.is_running

    def stamp(self) -> str:
        return ""

    def close(self) -> None:
        if self._search is not None:
            self._search.close()

    def do(self, post: Post, who: Who) -> Done:
        if (of_builders := self._of_builders.get(post.action)) and who.role not in MAY_BUILD:
            return Done(False, words.MAY_NOT_BUILD.format(role=who.role))
        of_all = {"tick": self._ticked, "cancel": self._canceled, "confirm": self._confirmed}
        does = of_builders or of_all.get(post.action)
        if does is None:
            return Done(False, server_words.NO_SUCH_ACTION.format(action=post.action))
        return does(post, who)

    @property
    def _of_builders(self) -> dict[str, Callable[[Post, Who], Done]]:
        return {"match": self._begin, "stop": self._end, "accept": self._accepted, "reject": self._rejected}

    def _accepted(self, post: Post, who: Who) -> Done:
        place = Snapshot(self._place())
        records = open_log(place).records
        last = waiting_last(records)
        if last is not None and last.id != post.step and any(one.id == post.step for one in waiting(records)):
            return Done(False, words.NEWER_MATCH)  # this screen asked about an older one
        proposing.accept(place, post.step, who.initials)
        self._said = ()
        return Done(True, words.ACCEPTED_NOW)

    def _rejected(self, post: Post, who: Who) -> Done:
        """A proposal that nobody wants: canceled as strike does it."""
        place = Snapshot(self._place())
        undo = undoing.of_record(place, post.step)
        if not isinstance(undo.step[0].record, Proposed):
            return Done(False, words.NO_PROPOSAL)
        undoing.cancel(place, undo, words.REJECTED_WHY, who.initials)
        self._said = ()
        return Done(True, words.REJECTED)

    def _begin(self, post: Post, who: Who) -> Done:
        if self.is_busy:
            return Done(False, words.SEARCHES_ALREADY)
        self._said = ()
        self._search = Search(self._place(), who.initials, self._changed)
        return Done(True, words.SEARCHES)

    def _end(self, post: Post, who: Who) -> Done:
        if self._search is None or not self._search.is_running:
            return Done(False, words.NO_SEARCH)
        self._search.stop()
        return Done(True, words.STOPPING)

    def _confirmed(self, post: Post, who: Who) -> Done:
        """A reading that looks like a slip and is right: recorded as confirm does it, under the initials that are
        typed for it and not the device's, once somebody has said why."""
        if not post.of:
            doubt = next((one for one in self.made.state.doubts if one.right and one.right == post.step), None)
            if doubt is None:
                return Done(False, words.NO_LONGER_ASKED)
            answers = (Answer("confirm", words.YES_RIGHT),)
            return Done(False, doubt.ask, Question(doubt.right, doubt.ask, answers, True, words.WHO_LOOKED))
        if not (says(post.typed) and says(post.why)):
            return Done(False, words.WHO_AND_WHY)
        if not look_again.confirm(Snapshot(self._place()), post.of, post.why, post.typed):
            return Done(False, words.NO_LONGER_ASKED)
        return Done(True, words.RIGHT_NOW.format(by=post.typed.strip()))

    def _ticked(self, post: Post, who: Who) -> Done:
        recorded = plans.tick(Snapshot(self._place()), post.step, who.initials)
        job, (cut,) = recorded.job, recorded.cuts
        part = job.names.said(UNIT_OF[cut.pad], cut.cylinder)
        return Done(True, words.TICKED_NOW.format(part=part, grams=Display.of(job).masses(cut.grams)))

    def _canceled(self, post: Post, who: Who) -> Done:
        """A cut that is told as off but is not: canceled as strike does it, once somebody has said why."""
        place = Snapshot(self._place())
        cut = next((one for one in open_log(place).records if one.id == post.step), None)
        if not isinstance(cut, Cut):
            return Done(False, words.NO_CUT_HERE)
        undo, part = undoing.of_record(place, cut.id), names_of(place).said(UNIT_OF[cut.pad], cut.cylinder)
        if not post.why:
            ask = words.CANCEL_WHY.format(part=part)
            return Done(
                False, ask, Question(cut.id, ask, tuple(Answer("cancel", why, why) for why in words.WHY_NOT))
            )
        undoing.cancel(place, undo, post.why, who.initials)
        canceled = words.UNTICKED.format(part=part)
        if post.why == words.WRONG_PART:
            return Done(True, words.GROUND_INSTEAD.format(canceled=canceled), is_warning=True)
        return Done(True, canceled)
