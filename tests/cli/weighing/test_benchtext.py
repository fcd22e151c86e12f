"""What the bench's screen shows, as text."""

from __future__ import annotations

import pytest
from fed_scale import EMPTY, ON, fed

from truethrow.cli.weighing import benchtext


@pytest.mark.parametrize(("width", "height"), [(80, 24), (200, 50), (40, 12)])
def test_the_screen_fits_and_says_what_is_next(blank, width, height):
    loop = fed(blank(limits={"piston": 1.0}), [*EMPTY, *ON(538.4), *EMPTY, *ON(540.6), *EMPTY, "538.1 g"])
    lines = benchtext.screen(loop, "53", "", width, height)
    assert len(lines) == height
    assert all(len(text) <= width for _, text in lines)
    text = "\n".join(text for _, text in lines)
    assert "Piston 3" in text
    assert "2 of 56" in text
    assert "number> 53_" in text
    if height >= 24:
        assert "spread 2.2 g, limit 1 g: outside" in text
        assert "moving" in text


def test_big_figures_tell_every_digit_apart():
    drawn = {digit: tuple(benchtext.big(digit)) for digit in "0123456789.-"}
    assert len(set(drawn.values())) == 12
    assert benchtext.big("1.7", "#")[4] == "#####  ##    #  "
