"""What a screen has room for: nothing wider, no figure cut, and each command as a shell reads it."""

from __future__ import annotations

import io
import shlex

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.cli import fit

CONFIRM = 'truethrow confirm "a launch.toml" big end R35 --why "heavy cap, from another box" --by AB'


def test_a_pipe_takes_any_length_and_columns_says_how_much(monkeypatch):
    monkeypatch.delenv("COLUMNS", raising=False)
    assert fit.room(io.StringIO()) is None
    monkeypatch.setenv("COLUMNS", "80")
    assert fit.room(io.StringIO()) == 80
    monkeypatch.setenv("COLUMNS", "wide")
    assert fit.room(io.StringIO()) is None


def test_a_sentence_is_broken_at_words():
    assert fit.sentence("- piston P33 is light, look again", 16) == ["- piston P33 is", "  light, look", "  again"]
    assert fit.sentence("as it is, " * 30, None) == ["as it is, " * 30]
    assert fit.sentence("a" * 100, 80)[-1].strip() == "a" * 100  # no figure, no name is cut


@pytest.mark.parametrize("width", [48, 60, 80])
def test_a_command_can_be_pasted_as_it_is_shown(width):
    said = f"Look again at rod R35 (sits in 6), big end; or, if it is right, {CONFIRM}, or weigh it once more."
    lines = fit.sentence(said, width)
    assert max(map(len, lines)) <= width
    first = next(i for i, line in enumerate(lines) if "truethrow" in line)
    assert lines[first].strip().startswith("truethrow")
    shown = "\n".join(lines[first:]).split(", or weigh")[0]
    assert shlex.split(shown.replace("\\\n", " ")) == shlex.split(CONFIRM)


@given(st.lists(st.text("abc", min_size=1, max_size=30), min_size=1, max_size=40), st.integers(40, 120))
def test_no_word_is_lost_and_no_line_is_wider(words, width):
    lines = fit.sentence(" ".join(words), width)
    assert " ".join(lines).split() == words
    assert max(map(len, lines)) <= width


COLUMNS = ("of", "lightest", "heaviest", "spread [g]", "verdict")
ROWS = (
    ("piston", "534.1 (P33 in 5)", "538.9 (P6 in 3)", "4.8", "OUTSIDE"),
    ("pin", "111.8 (3)", "112.1 (7)", "0.3", ""),
)
LEFT = (True, False, False, False, True)


def shown(width, rows=ROWS):
    return [
        [line for row in table for line in row.lines(2)] for table in fit.tables(COLUMNS, rows, LEFT, width, 2)
    ]


def test_a_table_that_fits_is_left_as_it_is():
    assert shown(None) == shown(80)
    assert shown(None)[0][1] == "piston  534.1 (P33 in 5)  538.9 (P6 in 3)         4.8  OUTSIDE"


def test_a_table_breaks_its_heads_first_then_its_cells_and_no_figure():
    (broken,) = shown(60)
    assert [line.split() for line in broken[:2]] == [["spread"], ["of", "lightest", "heaviest", "[g]", "verdict"]]
    (narrow,) = shown(48)
    assert max(map(len, narrow)) <= 48
    assert "534.1" in narrow[2]
    assert "(P33 in 5)" in narrow[3]


def test_a_table_of_long_labels_is_told_in_several_each_with_its_first_column():
    label = "P-" + "9" * 30
    rows = [(f"piston {label}", f"534.1 ({label} in 5)", f"538.9 ({label} in 3)", "4.8", "OUTSIDE")]
    several = shown(80, rows)
    assert len(several) > 1
    assert all(max(map(len, table)) <= 80 for table in several)
    assert all(any(line.startswith("piston") for line in table) for table in several)
    assert sum(label in line for table in several for line in table) >= 3
