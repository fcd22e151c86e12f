"""What a screen sends, and whether it still means what is asked for now.

It names the step that it showed. Where that is not the one that is asked for any more (somebody else weighed the
part, it traded places, the job's text was changed), nothing is recorded before a person has said yes."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from truethrow.balance.base.parts import UNIT_OF
from truethrow.balance.log.records import Cut
from truethrow.balance.weighing.grinder import GrindSession
from truethrow.cli.weighing.benchtext import what
from truethrow.worksheets.pages.floor.state import Answer, Done, Question
from truethrow.worksheets.words import server_words as words

if TYPE_CHECKING:
    from truethrow.balance.weighing.benchjob import WeighStep
    from truethrow.balance.weighing.session import Session

# Of any text that is sent: a question comes back as it was asked.
LONGEST = 4000
LONGEST_TYPED = 60
MOST_ANSWERS = 500

Kept = TypeVar("Kept")


class Post(NamedTuple):
    """What a hand did. id: made by the screen; step, saw: the one that it showed, and the last record, where that
    counts; of: the question that is answered; sure: somebody was asked and said yes."""

    id: str
    action: str
    typed: str = ""
    why: str = ""
    of: str = ""
    saw: int = 0
    step: str = ""
    sure: bool = False


def keep(answers: dict[str, Kept], key: str, answer: Kept) -> None:
    """Keep what was answered, for whoever sends the same again; what is oldest is forgotten."""
    answers[key] = answer
    if len(answers) > MOST_ANSWERS:
        answers.pop(next(iter(answers)))


class At(NamedTuple):
    """A step, as a screen sends it back. part: which one is there; last: the id of its last reading that counts;
    cut: of its last cut; job: a digest of what the job and the bench's profile say; work: whether it is weighed or
    ground there."""

    kind: str
    cylinder: int
    when: str
    part: int
    last: str
    cut: str
    job: str
    work: str

    def __str__(self) -> str:
        return ":".join(map(str, self))

    @property
    def place(self) -> tuple[str, int, str]:
        return self.kind, self.cylinder, self.when

    @classmethod
    def parse(cls, text: str) -> At | None:
        fields = text.split(":")
        if len(fields) != len(cls._fields) or not (_is_number(fields[1]) and _is_number(fields[3])):
            return None
        return cls(fields[0], int(fields[1]), fields[2], int(fields[3]), *fields[4:])


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 9


def at(step: WeighStep | None, session: Session, digest: str) -> At:
    """A step by now."""
    work = "grind" if isinstance(session, GrindSession) else "weigh"
    if step is None:
        return At("", 0, "", 0, "", "", digest, work)
    if step.is_check:
        return At(step.kind, step.cylinder, step.when, 0, "", "", digest, work)
    own = session.now.of(step)
    last = own[-1].id if own else ""
    cut = _last_cut(step, session)
    return At(step.kind, step.cylinder, step.when, session.now.part_at(step), last, cut, digest, work)


def _last_cut(step: WeighStep, session: Session) -> str:
    """The id of the last record of what was taken off a part, at whichever of its ends."""
    part = UNIT_OF.get(step.kind, step.kind)
    cuts = (one for one in reversed(session.now.replay.placed) if isinstance(one, Cut))
    its = (one for one in cuts if (UNIT_OF.get(one.kind, one.kind), one.cylinder) == (part, step.cylinder))
    return next((one.id for one in its), "")


def looked_at(post: Post, session: Session, digest: str) -> tuple[Done | None, WeighStep | None]:
    """What comes before anything is done: a question, or a refusal, None where nothing does; and the step that is
    it is carried out at, None where that is the one that is asked for anyway."""
    if post.action not in ("take", "type", "skip"):
        return None, None
    then, now = At.parse(post.step), at(session.step, session, digest)
    if then is None:
        return Done(False, words.NO_REQUEST), None
    if then == now:
        return None, None
    step = next((one for one in session.steps if (one.kind, one.cylinder, one.when) == then.place), None)
    is_lost = step is None or (step.is_check and then.place != now.place)
    if post.action != "type" or step is None or is_lost:
        said = words.NOTHING_TO_TAKE if session.step is None else words.TAKE_AGAIN.format(now=what(session))
        return Done(False, said), None
    here = at(step, session, digest)
    ask = "" if post.sure and then == here else _question(post, session, step, then, here, now)
    if not ask:
        return None, step
    # A yes is to what was true when it was asked.
    return Done(False, ask, _yes_or_no(post._replace(step=str(here)), ask)), None


def _question(post: Post, session: Session, step: WeighStep, then: At, here: At, now: At) -> str:
    """What a person is asked; nothing where the part is the same as before: a reading of it was canceled, or
    a bench that begins anew (its computer was off) only asks for a check of the scale first."""
    part = what(session) if step.is_check else session.now.names.said(step.kind, step.cylinder)
    if here.job != then.job or here.part != then.part:
        changed = words.JOB_CHANGED if here.job != then.job else session.moved() or words.PARTS_TRADED
        return words.PART_CHANGED.format(what=changed, typed=post.typed, part=part)
    if here.work != then.work:
        asked = words.TYPED_AT_GRINDER if then.work == "grind" else words.TYPED_AT_SCALE
        return asked.format(part=part, typed=post.typed)
    if _is_later(here.cut, then.cut, session):
        return words.CUT_SINCE.format(part=part, typed=post.typed)
    if _is_later(here.last, then.last, session):
        before = session.now.of(step)[-1].typed
        return words.HAS_ONE_MORE.format(part=part, before=before, typed=post.typed)
    if then.place == now.place or now.when == "start":
        return ""
    asked = words.NO_STEP_NOW if session.step is None else words.STEP_IS_ANOTHER
    return asked.format(part=part, now=what(session), typed=post.typed)


def _is_later(record: str, other: str, session: Session) -> bool:
    """Whether a record came after another, by their ids; after none came each."""
    ids = [one.id for one in session.log.records]
    return record in ids and (other not in ids or ids.index(record) > ids.index(other))


def _yes_or_no(post: Post, ask: str) -> Question:
    of = json.dumps(post._replace(of="", sure=False)._asdict())
    return Question(of, ask, (Answer("yes", words.YES), Answer("no", words.NO)))


def asked(of: str) -> Post | None:
    """What somebody was asked about, and is sure of; None for what was never asked."""
    try:
        return post_of(json.loads(of))._replace(sure=True)
    except (ValueError, RecursionError):
        return None


def post_of(data: Any, longest_typed: int = LONGEST_TYPED) -> Post:
    """What a screen sent. Raises ValueError for what none of ours sends."""
    if not isinstance(data, Mapping):
        raise ValueError
    texts = {name: data.get(name, "") for name in ("id", "action", "typed", "why", "of", "step")}
    saw = data.get("saw", 0)
    if not all(isinstance(text, str) and len(text) <= LONGEST for text in texts.values()):
        raise ValueError
    for text in texts.values():
        text.encode()  # half of a sign raises ValueError
    if len(texts["typed"]) > longest_typed:
        raise ValueError
    if not isinstance(saw, int) or isinstance(saw, bool) or not is_id(texts["id"]) or not texts["action"]:
        raise ValueError
    return Post(**texts, saw=saw)


def is_id(text: str) -> bool:
    """Whether a text is an id as screens make them: a UUID, as it is written."""
    groups = text.split("-")
    return [len(group) for group in groups] == [8, 4, 4, 4, 12] and {*"".join(groups)} <= {*"0123456789abcdef"}
