"""A job is a job wherever it is kept: all commands tell the same of a file and of a job in the book."""

from __future__ import annotations

import cmath
import contextlib
import math
import re
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from truethrow.balance import demo
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import booked as book_place
from truethrow.balance.book import jobs
from truethrow.balance.book.open import open_book
from truethrow.balance.job import sheet_against
from truethrow.balance.job.enter import enter
from truethrow.balance.job.job import load
from truethrow.balance.log import place
from truethrow.balance.log.log import Log, unsaved
from truethrow.balance.log.records import Cut, Weighed
from truethrow.balance.result.work import work
from truethrow.balance.station import balancing, may_go
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.session import Session
from truethrow.cli import common
from truethrow.cli.main import app
from truethrow.cli.weighing import new_and_enter

ID = "launch-7"
FIND = book_place.find


class ListLog(Log):
    """A log kept in a list: the least that a log can be."""

    def __init__(self, lines, name, bench, by):
        super().__init__(name, bench, by)
        self.lines, self.is_full, self.seen = lines, False, 0
        self._read_on()
        self._untold.clear()

    def whose(self):
        return ID

    def _write(self, record, may_stand):
        self._read_on()
        may_stand()
        if self.is_full:
            raise unsaved(f"{self.name}: full", record)
        fresh = [] if record.id in self._known else self._sealed(record)
        self.lines += fresh
        first, self.seen = self.seen + 1, len(self.lines)
        return list(enumerate(fresh, start=first))

    def _read_on(self):
        for number, raw in enumerate(self.lines[self.seen :], start=self.seen + 1):
            self._take(raw, number)
        self.seen = len(self.lines)


class JobInMemory:
    """What keeps JobInBook's word, and nothing else."""

    def __init__(self, text):
        self.id, self.said, self.lines = ID, text, []

    def text(self):
        return self.said

    def write_text(self, text, expected, by=""):
        if self.said != expected:
            raise NotSaved("changed meanwhile", f"job {self.id}")
        self.said = text

    def open_log(self, bench="bench", by=""):
        return ListLog(self.lines, place.log_name(self), bench, by)

    def issuing(self, papers, by=""):
        return contextlib.nullcontext()


STATION = Path("shop", "station.toml")


@pytest.fixture
def both(tmp_path, monkeypatch):
    """The demo's job twice, in a file and in a book, with its sheet in the folder at hand. The station's
    profile lies elsewhere: one beside the file would be found by itself, and the job in the book has none."""
    monkeypatch.chdir(tmp_path)
    for name in ("launch.toml", "launch-weigh.csv"):
        Path(name).write_text(demo.text(name), encoding="utf-8")
    STATION.parent.mkdir()
    STATION.write_text(demo.text(STATION.name), encoding="utf-8")
    booked = JobInMemory(demo.text("launch.toml"))
    monkeypatch.setattr(book_place, "find", {ID: booked}.__getitem__)
    # It is in no book that would know the marks of other jobs.
    monkeypatch.setattr(new_and_enter, "tell_marked_twice", lambda *_: None)
    # Ids that both logs come to by themselves, as names of plans cover them.
    monkeypatch.setattr(Log, "next_id", lambda log: f"record-{len(log.records) + 1}")
    return Path("launch.toml"), booked


_HEAD = re.compile(r"\b[0-9a-f]{4}-[0-9a-f]{4}-\d+\b")  # each job has a log of its own


def ran(job, command, *args, piped=None):
    """What a command says of a job, with its status. What it calls the job and its log stands as JOB and LOG, a
    time as TIME."""
    said = [ID if word == "JOB" else word for word in (command, *args)]
    if isinstance(job, Path):
        said = [str(job) if word == "JOB" else word for word in (command, *args)]
    done = CliRunner().invoke(app, said, input=piped)
    text = done.output
    if isinstance(done.exception, BadInput | NotSaved):
        text += str(done.exception)
    elif done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    if isinstance(job, Path):
        names = {str(log_path(job)): "LOG", "launch-station.csv": "SHEET", str(job): "JOB"}
    else:
        names = {f"the log of job {ID}": "LOG", f"{ID}-station.csv": "SHEET", f"job {ID}": "JOB"}
        text = re.sub(rf"truethrow ([a-z-]+) {ID}\b", r"truethrow \1 JOB", text)
    for name, short in names.items():
        text = text.replace(name, short)
    text = _HEAD.sub("HEAD", text)
    text = re.sub(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+Z)?)?", "TIME", text)
    # How wide a column is depends on what stands as something else.
    return done.exit_code, re.sub(r" {2,}", "  ", text)


def same(both, *words, piped=None):
    """What a command says of both jobs, which must be the same."""
    told = [ran(job, *words, piped=piped) for job in both]
    assert told[0][1].splitlines() == told[1][1].splitlines()
    assert told[0] == told[1]
    return told[1]


def what_the_scale_says(job, expected_g):
    """Of each part that is to be weighed, in order, as a plan expects it; tried on a copy of the log."""
    lines = [record.raw for record in place.open_log(job).written]
    session = Session(benchjob.load(job), ListLog(lines, "a copy", "bench", ""))
    lines = []
    while session.step is not None:
        lines.append(f"{expected_g[session.step.cylinder, session.step.kind]:.1f}\n")
        session.take(lines[-1])
    return "".join(lines)


def what_the_station_shows(job, unbalance_gmm):
    instrument = balancing.load(job, STATION).instrument
    return [f"{amount:.1f}@{angle:.0f}" for amount, angle in map(instrument.shows, unbalance_gmm)]


# Every command on both


@pytest.fixture(params=["memory", "sqlite"])
def kept(request, both, tmp_path, monkeypatch):
    """The same two jobs; the second with the least that a book can be, and in the book that needs no set-up."""
    if request.param == "memory":
        return both
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path / 'book.db'}")
    jobs.add(open_book(), jobs.from_file(both[0]))
    monkeypatch.setattr(book_place, "find", FIND)
    return both[0], FIND(ID)


def test_a_whole_job_is_worked_alike_from_a_file_and_from_the_book(kept):
    """From blank readings to the sign-off: what is told at every stage, and the digest."""
    file, booked = both = kept
    status, told = same(both, "weigh", "JOB", piped="538.1\n537.0\nstrike wrong one\n538.8\n")
    assert (status, "weighed, in LOG" in told) == (0, True)
    told = same(both, "enter", "JOB", "launch-weigh.csv")[1]
    assert told.startswith("40 new readings entered into JOB, 16 new labels\n")
    assert file.read_text(encoding="utf-8") == booked.text()
    assert same(both, "enter", "JOB", "launch-weigh.csv")[1].startswith("0 new readings entered into JOB; ")
    for part in ("piston 5", "big end 6"):
        assert same(both, "confirm", "JOB", part, "--why", "from another box", "--by", "AB")[0] == 0
    for words in (("work", "JOB"), ("hang", "JOB"), ("check", "JOB", "--json"), ("trim", "JOB", "--json")):
        assert same(both, *words)[0] == 1
    sheets = [Path(name).read_text("utf-8") for name in ("launch-station.csv", f"{ID}-station.csv")]
    assert len({_HEAD.sub("HEAD", sheet) for sheet in sheets}) == 1
    for command in ("sure", "share", "shake", "layouts", "send"):
        assert same(both, command, "JOB")[0] in (0, 1)
    assert same(both, "compare", f"{ID}-station.csv", "JOB")[0] == 0

    # How far it would get with other aims is a matter of the time that it has.
    matched = [ran(job, "match", "JOB")[1].split("To get better") for job in both]
    assert matched[0][0] == matched[1][0]
    assert all("To accept: truethrow accept JOB" in after for _, after in matched)
    status, told = same(both, "accept", "JOB", "--by", "AB")
    assert (status, "in LOG" in told) == (0, True)
    assert same(both, "accept", "JOB")[0] == 1
    assert same(both, "compare", f"{ID}-station.csv", "JOB")[0] == 1

    plan = work(load(booked)).trim
    expected_g = {(part.cylinder, kind): g for part in plan.parts for kind, g in part.expected_g.items()}
    _, told = same(both, "ground", "JOB", "--by", "AB")
    assert "Recorded in LOG." in told
    assert ": truethrow weigh JOB" in told
    assert "Next: " in same(both, "weigh", "JOB", piped=what_the_scale_says(booked, expected_g))[1]
    assert same(both, "trim", "JOB")[0] == 0
    assert load(file).digest == load(booked).digest

    station = ("--station", str(STATION))
    for words in (("stack", "JOB"), ("target", "JOB", "1710")):
        assert same(both, *words, *station)[0] in (0, 1)
    assert same(both, "sign", "JOB", *station, "--by", "AB")[0] == 1
    arrived = cmath.rect(1180, math.radians(203)), cmath.rect(860, math.radians(169))
    assert same(both, "spin", "JOB", *station, *what_the_station_shows(booked, arrived))[0] == 1
    with_mass = what_the_station_shows(booked, (arrived[0] + cmath.rect(5000, math.radians(30)), arrived[1]))
    mass = ("--mass", "50", "--radius", "100", "--plane", "front", "--at", "30")
    assert same(both, "test-mass", "JOB", *station, *mass, *with_mass)[0] == 0
    for _ in range(4):
        state = balancing.load(booked, STATION)
        if may_go.is_inside(state):
            break
        assert same(both, "holes", "JOB", *station)[0] == 1
        assert same(both, "holes", "JOB", *station, "--done", "--by", "AB")[0] == 0
        same(both, "spin", "JOB", *station, *what_the_station_shows(booked, state.expected), "--json")
    assert same(both, "sign", "JOB", *station, "--by", "AB")[0] == 0
    assert same(both, "spins", "JOB", *station, "--json")[0] == 0

    for words in (("history", "JOB"), ("history", "JOB", "--json")):
        assert same(both, *words)[0] == 0
    assert load(file).digest == load(booked).digest
    assert same(both, "strike", "JOB", "record-2", "--why", "twice")[0] == 1
    assert same(both, "strike", "JOB", "record-1", "--why", "twice")[0] == 0
    assert same(both, "history", "JOB", "--json")[0] == 0


def test_what_another_bench_appended_is_told_once(both):
    booked = both[1]
    log = booked.open_log()
    other = booked.open_log(bench="other")
    made = other.append(Weighed(1, "piston", 538.4))
    assert log.records == []
    assert (log.refresh(), log.refresh(), log.records) == ([made], [], [made])


def test_a_job_that_was_changed_while_a_sheet_is_entered_stands_as_it_was_changed(both, monkeypatch):
    """The text that is written is compared with the one that was read, in the book too."""
    _, booked = both
    monkeypatch.setattr(
        sheet_against, "outdated", lambda *_: setattr(booked, "said", booked.said + "# mine") or []
    )
    status, told = ran(booked, "enter", "JOB", "launch-weigh.csv")
    assert (status, told) == (1, "JOB: changed meanwhile")
    assert booked.said == demo.text("launch.toml") + "# mine"


def test_a_record_that_is_not_safe_is_no_record(both):
    log = both[1].open_log()
    log.is_full = True
    with pytest.raises(NotSaved, match="the log of job launch-7: full; the cut is not saved"):
        log.append(Cut(1, "piston", 1.0))
    assert (log.records, log.lines, log.refresh()) == ([], [], [])


# What a word on the command line means


@pytest.mark.parametrize("word", ["-", "my.toml", "MY.TOML", "./launch-7", "far/launch-7", "job", "no/such"])
def test_a_word_that_means_a_file(both, word):
    Path("job").touch()
    assert common.job_named(word).of == Path(word)


def test_a_word_that_means_a_job_of_the_book_also_beside_a_folder_of_its_name(both):
    Path(ID).mkdir()
    assert common.job_named(ID).of is both[1]


def test_a_word_that_means_nothing_is_told_with_what_could_be_meant(tmp_path):
    """No book is made only because somebody mistyped a name."""
    book = tmp_path / "no" / "book.db"
    command = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]
    for words in (["work", "nothing-9"], ["layouts", "v8-crossplane"]):
        done = subprocess.run(
            [*command, *words],
            env={"TRUETHROW_BOOK": f"sqlite:///{book}"},
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 2
        assert words[1] in done.stderr
        assert "truethrow book" in done.stderr
    assert "did you mean v8-90-crossplane?" in done.stderr
    assert not book.parent.exists()


def test_where_files_made_of_a_job_go():
    assert place.output_path(Path("far/my.toml"), "-station.csv") == Path("far/my-station.csv")
    assert place.output_path(Path("-"), "-station.csv") == Path("station.csv")
    job = JobInMemory("")
    assert place.output_path(job, "-station.csv") == Path("launch-7-station.csv")
    job.id = "a:b/c"
    assert place.output_path(job, "-station.csv") == Path("a%3ab%2fc-station.csv")


LOADED = """
import sys
from truethrow.cli.main import main
try:
    main()
finally:
    print(*(name for name in sys.modules if name.startswith(("sqlalchemy", "alembic", "truethrow.balance.book"))))
"""


@pytest.mark.parametrize("command", [("work",), ("hang",), ("check", "--json"), ("history",)])
def test_a_file_is_worked_without_loading_the_book(both, command):
    name, *options = command
    enter(both[0], Path("launch-weigh.csv"))
    done = subprocess.run(
        [sys.executable, "-c", LOADED, name, "launch.toml", *options], capture_output=True, text=True, check=False
    )
    assert done.returncode in (0, 1), done.stderr
    assert done.stdout.splitlines()[-1] == ""


@pytest.mark.parametrize("kept", ["file", "book"])
def test_a_look_that_keeps_nothing_shows_what_would_be_there_and_writes_nothing(kept, tmp_path, monkeypatch):
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path / 'book.db'}")
    made = tmp_path / "launch.toml"
    made.write_text(demo.text("launch.toml"), encoding="utf-8")
    if kept == "book":
        jobs.add(open_book(), jobs.from_file(made))
    at = made if kept == "file" else FIND(ID)
    look = place.Snapshot(at, in_memory=True)
    log = place.open_log(look, by="AB")
    log.append(Weighed(1, "piston", 612.4, "612.4"), id="first")
    log.append(Weighed(2, "piston", 612.6, "612.6"))
    assert [one.by for one in place.open_log(look).records] == ["AB", "AB"]
    look.look_anew()
    assert len(place.open_log(look).records) == 2
    assert place.open_log(at).records == []
