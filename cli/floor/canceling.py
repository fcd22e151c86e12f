"""A wrong reading canceled at a bench of the floor, the last one or any other: which, why, and a yes that reads it
back; by the rule of `strike`."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from truethrow.balance.base.parts import label
from truethrow.balance.job import undoing
from truethrow.balance.log.log import when
from truethrow.cli.weighing.benchloop import named
from truethrow.worksheets.pages.floor.state import Answer, Done, Question
from truethrow.worksheets.words import bench_words, undo_words
from truethrow.worksheets.words import server_words as words

if TYPE_CHECKING:
    from truethrow.balance.log.place import Snapshot
    from truethrow.balance.log.records import Weighed
    from truethrow.balance.weighing.session import Session
    from truethrow.cli.floor.posts import Post
    from truethrow.cli.weighing.benchloop import BenchLoop


def asked_first(loop: BenchLoop, place: Snapshot, post: Post) -> tuple[Weighed | None, Done]:
    """The reading that is to be canceled now; None where something comes before, and that: the question which one,
    the question why, of any but the last a yes, or a refusal."""
    target = last = loop.target()
    if post.of:
        target = next((one for one in _that_count(loop.session) if one.id == post.of), None)
    elif target is None:
        return None, which_reading(loop, "")
    if target is None:
        return None, _refused(words.NOT_COUNTED)
    if rests := undoing.of_record(place, target.id).rests:
        told = "; ".join(undo_words.without_id(one) for one in rests)
        return None, _refused(words.RESTS_ON_IT.format(what=told))
    said = {"typed": target.typed, "part": named(target, loop.session)}
    if not post.why:
        ask = bench_words.CANCEL_WHY.format(**said)
        reasons = [Answer("cancel", why, why) for why in bench_words.REASONS.values()]
        if not post.of:
            reasons.append(Answer("readings", words.ANOTHER_READING))
        return None, Done(False, ask, Question(target.id, ask, tuple(reasons), free=True))
    if target is not last and not post.sure:
        ask = words.CANCEL_IT.format(**said, why=post.why)
        of = json.dumps(post._replace(sure=False)._asdict())
        answers = Answer("yes", words.YES_CANCEL), Answer("no", words.NO_STAYS)
        return None, Done(False, ask, Question(of, ask, answers))
    return target, Done(True)


def which_reading(loop: BenchLoop, of: str) -> Done:
    """The question which reading is wrong. of: a kind, or a part (kind:cylinder), which comes first then; else the
    kind that is weighed now."""
    session = loop.session
    found = _that_count(session)
    if not found:
        return _refused(words.NOTHING_COUNTS)
    order = [*dict.fromkeys(step.kind for step in session.steps)]
    kinds = [kind for kind in order if any(one.kind == kind for one in found)]
    kind, _, cylinder = of.partition(":")
    if kind not in kinds:
        at_hand = session.step.kind if session.step is not None else ""
        kind = at_hand if at_hand in kinds else kinds[-1]
    own = [one for one in found if one.kind == kind]
    own.sort(key=lambda one: (str(one.cylinder) != cylinder, one.cylinder))
    answers = [Answer("cancel", _told(one, session), of=one.id) for one in own]
    answers += [
        Answer("readings", words.READINGS_OF.format(kind=label(one)), of=one) for one in kinds if one != kind
    ]
    return Done(False, words.WHICH_READING, Question("", words.WHICH_READING, tuple(answers)))


def _that_count(session: Session) -> list[Weighed]:
    return [one for own in session.now.readings.values() for one in own]


def _told(record: Weighed, session: Session) -> str:
    who = record.by or record.bench
    return words.A_READING.format(part=named(record, session), typed=record.typed, who=who, when=when(record.at))


def _refused(why: str) -> Done:
    return Done(False, bench_words.REFUSED.format(why=why))
