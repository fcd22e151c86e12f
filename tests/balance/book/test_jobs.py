"""A job comes out of the book as it went in, and an edit of an old text is refused."""

from __future__ import annotations

import books
import invented
import kept
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, NotSaved
from truethrow.balance.book import jobs, listing, outside, states
from truethrow.balance.book.backup import backup, restore
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.demo import copy_into
from truethrow.balance.job import lifecycle
from truethrow.balance.job.enter import enter
from truethrow.balance.job.job import load
from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import Traded, Weighed

# What a book keeps: anything but the characters that no file of ours has either.
TEXTS = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=12)


GRAMS = st.floats(allow_nan=False, allow_infinity=False) | st.sampled_from([-0.0, 0.0, 5e-324, 538.4])
RECORDS = kept.any_record(TEXTS, GRAMS, id=TEXTS.filter(bool), at=TEXTS, bench=TEXTS, by=TEXTS)


ENCODINGS = {"utf-8": b"", "utf-8-sig": b"", "utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}


def added(book, path, by="", revision=None):
    return jobs.add(book, jobs.from_file(path), by, revision)


@settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    records=st.lists(RECORDS, max_size=5, unique_by=lambda record: record.id),
    note=st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=20),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    encoding=st.sampled_from([*ENCODINGS]),
    number=st.integers(0, 10**9),
)
def test_a_job_comes_out_of_the_book_as_it_went_in(book, tmp_path_factory, records, note, end, encoding, number):
    folder, name = tmp_path_factory.mktemp("job"), f"job {number}"
    if jobs.is_there(book, name):
        return
    text = f'# {note}{end}job = {{ id = "{name}" }}{end}{end}# no end: {note}'
    path = folder / "any.toml"
    path.write_bytes(ENCODINGS[encoding] + text.encode(encoding))
    log = kept.written(*records, job=name)
    log_path(path).write_bytes(log)
    assert added(book, path).fresh == len(records)
    assert BookedJob(book, name).open_log().records == records
    made = outside.export(book, name, folder / "out")
    assert [one.read_bytes() for one in made] == [path.read_bytes(), *([log] if log else [])]
    again = added(book, made[0])
    assert (again.revision, again.has_new_text, again.fresh) == (1, False, 0)


def test_a_job_of_the_book_works_out_as_its_file_does(book, tmp_path):
    job, sheet = copy_into(tmp_path)
    enter(job, sheet)
    open_log(job).append(Weighed(1, "piston", 537.9, "537,9"))
    added(book, job)
    assert load(BookedJob(book, "launch-7")).digest == load(job).digest


def test_from_an_embedded_book_to_a_server_and_back_the_digest_and_every_byte_stay(tmp_path):
    job, sheet = copy_into(tmp_path)
    enter(job, sheet)
    log = open_log(job, by="AB")
    for cylinder, grams in enumerate([537.9, 538.0, 540.25], start=1):
        log.append(Weighed(cylinder, "piston", grams, f"{grams} g", why="wægning"))
    log.append(Traded({"piston": {1: 2, 2: 1}}, "p-1"))
    digest = load(job).digest
    whole = [job.read_bytes(), log_path(job).read_bytes()]
    with books.fresh("postgresql", tmp_path) as address, books.opened(address) as served:
        with books.at(tmp_path / "one.db") as book:
            added(book, job)
            first = outside.export(book, "launch-7", tmp_path / "out")
            assert load(BookedJob(book, "launch-7")).digest == digest
            backup(book, tmp_path / "one.bak")
            before = books.ways(book)
        added(served, first[0])
        assert load(BookedJob(served, "launch-7")).digest == digest
        second = outside.export(served, "launch-7", tmp_path / "out again")
        assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second] == whole
        restore(served.address, tmp_path / "one.bak")
        assert books.ways(served) == before
        backup(served, tmp_path / "two.bak")
    with books.at(tmp_path / "two.db") as book:
        restore(book.address, tmp_path / "two.bak")
        assert books.ways(book) == before
        assert load(BookedJob(book, "launch-7")).digest == digest


def test_an_edit_of_before_a_restore_is_never_taken_for_one_of_after_it(book, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    path = books.job_file(tmp_path, limits={"piston": 1.0})
    first = path.read_text()
    added(book, path)
    backup(book, tmp_path / "b.bak")
    path.write_text(first.replace("piston = 1.0", "piston = 1.5"))
    assert jobs.put(book, "launch-7", path, 1, "U") == 2
    restore(book.address, tmp_path / "b.bak")
    theirs = first.replace("piston = 1.0", "piston = 0.5")
    path.write_text(theirs)
    number = jobs.put(book, "launch-7", path, 1, "B")
    assert number > 2
    path.write_text(first.replace("piston = 1.0", "piston = 1.6"))
    with pytest.raises(NotSaved, match=rf"is at revision {number}, .* by B, not at 2; nothing was written"):
        jobs.put(book, "launch-7", path, 2, "U")
    assert jobs.document(book, "launch-7").text == theirs


def test_a_job_is_in_even_where_nobody_can_tell_where_it_stands(book, tmp_path, monkeypatch):
    def unread(*_):
        raise BadInput([Fault("", "the server is gone")])

    monkeypatch.setattr(listing, "job_of", unread)
    path = books.job_file(tmp_path)
    assert added(book, path).was_new
    path.write_text(path.read_text() + "# more\n")
    assert jobs.put(book, "launch-7", path, 1) == 2


@pytest.mark.parametrize("name", [".", "..", "a/b", "a\\\\b", "LAUNCH.TOML", "-7", " 7", "7 "])
def test_an_id_that_a_command_could_not_tell_from_a_file_is_refused(tmp_path, name):
    path = tmp_path / "any.toml"
    path.write_text(f'job.id = "{name}"')
    with pytest.raises(BadInput, match=r"any\.toml: job, id: .*allowed: an id that cannot be taken for a file$"):
        jobs.from_file(path)


def test_another_text_is_refused_with_what_differs_unless_it_is_said_which_it_replaces(book, tmp_path):
    path = books.job_file(tmp_path, limits={"piston": 1.0})
    added(book, path, "AB")
    path.write_text(path.read_text().replace("piston = 1.0", "piston = 1.5"))
    with pytest.raises(NotSaved) as refused:
        added(book, path, "CD")
    head, *differs = str(refused.value).splitlines()
    assert head.startswith(f"{book.address}, job launch-7: is at revision 1, ")
    assert " by AB; nothing was written; another engine needs an id of its own, in [job]; " in head
    assert head.endswith("if this is the same one, edited: --revision 1. What differs:")
    assert differs == ["  -piston = 1.0", "  +piston = 1.5"]
    done = added(book, path, "CD", revision=1)
    assert (done.revision, done.was_new, done.has_new_text) == (2, False, True)
    assert "piston = 1.0" in jobs.document(book, "launch-7", 1).text
    assert "piston = 1.5" in jobs.document(book, "launch-7").text


def test_a_closed_job_takes_no_new_text(book, tmp_path):
    path = books.job_file(tmp_path, limits={"piston": 1.0})
    added(book, path, "AB")
    lifecycle.close(BookedJob(book, "launch-7"), "closed", "handed over", "AB")
    path.write_text(path.read_text().replace("piston = 1.0", "piston = 1.5"))
    for put in (
        lambda: added(book, path, "CD"),
        lambda: added(book, path, "CD", revision=1),
        lambda: jobs.put(book, "launch-7", path, 1, "CD"),
    ):
        with pytest.raises(
            BadInput, match=r"is closed since .*; open it again first: truethrow reopen launch-7 --by"
        ):
            put()
    assert "piston = 1.0" in jobs.document(book, "launch-7").text


def test_a_stale_edit_is_refused_with_what_changed_since(book, tmp_path):
    path = books.job_file(tmp_path, limits={"piston": 1.0})
    added(book, path)
    first, second = path.read_text(), path.read_text().replace("piston = 1.0", "piston = 1.5")
    path.write_text(second)
    assert jobs.put(book, "launch-7", path, 1, "AB") == 2
    path.write_text(first.replace("piston = 1.0", "piston = 0.5"))
    with pytest.raises(NotSaved) as refused:
        jobs.put(book, "launch-7", path, 1, "CD")
    head, *differs = str(refused.value).splitlines()
    assert "is at revision 2, " in head
    assert " by AB, not at 1; nothing was written. What differs:" in head
    assert differs == ["  -piston = 1.0", "  +piston = 1.5"]
    assert jobs.document(book, "launch-7").text == second
    with pytest.raises(NotSaved, match="not at 7"):
        jobs.put(book, "launch-7", path, 7)


def test_what_is_entered_is_refused_where_the_job_changed_meanwhile(book, tmp_path):
    path = books.job_file(tmp_path)
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    added(book, path)
    placed = BookedJob(book, "launch-7")
    seen = placed.text()
    placed.write_text(seen.replace("oil = 4.0", "oil = 4.5"), expected=seen)
    assert jobs.document(book, "launch-7").text.count("\r\n") == path.read_bytes().count(b"\r\n")
    with pytest.raises(NotSaved, match=r"(?s)is at revision 2.*\n  -oil = 4\.0\n  \+oil = 4\.5$"):
        placed.write_text(seen.replace("oil = 4.0", "oil = 5.0"), expected=seen)
    assert "oil = 4.5" in placed.text()


def test_a_text_that_is_another_jobs_or_none_is_not_put(book, tmp_path):
    books.with_job(book, tmp_path)
    before = books.ways(book)
    with pytest.raises(BadInput, match="job, id: 'launch-8' is another job; allowed: launch-7"):
        jobs.put(book, "launch-7", books.job_file(tmp_path, "launch-8"), 1)
    (tmp_path / "none.toml").write_text("[job\n")
    with pytest.raises(BadInput, match="not TOML"):
        jobs.put(book, "launch-7", tmp_path / "none.toml", 1)
    with pytest.raises(BadInput, match="job launch-9: is not in the book"):
        jobs.put(book, "launch-9", books.job_file(tmp_path, "launch-9"), 1)
    assert books.ways(book) == before


def test_a_state_is_known_as_soon_as_a_job_is_in(book, tmp_path):
    books.with_job(book, tmp_path)
    assert states.known(book.generation, ["launch-7"])["launch-7"][1].state == "station"
    assert listing.job_of(book, "launch-7").digest == load(books.job_file(tmp_path / "again")).digest
    assert invented.V8["layout"] in jobs.document(book, "launch-7").text
