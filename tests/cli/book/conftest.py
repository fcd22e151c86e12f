"""Commands with a book of their own, and a job in it."""

from __future__ import annotations

import pytest
from typer.testing import CliRunner

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book.address import VARIABLE
from truethrow.balance.demo import copy_into
from truethrow.cli.main import app


@pytest.fixture
def run(book_address, tmp_path, monkeypatch):
    """Run a command in a folder of its own, with a book of its own: status and output."""
    monkeypatch.setenv(VARIABLE, book_address)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)

    def ran(*arguments, status=0, piped=None):
        done = CliRunner().invoke(app, [*map(str, arguments)], input=piped)
        if isinstance(done.exception, BadInput | NotSaved):
            assert status == 2
            return str(done.exception)
        assert done.exit_code == status, done.output
        return done.stdout

    return ran


@pytest.fixture
def launch(run, tmp_path):
    """The demo's job, weighed, in the book."""
    copy_into(tmp_path)
    run("enter", "launch.toml", "launch-weigh.csv")
    for part in ("piston 5", "big end 6"):
        run("confirm", "launch.toml", part, "--why", "from another box")
    run("book", "add", "launch.toml", "--by", "AB")
