"""A reading that looks like a slip: what to do about it, and a reading confirmed."""

import invented
import pytest
from commands import refused

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.job import load
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.result.doubts import confirm, faults, parts_in_doubt, way_out
from truethrow.balance.result.work import work


@pytest.fixture
def job(tmp_path):
    """One piston far off, another that was read twice with half a gram between, rings read once for all."""

    def make(**pistons):
        path = tmp_path / "job.toml"
        parts = invented.cylinders(piston={int(name[1:]): grams for name, grams in pistons.items()})
        for own in parts:
            del own["rings"]
        document = invented.document(parts, every_cylinder={"rings": 41.0}, limits={"piston": 1.0})
        path.write_text(invented.text(document), encoding="utf-8")
        return path

    return make


def test_a_doubt_is_told_with_its_part_its_figure_and_both_ways_out(job):
    path = job(_3=18.99)
    result = work(load(path))
    assert parts_in_doubt(result) == ["piston 3"]
    told = str(faults(result)[0])
    assert told.startswith("piston 3: 18.99 g looks like a slip")
    assert f"truethrow weigh {path}, then type go piston 3" in told
    assert f"truethrow confirm {path} piston 3 --why" in told


def test_a_confirmed_reading_is_in_doubt_no_more(job):
    path = job(_3=545.0)
    assert work(load(path)).doubts
    (record,) = confirm(path, "piston", "3", "another maker", by="AB")
    assert (record.action, record.cylinder, record.kind, record.grams) == ("confirm", 3, "piston", 545.0)
    assert (record.by, record.why) == ("AB", "another maker")
    assert work(load(path)).doubts == ()
    assert confirm(path, "piston", "3", "once more", "AB") == ()  # it is already


def test_nobody_confirms_nothing(job):
    path = job(_3=545.0)
    for by in ("", " ", "INITIALS"):
        assert "the initials of who looked at it again" in refused(
            confirm, path, "piston", "3", "another maker", by
        )
    assert ReadingLog(log_path(path)).records == []
    assert 'piston 3 --why "..." --by INITIALS' in str(faults(work(load(path)))[0])


def test_both_ends_of_a_rod_are_confirmed_at_once(job):
    path = job()
    assert [record.kind for record in confirm(path, "rod", "2", "another maker", "AB")] == ["big_end", "small_end"]


@pytest.mark.parametrize(
    ("part", "name", "why", "said"),
    [
        ("piston", "3", " ", "--why: blank"),
        ("piston", "3", "...", "--why: '...' says nothing"),
        ("wheel", "3", "sure", "PART: 'wheel' is no part"),
        ("piston", "9", "sure", "9"),
        ("rings", "3", "sure", "is one reading for all cylinders"),
        ("piston", "all", "sure", "was weighed cylinder by cylinder"),
        ("piston", "5", "sure", "its readings disagree (538.4, 539.9 g)"),
    ],
)
def test_what_is_not_to_be_confirmed_is_refused_and_nothing_is_written(job, part, name, why, said):
    path = job(_5=[538.4, 539.9])
    assert said in refused(confirm, path, part, name, why, "AB")
    assert ReadingLog(log_path(path)).records == []


def test_readings_of_the_job_file_are_mended_there_and_no_record_is_looked_for(job):
    path = job(_5=[538.4, 539.9])
    result = work(load(path))
    (slip,) = (one for one in result.slips if one.check == "repeats")
    for said in (way_out(result.job, slip), refused(confirm, path, "piston", "5", "sure", "AB")):
        assert (
            "mend the one that is wrong in the job file, or weigh it twice at the bench: truethrow weigh" in said
        )
        assert "then type go piston 5" in said and "truethrow strike" not in said


def test_what_stands_for_all_is_confirmed_for_all(job):
    (record,) = confirm(job(), "rings", "all", "one set weighed", "AB")
    assert (record.cylinder, record.kind, record.grams) == (0, "rings", 41.0)
