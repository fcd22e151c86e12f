"""A page out of plain data."""

from truethrow.worksheets.cards.card import Lines
from truethrow.worksheets.pages.page import estimate, page


def test_that_it_is_an_estimate_is_said_once_and_not_where_nothing_is():
    (block,) = estimate("ESTIMATE: not weighed yet: piston of cylinders 1-8.")
    assert (block.heading, block.lines) == ("ESTIMATE", ("Not weighed yet: piston of cylinders 1-8.",))
    assert block.weight == "framed"
    assert estimate("") == []


def test_a_page_has_no_code_and_a_digest_of_its_data():
    made = page("order", "What", ("a", "b", "c"), {"x": 1.0}, (Lines(("said",)),), ("mind",), "2027-01-15")
    assert (made.code, made.head, made.job_digest) == ("", "", "")
    assert (made.job_id, made.job_title, made.about) == ("a", "b", "c")
    other = page("order", "What", ("a", "b", "c"), {"x": 2.0}, (), (), "2027-01-15")
    assert made.digest != other.digest
