"""The log of readings: what was acknowledged is there, once, whatever was killed, cut, filled up or flipped."""

from __future__ import annotations

import errno
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import kept
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pulled_plug import DONE, needs_strace, states, traced_programs

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.job import job
from truethrow.balance.log import readinglog
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck, Weighed, ZeroRead

posix = pytest.mark.skipif(sys.platform == "win32", reason="signals and limits of POSIX")
ROOT = Path(readinglog.__file__).parents[3]  # where the import name truethrow starts


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", why="", **more):
    return log.append(Weighed(cylinder, kind, grams, str(grams), why=why), **more)


def three(path):
    log = ReadingLog(path, bench="left", by="MK")
    return [read(log, 538.4), read(log, 538.5), log.append(Struck(log.records[0].id, why="größer · 重い"))]


def child(code, *arguments, **more):
    """A Python that starts quickly: no site packages, for the module asks for none."""
    command = [sys.executable, "-S", "-c", code, *map(str, arguments)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, **more)


# What is written comes back


def test_a_missing_file_is_an_empty_log_that_the_first_append_makes(path):
    log = ReadingLog(path)
    assert (log.records, log.notes, log.refresh(), path.exists()) == ([], [], [], False)
    made = log.append(ZeroRead("start", 0.0))
    assert log.records == ReadingLog(path).records == [made]


TEXTS = st.text(max_size=40)
GRAMS = st.floats(allow_nan=False, allow_infinity=False)


APPENDS = st.lists(kept.any_record(TEXTS, GRAMS), max_size=8)


@settings(deadline=None, max_examples=40)
@given(APPENDS, TEXTS, TEXTS, st.integers(1, 7))
def test_any_appends_come_back_equal_also_when_opened_anew_in_between(appends, bench, by, anew):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.jsonl"
        log, made = ReadingLog(path, bench, by), []
        for position, record in enumerate(appends, start=1):
            made.append(log.append(record))
            if position % anew == 0:
                log = ReadingLog(path, bench, by)
        again = ReadingLog(path)
        assert log.records == again.records == made
        assert again.notes == []
        assert len({record.id for record in made}) == len(made)


def test_two_logs_of_one_file_see_each_others_records_in_the_order_of_the_file(path):
    left, right = ReadingLog(path, "left"), ReadingLog(path, "right")
    made = [read(left), read(right), read(left), read(right)]
    assert left.refresh() == [made[1], made[3]]
    assert right.refresh() == [made[0], made[2]]
    assert left.refresh() == right.refresh() == []
    assert left.records == right.records == ReadingLog(path).records == made


def test_a_line_that_someone_is_just_writing_is_not_lost_to_who_opened_meanwhile(path):
    made = three(path)
    whole = path.read_bytes()
    path.write_bytes(whole[:-30])
    log = ReadingLog(path)
    assert list(map(str, log.notes)) == ["line 4 is torn: its writing was broken off; it does not count"]
    assert log.refresh() == []
    with path.open("ab") as file:
        file.write(whole[-30:])
    assert log.refresh() == [made[2]]
    assert (log.records, log.notes) == (made, [])


# Failures


def test_the_same_id_after_a_failed_flush_yields_one_reading_flushed_at_last(path, monkeypatch):
    log = ReadingLog(path)
    one, flushed = log.next_id(), []

    def fails(handle):
        flushed.append(handle)
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as broken:
        broken.setattr(os, "fsync", fails)
        for _ in range(2):
            with pytest.raises(NotSaved, match="input/output error; the reading is not saved"):
                read(log, id=one)
    assert len(flushed) == 2
    whole = []
    fsync = os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: (whole.append(handle), fsync(handle)))
    made = read(log, id=one)
    assert len(whole) == 2  # the file and, as it is new, its folder
    assert read(log, id=one) == made  # nothing says that a caller stops at one
    again = ReadingLog(path)
    assert log.records == again.records == [made]
    # Each time with the first line of the log, which may be lost with it.
    told = [f"line {n} repeats the id {one}; the first of them counts" for n in (4, 6, 8)]
    assert list(map(str, again.notes)) == told
    assert log.refresh() == []
    with pytest.raises(ValueError, match="belongs to another"):
        read(log, 1.0, id=one)


def test_a_new_file_is_not_acknowledged_before_its_name_is_on_the_disk(path, monkeypatch):
    log, calls, fsync = ReadingLog(path), [], os.fsync

    def second_fails(handle):
        calls.append(handle)
        if len(calls) == 2:
            raise OSError(errno.EIO, "Input/output error")
        fsync(handle)

    monkeypatch.setattr(os, "fsync", second_fails)
    one = log.next_id()
    with pytest.raises(NotSaved):
        read(log, id=one)
    made = read(log, id=one)
    read(log)
    assert len(calls) == 2 + 2 + 1
    assert made.id == one
    assert len(ReadingLog(path).records) == 2


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EIO, errno.EDQUOT])
def test_a_write_that_fails_leaves_the_log_as_it_was(path, monkeypatch, code):
    made = three(path)
    before = path.read_bytes()
    log = ReadingLog(path)

    def fails(handle, text):
        raise OSError(code, os.strerror(code))

    with monkeypatch.context() as broken:
        broken.setattr(os, "write", fails)
        with pytest.raises(NotSaved) as caught:
            read(log)
    assert str(caught.value) == f"{path}: {os.strerror(code).lower()}; the reading is not saved"
    assert (log.records, path.read_bytes()) == (made, before)
    more = read(log)
    assert ReadingLog(path).records == [*made, more]


FULL = """
import resource, signal, sys
from pathlib import Path
from truethrow.balance.base.errors import NotSaved
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Weighed
path = Path(sys.argv[1])
log = ReadingLog(path)
def read(id=None):
    return log.append(Weighed(1, "piston", 538.4, "538.4"), id=id).id
def room(size):
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
ids = [read()]
for more in (1, 100, 0):
    one = log.next_id()
    room(path.stat().st_size + more)
    for _ in range(2):
        try:
            read(one)
            print("saved")
        except NotSaved as error:
            print(error)
    room(resource.RLIM_INFINITY)
    ids.append(read(one))
print(*ids)
"""


@posix
def test_a_disk_that_is_full_in_the_middle_of_a_line_costs_nothing_that_was_acknowledged(path):
    with child(FULL, path, text=True) as full:
        *told, ids = full.stdout.read().splitlines()
    assert full.returncode == 0
    assert len(told) == 6
    assert all(one.endswith("the reading is not saved") for one in told)
    assert "only 1 of " in told[0]
    assert "file too large" in told[1]
    assert "only 100 of " in told[2]
    log = ReadingLog(path)
    assert [record.id for record in log.records] == ids.split()
    assert [(note.number, note.what) for note in log.notes] == [(3, "torn"), (5, "torn")]


def test_a_file_that_cannot_be_read_or_written_is_one_clear_line(tmp_path):
    folder = tmp_path / "folder"
    folder.mkdir()
    (tmp_path / "file").touch()
    with pytest.raises(BadInput, match="is a folder, not a file"):
        ReadingLog(folder)
    with pytest.raises(BadInput, match=r"file/x\.jsonl: not a directory"):
        ReadingLog(tmp_path / "file" / "x.jsonl")
    with pytest.raises(BadInput, match="is no file"):
        ReadingLog(Path("/dev/zero"))
    with pytest.raises(NotSaved, match="no such file; the reading is not saved"):
        read(ReadingLog(tmp_path / "nowhere" / "x.jsonl"))


@posix
def test_a_pipe_is_refused_without_waiting_and_a_monster_without_being_read(path):
    os.mkfifo(path)
    with pytest.raises(BadInput, match="is no file"):
        ReadingLog(path)
    path.unlink()
    path.touch()
    os.truncate(path, readinglog.LARGEST_BYTES + 1)
    with pytest.raises(BadInput, match="500 MB is no log"):
        ReadingLog(path)


@pytest.mark.skipif(not Path("/proc/version").exists(), reason="needs a file system that nobody may write to")
def test_where_nobody_may_write_it_is_not_saved():
    with pytest.raises(NotSaved, match="not saved"):
        read(ReadingLog(Path("/proc/launch.readings.jsonl")))
    log = ReadingLog(Path("/proc/version"))
    with pytest.raises(NotSaved) as caught:
        read(log)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("change", ["cut", "removed", "replaced"])
def test_a_log_that_was_cut_or_replaced_meanwhile_takes_nothing_more(path, change):
    three(path)
    log = ReadingLog(path)
    whole = path.read_bytes()
    if change == "cut":
        os.truncate(path, 40)
    else:
        path.rename(path.with_suffix(".old"))
    if change == "replaced":
        path.write_bytes(whole + whole)
    with pytest.raises(BadInput, match=r"no such file|open the job anew"):
        log.refresh()
    with pytest.raises(NotSaved, match=r"open the job anew; the reading is not saved"):
        read(log)


@posix
def test_a_lock_that_is_never_given_back_does_not_hang_the_bench(path, monkeypatch):
    import fcntl

    monkeypatch.setattr(readinglog, "LONGEST_WAIT_S", 0.05)
    made = three(path)
    log = ReadingLog(path)
    with path.open("ab") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        with pytest.raises(NotSaved, match="locked by another bench"):
            read(log)
        assert ReadingLog(path).records == made  # reading waits for nobody
    assert read(log) in ReadingLog(path).records


# Several processes, and kills


MANY = """
import sys
from pathlib import Path
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Weighed
log = ReadingLog(Path(sys.argv[1]), sys.argv[2])
for n in range(200):
    if n % 20 == 0:
        print("ready", flush=True)
        sys.stdin.readline()
    log.append(Weighed(1, "piston", n, str(n), why="x" * (n % 60)))
print(len(log.notes))
"""


def test_two_processes_at_once_lose_and_tear_nothing(path):
    both = [child(MANY, path, name, stdin=subprocess.PIPE) for name in ("left", "right")]
    for _ in range(10):  # else one of them may be through before the other has its turn
        assert [one.stdout.readline() for one in both] == [b"ready\n"] * 2
        for one in both:
            one.stdin.write(b"go\n")
            one.stdin.flush()
    assert [one.communicate()[0].strip() for one in both] == [b"0", b"0"]
    log = ReadingLog(path)
    assert (len(log.records), log.notes) == (400, [])
    for name in ("left", "right"):
        assert [r.grams for r in log.records if r.bench == name] == list(range(200))
    benches = [record.bench for record in log.records]
    assert benches != sorted(benches), "they did not run at once"


@posix
def test_a_forked_child_does_not_go_on_with_its_parents_ids(path):
    log = ReadingLog(path)
    read(log)
    if (forked := os.fork()) == 0:
        read(log)
        os._exit(0)
    os.waitpid(forked, 0)
    read(log)
    assert len({record.id for record in log.records}) == len(ReadingLog(path).records) == 3


def started(path: Path):
    """A process that writes until it is killed, and where the ids come that it was told are saved."""
    reader, writer = os.pipe()
    forked = os.fork()
    if forked == 0:  # pragma: no cover (it is killed)
        try:
            log = ReadingLog(path)
            while True:
                os.write(writer, f"{read(log).id}\n".encode())
        finally:
            os._exit(1)  # whatever goes wrong here must not go on as a second run of the tests
    os.close(writer)
    return forked, os.fdopen(reader, "rb")


def killed(forked: int, told, after: int, wait_s: float) -> list[str]:
    """Kill it soon after it was told of so many; all ids that it was told are saved. Half of one was told to
    nobody."""
    with told:
        first = b"".join(told.readline() for _ in range(after))
        time.sleep(wait_s)
        os.kill(forked, signal.SIGKILL)
        os.waitpid(forked, 0)
        return [line.decode() for line in (first + told.read()).split(b"\n")[:-1]]


@posix
@pytest.mark.kills
def test_many_kills_lose_nothing_that_was_acknowledged(path, as_many):
    kills = as_many(200, sample=40)
    chance = random.Random(20250301)
    acknowledged: list[str] = []
    start = time.perf_counter()
    # The next one starts while this one works, so that two of them write at once for a while.
    at_work = [started(path)]
    for _ in range(kills):
        at_work.append(started(path))
        acknowledged += killed(*at_work.pop(0), chance.randint(1, 12), chance.uniform(0, 0.001))
    acknowledged += killed(*at_work.pop(), 1, 0.0)
    log = ReadingLog(path)
    ids = [record.id for record in log.records]
    print(  # noqa: T201
        f"\n{kills + 1} kills in {time.perf_counter() - start:.1f} s: {len(acknowledged)} acknowledged, "
        f"{len(set(acknowledged) - set(ids))} of them lost, {len(ids)} in the log, "
        f"{len(ids) - len(acknowledged)} of them written but not acknowledged, {len(log.notes)} torn or damaged"
    )
    assert len(acknowledged) >= kills
    assert len(set(acknowledged)) == len(acknowledged)
    assert set(acknowledged) <= set(ids)
    assert len(set(ids)) == len(ids)
    assert not [note for note in log.notes if note.what == "repeats"]


def told(path, sheet=None):
    with pytest.raises(BadInput) as caught:
        job.load(path, sheet)
    return caught.value.lines()


# A pulled plug

# A bench that says after each reading that it is recorded; it is started anew in between.
_WRITES = f"""
import os, pathlib
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Weighed
for n in range(12):
    log = ReadingLog(pathlib.Path("x.readings.jsonl"), "b") if n % 4 == 0 else log
    log.append(Weighed(1 + n % 8, "piston", 538.0 + n, "538", why="a long one " * 30 * (n % 3)))
    os.write(1, b"{DONE}")
"""


@needs_strace
def test_a_pulled_plug_loses_no_reading_that_was_acknowledged(tmp_path, as_many):
    shop = tmp_path / "shop"
    shop.mkdir()
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    steps = traced_programs(shop, [[sys.executable, "-S", "-c", _WRITES]], environment)
    found = [state for seed in range(as_many(20, sample=3)) for state in states(steps, random.Random(seed), 1.0)]
    for number, state in enumerate(found):
        folder = state.put_into(tmp_path / f"left-{number}")
        log = ReadingLog(folder / "x.readings.jsonl")
        weighed = [record for record in log.records if isinstance(record, Weighed)]
        assert len(weighed) >= min(12, state.told.count(DONE))
        assert {note.what for note in log.notes} <= {
            "torn",
            "damaged",
        }  # damaged: its end is there, its middle not
        assert read(log).id in {record.id for record in ReadingLog(log.path).records}  # and it goes on
    sys.stdout.write(f"\n{len(found)} states of the disk, nothing lost\n")
