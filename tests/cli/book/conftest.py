"""Commands with a book of their own, and a job in it."""

from __future__ import annotations

import shutil

import pytest
from typer.testing import CliRunner

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book.address import VARIABLE
from truethrow.balance.demo import copy_into
from truethrow.balance.demo.story import look_again
from truethrow.balance.job.enter import enter
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


@pytest.fixture(scope="session")
def weighed(tmp_path_factory):
    """A folder with the demo's files, its job weighed."""
    folder = tmp_path_factory.mktemp("weighed")
    copy_into(folder)
    enter(folder / "launch.toml", folder / "launch-weigh.csv")
    look_again(folder / "launch.toml")
    return folder


@pytest.fixture
def launch(run, weighed, tmp_path):
    """The demo's job, weighed, in the book."""
    shutil.copytree(weighed, tmp_path, dirs_exist_ok=True)
    run("book", "add", "launch.toml", "--by", "AB")
