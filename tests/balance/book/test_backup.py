"""A backup holds everything, and nothing is put back that is none."""

from __future__ import annotations

import contextlib
import hashlib
import json
import sqlite3

import books
import pytest

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import connection as connecting
from truethrow.balance.book import copies, jobs, schema
from truethrow.balance.book.address import of_file
from truethrow.balance.book.backup import backup, restore, source
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.check import verify
from truethrow.balance.log.records import ZeroRead


def test_a_backup_holds_everything_and_is_put_back(full, tmp_path):
    before = books.ways(full)
    backup(full, tmp_path / "b.bak")
    BookedJob(full, "launch-1").open_log().append(ZeroRead("start", 0.0))
    with_more = books.ways(full)
    done = restore(full.address, tmp_path / "b.bak")
    assert (done.jobs, done.records) == (3, 24)
    assert books.ways(full) == before
    with source(done.kept) as kept:
        assert books.ways(kept) == with_more
    assert verify(full).faults == ()
    changed_after = BookedJob(full, "launch-1").open_log().append(ZeroRead("start", 0.0))
    assert changed_after.action == "zero"


def test_a_backup_can_be_put_back_into_a_book_of_the_other_kind(full, tmp_path):
    before = books.ways(full)
    backup(full, tmp_path / "b.bak")
    other = "postgresql" if full.address.file else "sqlite"
    (tmp_path / "other").mkdir()
    with books.fresh(other, tmp_path / "other") as address, books.opened(address) as book:
        assert restore(book.address, tmp_path / "b.bak").kept is None
        assert books.ways(book) == before


def test_a_backup_is_of_one_moment_while_others_write(full, tmp_path):
    script = (
        "import sys; from truethrow.balance.book.open import open_book\n"
        "from truethrow.balance.book.book_log import BookLog\n"
        "from truethrow.balance.log.records import ZeroRead\n"
        "log = BookLog(open_book(sys.argv[1]), 'launch-1', 'other'); print('ready', flush=True)\n"
        "while True: log.append(ZeroRead('start', 0.0))"
    )
    other = books.process(script, full.address.url.render_as_string(hide_password=False))
    try:
        assert other.stdout.readline() == "ready\n"
        for number in range(3):
            backup(full, tmp_path / f"{number}.bak")  # which goes through it
    finally:
        other.kill()
        other.communicate()
    with source(tmp_path / "2.bak") as made:
        assert verify(made).rows["records"] > 24


def test_a_backup_is_never_written_over_anything_and_never_half(full, tmp_path):
    (tmp_path / "b.bak").write_text("mine")
    with pytest.raises(NotSaved, match=r"b\.bak: already exists"):
        backup(full, tmp_path / "b.bak")
    assert (tmp_path / "b.bak").read_text() == "mine"
    with pytest.raises(NotSaved, match="no backup was made"):
        backup(full, tmp_path / "no folder" / "b.bak")
    assert not list(tmp_path.glob(".*.part*"))


def test_what_is_no_sound_backup_is_not_put_back(full, tmp_path):
    before = books.ways(full)
    backup(full, tmp_path / "b.bak")
    raw = (tmp_path / "b.bak").read_bytes()
    for name, wrong, told in (
        ("text", b"a job file, say", "is no backup of a book"),
        ("short", raw[: len(raw) * 2 // 3], ""),
        ("other", raw.replace(b"launch-1-station.csv", b"launch-2-station.csv"), ""),
    ):
        (tmp_path / name).write_bytes(wrong)
        with pytest.raises(BadInput, match=told or None) as refused:
            restore(full.address, tmp_path / name)
        assert len(refused.value.lines()) == 1
        assert refused.value.lines()[0].startswith(f"{tmp_path / name}: ")
    with pytest.raises(BadInput, match="no such file"):
        restore(full.address, tmp_path / "none")
    assert books.ways(full) == before


@pytest.mark.parametrize(
    "wrong",
    [
        {"seq": 10**40},
        {"seq": "one"},
        {"text": "half a \ud800"},
        {"text": "a\0b"},
        {"text": None},
        {"job": "nobody's"},
        {"id": 7},
        {'text") --': ""},
    ],
)
def test_a_backup_whose_rows_are_none_is_refused_by_its_own_name(tmp_path, wrong):
    with books.at(tmp_path / "book.db") as book:
        books.fill(book, tmp_path, 1)
        with book.reading() as reading:
            copies.write(reading, tmp_path / "b.bak")
        lines = (tmp_path / "b.bak").read_text("utf-8").splitlines(keepends=True)
        at = next(number for number, line in enumerate(lines) if line.startswith('["records"'))
        lines[at] = json.dumps(["records", json.loads(lines[at])[1] | wrong]) + "\n"
        digest = hashlib.sha256("".join(lines[:-1]).encode()).hexdigest()
        lines[-1] = json.dumps({"rows": len(lines) - 2, "sha256": digest}) + "\n"
        (tmp_path / "b.bak").write_text("".join(lines), "utf-8")
        with pytest.raises(BadInput) as refused:
            restore(book.address, tmp_path / "b.bak")
        (line,) = refused.value.lines()
        assert line.startswith(f"{tmp_path / 'b.bak'}: ")
        assert "truethrow-" not in line


def test_a_restore_that_is_refused_leaves_no_copy(full, tmp_path, monkeypatch):
    backup(full, tmp_path / "b.bak")
    before, kept = books.ways(full), {*tmp_path.glob("book-*"), *tmp_path.glob("data/truethrow/copies/*")}
    monkeypatch.setattr(schema, "guards_on", lambda _: ["none of the statements"])
    with pytest.raises(NotSaved, match="the book is as it was"):
        restore(full.address, tmp_path / "b.bak")
    assert {*tmp_path.glob("book-*"), *tmp_path.glob("data/truethrow/copies/*")} == kept
    assert books.ways(full) == before


def test_an_edit_of_what_a_restore_took_away_is_refused(full, tmp_path):
    def put(by, revision):
        path = books.job_file(tmp_path / by, "launch-2")
        path.write_text(path.read_text("utf-8") + f"# by {by}\n", "utf-8")
        return jobs.put(full, "launch-2", path, revision, by)

    backup(full, tmp_path / "b.bak")
    taken_away = put("A", 1)
    restore(full.address, tmp_path / "b.bak")
    now_is = put("B", 1)
    with pytest.raises(NotSaved, match=f"is at revision {now_is}, .* not at {taken_away}; nothing was written"):
        put("C", taken_away)
    path = books.job_file(tmp_path, "new")
    assert jobs.add(full, jobs.from_file(path)).revision > now_is - 1
    assert verify(full).faults == ()


def test_two_books_put_back_from_one_backup_number_their_texts_apart(tmp_path):
    with books.at(tmp_path / "book.db") as book:
        books.with_job(book, tmp_path)
        backup(book, tmp_path / "b.bak")
    found = set()
    for number in range(6):
        restore(of_file(tmp_path / f"{number}.db"), tmp_path / "b.bak")
        with books.at(tmp_path / f"{number}.db") as book:
            found.add(
                jobs.put(book, "launch-7", books.job_file(tmp_path / "f", "launch-7", limits={"piston": 0.3}), 1)
            )
    assert min(found) > 100
    assert len(found) > 1


def shut(path, tmp_path):
    """What makes of the book in a file one that no backup may replace, each with what is told."""

    def changed_by(*statements):
        def change():
            with contextlib.closing(sqlite3.connect(path)) as other, other:
                for statement in statements:
                    other.execute(statement)

        return change

    def another():
        path.unlink()
        changed_by("CREATE TABLE theirs (one INTEGER)")()

    return {
        "newer": (changed_by("UPDATE alembic_version SET version_num = '0099'"), "newer truethrow"),
        "another's": (another, "another's tables"),
        "text": (lambda: path.write_text("a job file, say" * 500, "utf-8"), "is no book, .* nothing was put back"),
        "folder": (lambda: (path.unlink(), path.mkdir()), "cannot be opened"),
        "damaged": (
            lambda: path.write_bytes(path.read_bytes()[:100] + bytes(3996) + path.read_bytes()[4096:]),
            "the book is damaged; nothing was put back; take another file .*; or stop all stations",
        ),
    }


@pytest.mark.parametrize("what", ["newer", "another's", "text", "folder", "damaged"])
def test_what_is_no_book_that_can_be_opened_is_neither_replaced_nor_renamed(alone, tmp_path, what):
    path, _ = alone
    with books.at(path) as book:
        backup(book, tmp_path / "b.bak")
    change, told = shut(path, tmp_path)[what]
    change()
    before = {one.name: one.is_file() and one.read_bytes() for one in tmp_path.iterdir()}
    with pytest.raises(BadInput, match=told) as refused:
        restore(of_file(path), tmp_path / "b.bak")
    assert len(refused.value.lines()) == 1
    assert {one.name: one.is_file() and one.read_bytes() for one in tmp_path.iterdir()} == before


def test_a_book_that_is_locked_is_neither_replaced_nor_renamed(alone, tmp_path, monkeypatch):
    path, rows = alone
    with books.at(path) as book:
        backup(book, tmp_path / "b.bak")
    monkeypatch.setattr(connecting, "LONGEST_WAIT_S", 0.1)
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode=EXCLUSIVE")
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises((BadInput, NotSaved), match="locked by another station"):
            restore(of_file(path), tmp_path / "b.bak")
    with books.at(path) as book:
        assert books.ways(book) == rows
    assert list(tmp_path.glob("*damaged*")) == []


def test_a_bench_loses_nothing_when_somebody_wants_to_replace_its_damaged_book(alone, tmp_path):
    path, _ = alone
    with books.at(path) as book:
        backup(book, tmp_path / "b.bak")
        log = BookedJob(book, "launch-1").open_log()
        with path.open("r+b") as file:
            first = file.read(4096)
            file.seek(0)
            file.write(bytes(4096))
        with pytest.raises(BadInput, match="nothing was put back"):
            restore(of_file(path), tmp_path / "b.bak")
        with path.open("r+b") as file:
            file.write(first)
        made = log.append(ZeroRead("start", 0.0))
    with books.at(path) as book:
        assert made in BookedJob(book, "launch-1").open_log().records
