"""A search in a process of its own finds what the command finds."""

from __future__ import annotations

from build_shop import weighed
from commands import run
from floor_bench import until
from floor_shop import blank_job

from truethrow.balance.base.beside import log_path
from truethrow.balance.book import jobs
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Proposed
from truethrow.cli.floor.searching import Search
from truethrow.worksheets.words import build_words, matching_words

ONE_AIM = '\n[match]\naims = ["bobweight"]\nmove = ["piston", "pin", "rod"]\n'
NOTHING = '\n[match]\naims = ["residual"]\nmove = ["piston"]\n'


def ended(place):
    search = Search(place, "AB", lambda: None)
    until(lambda: not search.is_running)
    search.close()
    return search


def proposals(path):
    return [one for one in ReadingLog(log_path(path)).records if isinstance(one, Proposed)]


def test_it_proposes_what_match_proposes(tmp_path):
    found = []
    for name in ("floor", "typed"):
        path = weighed(tmp_path / name)
        path.write_text(path.read_text(encoding="utf-8") + ONE_AIM, encoding="utf-8")
        if name == "floor":
            assert ended(path).ended == ()
        else:
            assert run("match", path, "--by", "AB").status in (0, 1)
        found += proposals(path)
    own, typed = found
    assert (own.moves, own.why, own.digest, own.by) == (typed.moves, typed.why, typed.digest, typed.by)


def test_of_readings_that_look_like_slips_it_says_what_match_says(tmp_path):
    path = weighed(tmp_path, looked_at=False)
    path.write_text(path.read_text(encoding="utf-8") + ONE_AIM, encoding="utf-8")
    (said,) = ended(path).ended
    assert said.startswith("Do not go by it yet")
    assert said in " ".join(run("match", path).out.split())


def test_where_nothing_is_weighed_it_says_what_match_says(tmp_path):
    path = blank_job(tmp_path)
    search = ended(path)
    assert search.ended
    refused = " ".join(run("match", path).err.split())
    assert all(" ".join(line.split()) in refused for line in search.ended)


def test_where_nothing_is_to_be_moved_it_says_so(tmp_path):
    path = weighed(tmp_path)
    path.write_text(path.read_text(encoding="utf-8") + NOTHING, encoding="utf-8")
    assert ended(path).ended == (matching_words.NOTHING_TO_MOVE,)


def test_a_job_of_a_book_is_found_there(book, tmp_path):
    path = weighed(tmp_path)
    path.write_text(path.read_text(encoding="utf-8") + ONE_AIM, encoding="utf-8")
    jobs.add(book, jobs.from_file(path))
    job = BookedJob(book, "launch-7")
    assert ended(job).ended == ()
    assert [one for one in job.open_log().records if isinstance(one, Proposed)]


def test_one_that_dies_says_that_there_is_no_answer(tmp_path):
    search = Search(weighed(tmp_path), "AB", lambda: None)
    search._process.kill()
    until(lambda: not search.is_running)
    assert search.ended == (build_words.SEARCH_FAILED,)
    search.close()
