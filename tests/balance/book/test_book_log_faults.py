"""The log of a job in the book when something goes wrong: what was acknowledged is there, once, whatever was
killed, filled up, locked, cut or set back. `pytest -s` prints the counts.

On SQLite always; on PostgreSQL where TRUETHROW_TEST_POSTGRES names a server (.ci/postgres makes one). What stops a
server stops one of its own.
"""

from __future__ import annotations

import contextlib
import itertools
import os
import random
import shutil
import signal
import sys
import tempfile
import threading
import time
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

import books
import invented
import loaded
import pytest
from book_faults import (
    AT_ONCE,
    FAULTS,
    JOB,
    LONGEST_WAIT_S,
    check_told,
    environment,
    found_in,
    log_of,
    needs_postgres,
    read,
    refused,
    say,
    wait_for_more,
    with_job,
)
from bookstation import Server, Stations, fill, read_told, small_disk
from pulled_plug import DONE, needs_strace, states, traced_programs
from sqlalchemy import event, func, select

from truethrow.balance.base.errors import NotSaved
from truethrow.balance.book import connection, jobs, listing, schema
from truethrow.balance.book.check import verify
from truethrow.balance.book.opened import Book
from truethrow.balance.log import log as logs
from truethrow.balance.log.records import Struck

pytestmark = FAULTS


def kill_many(stations: Stations, url: str, folder: Path, kills: int) -> None:
    """Start stations and kill each: one in ten a whole process, which mostly is still loading; three in ten
    somewhere between being forked and its first readings; the others at any moment of their work."""
    chance = random.Random(20250301)
    deadlines: dict[int, tuple[float | None, Path]] = {}
    number = killed = 0
    while killed < kills:
        while number < kills and len(deadlines) < AT_ONCE:
            number += 1
            told = folder / f"s{number}"
            start = stations.start_whole if number % 10 == 0 else stations.start
            station = start(url, JOB, told.name, told)
            at_any_moment = {0: 1.2, 1: 0.02, 2: 0.05, 3: 0.1}.get(number % 10)
            now = time.monotonic()
            deadlines[station] = (None if at_any_moment is None else now + chance.uniform(0, at_any_moment), told)
        for station, (deadline, told) in list(deadlines.items()):
            if deadline is None and told.exists() and told.stat().st_size:
                deadlines[station] = (time.monotonic() + chance.uniform(0, 0.1), told)
            elif deadline is not None and time.monotonic() >= deadline:
                del deadlines[station]
                stations.kill(station)
                killed += 1
        time.sleep(0.002)


def test_many_kills_lose_nothing_that_was_acknowledged(url, opened, tmp_path, as_many):
    kills, start, folder = as_many(200, sample=40), time.perf_counter(), tmp_path / "acknowledged"
    folder.mkdir()
    with Stations() as stations:
        kill_many(stations, url, folder, kills)
    done, refusals = read_told(folder)
    records = check_told(url, done)
    say(
        f"{opened.address.url.get_backend_name()}: {kills} kills in {time.perf_counter() - start:.1f} s: "
        f"{len(done)} acknowledged, 0 of them lost; {len(records)} in the book, {len(records) - len(done)} of "
        f"them written but not acknowledged; {len(refusals)} refusals; "
        f"{kills - len({record.bench for record in records})} killed before their first"
    )
    assert len(done) > kills / 2
    assert refusals == []
    assert len(records) - len(done) <= kills


@needs_postgres
def test_a_server_that_dies_while_stations_write_loses_nothing_that_was_acknowledged(
    own_server, own_postgres, tmp_path, as_many
):
    with_job(own_postgres, tmp_path).close()
    chance, folder, start = random.Random(20250302), tmp_path / "acknowledged", time.perf_counter()
    folder.mkdir()
    deaths: Counter[str] = Counter()
    with Stations() as stations:
        for number in range(AT_ONCE):
            stations.start(own_postgres, JOB, f"s{number}", folder / f"s{number}")
        for number in range(as_many(4, sample=2)):
            wait_for_more(folder, 5)
            time.sleep(chance.uniform(0, 0.03))
            if number % 2:
                os.kill(chance.choice(own_server.backends()), signal.SIGKILL)
                deaths["a server process killed"] += 1
            else:
                own_server.start("immediate")
                deaths["the server stopped at once"] += 1
        wait_for_more(folder, 5)
    done, refusals = read_told(folder)
    records = check_told(own_postgres, done)
    say(
        f"{dict(deaths)} in {time.perf_counter() - start:.1f} s: {len(done)} acknowledged, 0 of them lost; "
        f"{len(records)} in the book; {len(refusals)} times not saved, and tried again"
    )
    assert len(records) - len(done) <= AT_ONCE
    assert all("the server is gone or cannot be reached" in refusal for refusal in refusals)


def fill_up(log, most: int = 3000) -> tuple[list, str]:
    """Append until it is refused: what was acknowledged, and the refusal."""
    made = []
    while len(made) < most:
        try:
            made.append(read(log, why="x" * 400))
        except NotSaved as error:
            return made, str(error)
    raise AssertionError("it never was full")


def check_full(opened: Book, url: str, make_room, told: str) -> None:
    """Nothing that was acknowledged is lost on a full disk, and once there is room it goes on."""
    log = log_of(opened)
    made, said = fill_up(log)
    assert made
    assert f", the log of job {JOB}: {told}" in said and said.endswith("; the reading is not saved")
    assert "\n" not in said
    one = log.next_id()
    for _ in range(2):
        assert refused(read, log, 1.0, id=one, why="x" * 400) == said
    assert log_of(opened).records == made
    make_room()
    more = read(log, 1.0, id=one)
    assert read(log, 1.0, id=one) == more
    assert found_in(url) == log.records
    # What was refused before may stand all the same; here it does not, and nothing is there twice.
    assert log.records == [*made, more]


def test_a_full_disk_under_an_embedded_book_loses_nothing(tmp_path):
    with contextlib.ExitStack() as stack:
        try:
            disk = stack.enter_context(small_disk(4, tmp_path / "disk"))
        except PermissionError:
            pytest.skip("nobody may mount a disk here; the next test limits the book itself")
        url = f"sqlite:///{disk / 'book.db'}"
        opened = with_job(url, tmp_path)
        stack.callback(opened.close)
        fill(disk / "full", leaving=200_000)
        check_full(opened, url, (disk / "full").unlink, "the disk is full")


def test_a_book_that_may_not_grow_loses_nothing(sqlite, tmp_path):
    opened = with_job(sqlite, tmp_path)
    limits = [60]
    opened.engine.dispose()

    def limit(connection, _):
        connection.execute(f"PRAGMA max_page_count={limits[0]}")

    def make_room():
        limits[0] = 100_000
        opened.engine.dispose()

    event.listen(opened.engine, "connect", limit)
    check_full(opened, sqlite, make_room, "the disk is full")
    opened.close()


@needs_postgres
def test_a_full_disk_under_the_servers_tables_loses_nothing(own_server, tmp_path):
    import psycopg

    folder = Path(tempfile.mkdtemp(prefix="truethrow-disk-"))
    folder.chmod(0o755)
    with contextlib.ExitStack() as stack:
        stack.callback(shutil.rmtree, folder, ignore_errors=True)
        try:
            disk = stack.enter_context(small_disk(24, folder / "disk"))
        except PermissionError:
            pytest.skip("nobody may mount a disk here")
        shutil.chown(disk, "postgres")
        own_server.start()
        asking = stack.enter_context(psycopg.connect(own_server.address, autocommit=True))
        asking.execute(f"CREATE TABLESPACE small LOCATION '{disk}'")
        stack.callback(asking.execute, "DROP TABLESPACE small")
        asking.execute("CREATE DATABASE full_up TABLESPACE small")
        stack.callback(asking.execute, "DROP DATABASE full_up WITH (FORCE)")
        url = f"{own_server.address.rpartition('/')[0]}/full_up"
        opened = with_job(url, tmp_path)
        stack.callback(opened.close)
        fill(disk / "full", leaving=200_000)
        check_full(opened, url, (disk / "full").unlink, "the server's disk is full")


@needs_postgres
def test_a_full_disk_under_all_of_the_server_loses_nothing(tmp_path):
    """It cannot go on with its own log, and dies; once there is room it is started again."""
    import psycopg

    folder = Path(tempfile.mkdtemp(prefix="truethrow-disk-"))
    folder.chmod(0o755)
    with contextlib.ExitStack() as stack:
        stack.callback(shutil.rmtree, folder, ignore_errors=True)
        try:
            disk = stack.enter_context(small_disk(120, folder / "disk"))
        except PermissionError:
            pytest.skip("nobody may mount a disk here")
        server = Server(disk)
        stack.callback(server.close)
        opened = with_job(server.address, tmp_path)
        stack.callback(opened.close)
        log = log_of(opened)
        made = [read(log, 500.0 + n) for n in range(5)]
        fill(disk / "full", leaving=1_000_000)
        one, said = log.next_id(), ""
        for _ in range(40):
            with contextlib.suppress(psycopg.Error), psycopg.connect(server.address, autocommit=True) as asking:
                asking.execute("SELECT pg_switch_wal()")
            try:
                made.append(read(log, 600.0 + len(made), id=one))
                one = log.next_id()
            except NotSaved as error:
                said = str(error)
                break
        unknown = "; whether the reading was saved nobody knows: look before you do it again"
        assert said.endswith(("; the reading is not saved", unknown))
        assert "\n" not in said
        (disk / "full").unlink()
        server.start("immediate")
        more = read(log, 600.0 + len(made), id=one)
        assert found_in(server.address) == [*made, more] == log.records
        say(f"the server's whole disk full: {said.rpartition(': ')[2]}; {len(made)} acknowledged, 0 of them lost")


HELD = """
import sqlite3, sys
kind, _, where = sys.argv[1].partition(":")
if kind == "sqlite":
    held = sqlite3.connect(where.removeprefix("///"), isolation_level=None)
    held.execute("BEGIN IMMEDIATE")
else:
    import psycopg
    held = psycopg.connect(sys.argv[1])
    held.execute("SELECT * FROM jobs FOR UPDATE")
print("held", flush=True)
sys.stdin.readline()
"""


@contextlib.contextmanager
def held(url: str):
    """The job locked by another process."""
    with books.process(HELD, url) as other:
        assert other.stdout.readline() == "held\n"
        try:
            yield other
        finally:
            other.kill()


def test_a_lock_that_is_held_too_long_is_one_line_and_then_it_goes_on(url, tmp_path, monkeypatch):
    monkeypatch.setattr(connection, "LONGEST_WAIT_S", 0.2)
    monkeypatch.setitem(connection._SERVER, "lock_timeout", 200)
    opened = with_job(url, tmp_path)
    log = log_of(opened)
    made = [read(log), read(log)]
    one, path = log.next_id(), tmp_path / "job.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "# another\n", encoding="utf-8")
    with held(url):
        for _ in range(2):
            said = refused(read, log, id=one)
            assert "locked by another station" in said
            assert said.endswith("the reading is not saved")
        for call in (
            lambda: jobs.put(opened, JOB, path, 1),
            lambda: jobs.rewrite(opened, JOB, text + "# mine\n", text),
            lambda: jobs.add(opened, jobs.from_file(path), revision=1),
        ):
            assert refused(call).endswith(("is as it was", "was not added"))
        # Reading waits for nobody.
        assert log_of(opened).records == made
        assert jobs.document(opened, JOB).text == text
        assert [job.records for job in books.jobs_of(opened)] == [2]
    made.append(read(log, id=one))
    assert jobs.put(opened, JOB, path, 1) == 2
    assert found_in(url) == log.records == made
    opened.close()


@needs_postgres
def test_a_server_started_anew_between_two_appends_is_not_noticed(own_server, own_postgres, tmp_path):
    opened = with_job(own_postgres, tmp_path)
    log = log_of(opened)
    made = [read(log)]
    for mode in ("fast", "immediate"):
        own_server.start(mode)
        made.append(read(log))
    own_server.stop("fast")
    one = log.next_id()
    for _ in range(2):
        assert refused(read, log, id=one).endswith(
            "the server is gone or cannot be reached; the reading is not saved"
        )
    own_server.start()
    made.append(read(log, id=one))
    assert read(log, id=one) == made[-1]
    assert found_in(own_postgres) == log.records == made
    opened.close()


@needs_postgres
@pytest.mark.parametrize("when", ["before", "unheard"])
def test_a_line_that_is_cut_at_the_commit_gives_one_record(line, by_line, postgres, tmp_path, when):
    opened = with_job(by_line, tmp_path)
    log = log_of(opened)
    made = [read(log)]
    line.at_commit = when
    made.append(read(log))  # tried again by itself
    assert line.cuts == 1
    line.at_commit, line.goes_down = when, True
    one = log.next_id()
    unknown = "whether the reading was saved nobody knows: look before you do it again"
    assert refused(read, log, 600.0, id=one).endswith(f"the server is gone or cannot be reached; {unknown}")
    assert line.cuts == 2
    there = found_in(postgres)
    assert [record.id for record in there[2:]] == ([one] if when == "unheard" else [])
    line.is_down = False
    made.append(read(log, 600.0, id=one))
    made.append(read(log))
    assert found_in(postgres) == log.records
    assert [record.id for record in log.records] == [record.id for record in made]
    opened.close()


@needs_postgres
def test_a_line_that_is_cut_anywhere_gives_one_record_for_each_id(line, by_line, postgres, tmp_path, as_many):
    opened = with_job(by_line, tmp_path)
    log, chance, tries = log_of(opened), random.Random(20250303), 0
    ids = []
    line.bytes_each = lambda: chance.randint(1, 4000)
    opened.engine.dispose()
    for number in range(as_many(120, sample=40)):
        ids.append(log.next_id())
        for _ in range(50):
            tries += 1
            with contextlib.suppress(NotSaved):
                read(log, 100.0 + number, id=ids[-1])
                break
    line.bytes_each = None
    found = found_in(postgres)
    assert [(record.id, record.grams) for record in found] == [(one, 100.0 + n) for n, one in enumerate(ids)]
    assert log.records == found
    assert line.cuts >= len(ids)
    assert tries > len(ids)
    say(f"{line.cuts} cuts of the line in {len(ids)} appends, {tries} tries: {len(found)} records")
    opened.close()


def test_a_clock_that_is_set_back_changes_neither_order_nor_state(url, opened, tmp_path, monkeypatch):
    hours = itertools.count()

    class SetBack(datetime):
        @classmethod
        def now(cls, tz=None):
            return datetime(2031, 1, 1, tzinfo=tz or UTC) - timedelta(hours=next(hours))

    monkeypatch.setattr(logs, "datetime", SetBack)
    left, right = log_of(opened, "left"), log_of(opened, "right")
    assert listing.job_of(opened, JOB).state == "weighing"
    made = []
    for number, (kind, grams) in itertools.product(range(1, 9), invented.PARTS.items()):
        made.append(read((left, right)[number % 2], grams, number, kind))
    assert [record.at for record in made] == sorted((record.at for record in made), reverse=True)
    assert len({record.id for record in made}) == len(made) == 56
    assert listing.job_of(opened, JOB).state == "station"
    made.append(right.append(Struck(made[0].id, why="the pan was not empty")))
    assert (left.refresh()[-1], right.refresh()[-1:]) == (made[-1], [made[-2]])
    assert found_in(url) == left.records == made
    now_is = listing.job_of(opened, JOB)
    assert (now_is.state, now_is.blocked) == ("weighing", "to be weighed: piston of cylinder 1")
    path = tmp_path / "job.toml"
    text = path.read_text(encoding="utf-8")
    for revision, more in enumerate(("# one\n", "# two\n"), start=1):
        path.write_text(text + more, encoding="utf-8")
        assert jobs.put(opened, JOB, path, revision) == revision + 1
    path.write_text(text + "# three\n", encoding="utf-8")
    with pytest.raises(NotSaved, match=r"is at revision 3, .*, not at 2; nothing was written") as caught:
        jobs.put(opened, JOB, path, 2)
    assert str(caught.value).splitlines()[1:] == ["  -# one", "  +# two"]
    assert jobs.document(opened, JOB).text == text + "# two\n"
    with opened.reading() as reading:
        assert reading.scalar(select(func.count()).select_from(schema.job_revisions)) == 3
    assert verify(opened).faults == ()


@contextlib.contextmanager
def bench(settings: dict[str, str], by: str, kinds: list[str], both: threading.Barrier):
    """A bench that weighs some kinds of all cylinders three times, a line piped in at a time: its readings, and
    what it said once it is through. both: where it waits, its first reading taken, for the other one."""
    readings = [(n, kind, f"{invented.PARTS[kind] + n / 10:.1f}") for kind in kinds for n in range(1, 9)] * 3
    said: list[str] = []
    with loaded.Process("truethrow", "weigh", JOB, "--by", by, environment=settings) as weighing:

        def feed() -> None:
            for number, (n, kind, typed) in enumerate(readings):
                weighing.stdin.write(f"go {n} {kind}\n{typed}\n")
                weighing.stdin.flush()
                if number == 0:
                    said.append(weighing.stdout.readline())
                    both.wait(LONGEST_WAIT_S)
                time.sleep(0.02)
            weighing.stdin.close()
            said.extend(weighing.stdout.readlines())

        feeding = threading.Thread(target=feed)
        feeding.start()
        try:
            yield readings, said
        finally:
            feeding.join(60)
            weighing.kill()
        assert weighing.stderr.read() == ""


def test_two_benches_and_a_builder_at_once_lose_nothing(url, opened, inside, tmp_path):
    settings = environment(url, tmp_path)
    sheet, edited = tmp_path / "rods.csv", tmp_path / "out" / f"{JOB}.toml"
    sheet.write_text("cylinder,big_end\n" + "".join(f"{n},{450 + n / 10}\n" for n in range(1, 9)))
    assert inside(url, "book", "export", JOB, "--into", edited.parent).status == 0
    edited.write_text(edited.read_text("utf-8").replace("oil = 4.0", "oil = 5.0"), encoding="utf-8")
    both = threading.Barrier(2)
    with (
        bench(settings, "LF", ["piston", "rings"], both) as left,
        bench(settings, "RT", ["pin", "rings"], both) as right,
    ):
        entered = inside(url, "enter", JOB, sheet)
        assert entered.out.splitlines()[0] == f"8 new readings entered into job {JOB}"
        stale = inside(url, "book", "put", JOB, edited, "--revision", 1, "--by", "BU")
        assert (stale.status, stale.out) == (2, "")
        assert "is at revision 2" in stale.err
        assert "not at 1; nothing was written. What differs:" in stale.err
        assert "+big_end = 450.1" in stale.err
        again = tmp_path / "again"
        assert inside(url, "book", "export", JOB, "--into", again).status == 0
        path = again / f"{JOB}.toml"
        text = path.read_text("utf-8").replace("oil = 4.0", "oil = 5.0")
        path.write_text(text, encoding="utf-8")
        assert inside(url, "book", "put", JOB, path, "--revision", 2, "--by", "BU").status == 0
    records = found_in(url)
    for by, (readings, said) in (("LF", left), ("RT", right)):
        own = [(r.cylinder, r.kind, r.typed) for r in records if r.by == by and r.action == "read"]
        assert own == readings
        assert sum(line.startswith("taken: ") for line in said) == len(readings)
        assert any(" weighed, in the log of job launch-7" in line for line in said)
    assert jobs.document(opened, JOB).text == text
    benches = [record.by for record in records]
    assert benches != sorted(benches), "they did not weigh at once"


def test_of_two_edits_of_one_revision_at_once_one_is_refused(url, opened, tmp_path):
    settings, text = environment(url, tmp_path), (tmp_path / "job.toml").read_text("utf-8")
    paths = [tmp_path / f"{name}.toml" for name in ("mine", "yours")]
    for path in paths:
        path.write_text(text + f"# {path.stem}\n", encoding="utf-8")
    command = ("truethrow", "book", "put", JOB)
    both = [loaded.Process(*command, path, "--revision", 1, environment=settings) for path in paths]
    said = [one.communicate()[1] for one in both]
    assert sorted(one.returncode for one in both) == [0, 2]
    won = [one.returncode for one in both].index(0)
    assert said[won] == ""
    assert f"+# {paths[won].stem}" in said[1 - won]
    assert jobs.document(opened, JOB).text == paths[won].read_text("utf-8")


# A pulled plug

# A station that keeps the book open and says after each reading that it is recorded.
_WRITES = f"""
import os
from book_faults import log_of, read
from truethrow.balance.book.open import open_book
log = log_of(open_book("sqlite:///b.book", create=False))
for n in range(6):
    read(log, 538.0 + n)
    os.write(1, b"{DONE}")
"""


@needs_strace
def test_a_pulled_plug_loses_no_reading_of_a_station_at_work(tmp_path, as_many):
    shop = tmp_path / "shop"
    shop.mkdir()
    with_job(f"sqlite:///{shop / 'b.book'}", tmp_path).close()
    path = os.pathsep.join(sys.path)
    steps = traced_programs(shop, [[sys.executable, "-c", _WRITES]], dict(os.environ) | {"PYTHONPATH": path})
    found = list(states(steps, random.Random(11), as_many(0.3, sample=0.05)))
    for number, state in enumerate(found):
        folder = state.put_into(tmp_path / f"left-{number}")
        told = min(6, state.told.count(DONE))
        assert len(found_in(f"sqlite:///{folder / 'b.book'}")) >= told
        shutil.rmtree(folder)
    assert {state.told.count(DONE) for state in found} >= set(range(7))
    say(f"{len(found)} states of the disk after a pulled plug, nothing lost")
