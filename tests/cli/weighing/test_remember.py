"""A bench profile is told what a session found of its scale."""

from __future__ import annotations

import commands
import pytest


@pytest.fixture
def profile(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text("# by the window\n[bench]\nname = 'window'\n", encoding="utf-8")
    return path


def test_a_file_keeps_its_comments(profile):
    done = commands.run("remember", profile, "a-1", "--pan", "0.03g", 4, "--rod-ends", "0.2g", 2)
    assert done.status == 0
    assert "on the pan 0.03 g (of 4 second weighings); rod ends 0.2 g (of 2 second weighings)" in done.out
    assert profile.read_text(encoding="utf-8").startswith("# by the window\n[bench]\nname = 'window'\n")
    more = commands.run("remember", profile, "a-2", "--pan", "0.05g", 12)
    assert "on the pan 0.046 g (of 16 second weighings)" in more.out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "--pan or --rod-ends: is needed"),
        (("--pan", "three", 4), "--pan"),
        (("--pan", "0.03g", 0), "0 second weighings"),
        (("--rod-ends", "900g", 3), "900g is out of reach"),
    ],
)
def test_what_makes_no_sense_is_refused(profile, words, told):
    before = profile.read_text(encoding="utf-8")
    done = commands.run("remember", profile, "a-1", *words)
    assert done.status == 2
    assert told in done.err
    assert profile.read_text(encoding="utf-8") == before


def test_in_the_book_it_is_the_next_revision(profile, tmp_path, monkeypatch):
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path}/shop.db")
    assert commands.run("book", "profile", "add", profile, "--name", "window").status == 0
    done = commands.run("remember", "window", "a-1", "--pan", "0.03g", 4, "--by", "AB")
    assert done.status == 0, done.err
    listed = commands.run("book", "profile", "list").out
    assert "window" in listed and "AB" in listed
    again = commands.run("remember", "window", "a-1", "--pan", "0.03g", 4)
    assert (again.status, "remembered already" in again.err) == (2, True)
