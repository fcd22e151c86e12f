"""The log of a job of the book: what was acknowledged is there, once, whatever comes between."""

from __future__ import annotations

import books
import pytest
from sqlalchemy import event, select

from truethrow.balance.base.errors import BadInput, NotSaved, Replaced
from truethrow.balance.book import connection as settings
from truethrow.balance.book import schema
from truethrow.balance.book.backup import backup, restore
from truethrow.balance.book.book_log import BookLog
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.log.records import Struck, Weighed, ZeroRead

STATION = """
import sys
from truethrow.balance.book.book_log import BookLog
from truethrow.balance.book.open import open_book
from truethrow.balance.log.records import Weighed
book = open_book(sys.argv[1])
log = BookLog(book, "launch-7", sys.argv[2])
print("ready", flush=True)
sys.stdin.readline()
for number in range(int(sys.argv[3])):
    print(log.append(Weighed(1, "piston", float(number))).id, flush=True)
book.close()
"""


def read(log, grams, typed="", why="", **more):
    return log.append(Weighed(1, "piston", grams, typed, why=why), **more)


@pytest.fixture
def job(book, tmp_path):
    books.with_job(book, tmp_path)
    return BookedJob(book, "launch-7")


@pytest.fixture
def two(book_address, job):
    """Two benches at one job, each with connections of its own."""
    with books.opened(book_address) as other:
        yield BookLog(job.book, "launch-7", "one", "AB"), BookLog(other, "launch-7", "two")


def test_what_was_appended_is_there_for_everybody(two):
    one, other = two
    made = [read(one, 538.1, typed="538,1", why="dry"), one.append(Struck("nothing"))]
    assert one.refresh() == []
    assert other.refresh() == made
    theirs = read(other, 538.2)
    assert other.records == [*made, theirs]
    assert one.refresh() == [theirs]
    assert one.records == other.records
    assert made[0].by == "AB"
    assert made[0].bench == "one"


def test_one_id_is_one_record_however_often_and_by_whom_it_is_written(two):
    one, other = two
    key = one.next_id()
    made = read(one, 538.1, id=key)
    assert read(one, 538.1, id=key) == made
    assert read(other, 538.1, id=key) == made
    with pytest.raises(ValueError, match="belongs to another record"):
        read(other, 583.1, id=key)
    assert other.refresh() == []
    assert BookedJob(one._book, "launch-7").open_log().records == [made]


def test_what_must_hold_is_looked_at_under_the_lock_with_all_that_others_wrote(two):
    one, other = two
    read(other, 538.4)
    seen = []

    def refuse():
        # Also what looks at the job anew, as accepting does, sees it and does not wait for itself.
        seen.append((len(one.records), len(BookedJob(one._book, "launch-7").open_log().records)))
        raise ValueError("not now")

    key = one.next_id()
    with pytest.raises(ValueError, match="not now"):
        read(one, 538.5, id=key, unless=refuse)
    assert seen == [(1, 1)]
    assert len(other.records) == 1
    assert other.refresh() == []
    made = read(one, 538.5, id=key)
    assert read(one, 538.5, id=key, unless=refuse) == made
    assert seen == [(1, 1)]


def test_stations_that_write_at_once_lose_nothing(book_address, job):
    stations = [books.process(STATION, book_address, f"station {n}", 40) for n in range(4)]
    for station in stations:
        assert station.stdout.readline() == "ready\n"
    for station in stations:
        station.stdin.write("go\n")
        station.stdin.flush()
    told = [station.communicate()[0].split() for station in stations]
    log = job.open_log()
    assert sorted(record.id for record in log.records) == sorted(key for ids in told for key in ids)
    assert len(log.records) == 160
    assert log.notes == []
    for station, ids in zip(stations, told, strict=True):
        assert station.returncode == 0
        own = [record for record in log.records if record.id in ids]
        assert [record.grams for record in own] == [float(n) for n in range(40)]
    with job.book.reading() as connection:
        seqs = list(connection.scalars(select(schema.records.c.seq).order_by(schema.records.c.seq)))
    assert seqs == list(range(1, 162))


def test_a_station_that_is_killed_leaves_the_others_what_it_was_told_is_safe(book_address, job):
    told = []
    for number in range(5):
        station = books.process(STATION, book_address, "killed", 100_000)
        assert station.stdout.readline() == "ready\n"
        station.stdin.write("go\n")
        station.stdin.flush()
        told += [station.stdout.readline().strip() for _ in range(number + 3)]
        station.kill()
        told += [line.strip() for line in station.communicate()[0].splitlines(True) if line.endswith("\n")]
    log = job.open_log()
    assert set(told) <= {record.id for record in log.records}
    assert read(log, 1.0) in job.open_log().records


def test_a_lock_that_is_not_given_back_is_told_and_nothing_is_written(book_address, job, monkeypatch):
    monkeypatch.setattr(settings, "LONGEST_WAIT_S", 0.3)
    monkeypatch.setitem(settings._SERVER, "lock_timeout", 300)
    with books.opened(book_address) as other:
        log = BookLog(other, "launch-7")
        with job.book.writing() as connection:
            connection.execute(select(schema.jobs).with_for_update()).all()
            with pytest.raises(NotSaved, match=r"locked by another station for 8 s; the reading is not saved$"):
                read(log, 538.1)
        made = read(log, 538.1)
    assert job.open_log().records == [made]


def test_a_connection_that_was_dropped_meanwhile_is_made_again(book, job):
    if book.address.file is not None:
        pytest.skip("an embedded book has no connection to lose")
    log = job.open_log()
    read(log, 538.0)
    drop(book)
    read(log, 538.1)
    # In the middle of the transaction: the first attempt is lost, the second is not.
    lost = []

    def drop_once(connection, cursor, statement, *_):
        if "append_records" in statement and not lost:
            lost.append(statement)
            drop(book)

    event.listen(book.engine, "before_cursor_execute", drop_once)
    read(log, 538.2)
    assert lost
    assert [record.grams for record in job.open_log().records] == [538.0, 538.1, 538.2]


def test_a_commit_nobody_heard_of_is_one_record_all_the_same(book, job):
    if book.address.file is not None:
        pytest.skip("an embedded book has no connection to lose")
    lost = []

    def commit_and_drop(connection):
        if not lost:
            lost.append(connection.connection.dbapi_connection)
            lost[0].commit()  # the server did it, and then the line was cut
            drop(book)

    log = job.open_log()
    event.listen(book.engine, "commit", commit_and_drop)
    made = read(log, 538.1)
    assert lost
    assert log.records == job.open_log().records == [made]


def drop(book):
    """Cut all connections to a book's database, as a server that is stopped does."""
    name = book.address.url.database
    books.on_server(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'")


def test_a_server_that_is_gone_is_told_in_plain_words(book, job, monkeypatch):
    if book.address.file is not None:
        pytest.skip("an embedded book has no server")
    log = job.open_log()
    name = book.address.url.database
    books.on_server(f"ALTER DATABASE {name} ALLOW_CONNECTIONS false")
    drop(book)
    with pytest.raises(NotSaved, match=r"the log of job launch-7: .*; the reading is not saved$"):
        read(log, 538.1)
    with pytest.raises(BadInput):
        log.refresh()
    books.on_server(f"ALTER DATABASE {name} ALLOW_CONNECTIONS true")
    made = read(log, 538.2)
    assert job.open_log().records == [made]


def test_a_damaged_record_does_not_count_and_is_told(book, job):
    log = job.open_log()
    for grams in (538.0, 539.0, 540.0):
        read(log, grams)
    with book.writing() as connection:
        for statement in schema.guards_off(connection.dialect.name):
            connection.exec_driver_sql(statement)
        connection.exec_driver_sql("UPDATE records SET text = replace(text, '539.0', '593.0') WHERE seq = 3")
        for statement in schema.guards_on(connection.dialect.name):
            connection.exec_driver_sql(statement)
    again = job.open_log()
    assert [record.grams for record in again.records if record.action == "read"] == [538.0, 540.0]
    assert list(map(str, again.notes)) == ["record 3 is damaged; what it said is lost"]
    read(again, 541.0)
    grams = [(record.action, getattr(record, "grams", None)) for record in job.open_log().records]
    assert grams == [("read", 538.0), ("damaged", None), ("read", 540.0), ("read", 541.0)]


def test_who_has_a_job_open_is_told_that_another_book_was_put_in_its_place(book, job, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    log = job.open_log()
    read(log, 538.0)
    backup(book, tmp_path / "b.bak")
    read(log, 539.0)
    restore(book.address, tmp_path / "b.bak")
    with pytest.raises(Replaced, match=r"another book was put in its place meanwhile; open the job anew$"):
        log.refresh()
    with pytest.raises(Replaced, match="put in its place meanwhile; open the job anew; the reading is not saved"):
        read(log, 540.0)


@pytest.mark.parametrize("text", ["\0", "\ud800"])
def test_a_record_that_no_book_can_keep_is_no_record(job, text):
    with pytest.raises(ValueError, match="holds"):
        job.open_log().append(ZeroRead("start", 0.0, text))
    assert job.open_log().records == []
