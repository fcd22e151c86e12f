"""What the tests of a book share in which something goes wrong."""

from __future__ import annotations

import os
import sys
import time
from collections import Counter
from pathlib import Path

import invented
import pytest

from truethrow.balance.base.errors import NotSaved
from truethrow.balance.book import jobs
from truethrow.balance.book.book_log import BookLog
from truethrow.balance.book.check import verify
from truethrow.balance.book.open import open_book
from truethrow.balance.book.opened import Book
from truethrow.balance.log.records import Weighed

POSTGRES = os.environ.get("TRUETHROW_TEST_POSTGRES", "")
needs_postgres = pytest.mark.skipif(not POSTGRES, reason="TRUETHROW_TEST_POSTGRES names no server")
# What tests are that kill stations and servers, each with a data folder of its own (conftest.py).
FAULTS = [
    pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX"),
    pytest.mark.kills,
    pytest.mark.xdist_group("kills"),  # they load the machine, and share a server that they kill
    pytest.mark.usefixtures("own_folders"),
]
JOB = "launch-7"


def say(text: str) -> None:
    sys.stdout.write(f"\n{text}\n")


def with_job(url: str, folder: Path) -> Book:
    made = open_book(url)
    path = folder / "job.toml"
    data = {name: table for name, table in invented.document().items() if name != "cylinder"}
    path.write_text(invented.text(data), encoding="utf-8")
    jobs.add(made, jobs.from_file(path), "MK")
    return made


def log_of(opened: Book, bench: str = "bench") -> BookLog:
    return BookLog(opened, JOB, bench)


def read(log, grams=538.4, cylinder=1, kind="piston", why="", **more):
    return log.append(Weighed(cylinder, kind, grams, str(grams), why=why), **more)


def found_in(url: str) -> list:
    """The records of the job as a station finds them that opens the book anew."""
    anew = open_book(url, create=False)
    try:
        assert verify(anew).faults == ()
        log = log_of(anew)
        assert log.notes == []
        assert anew is not None
        return log.records
    finally:
        anew.close()


def refused(call, *arguments, **more) -> str:
    with pytest.raises(NotSaved) as caught:
        call(*arguments, **more)
    said = str(caught.value)
    assert "\n" not in said
    return said


def check_told(url: str, acknowledged: dict[str, str]) -> list:
    """Every acknowledged reading is found as it was typed, and none twice."""
    records = found_in(url)
    found = {record.id: record.typed for record in records}
    assert len(found) == len(records)
    assert {key: found.get(key) for key in acknowledged} == acknowledged
    return records


AT_ONCE = 4
LONGEST_WAIT_S = 300.0


def wait_for_more(folder: Path, each: int) -> None:
    """Wait until every station of a folder has acknowledged so many more."""
    before, until = acknowledged_by(folder), time.monotonic() + LONGEST_WAIT_S
    while any(count < before[name] + each for name, count in acknowledged_by(folder).items()) or not before:
        assert time.monotonic() < until, "the stations do not go on"
        time.sleep(0.01)
        before = before or acknowledged_by(folder)


def acknowledged_by(folder: Path) -> Counter[str]:
    return Counter(
        {
            p.name: sum(not line.startswith("! ") for line in p.read_text("utf-8").splitlines())
            for p in folder.iterdir()
        }
    )


def environment(url: str, folder: Path, **more: str) -> dict[str, str]:
    return {**os.environ, "TRUETHROW_BOOK": url, "XDG_DATA_HOME": str(folder / "data"), **more}


SECRET, WRONG = "kq7-Zebra-secret", "kq8-Okapi-wrong"


def no_secret(*texts: str) -> bool:
    return not any(secret in text for secret in (SECRET, WRONG) for text in texts)
