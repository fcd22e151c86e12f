"""What a screen sends: read strictly; and asked back where the step that it showed is another by now."""

from __future__ import annotations

import json
import uuid

import pytest
from fed_scale import seat_elsewhere
from floor_shop import blank_job
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import Cut, Struck, Weighed
from truethrow.balance.weighing.benchjob import load
from truethrow.balance.weighing.session import Session
from truethrow.cli.floor.posts import MOST_ANSWERS, At, Post, asked, at, is_id, keep, looked_at, post_of
from truethrow.worksheets.pages.floor.state import Done


def sent(**fields):
    return {"id": str(uuid.uuid4()), "action": "type", "typed": "538.4", "step": "", **fields}


def test_what_our_pages_send_is_read():
    post = post_of(sent(typed="538,4", why="w", of="o"))
    assert (post.action, post.typed, post.why, post.of, post.sure) == (
        "type",
        "538,4",
        "w",
        "o",
        False,
    )


@pytest.mark.parametrize(
    "data",
    [
        None,
        [],
        "text",
        {},
        sent(id="1"),
        sent(id="../../etc"),
        sent(id=str(uuid.uuid4()).upper()),
        sent(action=""),
        sent(typed=5),
        sent(typed="5" * 61),
        sent(typed="5\ud800"),
        sent(why="\udfff"),
        sent(of="5" * 5000),
        sent(saw="3"),
        sent(saw=True),
        sent(of={"a": 1}),
    ],
)
def test_what_none_of_our_pages_sends_is_refused(data):
    with pytest.raises(ValueError):
        post_of(data)


@given(st.text())
def test_only_a_uuid_is_an_id(text):
    assert is_id(text) is False or str(uuid.UUID(text)) == text


@given(st.text(max_size=60))
def test_a_step_is_read_as_it_was_written_or_not_at_all(text):
    found = At.parse(text)
    assert found is None or At.parse(str(found)) == found


@pytest.fixture
def session(tmp_path):
    path = blank_job(tmp_path)
    made = Session(load(path), open_log(path))
    made.path = path
    return made


def typed_at(session, text="538.4", digest="d", **fields):
    return Post(str(uuid.uuid4()), "type", text, step=str(at(session.step, session, digest)), **fields)


def test_a_reading_for_the_step_that_is_asked_for_goes_on(session):
    assert looked_at(typed_at(session), session, "d") == (None, None)


def test_a_reading_for_a_step_that_somebody_else_weighed_is_asked_back(session):
    post = typed_at(session)
    open_log(session.path, "other").append(Weighed(1, "piston", 538.2, "538.2"))
    session.refreshed()
    assert session.step.cylinder == 2
    done, step = looked_at(post, session, "d")
    assert (done.ok, step) == (False, None)
    assert "piston 1 got another reading, 538.2" in done.question.ask
    sure = asked(done.question.of)
    assert (sure.id, sure.typed, sure.sure) == (post.id, post.typed, True)
    done, step = looked_at(sure, session, "d")
    assert done is None
    assert (step.kind, step.cylinder) == ("piston", 1)


def test_a_reading_for_a_part_that_is_not_asked_for_now_is_asked_back(session):
    post = typed_at(session)
    session.go(3, "pin")
    done, _ = looked_at(post, session, "d")
    assert "piston 1 was asked for on this screen, now it is Pin 3" in done.question.ask


def test_a_check_with_which_a_session_begins_makes_no_other_part_of_the_one_that_was_asked_for(tmp_path):
    path = blank_job(tmp_path)
    made = Session(load(path, port="/dev/scale"), open_log(path))
    assert made.step.kind == "zero"
    post = Post(str(uuid.uuid4()), "type", "538.4", step=f"piston:1::{made.now.part_at(made.steps[1])}:::d:weigh")
    done, step = looked_at(post, made, "d")
    assert done is None
    assert (step.kind, step.cylinder) == ("piston", 1)
    assert not looked_at(post._replace(action="take", typed=""), made, "d")[0].ok
    while made.step.when != "end":
        made.take("0.0" if made.step.is_check else "538.4")
    assert looked_at(post, made, "d")[0].question


def test_a_reading_that_was_typed_before_its_part_was_ground_is_asked_back(session):
    """The cut came between typing and sending: what was typed is not what the part weighs by now."""
    session.go(1, "piston")
    post = typed_at(session)
    log = open_log(session.path, "other")
    log.append(Cut(2, "piston", 0.4))
    session.refreshed()
    session.go(1, "piston")
    assert looked_at(post, session, "d") == (None, None)
    log.append(Cut(1, "piston", 0.4))
    session.refreshed()
    session.go(1, "piston")
    asks = looked_at(post, session, "d")[0].question
    assert "metal was taken off piston 1" in asks.ask
    assert looked_at(asked(asks.of), session, "d") == (None, None)
    assert looked_at(typed_at(session), session, "d") == (None, None)


def test_what_is_taken_off_the_other_end_of_a_rod_counts_as_well(session):
    session.go(1, "big_end")
    post = typed_at(session)
    open_log(session.path, "other").append(Cut(1, "small_end", 0.4))
    session.refreshed()
    session.go(1, "big_end")
    assert "metal was taken off rod 1" in looked_at(post, session, "d")[0].question.ask


def test_a_reading_where_nothing_is_asked_for_any_more_is_asked_back(session):
    while session.step is not None:
        session.take("538.4")
    session.go(1, "piston")
    post = typed_at(session)
    session.go(2, "piston")
    session.take("538.4")
    assert session.step is None
    ask = looked_at(post, session, "d")[0].question.ask
    assert "now nothing is. Record" in ask
    assert ".." not in ask


def test_a_yes_counts_only_for_what_was_asked(session):
    """A third reading came between the question and its answer: it is asked again, and that yes counts."""
    post = typed_at(session)
    other = open_log(session.path, "other")
    other.append(Weighed(1, "piston", 538.2, "538.2"))
    session.refreshed()
    first, _ = looked_at(post, session, "d")
    other.append(Weighed(1, "piston", 538.3, "538.3"))
    session.refreshed()
    second, step = looked_at(asked(first.question.of), session, "d")
    assert step is None
    assert "piston 1 got another reading, 538.3" in second.question.ask
    third, _ = looked_at(asked(second.question.of), session, "new")
    assert "the job's text was changed" in third.question.ask
    done, step = looked_at(asked(second.question.of), session, "d")
    assert done is None
    assert (step.kind, step.cylinder) == ("piston", 1)


def test_a_reading_in_the_place_of_one_that_was_canceled_is_asked_back(session):
    """As many readings as before, but others."""
    session.take("538.2")
    session.go(1, "piston")
    post = typed_at(session)
    other = open_log(session.path, "other")
    other.append(Struck(other.records[0].id, why="slip"))
    other.append(Weighed(1, "piston", 540.1, "540.1"))
    session.refreshed()
    session.go(1, "piston")
    assert "got another reading, 540.1" in looked_at(post, session, "d")[0].question.ask


def test_a_reading_of_the_grinder_is_no_plain_weighing_before_somebody_says_so(session):
    then = at(session.step, session, "d")
    post = typed_at(session)._replace(step=str(then._replace(work="grind")))
    done, step = looked_at(post, session, "d")
    assert (done.ok, step) == (False, None)
    assert "538.4 was typed at the grinder" in done.question.ask
    assert "piston 1" in done.question.ask
    done, step = looked_at(asked(done.question.of), session, "d")
    assert done is None
    take = post._replace(action="take", typed="")
    assert looked_at(take, session, "d")[0].ok is False


def test_a_part_that_traded_places_and_a_job_that_changed_are_asked_back(session):
    session.go(2, "piston")
    post = typed_at(session)
    seat_elsewhere(session.path)
    session.refreshed()
    assert "parts have traded places" in looked_at(post, session, "d")[0].question.ask
    session.go(1, "pin")
    assert "the job's text was changed" in looked_at(typed_at(session), session, "other")[0].question.ask


def test_a_reading_that_was_canceled_meanwhile_is_no_question(session):
    session.take("538.2")
    session.go(1, "piston")
    post = typed_at(session)
    log = open_log(session.path, "other")
    log.append(Struck(log.records[0].id, why="slip"))
    session.refreshed()
    session.go(1, "piston")
    assert looked_at(post, session, "d") == (None, session.step)


@pytest.mark.parametrize("action", ["take", "skip"])
def test_what_lies_there_is_never_taken_for_another_part(session, action):
    post = typed_at(session)._replace(action=action, typed="")
    session.take("538.4")
    done, step = looked_at(post, session, "d")
    assert (done.ok, done.question, step) == (False, None, None)
    assert "look again" in done.said
    assert looked_at(post._replace(sure=True), session, "d")[0] is not None


def test_what_names_no_step_is_refused_and_what_needs_none_goes_on(session):
    assert not looked_at(Post("x", "type", "5", step="nonsense"), session, "d")[0].ok
    assert not looked_at(Post("x", "type", "5", step="piston:99::0:::d:weigh"), session, "d")[0].ok
    assert looked_at(Post("x", "back"), session, "d") == (None, None)


@pytest.mark.parametrize("of", ["", "null", "[1]", json.dumps({"id": "x"}), "[" * 4000])
def test_a_yes_to_what_was_never_asked_is_none(of):
    assert asked(of) is None


def test_of_what_was_answered_the_oldest_is_forgotten():
    answers = {}
    for number in range(MOST_ANSWERS + 1):
        keep(answers, str(number), Done(ok=True))
    assert (len(answers), "0" in answers, "1" in answers) == (MOST_ANSWERS, False, True)
