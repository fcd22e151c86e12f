"""A desk: one thing at a time, worked out anew after each change, told to all screens."""

from __future__ import annotations

import uuid

import pytest
from floor_bench import OTHER, OWNER, until

from truethrow.balance.base.errors import BadInput, Fault, NotSaved
from truethrow.cli.floor.desk import Desk, Shown, shown_event
from truethrow.cli.floor.posts import Post
from truethrow.worksheets.pages.floor.state import Answer, Done, Question


class Work:
    """What a test has a desk do."""

    def __init__(self, changed):
        self.changed, self.count, self.done, self.mark = changed, 0, [], ""
        self.is_busy = False
        self.answer = lambda post: Done(True, post.typed)

    def shown(self):
        return Shown(self.count, f"<main>{self.count}</main>", "<main></main>")

    def stamp(self):
        return self.mark

    def do(self, post, who):
        self.done.append(post.id)
        self.count += 1
        return self.answer(post)

    def close(self):
        self.closed = True


@pytest.fixture
def desk():
    made = Desk("job", Work)
    yield made
    made.close()
    assert made.work.closed


def post(**fields):
    return Post(**{"id": str(uuid.uuid4()), "action": "tick", **fields})


def test_the_same_post_twice_is_done_once_and_answered_the_same(desk):
    one = post(typed="x")
    assert desk.ask(one, OWNER) == desk.ask(one, OTHER) == Done(True, "x")
    assert desk.work.done == [one.id]
    assert desk.shown.hands == "<main>1</main>"


def test_a_refusal_is_an_answer_in_the_words_of_the_command_line_without_its_file(desk):
    def refuses(post):
        raise BadInput([Fault("rod 3", "recorded already"), Fault("rod 4", "not in the plan")], "my.toml")

    desk.work.answer = refuses
    assert desk.ask(post(), OWNER) == Done(False, "rod 3: recorded already\nrod 4: not in the plan")


def test_what_did_not_reach_the_disk_or_waits_for_a_yes_may_be_sent_again(desk):
    def fails(post):
        raise NotSaved("disk full", "my.log")

    one, desk.work.answer = post(), fails
    with pytest.raises(NotSaved):
        desk.ask(one, OWNER)
    desk.work.answer = lambda post: Done(False, "", Question("x", "sure?", (Answer("yes", "Yes"),)))
    assert desk.ask(one, OWNER).question
    desk.work.answer = lambda post: Done(True)
    assert desk.ask(one, OWNER) == Done(True)
    assert desk.work.done == [one.id] * 3


def test_it_is_worked_out_anew_when_something_changed_or_another_thing_than_a_record_did(desk):
    desk.work.count = 5
    assert desk.shown.head == 0
    desk.look()
    until(lambda: desk.shown.head == 5)
    desk.work.count = 6
    desk.work.mark = "another profile"
    until(lambda: desk.shown.head == 6)


def test_it_is_watched_while_a_screen_is_there_or_something_is_under_way(desk):
    assert not desk.is_watched
    desk.join(OWNER)
    assert desk.is_watched
    desk.leave(OWNER)
    assert desk.is_watched  # it was until a moment ago
    desk._left_s -= 10.0
    assert not desk.is_watched
    desk.work.is_busy = True
    assert desk.is_watched


def test_who_may_only_look_is_shown_no_button():
    told = shown_event(Shown(3, "<main>button</main>", "<main></main>"))
    assert b"button" in told.text
    assert b"button" not in told.to_eyes
    assert b"id: 3\n" in told.text
