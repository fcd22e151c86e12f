"""The stock's parts as a shelf."""

import books
import invented
import pytest

from truethrow.balance.book import jobs, stock
from truethrow.balance.book.stock_shelf import Moving, against, in_other_jobs, of_one_engine, parts_of
from truethrow.balance.shelf.pool import Part


@pytest.fixture
def stocked(book, tmp_path):
    rods, pistons = tmp_path / "rods.csv", tmp_path / "pistons.csv"
    rods.write_text("label;big end;small end\nR1;452,3;171,2\n")
    pistons.write_text("label;piston;bank\nP1;538,2;left\nP2;538,4;\n")
    stock.add(book, [rods, pistons])
    return book


def test_what_is_loose_is_as_a_file_has_it(stocked):
    found = parts_of(stocked)
    assert [(p.kind, p.label, p.big_end_g, p.reciprocating_g, p.bank) for p in found.loose] == [
        ("piston", "P1", 0.0, 538.2, "left"),
        ("piston", "P2", 0.0, 538.4, ""),
        ("rod", "R1", 452.3, 171.2, ""),
    ]
    assert [p.label for p in parts_of(stocked, ("rod",)).loose] == ["R1"]


def test_what_is_in_a_job_is_not_loose(stocked, tmp_path):
    books.with_job(stocked, tmp_path)
    stock.move(stocked, "piston", "P2", "launch-7", 3)
    found = parts_of(stocked, ("piston",))
    assert [p.label for p in found.loose] == ["P1"]
    assert found.in_jobs["piston", "P2"].said == "in job launch-7, cylinder 3, as the stock has it"


def test_a_job_that_has_one_of_that_mark_is_told_but_to_itself(stocked, tmp_path):
    parts = invented.cylinders()
    parts[3]["labels"] = {"piston": "P1"}
    path = tmp_path / "seven.toml"
    path.write_text(invented.text(invented.document(parts, job={"id": "seven"})), encoding="utf-8")
    jobs.add(stocked, jobs.from_file(path))
    assert in_other_jobs(stocked, "piston", "P1", "launch-7") == (("seven", 4),)
    assert in_other_jobs(stocked, "piston", "P1", "seven") == ()


def test_what_could_not_be_moved_is_known_before_and_nothing_is_moved(stocked, tmp_path):
    books.with_job(stocked, tmp_path)
    stock.move(stocked, "piston", "P2", "launch-7", 3)
    before = books.ways(stocked)
    moves = [Moving("piston", "P1", "launch-7", cylinder) for cylinder in (3, 4, 99)]
    there, no_place = against(stocked, [*moves])
    assert there.wrong == "piston P2 is there"
    assert no_place.wrong == "99 is not in this layout"
    assert books.ways(stocked) == before


def test_a_part_of_another_engine_and_what_stays_with_it_are_left_out():
    """A fifth of the median (500 of 540) is 108: 440 is near, 431 is not."""
    pistons = [Part("piston", f"P{n}", 0.0, 540.0) for n in range(5)]
    near, far = Part("piston", "N", 0.0, 440.0), Part("piston", "F", 0.0, 431.0)
    pins = [Part("pin", "with F", 0.0, 112.0, together="F"), Part("pin", "with P1", 0.0, 112.0, together="P1")]
    rods = [Part("rod", f"R{n}", 450.0, 170.0) for n in range(3)] + [Part("rod", "S", 450.0, 120.0)]
    kept, out = of_one_engine([*pistons, near, far, *pins, *rods])
    assert [(one.part.label, one.median_g) for one in out] == [("S", 170.0), ("F", 540.0), ("with F", None)]
    assert {part.label for part in kept} == {*(f"P{n}" for n in range(5)), "N", "with P1", "R0", "R1", "R2"}
    assert of_one_engine([]) == ((), ())
