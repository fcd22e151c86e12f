"""Which crank a job is of, and whether it is open. Its stories:
tests/stories/test_another_crank_or_a_closed_job.py."""

import invented
import kept
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job.lifecycle import close, marks, reopen
from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import DONE, GIVEN_UP, CrankSaid, Struck, Weighed


def of(mark, key):
    record = kept.drilled("s-1")
    record.crank, record.id = mark, key
    return record


def test_marks_of_other_cranks_are_those_since_somebody_said_which_it_is():
    records = [of("A", "h-1"), of("", "h-2"), of("B", "h-3")]
    assert marks(records, "B") == ("A",)
    assert marks(records, "C") == ("A", "B")
    assert marks(records, "") == ()
    said = CrankSaid("B", id="c-1")
    assert marks([*records, said], "B") == ()
    assert marks([*records, said], "C") == ("B",)
    assert marks([*records, said, Struck("c-1", id="x-1")], "B") == ("A",)
    assert marks([*records, Struck("h-1", id="x-1")], "B") == ()


@pytest.fixture
def job_file(tmp_path):
    path = tmp_path / "launch.toml"
    path.write_text(invented.text(invented.document(invented.cylinders())))
    return path


def test_a_log_that_was_open_when_another_closed_it_takes_nothing_either(job_file):
    bench = open_log(job_file)
    bench.append(Weighed(1, "piston", 538.0, "538.0"))
    close(job_file, DONE, "handed over", "AB")
    with pytest.raises(
        BadInput, match=r"is closed since .* by AB: handed over; open it again first: truethrow reopen"
    ):
        bench.append(Weighed(2, "piston", 538.0, "538.0"))
    reopen(job_file, "not yet", "AB")
    bench.append(Weighed(2, "piston", 538.0, "538.0"))
    assert open_log(job_file).closed is None


def test_who_and_why_are_asked_and_a_closed_job_is_not_closed_twice(job_file):
    with pytest.raises(BadInput, match="--by: blank"):
        close(job_file, DONE, "x y z", "")
    with pytest.raises(BadInput, match="--why: blank"):
        close(job_file, DONE, " ", "AB")
    with pytest.raises(BadInput, match="is not closed"):
        reopen(job_file, "why not", "AB")
    close(job_file, GIVEN_UP, "cracked", "AB")
    with pytest.raises(BadInput, match="is given up since"):
        close(job_file, DONE, "again", "AB")
