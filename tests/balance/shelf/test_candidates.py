"""Which loose parts may stand in for one of a job."""

import invented
import pytest
from commands import refused

from truethrow.balance.shelf.candidates import Candidate, in_files, loose, must_be_loose
from truethrow.balance.shelf.pool import Part


@pytest.fixture
def job():
    parts = invented.cylinders()
    parts[3]["labels"] = {"piston": "P4"}
    return invented.build(invented.document(parts, limits={"piston": 1.0}))


def piston(label, grams=538.4, source="shelf.csv", **more):
    return Candidate(Part("piston", label, 0.0, grams, **more), source)


@pytest.mark.parametrize(
    ("one", "why"),
    [
        (piston("p4"), "in this job already: piston P4 (sits in 4)"),
        (piston("X2"), "in job seven, cylinder 2"),
        (piston("X3", bank="right"), "for bank right; cylinder 3 is on bank left"),
        (piston("X4", together="P9"), "stays with piston P9"),
    ],
)
def test_who_is_left_out_is_told_why(job, one, why):
    found = loose(job, "piston", 3, [one, piston("X1")], {"X2": "in job seven, cylinder 2"})
    assert list(found.candidates) == ["X1"]
    assert [left.why for left in found.left_out] == [why]


def test_one_part_of_two_sources_counts_once_if_they_agree(job):
    same = loose(job, "piston", 3, [piston("X1"), piston("X1", source="the stock")], {})
    assert (list(same.candidates), same.left_out) == (["X1"], ())
    other = loose(job, "piston", 3, [piston("X1"), piston("X1", 539.0, "the stock")], {})
    assert other.candidates == {}
    assert other.left_out[0].why == "538.4 g in shelf.csv, 539 g in the stock: weigh it again"


def test_a_rod_reads_at_both_ends():
    assert Candidate(Part("rod", "R1", 452.3, 171.2), "").masses == {"big_end": 452.3, "small_end": 171.2}
    assert piston("X").masses == {"piston": 538.4}


def test_files_give_what_they_hold_of_the_kind_and_all_their_faults(tmp_path):
    job, good, bad = (tmp_path / name for name in ("job.toml", "good.csv", "bad.csv"))
    job.write_text(invented.text(invented.document()))
    good.write_text("label;piston\nX1;538,2\n")
    bad.write_text("label;pin\nN1;heavy\n")
    assert in_files(job, [], "piston") == []
    assert [one.part.label for one in in_files(job, [good], "piston")] == ["X1"]
    assert "row 2, pin N1: 'heavy' is not a number" in refused(in_files, job, [good, bad], "piston")
    assert "pistons, no rods" in refused(in_files, job, [good], "rod")


def test_what_is_on_no_shelf():
    assert "locks are not kept as loose parts" in refused(must_be_loose, "locks")
