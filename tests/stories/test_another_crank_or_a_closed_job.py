"""The mark of the crank in the job is changed after it was drilled, or somebody goes on with a job that was
closed.

What a hand would have done wrong: drill one crank by the spin of another, hand out a crank by the signature of
another, weigh new parts into a job that was handed over last week."""

from __future__ import annotations

import re
import shlex

import pytest
from demo_shop import SECOND, DemoShop


class Marked(DemoShop):
    def mark(self, text):
        """Put a crank's mark into [about], or another."""
        said = self.file.read_text(encoding="utf-8")
        said = re.sub(r"\n\[about\]\ncrank = .*\n", "\n", said)
        self.file.write_text(said.replace("\n[engine]", f'\n[about]\ncrank = "{text}"\n\n[engine]', 1), "utf-8")


@pytest.fixture
def shop(tmp_path):
    made = Marked(tmp_path)
    made.mark("CX-118")
    return made


def test_the_mark_goes_onto_every_spin_hole_and_signature(shop):
    shop.signed()
    marked = {
        one["action"]: one.get("crank") for one in shop.records() if one["action"] in ("spin", "hole", "sign")
    }
    assert marked == {"spin": "CX-118", "hole": "CX-118", "sign": "CX-118"}
    assert shop.state()["signed"]


def test_another_mark_holds_back_drilling_and_the_signature_until_it_is_put_back(shop):
    shop.signed()
    shop.mark("CX-999")
    state = shop.state()
    assert state["signed"] is None
    said = shop.at_station("spins")
    assert "CX-118, CX-999" in said and "drill nothing" in said
    assert "crank's mark in [about] was changed" in shop.refused_at_station("sign", "--by", "AB")
    shop.mark("CX-118")
    assert shop.state()["signed"]


def test_one_crank_is_not_drilled_by_the_spin_of_another(shop):
    shop.spun()
    shop.mark("CX-999")
    assert "crank's mark" in shop.refused_at_station("holes", "--done")
    assert shop.state()["plan"] is None


def test_who_says_that_it_is_the_same_crank_lets_it_count_again(shop):
    shop.signed()
    shop.mark("CX-181")
    told = shop.at_station("spins")
    command = re.search(r"drilled: truethrow (crank .*?) --by INITIALS", told)[1]
    words = shlex.split(command)
    assert words[2] == "CX-181"
    assert "--by: blank" in shop.run(*words)[1]
    assert "is not what [about] says" in shop.refuses("crank", "CX-7", "--by", "AB", "--why", "read on it")
    status, said = shop.run(*words, "--by", "AB", "--why", "typed wrong: CX-181 is stamped on it")
    assert status == 0, said
    assert shop.state()["signed"]
    assert "nothing that was recorded is of another" in shop.refuses(
        "crank", "CX-181", "--by", "AB", "--why", "again"
    )
    # And it can be taken back like any step.
    shop.must("strike", "--last", "--yes")
    assert shop.state()["signed"] is None


def test_a_mark_that_is_filled_in_later_is_no_other_crank(tmp_path):
    shop = Marked(tmp_path)
    shop.signed()
    shop.mark("CX-118")
    assert shop.state()["signed"]


def test_nothing_is_recorded_in_a_closed_job_and_the_way_back_is_told(shop):
    shop.signed()
    assert "--by: blank" in shop.refuses("close", "--why", "handed over")
    shop.must("close", "--by", "AB", "--why", "handed over")
    for command, *more in (
        ("weigh",),
        ("confirm", "piston", "P28", "--why", "looked at", "--by", "AB"),
        ("ground", "piston", "P28", "--took", "1"),
        ("strike", "--last", "--yes"),
        ("close", "--by", "AB", "--why", "again"),
    ):
        said = shop.refuses(command, *more)
        assert "is closed since" in said and "handed over" in said, command
    said = shop.refused_at_station("spin", *SECOND)
    assert "is closed since" in said
    # What only tells goes on telling.
    assert shop.state()["signed"]
    shop.must("work")
    words = shlex.split(re.search(r"truethrow (reopen .*?) --by", said)[1])
    assert shop.run(*words, "--by", "AB", "--why", "wants other pistons")[0] == 0
    shop.at_station("spin", *SECOND)
    assert "is not closed" in shop.refuses("reopen", "--by", "AB", "--why", "once more")


def test_a_closed_job_of_the_book_takes_no_new_text_before_it_is_open_again(shop, monkeypatch):
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{shop.file.with_name('shop.db')}")
    assert shop.run("book", "add", shop.file)[0] == 0
    assert shop.run("close", "launch-7", "--by", "AB", "--why", "handed over")[0] == 0
    shop.file.write_text(shop.file.read_text(encoding="utf-8") + "# a thought\n", encoding="utf-8")
    for command in (["add", shop.file], ["add", shop.file, "--revision", 1], ["put", "launch-7", shop.file]):
        status, said = shop.run("book", *command, *(["--revision", 1] if command[0] == "put" else []))
        assert (status, len(said.splitlines())) == (2, 1)
        assert "is closed since" in said
    words = shlex.split(re.search(r"truethrow (reopen .*?) --by", said)[1])
    assert shop.run(*words, "--by", "AB", "--why", "a thought")[0] == 0
    assert shop.run("book", "add", shop.file, "--revision", 1)[0] == 0


def test_a_job_that_is_given_up_says_so_in_the_book(shop, monkeypatch):
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{shop.file.with_name('shop.db')}")
    assert shop.run("book", "add", shop.file)[0] == 0
    status, said = shop.run("close", "launch-7", "--given-up", "--by", "AB", "--why", "crank is cracked")
    assert status == 0, said
    said = shop.run("book", "list")[1]
    assert "closed" in said and "given up by AB: crank is cracked" in said
    assert (
        "is given up since"
        in shop.run("confirm", "launch-7", "piston", "P28", "--why", "looked at", "--by", "AB")[1]
    )


def test_the_books_list_says_when_a_job_is_due_and_who_has_it(shop, monkeypatch):
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{shop.file.with_name('shop.db')}")
    text = shop.file.read_text("utf-8").replace("[about]\n", '[about]\ndue = 2027-01-15\nwho = "MK"\n')
    shop.file.write_text(text, encoding="utf-8")
    assert shop.run("book", "add", shop.file)[0] == 0
    said = shop.run("book", "list")[1].splitlines()
    assert "due" in said[0] and "who" in said[0]
    assert "2027-01-15  MK" in said[1]
    assert '"due": "2027-01-15"' in shop.run("book", "list", "--json")[1]
