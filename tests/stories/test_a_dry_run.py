"""Who wants to see first what a command would do says --dry-run. The same day's work, once in a folder and once in
the book: before each command that records its dry run leaves every byte of job, log, book and papers as it is, and
says so in its first and its last line. Then the command is run, which does change some of them."""

from __future__ import annotations

import inspect
import json
import re
import sqlite3

import commands
import pytest
from within import demo, main

FIRST = "DRY RUN: nothing is recorded. What follows is what would be recorded, and what would come next."
LAST = "DRY RUN: nothing was recorded."
# Not one step of a day, or a screen of its own, where each reading is on the disk before the screen says so.
NOT_DRY = {"weigh", "floor"}
OF_THE_BOOK = {"book add", "book put", "book profile add", "book stock add", "book stock move"}
WHO = ("--by", "AB", "--why", "as looked at")


class Day:
    def __init__(self, folder, job):
        self.folder, self.job = folder, job
        self.run = commands.in_folder(folder)
        self.env = {"TRUETHROW_BOOK": f"sqlite:///{folder.parent / 'book' / 'shop.db'}"}
        self.walked = set()

    def all_bytes(self):
        kept = {}
        if (book := self.folder.parent / "book" / "shop.db").exists():
            connection = sqlite3.connect(book)  # the last to let go of it: what lies beside it goes into it
            kept["book"] = list(connection.iterdump())
            connection.close()
        for folder in (self.folder, self.folder.parent / "book"):
            kept |= {str(one): one.read_bytes() for one in folder.rglob("*") if one.is_file()}
        return kept

    def does(self, *words, name=None, stdin=""):
        """One step: dry first, which changes nothing, then in earnest, which does."""
        words = [self.job if word == "JOB" else word for word in words]
        self.walked.add(name or words[0])
        before = self.all_bytes()
        dry = self.run(*words, "--dry-run", stdin=stdin, **self.env)
        assert self.all_bytes() == before, words
        lines = dry.out.splitlines()
        assert (lines[0], lines[-1]) == (FIRST, LAST), (words, dry)
        done = self.run(*words, stdin=stdin, **self.env)
        assert done.status in (0, 1), (words, done.err)
        assert dry.status == done.status, (words, dry.err)
        assert self.all_bytes() != before, f"{words} recorded nothing, so its dry run showed nothing"
        assert any(line.startswith("Would be ") for line in lines) or words[0] == "book", (words, dry)
        if words[0] != "match":  # which may find another in its time
            assert without_ids(dry.out).startswith(f"{FIRST}\n{without_ids(done.out)}"), words
        return done

    def at_the_station(self, *words):
        return self.does(words[0], "JOB", "--station", "station.toml", *words[1:])

    def edits(self, folder, name, before, after):
        path = folder / name
        text = path.read_text(encoding="utf-8")
        assert before in text
        path.write_text(text.replace(before, after), encoding="utf-8")


def without_ids(text):
    """What two runs say alike: ids, seals and times are another's each time."""
    text = re.sub(r"\b[0-9a-f]{12}-\d+\b", "ID", text)
    return re.sub(r"\d{4}-\d\d-\d\d[T ][0-9:.]+Z?", "TIME", text)


def work_through(day):
    """From the weigh sheet to the closed job."""
    day.does("enter", "JOB", "launch-weigh.csv")
    day.does("confirm", "JOB", "piston", "P33", *WHO)
    day.does("confirm", "JOB", "rod", "R35", *WHO)
    day.does("work", "JOB")
    next(day.folder.glob("launch*-station.csv")).unlink()
    day.does("send", "JOB")
    day.does("match", "JOB", "--seconds", "5")
    day.does("accept", "JOB")
    day.does("cards", "JOB", "--only", "bench", "--into", "papers")
    day.does("ground", "JOB", "rod", "R11", "--took", "0.3", "--at", "big end")
    day.does("strike", "JOB", "--last", "--yes")
    day.does("ground", "JOB")
    day.does("strike", "JOB", "--last", "--yes")
    day.at_the_station("spin", "6.1@203", "5.0@169", "6.0@204", "5.1@169")
    hung = re.search(r"Hang ([\d.]+) g", day.run("hang", day.job, **day.env).out)[1]
    day.at_the_station("stack", "--built", *(f"{throw}={hung}" for throw in range(1, 5)), "--hung")
    known = ("--front", "150g@30", "--rear", "100g@120", "--radius", "100mm", "144.0@30.3", "103.4@122.1")
    day.at_the_station("test-mass", *known)
    day.at_the_station("holes", "--done")
    day.at_the_station("spin", "0.4@20", "0.3@230", "0.4@25", "0.3@226")
    day.at_the_station("sign", "--by", "AB")
    day.does("close", "JOB", *WHO)
    day.does("reopen", "JOB", *WHO)


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "shop"
    made.mkdir()
    demo.copy_into(made)
    return made


def test_a_day_in_a_folder(folder):
    day = Day(folder, "launch.toml")
    work_through(day)
    day.edits(folder, "station.toml", "radius = 100.0", "radius = 90.0")
    day.at_the_station("profile", "--changed-today", *WHO)
    day.edits(folder, "launch.toml", "[job]", '[about]\ncrank = "CX-9"\n\n[job]')
    day.at_the_station("spin", "0.4@20", "0.3@230")
    day.edits(folder, "launch.toml", "CX-9", "CX-8")
    day.does("crank", "JOB", "CX-8", *WHO)
    bench = folder / "bench.toml"
    bench.write_text(day.run("blank", "bench").out.replace('name = ""', 'name = "floor"'), encoding="utf-8")
    day.does("remember", "bench.toml", "a-1", "--pan", "0.03g", "4")
    log = folder / "launch.readings.jsonl"
    lines = log.read_bytes().splitlines(keepends=True)
    lines[-2] = lines[-2].replace(b"0.4", b"0.9").replace(b"CX-9", b"CX-7")
    log.write_bytes(b"".join(lines))
    number = json.loads(day.run("damaged", "launch.toml", "--json").out)["lines"][0]["number"]
    day.does("acknowledge", "JOB", str(number), "--never-happened", *WHO)
    assert day.walked == main.RECORD, "each command that can be dry is walked"


def test_a_day_in_the_book(folder):
    (folder.parent / "book").mkdir()
    day = Day(folder, "launch-7")
    no_book = day.run("book", "add", "launch.toml", "--dry-run", **day.env)
    assert no_book.status == 2 and "there is no book yet" in no_book.err
    assert not (folder.parent / "book" / "shop.db").exists()
    assert day.run("book", "add", "pump.toml", **day.env).status == 0
    day.does("book", "add", "launch.toml", name="book add")
    day.does("book", "profile", "add", "station.toml", "--name", "floor-1", name="book profile add")
    day.does("book", "stock", "add", "shelf-rods.csv", name="book stock add")
    rod = json.loads(day.run("book", "stock", "find", "--json", **day.env).out)["parts"][0]["label"]
    moved = ("book", "stock", "move", "rod", rod, "--job", "launch-7", "--cylinder", "3")
    day.does(*moved, name="book stock move")
    day.edits(folder, "launch.toml", "Pilot launch", "Harbor launch")
    day.does("book", "put", "launch-7", "launch.toml", "--revision", "1", name="book put")
    assert day.walked == OF_THE_BOOK
    work_through(day)


def every_command():
    """All commands of the program by their names, as typed."""
    for name in main.COMMANDS:
        yield name, main._loaded(main.COMMANDS[name])
    groups = [(name, main._loaded(at)) for name, at in main.GROUPS.items()]
    while groups:
        called, group = groups.pop()
        for one in group.registered_commands:
            yield f"{called} {one.name or one.callback.__name__.replace('_', '-')}", one.callback
        groups += [(f"{called} {one.name}", one.typer_instance) for one in group.registered_groups]


def test_whatever_takes_initials_can_be_dry():
    """Who writes somebody's initials records something."""
    found = dict(every_command())
    taking = {name for name, command in found.items() if "by" in inspect.signature(command).parameters}
    dry = main.RECORD | {name for name in found if "dry_run" in inspect.signature(found[name]).parameters}
    assert taking - dry == NOT_DRY
    assert dry == main.RECORD | OF_THE_BOOK


def test_machines_are_told_that_it_was_dry(folder):
    run = commands.in_folder(folder)
    told = run("spin", "launch.toml", "--station", "station.toml", "6.1@203", "5.0@169", "--json", "--dry-run")
    assert told.status == 2 and json.loads(told.out), "the job is not weighed yet"
    assert run("enter", "launch.toml", "launch-weigh.csv").status == 0
    told = run("spin", "launch.toml", "--station", "station.toml", "6.1@203", "5.0@169", "--json", "--dry-run")
    assert json.loads(told.out)["dry_run"] is True
    assert (told.err.splitlines()[0], told.err.splitlines()[-1]) == (FIRST, LAST)
    sheet = run("send", "launch.toml", "--out", "-", "--dry-run").out
    assert "DRY" not in sheet and sheet == run("send", "launch.toml", "--out", "-").out


def test_what_is_refused_in_earnest_is_refused_dry(folder):
    run = commands.in_folder(folder)
    for words in (("ground", "launch.toml"), ("sign", "launch.toml", "--station", "station.toml", "--by", "AB")):
        dry, done = run(*words, "--dry-run"), run(*words)
        assert (dry.status, dry.err) == (done.status, done.err)
        assert dry.status == 2 and dry.out == f"{FIRST}\n{LAST}\n"
