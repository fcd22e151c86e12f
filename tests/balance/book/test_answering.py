"""A server that froze, and a line on which nobody answers: one line within ten seconds, never for ever."""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import time

import pytest
from book_faults import FAULTS, JOB, found_in, log_of, needs_postgres, read, with_job

from truethrow.balance.base.errors import NotSaved
from truethrow.balance.book import answering

pytestmark = FAULTS
LONGEST_S = 60.0  # against hanging alone: how long it takes says nothing on a machine that is busy
COMMANDS = [("book", "list"), ("history", JOB), ("weigh", JOB), ("hang", JOB), ("book", "verify")]


@pytest.fixture(autouse=True)
def forgets(monkeypatch):
    """That a server was silent in one test is nothing to the next."""
    monkeypatch.setattr(answering, "_silent_at", answering._silent_at)


@contextlib.contextmanager
def frozen(server):
    """The server and all that serves its stations, stopped where they are."""
    first = int((server.data / "postmaster.pid").read_text().split()[0])
    stopped = [first, *server.backends()]
    for process in stopped:
        os.kill(process, signal.SIGSTOP)
    try:
        yield
    finally:
        for process in reversed(stopped):
            os.kill(process, signal.SIGCONT)


def ends_with(said: str) -> list[str]:
    """What is told in the end, behind the line that says what is waited for."""
    waits, *rest = said.splitlines()
    assert waits == "waiting for the book's server to answer, 9 s at most (Ctrl-C ends it)"
    return rest


@needs_postgres
def test_a_server_that_froze_is_told_in_one_line(own_server, own_postgres, inside, tmp_path):
    with_job(own_postgres, tmp_path).close()
    with frozen(own_server):
        for words in COMMANDS:
            start = time.monotonic()
            said = inside(own_postgres, *words)
            assert (said.status, said.out, len(ends_with(said.err))) == (2, "", 1)
            assert "the server is gone or cannot be reached" in said.err
            assert time.monotonic() - start < LONGEST_S


@needs_postgres
def test_a_server_that_freezes_while_a_station_works_is_given_up(own_server, own_postgres, tmp_path, monkeypatch):
    monkeypatch.setattr(answering, "LONGEST_SILENCE_S", 0.5)
    made = with_job(own_postgres, tmp_path)
    log = log_of(made)
    first = read(log)
    with frozen(own_server):
        start = time.monotonic()
        with pytest.raises(NotSaved, match="the server said nothing"):
            read(log, 538.9)
        assert time.monotonic() - start < LONGEST_S
        with pytest.raises(NotSaved, match="the server said nothing"):  # at once: it is not called again so soon
            read(log, 538.9)
    monkeypatch.setattr(answering, "_LEFT_ALONE_S", 0.0)
    again = read(log, 539.0)
    assert {first.id, again.id} <= {record.id for record in found_in(own_postgres)}
    made.close()


@needs_postgres
def test_what_goes_on_and_on_is_not_silent(own_postgres, monkeypatch):
    monkeypatch.setattr(answering, "LONGEST_SILENCE_S", 0.3)
    with answering.Answering.connect(own_postgres, autocommit=True) as connection:
        many = "SELECT repeat('x', 2000000), pg_sleep(0.1) FROM generate_series(1, 12)"
        assert len(connection.execute(many).fetchall()) == 12
        with pytest.raises(answering.NoAnswer):
            connection.execute("SELECT pg_sleep(30)")
        assert connection.closed


def test_a_line_on_which_nobody_answers_is_told_in_one_line(inside):
    with socket.create_server(("127.0.0.1", 0)) as nobody:
        url = f"postgresql://anna@127.0.0.1:{nobody.getsockname()[1]}/shop"
        for words in COMMANDS[:2]:
            said = inside(url, *words)
            assert (said.status, said.out, len(ends_with(said.err))) == (2, "", 1)
