"""What a card says of the log is held against the log, years later, by somebody with that card in his hand."""

from __future__ import annotations

import json

import books
import by_hand
import pytest
from commands import answer as run
from grinding_shop import one_piston

from truethrow.balance.base.beside import log_path
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.log.chain import Head
from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import Cut, Weighed


@pytest.fixture
def shop(tmp_path):
    """A job in a file with six records, and the head that its cards have."""
    path, _ = one_piston(tmp_path)
    log = open_log(path, by="AB")
    log.append(Weighed(1, "piston", 538.4, "538.4"))
    log.append(Cut(2, "piston", 1.0, "p1"))
    log.append(Cut(3, "piston", 1.5, "p1"))
    log.append(Weighed(2, "piston", 537.4, "537.4"))
    log.append(Weighed(3, "piston", 536.9, "536.9"))
    log.append(Weighed(3, "piston", 537.5, "537.5"))
    return path, str(log.head)


def test_the_head_stands_on_every_card_on_the_sheet_and_in_the_data(shop, tmp_path):
    path, head = shop
    status, said = run("cards", path, "--into", tmp_path / "cards")
    assert status in (0, 1), said
    made = json.loads((tmp_path / "cards" / "figures.json").read_text("utf-8"))
    assert (made["job"]["log"], made["truethrow"]["format"]) == (head, 2)
    for kind in made["cards"]:
        assert f"log {head}" in (tmp_path / "cards" / f"{kind}.html").read_text("utf-8"), kind
        assert head not in json.dumps(made["cards"][kind]), "no card grows old by it"
    status, said = run("send", path, "--out", "-")
    names, row = said.splitlines()[:2]
    assert names.endswith(',"log_head","sheet_format","program"')
    assert f',"{head}","2",' in row
    said = json.loads(run("work", path, "--json")[1])
    assert (said["job"]["log"], said["truethrow"]["format"]) == (head, 2)


def test_a_head_is_held_by_its_log_however_far_that_went_on(shop):
    path, head = shop
    assert run("current", head, path) == (0, f"Yes: the log holds {head} and goes on from it, no record since.\n")
    open_log(path).append(Weighed(4, "piston", 538.0))
    typed = head.upper().replace("-", " ")
    assert run("current", typed, path) == (0, f"Yes: the log holds {head} and goes on from it, 1 record since.\n")


@pytest.mark.parametrize("edit", by_hand.FOUND_FROM_OUTSIDE.values(), ids=by_hand.FOUND_FROM_OUTSIDE)
def test_what_no_log_can_tell_of_itself_its_paper_does(shop, tmp_path, edit):
    path, head = shop
    own = log_path(path).read_bytes().splitlines()
    (tmp_path / "other").mkdir()
    other, _ = one_piston(tmp_path / "other")
    for grams in (538.0, 538.1):
        open_log(other).append(Weighed(1, "piston", grams))
    left = edit(own, log_path(other).read_bytes().splitlines())
    log_path(path).write_bytes(b"".join(line + b"\n" for line in left))
    status, said = run("current", head, path)
    assert (status, said.splitlines()[0][:4]) == (1, "NO: "), said
    assert f"does not hold {head}. Records were removed or changed" in said
    assert f"truethrow history {path}" in said


def test_a_card_is_as_current_as_it_was_when_only_the_log_has_gone_on(shop, tmp_path):
    """A record that changes no figure of a card, such as a zero of the scale, makes no card old."""
    from truethrow.balance.log.records import ZeroRead

    path, _ = shop
    run("cards", path, "--into", tmp_path / "cards")
    code = json.loads((tmp_path / "cards" / "figures.json").read_text("utf-8"))["cards"]["bobweight"]["code"]
    assert run("current", code, path)[0] == 0
    open_log(path).append(ZeroRead("end", 0.0, "0.0"))
    assert run("current", code, path)[0] == 0


def test_a_head_of_another_log_is_none_of_this_one(shop):
    path, head = shop
    assert run("current", f"0000-0000-{Head.parse(head).records}", path)[0] == 1
    assert run("current", f"{head}1", path)[0] == 1, "nor with another number of records before it"


@pytest.mark.parametrize("typed", ["9a3e-71c4", "9a3e71c4128", "9a3e-71c4-12x", "9a3g-71c4-12", ""])
def test_what_is_no_head_is_told_as_what_a_code_is(shop, typed):
    status, said = run("current", typed, shop[0])
    assert (status, "CODE" in said) == (2, True)


def test_paper_of_a_copy_that_went_on_elsewhere_is_told_as_that(shop, tmp_path, monkeypatch):
    """What went wrong: the file went on beside the book and was added again; its paper was told as one of a log
    from which records were removed."""
    path, _ = shop
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path / 'book.db'}")
    assert run("book", "add", path)[0] == 0
    with books.at(tmp_path / "book.db") as book:
        (job,) = [row[1]["id"] for row in books.ways(book) if row[0] == "jobs"]
        BookedJob(book, job).open_log().append(Weighed(5, "piston", 538.0, "538.0"))
    log = open_log(path)
    log.append(Weighed(4, "piston", 538.0, "538.0"))
    paper = str(log.head)
    assert run("current", paper, path)[0] == 0
    assert run("current", paper, job)[1].startswith("NO: "), "before it is added"
    assert "went on elsewhere" not in run("current", paper, job)[1]
    assert run("book", "add", path)[0] == 0
    status, said = run("current", paper, job)
    assert status == 1
    assert said.startswith(f"NO: {paper} was printed from a copy of this job that went on elsewhere.")
    assert "before it 1 record that the copy did not have" in said
    assert f"truethrow cards {job} --into FOLDER" in said
