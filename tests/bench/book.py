"""The job book under load: fifty stations that write at once; and the latest jobs listed, and some found, of a
small book and of a large one.

Run: python tests/bench/book.py [seconds of writing] [jobs of the large book]. On SQLite, and on PostgreSQL where
TRUETHROW_TEST_POSTGRES names a server. Nothing is asserted but that every acknowledged reading is found; the aim
is that a list and a find cost the same of 50 jobs as of 50,000, below 200 ms in the process once states are known.
"""

import contextlib
import json
import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

import books
import invented

from truethrow.balance.base.errors import NotSaved
from truethrow.balance.book import copies, jobs, listing, schema, states
from truethrow.balance.book.book_log import BookLog
from truethrow.balance.book.check import verify
from truethrow.balance.book.open import open_book
from truethrow.balance.book.opened import Book
from truethrow.balance.book.rows import sealed
from truethrow.balance.book.words import words_of
from truethrow.balance.log.records import Weighed, ZeroRead

PROCESSES, THREADS = 10, 5
STATIONS = PROCESSES * THREADS
CLI = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]
RUNS = 7
write = sys.stdout.write


def job_file(folder: Path, name: str, title: str, **tables: object) -> Path:
    path = folder / "job.toml"
    data = invented.document(job={"id": name, "title": title}, **tables)
    path.write_text(invented.text(data), encoding="utf-8")
    return path


# Fifty stations


def stations(url: str, number: int) -> None:
    """One process of stations: each appends readings to its own job, on a connection of its own, until the time is
    up. Prints the seconds that each acknowledged append took, and how many were refused."""
    logs = [
        BookLog(open_book(url, create=False), f"job-{number * THREADS + n}", f"station-{number}-{n}")
        for n in range(THREADS)
    ]
    took_s: list[float] = []
    refused: list[str] = []
    write("ready\n")
    sys.stdout.flush()
    until = time.monotonic() + float(sys.stdin.readline())

    def station(log: BookLog) -> None:
        while time.monotonic() < until:
            start = time.perf_counter()
            try:
                log.append(Weighed(1, "piston", 538.4, "538.4"))
            except NotSaved as error:
                refused.append(str(error))
            else:
                took_s.append(time.perf_counter() - start)

    threads = [threading.Thread(target=station, args=(log,)) for log in logs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    write(json.dumps([took_s, refused]))


def load(url: str, backend: str, seconds: float, folder: Path) -> None:
    opened = open_book(url)
    for number in range(STATIONS):
        path = job_file(folder, f"job-{number}", f"Engine {number}")
        jobs.add(opened, jobs.from_file(path))
    command = [sys.executable, __file__, "stations", url]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    running = [subprocess.Popen([*command, str(number)], **pipes) for number in range(PROCESSES)]
    try:
        for one in running:
            assert one.stdout.readline() == "ready\n"
        start = time.perf_counter()
        for one in running:
            one.stdin.write(f"{seconds}\n")
            one.stdin.flush()
        said = [json.loads(one.communicate(timeout=seconds + 120)[0]) for one in running]
    finally:
        for one in running:
            one.kill()
    took_ms = sorted(1000 * took for took_s, _ in said for took in took_s)
    refused = [text for _, texts in said for text in texts]
    found = verify(opened)
    assert found.faults == ()
    assert found.rows["records"] >= len(took_ms)
    write(
        f"{backend}: {STATIONS} stations for {seconds:g} s ({time.perf_counter() - start:.1f} s with the last): "
        f"{len(took_ms) / seconds:.0f} readings a second; append, median {statistics.median(took_ms):.1f} ms, "
        f"99th percentile {took_ms[len(took_ms) * 99 // 100]:.0f} ms, longest {took_ms[-1]:.0f} ms; "
        f"{len(took_ms)} acknowledged, {found.rows['records']} found, {len(refused)} refused\n"
    )
    opened.close()


# A small book and a large one

SMALL = 51


def fill(opened: Book, count: int, folder: Path) -> None:
    """Some jobs in different states, each put in again and again under another name."""
    weighed = [n | {"piston": 538.4 + n["number"] / 10} for n in invented.cylinders()]
    for name, title, tables in (
        ("weighing", "V8, to be weighed", {"parts": invented.cylinders()[:5]}),
        ("trimming", "V8, pistons apart", {"parts": weighed, "limits": {"piston": 0.2}}),
        ("station", "V8, to be spun", {}),
    ):
        jobs.add(opened, jobs.from_file(job_file(folder, name, title, **tables)), "MK")
        log = BookLog(opened, name)
        for _ in range(7):
            log.append(ZeroRead("start", 0.0))
    with opened.reading() as connection:
        known = list(copies.rows(connection, schema.HEAD))
    with opened.writing() as connection:
        for table in ("jobs", "job_words", "job_revisions", "records"):
            rows = [row for name, row in known if name == table and "word" not in row]
            if table == "job_words":
                rows = [row for name, row in known if name == "jobs"]
            copies.put_in(
                connection,
                ((table, made) for n in range(count // 3) for row in rows for made in renamed(table, row, n)),
            )


def renamed(table: str, row: dict[str, object], number: int) -> list[dict[str, object]]:
    before = str(row["id" if table in ("jobs", "job_words") else "job"])
    name = f"{before}-{number}"
    if table == "job_words":
        return [{"word": word, "job": name} for word in words_of(name, str(row["title"]))]
    if table == "job_revisions":
        said = {key: value for key, value in row.items() if key != "seal"}
        return [sealed(**said | {"job": name, "text": str(row["text"]).replace(f'"{before}"', f'"{name}"')})]
    return [row | {"id" if table == "jobs" else "job": name}]


def median_ms(call: Callable[[], object]) -> float:
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        call()
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times)


def lists(url: str, backend: str, count: int, folder: Path) -> None:
    opened = open_book(url)
    start = time.perf_counter()
    fill(opened, count, folder)
    found = len(listing.latest(opened, most=count + 3).jobs)
    write(f"{backend}: {found} jobs put in, {time.perf_counter() - start:.0f} s\n")
    log = BookLog(opened, "station")

    def changed() -> None:
        log.append(ZeroRead("start", 0.0))
        listing.latest(opened)

    def anew() -> None:
        states.forget(opened.generation)
        listing.latest(opened)

    for what, call in (
        ("the latest", lambda: listing.latest(opened)),
        ("find of 7 apart", lambda: listing.latest(opened, ["7", "apart"])),
        ("the latest after a reading, the reading with it", changed),
        ("the latest, none of them looked at before", anew),
    ):
        write(f"{backend}, {found} jobs: {what}, in this process: {median_ms(call):.0f} ms\n")
    if count == SMALL:
        checked = verify(opened)
        assert checked.faults == (), checked.faults
    opened.close()
    settings = {**os.environ, "TRUETHROW_BOOK": url}

    def command(*arguments: str) -> Callable[[], object]:
        return lambda: subprocess.run(
            [*CLI, *arguments], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=settings, check=True
        )

    for arguments in (("book", "list"), ("book", "list", "--json"), ("book", "find", "7", "apart"), ("--help",)):
        took_ms = median_ms(command(*arguments))
        write(f"{backend}, {found} jobs: truethrow {' '.join(arguments)}, as a command: {took_ms:.0f} ms\n")


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 5.0
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 50_000
    os.environ["XDG_DATA_HOME"] = tempfile.mkdtemp(prefix="truethrow-bench-")
    backends = books.KINDS if os.environ.get(books.VARIABLE) else books.KINDS[:1]
    for backend in backends:
        for part, amount in ((load, seconds), (lists, SMALL), (lists, count)):
            with tempfile.TemporaryDirectory() as folder, contextlib.ExitStack() as stack:
                url = stack.enter_context(books.fresh(backend, Path(folder)))
                part(url, backend, amount, Path(folder))
                sys.stdout.flush()


if __name__ == "__main__":
    stations(sys.argv[2], int(sys.argv[3])) if sys.argv[1:2] == ["stations"] else main()
