"""Jobs into the book and out again: nothing is lost on the way, and nothing is overwritten unseen."""

from __future__ import annotations

import hashlib
import json
import unicodedata

import books
import invented
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, NotSaved
from truethrow.balance.book import jobs, listing, outside
from truethrow.balance.book.backup import backup, restore
from truethrow.balance.book.documents import issued
from truethrow.balance.book.place import BookedJob
from truethrow.balance.demo import copy_into
from truethrow.balance.job.enter import enter
from truethrow.balance.job.job import load
from truethrow.balance.log import damage, lines, place
from truethrow.balance.log.lines import line
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import ACTIONS, Record
from truethrow.balance.station import lost_lines

# What a book keeps: anything but the characters that no file of ours has either.
TEXTS = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=12)
GRAMS = st.none() | st.floats(allow_nan=False, allow_infinity=False) | st.sampled_from([-0.0, 0.0, 5e-324, 538.4])
RECORDS = st.builds(
    Record,
    id=TEXTS.filter(bool),
    at=TEXTS,
    bench=TEXTS,
    by=TEXTS,
    action=st.sampled_from(ACTIONS),
    cylinder=st.none() | st.integers(-(2**31) + 1, 2**31 - 1),
    kind=TEXTS,
    grams=GRAMS,
    typed=TEXTS,
    of=TEXTS,
    why=TEXTS,
)
ENCODINGS = {"utf-8": b"", "utf-8-sig": b"", "utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}


def added(book, path, by="", revision=None):
    return jobs.add(book, jobs.from_file(path), by, revision)


def issue(book, job, raw, by="", name="launch-7-station.csv", digest="t0"):
    with place.issuing(BookedJob(book, job), [place.Outgoing("station", raw, digest, name)], by):
        pass


def with_log(path, records):
    log_path(path).write_bytes(b"".join(map(line, records)))
    return path


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
    log = b"".join(map(line, records))
    log_path(path).write_bytes(log)
    assert added(book, path).fresh == len(records)
    assert BookedJob(book, name).open_log().records == records
    made = outside.export(book, name, folder / "out")
    assert [one.read_bytes() for one in made] == [path.read_bytes(), *([log] if log else [])]
    again = added(book, made[0])
    assert (again.revision, again.has_new_text, again.fresh) == (1, False, 0)


def test_a_zero_below_zero_stays_one(book, tmp_path):
    path = books.job_file(tmp_path)
    ReadingLog(log_path(path)).append("zero", grams=-0.0, typed="-0.0 g")
    added(book, path)
    (record,) = BookedJob(book, "launch-7").open_log().records
    assert str(record.grams) == "-0.0"
    assert outside.export(book, "launch-7", tmp_path / "out")[1].read_bytes() == log_path(path).read_bytes()


def test_a_job_of_the_book_works_out_as_its_file_does(book, tmp_path):
    job, sheet = copy_into(tmp_path)
    enter(job, sheet)
    ReadingLog(log_path(job)).append("read", cylinder=1, kind="piston", grams=537.9, typed="537,9")
    added(book, job)
    assert load(BookedJob(book, "launch-7")).digest == load(job).digest


def test_from_an_embedded_book_to_a_server_and_back_the_digest_and_every_byte_stay(tmp_path):
    job, sheet = copy_into(tmp_path)
    enter(job, sheet)
    log = ReadingLog(log_path(job), by="AB")
    for cylinder, grams in enumerate([537.9, 538.0, 540.25], start=1):
        log.append("read", cylinder=cylinder, kind="piston", grams=grams, typed=f"{grams} g", why="wægning")
    log.append("seat", typed="piston 1>2 2>1", of="p-1")
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


def test_readings_of_two_benches_merge(book, tmp_path):
    path = books.job_file(tmp_path)
    here, there = ReadingLog(log_path(path), "here"), ReadingLog(tmp_path / "there" / "x.jsonl", "there")
    here.append("read", cylinder=1, kind="piston", grams=538.0)
    added(book, path)
    other = books.job_file(tmp_path / "there")
    there = ReadingLog(log_path(other), "there")
    there.append("read", cylinder=2, kind="piston", grams=539.0)
    assert added(book, other).fresh == 1
    here.append("read", cylinder=3, kind="piston", grams=540.0)
    done = added(book, path)
    assert (done.fresh, done.records, done.has_new_text) == (1, 2, False)
    assert [record.grams for record in BookedJob(book, "launch-7").open_log().records] == [538.0, 539.0, 540.0]


def test_another_reading_under_the_same_id_is_refused_and_the_same_again_is_none(book, tmp_path):
    record = Record("a-1", "2026-01-01T00:00:00.000Z", "b", "", "read", 1, "piston", 538.0, "538", "", "")
    path = with_log(books.job_file(tmp_path), [record])
    added(book, path)
    with_log(path, [record._replace(at="2026-01-02T00:00:00.000Z", by="AB")])
    assert added(book, path).fresh == 0
    before = books.ways(book)
    with_log(path, [record._replace(grams=583.0), record._replace(id="a-2")])
    with pytest.raises(NotSaved, match=r"record a-1 is another one in the book; nothing was added$"):
        added(book, path)
    assert books.ways(book) == before


def test_a_record_that_would_come_to_stand_behind_later_ones_is_refused(book, tmp_path):
    """A cut that is added behind the weighing after it would make that one history."""
    path = books.job_file(tmp_path)
    log = ReadingLog(log_path(path))
    log.append("read", cylinder=1, kind="piston", grams=538.0)
    cut = log.append("cut", cylinder=1, kind="piston", grams=1.0, of="p0")
    after = log.append("read", cylinder=1, kind="piston", grams=537.0)
    with_log(path, [log.records[0], after])
    added(book, path)
    before = books.ways(book)
    with_log(path, log.records)
    with pytest.raises(NotSaved) as refused:
        added(book, path)
    told = f"record {cut.id} is new, and stands before {after.id}, which the book has already: "
    assert told in str(refused.value)
    assert str(refused.value).count("\n") == 0
    assert books.ways(book) == before


@pytest.mark.parametrize("ours", [True, False])
def test_two_ways_of_a_log_are_joined_only_where_their_order_does_not_matter(book, tmp_path, ours):
    path = books.job_file(tmp_path)
    log = ReadingLog(log_path(path))
    common = log.append("read", cylinder=1, kind="piston", grams=538.0)
    reading = log.append("read", cylinder=2, kind="piston", grams=537.0)
    other = log.append("read", cylinder=3, kind="piston", grams=537.5)
    cut = log.append("cut", cylinder=1, kind="piston", grams=1.0, of="p0")
    late = log.append("skip", cylinder=4, kind="pin")
    with_log(path, [common, reading])
    added(book, path)
    with_log(path, [common, other])
    assert added(book, path).fresh == 1
    if ours:
        BookedJob(book, "launch-7").open_log().append("cut", cylinder=1, kind="piston", grams=1.0, of="p0")
    with_log(path, [common, reading, other, late] if ours else [common, reading, cut])
    before = books.ways(book)
    with pytest.raises(NotSaved, match=r"which came first is not known, and it matters; nothing was added$"):
        added(book, path)
    assert books.ways(book) == before


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

    monkeypatch.setattr(listing, "refresh", unread)
    path = books.job_file(tmp_path)
    assert added(book, path).was_new
    path.write_text(path.read_text() + "# more\n")
    assert jobs.put(book, "launch-7", path, 1) == 2


def test_a_damaged_line_of_a_log_goes_in_as_it_is_once_it_is_acknowledged(book, tmp_path):
    path = books.job_file(tmp_path)
    log = ReadingLog(log_path(path))
    for grams in (538.0, 539.0, 540.0):
        log.append("read", cylinder=1, kind="piston", grams=grams)
    log_path(path).write_bytes(log_path(path).read_bytes().replace(b"539.0", b"593.0") + b'{"id":"torn')
    with pytest.raises(BadInput, match="line 2 is damaged and does not count; say what became of it"):
        added(book, path)
    lost_lines.acknowledge(path, 2, damage.NEVER, "two digits changed places", by="AB")
    done = added(book, path)
    assert [(note.number, note.what) for note in done.notes] == [(2, "damaged"), (4, "torn")]
    records = BookedJob(book, "launch-7").open_log().records
    assert [record.action for record in records] == ["read", "damaged", "read", "acknowledge"]
    assert lines.raw_of(records[1]) == log_path(path).read_bytes().splitlines()[1]
    assert damage.unsettled(records) == []
    assert added(book, path).fresh == 0


@pytest.mark.parametrize("wrong", ["\\u0000", "\\ud800"])
def test_a_record_that_no_book_can_keep_is_refused_by_name(book, tmp_path, wrong):
    path = books.job_file(tmp_path)
    record = Record("a-1", "", "", "", "zero", None, "", 0.0, json.loads(f'"{wrong}"'), "", "")
    with_log(path, [record])
    with pytest.raises(BadInput, match=r"readings\.jsonl: record a-1: holds "):
        added(book, path)


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
    assert " by AB; nothing was written (--revision 1 replaces it). What differs:" in head
    assert differs == ["  -piston = 1.0", "  +piston = 1.5"]
    done = added(book, path, "CD", revision=1)
    assert (done.revision, done.was_new, done.has_new_text) == (2, False, True)
    assert "piston = 1.0" in jobs.document(book, "launch-7", 1).text
    assert "piston = 1.5" in jobs.document(book, "launch-7").text


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


def test_nothing_that_stands_is_written_over_on_the_way_out(book, tmp_path):
    books.with_job(book, tmp_path)
    (tmp_path / "out").mkdir()
    beside = tmp_path / "out" / "launch-7.readings.jsonl"
    beside.write_text("mine")
    with pytest.raises(NotSaved, match=r"launch-7\.readings\.jsonl: stands already"):
        outside.export(book, "launch-7", tmp_path / "out")
    assert [path.name for path in (tmp_path / "out").iterdir()] == [beside.name]


def test_a_file_is_named_like_its_job_and_no_two_the_same():
    names = ["a", "a%41", "aA", "a:b", "a%3ab", "..", ".", "no. 7", "7*", "7?", "œuvre"]
    made = [outside.file_name(name) for name in names]
    assert len(set(made)) == len(names)
    assert made[0] == "a"
    assert not any(set(name) & set('/\\:*?"<>|') for name in made)
    assert not {".", ".."} & set(made)


@settings(max_examples=200, deadline=None)
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
    BookedJob(book, "pump-2").open_log().append("zero", grams=0.0)
    issue(book, "pump-2", b"sheet", name="pump-2-station.csv")
    made = outside.export_all(book, tmp_path / "all")
    names = ["launch-7.toml", "pump-2.toml", "pump-2.readings.jsonl", *outside.REST]
    assert [path.name for path in made] == names
    assert json.loads((tmp_path / "all" / "documents.jsonl").read_text())[1]["name"] == "pump-2-station.csv"
    texts = [json.loads(one)[1]["text"] for one in (tmp_path / "all" / "revisions.jsonl").read_text().splitlines()]
    assert texts[0] == (tmp_path / "launch-7.toml").read_text()


def test_a_document_is_kept_once_with_whose_it_is_and_a_file_keeps_none(book, tmp_path):
    books.with_job(book, tmp_path)
    for raw in (b"sheet", b"sheet", b"other sheet", b"sheet"):
        issue(book, "launch-7", raw, "AB", digest="t58829fdf932eb35")
    found = issued(book, "launch-7")
    assert len(found) == 3
    assert [one.digest for one in found[:2]] == [
        hashlib.sha256(raw).hexdigest() for raw in (b"sheet", b"other sheet")
    ]
    assert {(one.by, one.job_digest, one.name) for one in found} == {
        ("AB", "t58829fdf932eb35", "launch-7-station.csv")
    }
    issue(book, "launch-7", b"another", name="any")
    with place.issuing(tmp_path / "any.toml", [place.Outgoing("station", b"sheet", "t0", "any")]):
        pass
    assert [one.name for one in issued(book, "launch-7")[3:]] == ["any"]


def test_a_state_is_known_as_soon_as_a_job_is_in(book, tmp_path):
    books.with_job(book, tmp_path)
    with book.reading() as connection:
        row = jobs.row_of(connection, "launch-7", book)
    assert (row["state"], row["state_revision"]) == ("station", 1)
    assert listing.job_of(book, "launch-7").digest == load(books.job_file(tmp_path / "again")).digest
    assert invented.V8["layout"] in jobs.document(book, "launch-7").text
