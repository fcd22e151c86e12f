"""The weighing session: strikes, resuming, several benches, and readings that are never lost."""

from __future__ import annotations

import os
import random
import re
import signal
import time
from pathlib import Path

import invented
import pytest
from benches import bench

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import NotSaved
from truethrow.balance.job.job import load as load_job
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck, Traded
from truethrow.balance.log.replaying import counting, replay, zeros
from truethrow.balance.weighing.benchjob import WeighStep
from truethrow.balance.weighing.session import Refused, part_named
from truethrow.worksheets.words import bench_words


def weigh_all(session):
    while session.step is not None:
        session.take("500.0" if session.step.is_check else str(invented.PARTS.get(session.step.kind, 623.5)))


def test_everything_weighed_makes_a_job(blank):
    path = blank()
    weigh_all(bench(path))
    job = load_job(path)
    assert job.parts[3]["pin"].repeats_g == (invented.PARTS["pin"],)
    assert job.notes == ()


def test_a_session_resumes_where_it_stopped(blank):
    path = blank()
    first = bench(path)
    for _ in range(10):
        first.take("538.4" if first.step.kind == "piston" else "112.1")
    again = bench(path)
    assert again.step == WeighStep(3, "pin")
    assert again.done == 10


def test_a_skipped_part_comes_again_at_the_end(blank):
    session = bench(blank())
    session.skip()
    assert session.step == WeighStep(2, "piston")
    while session.step != WeighStep(1, "piston"):
        session.take(str(invented.PARTS[session.step.kind]))
    assert session.done == 55


def test_again_makes_a_repeat_and_back_and_go_move_freely(blank):
    session = bench(blank())
    session.take("538.4")
    session.again()
    session.take("538.5")
    assert [s.repeats for s in session.now.sisters("piston")] == [2]
    assert session.step == WeighStep(2, "piston")
    session.back()
    assert session.step == WeighStep(1, "piston")
    session.go(5, "big_end")
    assert session.take("452.3").record.cylinder == 5


def test_a_rod_that_is_weighed_by_its_ends_says_which_words_go_to_them(blank):
    session = bench(blank())
    with pytest.raises(Refused, match="go big end 3, go small end 3"):
        session.go_to("rod 3")
    session.go_to("big end 3")
    assert session.step == WeighStep(3, "big_end")


def test_a_strike_needs_a_reason_and_brings_the_part_back(blank):
    session = bench(blank())
    session.take("538.4")
    with pytest.raises(Refused, match="with a reason"):
        session.strike("  ")
    session.strike("dropped")
    assert session.step == WeighStep(1, "piston")
    assert session.now.sisters("piston") == []
    assert [r.action for r in session.log.records] == ["read", "strike"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        *[("abc", "not a number"), ("", "not a number"), ("-3", "not above zero")],
        *[("0.01", "below one step"), ("5 kg", "beyond")],
    ],
)
def test_what_is_no_reading_is_refused_and_nothing_moves(blank, typed, said):
    session = bench(blank())
    with pytest.raises(Refused, match=said):
        session.take(typed)
    assert (session.step, session.log.records) == (WeighStep(1, "piston"), [])


def test_typing_takes_units_and_a_decimal_comma(blank):
    session = bench(blank())
    assert session.take("538,4").record.grams == 538.4
    assert session.take("18.99 oz").record.grams == pytest.approx(538.35744414375)


def test_zero_and_reference_at_the_start_and_the_end_show_drift(blank):
    session = bench(blank(bench={"reference": 500.0, "drift_limit": 0.2}))
    assert (session.step.kind, session.step.when) == ("zero", "start")
    session.take("0.0")
    session.take("500.1")
    assert session.drift() == []
    while not session.step.is_check:
        session.take(str(invented.PARTS[session.step.kind]))
    assert session.step == WeighStep(0, "zero", "end")
    session.take("0.3")
    taken = session.take("500.5")
    assert session.step is None
    assert [said.split(";")[0] for said in bench_words.drift(session)] == [
        "zero at the end reads 0.3 g, 0.3 g off",
        "reference at the end reads 500.5 g, 0.5 g off",
        "zero drifted 0.3 g since the start",
        "reference drifted 0.4 g since the start",
    ]
    assert any(check.kind == "reference" and check.reads_g is None for check in taken.checks)
    assert len(session.checks()) == 6


def test_a_session_that_ends_without_its_checks_says_so(blank):
    session = bench(blank(bench={"reference": 500.0}))
    session.take("0.0")
    session.take("500.0")
    assert bench_words.missed_checks(session) == [
        "not checked: zero at the end, reference at the end of the session"
    ]


def test_a_reading_has_the_farther_of_the_zeros_beside_it_and_each_session_its_own(blank):
    path = blank()
    one, other = bench(path), bench(path)
    one.saw_zero(0.1, "0.1 g")
    one.saw_zero(0.1, "0.1 g")
    first = one.take("538.4").record
    one.saw_zero(-0.2, "-0.2 g")
    second = one.take("538.6").record
    third = one.take("538.2").record
    other.refreshed()
    typed = other.take("538.5").record
    one.saw_zero(0.0, "0.0 g")
    records = ReadingLog(log_path(path)).records
    assert [r.grams for r in records if r.action == "zero"] == [0.1, -0.2, 0.0]
    assert zeros(records) == {first.id: -0.2, second.id: -0.2, third.id: -0.2}
    assert other.unzeroed == 1
    assert typed.id not in zeros(records)


def test_a_check_made_again_counts_by_its_last_reading(blank):
    session = bench(blank(bench={"reference": 500.0}))
    session.take("0.0")
    session.take("503.0")
    session.back()
    session.back()
    session.take("0.0")
    session.go(0, "reference")
    session.take("500.0")
    assert not any(check.reads_g is not None for check in session.drift())


def test_no_part_has_more_readings_than_a_job_takes_of_several_benches_either(blank):
    """Each has room for one more, by what it saw last; only the first has it when it comes to write."""
    path = blank()
    first = bench(path)
    for _ in range(19):
        first.go(1, "piston")
        first.take("538.4")
    others = [bench(path, f"bench-{n}") for n in range(3)]
    for one in (first, *others):
        one.go(1, "piston")
    key = first.log.next_id()
    taken = first.take("538.4", key).record
    for one in others:
        with pytest.raises(Refused, match="20 readings already"):
            one.take("538.4")
    first.go(1, "piston")
    assert first.take("538.4", key).record == taken  # tried once more, it is the one that is there
    assert len(counting(replay(ReadingLog(log_path(path)).records).placed)[1, "piston"]) == 20


def test_no_part_has_more_readings_than_a_job_takes(blank):
    session = bench(blank())
    for _ in range(20):
        session.go(1, "piston")
        session.take("538.4")
    session.go(1, "piston")
    with pytest.raises(Refused, match="20 readings already"):
        session.take("538.4")


def test_two_benches_share_one_job(blank):
    path = blank()
    one, two = bench(path, "bench"), bench(path, "bench")
    one.take("538.4")
    two.refreshed()
    assert two.step == WeighStep(2, "piston")
    two.take("538.6")
    one.refreshed()
    assert one.step == WeighStep(3, "piston")
    assert one.last.grams == 538.4  # r and x are about this bench's own last reading
    assert [(s.cylinder, s.mean_g) for s in one.now.sisters("piston")] == [(1, 538.4), (2, 538.6)]


def test_a_reading_that_is_not_saved_does_not_count(blank, monkeypatch):
    session = bench(blank())
    key = session.log.next_id()
    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(5, "Input/output error")))
        with pytest.raises(NotSaved):
            session.take("538.4", key)
        assert session.step == WeighStep(1, "piston")
    session.take("538.4", key)
    assert session.step == WeighStep(2, "piston")
    again = ReadingLog(session.log.path)
    assert [r.id for r in again.records] == [key]


@pytest.mark.parametrize(("word", "kind"), [("pin", "pin"), ("Big end", "big_end"), ("sm", "small_end")])
def test_parts_are_named_as_they_are_said(word, kind):
    assert part_named(word) == kind


@pytest.mark.parametrize("word", ["", "p", "wheel"])
def test_a_word_that_names_no_part_is_refused(word):
    with pytest.raises(Refused, match="is no part"):
        part_named(word)


@pytest.mark.parametrize("refresh", [False, True])
@pytest.mark.parametrize("back", [False, True])
def test_a_reading_never_lands_on_another_part_than_was_asked_for(blank, refresh, back):
    """A trade, or its strike, from another bench between the question and the answer."""
    path = blank()
    trade = None
    if back:
        trade = ReadingLog(log_path(path)).append(Traded({"piston": {2: 5, 5: 2}}, "p"))
    asked = f"parts have traded places: piston {'2' if back else 'weighed in 5 (goes in 2)'} is asked for now"
    session = bench(path)
    session.take("538.4")
    assert session.step == WeighStep(2, "piston")
    other = ReadingLog(log_path(path))
    if trade:
        other.append(Struck(trade.id, why="not after all"))
    else:
        other.append(Traded({"piston": {2: 5, 5: 2}}, "p"))
    if refresh:
        session.refreshed()
        assert asked in session.moved()
        assert session.step == WeighStep(2, "piston")
    with pytest.raises(Refused, match=re.escape(asked)):
        session.take("538.9")
    assert [r.grams for r in session.log.records if r.action == "read"] == [538.4]
    assert session.moved() == ""
    session.take("538.9")  # said once: who goes on has looked
    assert counting(replay(ReadingLog(log_path(path)).records).placed)[2, "piston"][0].grams == 538.9


def test_trades_of_other_parts_do_not_disturb(blank):
    path = blank()
    session = bench(path)
    ReadingLog(log_path(path)).append(Traded({"piston": {2: 5, 5: 2}, "rod": {1: 2, 2: 1}}, "p"))
    assert session.take("538.4").record.cylinder == 1


def test_a_step_whose_new_part_is_weighed_already_is_passed(blank):
    path = blank()
    session = bench(path)
    session.take("538.4")
    ReadingLog(log_path(path)).append(Traded({"piston": {1: 2, 2: 1}}, "p"))
    with pytest.raises(Refused):
        session.take("538.9")
    assert session.step == WeighStep(3, "piston")


def _weigh_for_ever(session, writer):
    while True:
        session.go(random.randint(1, 8), "piston")
        try:
            record = session.take(f"{random.uniform(530, 545):.1f}").record
        except Refused:  # twenty readings of one part are enough
            session.strike("enough")
            continue
        os.write(writer, f"{record.id}\n".encode())


def _kill_one(path: Path, wait_s: float) -> list[str]:
    """A bench in a process of its own weighs until it is killed; the ids that it was told are saved."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:  # pragma: no cover (it is killed)
        try:
            os.close(reader)
            _weigh_for_ever(bench(path, f"bench-{os.getpid()}"), writer)
        finally:
            os._exit(1)  # whatever goes wrong here must not go on as a second run of the tests
    os.close(writer)
    with os.fdopen(reader, "rb") as told:
        first = told.readline()
        time.sleep(wait_s)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        lines = (first + told.read()).split(b"\n")
    # A killed child may leave half an acknowledgement: nobody was told that one.
    return [line.decode() for line in lines[:-1]]


@pytest.mark.kills
def test_many_kills_during_a_session_lose_nothing(blank, as_many):
    path, kills = blank(), as_many(200, sample=40)
    random.seed(1)
    told: list[str] = []
    for _ in range(kills):
        told += _kill_one(path, random.uniform(0.001, 0.015))
    log = ReadingLog(log_path(path))
    ids = [record.id for record in log.records]
    saved = {record.id for record in log.records if record.action == "read"}
    standing = {record.id for records in counting(replay(log.records).placed).values() for record in records}
    struck = {record.of for record in log.records if record.action == "strike"}
    counted = f"{len(told)} readings acknowledged, {len(ids)} in the log, {len(set(ids))} of them different"
    print(f"\n{kills} kills: {counted}")  # noqa: T201
    assert len(told) >= kills
    assert len(set(told)) == len(told)
    assert set(told) <= saved
    assert standing == saved - struck
    assert len(set(ids)) == len(ids)
