"""Matchings proposed, accepted and put back."""

from __future__ import annotations

import invented
import pytest
from commands import refused
from told_apart import ROD_2_TO_1, accepted, told_apart, values

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.enter import enter
from truethrow.balance.job.job import load
from truethrow.balance.job.undoing import cancel, of_record
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck, Weighed
from truethrow.balance.matching import proposing


@pytest.fixture
def path(tmp_path):
    return told_apart(tmp_path)


# A job


def test_readings_of_file_and_log_and_labels_go_with_their_parts(path):
    log = ReadingLog(log_path(path))
    log.append(Weighed(1, "big_end", 453.0, "453.0"))
    log.append(Weighed(0, "rings", 41.0, "41.0"))
    before = load(path)
    accepted(path, {"rod": {1: 3, 3: 2, 2: 1}, "piston": {7: 8, 8: 7}})
    job = load(path)
    assert values(job, "big_end")[:3] == [values(before, "big_end")[i] for i in (1, 2, 0)]
    assert job.parts[3]["big_end"].repeats_g == (453.0,)
    assert values(job, "small_end")[:3] == [values(before, "small_end")[i] for i in (1, 2, 0)]
    assert values(job, "piston")[6:] == values(before, "piston")[:5:-1]
    for kind in ("pin", "bearings"):
        assert values(job, kind) == values(before, kind)
    assert [job.labels[n]["rod"] for n in (1, 2, 3)] == ["R2", "R3", "R1"]
    assert all(reading.cylinder == n for n, own in job.parts.items() for k, reading in own.items() if k != "rings")
    assert job.traded == {"piston": {7: 8, 8: 7}, "rod": {1: 2, 2: 3, 3: 1}}
    assert (before.traded, before.digest == job.digest) == ({}, False)
    ReadingLog(log.path).append(Weighed(3, "big_end", 453.2, "453.2"))
    assert load(path).parts[3]["big_end"].repeats_g == (453.0, 453.2)


def test_a_part_whose_trade_is_struck_is_back_with_what_was_weighed_since(path):
    before = load(path)
    trade = accepted(path, ROD_2_TO_1)
    log = ReadingLog(log_path(path))
    fresh = log.append(Weighed(1, "big_end", 455.5, "455.5"))
    log.append(Struck(trade.id, why="not done after all"))
    job = load(path)
    assert job.parts[2]["big_end"].repeats_g == (455.5,)
    assert (job.traded, job.labels, job.notes) == ({}, before.labels, ())
    log.append(Struck(fresh.id, why="on another scale"))
    assert load(path) == before
    assert load(path).digest == before.digest


def test_two_matchings_one_after_the_other_keep_where_each_part_came_from(path):
    accepted(path, ROD_2_TO_1)
    accepted(path, {"rod": {2: 5, 5: 2}})
    assert load(path).traded == {"rod": {1: 2, 2: 5, 5: 1}}
    accepted(path, {"rod": {1: 2, 2: 5, 5: 1}})
    assert load(path).traded == {}
    assert load(path).notes == ()


def test_a_proposal_alone_moves_nothing(path):
    before = load(path)
    made = proposing.propose(path, before, ROD_2_TO_1, "less unbalance", by="AB")
    assert (made.action, made.moves, made.digest, made.by) == (
        "propose",
        {"rod": {1: 2, 2: 1}},
        before.digest,
        "AB",
    )
    assert load(path) == before


def test_what_was_accepted_once_is_not_accepted_twice(path):
    assert "no match is waiting" in refused(proposing.accept, path)
    trade = accepted(path, ROD_2_TO_1)
    assert "no match is waiting" in refused(proposing.accept, path)
    assert f"proposal {trade.proposal}: is accepted already" in refused(proposing.accept, path, trade.proposal)
    assert "proposal x-1: is not in the log" in refused(proposing.accept, path, "x-1")


def test_the_last_proposal_is_taken_unless_another_is_named(path):
    first = proposing.propose(path, load(path), ROD_2_TO_1, "")
    last = proposing.propose(path, load(path), {"pin": {1: 2, 2: 1}}, "")
    assert proposing.accept(path, first.id).proposal == first.id
    assert "the job is not as it was" in refused(proposing.accept, path, last.id)


def test_of_three_proposals_the_last_is_taken(path):
    moves = (ROD_2_TO_1, {"pin": {1: 2, 2: 1}}, {"pin": {1: 3, 3: 1}})
    made = [proposing.propose(path, load(path), one, "") for one in moves]
    assert proposing.accept(path).proposal == made[-1].id


def test_a_proposal_from_other_readings_is_refused(path):
    proposing.propose(path, load(path), ROD_2_TO_1, "")
    ReadingLog(log_path(path)).append(Weighed(4, "pin", 112.9, "112.9"))
    told = refused(proposing.accept, path)
    assert "the job is not as it was: readings changed since" in told
    assert f"match again: truethrow match {path}; or enter the sheet first" in told


def test_moves_of_cylinders_that_are_not_there_are_not_proposed(path):
    told = refused(proposing.propose, path, load(path), {"rod": {1: 12, 12: 1}}, "")
    assert told == f"{path}: moves, cylinder 12: not in this layout; allowed: 1, 2, 3, 4, 5, 6, 7, 8"
    assert "rod: a place would be left empty" in refused(proposing.propose, path, load(path), {"rod": {1: 2}}, "")
    assert not log_path(path).exists()


def test_a_sheet_must_be_entered_before_its_matching_is_accepted(path, tmp_path):
    blanks = [{"number": n, **invented.PARTS, "piston": ""} for n in range(1, 9)]
    path.write_text(invented.text(invented.document(blanks)), encoding="utf-8")
    sheet = tmp_path / "weigh.csv"
    sheet.write_text("cylinder,piston\n" + "".join(f"{n},{538 + n / 10}\n" for n in range(1, 9)))
    proposing.propose(path, load(path, sheet), {"piston": {1: 2, 2: 1}}, "")
    told = refused(proposing.accept, path)
    assert f"readings are missing; first enter the sheet that has them: truethrow enter {path} SHEET" in told
    enter(path, sheet)
    proposing.accept(path)
    assert values(load(path), "piston")[:3] == [538.2, 538.1, 538.3]
    done = enter(path, sheet)
    assert (done.new, done.known) == (0, 8)
    assert [part.said for part in done.moved] == [
        "piston weighed in 2 (goes in 1)",
        "piston weighed in 1 (goes in 2)",
    ]


# What has changed by the time that a proposal is accepted


def test_a_reading_that_comes_in_while_a_proposal_is_accepted_refuses_it(path, monkeypatch):
    """Another bench writes between the look at the log and the lock."""
    proposing.propose(path, load(path), ROD_2_TO_1, "")
    lock = ReadingLog._lock

    def late(log, handle):
        monkeypatch.undo()
        ReadingLog(log_path(path)).append(Weighed(4, "pin", 112.9, "112.9"))
        lock(log, handle)

    monkeypatch.setattr(ReadingLog, "_lock", late)
    assert "the job is not as it was: readings changed since" in refused(proposing.accept, path)
    assert load(path).traded == {}


@pytest.mark.parametrize(
    ("rule", "moved", "said"),
    [
        ({"fixed": ["rod R1"]}, ROD_2_TO_1, "fixed rod R1"),
        ({"together": [["piston", "rod"]]}, ROD_2_TO_1, "together piston, rod"),
        ({"together": [["piston 1", "rod R1"]]}, ROD_2_TO_1, "together piston 1, rod R1"),
        ({"apart": [["piston 1", "rod R2"]]}, ROD_2_TO_1, "apart piston 1, rod R2"),
        ({"offset_pins": True}, {"piston": {1: 2, 2: 1}}, "offset_pins"),
        ({"fixed": ["rod R3"], "together": [["piston 1", "pin 1"]]}, ROD_2_TO_1, ""),
        ({"together": [["piston", "rod"]]}, {**ROD_2_TO_1, "piston": {1: 2, 2: 1}}, ""),
    ],
)
def test_moves_that_break_a_rule_that_came_later_are_not_accepted(path, rule, moved, said):
    proposing.propose(path, load(path), moved, "")
    text = path.read_text(encoding="utf-8")
    path.write_text(invented.text({"match": rule}) + "\n" + text, encoding="utf-8")
    if said:
        told = refused(proposing.accept, path)
        assert f"breaks a rule that the job has by now: {said}; match again: truethrow match {path}" in told
        assert load(path).traded == {}
    else:
        proposing.accept(path)


def test_a_proposal_whose_trade_was_struck_may_be_accepted_again(path):
    trade = accepted(path, ROD_2_TO_1)
    ReadingLog(log_path(path)).append(Struck(trade.id, why="not yet"))
    again = proposing.accept(path)
    assert (again.proposal, again.id) == (trade.proposal, f"{trade.id}-2")
    assert load(path).traded == {"rod": {1: 2, 2: 1}}
    assert "is accepted already" in refused(proposing.accept, path, trade.proposal)


def test_a_proposal_that_is_struck_out_waits_no_more_and_no_older_one_in_its_place(path):
    first = proposing.propose(path, load(path), ROD_2_TO_1, "")
    last = proposing.propose(path, load(path), {"pin": {1: 2, 2: 1}}, "")
    cancel(path, of_record(path, last.id), "wrong limits")
    told = refused(proposing.accept, path, last.id)
    assert f"proposal {last.id}: is canceled; run: truethrow match {path}" in told
    assert "no match is waiting" in refused(proposing.accept, path)
    # Who finds the older one once more proposes it once more: else it could not be accepted.
    again = proposing.propose(path, load(path), ROD_2_TO_1, "")
    assert again.id != first.id
    assert proposing.propose(path, load(path), ROD_2_TO_1, "").id == again.id
    assert proposing.accept(path).proposal == again.id


def test_an_older_proposal_is_accepted_by_who_names_it(path):
    first = proposing.propose(path, load(path), ROD_2_TO_1, "")
    cancel(path, of_record(path, proposing.propose(path, load(path), {"pin": {1: 2, 2: 1}}, "").id), "no")
    assert proposing.accept(path, first.id).proposal == first.id


def test_a_proposal_that_comes_in_while_the_one_before_is_accepted_refuses_it(path, monkeypatch):
    """Another bench matches between the look at the log and the lock: nobody accepts what he has not seen, or what
    is not the newest any more without naming it."""
    proposing.propose(path, load(path), ROD_2_TO_1, "")
    lock = ReadingLog._lock

    def late(log, handle):
        monkeypatch.undo()
        proposing.propose(path, load(path), {"pin": {1: 2, 2: 1}}, "")
        lock(log, handle)

    monkeypatch.setattr(ReadingLog, "_lock", late)
    assert "a newer match was proposed meanwhile" in refused(proposing.accept, path)
    assert load(path).traded == {}
