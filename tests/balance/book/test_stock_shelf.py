"""The stock's parts as a shelf."""

import books
import invented
import pytest

from truethrow.balance.book import jobs, stock
from truethrow.balance.book.stock_shelf import in_other_jobs, parts_of


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
