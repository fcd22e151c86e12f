"""Whatever a command shows or writes, its end names the command that comes next, ready to paste; and that one is
carried out as it is told."""

import re
import shlex

import commands
import pytest

from truethrow.balance.demo import copy_into

STATION = ("--station", "launch/station.toml")
SHELF = ("launch/shelf-rods.csv", "launch/shelf-pistons.csv", "launch/shelf-pins.csv")
JOB = "launch/launch.toml"


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path / 'book.db'}")
    copy_into(tmp_path / "launch")
    assert commands.run("enter", JOB, "launch/launch-weigh.csv").status == 0
    return commands.run


@pytest.mark.parametrize(
    ("typed", "ends"),
    [
        (
            ("shelf", JOB, *SHELF, "--engines", "1", "--seconds", "0.1"),
            "new --like launch/launch.toml --new all engine-1",
        ),
        (("candidates", "launch/choice.toml", *STATION), "new v8-90-crossplane my.toml"),
        (("cards", JOB, "--only", "bench"), "next launch/launch.toml"),
        (("book", "add", JOB), "next launch-7"),
        (("order", JOB, *STATION), "next launch/launch.toml"),
        (("turn", JOB, "--to", "88mm", *STATION), "next launch/launch.toml"),
        (("what-if", JOB, "--share", "0.48"), "next launch/launch.toml"),
        (("quote", JOB, "--prices", "launch/choice.toml", *STATION), "next launch/launch.toml"),
        (("forecast", JOB), "next launch/launch.toml"),
        (("share", "inline-3"), "new inline-3 my.toml"),
        (("share", JOB), "next launch/launch.toml"),
        (("shake", JOB, "--at", "4200"), "next launch/launch.toml"),
        (("sure", JOB), "next launch/launch.toml"),
        (("working", JOB, "bobweight", "1"), "next launch/launch.toml"),
    ],
    ids=lambda typed: typed[0] if isinstance(typed, tuple) else None,
)
def test_the_next_command_is_told_and_is_one(shop, typed, ends):
    said = shop(*typed)
    (told,) = [line for line in " ".join(said.out.split()).split(" Next") if "truethrow" in line][-1:]
    command = re.search(r"truethrow ([^;]*?)(?:; then .*| Status .*)?$", told)[1]
    assert command.startswith(ends)
    after = shop(*shlex.split(command))
    assert after.status < 2, after.err  # 1: it says that something is to be looked at


def test_a_job_that_goes_out_of_the_book_is_worked_where_it_went(shop):
    shop("book", "add", JOB)
    said = shop("book", "export", "launch-7", "--into", "out")
    assert said.out.splitlines()[-1] == "Next: truethrow next out/launch-7.toml"
    assert "look again at piston P33" in shop("next", "out/launch-7.toml").out
