"""One page as one file."""

import zipfile

import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.worksheets.cards.card import CardTable, Lines
from truethrow.worksheets.pages.page import page
from truethrow.worksheets.prints import page_file

TABLE = CardTable("what", ("a", "b"), (("x", "y"),))


@pytest.fixture
def made():
    return page("order", "What", ("a", "", ""), {}, (Lines(("said",)), TABLE), ("mind",), "2027-01-15")


def test_its_ending_says_what_it_is(made, tmp_path):
    for name in ("a.html", "a.PDF", "a.xlsx"):
        page_file.write(tmp_path / name, made)
    assert "said" in (tmp_path / "a.html").read_text(encoding="utf-8")
    assert (tmp_path / "a.PDF").read_bytes().startswith(b"%PDF")
    assert zipfile.is_zipfile(tmp_path / "a.xlsx")


def test_another_ending_is_refused(tmp_path):
    page_file.check("--out", None, page_file.PAGES)
    page_file.check("--out", tmp_path / "a.Pdf", page_file.PAGES)
    with pytest.raises(BadInput, match="--out"):
        page_file.check("--out", tmp_path / "a", page_file.PAGES)
