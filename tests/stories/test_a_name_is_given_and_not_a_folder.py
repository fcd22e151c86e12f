"""Somebody gives a job's name, or an address with more in it than belongs there: what is told is in his own words,
and never shows a folder that he did not name, or what he typed where a user's name goes."""

import subprocess
import sys

import books
import pytest


def told(*said, **environment):
    """What the command line said on standard error of a refusal."""
    done = subprocess.run(
        [sys.executable, "-m", "truethrow.cli.main", *map(str, said)],
        capture_output=True,
        text=True,
        check=False,
        env=environment,
        timeout=120,
    )
    assert done.returncode == 2, done
    return done.stderr


@pytest.fixture
def own(tmp_path):
    """The environment of somebody with a book of his own, in which there is a job."""
    folder = tmp_path / "folder of the tool"
    environment = {"XDG_DATA_HOME": str(folder), "PATH": "/usr/bin:/bin"}
    job = books.job_file(tmp_path)
    subprocess.run(
        [sys.executable, "-m", "truethrow.cli.main", "book", "add", job], check=True, env=environment, timeout=120
    )
    return environment


@pytest.mark.parametrize(
    "command",
    [
        ["hang", "launch-8"],
        ["book", "show", "launch-8"],
        ["book", "part", "R07"],
        ["book", "stock", "move", "rod", "R07"],
    ],
    ids=" ".join,
)
def test_a_name_that_is_not_there_is_told_of_ones_own_book_without_its_folder(own, command):
    said = told(*command, **own)
    assert "folder of the tool" not in said
    assert "your own book" in said


def test_where_ones_own_book_is_can_be_asked(own):
    done = subprocess.run(
        [sys.executable, "-m", "truethrow.cli.main", "book", "where"],
        capture_output=True,
        text=True,
        check=True,
        env=own,
        timeout=120,
    )
    assert "folder of the tool" in done.stdout


@pytest.mark.parametrize(
    "command", [["book", "list"], ["book", "verify"], ["book", "backup", "b.jsonl"]], ids=" ".join
)
@pytest.mark.parametrize("user", ["anna", "anna%3Ahunter2"])
def test_what_was_typed_for_a_user_is_not_shown(tmp_path, command, user):
    url = f"postgresql://{user}@127.0.0.1:1/shop"
    said = told(*command, "--book", url, XDG_DATA_HOME=str(tmp_path))
    assert "postgresql://127.0.0.1:1/shop: the server is gone or cannot be reached" in said
    assert "anna" not in said
    assert "hunter2" not in said
