"""The stock: what loose parts weigh, where they are, and where they were."""

from __future__ import annotations

import books
import invented
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.fields import Units
from truethrow.balance.book import jobs, record_rows, stock
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.demo import copy_into
from truethrow.balance.log.records import Traded, ZeroRead
from truethrow.balance.shelf import pool


@pytest.fixture
def shelf(book, tmp_path):
    copy_into(tmp_path)
    paths = [tmp_path / f"shelf-{name}.csv" for name in ("rods", "pistons", "pins")]
    stock.add(book, paths, "AB")
    return paths


def labels(found):
    return [part.label for part in found]


def test_the_stock_is_what_the_files_say(book, shelf):
    for path in shelf:
        parts, faults = pool.read(path, Units())
        assert not faults
        found = {part.label: part for part in stock.find_parts(book, parts[0].kind)}
        assert len(found) == len(parts)
        for part in parts:
            own = found[part.label]
            big_g = part.big_end_g if part.kind == "rod" else None
            assert (own.big_end_g, own.other_g) == (big_g, part.reciprocating_g)
            assert (own.bank, own.together, own.job) == (part.bank, part.together, None)


def test_parts_are_found_by_what_they_weigh_ends_included(book, shelf):
    every = stock.find_parts(book, "rod")
    found = stock.find_parts(book, "rod", {"big_end": (450.0, 450.2)})
    assert labels(found) == [p.label for p in every if 450.0 <= p.big_end_g <= 450.2]
    assert [part.big_end_g for part in found] == [450.0, 450.1, 450.2]
    both = stock.find_parts(book, "rod", {"big_end": (450.0, 450.2), "small_end": (169.0, 171.0)})
    assert labels(both) == ["R25", "R17"]
    assert {part.kind for part in stock.find_parts(book, None, {"mass": (0, 1e9)})} == {"piston", "pin"}
    with pytest.raises(BadInput, match="--mass: a rod has none; ask for --big-end and --small-end"):
        stock.find_parts(book, "rod", {"mass": (0, 1)})
    with pytest.raises(BadInput, match="--mass: can't be combined with a rod's end: no part has both"):
        stock.find_parts(book, None, {"mass": (0, 1), "big_end": (0, 1)})
    with pytest.raises(BadInput, match="--kind: 'wing' is no kind of loose part"):
        stock.find_parts(book, "wing")


def test_the_same_file_again_adds_nothing_and_another_weight_is_another_weighing(book, shelf, tmp_path):
    assert stock.add(book, shelf) == (0, 0, 120)
    other = tmp_path / "again.csv"
    other.write_text("label,big end [g],small end [g],bank\nR01,452.1,171.3,left\nR99,450.0,170.0,\n")
    assert stock.add(book, [other], "CD") == (1, 1, 0)
    (known,) = stock.history(book, "R01", "rod")
    assert [(w.by, w.big_end_g, w.other_g) for w in known.weighings] == [
        ("AB", 452.3, 171.3),
        ("CD", 452.1, 171.3),
    ]
    assert next(part for part in stock.find_parts(book, "rod") if part.label == "R01").bank == "left"


def test_a_file_with_a_fault_adds_nothing(book, shelf, tmp_path):
    before = books.ways(book)
    wrong = tmp_path / "wrong.csv"
    (tmp_path / "more.csv").write_text("label,big end [g],small end [g]\nR01,452.1,171.3\n")
    wrong.write_text("label,pin [g]\nP1,112.0\nP1,112.1\nP2,heavy\n")
    with pytest.raises(BadInput) as refused:
        stock.add(book, [*shelf, wrong])
    assert len(refused.value.lines()) == 2
    assert f"{wrong}: pin P1: is there twice; allowed: one row a part" in refused.value.lines()
    with pytest.raises(BadInput) as refused:
        stock.add(book, [shelf[0], tmp_path / "more.csv"])
    more = refused.value.lines()
    assert more == [
        f"{tmp_path / 'more.csv'}: rod R01: is there twice, also in {shelf[0]}; allowed: one row a part"
    ]
    assert books.ways(book) == before


def test_a_part_goes_into_a_job_and_back_and_all_of_it_is_kept(book, shelf, tmp_path):
    books.with_job(book, tmp_path)
    stock.move(book, "rod", "R03", "launch-7", 3, "AB")
    assert "R03" not in labels(stock.find_parts(book, "rod"))
    (part,) = [p for p in stock.find_parts(book, "rod", everywhere=True) if p.label == "R03"]
    assert (part.job, part.cylinder) == ("launch-7", 3)
    stock.move(book, "rod", "R03", "launch-7", 4, "AB")
    stock.move(book, "rod", "R03", by="CD")
    assert "R03" in labels(stock.find_parts(book, "rod"))
    (known,) = stock.history(book, "R03")
    assert [(m.by, m.job, m.cylinder) for m in known.moves] == [
        ("AB", "launch-7", 3),
        ("AB", "launch-7", 4),
        ("CD", None, None),
    ]


def test_a_move_that_makes_no_sense_is_refused_in_one_line(book, shelf, tmp_path):
    books.with_job(book, tmp_path)
    stock.move(book, "rod", "R03", "launch-7", 3)
    before = books.ways(book)
    for arguments, told in (
        (
            ("rod", "R04", "launch-7", 3),
            "job launch-7, cylinder 3: rod R03 is there; allowed: first move that one",
        ),
        (("rod", "R04", "launch-7", 9), "job launch-7: --cylinder: 9 is not in this layout; allowed: 1, 2"),
        (("rod", "R04", "launch-7", None), "job launch-7: --cylinder: missing"),
        (("rod", "R04", "launch-8", 1), "job launch-8: is not in the book"),
        (("rod", "none", "launch-7", 1), "rod none: is not in the stock"),
        (("rod", "R03", "launch-7", 3), "rod R03: is in job launch-7, cylinder 3 already"),
        (("rod", "R04"), "rod R04: is on the shelf already"),
        (("wing", "R04"), "--kind: 'wing' is no kind"),
    ):
        with pytest.raises(BadInput) as refused:
            stock.move(book, *arguments)
        (line,) = refused.value.lines()
        assert told in line
    assert books.ways(book) == before


def test_the_history_of_a_part_knows_the_jobs_in_which_it_sits_now(book, shelf, tmp_path):
    parts = invented.cylinders()
    parts[2]["labels"] = {"rod": "R03", "piston": "same"}
    parts[4]["labels"] = {"pin": "same"}
    books.with_job(book, tmp_path, "launch-7", parts=parts)
    books.with_job(book, tmp_path, "launch-8", parts=[{**part, "labels": {}} for part in invented.cylinders()])
    BookedJob(book, "launch-7").open_log().append(Traded({"rod": {3: 5, 5: 3}}, "p0"))
    (rod,) = stock.history(book, "R03")
    assert rod.sits == (("launch-7", "rod", 5),)
    assert [(one.kind, one.sits, one.is_stock) for one in stock.history(book, "same")] == [
        ("piston", (("launch-7", "piston", 3),), False),
        ("pin", (("launch-7", "pin", 5),), False),
    ] or labels(stock.history(book, "same")) == ["same", "same"]
    with pytest.raises(BadInput, match="rod same: is neither in the stock nor in a job"):
        stock.history(book, "same", "rod")


def test_a_part_does_not_go_where_the_job_has_another(book, shelf, tmp_path):
    parts = invented.cylinders()
    parts[2]["labels"] = {"rod": "R11", "piston": "P1"}
    books.with_job(book, tmp_path, parts=parts)
    before = books.ways(book)
    with pytest.raises(
        BadInput, match=r"^job launch-7, cylinder 3: the job has rod R11 there; allowed: first its"
    ):
        stock.move(book, "rod", "R01", "launch-7", 3)
    assert books.ways(book) == before
    BookedJob(book, "launch-7").open_log().append(Traded({"rod": {3: 5, 5: 3}}, "p0"))
    with pytest.raises(BadInput, match=r"cylinder 5: the job has rod R11 there"):
        stock.move(book, "rod", "R01", "launch-7", 5)
    stock.move(book, "rod", "R01", "launch-7", 3)
    stock.move(book, "rod", "R11", "launch-7", 5)


@pytest.mark.parametrize(
    "written", ['"\\u0052é7"', '"\\U00000052é7"', "'Ré7'", '"""\nRé7"""', "'''\nRé7'''", '"Ré\\u0037"']
)
def test_a_label_is_found_however_its_job_writes_it(book, tmp_path, written):
    parts = invented.cylinders()
    parts[2]["labels"] = {"rod": "HERE"}
    path = books.job_file(tmp_path, parts=parts)
    path.write_text(path.read_text().replace('"HERE"', written))
    jobs.add(book, jobs.from_file(path))
    (rod,) = stock.history(book, "Ré7")
    assert rod.sits == (("launch-7", "rod", 3),)


def test_a_label_that_every_job_has_is_found_in_all_without_going_through_their_logs(book, tmp_path, monkeypatch):
    parts = invented.cylinders()
    parts[2]["labels"] = {"rod": "3"}
    for name in ("a", "b", "c"):
        books.with_job(book, tmp_path, name, parts=parts)
        BookedJob(book, name).open_log().append(ZeroRead("start", 0.0))
    monkeypatch.setattr(record_rows, "log_of", None)
    (rod,) = stock.history(book, "3")
    assert [one.job for one in rod.sits] == ["a", "b", "c"]


@pytest.mark.parametrize(
    ("typed", "found"),
    [("450..452", (450, 452)), ("450,5..", (450.5, float("inf"))), ("..3.2", (0, 3.2)), ("7..7", (7, 7))],
)
def test_a_window_is_from_and_to_with_an_open_end(typed, found):
    assert stock.window(typed, "--mass") == found


@pytest.mark.parametrize("typed", ["450", "452..450", "a..b", "", "nan..3", "1..2..3"])
def test_what_is_no_window_is_refused(typed):
    with pytest.raises(BadInput, match=r"--mass: .* is no window; allowed: from..to in g"):
        stock.window(typed, "--mass")
