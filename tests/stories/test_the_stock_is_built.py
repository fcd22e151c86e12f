"""The stock is built: a match of loose parts is carried out by the moves that it tells.

What a hand would have done wrong: build in a piston that another engine has, or one of another engine altogether,
or follow moves that the book then refuses halfway.
"""

from __future__ import annotations

import json
import shlex

import invented
import pytest
from typer.testing import CliRunner
from within import BadInput, app

from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.open import open_book
from truethrow.balance.log.records import Traded


class Shop:
    """Jobs of the book, all their parts but rods and pistons alike, and a stock of rods and pistons."""

    def __init__(self, folder):
        self.folder = folder
        self.add("first")
        self.add("second")
        rods = [f"R{n};{452 + n % 5 / 10:.1f};{171 + n % 3 / 10:.1f}" for n in range(1, 20)]
        pistons = [f"P{n};{538 + n % 4 / 10:.1f}" for n in range(1, 20)]
        self.stock("rods.csv", "label;big end;small end", rods)
        self.stock("pistons.csv", "label;piston", pistons)

    def __call__(self, *words, status=0):
        done = CliRunner().invoke(app, [*map(str, words)])
        if isinstance(done.exception, BadInput):
            assert status == 2, str(done.exception)
            return str(done.exception)
        assert done.exit_code == status, done.output or done.exception
        return done.stdout

    def add(self, job, labels=None):
        same = {kind: invented.PARTS[kind] for kind in ("pin", "locks", "rings", "bearings")}
        parts = [{"number": n, "labels": own} for n, own in (labels or {}).items()]
        made = invented.document(parts, job={"id": job}, every_cylinder=same)
        path = self.folder / f"{job}.toml"
        path.write_text(invented.text(made), encoding="utf-8")
        self("book", "add", path)

    def stock(self, name, heading, rows):
        path = self.folder / name
        path.write_text("\n".join([heading, *rows, ""]), encoding="utf-8")
        self("book", "stock", "add", path)

    def matched(self, *words):
        return json.loads(self("shelf", "first", "--stock", "--seconds", "0.2", *words, "--json"))

    def found(self):
        return json.loads(self("book", "stock", "find", "--everywhere", "--json"))["parts"]


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path / 'book.db'}")
    return Shop(tmp_path)


def test_the_moves_can_be_pasted_one_after_the_other_and_the_parts_are_not_loose_then(shop):
    said = shop("shelf", "first", "--stock", "--seconds", "0.2", "--to", "first", "--to", "second")
    moves = [line for line in said.splitlines() if line.startswith("truethrow book stock move ")]
    assert len(moves) == 2 * 8 * 2
    for move in moves:
        shop(*shlex.split(move)[1:])
    assert sum(part["job"] is None for part in shop.found()) == 38 - 32
    assert "rods: 3 on the shelf" in shop("shelf", "first", "--stock", status=2)


def test_a_part_in_another_job_is_in_no_pool(shop):
    shop("book", "stock", "move", "rod", "R3", "--job", "second", "--cylinder", 1)
    said = shop.matched("--engines", 1)
    used = {c["labels"]["rod"] for c in said["engines"][0]["cylinders"]}
    assert "R3" not in used | set(said["leftovers"]["rod"])


def test_an_engine_whose_job_has_parts_already_is_not_given_a_single_move(shop):
    """By the stock, or by the job's own labels: half of an engine moved is worse than none."""
    shop("book", "stock", "move", "rod", "R3", "--job", "second", "--cylinder", 1)
    said = shop("shelf", "first", "--stock", "--seconds", "0.2", "--engines", 1, "--to", "second", status=1)
    assert "It can't go into this job: job second, cylinder 1: rod R3 is there" in said
    assert "truethrow book stock move" not in said
    shop.add("third", {4: {"piston": "Q4"}})
    said = shop("shelf", "first", "--stock", "--seconds", "0.2", "--engines", 1, "--to", "third", status=1)
    assert "It can't go into this job: job third, cylinder 4: the job has piston Q4 there" in said
    few = ("shelf", "first", "--stock", "--engines", 1)
    assert "--to: job fourth is not in the book" in shop(*few, "--to", "fourth", status=2)


def test_a_part_that_a_job_has_by_its_own_label_is_told(shop):
    shop.add("third", {4: {"piston": "P1"}})
    said = shop("shelf", "first", "--stock", "--seconds", "0.2", "--to", "first", "--to", "second")
    assert "! P1: job third has one of that mark in cylinder 4; look before it goes in" in said


def test_pistons_of_another_engine_are_left_out_and_named(shop):
    shop.stock("small.csv", "label;piston", ["S1;301,2", "S2;301,5"])
    shop.stock("pins.csv", "label;pin;together", ["N1;90,0;S1"])
    said = shop("shelf", "first", "--stock", "--seconds", "0.2", "--engines", 1)
    assert "- piston S1: 301.2 g, the others have 538.1 g: of another engine?" in said
    assert "- pin N1: its piston, S1, is not there" in said
    assert "look at each before it goes in" in said


def test_a_kind_that_the_job_has_one_reading_of_for_all_is_not_taken_from_the_stock(shop):
    shop.stock("pins.csv", "label;pin", ["N1;90,0", "N2;90,0"])
    assert set(shop.matched("--engines", 1)["engines"][0]["cylinders"][0]["labels"]) == {"rod", "piston"}


def test_a_part_does_not_leave_a_job_that_still_says_it_has_it(shop):
    """What went wrong: the stock had the rod as loose, and offered it to the next engine, while an open job was
    still built with it; by the job's text, and where its parts have traded places by its records."""
    shop.add("third", {4: {"rod": "R3"}})
    shop("book", "stock", "move", "rod", "R3", "--job", "third", "--cylinder", 4)
    told = "job third, cylinder 4: the job has rod R3 there; first its mark out of the job: truethrow book export"
    assert told in shop("book", "stock", "move", "rod", "R3", status=2)
    assert told in shop("book", "stock", "move", "rod", "R3", "--job", "second", "--cylinder", 1, status=2)
    log = BookedJob(open_book(f"sqlite:///{shop.folder / 'book.db'}"), "third").open_log(by="AB")
    log.append(Traded({"rod": {4: 5, 5: 4}}, "p0"))
    assert "job third, cylinder 5: the job has rod R3" in shop("book", "stock", "move", "rod", "R3", status=2)
    (part,) = [part for part in shop.found() if part["label"] == "R3"]
    assert part["job"] == "third"
    shop("book", "export", "third", "--into", shop.folder / "out")
    file = shop.folder / "out" / "third.toml"
    file.write_text(file.read_text("utf-8").replace('"R3"', '"R103"'), "utf-8")
    shop("book", "put", "third", file, "--revision", 1)
    shop("book", "stock", "move", "rod", "R3")


def test_a_closed_job_lets_its_parts_go(shop):
    shop.add("third", {4: {"rod": "R3"}})
    shop("book", "stock", "move", "rod", "R3", "--job", "third", "--cylinder", 4)
    shop("close", "third", "--given-up", "--by", "AB", "--why", "taken apart again")
    shop("book", "stock", "move", "rod", "R3")
