"""What the book says: of a job, of its documents, of loose parts."""

import pytest
from listed_job import AT, JOB

from truethrow.balance.book.documents import Issued
from truethrow.balance.book.jobs import Added
from truethrow.balance.book.stock import Loose, Move, PartHistory, Sitting, Weighing
from truethrow.worksheets.words import book_words as words

STALE = JOB._replace(state="", blocked="", digest="", is_fresh=False)
ROD = Loose("rod", "R07", 451.2, 171.3, "left", "", AT, None, None, AT)


def test_of_a_job_that_was_not_looked_at_no_state_is_told():
    assert words.list_row(JOB) == [
        *("launch-7", "trimming", "", "", "3", "12", "2026-11-28 09:01", "AB", "to be ground: piston 3"),
    ]
    assert words.list_row(STALE)[1] == words.NOT_LOOKED_AT
    assert words.list_row(STALE)[-1] == ""
    assert words.job_lines(STALE)[1] == f"State: {words.NOT_LOOKED_AT}"
    assert "Digest t01" in words.job_lines(JOB)
    assert not any("Digest" in line for line in words.job_lines(STALE))


def test_a_list_is_summed_up_by_state():
    assert words.summary([]) == "No job."
    assert words.summary([JOB]) == "1 job: 1 trimming"
    assert words.summary([JOB, JOB, STALE]) == f"3 jobs: 2 trimming, 1 {words.NOT_LOOKED_AT}"
    assert words.not_looked_at([JOB]) == []
    assert words.not_looked_at([JOB, STALE])[0].startswith("1 job not looked at yet")


@pytest.mark.parametrize(
    ("done", "said"),
    [
        (Added("a", 1, True, True, 0, 0, ()), "a: new, revision 1; no log"),
        (Added("a", 2, False, True, 1, 9, ()), "a: text replaced, revision 2; 1 new record of 9"),
        (Added("a", 2, False, False, 0, 9, ()), "a: text as it was, revision 2; 0 new records of 9"),
    ],
)
def test_what_came_of_adding_a_job(done, said):
    assert words.added(done) == said


def test_a_document_of_another_state_than_the_jobs_is_told_by_the_last_one():
    out = Issued(AT, "AB", "trim card", "f" * 64, "t00", "trim.pdf")
    assert words.document_lines([], JOB) == []
    assert words.document_lines([out._replace(job_digest="t01")], JOB) == []
    (told,) = words.document_lines([out._replace(job_digest="t01"), out], JOB)
    assert "trim card" in told
    assert "t00" in told
    assert words.document_lines([out], STALE) == []  # nobody knows at which the job is


def test_a_part_is_on_the_shelf_or_in_a_cylinder_of_a_job():
    assert words.place_of(ROD) == "shelf"
    assert words.place_of(ROD._replace(job="launch-7", cylinder=3)) == "launch-7, cylinder 3"
    assert words.stock_row(ROD)[:4] == ["rod", "R07", "451.2 g", "171.3 g"]
    assert words.stock_row(ROD._replace(kind="pin", big_end_g=None, other_g=112.1))[2:4] == ["", "112.1 g"]


def test_the_history_of_a_part_is_its_weights_its_ways_and_where_it_sits():
    weighings = (Weighing(AT, "AB", 451.2, 171.3),)
    moves = (Move(AT, "", "launch-7", 3), Move(AT, "CD", None, None))
    sits = (Sitting("pump-2", "rod", 1),)
    assert words.part_lines(PartHistory("rod", "R07", False, weighings, moves, sits)) == [
        "rod R07 (not in the stock)",
        "2026-11-28 09:01 UTC by AB: big end 451.2 g, small end 171.3 g",
        "2026-11-28 09:01 UTC: to job launch-7, cylinder 3",
        "2026-11-28 09:01 UTC by CD: back to the shelf",
        "job pump-2 has it in cylinder 1",
    ]


def test_no_text_of_the_book_reaches_a_terminal_with_an_escape():
    evil = JOB._replace(id="\x1b[31m", title="\x07", blocked="\x9b1m", changed_by="\x1b")
    assert all(text.isprintable() for text in (*words.list_row(evil), *words.job_lines(evil)))


def test_a_move_is_a_command_ready_to_paste():
    assert words.move_command("rod", "R 1", "seven", 3) == (
        "truethrow book stock move rod 'R 1' --job seven --cylinder 3"
    )
    assert words.move_command("rod", "R1") == "truethrow book stock move rod R1"


def test_a_file_that_is_behind_the_book_is_told_how_to_have_the_rest():
    assert words.lacking(Added("a b", 2, False, False, 0, 9, (), 3)) == (
        "3 records are in the book and not in this file's log: the book's are kept; to have them: "
        "truethrow book export 'a b' --into FOLDER"
    )
    assert words.lacking(Added("a", 2, False, False, 0, 9, (), 1)).startswith("1 record is in the book")
