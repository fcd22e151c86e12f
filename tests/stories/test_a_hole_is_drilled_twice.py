"""A hole is drilled twice: one bit of the log flips on the disk, and the hole that it told of is ordered again.

What a hand would have done wrong: drill a hole that is in the crank already, grind a rod that was ground, sign a
crank by a spin that nobody can read any more.
"""

from __future__ import annotations

import json
import re
import sqlite3

import cranks
import invented
import kept
import pytest
import typer
from typer.testing import CliRunner
from within import BadInput, app, demo

from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import (
    KINDS,
    Acknowledged,
    Aimed,
    Built,
    Closed,
    Confirmed,
    CrankSaid,
    Cut,
    Drilled,
    LookedAt,
    Proposed,
    ReferenceRead,
    Reopened,
    Skipped,
    Struck,
    Traded,
    Weighed,
    ZeroRead,
)

STATION = {"crank_mass": "24.3 kg", "grade": 6.3}
# What a command needs beside the job, and its station profile where it takes one.
MORE = {
    "replace": ["piston", "1"],
    "ground": ["rod", "3"],
    "strike": ["a-1"],
    "confirm": ["piston", "3", "--why", "another maker", "--by", "AB"],
    "compare": None,
    "target": ["1850"],
    "spin": ["6.1@203", "5.0@169"],
    "test-mass": ["--mass", "50", "--radius", "100", "--plane", "front", "--at", "90", "47.9@96.6", "5.05@169"],
    "sign": ["--by", "AB"],
    "current": None,
    "enter": None,
    "shelf": None,
    "crank": ["CX-1", "--by", "AB", "--why", "read on it"],
    "close": ["--by", "AB", "--why", "done"],
    "share": [],
    "convert": ["--to", "internal"],
    "turn": ["--to", "88mm"],
    "shake": ["--at", "4200"],
}
# Those that do not read the log, and the two that tell damage and settle it.
NOT_OF_THE_LOG = {
    "reopen",
    "new",
    "demo",
    "layouts",
    "damaged",
    "acknowledge",
    "compare",
    "current",
    "enter",
    "shelf",
}


def flipped(text):
    """A record's text with one bit of what its bench is called turned."""
    at = text.index('"', text.index('"bench":"') + len('"bench":"')) - 1
    return text[:at] + chr(ord(text[at]) ^ 1) + text[at + 1 :]


PROFILE = demo.text("station.toml")
EDITED = PROFILE.replace("zero = 0.0 ", "zero = 0.2 ")
MOVES = {"piston": {1: 2, 2: 1}}
BENCH = [
    Weighed(3, "piston", 538.4, "538.4"),
    Weighed(3, "piston", 548.4, "548.4"),
    Struck("a-2", why="wrong piston"),
    Skipped(4, "piston"),
    ZeroRead("start", 0.0, "0.0"),
    ReferenceRead("start", 500.0, "500.0"),
    Proposed(MOVES, "t0123456789abcde"),
    Traded(MOVES, "a-7"),
    Cut(5, "piston", 0.5, "p1"),
    Weighed(5, "piston", 538.4, "538.4"),
    Confirmed(5, "piston", 538.4, "538.4", why="weighed on two scales"),
    Acknowledged("damaged-0123456789ab", "noted", 3, why="of another line"),
]
for number, record in enumerate(BENCH, start=1):
    record.id, record.at, record.bench, record.by = f"a-{number}", f"2026-11-28T09:{number:02d}:00.000Z", "b", "AB"


class Shop:
    def __init__(self, folder):
        self.file = folder / "my.toml"
        data = invented.document(station=STATION, crank={"counterweight": cranks.v8_weights()})
        self.file.write_text(invented.text(data), encoding="utf-8")
        self.station = folder / "station.toml"
        self.station.write_text(EDITED, encoding="utf-8")
        self.log = folder / "my.readings.jsonl"
        self.log.write_bytes(kept.written(*BENCH))
        self.job = str(self.file)

    def run(self, *said, stdin=None):
        """The status, and all that was said."""
        done = CliRunner().invoke(app, [str(one) for one in said], input=stdin)
        if isinstance(done.exception, BadInput):
            return 2, "\n".join([done.output, *done.exception.lines()]).lstrip("\n")
        assert isinstance(done.exception, SystemExit | None), done.exception
        return done.exit_code, done.output

    def __call__(self, command, *more, stdin=None):
        return self.run(command, self.job, *more, stdin=stdin)

    def at_station(self, command, *more):
        return self(command, "--station", self.station, *more)

    def to_the_end(self):
        """Spin, edit the profile and say what that was, spin, check with a known mass, drill, spin, sign."""
        self.station.write_text(PROFILE, encoding="utf-8")
        assert self.at_station("spin", "6.1@203", "5.0@169")[0] == 1
        self.station.write_text(EDITED, encoding="utf-8")
        assert self.at_station("profile", "--changed-today", "--by", "AB", "--why", "pickup mounted anew")[0] == 0
        assert self.at_station("spin", "6.1@203", "5.0@169", "6.0@204", "5.1@169")[0] == 1
        said = self.at_station("holes", "--unproved", "--by", "AB", "--why", "the mass is on loan")
        assert said[0] == 1, said
        said = self.at_station(*MASS)
        assert said[0] == 0, said
        assert self.at_station("holes", "--done")[0] == 0
        assert self.at_station("spin", "0.4@20", "0.3@230", "0.4@25", "0.3@226")[0] == 0
        assert self.at_station("sign", "--by", "AB")[0] == 0

    def actions(self):
        """Line number → action, of the first of each action."""
        return [json.loads(one)["action"] for one in self.log.read_bytes().splitlines()]

    def damage(self, action, last=False):
        """Flip one bit in the middle of a line of an action; the line's number and its bytes then."""
        lines = self.log.read_bytes().split(b"\n")
        numbers = [at for at, one in enumerate(lines) if b'"action":"%s"' % action.encode() in one]
        at = numbers[-1 if last else 0]
        broken = bytearray(lines[at])
        broken[len(broken) // 2] ^= 1
        lines[at] = bytes(broken)
        self.log.write_bytes(b"\n".join(lines))
        return at + 1, bytes(broken)


# piston 5: a line of …; piston weighed in 1 (goes in 2): a line of …
PART = re.compile(r"(?P<part>piston|pin|locks|rings|rod) (?P<name>weighed in \d+|\d+)")
MASS = ("test-mass", "--mass", "50", "--radius", "100", "--plane", "front", "--at", "90", "47.9@96.6", "5.05@169")
DONE = ("trade", "cut", "spin", "hole")


@pytest.fixture(scope="module")
def ended(tmp_path_factory):
    """The log of a job that is signed: every kind of record."""
    shop = Shop(tmp_path_factory.mktemp("ended"))
    shop.to_the_end()
    hole = next(record for record in ReadingLog(shop.log).records if isinstance(record, Drilled))
    by_hand = [
        LookedAt(hole.id, id="a-90", bench="b"),
        Built("1", 1866.4, 1866.4, "1866.4", "", hole.spin, id="a-88", bench="b"),
        Aimed("spin", "t0123456789abcde", id="a-89", bench="b", by="AB"),
        CrankSaid("C-17", id="a-92", bench="b"),
        Closed("handed over", id="a-93", at="2026-11-28T12:00:00.000Z", bench="b", by="AB"),
        Reopened(id="a-94", bench="b"),
    ]
    kept.put_behind(shop.log, *by_hand)
    assert set(shop.actions()) == set(KINDS)
    return shop.log.read_bytes()


@pytest.fixture
def shop(tmp_path, ended):
    made = Shop(tmp_path)
    made.log.write_bytes(ended)
    return made


def commands_of_a_job():
    """Every command that takes a job, by the registry, so that a new one is not forgotten."""
    group = typer.main.get_command(app)
    found = {}
    for name, command in group.commands.items():
        options = {one.name: one for one in command.params}
        if "job" in options and name not in NOT_OF_THE_LOG:
            takes = "station" in options and name not in ("cards",)
            found[name] = takes
    return found


COMMANDS = commands_of_a_job()


def test_every_command_is_walked():
    assert {
        "work",
        "hang",
        "check",
        "trim",
        "ground",
        "send",
        "cards",
        "history",
        "holes",
        "sign",
        "match",
    } <= set(COMMANDS)


@pytest.mark.parametrize("kind", KINDS)
def test_damage_in_any_line_is_told_by_every_command_and_nothing_is_written(shop, kind):
    number, broken = shop.damage(kind)
    before = {path: path.read_bytes() for path in shop.file.parent.iterdir()}
    for name, takes_station in COMMANDS.items():
        more = [*(["--station", shop.station] if takes_station else []), *(MORE.get(name) or [])]
        status, said = shop(name, *more)
        assert status >= 1, name
        assert f"line {number} is damaged" in said, (name, said)
        assert f"truethrow damaged {shop.file}" in said, (name, said)
        if name not in ("history", "next"):  # these only tell
            assert status == 2, name
    assert {path: path.read_bytes() for path in shop.file.parent.iterdir()} == before
    status, said = shop("damaged", "--json")
    (told,) = json.loads(said)["lines"]
    assert (status, told["number"], told["raw"].encode("latin-1")) == (1, number, broken)
    assert told["said"]["action"] == kind, "one bit can be put right by the line's own checksum"


def settle(shop, kind, number, way):
    more = [way] if kind in DONE else []
    status, said = shop("acknowledge", number, *more, "--why", "looked at the card", "--by", "AB")
    assert status == 0, said
    if kind == "reopen":  # it counts no more, so the job is closed again
        assert shop("reopen", "--by", "AB", "--why", "as it was")[0] == 0
    return said


def weighed_again(shop):
    """Weigh what waits for the scale, each part as its sisters are."""
    for _ in range(60):
        status, said = shop("check")
        if "weigh it again" not in said:
            return status
        typed = ""
        again = [line.partition("weigh it again")[0] for line in said.splitlines() if "weigh it again" in line]
        for found in PART.finditer(" ".join(again)):
            part = found["part"]
            for kind in ("big end", "small end") if part == "rod" else (part,):
                typed += f"go {kind} {found['name']}\n{invented.PARTS[kind.replace(' ', '_')]}\n"
        status, told = shop("weigh", stdin=typed)
        assert status == 0, told
    raise AssertionError("it is never weighed")


@pytest.mark.parametrize("way", ["--entered-again", "--never-happened"])
@pytest.mark.parametrize("kind", KINDS)
def test_once_it_is_acknowledged_the_work_goes_on_after_a_fresh_weighing_or_spin(shop, kind, way):
    if kind not in DONE and way == "--never-happened":
        pytest.skip("a line by which nothing was done is acknowledged with a word of why alone")
    number, broken = shop.damage(kind)
    settle(shop, kind, number, way)
    assert broken in shop.log.read_bytes().split(b"\n"), "the damaged line is still there, byte for byte"
    station = kind in ("spin", "test", "hole", "sign")
    if kind in ("read", "cut", "trade", "strike"):
        status, said = shop("hang")
        assert status == 2 and "a line of the log about it was damaged; weigh it again" in said
        assert shop.at_station("sign", "--by", "AB")[0] == 2
        weighed_again(shop)
    if station:
        assert shop.at_station("holes", "--done")[0] == 2
        status, said = shop.at_station("sign", "--by", "AB")
        assert status == 2 and "spin again" in said
    assert shop("hang")[0] in (0, 1)
    if kind == "spin" and (turned := orphans(shop)):
        raise AssertionError(turned)
    for _ in range(2):
        status, said = shop.at_station("spin", "0.3@20", "0.2@230", "0.3@25", "0.2@226")
        assert status in (0, 1), said
    assert "damaged" not in shop.at_station("holes")[1].replace("is damaged; what it said is lost", "")
    status, said = shop.at_station("sign", "--by", "AB")
    assert status == 0 or "test mass" in said or "match the holes drilled" in said, said


def orphans(shop):
    status, said = shop.at_station("spins")
    return said if status == 2 else ""


def holes_planned(shop):
    plan = json.loads(shop.at_station("holes", "--json")[1]).get("plan") or {}
    return plan.get("operations", [])


def test_a_hole_that_is_in_the_crank_counts_where_it_was_and_is_not_ordered_again(tmp_path):
    shop = Shop(tmp_path)
    assert shop.at_station("spin", "6.1@203", "5.0@169", "6.0@204", "5.1@169")[0] == 1
    assert shop.at_station(*MASS)[0] == 0
    planned = holes_planned(shop)
    assert planned
    assert shop.at_station("holes", "--done")[0] == 0
    number, _ = shop.damage("hole")
    assert shop.at_station("holes")[0] == 2
    settle(shop, "hole", number, "--entered-again")
    status, said = shop.at_station("holes", "--json")
    assert (status, json.loads(said).get("plan")) == (1, None), "nothing is ordered before the crank is spun again"
    assert shop.at_station("spin", "0.4@20", "0.3@230", "0.4@25", "0.3@226")[0] == 0
    assert shop.at_station("sign", "--by", "AB")[0] == 0, "the crank answered as all of the holes say"


def test_a_cut_that_was_made_is_not_ordered_again_before_the_part_is_weighed(shop):
    number, _ = shop.damage("cut")
    said = settle(shop, "cut", number, "--entered-again")
    assert "0.5 g asked for at the piston" in said and f"truethrow weigh {shop.file}" in said
    status, said = shop("trim")
    assert status == 2 and "piston 5: a line of the log about it was damaged; weigh it again" in said


def test_what_was_struck_out_counts_again_and_is_told(shop):
    number, _ = shop.damage("strike")
    said = settle(shop, "strike", number, "")
    assert f"truethrow strike {shop.file} a-2" in said
    assert shop("strike", "a-2", "--why", "wrong piston")[0] == 0


def test_more_damage_asks_anew_also_in_the_acknowledgement(shop):
    number, _ = shop.damage("zero")
    settle(shop, "zero", number, "")
    assert shop("history")[0] == 0
    again, _ = shop.damage("acknowledge", last=True)
    status, said = shop("history")
    assert status == 1 and f"lines {number}, {again} are damaged" in said
    settle(shop, "acknowledge", again, "")
    settle(shop, "zero", number, "")
    assert shop("damaged")[0] == 0


def test_a_line_that_cannot_be_read_any_more_is_settled_with_the_figures_of_the_card(shop):
    lines = shop.log.read_bytes().split(b"\n")
    number = next(at for at, one in enumerate(lines) if b'"cut"' in one) + 1
    lines[number - 1] = b"\xff" * len(lines[number - 1])
    shop.log.write_bytes(b"\n".join(lines))
    assert shop("acknowledge", number, "--why", "x")[0] == 2, "it may have been a cut"
    # What can't be read any more is not entered again by saying so.
    before = shop.log.read_bytes()
    status, said = shop("acknowledge", number, "--entered-again", "--why", "it is on the card")
    assert (status, "--figures: missing: the line can't be read any more" in said) == (2, True)
    assert shop("acknowledge", number, "--entered-again", "--figures", "FIGURES", "--why", "on the card")[0] == 2
    assert shop("acknowledge", number, "--entered-again", "--figures", "cut 5 pad 1", "--why", "x")[0] == 2
    assert shop.log.read_bytes() == before
    more = ("--entered-again", "--figures", "cut 5 piston 0.5", "--why", "trim card")
    assert shop("acknowledge", number, *more)[0] == 0
    assert "piston 5: a line of the log" in shop("trim")[1]
    assert lines[number - 1] in shop.log.read_bytes().split(b"\n")


def test_what_was_no_cut_hole_or_trade_is_entered_again_by_its_own_command(shop):
    number, _ = shop.damage("spin")
    lines = shop.log.read_bytes().split(b"\n")
    lines[number - 1] = b"\xff" * len(lines[number - 1])
    shop.log.write_bytes(b"\n".join(lines))
    more = ("--entered-again", "--figures", "spin", "--why", "the card has a spin there")
    status, said = shop("acknowledge", number, *more)
    assert (status, "spin it again: truethrow spin" in said) == (0, True)


TORN = "is torn: its writing was broken off; it does not count\n"


def test_a_last_line_that_a_killed_writer_left_torn_is_no_damage_and_every_command_tells_it(shop):
    with shop.log.open("ab") as file:
        file.write(kept.written(BENCH[0]).splitlines()[1][:60])
    whole = shop.log.read_bytes()
    quiet = []
    for name, takes_station in COMMANDS.items():
        more = [*(["--station", shop.station] if takes_station else []), *(MORE.get(name) or [])]
        if name not in ("weigh", "close", "confirm", "spin", "test-mass", "strike"):  # which would write behind it
            said = shop(name, *more)[1]
            assert said.count(TORN) <= 1, name
            quiet += [name] if TORN not in said else []
        assert shop.log.read_bytes() == whole, name
    assert quiet == []
    assert shop("damaged")[1].count(TORN) == 1
    # A reading behind it, and it is of no more interest.
    status, said = shop("weigh", stdin="go 6 piston\n538.4\n")
    assert (status, TORN in said) == (0, True)
    assert TORN not in shop("hang")[1]
    assert shop("damaged")[0] == 0


def test_a_mark_that_an_editor_put_before_the_first_line_changes_nothing(shop):
    said = shop("history")
    whole = shop.log.read_bytes()
    shop.log.write_bytes(b"\xef\xbb\xbf" + whole)
    assert shop("history") == said
    assert shop("weigh", stdin="go 6 piston\n538.4\n")[0] == 0
    assert shop.log.read_bytes().startswith(b"\xef\xbb\xbf" + whole)
    assert shop("damaged")[0] == 0
    assert len(shop("history")[1].splitlines()) > len(said[1].splitlines())


@pytest.fixture
def booked(shop, tmp_path, monkeypatch):
    """The same job in a book of its own, damaged there behind the back of its guards."""
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path / 'book.db'}")
    assert shop.run("book", "add", shop.file)[0] == 0
    shop.job = "launch-7"

    def damage(action):
        with sqlite3.connect(tmp_path / "book.db") as book:
            guards = book.execute(
                "SELECT name, sql FROM sqlite_master WHERE tbl_name='records' AND type='trigger'"
            )
            guards = guards.fetchall()
            for name, _ in guards:
                book.execute(f"DROP TRIGGER {name}")
            query = "SELECT seq, text FROM records WHERE action=? ORDER BY seq"
            seq, text = book.execute(query, (action,)).fetchone()
            book.execute("UPDATE records SET text=? WHERE seq=?", (flipped(text), seq))
            for _, sql in guards:
                book.execute(sql)
        book.close()
        return seq

    shop.damage_row = damage
    return shop


@pytest.mark.parametrize("kind", KINDS)
def test_in_the_book_it_is_the_same(booked, tmp_path, kind):
    shop = booked
    number = shop.damage_row(kind)
    for name in ("hang", "holes", "sign", "history", "cards"):
        takes_station = COMMANDS[name]
        more = [*(["--station", shop.station] if takes_station else []), *(MORE.get(name) or [])]
        status, said = shop(name, *more)
        assert status >= 1 and f"{number} is damaged" in said, (name, said)
    for said in (("book", "list"), ("book", "show", "launch-7"), ("book", "list", "--json")):
        status, told = shop.run(*said)
        assert status == 1 and f"record {number} is damaged" in told, told
    # One job is refused; of all of them the sound ones are written, and what is left out is told.
    for ends, said in (
        (2, ("book", "export", "launch-7", "--into", tmp_path / "out")),
        (1, ("book", "export-all", tmp_path / "all")),
    ):
        status, told = shop.run(*said)
        assert status == ends and f"record {number} is damaged" in told, told
    settle(shop, kind, number, "--entered-again")
    assert shop.run("book", "show", "launch-7")[0] == 0
    assert shop.run("book", "export", "launch-7", "--into", tmp_path / "out")[0] == 0
    exported = (tmp_path / "out" / "launch-7.readings.jsonl").read_bytes().splitlines()
    whole, bench = shop.log.read_bytes().splitlines()[number - 1], b'"bench":"'
    at = whole.index(b'"', whole.index(bench) + len(bench)) - 1
    assert exported[number - 1] == whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :], "byte for byte, damaged"
    shop.job = str(tmp_path / "out" / "launch-7.toml")
    assert shop("damaged")[0] == 0, "what was acknowledged is so in the file, too"
