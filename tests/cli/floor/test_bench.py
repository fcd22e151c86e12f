"""A bench of the floor: one record for each thing that a hand does, however often it is sent; one screen takes."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import re
import time

import invented
import pytest
from commands import run
from floor_bench import LONGEST_WAIT_S, OTHER, OWNER, VIEWER, Hands, TalkingScale, looks_on, opened, until
from floor_shop import blank_job, job_with_a_slip

from truethrow.balance import demo
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, NotSaved, TruethrowError
from truethrow.balance.log.place import open_log
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Closed, Struck, Weighed
from truethrow.cli.floor import bench as module
from truethrow.cli.floor.bench import Bench
from truethrow.cli.floor.by_hand import to_do
from truethrow.cli.floor.scales import Scales
from truethrow.worksheets.pages.floor.state import Answered
from truethrow.worksheets.words import server_words as words

EMPTY, ON = ["0.0 g"] * 6, lambda grams: [f"{grams} g"] * 9


@contextlib.contextmanager
def at(path, scale=None, **options):
    made = opened(path, scale, **options)
    try:
        yield made
    finally:
        made.close()


@pytest.fixture
def bench(tmp_path):
    with at(blank_job(tmp_path)) as made:
        yield made


def readings(folder):
    records = open_log(folder / "job.toml").records
    return [(one.cylinder, one.kind, one.typed) for one in records if isinstance(one, Weighed)]


def test_what_is_typed_is_one_record_with_the_id_that_the_screen_made(bench, tmp_path):
    hands = Hands(bench)
    done = hands.does("type", "538,4")
    assert (done.ok, done.said) == (True, "taken: piston 1: 538,4")
    assert done.state.step == "piston 2"
    assert done.state.head == 1
    assert [hands.again().ok for _ in range(3)] == [True] * 3
    (record,) = open_log(tmp_path / "job.toml").records
    assert (record.id, record.by) == (hands.last.id, "AB")


def test_what_is_sent_again_after_the_server_was_killed_is_still_one_record(tmp_path):
    path = blank_job(tmp_path)
    with at(path) as first:
        hands = Hands(first)
        assert hands.does("type", "538.4").ok
    with at(path) as second:
        hands.bench = second
        done = hands.again()
        assert (done.ok, done.said) == (True, "saved before: piston 1: 538.4")
        assert hands.does("type", "538.6").ok
    assert readings(tmp_path) == [(1, "piston", "538.4"), (2, "piston", "538.6")]


@pytest.mark.parametrize("typed", ["538.4", "heavy"])
def test_a_reading_typed_while_the_computer_was_off_needs_no_yes_because_the_bench_begins_with_a_zero(
    tmp_path, typed
):
    """Its part is the same one as before: it is recorded, or refused, and then the zero is asked for as before."""
    path, scale = blank_job(tmp_path), TalkingScale()
    with at(path, scale) as first:
        looks_on(first)
        scale.send(*EMPTY)
        until(lambda: first.state.step == "piston 1")
        behind = first.state
    scale = TalkingScale()
    with at(path, scale) as second:
        looks_on(second)
        until(lambda: second.state.step == "zero")
        hands = Hands(second)
        done = hands.does("type", typed, step=behind.step_id)
        assert (done.ok, done.question) == (typed == "538.4", None)
        assert done.state.step == "zero"
        assert hands.again().ok == done.ok
        scale.send(*EMPTY)
        until(lambda: second.state.step == ("piston 2" if done.ok else "piston 1"))
    assert readings(tmp_path) == [(1, "piston", typed)] * done.ok


def test_a_refusal_says_what_the_command_line_says(bench, tmp_path):
    done = Hands(bench).does("type", "heavy")
    other = blank_job(tmp_path, "other")
    said = run("weigh", other, stdin="heavy\n").out
    assert not done.ok
    assert f"line 1: {done.said}\n" in said
    assert bench.state.news.what == "refused"
    assert not log_path(tmp_path / "job.toml").exists()


def test_again_back_skip_and_go(bench, tmp_path):
    hands = Hands(bench)
    hands.does("type", "538.4")
    hands.does("again")
    assert bench.state.step == "piston 1"
    hands.does("type", "538.5")
    assert hands.does("skip").ok
    assert hands.again().ok
    assert bench.state.step == "piston 3"
    assert hands.does("go", "5 pin").said == "Pin 5"
    assert hands.does("go", "99 pin").ok is False
    assert hands.does("back").ok
    assert readings(tmp_path) == [(1, "piston", "538.4"), (1, "piston", "538.5")]
    assert sum(one.action == "skip" for one in open_log(tmp_path / "job.toml").records) == 1


def test_a_reading_is_canceled_with_a_reason_that_is_asked_for(bench, tmp_path):
    hands = Hands(bench)
    assert not hands.does("cancel").ok
    hands.does("type", "583.4")
    asked = hands.does("cancel")
    assert asked.question.free
    assert [one.action for one in asked.question.answers] == [*["cancel"] * 5, "readings"]
    done = hands.does("cancel", of=asked.question.of, why=asked.question.answers[1].why)
    assert done.ok
    assert hands.again().ok
    strikes = [one for one in open_log(tmp_path / "job.toml").records if isinstance(one, Struck)]
    assert [(one.id, one.why) for one in strikes] == [(hands.last.id, "typed wrong")]
    assert bench.state.step == "piston 1"


def test_a_question_that_somebody_answered_is_told_to_every_screen(bench, tmp_path):
    first, second = Hands(bench), Hands(bench, OTHER)
    first.does("type", "583.4")
    asked = first.does("cancel").question
    assert second.does("take-over").ok
    assert second.does("cancel", of=asked.of, why="typed wrong").ok
    answered = bench.state.answered[-1]
    assert answered.of == asked.of
    assert answered.said == "CD answered: 583.4 of piston 1 is canceled: typed wrong"


def test_a_question_that_is_answered_at_the_terminal_or_with_a_no_is_told_too(bench, tmp_path):
    hands, job = Hands(bench), tmp_path / "job.toml"
    behind = bench.state
    assert run("weigh", job, stdin="583.4\n").status in (0, 1)
    waits = hands.does("type", "538.4", step=behind.step_id).question
    assert hands.does("no", of=waits.of).ok
    assert bench.state.answered[-1] == Answered(waits.of, "AB answered: dropped: 538.4")
    first = hands.does("readings").question.answers[0].of
    asked = hands.does("cancel", of=first).question
    assert run("strike", job, asked.of, "--why", "wrong rod", "--by", "EF").status in (0, 1)
    bench.look()
    until(lambda: len(bench.state.answered) == 2)
    assert bench.state.answered[-1].said == "EF answered: 583.4 of piston 1 is canceled: wrong rod"


def test_a_reading_for_a_part_that_the_command_line_weighed_meanwhile_waits_for_a_yes(bench, tmp_path):
    hands = Hands(bench)
    behind = bench.state
    assert run("weigh", tmp_path / "job.toml", stdin="538.2\n").status in (0, 1)
    done = hands.does("type", "538.4", step=behind.step_id)
    assert not done.ok
    assert "538.2" in done.question.ask
    assert len(readings(tmp_path)) == 1
    first = hands.last
    assert hands.does("no", of=done.question.of).ok
    assert len(readings(tmp_path)) == 1
    assert hands.does("yes", of=done.question.of).ok
    assert readings(tmp_path) == [(1, "piston", "538.2"), (1, "piston", "538.4")]
    assert open_log(tmp_path / "job.toml").records[-1].id == first.id
    assert hands.does("yes", of=done.question.of).said.startswith("saved before")
    assert len(readings(tmp_path)) == 2


def test_one_screen_takes_and_another_takes_over(bench):
    first, second = Hands(bench), Hands(bench, OTHER)
    assert first.does("type", "538.4").ok
    with pytest.raises(BadInput, match="AB takes the readings here; take over first"):
        second.does("type", "538.6")
    refused = second.last
    assert second.does("take-over").ok
    second.last = refused
    assert second.again().ok  # what its screen kept comes under the same id
    with pytest.raises(BadInput):
        first.does("type", "538.6")
    assert (bench.state.taker, bench.state.taker_name) == ("tablet-2", "CD")
    assert [one.by for one in bench._loop.session.log.records] == ["AB", "CD"]


def test_who_may_only_look_does_nothing(bench, tmp_path):
    for action in ("type", "take", "take-over", "cancel", "skip", "grind"):
        with pytest.raises(BadInput, match="may look"):
            Hands(bench, VIEWER).does(action, "538.4")
    assert bench.taker is None
    assert not log_path(tmp_path / "job.toml").exists()


def test_the_scale_is_read_and_each_load_taken_once(tmp_path):
    scale = TalkingScale()
    with at(blank_job(tmp_path), scale) as bench:
        looks_on(bench)
        scale.send(*EMPTY, *ON(538.4), *EMPTY)
        until(lambda: bench.state.step == "piston 2")
        until(lambda: bench.state.live.standing == "empty")
        assert bench.state.scale == "live"
        assert readings(tmp_path) == [(1, "piston", "538.4 g")]
    assert scale.closed


def test_nothing_is_taken_from_the_scale_while_no_screen_is_there(tmp_path, monkeypatch):
    """A tablet that sleeps must not weigh on: what was put on meanwhile is not known to be the part asked for."""
    monkeypatch.setattr(module, "AWAY_S", 0.0)
    scale = TalkingScale()
    with at(blank_job(tmp_path), scale) as bench:
        looks_on(bench)
        scale.send(*EMPTY, *ON(538.4), *EMPTY, "100.0 g")
        until(lambda: bench.state.step == "piston 2")
        bench.leave(OWNER)
        until(lambda: "no screen takes here" in bench.state.hold)
        scale.send(*ON(538.6), *EMPTY, *ON(538.9))
        until(scale._lines.empty)
        looks_on(bench)
        scale.send(*ON(538.9))
        until(scale._lines.empty)
        until(lambda: bench.state.live.standing == "early")
        assert len(readings(tmp_path)) == 1
        scale.send(*EMPTY, *ON(538.6))
        until(lambda: len(readings(tmp_path)) == 2)


def test_a_screen_whose_line_is_open_while_nobody_sees_it_takes_nothing_and_is_told_to_be_asleep(
    tmp_path, monkeypatch
):
    """What was put on meanwhile, and lies there when it is woken, is taken only once the scale was seen empty."""
    monkeypatch.setattr(module, "ASLEEP_S", 0.5)
    scale = TalkingScale()
    with at(blank_job(tmp_path), scale) as bench:
        sleeps = looks_on(bench)
        scale.send(*EMPTY, *ON(538.4), *EMPTY, "100.0 g")
        until(lambda: bench.state.step == "piston 2" and bench.state.live.text == "100.0")
        sleeps()
        until(lambda: bench.state.hold == words.ASLEEP)
        assert bench.state.live.text == ""
        scale.send(*ON(538.6), *EMPTY, *ON(538.9), *EMPTY, *ON(538.2))
        until(scale._lines.empty)
        assert bench.state.hold == words.ASLEEP
        looks_on(bench)
        until(lambda: bench.state.hold == "")
        scale.send(*ON(538.2))
        until(lambda: bench.state.live.standing == "early")
        assert len(readings(tmp_path)) == 1
        assert not any("asleep" in one or "no screen" in one for one in bench.state.messages)
        scale.send(*EMPTY, *ON(538.6), *EMPTY)
        until(lambda: len(readings(tmp_path)) == 2)
    assert readings(tmp_path) == [(1, "piston", "538.4 g"), (2, "piston", "538.6 g")]


def test_a_load_that_waited_for_enter_when_the_screen_fell_asleep_is_not_there_to_be_taken(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "ASLEEP_S", 0.5)
    scale = TalkingScale()
    with at(blank_job(tmp_path), scale) as bench:
        sleeps = looks_on(bench)
        scale.send(*EMPTY, *ON(3.2))
        until(lambda: bench.state.live.standing == "held")
        sleeps()
        until(lambda: bench.state.hold == words.ASLEEP)
        assert "nobody watched the scale, NOT taken: piston 1 is still to be weighed" in bench.state.messages
        looks_on(bench)
        until(lambda: bench.state.hold == "")
        assert not Hands(bench).does("take").ok
    assert not log_path(tmp_path / "job.toml").exists() or readings(tmp_path) == []


def test_a_screen_that_shows_an_older_step_and_a_second_one_that_only_watches_are_no_sign_of_life(
    tmp_path, monkeypatch
):
    monkeypatch.setattr(module, "ASLEEP_S", 0.3)
    scale = TalkingScale()
    with at(blank_job(tmp_path), scale) as bench:
        sleeps = looks_on(bench)
        until(lambda: bench.state.step == "zero")
        behind = bench.state.step_id
        scale.send(*EMPTY, *ON(538.4), *EMPTY)
        until(lambda: bench.state.step == "piston 2")
        time.sleep(module.ASLEEP_S)  # so long a screen may take to show what has changed
        sleeps()
        looks_on(bench, OTHER)
        until(lambda: bench.state.hold == words.ASLEEP)
        for _ in range(10):
            bench.alive(OWNER, behind)
            time.sleep(0.04)
            assert bench.state.hold == words.ASLEEP


def test_a_screen_that_slept_until_its_scale_was_given_back_takes_again_once_it_is_woken(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "ASLEEP_S", 0.3)
    monkeypatch.setattr(module, "GONE_S", 0.3)
    one, two, _ = two_benches(tmp_path)
    with contextlib.closing(one), contextlib.closing(two):
        sleeps = looks_on(one)
        until(lambda: one.state.scale)
        ends = looks_on(two, OTHER)
        sleeps()
        until(lambda: two.state.scale)
        assert one.taker is None
        one.alive(OTHER, one.state.step_id)  # who did not take before does not begin to by looking on
        assert one.taker is None
        ends()
        until(lambda: two.taker is None)
        one.alive(OWNER, one.state.step_id)
        until(lambda: one.state.scale and one.state.step == "zero")
        assert one.taker == OWNER


def test_two_windows_of_one_computer_answer_for_the_step_that_each_shows(tmp_path):
    """They are one device, and either may take. What the second sends still names the step that it showed: Enter
    takes nothing for the next part, what was typed is asked about, and each load is one reading."""
    scale = TalkingScale()
    with at(blank_job(tmp_path), scale) as bench:
        first, second = Hands(bench), Hands(bench)
        looks_on(bench)
        looks_on(bench)
        scale.send(*EMPTY)
        until(lambda: bench.state.step == "piston 1")
        shown = bench.state.step_id
        assert first.does("type", "538.4").ok
        late = second.does("take", step=shown)
        assert (late.ok, late.said) == (False, words.TAKE_AGAIN.format(now="Piston 2"))
        late = second.does("skip", step=shown)
        assert (late.ok, late.question) == (False, None)
        late = second.does("type", "538.6", step=shown)
        assert not late.ok
        assert late.question.ask.startswith("meanwhile piston 1 got another reading, 538.4.")
        assert bench.state.step == "piston 2"
        scale.send(*ON(538.6), *EMPTY)
        until(lambda: bench.state.step == "piston 3")
        late = second.does("take", step=shown)
        assert (late.ok, late.said) == (False, words.TAKE_AGAIN.format(now="Piston 3"))
    assert readings(tmp_path) == [(1, "piston", "538.4"), (2, "piston", "538.6 g")]


def test_a_bench_without_a_scale_needs_no_sign_of_life(bench, tmp_path):
    bench.join(OWNER)
    assert Hands(bench).does("type", "538.4").ok
    assert bench.state.hold == ""


def test_what_others_record_moves_the_bench_on_once_it_is_told(bench, tmp_path):
    open_log(tmp_path / "job.toml", "other").append(Weighed(1, "piston", 538.4, "538.4"))
    bench.look()
    until(lambda: bench.state.step == "piston 2")
    assert bench.state.head == 1


def test_a_job_whose_text_changes_is_read_anew_and_what_was_typed_before_waits_for_a_yes(bench, tmp_path):
    path, hands = tmp_path / "job.toml", Hands(bench)
    behind = bench.state
    path.write_text(path.read_text(encoding="utf-8") + "\n# another set\n", encoding="utf-8")
    bench.look()
    until(lambda: bench.state.step_id != behind.step_id)
    done = hands.does("type", "538.4", step=behind.step_id)
    assert "the job's text was changed" in done.question.ask
    assert hands.does("type", "538.4").ok


def damage(path):
    """Change one figure of the first reading in a job's log."""
    log = log_path(path)
    before = log.read_text(encoding="utf-8")
    log.write_text(before.replace('"538.4', '"583.4', 1), encoding="utf-8")
    assert log.read_text(encoding="utf-8") != before
    return before


def alike(err, said):
    """Whether a bench refuses in the words of the command line, but for a file's folder and a command to type."""
    return to_do(err.partition(": ")[2].strip(), at_bench=True) in said


def stands_still(bench, said, is_told=True):
    """Nothing can be done there, and its screens are told why."""
    if is_told:
        bench.look()
        until(lambda: bench.state.ended)
    with pytest.raises(TruethrowError) as refused:
        Hands(bench).does("type", "539.9")
    told = str(refused.value)
    assert said in told
    until(lambda: bench.state.ended == told)
    assert bench.state.may == ()
    return told


@pytest.mark.parametrize("is_told", [True, False], ids=["once it was seen", "at the very next reading"])
def test_a_bench_over_a_log_that_was_damaged_takes_nothing_and_says_what_weigh_says(bench, tmp_path, is_told):
    hands, path = Hands(bench), tmp_path / "job.toml"
    assert all(hands.does("type", typed).ok for typed in ("538.4", "538.6"))
    before = damage(path)
    said = stands_still(bench, "is damaged and does not count; say what became of it", is_told)
    assert alike(run("weigh", path, stdin="539.9\n").err, said)
    assert "539.9" not in log_path(path).read_text(encoding="utf-8")
    log_path(path).write_text(before, encoding="utf-8")
    bench.look()
    until(lambda: not bench.state.ended)
    assert bench.state.step == "piston 3"
    assert Hands(bench).does("type", "538.5").ok


def test_the_scale_weighs_nothing_into_a_damaged_log(tmp_path):
    scale, path = TalkingScale(), blank_job(tmp_path)
    with at(path, scale) as bench:
        looks_on(bench)
        scale.send(*EMPTY, *ON(538.4), *EMPTY)
        until(lambda: bench.state.step == "piston 2")
        damage(path)
        bench.look()
        until(lambda: bench.state.ended)
        scale.send(*EMPTY, *ON(538.6), *EMPTY)
        until(scale._lines.empty)
        assert "538.6" not in log_path(path).read_text(encoding="utf-8")


def test_a_bench_whose_job_file_is_away_or_broken_stands_still_until_it_is_whole_again(bench, tmp_path):
    path = tmp_path / "job.toml"
    text = path.read_text(encoding="utf-8")
    path.unlink()
    stands_still(bench, "no such file")
    for broken, said in (("[job\n", "TOML"), (text.replace('id = "', 'id = "other-'), "was begun for job")):
        path.write_text(text, encoding="utf-8")
        bench.look()
        until(lambda: not bench.state.ended)
        assert Hands(bench).does("type", "538.4").ok
        assert not bench.state.messages
        path.write_text(broken, encoding="utf-8")
        stands_still(bench, said)
    assert len(readings(tmp_path)) == 2


def test_the_bench_of_a_job_that_was_closed_is_ended_until_it_is_opened_again(bench, tmp_path):
    path = tmp_path / "job.toml"
    assert Hands(bench).does("type", "538.4").ok
    assert run("close", path, "--by", "AB", "--why", "is over").status in (0, 1)
    said = stands_still(bench, "is closed since")
    assert alike(run("weigh", path, stdin="1\n").err, said)
    assert run("reopen", path, "--by", "AB", "--why", "is not").status in (0, 1)
    bench.look()
    until(lambda: not bench.state.ended)
    assert Hands(bench).does("type", "538.6").ok


def test_what_does_not_reach_the_disk_is_told_and_tried_again_with_the_same_id(bench, tmp_path, monkeypatch):
    hands, write = Hands(bench), ReadingLog._write

    def full(self, record, may_stand):
        with monkeypatch.context() as disk:
            disk.setattr(os, "write", lambda handle, text: 0)
            return write(self, record, may_stand)

    monkeypatch.setattr(ReadingLog, "_write", full)
    with pytest.raises(NotSaved, match=r"NOT SAVED.*is the disk full\?"):
        hands.does("type", "538.4")
    with pytest.raises(NotSaved):
        hands.again()
    monkeypatch.setattr(ReadingLog, "_write", write)
    assert hands.again().ok
    assert readings(tmp_path) == [(1, "piston", "538.4")]
    assert open_log(tmp_path / "job.toml").records[0].id == hands.last.id


def test_a_job_in_which_nothing_can_be_weighed_is_refused_as_weigh_refuses_it(tmp_path):
    path = blank_job(tmp_path)
    open_log(path, "b", "AB").append(Closed("closed", why="is over"))
    with pytest.raises(BadInput) as refused:
        opened(path)
    assert run("weigh", path, stdin="1\n").err == f"{refused.value}\n"


def test_the_grinder_has_its_own_list_and_says_why_where_it_has_none(tmp_path):
    job, _ = demo.copy_into(tmp_path)
    with at(job) as bench:
        done = Hands(bench).does("grind")
        assert not done.ok
        assert "first enter the sheet" in done.said
    with at(job_to_grind(tmp_path / "weighed")) as bench:
        hands = Hands(bench)
        assert bench.state.step == "done"
        assert bench.state.next_step
        assert bench.state.turn
        assert "grind" in bench.state.may
        assert hands.does("grind").ok
        assert bench.state.grinding
        assert bench.state.target.startswith("target ")
        assert "weigh" in bench.state.may
        assert hands.does("weigh").ok
        assert not bench.state.grinding


def job_to_grind(folder):
    job, sheet = demo.copy_into(folder)
    assert run("enter", job, sheet).status in (0, 1)
    for part in (("piston", "P33"), ("rod", "R35")):
        assert run("confirm", job, *part, "--why", "weighed twice", "--by", "AB").status == 0
    return job


def test_a_screen_that_was_at_the_grinder_is_there_again_once_its_computer_is_back(tmp_path):
    with at(job_to_grind(tmp_path)) as bench:
        looks_on(bench)
        bench.goes_on_grinding(OWNER)
        until(lambda: bench.state.grinding)
        assert Hands(bench).does("weigh").ok
        bench.goes_on_grinding(OWNER)  # of another screen, which missed that somebody went back
        assert not Hands(bench).does("weigh").state.grinding


def test_a_reading_of_the_grinder_waits_for_the_zero_with_which_it_begins_anew(tmp_path):
    """It is never taken for that zero, nor dropped: its screen keeps it and sends it again."""
    job, scale = job_to_grind(tmp_path), TalkingScale()
    with at(job, scale) as first:
        looks_on(first)
        assert Hands(first).does("grind").ok
        until(lambda: first.state.step == "zero")
        scale.send(*EMPTY)
        until(lambda: first.state.step != "zero")
        behind, part = first.state, first.asked
        typed = f"{first._loop.grinding.visit.known_g[part[0]]:.1f}"
    scale = TalkingScale()
    with at(job, scale) as second:
        looks_on(second)
        second.goes_on_grinding(OWNER)
        until(lambda: second.state.grinding and second.state.step == "zero")
        hands = Hands(second)
        with pytest.raises(BadInput, match=f"first; {typed} for .* is kept on this screen"):
            hands.does("type", typed, step=behind.step_id)
        scale.send(*EMPTY)
        until(lambda: second.state.step != "zero")
        assert hands.again().ok
    last = next(one for one in reversed(open_log(job).records) if isinstance(one, Weighed))
    assert (last.id, last.kind, last.cylinder, last.typed) == (hands.last.id, *part, typed)


def test_what_a_bench_tells_comes_to_all_screens_and_eyes_may_nothing(bench):
    async def main():
        heard = bench.channel.join()
        hands = Hands(bench)
        await asyncio.to_thread(hands.does, "type", "538.4")
        one = await asyncio.wait_for(heard.get(), LONGEST_WAIT_S)
        text, eyes = (json.loads(part.split(b"data: ")[1]) for part in (one.text, one.to_eyes))
        assert text["step"] == "piston 2"
        assert text["may"]
        assert eyes == {**text, "may": []}

    asyncio.run(main())


def test_a_bench_that_is_closed_answers_nothing_and_lets_its_screens_go(tmp_path):
    made = opened(blank_job(tmp_path))

    async def main():
        heard = made.channel.join()
        await asyncio.to_thread(made.close)
        assert await asyncio.wait_for(heard.get(), LONGEST_WAIT_S) is None

    asyncio.run(main())
    assert not made.is_alive


def test_the_way_to_the_grinder_is_the_next_one_only_where_something_is_to_be_ground(tmp_path):
    path = job_to_grind(tmp_path)
    path.write_text(re.sub(r"\[limits\][^\[]*", "", path.read_text()))
    with at(path) as bench:
        assert (bench.state.step, "grind" in bench.state.may, bench.state.turn) == ("done", True, False)
        assert "grind" not in bench.state.next_step


def test_a_job_with_a_slip_is_not_done_but_blocked_and_goes_to_no_grinder(tmp_path):
    path = job_with_a_slip(tmp_path)
    with at(path) as bench:
        assert bench.state.step == "BLOCKED"
        assert "looks wrong" in bench.state.step_note
        assert bench.state.step_note in run("next", path).err
        assert bench.state.next_step == ""
        assert "grind" not in bench.state.may


def test_a_scale_that_is_switched_to_ounces_is_not_lost_and_what_is_told_of_it_goes_once_it_is_back(tmp_path):
    scale = TalkingScale()
    with at(blank_job(tmp_path), scale) as bench:
        looks_on(bench)
        scale.send(*EMPTY)
        until(lambda: bench.state.live.standing == "empty" and bench.state.scale == "live")
        scale.send(*["0.00 oz"] * 6)
        until(lambda: "oz" in bench.state.hold)
        assert bench.state.scale == "live"
        assert bench.state.live.text == ""
        scale.send(*EMPTY)
        until(lambda: bench.state.hold == "" and bench.state.live.standing == "empty" and bench.state.live.text)
        assert not any("oz" in one for one in bench.state.messages)


def test_a_bench_that_asks_for_nothing_does_not_tell_to_type_a_number(tmp_path):
    with at(blank_job(tmp_path)) as bench:
        assert "type the number" in bench.state.live.said
    path = tmp_path / "whole.toml"
    path.write_text(invented.text(invented.document()), encoding="utf-8")
    with at(path) as bench:
        assert bench.state.step == "done"
        assert "type" not in bench.state.may
        assert bench.state.live.said == ""


def two_benches(folder):
    """Two jobs' benches at a computer with one scale, and all cables that were opened."""
    cables = []

    def opens(profile, job):
        cables.append(TalkingScale())
        return cables[-1]

    scales = Scales("/dev/scale", opens)
    paths = [blank_job(folder, name) for name in ("one", "two")]
    one, two = (Bench(path.stem, lambda path=path: path, scales) for path in paths)
    return one, two, cables


def test_who_only_looks_opens_no_port_and_the_scale_is_at_the_bench_of_the_one_who_weighs(tmp_path):
    one, two, cables = two_benches(tmp_path)
    with contextlib.closing(one), contextlib.closing(two):
        one.join(VIEWER)
        assert not cables
        assert one.state.scale == ""
        looks_on(two)
        until(lambda: two.state.scale and two.state.step == "zero")
        assert len(cables) == 1
        looks_on(one, OTHER)
        assert Hands(one, OTHER).does("type", "538.4").ok
        assert one.state.scale == ""
        assert len(cables) == 1


def test_a_bench_without_the_scale_takes_it_with_its_zero_as_soon_as_it_is_free(tmp_path):
    one, two, cables = two_benches(tmp_path)
    with contextlib.closing(two):
        looks_on(one)
        until(lambda: one.state.scale)
        looks_on(two, OTHER)
        assert Hands(two, OTHER).does("type", "538.4").ok
        one.close()
        until(lambda: two.state.scale and two.state.step == "zero")
        cables[-1].send(*EMPTY)
        until(lambda: two.state.step == "piston 2")
        assert len(cables) == 2
        assert cables[0].closed


def test_a_scale_whose_weigher_has_gone_is_free_though_somebody_looks_on(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "AWAY_S", 0.0)
    monkeypatch.setattr(module, "GONE_S", 0.0)
    one, two, _ = two_benches(tmp_path)
    with contextlib.closing(one), contextlib.closing(two):
        one.join(VIEWER)
        looks_on(one)
        until(lambda: one.state.scale)
        looks_on(two, OTHER)
        one.leave(OWNER)
        until(lambda: two.state.scale)
        until(lambda: one.state.scale == "")
        assert one.taker is None
