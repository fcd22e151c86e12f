"""Jobs leave the book as plain files, and write over nothing."""

from __future__ import annotations

import json
import unicodedata

import books
import pytest
from examples import examples
from hypothesis import example, given
from hypothesis import strategies as st

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import jobs, outside
from truethrow.balance.book.address import of_file
from truethrow.balance.book.backup import restore
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.check import verify
from truethrow.balance.log import place
from truethrow.balance.log.records import ZeroRead


def added(book, path, by="", revision=None):
    return jobs.add(book, jobs.from_file(path), by, revision)


def issue(book, job, raw, by="", name="launch-7-station.csv", digest="t0"):
    with place.issuing(BookedJob(book, job), [place.Outgoing("station", raw, digest, name)], by):
        pass


def test_nothing_that_stands_is_written_over_on_the_way_out(book, tmp_path):
    books.with_job(book, tmp_path)
    (tmp_path / "out").mkdir()
    beside = tmp_path / "out" / "launch-7.readings.jsonl"
    beside.write_text("mine")
    with pytest.raises(NotSaved, match=r"launch-7\.readings\.jsonl: already exists"):
        outside.export(book, "launch-7", tmp_path / "out")
    assert [path.name for path in (tmp_path / "out").iterdir()] == [beside.name]


def test_a_file_is_named_like_its_job_and_no_two_the_same():
    names = ["a", "a%41", "aA", "a:b", "a%3ab", "..", ".", "no. 7", "7*", "7?", "œuvre"]
    made = [outside.file_name(name) for name in names]
    assert len(set(made)) == len(names)
    assert made[0] == "a"
    assert not any(set(name) & set('/\\:*?"<>|') for name in made)
    assert not {".", ".."} & set(made)


@examples(200)
@given(st.sets(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=64), max_size=6))
@example({"$00", "\u2400"})
@example({"A", "a", "A%", "a%"})
@example({"\N{ANGSTROM SIGN}", "\N{LATIN CAPITAL LETTER A WITH RING ABOVE}", "ß", "SS", "ss"})
@example({"\N{WRENCH}" * 64, "\N{WRENCH}" * 63 + "x", "ü" * 64, "ü" * 63 + "U\u0308"})
def test_files_of_several_jobs_can_stand_in_one_folder(names):
    """Also where the file system takes A and a for one, and both Å."""
    made = outside.file_names(names)
    assert made.keys() == names
    one_case = {unicodedata.normalize("NFKC", name).casefold() for name in made.values()}
    assert len(one_case) == len(set(map(place.file_name, names))) == len(names)
    for name in made.values():
        assert len(f".{name}.readings.jsonl".encode()) <= 255
        assert not set(name) & set('/\\:*?"<>|')


def test_everything_comes_out_as_plain_files(book, tmp_path):
    added(book, books.job_file(tmp_path), "AB")
    added(book, books.job_file(tmp_path, "pump-2"))
    BookedJob(book, "pump-2").open_log().append(ZeroRead("start", 0.0))
    issue(book, "pump-2", b"sheet", name="pump-2-station.csv")
    made = outside.export_all(book, tmp_path / "all").files
    names = ["launch-7.toml", "pump-2.toml", "pump-2.readings.jsonl", *outside.REST]
    assert [path.name for path in made] == names
    assert (
        json.loads((tmp_path / "all" / "documents.jsonl").read_text().splitlines()[0])[1]["name"]
        == "pump-2-station.csv"
    )
    texts = [json.loads(one)[1]["text"] for one in (tmp_path / "all" / "revisions.jsonl").read_text().splitlines()]
    assert texts[0] == (tmp_path / "launch-7.toml").read_text()


def test_what_was_written_out_as_plain_files_comes_back_equal_to_the_row(full, tmp_path):
    """Texts that jobs had before, documents, profiles and stock too, into a book of either kind."""
    outside.export_all(full, tmp_path / "out")
    for address in (of_file(tmp_path / "another.db"), full.address):
        restore(address, tmp_path / "out")
        with books.opened(address) as back:
            assert books.ways(back) == books.ways(full)
            assert verify(back).faults == ()


@pytest.mark.parametrize(
    ("name", "change", "told"),
    [
        ("profiles.jsonl", None, "no such file; allowed: a folder that export-all wrote"),
        ("stock.jsonl", b"{}\n", "line 1: is no row of a book"),
        ("launch-1.toml", b"job.id = 'launch-1'\n", "is not the text that revision 2 of launch-1 has"),
        ("launch-2.readings.jsonl", b"", "is damaged, and nothing was put back"),
    ],
)
def test_a_folder_that_is_not_what_was_written_out_is_not_taken_back(tmp_path, name, change, told):
    with books.at(tmp_path / "book.db") as book:
        books.fill(book, tmp_path)
        outside.export_all(book, tmp_path / "out")
        before = books.ways(book)
        path = tmp_path / "out" / name
        path.unlink()
        if change is not None:
            path.write_bytes(change)
        with pytest.raises(BadInput, match=told):
            restore(book.address, tmp_path / "out")
        assert books.ways(book) == before
