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


def test_a_page_that_is_written_is_told_but_not_to_a_machine(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("truethrow.worksheets.prints.page_file.write", lambda path, card: path.write_text(card))
    page_out.write(str, tmp_path / "a.html", tmp_path / "a.xlsx")
    assert [line.rpartition("/")[2] for line in capsys.readouterr().out.splitlines()] == ["a.html", "a.xlsx"]
    page_out.write(str, tmp_path / "a.html", quiet=True)
    assert capsys.readouterr().out == ""
