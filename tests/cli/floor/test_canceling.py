"""A wrong reading that is not the last is canceled at the bench's own page, as strike cancels it."""

from __future__ import annotations

import pytest
from commands import run
from floor_bench import Hands, opened
from floor_shop import blank_job, job_with_a_slip

from truethrow.balance.job.undoing import of_record
from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import Struck, Weighed
from truethrow.worksheets.words import server_words as words


@pytest.fixture
def bench(tmp_path):
    made = opened(blank_job(tmp_path))
    yield made
    made.close()


def weighed(hands, *typed):
    for one in typed:
        assert hands.does("type", one).ok


def strikes(folder):
    return [one for one in open_log(folder / "job.toml").records if isinstance(one, Struck)]


def test_any_reading_is_picked_given_a_reason_and_read_back_before_it_is_canceled(bench, tmp_path):
    hands = Hands(bench)
    weighed(hands, "538.4", "583.5", "538.6")
    which = hands.does("readings", of="piston:2").question
    assert which.answers[0].text.startswith("piston 2: 583.5 (AB, ")
    assert [one.text.partition(" (")[0] for one in which.answers[1:]] == ["piston 1: 538.4", "piston 3: 538.6"]
    why = hands.does(which.answers[0].action, of=which.answers[0].of).question
    reason = why.answers[1]
    sure = hands.does(reason.action, of=why.of, why=reason.why).question
    assert sure.ask.startswith("Cancel 583.5 of piston 2, because: typed wrong?")
    assert strikes(tmp_path) == []
    assert hands.does("yes", of=sure.of).ok
    (strike,) = strikes(tmp_path)
    assert (strike.of, strike.why, strike.by) == (which.answers[0].of, "typed wrong", "AB")
    assert bench.state.step == "piston 2"
    assert hands.does("yes", of=sure.of).ok  # sent once more
    assert len(strikes(tmp_path)) == 1


def test_a_no_leaves_the_reading(bench, tmp_path):
    hands = Hands(bench)
    weighed(hands, "538.4", "583.5")
    first = hands.does("readings").question.answers[0]
    sure = hands.does("cancel", of=first.of, why="typed wrong").question
    assert hands.does("no", of=sure.of).ok
    assert strikes(tmp_path) == []
    assert bench.state.answered[-1].said == "AB answered: 538.4 of piston 1 stays"


def test_readings_of_the_other_kinds_are_a_touch_away(bench):
    hands = Hands(bench)
    weighed(hands, "538.4")
    hands.does("go", "2 pin")
    weighed(hands, "120.1")
    which = hands.does("readings").question
    assert which.answers[0].text.startswith("pin 2: 120.1")
    assert (which.answers[-1].action, which.answers[-1].of) == ("readings", "piston")
    assert hands.does("readings", of="piston").question.answers[0].text.startswith("piston 1: 538.4")


def test_an_older_reading_is_canceled_in_a_session_that_took_none(tmp_path):
    job = blank_job(tmp_path)
    assert run("weigh", job, stdin="538.4\n").status in (0, 1)
    made = opened(job)
    try:
        asked = Hands(made).does("cancel")
        assert asked.question.ask == words.WHICH_READING
        assert "cancel" in made.state.may
    finally:
        made.close()


def test_a_reading_that_was_canceled_meanwhile_or_never_was_is_refused(bench, tmp_path):
    hands = Hands(bench)
    assert not hands.does("readings").ok
    assert "readings" not in bench.state.may
    weighed(hands, "538.4", "583.5")
    gone = hands.does("readings").question.answers[0].of
    sure = hands.does("cancel", of=gone, why="typed wrong").question
    assert run("strike", tmp_path / "job.toml", gone, "--why", "typed wrong").status in (0, 1)
    done = hands.does("yes", of=sure.of)
    assert (done.ok, len(strikes(tmp_path))) == (False, 1)
    assert words.NOT_COUNTED in done.said


def test_what_rests_on_a_reading_holds_it_as_it_holds_strike(tmp_path, monkeypatch):
    """Nothing does that a bench can cancel alone by now; should it, the command line's rule is asked."""
    job = job_with_a_slip(tmp_path)
    made = opened(job)
    try:
        hands = Hands(made)
        hands.does("go", "1 piston")
        weighed(hands, "538.4")
        own = open_log(job).records[-1]
        assert isinstance(own, Weighed)
        undo = of_record(job, own.id)
        monkeypatch.setattr(
            "truethrow.balance.job.undoing.of_record", lambda *_, **__: undo._replace(rests=undo.step)
        )
        done = hands.does("cancel", of=own.id, why="typed wrong")
        assert not done.ok
        assert "later records rest on it: read" in done.said
    finally:
        made.close()
