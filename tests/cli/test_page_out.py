"""A page written to a file beside what the screen shows."""

import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.cli import page_out


def test_an_ending_is_looked_at_before_anything_is_worked_out(tmp_path):
    page_out.check_endings(None)
    page_out.check_endings(tmp_path / "a.PDF", tmp_path / "a.xlsx")
    with pytest.raises(BadInput, match=r"--out: .*; allowed: a file that ends in \.html or \.pdf"):
        page_out.check_endings(tmp_path / "a.xlsx")


def test_a_page_is_made_only_where_it_is_asked_for():
    page_out.write(pytest.fail, None)
