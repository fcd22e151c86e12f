"""The history of a job: told in order, and struck out without being lost."""

import invented
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job.history import events
from truethrow.balance.job.job import load
from truethrow.balance.job.undoing import cancel, of_record
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Cut, Weighed
from truethrow.balance.matching.proposing import accept, propose


@pytest.fixture
def job_file(tmp_path):
    path = tmp_path / "launch.toml"
    path.write_text(invented.text(invented.document(invented.cylinders(piston={1: 538.6}))))
    return path


def piston(path, cylinder):
    return load(path).parts[cylinder]["piston"].mean_g


def test_a_struck_reading_counts_no_more(job_file):
    log = ReadingLog(job_file.with_suffix(".readings.jsonl"))
    record = log.append(Weighed(1, "piston", 541.0, "541.0"))
    assert piston(job_file, 1) == 541.0
    cancel(job_file, of_record(job_file, record.id), "typo")
    assert piston(job_file, 1) == 538.6


def test_a_struck_cut_lets_the_readings_before_it_count_again(job_file):
    log = ReadingLog(job_file.with_suffix(".readings.jsonl"))
    cut = log.append(Cut(1, "piston", 1.0))
    with pytest.raises(BadInput, match="weigh it again"):
        load(job_file)
    cancel(job_file, of_record(job_file, cut.id))
    assert piston(job_file, 1) == 538.6


def test_what_cannot_be_struck_is_named(job_file):
    with pytest.raises(BadInput, match=r"record x-1: is not in the log; run: truethrow history "):
        cancel(job_file, of_record(job_file, "x-1"))
    proposal = propose(job_file, load(job_file), {"piston": {1: 2, 2: 1}}, "")
    trade = accept(job_file)
    with pytest.raises(BadInput, match=f"is accepted; put the parts back: truethrow strike .* {trade.id}"):
        cancel(job_file, of_record(job_file, proposal.id))
    cancel(job_file, of_record(job_file, trade.id))
    with pytest.raises(BadInput, match="is canceled already, by"):
        cancel(job_file, of_record(job_file, trade.id))
    assert len(events(job_file)) == 3
