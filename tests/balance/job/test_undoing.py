"""Canceling: what is one step, what rests on what, and what counts again. The stories of it:
tests/stories/test_a_step_is_taken_back.py."""

from __future__ import annotations

import invented
import kept
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job.history import events
from truethrow.balance.job.job import load
from truethrow.balance.job.undoing import cancel, last_step, of_record, resting, step_of
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import (
    Acknowledged,
    Confirmed,
    Cut,
    Damaged,
    Skipped,
    Struck,
    Traded,
    Weighed,
    ZeroRead,
    again_id,
)
from truethrow.balance.matching.proposing import accept, propose


@pytest.fixture
def job_file(tmp_path):
    path = tmp_path / "launch.toml"
    path.write_text(invented.text(invented.document(invented.cylinders(piston={1: 538.6}))))
    return path


@pytest.fixture
def log(job_file):
    return ReadingLog(job_file.with_suffix(".readings.jsonl"))


def piston(path, cylinder):
    return load(path).parts[cylinder]["piston"].mean_g


def test_the_readings_before_a_canceled_cut_count_again_and_only_they_are_told(job_file, log):
    before = log.append(Weighed(1, "piston", 541.0, "541.0"))
    other = log.append(Weighed(2, "piston", 538.0, "538.0"))
    log.append(Cut(1, "piston", 1.0))
    undo = last_step(job_file)
    assert [one.record.id for one in undo.back.readings] == [before.id]
    assert undo.back.from_file == undo.back.to_weigh == ()
    cancel(job_file, undo)
    assert (piston(job_file, 1), piston(job_file, 2)) == (541.0, other.grams)


def test_a_rod_that_nobody_weighed_in_one_go_is_not_asked_for_by_taking_its_cut_back(job_file, log):
    log.append(Weighed(1, "big_end", 451.0, "451.0"))
    cut = log.append(Cut(1, "big_end", 1.0))
    assert of_record(job_file, cut.id).back.to_weigh == ()
    log.append(Weighed(1, "rod_total", 632.0, "632.0"))
    again = log.append(Cut(1, "big_end", 1.0))
    assert "rod_total" in {one.record.kind for one in of_record(job_file, again.id).back.readings}


def test_readings_after_a_canceled_cut_go_on_counting_and_nothing_counts_again(job_file, log):
    log.append(Weighed(1, "piston", 541.0, "541.0"))
    cut = log.append(Cut(1, "piston", 1.0))
    log.append(Weighed(1, "piston", 540.1, "540.1"))
    undo = of_record(job_file, cut.id)
    assert undo.back.readings == ()
    cancel(job_file, undo)
    assert piston(job_file, 1) == 540.1


def test_a_part_that_is_left_without_any_reading_is_to_be_weighed(tmp_path):
    path = tmp_path / "launch.toml"
    document = invented.document(invented.cylinders(piston={1: 538.6}))
    del document["cylinder"][0]["piston"]
    path.write_text(invented.text(document))
    log = ReadingLog(path.with_suffix(".readings.jsonl"))
    log.append(Weighed(1, "piston", 541.0, "541.0"))
    (part,) = last_step(path).back.to_weigh
    assert (part.kind, part.cylinder) == ("piston", 1)


def test_what_says_nothing_that_counts_is_no_step(job_file, log):
    taken = log.append(Weighed(1, "piston", 541.0, "541.0"))
    zero = log.append(ZeroRead("end", 0.0))
    log.append(Skipped(2, "piston"))
    assert [one.record.id for one in last_step(job_file).step] == [taken.id]
    with pytest.raises(BadInput, match="a zero can't be canceled"):
        of_record(job_file, zero.id)


def test_an_earlier_trade_is_not_undone_under_a_later_one(job_file):
    propose(job_file, load(job_file), {"piston": {1: 2, 2: 1}}, "")
    first = accept(job_file)
    propose(job_file, load(job_file), {"piston": {2: 3, 3: 2}}, "")
    later = accept(job_file)
    propose(job_file, load(job_file), {"pin": {1: 2, 2: 1}}, "")
    accept(job_file)
    undo = of_record(job_file, first.id)
    assert [one.record.id for one in undo.rests] == [later.id]
    assert [one.id for one in undo.trades] == [later.id, first.id]
    cancel(job_file, undo)
    assert piston(job_file, 1) == 538.6
    assert load(job_file).names.part("piston", 1).weighed_in == 1


def test_what_came_in_meanwhile_and_rests_on_it_keeps_it(job_file, log):
    log.append(spin := kept.spun("t", "1@0", "1@0"))
    spin = log.records[-1]
    undo = last_step(job_file)
    log.append(kept.hung(spin.id, "1@0", "1@0"))
    with pytest.raises(BadInput, match="something was recorded meanwhile"):
        cancel(job_file, undo)
    log.append(Weighed(1, "piston", 541.0, "541.0"))
    cancel(job_file, of_record(job_file, spin.id))


def test_two_who_cancel_the_same_cancel_it_once(job_file, log):
    log.append(Cut(1, "piston", 1.0))
    one, other = last_step(job_file), last_step(job_file)
    cancel(job_file, one)
    cancel(job_file, other)
    with pytest.raises(BadInput, match="nothing to cancel"):
        last_step(job_file)
    assert {event.record.action for event in events(job_file)} == {"cut", "strike"}


def test_a_batch_is_one_step_without_what_of_it_was_struck():
    first = Confirmed(1, "big_end", 450.0, id="a-1")
    others = [Confirmed(1, kind, 450.0, batch="a-1", id=f"a-{n}") for n, kind in ((2, "small_end"), (3, "x"))]
    records = [first, *others, Confirmed(2, "piston", 1.0, id="a-4")]
    assert step_of(records, others[0]) == [first, *others]
    assert step_of([*records, Struck("a-2", id="a-5")], first) == [first, others[1]]


def test_an_acknowledgement_is_one_step_with_what_was_written_again_for_the_line():
    line = Damaged(7, b"x", id="damaged-1")
    again = Cut(1, "piston", 1.0, batch="c-1", id=again_id(line))
    said = Acknowledged(line.id, "entered again", 7, id="damaged-1-acknowledged")
    cut = Cut(2, "piston", 1.0, id="c-1")
    records = [cut, line, again, said]
    assert step_of(records, said) == [again, said]
    assert step_of(records, cut) == [cut]


def test_what_rests_on_a_spin_is_found_through_what_rests_on_it():
    spin = kept.spun("t", "1@0", "1@0", id="s-1")
    turned = kept.spun("t", "1@0", "1@0", turned="s-1", id="s-2")
    signed = kept.signed("s-1")
    signed.id = "g-1"
    hole = kept.drilled("s-1")
    hole.id = "h-1"
    trade = Traded({"piston": {1: 2, 2: 1}}, "p", id="t-1")
    assert resting([spin, turned, hole, signed, trade], [spin]) == [turned, signed]
    assert resting([spin, turned, hole, signed, trade], [hole]) == []
