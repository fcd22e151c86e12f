"""Large figures and letters tell every sign apart."""

from __future__ import annotations

import string

from truethrow.cli.weighing.benchfigures import ROWS, big, can_draw


def test_big_figures_tell_every_sign_apart():
    signs = "0123456789.->" + string.ascii_uppercase.replace("O", "").replace("S", "")
    drawn = {sign: tuple(big(sign)) for sign in signs}
    assert len(set(drawn.values())) == len(signs)
    assert all(len(rows) == ROWS and len({len(row) for row in rows}) == 1 for rows in drawn.values())
    assert big("1.7", "#")[4] == "#####  ##    #  "


def test_what_cannot_be_drawn_is_told():
    assert can_draw("Big end R11")
    assert not can_draw("R11/b")
    assert not can_draw("")
