"""Candidates side by side, as the screen has them."""

import re

import choosing
import pytest

from truethrow.balance.planning import candidates, comparing
from truethrow.cli.planning import candidates_tables as tables
from truethrow.cli.show import Screen
from truethrow.worksheets.shown.display import Display


@pytest.mark.parametrize("show", [Display("g", "mm", 0.1), Display("oz", "in", 0.0035)])
def test_its_tables_fit_a_screen_of_80(show, capsys):
    text = choosing.SMALL.replace('name = "A"', f'name = "{"long " * 20}"').replace(
        "[[crank]]", "[prices]\nhour=8\n[[crank]]\nprice = 12345"
    )
    file = candidates.build(text)
    order = comparing.ranked(comparing.candidates(file.pairs, None, file.prices), "pull")
    tables.candidates(Screen(), file, order, "pull", show, has_tools=False)
    said = capsys.readouterr().out
    rows = [line for line in said.splitlines() if re.match(r"\d=? {1,3}(?!\()|  ", line)]
    assert len(rows) >= 9
    assert max(map(len, rows)) <= 80
    assert "long long long long lon…" in said
    assert "12345+" in said
    assert "A price with + leaves out: " in said


def test_what_is_no_more_than_its_doubt_is_none():
    assert tables._shakes(515.2, 114.3, 1.0) == "515 ± 114"
    assert tables._shakes(40.0, 62.0, 1.0) == "0 ± 62"
    assert tables._shakes(0.0, 0.0, 1.0) == "0"
