"""A backup of last week is put back over this week's book: what would go is shown job by job; it takes a yes."""

from __future__ import annotations

import os

import pytest
from commands import run


@pytest.fixture
def shop(tmp_path):
    settings = {**os.environ, "XDG_DATA_HOME": str(tmp_path / "data")}

    def ran(*words, status=0, stdin=""):
        done = run(*words, folder=tmp_path, environment=settings, stdin=stdin)
        assert done.status == status, done
        return done.out + done.err

    ran("demo", "--into", "launch")
    ran("book", "add", "launch/launch.toml", "launch/pump.toml")
    ran("book", "backup", "old.bak")
    return ran


def test_what_would_go_is_shown_and_nothing_goes_without_a_yes(shop):
    shop("weigh", "launch-7", stdin="go 1 piston\n538.0\ngo 2 piston\n538.1\n")
    shop("new", "v8-90-crossplane", "more.toml")
    shop("book", "add", "more.toml")
    before = shop("book", "list", "--all", "--json")
    told = shop("book", "restore", "old.bak", status=2)
    assert "The book has this, and the backup has not" in told
    assert "- job launch-7: 2 records" in told
    assert "job pump-2" not in told
    assert ": all of it, " in told
    assert "nothing is put back yet" in told
    assert "truethrow book restore old.bak --yes" in told
    assert shop("book", "list", "--all", "--json") == before
    told = shop("book", "restore", "old.bak", "--yes")
    assert "- job launch-7: 2 records" in told
    assert "What the book held before is in " in told
    assert "2 jobs" in shop("book", "list")


def test_where_nothing_would_go_nobody_is_asked(shop):
    assert "Put back into" in shop("book", "restore", "old.bak")
    assert "Put back into" in shop("book", "restore", "old.bak", "--book", "sqlite:///new.db")
