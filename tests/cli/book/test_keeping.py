"""The book kept: backed up, gone through, salvaged, put back."""

from __future__ import annotations

import books
from typer.testing import CliRunner

from truethrow.balance.book.address import VARIABLE
from truethrow.cli.main import app


def test_a_book_is_backed_up_gone_through_and_put_back(run, launch):
    assert run("book", "backup", "b.bak") == "Written: b.bak, looked through and sound.\n"
    books_before = run("book", "list")
    run("book", "export-all", "all")
    assert "job launch-7: no such file, and not in the book" not in run("hang", "launch-7", status=1)
    assert run("book", "verify").endswith("Sound.\n")
    told = run("book", "restore", "b.bak").splitlines()
    assert len(told) == 2
    assert told[1].startswith("What the book held before is in ")
    assert run("book", "list") == books_before


def test_a_damaged_book_is_status_1_and_salvaged(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(VARIABLE, f"sqlite:///{tmp_path}/book.db")
    with books.at(tmp_path / "book.db") as book:
        books.with_job(book, tmp_path)
        with book.writing() as connection:
            connection.exec_driver_sql("UPDATE jobs SET last_seq = 2")
    done = CliRunner().invoke(app, ["book", "verify"])
    assert (done.exit_code, done.stdout.splitlines()[1]) == (1, "! job launch-7: records 1 to 2 are lost")
    done = CliRunner().invoke(app, ["book", "salvage", "new.db"])
    assert done.exit_code == 1
    assert done.stdout.splitlines() == [
        "Saved to new.db: 1 jobs, 0 records, 0 other rows.",
        "! lost: job launch-7: 2 of 2 records, the first of them record 1",
    ]
    done = CliRunner().invoke(app, ["book", "verify", "--book", f"sqlite:///{tmp_path}/new.db"])
    assert done.stdout.endswith("Sound.\n")
