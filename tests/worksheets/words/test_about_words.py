from __future__ import annotations

from truethrow.balance.job.about import About
from truethrow.worksheets.words import about_words


def test_what_is_not_known_is_not_told():
    assert about_words.line(About()) == ""
    assert about_words.line(About(crank="CX-118", who="MK")) == "crank CX-118, in the hands of MK"
    assert about_words.line(About(customer="harbor order 12", due="2027-01-15", notes="keep the old pins")) == (
        "for harbor order 12, due 2027-01-15"
    )
